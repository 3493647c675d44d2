/**
 * A guitar read at its jack as the screen sees it: one setting after the other, each a test of two clips, and after every report
 * a finished view. What was read is handed on as soon as it is there. No drawing here, and no clock: what is impure is handed in.
 */
import { TRACE_BLOCKS } from '../bench/bench-model.ts';
import { placeNames } from '../bench/lot-setup.ts';
import type { PanelLine, Span } from '../bench/view.ts';
import { wantsHand } from '../bench/prompts.ts';
import type { TestOutcome } from '../evidence/run-test.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { dateNumber, dayOf } from '../logic/calibration-page.ts';
import { Button, Light, Step } from '../logic/layout.generated.ts';
import type { NamedRecord } from '../proof/evidence-of.ts';
import { Asking } from '../shop/asking.ts';
import { printable } from '../text/printable.ts';
import { messageOf } from '../transport/driver.ts';
import type { TesterReport } from '../transport/reports.ts';
import { TransportError, type Transport, type VirtualHands } from '../transport/transport.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import type { JackBench } from './jack-bench.ts';
import { JackResults, type ReadingInWords } from './jack-results.ts';
import { jackSteps, stepOf, type JackStep } from './jack-steps.ts';
import { JackTest } from './jack-test.ts';
import { askWords, beforeWords, potWords, stepInShort, stepInWords, switchWords } from './jack-words.ts';
import { placesProblem, proposedPlaces } from './survey-places.ts';
import type { JackView } from './view.ts';

export interface JackModelOptions {
  readonly loaded: LoadedHarness;
  /** Name of the harness's file, which records tell. */
  readonly harness: string;
  readonly timeOfDay: () => string;
  /** Places that can be touched, where nothing is fitted and they are known all the same; asked for when left out. */
  readonly places?: readonly string[];
  /** Read before, in their order. */
  readonly records?: readonly BenchRecord[];
  /** Where readings are kept; null: nowhere yet. */
  readonly file: string | null;
  /** Writes all readings so far. @returns why that could not be, or null */
  readonly write: (file: string, records: readonly BenchRecord[]) => Promise<string | null>;
  /** Whether there is a file of this name. */
  readonly isThere: (file: string) => Promise<boolean>;
  readonly ring?: () => void;
}

/** A reading that is kept. */
interface Kept {
  record: BenchRecord;
  /** Index of its step; -1 for one that belongs to none. */
  readonly step: number;
  /** All that was wanted of it was read. */
  isWhole: boolean;
}

interface Live {
  readonly transport: Transport & Partial<VirtualHands>;
  readonly test: JackTest;
  readonly step: number;
}

/** What a reading that is under way has heard. */
interface Heard {
  readonly test: JackTest | null;
  /** Touches that it has. */
  readonly count: number;
  readonly heard: ReadingInWords['heard'];
}

interface Interrupted {
  readonly live: Live;
  readonly kept: Kept | null;
}

/** Observable state of the screen at the jack. */
export class JackModel extends Asking<JackView> {
  readonly #bench: JackBench;
  readonly #options: JackModelOptions;
  readonly #results: JackResults;
  #steps: readonly JackStep[] = [];
  #kept: Kept[] = [];
  #at = 0;
  #live: Live | null = null;
  /** The reading that lost its tester, and what is kept of it. */
  #interrupted: Interrupted | null = null;
  #file: string | null;
  #writing: Promise<unknown> = Promise.resolve();
  #serial = '';
  #spans: Span[] = [];
  #wanted = false;
  #bell = false;
  /** Told when the reading that is under way is over. */
  #over: (() => void) | null = null;
  #generation = 0;
  /** Nobody can read at present. */
  #lost: string | null = null;
  #words: readonly ReadingInWords[] | null = null;
  #proof: readonly string[] | null = null;
  /** What the reading that is under way has heard, by place; worked out once for each touch. */
  #heard: Heard = { test: null, count: 0, heard: new Map() };
  #isConnecting = true;

