/** A short talk with a tester, outside of any test: who it is, and whether its board is well. */
import {
  BLOCK_bytes_max, BURST_SAMPLES, Button, CALIBRATION_bytes, Check, EntryFlag, EntryKind, Kind, LogEntryLayout, Note,
  SURVEY_CLIP_SAMPLES, Survey,
} from '../logic/layout.generated.ts';
import { pause } from '../edge/clock.ts';
import { ReportEncoder, decodeReport } from './reports.ts';
import type { Block, Entry, Identity, Stored, TesterReport } from './reports.ts';
import { TransportError } from './transport.ts';
import type { Transport } from './transport.ts';

/** What the board's self-test said of one thing that it looked at. */
export type SelfTestLine = {
  /** `Check`; none when the converter itself did not answer. */
  readonly check: number;
  readonly passed: boolean;
  /** `ConverterFault`, where the converter did not answer. */
  readonly fault: number;
  readonly measured: number;
  readonly expected: number;
};

/** A reading in ohms, with its standard uncertainty but for that of the reference. */
export type Resistance = { readonly ohm: number; readonly u_ohm: number };

/** How long a tester may take to say who it is, and to look at its own board, milliseconds. */
export type Patience = { readonly answer_ms: number; readonly selfTest_ms: number };

const PATIENCE: Patience = { answer_ms: 3000, selfTest_ms: 15_000 };
/** With a twin, which computes as long as this machine needs. */
const TWIN_PATIENCE: Patience = { answer_ms: 120_000, selfTest_ms: 600_000 };

/** Of a read: the calibration in use, and what a survey left. */
const REGION_CALIBRATION = 2;
const REGION_SURVEY = 3;

/** Name of a pair of clips. */
export const pairName = (low: number, high: number): string => `${low}-${high}`;

export class Interview {
  readonly #transport: Transport;
  readonly #patience: Patience;
  readonly #encoder = new ReportEncoder();
  #identity: Identity | null = null;
  #listener: (report: TesterReport) => void = () => undefined;
  #fail: (error: Error) => void = () => undefined;

  constructor(transport: Transport, patience: Patience = transport.answersWithin_ms === undefined ? TWIN_PATIENCE : PATIENCE) {
    this.#transport = transport;
    this.#patience = patience;
    transport.onReport = (report) => this.#listener(decodeReport(report));
    transport.onClosed = ({ sentence }) => this.#fail(new TransportError(sentence));
  }

  /** @throws TransportError when the tester does not open */
  open(): Promise<void> {
    return this.#transport.open();
  }

