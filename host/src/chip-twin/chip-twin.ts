/**
 * The chip twin: the very image that is flashed, executed instruction by instruction, its pins on the virtual
 * bench. To the host it is a tester like any other.
 */
import { STALL } from './usb-transfer.ts';
import { MEMORY_bytes, Report } from '../logic/layout.generated.ts';
import { TransportError, type Transport, type TransportClosed, type VirtualHands } from '../transport/transport.ts';
import type { Pickup } from '../pickup/pickup.ts';
import type { FlashOptions } from './chip.ts';
import { readImage } from './image.ts';
import { Machine, type MachineOptions } from './machine.ts';
import { Runner } from './runner.ts';

const setConfiguration = Uint8Array.of(0x00, 9, 1, 0, 0, 0, 0, 0);
const REPORT_ENDPOINT = 1;

export interface ChipTwinOptions {
  readonly pickup: Pickup;
  /** Decides everything that is chance. */
  readonly seed: number;
  readonly serial?: string;
  /** Whether the person acts on the lights by itself (true when left out). */
  readonly automatic?: boolean;
  /** Paces simulated time to real time: gives milliseconds that have passed. Unpaced when left out. */
  readonly elapsed_ms?: () => number;
  /** Called with simulated seconds whenever the switches, the current or the lights change. */
  readonly onCommand?: (command: string, value: number, time_s: number) => void;
  /** Path of another image than the one that `npm run firmware` builds. */
  readonly image?: string;
  /** What the flash holds of calibration; its maker's when left out. */
  readonly calibration?: MachineOptions['calibration'];
  /** The flash part and how its accesses are counted. */
  readonly flash?: Partial<FlashOptions>;
}

/** A tester whose firmware is real and whose chip, board and pickup are simulated. */
export class ChipTwin implements Transport, VirtualHands {
  readonly serial: string;
  onReport: (report: Uint8Array) => void = () => {};
  onClosed: (closed: TransportClosed) => void = () => {};
  readonly machine: Machine;
  readonly #runner: Runner;
  #open = false;

  /** @throws Error with the sentence that mends it, when the firmware image was never built */
  constructor(options: ChipTwinOptions) {
    this.serial = options.serial ?? 'TWIN-C001';
    this.machine = new Machine({
      image: readImage(options.image), pickup: options.pickup, seed: options.seed, serial: this.serial,
      automatic: options.automatic ?? true, onCommand: options.onCommand, flash: options.flash,
      calibration: options.calibration,
    });
    this.#runner = new Runner(this.machine, options.elapsed_ms);
    this.#runner.onFailure = (sentence) => this.#closed(sentence);
    this.machine.usb.onDeviceLost = () => this.#closed(`tester ${this.serial} has restarted by itself; open it again to hear why`);
  }

  /** Simulated seconds since the twin was switched on. */
  get time_s(): number {
    return this.machine.time_s;
  }

  /** The module's memory on the chip, for comparisons with what the host rebuilt. */
  get memory(): DataView {
    const memory = this.machine.memory;
    if (memory.byteLength !== MEMORY_bytes) throw new Error('the firmware image is of another layout; build it anew with "npm run firmware"');
    return memory;
  }

  async open(): Promise<void> {
    if (this.#open) return;
    const { usb } = this.machine;
    this.#open = true;
    this.#runner.switchOn();
    await usb.plugIn();
    if ((await usb.control(setConfiguration)) === STALL) throw new TransportError(`tester ${this.serial} refuses to be configured`);
    usb.onReport = (report) => this.onReport(report);
    usb.onWork();
  }

  async write(report: Uint8Array): Promise<void> {
    if (!this.#open) throw new TransportError('the virtual tester is closed');
    if (report[1] === Report.button) this.machine.hostPressed();
    try {
      await this.machine.usb.interruptOut(REPORT_ENDPOINT, report);
    } catch (error) {
      throw new TransportError(error instanceof Error ? error.message : String(error));
    }
  }

  async close(): Promise<void> {
    this.#open = false;
    this.machine.usb.onReport = null;
    this.#runner.switchOff();
    this.machine.usb.pullOut();
  }

  press(long = false): void {
    this.machine.press(long);
    this.#runner.wake();
  }

  touch(): void {
    this.machine.person.touch(this.machine.time_s);
    this.#runner.wake();
  }

  holdMagnet(): void {
    this.machine.person.holdMagnet(this.machine.time_s);
    this.#runner.wake();
  }

  #closed(sentence: string): void {
    if (!this.#open) return;
    this.#open = false;
    this.machine.usb.onReport = null;
    this.onClosed({ sentence });
  }
}