  /** @throws MisfitRecord for a record of `records` that is of another harness */
  constructor(bench: JackBench, options: JackModelOptions) {
    super();
    this.#bench = bench;
    this.#options = options;
    this.#results = new JackResults(options.loaded);
    this.#file = options.file;
    const { records = [] } = options;
    const told = options.places ?? [...new Set(records.flatMap(({ places = [] }) => places))];
    const known = this.#results.isFitted ? this.#results.places : told;
    if (known.length > 0) this.#setPlaces(known);
    this.#results.inWords(records.map((record, at) => ({ source: `record ${at + 1}`, record })));
    for (const record of records) {
      const step = stepOf(record, this.#steps);
      this.#kept.push({ record, step, isWhole: step >= 0 && isWhole(record, this.#steps[step]!) });
    }
    this.#at = Math.max(0, this.#next(0));
  }

  /** All readings so far, in the order in which they were taken. */
  get records(): readonly BenchRecord[] {
    return this.#kept.map(({ record }) => record);
  }

  /** Where each reading is written to; null: nowhere. */
  get file(): string | null {
    return this.#file;
  }

  /** Whether nothing was read yet. */
  get isEmpty(): boolean {
    return this.#kept.length === 0;
  }

  /** The proof of what was read so far, as `tapstone proof` prints it; empty when nothing was. */
  proofText(): string {
    return this.isEmpty ? '' : this.#results.text(this.#named());
  }

  /** The same as lines. */
  proof(): readonly string[] {
    this.#proof ??= this.proofText().trimEnd().split('\n');
    return this.isEmpty ? ['Known when a setting has been read.'] : this.#proof;
  }

  /** Connects to the tester and waits for its button. */
  async open(): Promise<void> {
    if (this.#steps.length === 0) this.#askPlaces();
    else await this.#connect(null, false);
  }

  /** The tester's one button, or the key that stands for it. */
  async button(): Promise<void> {
    if (this.#steps.length === 0) return this.#askPlaces();
    const live = this.#live;
    if (!this.#isUnderWay) this.say(null);
    if (live === null) return this.#isConnecting ? undefined : this.#connect(null, true);
    if (live.test.isAsking) live.test.passOver();
    this.#press(Button.press);
  }

  /** The hand with the steel, on the virtual bench. */
  touch(): void {
    if (this.#live?.test.bench.state?.step === Step.asleep) this.#press(Button.press);
    else this.#live?.transport.touch?.();
  }

  /** Goes to another setting; one that is under way is asked about first. */
  move(by: 1 | -1): void {
    const to = this.#at + by;
    if (to < 0 || to >= this.#steps.length) return this.say(to < 0 ? 'This is the first setting.' : 'This is the last setting.');
    this.#leaving(`${stepInWords(this.#step)} is not read to its end. Go to another setting all the same?`, () => this.#goTo(to));
  }

  /** Takes away what was read of the chosen setting, after a question. */
  drop(): void {
    if (this.#isUnderWay) return this.say('A reading is under way; when it is over, what was read of a setting can be dropped.');
    const own = this.#kept.filter(({ step }) => step === this.#at);
    if (own.length === 0) return this.say(`Nothing was read of ${stepInWords(this.#step)} yet.`);
    const which = own.length === 1 ? 'the reading' : `all ${own.length} readings`;
    const take = (): void => {
      this.#kept = this.#kept.filter(({ step }) => step !== this.#at);
      this.#interrupted = null;
      this.#hasRead();
      this.say(`Dropped ${which} of ${stepInWords(this.#step)}.`);
    };
    this.ask({ kind: 'choice', question: `Drop ${which} of ${stepInWords(this.#step)}?`, choices: [{ key: 'y', does: 'drops it', take }] });
  }

  /** Asks for a file to keep the readings in. */
  keep(then: () => void = () => undefined): void {
    if (this.#file !== null) return this.say(`Each reading is written to ${printable(this.#file)} as soon as it is over.`);
    const take = (typed: string): void => {
      const file = typed.trim();
      if (file === '') return this.say('Not kept: no name was typed.');
      void this.#options.isThere(file).then((isThere) => {
        if (isThere) return this.say(`Not kept: there is a file ${printable(file)} already; press k and type another name.`);
        this.#file = file;
        void this.#write().then((isWritten) => {
          if (!isWritten) return;
          this.say(`Each reading is written to ${printable(file)} as soon as it is over.`);
          then();
        });
      });
    };
    this.ask({ kind: 'text', question: 'Keep the readings in', text: this.#proposedFile(1), take });
  }

  /** Ends, once what would be lost or left is asked about. @param end - called when it may */
  quit(end: () => void): void {
    // Whoever presses Ctrl-C at a question means it.
    if (this.asked !== null) return end();
    this.#leaving(`${this.#steps.length === 0 ? 'This' : stepInWords(this.#step)} is not read to its end. End all the same?`, () => {
      if (this.#file !== null || this.isEmpty) return end();
      const count = this.#kept.length;
      this.ask({
        kind: 'choice', question: `${count === 1 ? 'One reading stands' : `${count} readings stand`} in no file. The proof is printed in any case.`,
        choices: [{ key: 'k', does: 'keeps them first', take: () => this.keep(end) }, { key: 'y', does: 'ends without', take: end }],
      });
    });
  }

  /** Nobody is there to be asked: what is under way is broken off and kept, in a file of a name that is free where none was named. */
  async endNow(): Promise<void> {
    await this.#breakOff();
    if (this.#file !== null || this.isEmpty) return;
    let number = 1;
    while (await this.#options.isThere(this.#proposedFile(number))) number += 1;
    this.#file = this.#proposedFile(number);
    await this.#write();
  }

  /** A tester was plugged in: a reading that it left goes on, otherwise the next waits for the button. */
  async plugged(): Promise<void> {
    if (this.#live !== null || this.#steps.length === 0) return;
    const interrupted = this.#interrupted;
    this.say(interrupted === null ? null : 'The tester is back; the reading goes on.');
    await this.#connect(interrupted, false);
  }

  toggleBell(): void {
    this.#bell = !this.#bell;
    this.changed();
  }

  /** Frees the tester, and waits until all is written. */
  async close(): Promise<void> {
    this.#generation += 1;
    const live = this.#live;
    this.#live = null;
    await live?.transport.close();
    await this.#writing;
  }

  /** A name for the file of the readings. @param number - 1 for the first that is thought of */
  #proposedFile(number: number): string {
    return `${this.#options.harness.replace(/(\.harness)?\.json$/, '')}-jack${number === 1 ? '' : `-${number}`}.bench.jsonl`;
  }

  get #step(): JackStep {
    return this.#steps[this.#at]!;
  }

  get #isUnderWay(): boolean {
    return this.#live !== null && this.#live.test.bench.collector.count > 0;
  }

  #named(): NamedRecord[] {
    return this.#kept.map(({ record }, at) => ({ source: `reading ${at + 1}`, record }));
  }

  #setPlaces(places: readonly string[]): void {
    this.#steps = jackSteps(this.#options.loaded.harness, places);
  }

  /** The first step from here on, and then from the beginning, that is not read yet; -1 when all are. */
  #next(from: number): number {
    const isRead = (step: number): boolean => this.#kept.some((one) => one.step === step && one.isWhole);
    const order = this.#steps.map((_, at) => (from + at) % this.#steps.length);
    return order.find((step) => !isRead(step)) ?? -1;
  }

  #askPlaces(text = proposedPlaces(this.#options.loaded.harness.slots), wrong: string | null = null): void {
    const question = `${wrong === null ? '' : `${wrong} `}Places that can be touched, with commas between them`;
    const take = (typed: string): void => {
      const places = placeNames(typed);
      const problem = placesProblem(places, this.#options.loaded.harness.slots);
      if (problem !== null) return this.#askPlaces(typed, problem);
      this.#setPlaces(places);
      void this.#connect(null, false);
    };
    this.ask({ kind: 'text', question, text, take });
  }

  /** Does something that leaves what is under way, once that is asked about and kept. */
  #leaving(question: string, then: () => void): void {
    if (!this.#isUnderWay) return then();
    const take = (): void => void this.#breakOff().then(then);
    this.ask({ kind: 'choice', question, choices: [{ key: 'y', does: 'keeps what was read of it' }].map((choice) => ({ ...choice, take })) });
  }

  async #breakOff(): Promise<void> {
    if (!this.#isUnderWay) return;
    const over = new Promise<void>((resolve) => { this.#over = resolve; });
    this.#press(Button.long);
    await over;
  }

  #goTo(step: number): void {
    this.#at = step;
    this.say(null);
    void this.#connect(null, false);
  }

  #press(kind: number): void {
    const live = this.#live;
    if (live === null) return;
    if (live.transport.press) live.transport.press(kind === Button.long);
    else live.test.bench.press(kind);
  }

  /**
   * Reads the chosen setting when the button is pressed.
   * @param interrupted - a reading that lost its tester and goes on
   * @param press - presses the button as soon as the tester has answered
   */
  async #connect(interrupted: Interrupted | null, press: boolean): Promise<void> {
    this.#generation += 1;
    const generation = this.#generation;
    const isStill = (): boolean => generation === this.#generation;
    const before = this.#live;
    this.#live = null;
    this.#isConnecting = true;
    await before?.transport.close();
    if (!isStill()) return;
    this.#interrupted = null;
    this.#lost = null;
    this.#spans = [];
    const at = interrupted?.live.step ?? this.#at;
    this.#at = at;
    const step = this.#steps[at]!;
    const planned = this.#results.planned(step.setting);
    let live: Live | null = null;
    try {
      const transport = await this.#bench.connect(step, this.#kept.filter((one) => one.step === at).length);
      if (!isStill()) return await transport.close();
      const test = new JackTest(transport, {
        places: step.places, timeOfDay: this.#options.timeOfDay, press,
        swings: (record) => this.#results.swings({ ...record, setting: step.names }),
        isExpected: (place) => (planned === null ? null : planned.sounding.includes(place)),
        ...(this.#bench.isVirtual ? {} : { today: dayOf(dateNumber(this.#options.timeOfDay())) }),
        ...(interrupted === null ? {} : { resume: interrupted.live.test }),
        onReport: (report) => { if (isStill()) this.#take(report); },
      });
      live = { transport, test, step: at };
      this.#live = live;
      this.#isConnecting = false;
      this.#serial = transport.serial;
      this.changed();
      const outcome = await test.run();
      if (isStill()) await this.#finish(live, outcome, interrupted?.kept ?? null);
    } catch (error) {
      if (isStill()) await this.#broke(live, error as Error, interrupted?.kept ?? null);
    }
  }

  #take(report: TesterReport): void {
    if (report.kind === 'state') {
      const wants = wantsHand(report);
      if (wants && !this.#wanted && this.#bell) this.#options.ring?.();
      this.#wanted = wants;
      if (report.light !== Light.touch && report.light !== Light.lift) this.#spans = [];
    } else if (report.kind === 'trace') {
      this.#spans.push(...report.spans.map(({ lowA_V, highA_V }) => ({ low_V: lowA_V, high_V: highA_V })));
      this.#spans.splice(0, Math.max(0, this.#spans.length - TRACE_BLOCKS));
    } else if (report.kind !== 'entry') {
      return;
    }
    this.changed();
  }

  async #finish(live: Live, { differences }: TestOutcome, replaced: Kept | null): Promise<void> {
    const isBroken = this.#over !== null;
    const step = this.#steps[live.step]!;
    const kept = this.#keepReading(live, !isBroken, replaced);
    const warning = differences.length === 0 ? null : `Tester and program disagree: ${differences.join('; ')}.`;
    const told = isBroken ? 'broken off; what was read of it is kept.' : this.#inWords()[this.#kept.indexOf(kept)]!.told;
    this.say([warning, `${stepInWords(step)}: ${told}`].filter((part) => part !== null).join(' '));
    if (this.#bell) this.#options.ring?.();
    this.#live = null;
    await live.transport.close();
    const over = this.#over;
    this.#over = null;
    // Whoever breaks a reading off says what comes then.
    if (over !== null) return over();
    const next = this.#next(this.#at);
    if (next < 0) return this.changed();
    this.#at = next;
    await this.#connect(null, false);
  }

  /** Into the list and the file. @param replaced - what is kept of the same reading already */
  #keepReading({ test, step }: Live, whole: boolean, replaced: Kept | null): Kept {
    const { names } = this.#steps[step]!;
    const record: BenchRecord = { ...test.record(), harness: this.#options.harness, setting: names };
    const kept = replaced ?? { record, step, isWhole: whole };
    kept.record = record;
    kept.isWhole = whole;
    if (replaced === null) this.#kept.push(kept);
    this.#hasRead();
    return kept;
  }

  #hasRead(): void {
    this.#words = null;
    this.#proof = null;
    void this.#write();
  }

  /** Writes all readings, one write after the other. @returns whether they are written; a file that cannot be is given up */
  #write(): Promise<boolean> {
    const file = this.#file;
    if (file === null) return Promise.resolve(false);
    const records = this.records;
    const written = this.#writing.then(() => this.#options.write(file, records)).then((why) => {
      if (why === null) return true;
      if (this.#file === file) this.#file = null;
      this.say(`Not written: ${why}. The readings stand here only; k keeps them in another file.`);
      return false;
    });
    this.#writing = written;
    return written;
  }

