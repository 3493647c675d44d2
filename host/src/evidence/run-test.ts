/** One test with a tester or a twin, from hello to the finished map: sends, acknowledges, compares. */
import { isDeepStrictEqual } from 'node:util';
import {
  Button,
  EntryKind,
  EVIDENCE,
  EVIDENCE_bytes,
  LogEntryLayout,
  RESULT,
  RESULT_bytes,
  Step,
} from '../logic/layout.generated.ts';
import { logicModule, type Logic } from '../logic/module.ts';
import { identityObstacle } from '../transport/judge.ts';
import {
  decodeReport,
  ReportEncoder,
  type Identity,
  type State,
  type TesterReport,
} from '../transport/reports.ts';
import { quietAlarm, silenceAlarm, type Alarm } from '../transport/silence.ts';
import { TransportError, type Transport } from '../transport/transport.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { blockDifference, Collector, type BenchSetup } from './collect.ts';
import { solveEvidence } from './read-result.ts';
import { coverCode, kindCode } from './readings.ts';
import { BARE } from '../wiremap/colours.ts';

/** Entries that may wait for their acknowledgement. */
const ACKNOWLEDGE_EVERY = 8;
/** Bytes that one answer to a read holds at most. */
const READ_bytes = 48;
/** Regions that can be read. */
const REGION = { evidence: 0, result: 1 } as const;

/** Hellos in a row that may bring no new entry before the tester counts as one that cannot tell its test. */
const HELLOS_MOST = 3;
/** Hellos after which a touch is taken without its samples: a tester that worked on without a host has overwritten them. */
const HELLOS_FOR_SAMPLES = 2;
/** Steps at which the tester waits for a person or for this program, for as long as that takes. */
const PATIENT: ReadonlySet<number> = new Set([
  Step.idle, Step.askTouch, Step.listening, Step.lift, Step.magnet, Step.waitHost, Step.asleep,
]);

/** Steps at which no test is under way. */
export const RESTING: ReadonlySet<number> = new Set([Step.idle, Step.done, Step.cancelled, Step.failed]);

/** How a test ended. */
export interface TestOutcome {
  readonly map: WireMap;
  readonly collector: Collector;
  readonly identity: Identity;
  /** What differs between the tester and this program, in sentences; empty when all bytes are equal. */
  readonly differences: readonly string[];
}

export interface TestOptions {
  readonly setup: BenchSetup;
  /** Fills its evidence; an instance that nobody else uses. */
  readonly logic: Logic;
  /** Compares the evidence block too, which takes 250 reports. */
  readonly compareEvidence?: boolean;
  /** Presses the tester's button as soon as it has answered (true when left out); otherwise a person does. */
  readonly press?: boolean;
  /** The day, as a calibration counts it, so that the tester can tell one that is old; not told where left out. */
  readonly today?: number;
  /** No magnet is asked for: the faces of the coils are not what is looked at. */
  readonly skipMagnets?: boolean;
  /** A test that lost its tester: goes on with what it has gathered, on the tester that is there again. */
  readonly resume?: BenchTest;
  /** Told of every report once it was acted on: evidence, state and identity are those after it. */
  readonly onReport?: (report: TesterReport) => void;
}

/** A test that runs on one transport. */
export class BenchTest {
  readonly collector: Collector;
  identity: Identity | null = null;
  state: State | null = null;
  private readonly transport: Transport;
  private readonly options: TestOptions;
  private readonly encoder = new ReportEncoder();
  private acknowledged = 0;
  private test = -1;
  private started = false;
  private owesPress = false;
  /** A hello was sent for what is missing, and nothing tells yet that it arrived. */
  private asksAgain = false;
  private hellos = 0;
  /** The button was pressed from here, and the test has not begun yet. */
  private pressed = false;
  private silence: Alarm | null = null;
  private quiet: Alarm | null = null;
  /** A hello was sent after the answer to a read did not come: the read is forgotten there. */
  private readsAgain = false;
  /** Number of the tester's test before ours, once we have met; kept by a test that resumes this one. */
  private older: number | null = null;
  private readonly differences: string[] = [];
  private reading: {
    region: number;
    what: string;
    address: number;
    bytes: Uint8Array;
    filled: number;
  } | null = null;
  private settle: { resolve(outcome: TestOutcome): void; reject(error: Error): void } | null = null;
  private sending: Promise<void> = Promise.resolve();

  constructor(transport: Transport, options: TestOptions) {
    this.transport = transport;
    this.options = options;
    const { resume } = options;
    this.collector = resume?.collector ?? new Collector(options.logic, options.setup);
    if (resume !== undefined) {
      this.test = resume.test;
      this.acknowledged = resume.acknowledged;
      this.older = resume.older;
    }
  }

