/** The pickups in stock, searched as one types. */
import { readSearchLine } from '../records/filter.ts';
import { kilohms } from '../records/list-text.ts';
import { countOf, pageEnd, search, type Filter, type Line } from '../records/searching.ts';
import { standingInList, STATES } from '../records/states.ts';
import { printable } from '../text/printable.ts';
import { Told, type Desk } from './desk.ts';

/** Lines that are asked for at a time, and how near the end of them the next are asked for. */
const PAGE = 100;
const NEAR = 25;
/** Lines that are looked at again when the stock has changed. */
const AGAIN_MOST = 1000;

export interface StockRow {
  readonly number: string;
  readonly state: string;
  readonly ohms: string;
  readonly leads: string;
  readonly poles: string;
  /** To the minute, as the clock on the wall showed it. */
  readonly taken: string;
  /** Whether nobody has it, title and lot. */
  readonly where: string;
}

export interface StockView {
  /** What is typed. */
  readonly query: string;
  /** The only state that is shown, '' for all. */
  readonly state: string;
  readonly withVirtual: boolean;
  readonly rows: readonly StockRow[];
  /** Which of the rows is chosen; -1 without any. */
  readonly chosen: number;
  /** How many there are; null until that is known. */
  readonly total: number | null;
  /** What is wrong, or what there is to know. */
  readonly message: string | null;
  /** Said in place of rows. */
  readonly empty: string;
}

export class StockModel extends Told {
  readonly #desk: Desk;
  #query = '';
  #state = 0;
  #withVirtual: boolean;
  #lines: Line[] = [];
  #chosen = 0;
  #total: number | null = null;
  #hasMore = false;
  #wrong: string | null = null;
  #hidden = 0;
  #isLooking = false;
  #lookAgain = false;
  #ended: (() => void) | null = null;
  #view: StockView;

  /** @param withVirtual - pickups of the virtual bench are shown at first */
  constructor(desk: Desk, withVirtual: boolean) {
    super();
    this.#desk = desk;
    this.#withVirtual = withVirtual;
    this.#view = this.#draw();
  }

  readonly view = (): StockView => this.#view;

  open(): void {
    this.#ended ??= this.#desk.watch(() => void this.#look());
    void this.#look();
  }

  close(): void {
    this.#ended?.();
    this.#ended = null;
  }

  /** Letters are typed, or scanned. */
  type(text: string): void {
    this.#ask(this.#query + printable(text));
  }

  erase(): void {
    this.#ask([...this.#query].slice(0, -1).join(''));
  }

  /** Looks for everything again. @returns whether something else was looked for */
  clear(): boolean {
    const was = this.#query !== '' || this.#state !== 0;
    this.#state = 0;
    if (was) this.#ask('');
    return was;
  }

  /** Another state alone, or all. @param by - 1 or -1 */
  turnState(by: 1 | -1): void {
    this.#state = (this.#state + by + STATES.length + 1) % (STATES.length + 1);
    this.#ask(this.#query);
  }

  turnVirtual(): void {
    this.#withVirtual = !this.#withVirtual;
    this.#ask(this.#query);
  }