  async #broke(live: Live | null, error: Error, replaced: Kept | null): Promise<void> {
    const sentence = error instanceof TransportError
      ? error.message : `a fault of this program ended the reading (${messageOf(error)}); please report it`;
    this.#isConnecting = false;
    this.#lost = sentence;
    let told = `${sentence}.`;
    if (live !== null && live.test.bench.collector.count > 1) {
      const kept = live.test.bench.collector.readings.length === 0 ? replaced : this.#keepReading(live, false, replaced);
      this.#interrupted = { live, kept };
      told = `${sentence}; what was read so far stays. Plug it in again, and the reading goes on.`;
    }
    this.say(told);
    this.#live = null;
    await live?.transport.close();
    this.#over?.();
    this.#over = null;
    this.changed();
  }

  #inWords(): readonly ReadingInWords[] {
    this.#words ??= this.#results.inWords(this.#named());
    return this.#words;
  }

  protected sentence(error: unknown): string {
    return messageOf(error);
  }

  protected draw(): JackView {
    const { title } = this.#options.loaded.harness;
    const read = this.#steps.filter((_, at) => this.#kept.some(({ step, isWhole: whole }) => step === at && whole)).length;
    const state = this.#live?.test.bench.state ?? null;
    const hears = state !== null && (state.light === Light.touch || state.light === Light.lift) && state.step !== Step.asleep;
    return {
      source: `${this.#bench.source}${this.#serial === '' ? '' : ` ${this.#serial}`}`,
      title: title === undefined ? this.#options.harness : printable(title, 200),
      count: this.#steps.length === 0 ? '' : `${read} of ${this.#steps.length} settings read`,
      titles: [this.#options.loaded.harness.switches.map(({ id }) => id).join(', ') || 'setting', 'at the jack', this.#results.isFitted ? 'planned' : 'pickups alone', 'sounds'],
      rows: this.#steps.map((_, at) => this.#row(at)),
      isDone: this.#steps.length > 0 && this.#next(0) < 0,
      prompt: this.#prompt(),
      message: this.message,
      ask: this.asked,
      trace: hears && this.#isUnderWay ? [{ label: 'between the clips', spans: this.#spans }] : [],
      detail: this.#detail(),
      keys: this.#keys(),
    };
  }

  #row(at: number): JackView['rows'][number] {
    const step = this.#steps[at]!;
    const index = this.#kept.findLastIndex((one) => one.step === at);
    const plan = this.#results.planned(step.setting);
    const isChosen = at === this.#at;
    const isRead = at === this.#live?.step && this.#isUnderWay;
    const name = stepInShort(step);
    if (index < 0) {
      const should = plan === null ? '' : plan.sounding.length === 0 ? 'nothing should sound' : `(${plan.sounding.join(', ')})`;
      return { cells: [name, isRead ? 'reading' : '-', plan?.ohm ?? '-', should], isChosen, differs: false };
    }
    const { ohm, planned, alone, sounds, differs } = this.#inWords()[index]!;
    const part = this.#kept[index]!.isWhole ? '' : ', in part';
    return { cells: [name, isRead ? 'reading' : ohm, planned ?? alone ?? '?', `${sounds}${part}`], isChosen, differs };
  }

  #prompt(): string {
    const { isVirtual } = this.#bench;
    if (this.#steps.length === 0) return 'Nothing is said to be fitted: name what can be touched, such as front upper, front lower, rear.';
    const live = this.#live;
    const state = live?.test.bench.state ?? null;
    if (live === null || state === null) {
      if (this.#lost !== null) return 'Press Enter to try again.';
      if (live === null && this.#next(0) < 0) return 'Every setting was read: the panel proof (tab) has what that tells, and q prints it. n and p go to a setting, Enter reads it again.';
      return live === null && !this.#isConnecting ? 'Press Enter to go on.' : 'Waiting for the tester.';
    }
    if (this.#isUnderWay) {
      const step = this.#steps[live.step]!;
      const plan = this.#results.planned(step.setting);
      const place = step.places[state.place] ?? '';
      return askWords(state, step.places, plan?.sounding.includes(place) ?? null, live.test.silenceLeft_s, isVirtual);
    }
    const again = this.#kept.some(({ step }) => step === this.#at) ? ' It was read before: another reading adds to it.' : '';
    return `${switchWords(this.#step)} ${potWords(this.#options.loaded.harness)} Then press the button of the tester, or Enter.${again}`.replaceAll('  ', ' ');
  }

  #detail(): PanelLine[] {
    const plain = (text: string): PanelLine => ({ text, indent: text.startsWith('  - ') ? 4 : 2 });
    if (this.#steps.length === 0) return this.#before().map(plain);
    const live = this.#live;
    if (live !== null && this.#isUnderWay) {
      return this.#soFar(live).map(plain);
    }
    const plan = this.#results.planned(this.#step.setting);
    const should = plan === null ? []
      : [`Planned: ${plan.ohm} at the jack; ${plan.sounding.length === 0 ? 'nothing sounds' : `${listInWords(plan.sounding)} ${plan.sounding.length === 1 ? 'sounds' : 'sound'}, and nothing else`}.`];
    const own = this.#kept.flatMap(({ step }, at) => (step === this.#at ? [this.#inWords()[at]!] : []));
    const read = own.flatMap(({ sentences }, at) => [...(own.length > 1 ? [`Reading ${at + 1}`] : []), ...sentences]);
    return [`${stepInWords(this.#step)}`, ...(own.length === 0 ? should : read), ...(this.isEmpty ? ['', ...this.#before()] : [])].map(plain);
  }

  /** What of a reading is there already. */
  #soFar({ test, step }: Live): string[] {
    const { places, names } = this.#steps[step]!;
    const ohm = test.bench.collector.readings.at(-1);
    const touched = new Set(test.swings.map(({ at }) => at));
    const count = test.bench.collector.touchCount;
    if (this.#heard.count !== count || this.#heard.test !== test) {
      const record = { ...test.record(), setting: names };
      const { heard = new Map() } = count === 0 ? {} : this.#results.inWords([...this.#named(), { source: '', record }]).at(-1)!;
      this.#heard = { test, count, heard };
    }
    const { heard } = this.#heard;
    const sign = (place: string): string => {
      const swing = heard.get(place);
      return swing === undefined ? 'nothing of its own' : swing === null ? 'which way was not clear' : swing === 'positive' ? '+' : '-';
    };
    const done = places.filter((place) => touched.has(place)).map((place) => `${place} ${sign(place)}`);
    const left = places.filter((place) => !touched.has(place));
    return [
      `At the jack: ${ohm === undefined ? 'not read yet' : ohm.ohm === null ? 'no path' : `${ohm.ohm.toFixed(0)} ohm`}.`,
      ...(done.length === 0 ? [] : [`Touched: ${done.join('; ')}.`]),
      ...(left.length === 0 ? [] : [`Not touched yet: ${listInWords(left)}.`]),
    ];
  }

  #before(): string[] {
    const { harness, pickups } = this.#options.loaded;
    const empty = harness.slots.map(({ slot }) => slot).filter((slot) => !pickups.some((one) => one.slot.slot === slot));
    const said = pickups.length === 0 || empty.length === 0 ? [] : [`Nothing is fitted in ${listInWords(empty)}, and nothing is asked for there.`];
    return [...said, ...beforeWords(harness)];
  }

  #keys(): JackView['keys'] {
    const isAsking = this.#live?.test.isAsking ?? false;
    const hint = (holds: boolean, key: string, does: string): JackView['keys'] => (holds ? [{ key, does }] : []);
    const canPress = !this.#isUnderWay || isAsking || this.#live?.test.bench.state?.step === Step.asleep;
    return [
      ...hint(this.#bench.isVirtual && isAsking, 't', 'touch'),
      ...hint(canPress, 'enter', isAsking ? 'nothing heard, or pass over' : 'button'),
      { key: 'n', does: 'next' }, { key: 'p', does: 'previous' },
      ...hint(!this.#isUnderWay && this.#kept.some(({ step }) => step === this.#at), 'd', 'drop'),
      ...hint(this.#file === null, 'k', 'keep in a file'),
      { key: 'tab', does: 'panel' }, { key: 'b', does: this.#bell ? 'bell off' : 'bell on' }, { key: 'q', does: 'end' }, { key: '?', does: 'help' },
    ];
  }
}

/** Whether a record that was read from a file has all that was wanted. */
function isWhole({ notes = [], touches = [], observed = [] }: BenchRecord, { places }: JackStep): boolean {
  const touched = new Set([...touches, ...observed].map(({ at }) => at));
  return !notes.includes('cancelled') || places.every((place) => touched.has(place));
}
