/**
 * The board twin: the logic's module in this process, its commands answered in simulated time by
 * the virtual bench. To the host it is a tester like any other.
 */
import { createLogic, logicModule, type BoardCommands, type Logic } from '../logic/module.ts';
import * as layout from '../logic/layout.generated.ts';
import {
  TransportError,
  type Transport,
  type TransportClosed,
  type VirtualHands,
} from '../transport/transport.ts';
import { heldPage, storeCalibration, writeBoardFacts, type HeldCalibration } from './board-facts.ts';
import { conversion_s, type Conversion } from './converter.ts';
import { FrontEnd } from './front-end.ts';
import { coarseSample, DECIMATION, decimated, INPUT_COUNT, rawSample } from './listening-adc.ts';
import { Person } from './person.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { RandomStream } from './random.ts';

const RAW_PER_BLOCK = layout.LISTEN_BLOCK * DECIMATION;
/** USB hands over one report in each direction per frame of 1 ms. */
const FRAME_s = 1e-3;
/** A sector of the flash is erased: the board does nothing else meanwhile. */
const ERASE_s = 0.045;
const NEVER_s = Number.POSITIVE_INFINITY;
/** How long the pump may keep the process to itself, in events. */
const EVENTS_AT_ONCE = 64;

/** How a twin is made. */
export interface BoardTwinOptions {
  readonly pickup: Pickup;
  /** Decides everything that is chance. */
  readonly seed: number;
  readonly serial?: string;
  /** What its flash holds of calibration; its maker's when left out. */
  readonly calibration?: HeldCalibration;
  /** Whether the person acts on the lights by itself (true when left out). */
  readonly automatic?: boolean;
  /** Paces simulated time to real time: gives milliseconds that have passed. Unpaced when left out. */
  readonly elapsed_ms?: () => number;
  /** Called with simulated seconds whenever the switches, the current or the lights change. */
  readonly onCommand?: (command: string, value: number, time_s: number) => void;
}