  /** @param by - rows down, or up when negative */
  move(by: number): void {
    this.#chosen = Math.max(0, Math.min(this.#lines.length - 1, this.#chosen + by));
    this.#changed();
    if (this.#hasMore && this.#chosen >= this.#lines.length - NEAR) void this.#more();
  }

  /** The pickup that stands for what was typed: once the search has ended, so that a number that is scanned opens its pickup. */
  async pick(): Promise<Line | null> {
    while (this.#isLooking) await new Promise<void>((resolve) => { const off = this.subscribe(() => { off(); resolve(); }); });
    const typed = this.#query.trim();
    return this.#lines.find(({ number }) => number === typed) ?? this.#lines[this.#chosen] ?? null;
  }

  #ask(query: string): void {
    this.#query = query;
    this.#chosen = 0;
    void this.#look();
  }

  /** @returns the filter, or null when what is typed is not understood */
  #filter(): Filter | null {
    const read = readSearchLine(this.#query);
    this.#wrong = 'wrong' in read ? (read.wrong as string) : null;
    if (this.#wrong !== null) return null;
    return {
      ...(read as Filter), ...(this.#state === 0 ? {} : { state: STATES[this.#state - 1]! }),
      ...(this.#withVirtual ? { withVirtual: true } : {}),
    };
  }

  /** Looks again; what is typed meanwhile is looked for afterwards. */
  async #look(): Promise<void> {
    this.#lookAgain = true;
    if (this.#isLooking) {
      this.#changed();
      return;
    }
    this.#isLooking = true;
    try {
      while (this.#lookAgain) {
        this.#lookAgain = false;
        const filter = this.#filter();
        if (filter === null) continue;
        const kept = this.#lines[this.#chosen]?.pickup;
        const most = Math.min(AGAIN_MOST, Math.max(PAGE, this.#lines.length));
        const lines = await this.#desk.do(search('stock', filter, most));
        const total = lines.length < most ? lines.length : await this.#desk.do(countOf('stock', filter));
        const virtual = lines.length > 0 || this.#withVirtual ? 0 : await this.#desk.do(countOf('stock', { ...filter, withVirtual: true }));
        if (this.#lookAgain) continue;
        this.#lines = lines;
        this.#hidden = virtual;
        this.#total = total;
        this.#hasMore = total > lines.length;
        const at = this.#chosen === 0 ? -1 : lines.findIndex(({ pickup }) => pickup === kept);
        this.#chosen = at >= 0 ? at : Math.max(0, Math.min(this.#chosen, lines.length - 1));
      }
    } catch (error) {
      this.#wrong = this.#desk.sentence(error);
    }
    this.#isLooking = false;
    this.#changed();
  }

  async #more(): Promise<void> {
    const filter = this.#filter();
    const last = this.#lines.at(-1);
    if (this.#isLooking || filter === null || last === undefined) return;
    this.#isLooking = true;
    try {
      const lines = await this.#desk.do(search('stock', filter, PAGE, pageEnd('stock', last)));
      if (!this.#lookAgain) this.#lines = [...this.#lines, ...lines];
      this.#hasMore = lines.length === PAGE;
    } catch (error) {
      this.#wrong = this.#desk.sentence(error);
    }
    this.#isLooking = false;
    if (this.#lookAgain) void this.#look();
    else this.#changed();
  }

  #changed(): void {
    this.#view = this.#draw();
    this.tell();
  }

  #draw(): StockView {
    const isNarrowed = this.#query.trim() !== '' || this.#state !== 0;
    const hidden = this.#hidden === 0 ? '' : ` Tab shows ${this.#hidden} of the virtual bench.`;
    return {
      query: this.#query, state: this.#state === 0 ? '' : STATES[this.#state - 1]!, withVirtual: this.#withVirtual,
      rows: this.#lines.map((line) => rowOf(line, this.#desk.localTime)),
      chosen: this.#lines.length === 0 ? -1 : this.#chosen, total: this.#total,
      message: this.#wrong ?? this.#desk.trouble,
      empty: this.#total === null ? 'Looking.' : `${isNarrowed ? 'Nothing like that is in stock.' : 'No pickup is in stock yet; each that is tested comes here.'}${hidden}`,
    };
  }
}

function rowOf({ number, state, doubt, ohm, test, leads, poles, taken, lot, title, isVirtual }: Line, local: Desk['localTime']): StockRow {
  const where = [title, lot === null || lot === '' ? '' : `[${lot}]`].filter((part) => part !== '').join(' ');
  return {
    number: printable(number ?? '-'), state: standingInList(state, doubt), ohms: kilohms(ohm), leads: test === null ? '-' : String(leads),
    poles: poles === '' ? '-' : printable(poles), taken: taken === null ? '' : local(taken).slice(0, 16),
    where: printable(`${isVirtual ? '(virtual) ' : ''}${where}`),
  };
}
