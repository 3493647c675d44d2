/**
 * One test of two clips at a guitar's jack. The tester asks as it would for a single pickup, until it knows which coil lies
 * where; here it is enough that each place was touched once so that everybody could tell what came of it. What is asked beyond
 * that is passed over, and when nothing is left the test is ended.
 */
import type { BenchRecord } from '../files/bench-record.ts';
import { BenchTest, type TestOutcome } from '../evidence/run-test.ts';
import { Button, Light, Step } from '../logic/layout.generated.ts';
import { createLogic } from '../logic/module.ts';
import { DOUBT_most, type Swing } from '../proof/reading.ts';
import type { TesterReport } from '../transport/reports.ts';
import type { Transport } from '../transport/transport.ts';
import { JACK_CLIPS } from './jack-steps.ts';

/** Asks of one place, the first among them, until it is left as it is. */
const ASKS_most = 2;
/** A block of listening, seconds, and the silence after which a press says that a touch was not heard (usb-reports.md). */
const [BLOCK_s, SILENCE_s] = [0.01, 10];

export interface JackTestOptions {
  readonly places: readonly string[];
  /** Swings of a record at the jack. */
  readonly swings: (record: BenchRecord) => readonly Swing[];
  /** Whether a coil should be heard at a place; null where nobody knows. */
  readonly isExpected: (place: string) => boolean | null;
  readonly timeOfDay: () => string;
  /** As `BenchTest` has them. */
  readonly press?: boolean;
  readonly today?: number;
  /** A reading that lost its tester and goes on. */
  readonly resume?: JackTest;
  readonly onReport?: (report: TesterReport) => void;
}

/** A test at the jack that runs on one transport. */
export class JackTest {
  readonly bench: BenchTest;
  readonly #options: JackTestOptions;
  /** By place: how often it was asked for. */
  readonly #asks: Map<number, number>;
  /** Places that the person passed over. */
  readonly #passed: Set<number>;
  #last: string;
  #heardFor_s = 0;
  #swings: { readonly count: number; readonly swings: readonly Swing[] } = { count: -1, swings: [] };
  #isEnding = false;

  constructor(transport: Transport, options: JackTestOptions) {
    const { places, resume } = options;
    this.#options = options;
    this.#asks = resume === undefined ? new Map() : new Map(resume.#asks);
    this.#last = resume === undefined ? '' : resume.#last;
    this.#passed = resume === undefined ? new Set() : new Set(resume.#passed);
    this.bench = new BenchTest(transport, {
      setup: { clips: [{ clip: JACK_CLIPS.hot }, { clip: JACK_CLIPS.ground }], places },
      logic: createLogic(), skipMagnets: true,
      ...(options.press === undefined ? {} : { press: options.press }),
      ...(options.today === undefined ? {} : { today: options.today }),
      ...(resume === undefined ? {} : { resume: resume.bench }),
      onReport: (report) => {
        this.#follow(report);
        options.onReport?.(report);
      },
    });
  }

  run(): Promise<TestOutcome> {
    return this.bench.run();
  }

  /** Whether all that was wanted has been read, so that the program itself ended the test. */
  get isWhole(): boolean {
    return this.#isEnding;
  }

  /** Whether the tester waits for steel now. */
  get isAsking(): boolean {
    const { state } = this.bench;
    return state !== null && state.light === Light.touch && state.step !== Step.asleep;
  }

  /** Seconds until a press of the button says that a touch was not heard, and no longer that the place is passed over. */
  get silenceLeft_s(): number {
    return Math.max(0, SILENCE_s - this.#heardFor_s);
  }

  /** The person goes on without a touch. */
  passOver(): void {
    const { state } = this.bench;
    if (state !== null && this.isAsking && this.silenceLeft_s > 0) this.#passed.add(state.place);
  }

  /** Swings so far. */
  get swings(): readonly Swing[] {
    const { collector } = this.bench;
    const count = collector.touchCount;
    if (count !== this.#swings.count) this.#swings = { count, swings: count === 0 ? [] : this.#options.swings(this.record()) };
    return this.#swings.swings;
  }

  /** All that was read so far. */
  record(): BenchRecord {
    const { identity, collector } = this.bench;
    return collector.record(this.#options.timeOfDay(), identity ?? { serial: '', firmware: '', moduleHash: '' });
  }

  #follow(report: TesterReport): void {
    if (report.kind === 'trace' && this.isAsking) this.#heardFor_s += report.spans.length * BLOCK_s;
    if (report.kind !== 'state') return;
    if (!this.isAsking) {
      this.#heardFor_s = 0;
      return;
    }
    const ask = `${report.place} ${report.ask}`;
    if (ask === this.#last) return;
    this.#last = ask;
    this.#heardFor_s = 0;
    if (report.ask === 0 || this.#isWanted(report.place)) this.#asks.set(report.place, report.ask + 1);
    else if ([...this.#asks.keys()].some((place) => this.#isWanted(place))) this.bench.press(Button.press);
    else {
      this.#isEnding = true;
      this.bench.press(Button.long);
    }
  }

  /** Whether another touch of a place that was asked for already would tell something. */
  #isWanted(place: number): boolean {
    if ((this.#asks.get(place) ?? 0) >= ASKS_most || this.#passed.has(place)) return false;
    const name = this.#options.places[place]!;
    return !this.swings.some(({ at, sign, doubt }) =>
      at === name && doubt <= DOUBT_most && (sign !== 0 || this.#options.isExpected(name) !== true));
  }
}
