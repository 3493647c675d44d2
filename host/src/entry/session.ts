/** One pickup entered reading by reading: what is asked, what is answered, back, correct and skip. It draws and prints nothing. */
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { doubtOf, hasAnswer, type Doubt } from './doubts.ts';
import { Planner, stretchesOf, type Solve } from './planner.ts';
import { isSameAsk, recordOf, type Answered, type Ask, type Lying } from './reading.ts';
import { isWrong, readLeads, readOhms, readPlaces, readPole, readSwing, type Lead, type Wrong } from './values.ts';

/** What the person is asked for now. */
export type Prompt =
  | { readonly kind: 'leads' }
  | { readonly kind: 'places' }
  /** @param of - index of the answer that is corrected, or null for a new one */
  | { readonly kind: 'reading'; readonly ask: Ask; readonly of: number | null }
  | { readonly kind: 'doubt'; readonly ask: Ask; readonly doubt: Doubt }
  /** Which of the answers is to be corrected. */
  | { readonly kind: 'which' }
  /** Nothing that is left is expected to change the map. */
  | { readonly kind: 'done' };

/** What a pickup is called that nobody gave a name. */
export const ENTRY_TITLE = 'entered by meters';

/** Words of a letter that are no reading; a whole line of its own. */
export const COMMANDS = { back: 'b', skip: 'x', correct: 'c', end: 'q', help: '?' } as const;

/** What a line did: the sentence that refuses it, or null. `ended`: the person wants the map now. */
export interface Reaction {
  readonly wrong: string | null;
  readonly ended: boolean;
  readonly wantsHelp: boolean;
}

const TAKEN: Reaction = { wrong: null, ended: false, wantsHelp: false };
const refused = (wrong: string): Reaction => ({ ...TAKEN, wrong });

/** What the person said beforehand, on the command line. */
export interface Given {
  readonly leads?: readonly Lead[];
  readonly places?: readonly string[];
}

export class EntrySession {
  readonly #solve: Solve;
  readonly #given: Given;
  #leads: readonly Lead[] | null;
  #places: readonly string[] | null;
  #planner: Planner | null = null;
  #answers: readonly Answered[] = [];
  #map: WireMap | null = null;
  #prompt: Prompt = { kind: 'leads' };
  /** The reading that is in doubt, and which it replaces. */
  #doubted: { readonly answered: Answered; readonly of: number | null } | null = null;

  /** @param solve - what the module makes of a record */
  constructor(solve: Solve, given: Given = {}) {
    this.#solve = solve;
    this.#given = given;
    this.#leads = given.leads ?? null;
    this.#places = given.places ?? null;
    this.#goOn();
  }

  get prompt(): Prompt {
    return this.#prompt;
  }

  get answers(): readonly Answered[] {
    return this.#answers;
  }

