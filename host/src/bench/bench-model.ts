/**
 * The bench as the screen sees it: one test after the other on the chosen bench, and after every report a finished view.
 * No drawing here, and no clock: what is impure is handed in.
 */
import type { BenchRecord, BenchResistance } from '../files/bench-record.ts';
import { BenchTest, RESTING, type TestOutcome } from '../evidence/run-test.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import { dateNumber, dayOf } from '../logic/calibration-page.ts';
import { createLogic, type Logic } from '../logic/module.ts';
import { Button, EntryKind, Light, LogEntryLayout, Step } from '../logic/layout.generated.ts';
import type { State, TesterReport } from '../transport/reports.ts';
import { messageOf } from '../transport/driver.ts';
import { TransportError, type Transport, type VirtualHands } from '../transport/transport.ts';
import { cautionLines } from '../text/cautions.ts';
import { printable } from '../text/printable.ts';
import { wiringPanel } from '../wiring/lines.ts';
import { listInWords, type LeadColours } from '../wiremap/lead-words.ts';
import { lookAlikes, type LookAlike, type NamedPickup } from '../wiremap/look-alikes.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import type { BenchView, PairReading, Span, TraceChannel } from './view.ts';
import { pairKey } from './view.ts';
import type { Bench, BenchItem } from './bench.ts';
import { layingLines } from './laying.ts';
import { buttonWords, promptOf, stepWords, wantsHand } from './prompts.ts';

/** Blocks of the live picture that are kept: 1.6 s. */
export const TRACE_BLOCKS = 160;

/** A test as it is handed to whoever keeps it. */
export type TestToKeep = {
  readonly title: string;
  readonly record: BenchRecord;
  readonly map: WireMap;
  /** It did not come to its end. */
  readonly isBroken: boolean;
  /** Which pickup of the lot, from 0. */
  readonly place: number;
};

/** What was found at a place of the lot. */
export type Tested = {
  readonly map: WireMap;
  readonly readings: readonly BenchResistance[];
  /** The pickup's number in the shop; null when it has none. */
  readonly number: string | null;
};

/** Keys that leave what is on the bench, and what they go on with. */
const LEAVE = { n: 'goes to the next pickup', p: 'goes to the one before', q: 'quits', s: 'begins another lot' } as const;
export type Leave = keyof typeof LEAVE;

export type BenchModelOptions = {
  /** Something to say at the start: why there is no tester, for example. */
  readonly notice?: string | null;
  /** Time of day for the record. */
  readonly timeOfDay: () => string;
  /** Keeps a finished or broken-off test. @returns null when it is kept, or why not */
  readonly keep?: (test: TestToKeep) => string | null;
  /** The shop's number of the pickup whose test was kept last. */
  readonly numberKept?: () => string | null;
  /** What was found at a place of the lot before, or null. */
  readonly recall?: (place: number) => Tested | null;
  /** Takes the last test of the lot back. @returns the place that it was at, or null when there is none */
  readonly undo?: () => number | null;
  /** Which pickup of the lot lies there first, from 0. */
  readonly startsAt?: number;
  /** Another pickup of the lot was put on the bench. */
  readonly onMove?: (place: number) => void;
  /** Rings the bell, when it is on. */
  readonly ring?: () => void;
};

type Live = { readonly transport: Transport & Partial<VirtualHands>; readonly test: BenchTest; readonly logic: Logic };

/** Several sentences in one line of the screen, or null when there is none. */
export function sentences(...parts: readonly (string | null)[]): string | null {
  return parts.filter((part) => part !== null).join(' ') || null;
}