  /** Asks who it is. @throws TransportError when it does not answer as a tester does */
  identify(): Promise<Identity> {
    const { serial } = this.#transport;
    return this.#until(
      this.#encoder.hello(),
      (report, done) => {
        if (report.kind === 'unknown') {
          throw new TransportError(
            `the device ${serial} does not talk as a tester does (${report.sentence}); it is another device or has newer firmware (nothing was driven)`,
          );
        }
        if (report.kind !== 'identity') return;
        this.#identity = report;
        done(report);
      },
      this.#patience.answer_ms,
      `tester ${serial} does not say who it is; pull it out and plug it in again`,
    );
  }

  /** Lets the board look at itself, after it has said who it is. @throws TransportError when it does not end */
  async selfTest(): Promise<readonly SelfTestLine[]> {
    const { serial } = this.#transport;
    const lines: SelfTestLine[] = [];
    const before = this.#identity?.test;
    const end = await this.#until<Entry>(
      this.#encoder.selfTest(),
      (report, done) => {
        this.#notBusy(report);
        // What is sent again after the hello belongs to a test before this one.
        if (report.kind !== 'entry' || report.test === before) return;
        const line = selfTestLine(report.bytes);
        if (line) lines.push(line);
        if (report.bytes[LogEntryLayout.kind.at] === EntryKind.end) done(report);
      },
      this.#patience.selfTest_ms,
      `tester ${serial} did not come to the end of its self-test; pull it out and plug it in again`,
    );
    await this.#transport.write(this.#encoder.acknowledge(end.test, end.number + 1));
    return lines;
  }

  /**
   * Reads the resistance between two clips, alone on the clips, as a test does, and cancels that test.
   * @returns null where the path is open
   * @throws TransportError when a test is running, or nothing is heard
   */
  async resistance(low: number, high: number): Promise<Resistance | null> {
    return (await this.resistances([low, high])).get(pairName(low, high)) ?? null;
  }

  /**
   * Reads every pair of some clips once, as a test does, and cancels that test.
   * @param clips - in rising order
   * @param withLeads - with the tester's own leads, which else are taken off as its calibration has them
   * @returns by `pairName`; null where the path is open
   * @throws TransportError when a test is running, or nothing is heard
   */
  async resistances(clips: readonly number[], withLeads = false): Promise<ReadonlyMap<string, Resistance | null>> {
    const { serial } = this.#transport;
    const before = this.#identity?.test;
    const clipMask = clips.reduce((mask, clip) => mask | (1 << (clip - 1)), 0);
    const pairs = (clips.length * (clips.length - 1)) / 2;
    const found = new Map<string, Resistance | null>();
    const setup = { clipMask, bareMask: 0, kind: Kind.unknown, placeCount: 1, skipMagnets: true, withLeads };
    await this.#transport.write(this.#encoder.setup(setup));
    const last = await this.#until<Entry>(
      this.#encoder.button(Button.press),
      (report, done) => {
        this.#notBusy(report);
        if (report.kind !== 'entry' || report.test === before) return;
        const kind = report.bytes[LogEntryLayout.kind.at];
        if (kind === EntryKind.end) throw new TransportError(`tester ${serial} ended its test without a resistance`);
        if (kind !== EntryKind.resistance) return;
        const [name, reading] = resistanceOf(report.bytes);
        if (!found.has(name)) found.set(name, reading);
        if (found.size === pairs) done(report);
      },
      this.#patience.selfTest_ms,
      `tester ${serial} told no resistance; pull it out and plug it in again`,
    );
    const end = await this.#until<Entry>(
      this.#encoder.button(Button.long),
      (report, done) => {
        if (report.kind === 'entry' && report.test === last.test && report.bytes[LogEntryLayout.kind.at] === EntryKind.end) done(report);
      },
      this.#patience.selfTest_ms,
      `tester ${serial} does not end its test; pull it out and plug it in again`,
    );
    await this.#transport.write(this.#encoder.acknowledge(end.test, end.number + 1));
    await this.identify();
    return found;
  }

  /**
   * A raw look at a clip that nothing hangs on, for a calibration.
   * @param what - `Survey` @param clip - 1 to 6
   * @returns what it left, `SURVEY_bytes` or the first of them
   * @throws TransportError when a test is running, nothing is heard, or the board could not take it
   */
  async survey(what: number, clip: number): Promise<DataView> {
    const { serial } = this.#transport;
    const before = this.#identity?.test;
    let failed = false;
    const end = await this.#until<Entry>(
      this.#encoder.survey(what, clip),
      (report, done) => {
        this.#notBusy(report);
        if (report.kind !== 'entry' || report.test === before) return;
        const kind = report.bytes[LogEntryLayout.kind.at];
        if (kind === EntryKind.note) failed = true;
        if (kind === EntryKind.end) done(report);
      },
      this.#patience.selfTest_ms,
      `tester ${serial} did not come to the end of its look at clip ${clip}; pull it out and plug it in again`,
    );
    await this.#transport.write(this.#encoder.acknowledge(end.test, end.number + 1));
    await this.identify();
    if (failed) throw new TransportError(`tester ${serial} could not take what clip ${clip} does; look at it with tapstone check`);
    const samples = what >= Survey.zero ? 0 : what >= Survey.rampDown ? BURST_SAMPLES : SURVEY_CLIP_SAMPLES;
    const bytes = await this.#region(REGION_SURVEY, 4 + 4 * samples, 'what it saw');
    return new DataView(bytes.buffer);
  }

  /** The calibration in use, as it lies in the flash. @throws TransportError when it is not told */
  calibration(): Promise<Uint8Array> {
    return this.#region(REGION_CALIBRATION, CALIBRATION_bytes, 'its calibration');
  }

  async #region(region: number, length: number, what: string): Promise<Uint8Array> {
    const read = new Uint8Array(length);
    for (let offset = 0; offset < length; offset += BLOCK_bytes_max) {
      const count = Math.min(BLOCK_bytes_max, length - offset);
      const { bytes } = await this.#until<Block>(
        this.#encoder.read(region, offset, count),
        (report, done) => {
          if (report.kind === 'block' && report.region === region && report.offset === offset) done(report);
        },
        this.#patience.answer_ms,
        `tester ${this.#transport.serial} does not tell ${what}; pull it out and plug it in again`,
      );
      read.set(bytes, offset);
    }
    return read;
  }

  #notBusy(report: TesterReport): void {
    if (report.kind !== 'refused') return;
    throw new TransportError(`tester ${this.#transport.serial} is busy with a test; let it end, or press its button for 2 s to cancel it`);
  }

  /**
   * Hands a calibration over, and waits until it is written.
   * @param page - 128 bytes, numbered one more than the calibration in use
   * @returns false when the tester did not take it: what it had is in use
   * @throws TransportError when a test is running, or nothing is heard
   */
  async store(page: Uint8Array): Promise<boolean> {
    const { serial } = this.#transport;
    const parts = this.#encoder.calibrate(page);
    const last = parts.pop()!;
    for (const part of parts) await this.#transport.write(part);
    const { stored } = await this.#until<Stored>(
      last,
      (report, done) => {
        this.#notBusy(report);
        if (report.kind === 'calibrated') done(report);
      },
      this.#patience.answer_ms,
      `tester ${serial} does not say whether it has its new calibration; pull it out, plug it in again and ask with tapstone check`,
    );
    return stored;
  }

  /** Lets go of the tester. */
  end(): Promise<void> {
    this.#fail = () => undefined;
    this.#listener = () => undefined;
    return this.#transport.close();
  }

  async #until<T>(
    question: Uint8Array,
    hear: (report: TesterReport, done: (answer: T) => void) => void,
    limit_ms: number,
    silence: string,
  ): Promise<T> {
    const answer = new Promise<T>((resolve, reject) => {
      this.#fail = reject;
      this.#listener = (report) => {
        try {
          hear(report, resolve);
        } catch (error) {
          reject(error as Error);
        }
      };
    });
    const settled = new AbortController();
    const late = pause(limit_ms, settled.signal).then(() => {
      throw new TransportError(silence);
    });
    // Whichever comes second has nobody waiting for it any more.
    late.catch(() => undefined);
    answer.catch(() => undefined);
    try {
      await Promise.race([this.#transport.write(question), late]);
      return await Promise.race([answer, late]);
    } finally {
      settled.abort();
    }
  }
}