  /** What lies before the person, as far as it was said. */
  get lying(): Lying {
    return { leads: this.#leads ?? [], places: this.#places ?? [] };
  }

  /** The map of what was read; null before leads and places were said. */
  get map(): WireMap | null {
    return this.#map;
  }

  /** Whether no reading that is left is expected to change the map. */
  get isDone(): boolean {
    return this.#prompt.kind === 'done';
  }

  /** Whether anything was read at all. */
  get isEmpty(): boolean {
    return this.#answers.every(({ value }) => value === null);
  }

  /** The record of what was read. @param taken - time of day, UTC */
  record(taken?: string): BenchRecord {
    return recordOf(this.lying, this.#answers, taken);
  }

  /** Takes a line as it was typed. */
  type(line: string): Reaction {
    const text = line.trim();
    if (text === COMMANDS.help) return { ...TAKEN, wantsHelp: true };
    if (text.toLowerCase() === COMMANDS.end) return { ...TAKEN, ended: true };
    if (text.toLowerCase() === COMMANDS.back) return this.#back();
    switch (this.#prompt.kind) {
      case 'leads':
        return this.#said(readLeads(text), (leads) => { this.#leads = leads; });
      case 'places':
        return this.#said(readPlaces(text), (places) => { this.#places = places; });
      case 'reading':
        return this.#reading(this.#prompt.ask, this.#prompt.of, text);
      case 'doubt':
        return this.#settle(this.#prompt.ask, this.#prompt.doubt, text);
      case 'which':
        return this.#choose(text);
      case 'done':
        if (text === '') return { ...TAKEN, ended: true };
        if (text.toLowerCase() === COMMANDS.correct) return this.#correct();
        return refused(`Nothing is asked for any more; expected Enter to end, ${COMMANDS.back} to go back, or ${COMMANDS.correct} to correct a reading`);
    }
  }

  #said<T>(read: T | Wrong, take: (value: T) => void): Reaction {
    if (isWrong(read)) return refused(read.wrong);
    take(read);
    this.#goOn();
    return TAKEN;
  }

  /** Asks for what comes next. */
  #goOn(): void {
    this.#doubted = null;
    if (this.#leads === null) this.#prompt = { kind: 'leads' };
    else if (this.#places === null) this.#prompt = { kind: 'places' };
    else {
      this.#planner ??= new Planner(this.lying, this.#solve);
      const { ask, map } = this.#planner.next(this.#answers);
      this.#map = map;
      this.#prompt = ask === null ? { kind: 'done' } : { kind: 'reading', ask, of: null };
    }
  }

  #reading(ask: Ask, of: number | null, text: string): Reaction {
    if (text.toLowerCase() === COMMANDS.correct) return this.#correct();
    if (text.toLowerCase() === COMMANDS.skip) return this.#note({ ask, value: null } as Answered, of);
    const value = ask.kind === 'ohms' ? readOhms(text) : ask.kind === 'swing' ? readSwing(text) : readPole(text);
    if (isWrong(value)) return refused(value.wrong);
    const answered = { ask, value } as Answered;
    const others = this.#answers.filter((_, index) => index !== of);
    const coils = stretchesOf(this.#map!);
    const doubt = doubtOf(answered, { lying: this.lying, answers: others, belief: this.#planner!.belief(others), coils });
    if (doubt === null) return this.#note(answered, of);
    this.#doubted = { answered, of };
    this.#prompt = { kind: 'doubt', ask, doubt };
    return TAKEN;
  }

  /** Yes, no, or the reading itself once more. */
  #settle(ask: Ask, doubt: Doubt, text: string): Reaction {
    const { instead, earlier } = doubt;
    const { answered, of } = this.#doubted!;
    const word = text.toLowerCase();
    // In an answer to a question about a pole n is no, since it was asked yes or no.
    if (word === 'n' || word === 'no') return this.#note(answered, of);
    if (word === 'y' || word === 'yes') {
      if (earlier !== undefined) {
        // Every repeat of it; what is corrected stands in a place of its own.
        this.#answers = this.#answers.map((one, index) =>
          (index !== of && isSameAsk(one.ask, earlier.ask) ? { ask: one.ask, value: earlier.value } as Answered : one));
        return this.#note(answered, of);
      }
      if (instead !== null) return this.#note({ ask, value: instead } as Answered, of);
      this.#prompt = { kind: 'reading', ask, of };
      return TAKEN;
    }
    if (word === COMMANDS.skip || word === COMMANDS.correct || ask.kind === 'compass')
      return refused(`"${text.slice(0, 30)}" answers neither yes nor no; expected y for ${hasAnswer(doubt) ? 'yes' : 'reading again'}, n to keep what was typed`);
    return this.#reading(ask, of, text);
  }

  #note(answered: Answered, of: number | null): Reaction {
    this.#answers = of === null ? [...this.#answers, answered] : this.#answers.map((one, index) => (index === of ? answered : one));
    this.#goOn();
    return TAKEN;
  }

  /** One step back: out of a question or a correction, or to the last reading, or to what was said of the leads. */
  #back(): Reaction {
    const prompt = this.#prompt;
    if (prompt.kind === 'doubt') {
      this.#prompt = { kind: 'reading', ask: prompt.ask, of: this.#doubted!.of };
      return TAKEN;
    }
    if (prompt.kind === 'which' || (prompt.kind === 'reading' && prompt.of !== null)) {
      this.#goOn();
      return TAKEN;
    }
    const last = this.#answers.at(-1);
    if (last !== undefined) {
      this.#answers = this.#answers.slice(0, -1);
      this.#map = this.#solve(this.record());
      this.#prompt = { kind: 'reading', ask: last.ask, of: null };
      return TAKEN;
    }
    const isPlaces = this.#places !== null && this.#given.places === undefined;
    const isLeads = this.#leads !== null && this.#given.leads === undefined;
    if (!isPlaces && !isLeads) return refused('This is the first question; there is nothing to go back to');
    if (isPlaces) this.#places = null;
    else this.#leads = null;
    this.#planner = null;
    this.#map = null;
    this.#goOn();
    return TAKEN;
  }

  #correct(): Reaction {
    if (this.#answers.length === 0) return refused('Nothing was read yet; there is nothing to correct');
    this.#prompt = { kind: 'which' };
    return TAKEN;
  }

  #choose(text: string): Reaction {
    const number = /^\d+$/.test(text) ? Number(text) : NaN;
    const answered = this.#answers[number - 1];
    if (answered === undefined) return refused(`"${text.slice(0, 30)}" is none of the readings; expected 1 to ${this.#answers.length}, or ${COMMANDS.back} to go back`);
    this.#prompt = { kind: 'reading', ask: answered.ask, of: number - 1 };
    return TAKEN;
  }
}