/** Observable state of the bench screen. */
export class BenchModel {
  readonly #bench: Bench;
  readonly #options: BenchModelOptions;
  readonly #listeners = new Set<() => void>();
  #index = 0;
  #item: BenchItem;
  #live: Live | null = null;
  /** Listens after the end for the tester's own button, which begins the next pickup of the lot. */
  #standby: Live | null = null;
  #state: State | null = null;
  #map: WireMap | null = null;
  #final = false;
  #message: string | null = null;
  #bell = false;
  #allWays = false;
  /** The test that lost its tester, until another begins. */
  #interrupted: Live | null = null;
  /** The last test of each pickup of this session that was finished, by index. */
  readonly #tested = new Map<number, NamedPickup>();
  /** Earlier ones that this one would be taken for. */
  #alike: readonly LookAlike[] = [];
  #lastReadings: readonly BenchResistance[] = [];
  #serial = '';
  #channels: [Span[], Span[]] = [[], []];
  #wanted = false;
  #view: BenchView;
  /** The pickup's number in the shop, once one is kept. */
  #number: string | null = null;
  /** The key that would leave a test that is not over, and that waits to be pressed again. */
  #leaving: Leave | null = null;
  /** Told when the test that is under way is over. */
  #over: (() => void) | null = null;
  #isBroken = false;
  /** Connections that were replaced; each run of a test belongs to one. */
  #generation = 0;

  constructor(bench: Bench, options: BenchModelOptions) {
    this.#bench = bench;
    this.#options = options;
    this.#message = options.notice ?? null;
    this.#index = options.startsAt ?? 0;
    this.#item = bench.item(this.#index);
    this.#view = this.#draw();
  }

  readonly subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  /** The finished view; the same object until something changes. */
  readonly view = (): BenchView => this.#view;

  /** Shows what was found at this place of the lot, or else waits for the button. */
  async open(): Promise<void> {
    const known = this.#options.recall?.(this.#index) ?? null;
    if (known === null) return this.connect();
    this.#generation += 1;
    await this.#drop();
    this.#interrupted = null;
    this.#state = null;
    this.#channels = [[], []];
    this.#final = true;
    this.#isBroken = false;
    this.#map = known.map;
    this.#number = known.number;
    this.#lastReadings = known.readings;
    this.#changed();
    void this.#standBy();
  }