  /** Opens the tester, starts the test and follows it to its end.
   * @throws TransportError when the tester is gone or does not fit this program
   */
  run(): Promise<TestOutcome> {
    return new Promise((resolve, reject) => {
      this.settle = { resolve, reject };
      this.silence = silenceAlarm(this.transport, () => this.wasSilent());
      this.quiet = quietAlarm(this.transport, () => this.wasQuiet());
      this.transport.onReport = (report) => this.guarded(() => this.receive(decodeReport(report)));
      this.transport.onClosed = ({ sentence }) => this.fail(new TransportError(sentence));
      this.transport.open().then(
        () => this.send(this.encoder.hello()),
        (error: Error) => this.fail(error),
      );
    });
  }

  /** Presses the tester's button from here. @param kind - `Button`; long cancels */
  press(kind: number): void {
    if (this.started) this.send(this.encoder.button(kind));
  }

  private guarded(act: () => void): void {
    try {
      act();
    } catch (error) {
      this.fail(error as Error);
    }
  }

  private fail(error: Error): void {
    this.stopAlarms();
    this.settle?.reject(error);
    this.settle = null;
  }

  private stopAlarms(): void {
    this.silence?.stop();
    this.quiet?.stop();
  }

  /** A hello brings once more who it is, its state and what was not acknowledged, whether that was lost or not. */
  private wasQuiet(): void {
    this.quiet?.putOff();
    this.readsAgain = this.reading !== null;
    this.send(this.encoder.hello());
  }

  /** Nothing new was heard for as long as a sound tester needs at most. */
  private wasSilent(): void {
    const owed = this.owed();
    if (owed === null) this.silence?.putOff();
    else
      this.fail(
        new TransportError(
          `tester ${this.transport.serial} does not tell ${owed}; pull it out and plug it in again`,
        ),
      );
  }

  /** What the tester has to tell before anybody else does something, or null when it waits itself. */
  private owed(): string | null {
    if (this.identity === null) return 'who it is';
    if (this.reading !== null) return `its ${this.reading.what}`;
    if (this.pressed) return 'that its test begins';
    if (this.test < 0 || this.state === null || PATIENT.has(this.state.step)) return null;
    return 'what it measures';
  }

  /** Reports leave one after the other, in order. */
  private send(report: Uint8Array): void {
    // What is still queued when the test ends must not leave: the tester may be in another test's session by then.
    const write = async (): Promise<void> => {
      if (this.settle !== null) await this.transport.write(report);
    };
    this.sending = this.sending.then(write).catch((error: Error) => this.fail(error));
  }

  private receive(report: TesterReport): void {
    if (this.settle === null) return;
    this.quiet?.putOff();
    if (this.isNew(report)) this.silence?.putOff();
    this.act(report);
    this.options.onReport?.(report);
  }

  /** Whether a report tells more than an answer to a hello, which a tester gives that is stuck. */
  private isNew(report: TesterReport): boolean {
    switch (report.kind) {
      case 'identity':
        return this.identity === null;
      case 'state':
        return !isDeepStrictEqual({ ...report, reportNumber: 0 }, { ...this.state, reportNumber: 0 });
      case 'entry':
        return report.test !== this.test || report.number >= this.collector.count;
      default:
        return true;
    }
  }

  private act(report: TesterReport): void {
    switch (report.kind) {
      case 'identity':
        this.meet(report);
        return;
      case 'state':
        this.state = report;
        this.pressWhenFree(report.acknowledged);
        return;
      case 'samples':
        if (this.started) this.collector.samples(report);
        return;
      case 'entry':
        if (this.started) this.take(report);
        return;
      case 'block':
        this.block(report);
        return;
      case 'refused':
        throw new TransportError(
          `tester ${this.transport.serial} refused report ${report.number} of type ${report.type} (reason ${report.reason}); unplug it, plug it in and start again`,
        );
      case 'unknown':
        throw new TransportError(
          `tester ${this.transport.serial}: ${report.sentence}; update tapstone or the tester's firmware`,
        );
      case 'trace':
    }
  }

  private meet(identity: Identity): void {
    this.asksAgain = false;
    if (this.readsAgain) this.readNext();
    if (this.identity !== null) return;
    this.identity = identity;
    const { sha256 } = logicModule();
    const obstacle = identityObstacle(this.transport.serial, identity, sha256);
    if (obstacle !== null) throw new TransportError(obstacle);
    // The button was pressed before the tester was lost, even if no entry had come yet.
    const ours = this.older !== null && identity.test === ((this.older + 1) & 0xffff);
    if (this.test >= 0 || ours) {
      if (this.test >= 0 && identity.test !== this.test) {
        throw new TransportError(
          `tester ${this.transport.serial} was without power in between and has forgotten its test; press the button to start again`,
        );
      }
      this.started = true;
      // The last entry may have been acknowledged before the tester was lost: nothing is sent again then.
      if (this.collector.isEnded) this.compare();
      return;
    }
    this.older = identity.test;
    const { clips, places, kind, covered } = this.options.setup;
    const mask = (chosen: readonly { clip: number }[]): number =>
      chosen.reduce((bits, { clip }) => bits | (1 << (clip - 1)), 0);
    this.send(
      this.encoder.setup({
        clipMask: mask(clips),
        bareMask: mask(clips.filter(({ colour }) => colour === BARE)),
        kind: kindCode(kind),
        placeCount: places.length,
        cover: coverCode(covered),
        today: this.options.today,
        ...(this.options.skipMagnets === true ? { skipMagnets: true } : {}),
      }),
    );
    this.started = true;
    this.owesPress = this.options.press ?? true;
  }

