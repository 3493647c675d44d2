/** The lot that is on the bench: what is tested and what is left, and where to look again. */
import type { LabelSize } from '../papers/label-size.ts';
import { sizeInWords } from '../papers/label-size.ts';
import { summariseLot, type LotSummary } from '../records/comparing.ts';
import { median } from '../records/outliers.ts';
import type { PlaceLine } from '../records/searching.ts';
import { countsInWords, standingInList, STATES, isUnsure } from '../records/states.ts';
import { printable } from '../text/printable.ts';
import { Asking } from './asking.ts';
import type { AskView } from './ask.ts';
import type { Desk, PaperOut } from './desk.ts';
import { lotLines } from './lot-lines.ts';
import { labelsOf } from './paper-work.ts';
import { testedLot } from './tested-pickups.ts';

/** A longer time between two tests is a break and says nothing of the next: common practice, no published source. */
const BREAK_s = 30 * 60;

/** The lot as the bench has it. */
export interface LotOnBench {
  readonly name: string;
  readonly isVirtual: boolean;
  /** Pickups that were counted; 0 when nobody did. */
  readonly size: number;
  /** Which one lies there, from 0. */
  standsAt(): number;
  /** What is kept of it, in the order of the places. */
  places(): readonly PlaceLine[];
}

export interface LotRow {
  readonly place: number;
  readonly number: string;
  readonly state: string;
  readonly taken: string;
  readonly title: string;
  /** It lies on the bench. */
  readonly isHere: boolean;
}

export interface LotView {
  readonly name: string;
  readonly isVirtual: boolean;
  /** `3 of 10 tested, 7 left`. */
  readonly progress: string;
  /** `2 good, 1 unsure`. */
  readonly counts: string;
  /** How long the rest will take. */
  readonly pace: string;
  readonly rows: readonly LotRow[];
  readonly chosen: number;
  /** Which differ from the others, and pictures of their values; by width. Null until it is known. */
  readonly report: ((columns: number) => readonly string[]) | null;
  readonly ask: AskView | null;
  readonly message: string | null;
}

export interface LotMeans {
  readonly desk: Desk;
  readonly out: PaperOut;
  readonly labelSize: () => LabelSize;
}

export class LotModel extends Asking<LotView> {
  readonly #means: LotMeans;
  readonly #lot: LotOnBench;
  readonly #undo: () => void;
  #places: readonly PlaceLine[] = [];
  #chosen: number;
  #summary: LotSummary | string | null = null;
  /** Labels are being gathered, and may be stopped. */
  #isWorking = false;

  /** @param undo - takes the last test back */
  constructor(means: LotMeans, lot: LotOnBench, undo: () => void) {
    super();
    this.#means = means;
    this.#lot = lot;
    this.#undo = undo;
    this.#chosen = lot.standsAt();
    this.look();
  }

  /** Looks again at what is kept. */
  look(): void {
    this.#places = this.#lot.places();
    this.#summary = null;
    this.changed();
  }

  move(by: number): void {
    this.say(null);
    this.#choose(this.#chosen + by);
  }

  /** The place that is chosen, from 0. */
  get chosen(): number {
    return this.#chosen;
  }

  /** The pickup that is kept of the chosen place, or null. */
  pickup(): string | null {
    return this.#places.find(({ place }) => place === this.#chosen)?.uid ?? null;
  }

  /** Nothing is kept of the chosen one, so there is nothing to view. */
  tellUntested(): void {
    this.say('This one is not tested yet; enter lays it on the bench.');
  }

  /** It cannot be laid there now. */
  tellUnderWay(): void {
    this.say('A test is under way on the bench: end it there, or leave it with n or p.');
  }