function selfTestLine(entry: Uint8Array): SelfTestLine | null {
  const view = new DataView(entry.buffer, entry.byteOffset, entry.byteLength);
  if (entry[LogEntryLayout.kind.at] !== EntryKind.note) return null;
  const note = entry[LogEntryLayout.a.at];
  if (note !== Note.selfTestFailed && note !== Note.selfTestPassed && note !== Note.converterFailed) return null;
  return {
    check: note === Note.converterFailed ? Check.none : entry[LogEntryLayout.b.at],
    passed: note === Note.selfTestPassed,
    fault: note === Note.converterFailed ? entry[LogEntryLayout.b.at] : 0,
    measured: view.getFloat32(LogEntryLayout.v0.at, true),
    expected: view.getFloat32(LogEntryLayout.v1.at, true),
  };
}

/** A reading of a pair, and which one; null where it is open. */
function resistanceOf(bytes: Uint8Array): [name: string, reading: Resistance | null] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const name = pairName(view.getUint8(LogEntryLayout.a.at), view.getUint8(LogEntryLayout.b.at));
  if ((view.getUint8(LogEntryLayout.flags.at) & EntryFlag.open) !== 0) return [name, null];
  return [name, { ohm: view.getFloat32(LogEntryLayout.v0.at, true), u_ohm: view.getFloat32(LogEntryLayout.v1.at, true) }];
}