  /** Starts the test, once nothing of an older one is left that a press would only be warned about. */
  private pressWhenFree(acknowledged: number): void {
    if (!this.owesPress || this.state === null || acknowledged < this.state.logCount) return;
    this.owesPress = false;
    this.pressed = true;
    this.press(Button.press);
  }

  /** Whether the test that the tester had when we met is over, or is about to be replaced by ours. */
  private isOver(): boolean {
    return (this.options.press ?? true) || this.state === null || RESTING.has(this.state.step);
  }

  /** The tester begins no test before somebody has taken the entries of the one before it. */
  private letGo(entry: TesterReport & { kind: 'entry' }): void {
    const isLast = entry.bytes[LogEntryLayout.kind.at] === EntryKind.end;
    const count = entry.number + 1;
    if (!isLast && count % ACKNOWLEDGE_EVERY !== 0) return;
    this.send(this.encoder.acknowledge(entry.test, count));
    this.pressWhenFree(count);
  }

  private take(entry: TesterReport & { kind: 'entry' }): void {
    // Entries of a test before this one, sent again after the hello, are not ours.
    if (this.test < 0) {
      if (entry.test === this.older && this.isOver()) {
        this.letGo(entry);
        return;
      }
      if (entry.number !== 0 || entry.bytes[LogEntryLayout.kind.at] !== EntryKind.begin) return;
      this.test = entry.test;
      this.pressed = false;
    }
    if (entry.test !== this.test) return;
    const asItIs = !this.asksAgain && this.hellos >= HELLOS_FOR_SAMPLES;
    const taken = this.collector.entry(entry, asItIs);
    if (taken === 'gap' || taken === 'incomplete') {
      this.askAgain();
      return;
    }
    this.asksAgain = false;
    if (taken === 'repeated') return;
    this.hellos = 0;
    const kind = entry.bytes[LogEntryLayout.kind.at];
    const isDue =
      kind === EntryKind.touch ||
      kind === EntryKind.end ||
      this.collector.count - this.acknowledged >= ACKNOWLEDGE_EVERY;
    if (isDue) {
      this.acknowledged = this.collector.count;
      this.send(this.encoder.acknowledge(this.test, this.acknowledged));
    }
    if (this.collector.isEnded) this.compare();
  }

  /** An entry or samples of it are missing: a hello brings all that is not acknowledged once more. What is on its way until then says nothing new. */
  private askAgain(): void {
    if (this.asksAgain) return;
    this.hellos += 1;
    if (this.hellos > HELLOS_MOST) {
      throw new TransportError(
        `tester ${this.transport.serial} leaves out entry ${this.collector.count} of its test, although it was asked for it ${HELLOS_MOST} times; pull it out and plug it in again`,
      );
    }
    this.asksAgain = true;
    this.send(this.encoder.hello());
  }

  /** The test is over: solve here, then read what the tester has. */
  private compare(): void {
    this.differences.push(...this.collector.problems);
    this.options.logic.calls.solve();
    this.read(REGION.result, 'result', RESULT, RESULT_bytes);
  }

  private read(region: number, what: string, address: number, size: number): void {
    this.reading = { region, what, address, bytes: new Uint8Array(size), filled: 0 };
    this.readNext();
  }

  private readNext(): void {
    const { reading } = this;
    this.readsAgain = false;
    if (reading === null) return;
    const count = Math.min(READ_bytes, reading.bytes.length - reading.filled);
    this.send(this.encoder.read(reading.region, reading.filled, count));
  }

  private block({ region, offset, bytes }: TesterReport & { kind: 'block' }): void {
    const { reading } = this;
    if (
      reading === null ||
      region !== reading.region ||
      offset !== reading.filled ||
      bytes.length === 0
    )
      return;
    reading.bytes.set(bytes.subarray(0, reading.bytes.length - offset), offset);
    reading.filled += bytes.length;
    if (reading.filled < reading.bytes.length) {
      this.readNext();
      return;
    }
    const ours = this.options.logic.bytes.subarray(
      reading.address,
      reading.address + reading.bytes.length,
    );
    const difference = blockDifference(`${reading.what} block`, ours, reading.bytes);
    if (difference !== null) this.differences.push(difference);
    if (reading.region === REGION.result && this.options.compareEvidence === true) {
      this.read(REGION.evidence, 'evidence', EVIDENCE, EVIDENCE_bytes);
      return;
    }
    this.reading = null;
    this.finish();
  }

  private finish(): void {
    const { settle, identity } = this;
    if (settle === null || identity === null) return;
    // A failure in here must still find `settle`, to be told and not to hang.
    const map = solveEvidence(this.options.logic, this.options.setup.places);
    this.settle = null;
    this.stopAlarms();
    settle.resolve({
      map,
      collector: this.collector,
      identity,
      differences: this.differences,
    });
  }
}
