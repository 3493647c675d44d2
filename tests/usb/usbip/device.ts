/** A USB device as the USB/IP server hands it to a kernel. */
import type { Answer } from '../../../host/src/chip-twin/usb-transfer.ts';

/** The idle state that USB/IP prints for a device (USB 2.0, 9.1: an address is set by then). */
export interface DeviceSummary {
  readonly vendorId: number;
  readonly productId: number;
  readonly release_bcd: number;
  /** Class, subclass and protocol of each interface, in the order of the configuration. */
  readonly interfaces: readonly (readonly [number, number, number])[];
}

/**
 * A full-speed USB device as its host controller sees it, after reset and SET_ADDRESS.
 *
 * Each call answers once. A call whose signal is aborted before the device took part rejects with
 * the signal's reason; one that the device has completed all the same resolves, so that no report
 * is lost between the two. Calls for one endpoint come one after the other.
 */
export interface UsbDevice {
  readonly summary: DeviceSummary;
  /** The cable goes in: bus reset, address 1; resolves when the device can be asked. */
  plugIn(): Promise<void>;
  /** The cable comes out: whatever was pending is dropped. */
  pullOut(): void;
  /**
   * One control transfer on endpoint 0.
   * @param setup - the 8 bytes of the SETUP packet, as on the wire
   * @param data - what an OUT transfer carries; empty for IN
   */
  control(setup: Uint8Array, data: Uint8Array, signal: AbortSignal): Promise<Answer>;
  /** Waits (NAK) until the endpoint has a packet, of at most `length_bytes`. */
  interruptIn(endpoint: number, length_bytes: number, signal: AbortSignal): Promise<Answer>;
  /** Waits (NAK) until the endpoint has taken the packet. */
  interruptOut(endpoint: number, data: Uint8Array, signal: AbortSignal): Promise<Answer>;
}