/** A tester that is simulated whole. */
export class BoardTwin implements Transport, VirtualHands {
  readonly serial: string;
  onReport: (report: Uint8Array) => void = () => {};
  onClosed: (closed: TransportClosed) => void = () => {};
  readonly frontEnd: FrontEnd;
  readonly person: Person;
  readonly #logic: Logic;
  readonly #options: BoardTwinOptions;
  readonly #codes = Array.from({ length: INPUT_COUNT }, () => {
    return new Uint16Array(Math.max(RAW_PER_BLOCK, layout.BURST_SAMPLES));
  });
  readonly #inbound: Uint8Array[] = [];
  #outbound: Uint8Array | null = null;
  #now_s = 0;
  #wake_s = NEVER_s;
  #conversionDone_s = NEVER_s;
  #conversion: Conversion = { code: 0, status: 0 };
  #burstDone_s = NEVER_s;
  #burst: { count: number; lead: number; stepWord: number; coarse: boolean } | null = null;
  #word = 0;
  /** When the present listening block began; NaN while not listening. */
  #listenStart_s = Number.NaN;
  #listened = 0;
  #frame_s = NEVER_s;
  #presses: number[] = [];
  #open = false;
  #plugged = false;
  #pumping = false;
  #testRuns = false;
  #paceStart_ms = 0;
  #paceStart_s = 0;
  #unwaited = 0;
  /** Ends the pump's present wait for real time. */
  #interrupt: (() => void) | null = null;

  constructor(options: BoardTwinOptions) {
    this.#options = options;
    this.serial = options.serial ?? 'TWIN-0001';
    this.frontEnd = new FrontEnd(options.pickup, options.seed);
    const hand = new RandomStream(options.seed, 'person');
    this.person = new Person(this.frontEnd, hand, options.automatic ?? true);
    this.person.onPress = () => this.#presses.push(layout.Button.press);
    this.#logic = createLogic(this.#commands());
    const page = heldPage(options.calibration ?? 'good', this.serial, this.frontEnd.own, options.seed);
    writeBoardFacts(this.#logic.view, this.serial, logicModule().sha256, page);
  }

  /** Simulated seconds since the twin was switched on. */
  get time_s(): number {
    return this.#now_s;
  }

  /** The module's memory, for comparisons of what the board holds with what the host rebuilt. */
  get memory(): DataView {
    return this.#logic.view;
  }

  /** Plugs the tester in: the first time it starts, after `unplug` it is where it was. */
  async open(): Promise<void> {
    if (this.#plugged) return;
    this.#plugged = true;
    if (!this.#open) {
      this.#open = true;
      this.#logic.calls.start();
    }
    this.#logic.calls.onLink(layout.Link.attached);
    this.#wantFrame();
    this.#pump();
  }

  /** Pulls the data lines while the tester keeps its power, as behind a powered hub; `open` plugs it in again. */
  unplug(): void {
    if (!this.#plugged) return;
    this.#plugged = false;
    this.#inbound.length = 0;
    this.#outbound = null;
    this.#logic.calls.onLink(layout.Link.detached);
    this.onClosed({ sentence: `tester ${this.serial} was unplugged` });
    this.#pump();
  }

  async write(report: Uint8Array): Promise<void> {
    if (!this.#plugged) throw new TransportError('the virtual tester is not plugged in');
    await this.#comeIn(() => {
      this.#inbound.push(Uint8Array.from(report));
      this.#wantFrame();
    });
  }

  async close(): Promise<void> {
    this.#plugged = false;
    this.#open = false;
    this.#interrupt?.();
  }

  press(long = false): void {
    void this.#comeIn(() => this.#presses.push(long ? layout.Button.long : layout.Button.press));
  }

  touch(): void {
    void this.#comeIn(() => this.person.touch(this.#now_s));
  }

  holdMagnet(): void {
    void this.#comeIn(() => this.person.holdMagnet(this.#now_s));
  }

  /** Something comes from outside: the pump stops waiting, time is brought up, then it happens. */
  async #comeIn(happen: () => void): Promise<void> {
    if (this.#interrupt !== null) {
      this.#interrupt();
      // The pump's own continuation brings the time up to now first.
      await null;
    }
    happen();
    this.#pump();
  }

  /** Runs events until nothing is to come, letting the host in between. */
  async #run(): Promise<void> {
    for (let events = 0; this.#open; events++) {
      const next_s = this.#nextEvent_s();
      if (next_s === NEVER_s) return;
      if (this.#options.elapsed_ms !== undefined) {
        if (!(await this.#waitUntil(next_s))) continue;
      } else if (events % EVENTS_AT_ONCE === 0) {
        await new Promise(setImmediate);
      }
      if (!this.#open) return;
      const reported = this.#step();
      if (reported) await null;
    }
  }

  #pump(): void {
    if (this.#pumping || !this.#open) return;
    this.#pumping = true;
    this.#paceStart_ms = this.#options.elapsed_ms?.() ?? 0;
    this.#paceStart_s = this.#now_s;
    this.#run().then(
      () => {
        this.#pumping = false;
        if (this.#open && this.#nextEvent_s() < NEVER_s) this.#pump();
      },
      (failure: unknown) => {
        this.#pumping = false;
        this.#open = false;
        const reason = failure instanceof Error ? failure.message : String(failure);
        this.onClosed({ sentence: `The virtual tester has stopped: ${reason}` });
      },
    );
  }

  /** Lets real time catch up with a simulated moment; ends early when something comes in, and
   * simulated time then stands where real time does.
   * @returns whether the moment was reached
   */
  async #waitUntil(time_s: number): Promise<boolean> {
    const elapsed_ms = this.#options.elapsed_ms!;
    const due_ms = this.#paceStart_ms + (time_s - this.#paceStart_s) * 1000;
    const wait_ms = Math.max(0, due_ms - elapsed_ms());
    // A timer takes a millisecond at least: what is due already does not wait for one each time.
    if (wait_ms === 0 && ++this.#unwaited % EVENTS_AT_ONCE !== 0) return true;
    const interrupted = await new Promise<boolean>((resolve) => {
      const timer = setTimeout(() => resolve(false), wait_ms);
      this.#interrupt = () => {
        clearTimeout(timer);
        resolve(true);
      };
    });
    this.#interrupt = null;
    if (!interrupted) return true;
    const real_s = this.#paceStart_s + (elapsed_ms() - this.#paceStart_ms) / 1000;
    this.#now_s = Math.max(this.#now_s, Math.min(real_s, time_s));
    return false;
  }

  #nextEvent_s(): number {
    if (this.#presses.length > 0) return this.#now_s;
    return Math.min(
      this.#wake_s,
      this.#conversionDone_s,
      this.#burstDone_s,
      this.#blockEnd_s(),
      this.#frame_s,
      this.person.nextAction_s,
    );
  }

  #blockEnd_s(): number {
    if (Number.isNaN(this.#listenStart_s)) return NEVER_s;
    return this.#listenStart_s + layout.LISTEN_BLOCK / layout.LISTEN_RATE_Hz;
  }

  /** Plays the next event. @returns whether the host got a report */
  #step(): boolean {
    const { calls } = this.#logic;
    const now_s = this.#nextEvent_s();
    this.#now_s = Math.max(this.#now_s, now_s);
    if (this.#presses.length > 0) {
      this.#press(this.#presses.shift()!);
    } else if (now_s === this.person.nextAction_s) {
      this.#catchUp();
      this.person.act();
    } else if (now_s === this.#conversionDone_s) {
      this.#conversionDone_s = NEVER_s;
      calls.onConversion(this.#conversion.code, this.#conversion.status);
    } else if (now_s === this.#burstDone_s) {
      this.#finishBurst();
    } else if (now_s === this.#blockEnd_s()) {
      this.#finishBlock();
    } else if (now_s === this.#wake_s) {
      this.#wake_s = NEVER_s;
      calls.onTime();
    } else {
      return this.#frame();
    }
    return false;
  }

  #press(kind: number): void {
    if (kind === layout.Button.press) this.#testMayBegin();
    this.#logic.calls.onButton(kind);
  }

  /** Intermittent leads count from the press that starts a test, not from one that goes on. */
  #testMayBegin(): void {
    if (!this.#testRuns) this.frontEnd.testBegins(this.#now_s);
    this.#testRuns = true;
  }

  /** One USB frame: a report to the host, a report from it. */
  #frame(): boolean {
    this.#frame_s = NEVER_s;
    if (!this.#plugged) return false;
    const out = this.#outbound;
    this.#outbound = null;
    if (out !== null) {
      this.onReport(out);
      this.#logic.calls.onReportSent();
    }
    const report = this.#inbound.shift();
    if (report !== undefined) {
      this.#logic.bytes.fill(0, layout.REPORT_IN, layout.REPORT_IN + layout.REPORT_bytes);
      this.#logic.bytes.set(report.subarray(0, layout.REPORT_bytes), layout.REPORT_IN);
      if (report[1] === layout.Report.button) this.#testMayBegin();
      this.#logic.calls.onReport(report.length);
    }
    if (this.#inbound.length > 0 || this.#outbound !== null) this.#wantFrame();
    return out !== null || report !== undefined;
  }

  #wantFrame(): void {
    if (this.#frame_s === NEVER_s) this.#frame_s = this.#now_s + FRAME_s;
  }

  /** Brings the analog world to now; what was listened to on the way is kept. A burst that runs is
   * taken whole when it ends: until then the analog world stays where it began.
   */
  #catchUp(): void {
    if (this.#burst !== null) return;
    if (!Number.isNaN(this.#listenStart_s)) {
      const due = Math.floor((this.#now_s - this.#listenStart_s) * layout.BURST_RATE_Hz + 1e-6);
      const count = Math.min(RAW_PER_BLOCK, due) - this.#listened;
      if (count > 0) this.frontEnd.capture(count, this.#codes, this.#listened);
      this.#listened += Math.max(0, count);
      return;
    }
    this.frontEnd.advance(this.#now_s);
  }

  #finishBlock(): void {
    this.#catchUp();
    const [ax1, bx1, ax8, bx8] = this.#codes;
    const { view } = this.#logic;
    for (let k = 0; k < layout.LISTEN_BLOCK; k++) {
      const a = decimated(ax1, ax8, k * DECIMATION);
      const b = decimated(bx1, bx8, k * DECIMATION);
      view.setInt32(layout.LISTEN + 4 * k, a, true);
      view.setInt32(layout.LISTEN + 4 * (layout.LISTEN_BLOCK + k), b, true);
    }
    this.#listenStart_s = this.#now_s;
    this.#listened = 0;
    this.#logic.calls.onSamples(layout.Status.ok);
  }

  #finishBurst(): void {
    const burst = this.#burst;
    this.#burst = null;
    this.#burstDone_s = NEVER_s;
    if (burst === null) {
      this.#logic.calls.onBurst(layout.Status.bad);
      return;
    }
    const { count, lead, stepWord, coarse } = burst;
    const [ax1, bx1, ax8, bx8] = this.#codes;
    this.frontEnd.capture(lead, this.#codes);
    if (stepWord !== this.#word) {
      this.#word = stepWord;
      this.frontEnd.setSwitches(stepWord);
    }
    this.frontEnd.capture(count - lead, this.#codes, lead);
    const { view } = this.#logic;
    for (let k = 0; k < count; k++) {
      view.setInt32(layout.BURST_A + 4 * k, coarse ? coarseSample(ax1[k]) : rawSample(ax1[k], ax8[k]), true);
      view.setInt32(layout.BURST_B + 4 * k, coarse ? coarseSample(bx1[k]) : rawSample(bx1[k], bx8[k]), true);
    }
    this.#now_s = Math.max(this.#now_s, this.frontEnd.time_s);
    this.#logic.calls.onBurst(layout.Status.ok);
  }

  #commands(): BoardCommands {
    const told = (command: string, value: number): void => {
      this.#options.onCommand?.(command, value, this.#now_s);
    };
    return {
      switches: (word) => {
        told('switches', word >>> 0);
        this.#disturb();
        this.#word = word >>> 0;
        this.frontEnd.setSwitches(word >>> 0);
      },
      drive: (current_nA) => {
        told('drive', current_nA);
        this.#disturb();
        this.frontEnd.setCurrent(current_nA);
      },
      convert: (input, rate) => {
        told('convert', input | (rate << 8));
        this.#catchUp();
        this.#conversion = this.frontEnd.convert(input, rate);
        this.#conversionDone_s = this.#now_s + conversion_s(rate);
      },
      burst: (count, lead, stepWord) => {
        told('burst', count);
        this.#disturb();
        const coarse = (lead & layout.BURST_X1) !== 0;
        this.#burst = { count, lead: lead & ~layout.BURST_X1, stepWord: stepWord >>> 0, coarse };
        this.#burstDone_s = this.#now_s + count / layout.BURST_RATE_Hz;
      },
      listen: (on) => {
        told('listen', on);
        this.#catchUp();
        this.#listenStart_s = on === 1 ? this.#now_s : Number.NaN;
        this.#listened = 0;
      },
      wake: (delay_us) => {
        this.#wake_s = delay_us === 0 ? NEVER_s : this.#now_s + (delay_us >>> 0) * 1e-6;
      },
      light: (pattern) => {
        told('light', pattern);
        if (RESTING_LIGHTS.has(pattern & 255)) this.#testRuns = false;
        this.person.sees(pattern >>> 0, this.#now_s);
      },
      send: () => {
        if (this.#outbound !== null || !this.#plugged) return 0;
        const from = layout.REPORT_OUT;
        this.#outbound = this.#logic.bytes.slice(from, from + layout.REPORT_bytes);
        this.#wantFrame();
        return 1;
      },
      wand: () => 1,
      store: () => {
        this.#now_s += ERASE_s;
        return storeCalibration(this.#logic.view) ? 1 : 0;
      },
    };
  }

  /** The analog world is about to be changed: a burst that was running on it is spoilt. */
  #disturb(): void {
    this.#burst = null;
    this.#catchUp();
  }
}

/** Lights that say that no test is running. */
export const RESTING_LIGHTS: ReadonlySet<number> = new Set([
  layout.Light.off,
  layout.Light.ready,
  layout.Light.good,
  layout.Light.fault,
  layout.Light.unsure,
]);
