/** The attached tester, over node-hid's `HIDAsync` (its synchronous twin loses reports in a burst of writes). */
import { access, constants } from 'node:fs/promises';
import { REPORT_bytes } from '../logic/layout.generated.ts';
import { printable } from '../text/printable.ts';
import type { FoundTester } from './discovery.ts';
import { messageOf } from './driver.ts';
import type { HidConnection, HidDriver } from './driver.ts';
import { holdersOf } from './holders.ts';
import { TransportError } from './transport.ts';
import type { Transport, TransportClosed } from './transport.ts';

/** What the system says of a device that is no longer there. */
const GONE = /No such device|device disconnected|No such file or directory|Input\/output error|not connected|device has been closed/i;

/** The longest that a sound tester computes without a word is a solve of some seconds. */
const ANSWERS_WITHIN_ms = 20_000;

/** One tester on the bus. */
export class HidTransport implements Transport {
  readonly serial: string;
  readonly answersWithin_ms = ANSWERS_WITHIN_ms;
  onReport: (report: Uint8Array) => void = () => undefined;
  onClosed: (closed: TransportClosed) => void = () => undefined;
  readonly #path: string;
  readonly #driver: HidDriver;
  #connection: HidConnection | null = null;
  #writes: Promise<unknown> = Promise.resolve();
  #ended: TransportClosed | null = null;

  constructor(driver: HidDriver, tester: FoundTester) {
    this.#driver = driver;
    this.#path = tester.path;
    this.serial = tester.serial;
  }

  /**
   * Opens the device and starts reading.
   * @throws TransportError when it is not there, not permitted, or held by another program
   */
  async open(): Promise<void> {
    const obstacle = await openObstacle(this.serial, this.#path);
    if (obstacle) throw new TransportError(obstacle);
    try {
      this.#connection = await this.#driver.open(this.#path);
    } catch (error) {
      throw new TransportError(openSentence(this.serial, messageOf(error)));
    }
    this.#connection.on('error', (error) => this.#end(lostSentence(this.serial, messageOf(error))));
    this.#connection.on('data', (data) => this.#receive(data));
  }

  async write(report: Uint8Array): Promise<void> {
    if (report.length !== REPORT_bytes) {
      throw new RangeError(`a report has ${REPORT_bytes} bytes, not ${report.length}`);
    }
    // Report ID 0 in front: the device has no IDs, and hidapi takes the first byte for one.
    const packet = Buffer.concat([Uint8Array.of(0), report]);
    const written = this.#writes.then(() => this.#send(packet));
    this.#writes = written.catch(() => undefined);
    await written;
  }

  async close(): Promise<void> {
    this.#ended ??= { sentence: '' };
    await this.#release();
  }

  async #send(packet: Buffer): Promise<void> {
    if (this.#ended || !this.#connection) {
      throw new TransportError(this.#ended?.sentence || `tester ${this.serial} is not open`);
    }
    try {
      await this.#connection.write(packet);
    } catch (error) {
      const sentence = lostSentence(this.serial, messageOf(error));
      this.#end(sentence);
      throw new TransportError(sentence);
    }
  }

  #receive(data: Uint8Array): void {
    if (this.#ended) return;
    if (data.length !== REPORT_bytes) {
      this.#end(
        `tester ${this.serial} sent a report of ${data.length} bytes, expected ${REPORT_bytes}; ` +
          'its firmware is damaged or it is no Tapstone tester: write the firmware again with tapstone flash',
      );
      return;
    }
    this.onReport(new Uint8Array(data));
  }

  /** Tells once why it is over, and lets go of the device. */
  #end(sentence: string): void {
    if (this.#ended) return;
    this.#ended = { sentence };
    void this.#release();
    this.onClosed(this.#ended);
  }

  async #release(): Promise<void> {
    const connection = this.#connection;
    this.#connection = null;
    // Closing a device that is gone is refused by some systems; there is nothing left to free then.
    await connection?.close().catch(() => undefined);
  }
}

/**
 * What stands in the way of opening a device, found out before it is tried.
 * @returns one sentence, or null when nothing does (or this system does not tell beforehand)
 */
export async function openObstacle(serial: string, path: string): Promise<string | null> {
  if (!path.startsWith('/dev/')) return null;
  try {
    await access(path, constants.R_OK | constants.W_OK);
  } catch (error) {
    return openSentence(serial, `${(error as NodeJS.ErrnoException).code}: ${messageOf(error)}`);
  }
  const [holder] = await holdersOf(path);
  if (!holder) return null;
  return `tester ${serial} is in use by ${holder.name} (process ${holder.pid}); end that program and try again`;
}

/** One sentence for a device that did not open. */
export function openSentence(serial: string, message: string): string {
  if (/EACCES|EPERM|Permission denied|not permitted|Access is denied|privilege violation/i.test(message)) {
    return `tester ${serial} may not be opened by this user; run tapstone check, which says how to permit it`;
  }
  if (/ENOENT|ENODEV|No such/i.test(message)) {
    return `tester ${serial} was pulled out while it was being opened; plug it in again`;
  }
  if (/exclusive access|being used by another|sharing violation|0xE00002C5/i.test(message)) {
    return `tester ${serial} is in use by another program; end that program and try again`;
  }
  return `tester ${serial} does not open (${printable(message, 120)}); pull it out and plug it in again`;
}

function lostSentence(serial: string, message: string): string {
  if (GONE.test(message)) {
    return `tester ${serial} was unplugged; plug it in again`;
  }
  if (/timed out|Broken pipe/i.test(message)) {
    return `tester ${serial} takes no reports any more; pull it out and plug it in again`;
  }
  return `tester ${serial} failed (${printable(message, 120)}); pull it out and plug it in again`;
}