  /**
   * Connects to the tester and waits for the button.
   * @param interrupted - a test that lost its tester and goes on
   * @param press - presses the button as soon as the tester has answered
   */
  async connect(interrupted: Live | null = null, press = false): Promise<void> {
    await this.#drop();
    this.#generation += 1;
    const generation = this.#generation;
    this.#interrupted = null;
    this.#state = null;
    this.#final = false;
    this.#isBroken = false;
    this.#channels = [[], []];
    if (interrupted === null) {
      this.#map = null;
      this.#number = null;
      this.#lastReadings = [];
    }
    try {
      const transport = await this.#item.connect();
      if (generation !== this.#generation) {
        await transport.close();
        return;
      }
      const logic = interrupted?.logic ?? createLogic();
      const test = new BenchTest(transport, {
        setup: this.#item.setup, logic, press, ...(this.#bench.isVirtual ? {} : { today: dayOf(dateNumber(this.#options.timeOfDay())) }),
        ...(interrupted === null ? {} : { resume: interrupted.test }),
        onReport: (report) => { if (generation === this.#generation) this.#take(report); },
      });
      this.#live = { transport, test, logic };
      this.#serial = transport.serial;
      this.#changed();
      const outcome = await test.run();
      if (generation === this.#generation) await this.#finish(outcome);
    } catch (error) {
      if (generation === this.#generation) await this.#broke(error as Error);
    }
  }

  /** A tester was plugged in: an interrupted test goes on, otherwise the next one waits for the button. */
  async plugged(): Promise<void> {
    if (this.#final && this.#standby === null) void this.#standBy();
    if (this.#live !== null || this.#final) return;
    const interrupted = this.#interrupted;
    this.#message = interrupted ? 'The tester is back; the test goes on.' : null;
    await this.connect(interrupted);
  }

  /** The tester's one button: starts, goes on; after the end it begins again with what lies there. */
  async button(): Promise<void> {
    if (this.#leaving !== null) {
      // It answers the question, and is no press for the tester, which would pass an ask over.
      this.#stay();
      return;
    }
    if (this.#final || this.#live === null) {
      this.#message = null;
      await this.connect(null, true);
    } else {
      this.#press(Button.press);
    }
  }

  /** A long press: breaks the test off. */
  cancel(): void {
    this.#stay();
    this.#press(Button.long);
  }

  /** The hand with the steel, on the virtual bench. */
  touch(): void {
    this.#stay();
    if (this.#state?.step === Step.asleep) this.#press(Button.press);
    else this.#live?.transport.touch?.();
  }

  /** The hand with the magnet probe, on the virtual bench. */
  holdMagnet(): void {
    this.#stay();
    if (this.#state?.step === Step.asleep) this.#press(Button.press);
    else this.#live?.transport.holdMagnet?.();
  }

  /** Puts another pickup of the lot on the bench. @param by - 1 next, -1 the one before */
  async move(by: 1 | -1): Promise<void> {
    const { count, isClosed } = this.#bench;
    const to = this.#index + by;
    if (to < 0 || (isClosed && to >= count)) {
      this.#message = to < 0 ? 'This is the first pickup of the lot.' : 'This is the last pickup of the lot; p goes back to the others.';
      this.#changed();
      return;
    }
    if (await this.leave(by === 1 ? 'n' : 'p')) await this.#lay(to);
  }

  /** Puts a certain pickup of the lot on the bench, unless a test is under way. @param place - from 0 @returns whether it lies there now */
  async lay(place: number): Promise<boolean> {
    if (place === this.#index) return true;
    if (this.#isUnderWay()) return false;
    await this.#lay(place);
    return true;
  }

  /** Which pickup of the lot lies there, from 0. */
  get place(): number {
    return this.#index;
  }

  async #lay(place: number): Promise<void> {
    this.#index = place;
    this.#item = this.#bench.item(place);
    this.#message = null;
    this.#options.onMove?.(place);
    await this.open();
  }

  /**
   * Whether what lies there may be left: a test that is under way is asked about first, and then kept as broken off.
   * @param key - that asks; pressed again it breaks the test off
   */
  async leave(key: Leave): Promise<boolean> {
    if (!this.#isUnderWay()) return true;
    if (this.#leaving !== key) {
      this.#leaving = key;
      this.#changed();
      return false;
    }
    if (this.#over !== null) {
      // It was told to end and does not answer.
      await this.#broke(new TransportError('the tester does not answer'));
      return true;
    }
    const over = new Promise<void>((resolve) => { this.#over = resolve; });
    this.#press(Button.long);
    await over;
    return true;
  }

  /** Takes the last test of the lot back and stands at its pickup. */
  async undo(): Promise<void> {
    if (this.#isUnderWay()) {
      this.#message = 'A test is under way; when it is over, the last one can be taken back.';
      this.#changed();
      return;
    }
    const place = this.#options.undo?.() ?? null;
    if (place === null) {
      this.#message = 'No test of this lot can be taken back.';
      this.#changed();
      return;
    }
    this.#index = place;
    this.#item = this.#bench.item(place);
    this.#message = 'The last test was taken back; it stays in the records as withdrawn.';
    await this.open();
  }

  #isUnderWay(): boolean {
    return this.#live !== null && !this.#final && this.#state !== null && !RESTING.has(this.#state.step);
  }

  /** Another key than the one that asked to leave: the test goes on. */
  #stay(): void {
    if (this.#leaving === null) return;
    this.#leaving = null;
    this.#changed();
  }

  #isOver(): void {
    this.#leaving = null;
    this.#over?.();
    this.#over = null;
  }

  /** Shows every way of wiring, or only those that are wanted most. */
  toggleWays(): void {
    this.#allWays = !this.#allWays;
    this.#changed();
  }

  /** Another number for the pickup that is shown as tested. @param place - of it in the lot, from 0 */
  renumber(place: number, number: string): void {
    if (place !== this.#index || !this.#final || number === this.#number) return;
    this.#number = number;
    this.#changed();
  }

  /** Says something that is not about this test. */
  tell(sentence: string): void {
    this.#message = sentence;
    this.#changed();
  }

  toggleBell(): void {
    this.#bell = !this.#bell;
    this.#changed();
  }

  /** Frees the tester. */
  async close(): Promise<void> {
    this.#generation += 1;
    await this.#drop();
  }

  #press(kind: number): void {
    const live = this.#live;
    if (live === null) return;
    if (live.transport.press) live.transport.press(kind === Button.long);
    else live.test.press(kind);
  }

  async #drop(): Promise<void> {
    const [live, standby] = [this.#live, this.#standby];
    this.#live = this.#standby = null;
    await live?.transport.close();
    await standby?.transport.close();
  }

  /**
   * Which pickup the tester's own button begins now: after a test that was broken off the same, otherwise the one behind it,
   * of which nothing is known yet; null where only a key can tell.
   */
  #byButton(): number | null {
    const { isVirtual, count } = this.#bench;
    if (isVirtual) return null;
    if (this.#isBroken) return this.#index;
    const next = this.#index + 1;
    return (count === 0 || next < count) && (this.#options.recall?.(next) ?? null) === null ? next : null;
  }

  /** With hands at the fixture nobody reaches for a key: waits for the tester's button, and follows it. */
  async #standBy(): Promise<void> {
    const place = this.#byButton();
    if (place === null) return;
    const generation = this.#generation;
    const isStill = (): boolean => generation === this.#generation;
    let own: Live | null = null;
    try {
      const { setup, connect } = this.#bench.item(place);
      const transport = await connect();
      if (!isStill()) return await transport.close();
      const logic = createLogic();
      const test = new BenchTest(transport, {
        setup, logic, press: false,
        onReport: (report) => {
          if (!isStill() || own === null) return;
          if (this.#standby === own && test.collector.count > 0) this.#followButton(own, place);
          // From now on the button is heard, and may be told of.
          if (this.#standby === own && report.kind === 'identity') this.#changed();
          if (this.#live === own) this.#take(report);
        },
      });
      own = { transport, test, logic };
      this.#standby = own;
      const outcome = await test.run();
      if (isStill()) await this.#finish(outcome);
    } catch (error) {
      if (isStill() && own !== null && this.#live === own) return this.#broke(error as Error);
      // Nobody waits for it: whoever presses a key next is told what is wrong.
      if (own !== null && this.#standby === own) {
        this.#standby = null;
        this.#changed();
      }
      await own?.transport.close();
    }
  }

  /** The tester began by its own button: the pickup of this place lies there now. */
  #followButton(begun: Live, place: number): void {
    this.#standby = null;
    this.#live = begun;
    this.#serial = begun.transport.serial;
    if (place !== this.#index) this.#options.onMove?.(place);
    this.#index = place;
    this.#item = this.#bench.item(place);
    this.#state = begun.test.state;
    this.#final = false;
    this.#isBroken = false;
    this.#channels = [[], []];
    this.#map = null;
    this.#number = null;
    this.#lastReadings = [];
    this.#alike = [];
    this.#message = null;
  }

  #take(report: TesterReport): void {
    if (report.kind === 'state') {
      this.#state = report;
      const wants = wantsHand(report);
      if (wants && !this.#wanted) this.#ring();
      this.#wanted = wants;
    } else if (report.kind === 'trace') {
      for (const { lowA_V, highA_V, lowB_V, highB_V } of report.spans) {
        this.#channels[0].push({ low_V: lowA_V, high_V: highA_V });
        this.#channels[1].push({ low_V: lowB_V, high_V: highB_V });
      }
      for (const spans of this.#channels) spans.splice(0, Math.max(0, spans.length - TRACE_BLOCKS));
    } else if (report.kind === 'entry') {
      this.#partial(report.bytes[LogEntryLayout.kind.at]);
    } else {
      return;
    }
    this.#changed();
  }

  /** The map on the way: the same solver on what is here so far. @param kind - of the entry that was just applied */
  #partial(kind: number): void {
    const live = this.#live;
    if (live === null || kind === EntryKind.begin || live.test.collector.count < 2) return;
    this.#map = solveEvidence(live.logic, this.#item.setup.places);
  }

  async #finish(outcome: TestOutcome): Promise<void> {
    this.#map = outcome.map;
    this.#final = true;
    const warning = outcome.differences.length > 0 ? `Tester and program disagree: ${outcome.differences.join('; ')}.` : null;
    const kept = this.#keep(outcome.map, false);
    this.#compare(outcome.map);
    const alike = this.#alike.length === 0 ? null : `It looks like ${listInWords(this.#alike.map(({ pickups }) => pickups[0]))}, but is not: see its wiring.`;
    // The warning says most about the pickup: it stands first, and none takes another's place.
    this.#message = sentences(warning, alike, kept.why === null ? null : `This test is not kept: ${kept.why}.`);
    this.#ring();
    await this.#release();
    this.#isOver();
    void this.#standBy();
  }

  /** Looks for earlier pickups of this session that are wired otherwise and look the same. */
  #compare(map: WireMap): void {
    const own = { name: this.#item.title, map, colours: this.#colours() };
    this.#alike = [...this.#tested].flatMap(([index, other]) => (index === this.#index ? [] : lookAlikes([other, own])));
    this.#tested.set(this.#index, own);
  }

  async #broke(error: Error): Promise<void> {
    const sentence = error instanceof TransportError
      ? error.message : `a fault of this program ended the test (${messageOf(error)}); please report it`;
    this.#message = sentence;
    if (this.#live !== null && this.#live.test.collector.count > 1) {
      this.#interrupted = this.#live;
      this.#map = this.#solveSoFar(this.#live.logic);
      if (this.#map !== null) {
        const kept = this.#keep(this.#map, true);
        if (kept.isKept) this.#message = `${sentence}; what was measured so far is kept`;
        else if (kept.why !== null) this.#message = `${sentence}; what was measured so far is not kept: ${kept.why}`;
      }
    }
    await this.#release();
    this.#isOver();
  }

  /** @returns null where the solver itself stops */
  #solveSoFar(logic: Logic): WireMap | null {
    try {
      return solveEvidence(logic, this.#item.setup.places);
    } catch {
      return null;
    }
  }

  /** Lets go of the tester but keeps what it said. */
  async #release(): Promise<void> {
    const live = this.#live;
    this.#changed();
    this.#live = null;
    await live?.transport.close();
    this.#changed();
  }

  /** @returns whether the test is kept now, and why not when that is somebody's fault */
  #keep(map: WireMap, isBroken: boolean): { readonly isKept: boolean; readonly why: string | null } {
    const live = this.#live;
    const identity = live?.test.identity ?? null;
    if (live === null || identity === null || this.#options.keep === undefined) return { isKept: false, why: null };
    const record = live.test.collector.record(this.#options.timeOfDay(), {
      serial: identity.serial, firmware: identity.firmware, moduleHash: identity.moduleHash,
    });
    this.#isBroken = isBroken || record.notes?.includes('cancelled') === true;
    const why = this.#options.keep({ title: this.#item.title, record, map, isBroken: this.#isBroken, place: this.#index });
    if (why === null) this.#number = this.#options.numberKept?.() ?? null;
    return { isKept: why === null, why };
  }

  #ring(): void {
    if (this.#bell) this.#options.ring?.();
  }

  #changed(): void {
    this.#view = this.#draw();
    for (const listener of this.#listeners) listener();
  }

  #draw(): BenchView {
    const { setup, title } = this.#item;
    const state = this.#state;
    const isVirtual = this.#bench.isVirtual;
    const readings = new Map<string, PairReading>();
    const live = this.#live;
    for (const { a, b, ohm, above_ohm } of live?.test.collector.readings ?? this.#lastReadings) {
      readings.set(pairKey(a, b), above_ohm === undefined ? { ohm } : { ohm, above_ohm });
    }
    if (live) this.#lastReadings = live.test.collector.readings;
    const busy = state !== null && !this.#final && state.clipA > 0 && state.clipB > 0;
    const position = this.#index < this.#bench.count ? `${this.#index + 1} of ${this.#bench.count}: ` : '';
    const ended = this.#final || (live === null && this.#message !== null);
    const wiring = this.#final && this.#map ? wiringPanel(this.#map, this.#colours(), this.#allWays, 'w') : null;
    return {
      source: `${this.#bench.source}${this.#serial ? ` ${this.#serial}` : ''}`,
      title: `${position}${title}`,
      clips: setup.clips,
      readings,
      activePair: busy ? [state.clipA, state.clipB] : null,
      step: state ? stepWords(state.step) : 'connecting',
      progress: state && !this.#final && state.step !== Step.idle ? state.progress : null,
      prompt: this.#prompt(ended),
      message: this.#message,
      trace: this.#trace(),
      laying: layingLines(setup.places, setup.kind),
      map: this.#map,
      final: this.#final,
      wiring: wiring === null ? [] : [
        ...this.#alike.map(({ text }) => ({ text: `  ${text}`, indent: 4 })), ...wiring.lines,
        { text: '', indent: 0 }, { text: 'Cautions', indent: 0 }, ...cautionLines()],
      ways: wiring?.ways ?? null,
      bell: this.#bell,
      keys: this.#keys(isVirtual, ended),
    };
  }

  #prompt(ended: boolean): string {
    if (this.#leaving !== null && this.#isUnderWay()) {
      return `This test is not over: ${this.#leaving} again keeps it as broken off and ${LEAVE[this.#leaving]}; space goes on with it.`;
    }
    if (this.#final) {
      const done = `${this.#isBroken ? 'Broken off' : 'Done'}${this.#number === null ? '' : `, number ${printable(this.#number)}`}`;
      if (this.#bench.isVirtual) return `${done}: n for the next pickup, space to test this one again.`;
      if ((this.#standby?.test.identity ?? null) === null) return `${done}: clip on the next pickup and press n; space tests this one again.`;
      return this.#isBroken
        ? `${done}: the tester's button or space tests this one again; n for the next.`
        : `${done}: clip on the next pickup and press the tester's button; space tests this one again.`;
    }
    if (ended) return 'Press space to try again.';
    return promptOf(this.#state, this.#item.setup.places, this.#bench.isVirtual);
  }

  #colours(): LeadColours {
    return new Map(this.#item.setup.clips.map(({ clip, colour }) => [clip, colour]));
  }

  #trace(): readonly TraceChannel[] {
    const [a, b] = this.#channels;
    return [{ label: 'listening, channel A', spans: a }, { label: 'listening, channel B', spans: b }];
  }

  #keys(isVirtual: boolean, ended: boolean): BenchView['keys'] {
    const state = this.#state;
    // While it is asked whether to leave, the button is the answer and not the tester's.
    const button = this.#leaving !== null && this.#isUnderWay() ? 'go on' : buttonWords(state, ended);
    const runs = !ended && state !== null && state.step !== Step.idle;
    const hint = (holds: boolean, key: string, does: string): BenchView['keys'] => (holds ? [{ key, does }] : []);
    return [
      ...hint(isVirtual && runs && state.light === Light.touch, 't', 'touch'),
      ...hint(isVirtual && runs && state.light === Light.magnet, 'g', 'magnet'),
      ...hint(button !== null, 'space', button ?? ''),
      ...hint(runs, 'c', 'cancel'),
      { key: 'q', does: 'quit' },
      { key: 'n', does: 'next' },
      { key: 'p', does: 'previous' },
      ...hint(this.#final && this.#options.undo !== undefined, 'u', 'take back'),
      { key: 'tab', does: 'panel' },
      { key: 'b', does: this.#bell ? 'bell off' : 'bell on' },
    ];
  }
}