  /** Chooses the next one that is unsure, from the chosen one on and round the end. */
  nextUnsure(): void {
    const places = this.#places.filter(({ state, doubt }) => isUnsure(state, doubt)).map(({ place }) => place);
    const next = places.find((place) => place > this.#chosen) ?? places[0];
    if (next === undefined) return this.say('No pickup of this lot is unsure.');
    this.say(places.length === 1 ? 'The only one that is unsure; enter lays it on the bench.' : `One of ${places.length} that are unsure; enter lays it on the bench.`);
    this.#choose(next);
  }

  askUndo(): void {
    const last = lastTested(this.#places);
    if (last === null) return this.say('No test of this lot can be taken back.');
    this.ask({
      kind: 'choice', question: `Take back the last test, of ${printable(last.number ?? `place ${last.place + 1}`)}? It stays in the records as withdrawn.`,
      choices: [{ key: 'y', does: 'take it back', take: () => this.#undo() }],
    });
  }

  askLabels(): void {
    const { labelSize, out } = this.#means;
    const tested = this.#places.filter(({ number }) => number !== null).length;
    if (tested === 0) return this.say('No pickup of this lot has a number yet.');
    this.ask({
      kind: 'choice', question: `Labels of ${tested} ${tested === 1 ? 'pickup' : 'pickups'}, ${sizeInWords(labelSize())} mm, on A4`,
      choices: [
        { key: 'p', does: `print (${out.printerWords})`, take: () => void this.#labels(true) },
        { key: 'f', does: 'into a file', take: () => void this.#labels(false) },
      ],
    });
  }

  /** Stops what goes on. @returns whether anything did */
  stop(): boolean {
    const was = this.#isWorking;
    this.#isWorking = false;
    return was;
  }

  /** Compares the pickups with each other, once. */
  async wantReport(): Promise<void> {
    if (this.#summary !== null) return;
    this.#summary = 'Looking.';
    const { desk } = this.#means;
    try {
      this.#summary = await summariseLot(desk.own, this.#lot.name);
    } catch (error) {
      this.#summary = this.sentence(error);
    }
    this.changed();
  }

  protected sentence(error: unknown): string {
    return this.#means.desk.sentence(error);
  }

  protected draw(): LotView {
    const { name, isVirtual, size } = this.#lot;
    const tested = this.#places.filter(({ test }) => test !== null);
    const left = Math.max(0, size - tested.length);
    const summary = this.#summary;
    return {
      name: printable(name, 60), isVirtual,
      progress: size === 0 ? `${tested.length} tested` : `${tested.length} of ${size} tested, ${left === 0 ? 'none' : left} left`,
      counts: countsOf(this.#places),
      pace: paceWords(tested, size === 0 ? null : left),
      rows: this.#rows(), chosen: this.#chosen,
      report: summary === null ? null : typeof summary === 'string' ? () => [summary] : (columns) => lotLines(summary, columns),
      ask: this.asked, message: this.message ?? this.#means.desk.trouble,
    };
  }

  #count(): number {
    const places = this.#places.map(({ place }) => place);
    return Math.max(this.#lot.size, this.#lot.standsAt() + 1, ...places.map((place) => place + 1));
  }

  #choose(place: number): void {
    this.#chosen = Math.max(0, Math.min(this.#count() - 1, place));
    this.changed();
  }

  #rows(): LotRow[] {
    const known = new Map(this.#places.map((line) => [line.place, line]));
    return Array.from({ length: this.#count() }, (_, place) => {
      const line = known.get(place);
      return {
        place, number: printable(line?.number ?? '-'), state: line === undefined ? 'not tested' : standingInList(line.state, line.doubt),
        taken: line?.taken === null || line === undefined ? '' : this.#means.desk.localTime(line.taken).slice(0, 19),
        title: printable(line?.title ?? ''), isHere: place === this.#lot.standsAt(),
      };
    });
  }

  async #labels(isPrinted: boolean): Promise<void> {
    const { desk, out, labelSize } = this.#means;
    this.#isWorking = true;
    await this.attempt(async () => {
      const pickups = await testedLot(desk.own, this.#lot.name, desk.localTime, (done, of) => {
        this.say(`Reading ${done + 1} of ${of}; esc stops.`);
        return this.#isWorking;
      });
      if (!this.#isWorking) return 'Stopped; nothing was printed or written.';
      const labels = pickups.length === 1 ? '1 label' : `${pickups.length} labels`;
      this.say(`Drawing ${labels}.`);
      const made = await labelsOf(pickups, labelSize());
      if (!this.#isWorking) return 'Stopped; nothing was printed or written.';
      if (!isPrinted) return `Written: ${printable(await out.save('labels.pdf', made))}`;
      await out.print(made);
      return `Handed to the printer: ${labels}.`;
    });
    this.#isWorking = false;
  }
}

function lastTested(places: readonly PlaceLine[]): PlaceLine | null {
  return places.reduce<PlaceLine | null>((last, line) => (line.test !== null && line.test > (last?.test ?? 0) ? line : last), null);
}

function countsOf(places: readonly PlaceLine[]): string {
  const counts = STATES.map((state) => ({ state, n: places.filter((line) => line.state === state).length }));
  // What is asked for at a glance is told even where there is none of it.
  const shown = counts.filter(({ state, n }) => n > 0 || state === 'good' || state === 'fault' || state === 'unsure');
  const doubtful = places.filter(({ state, doubt }) => state === 'good' && doubt !== '').length;
  return countsInWords(shown.map(({ state, n }) => [state, n]), doubtful);
}

/** Seconds from one test to the next, the middle of those without a break; null before there are two. */
export function pace_s(taken: readonly (string | null)[]): number | null {
  const times_s = taken.flatMap((at) => (at === null ? [] : [Date.parse(at) / 1000])).filter(Number.isFinite).sort((a, b) => a - b);
  const gaps_s = times_s.slice(1).map((at_s, index) => at_s - times_s[index]!).filter((gap_s) => gap_s > 0 && gap_s <= BREAK_s);
  return gaps_s.length === 0 ? null : median(gaps_s);
}

/** @param left - how many; null when nobody knows */
function paceWords(tested: readonly PlaceLine[], left: number | null): string {
  if (left === 0) return 'all are tested';
  const each_s = pace_s(tested.map(({ taken }) => taken));
  if (each_s === null) return 'how long it takes is known after two tests';
  const each = each_s < 90 ? `${Math.round(each_s)} s` : `${(each_s / 60).toFixed(1)} min`;
  if (left === null) return `${each} each`;
  const all_min = Math.ceil((each_s * left) / 60);
  return `about ${all_min < 60 ? `${all_min} min` : `${(all_min / 60).toFixed(1)} hours`} left, at ${each} each`;
}
