/** One pickup of the stock: its map, touches, wiring, history and partners; notes, state, number, papers. */
import type { ClipLabel, PanelLine, Span, TraceChannel } from '../bench/view.ts';
import type { BenchTouch } from '../files/bench-record.ts';
import type { LabelSize } from '../papers/label-size.ts';
import { sizeInWords } from '../papers/label-size.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import { findPartners } from '../records/comparing.ts';
import { addEvent, NumberTaken, type NewEvent } from '../records/keeping.ts';
import { kilohms } from '../records/list-text.ts';
import { numberFault } from '../records/numbers.ts';
import { pickupNamed, pickupNumbered, pickupOf, type PickupDetail } from '../records/searching.ts';
import { standingInWords, stateInWords, STATES, type StateWord } from '../records/states.ts';
import type { Stock, Work } from '../records/work.ts';
import { cautionLines } from '../text/cautions.ts';
import { printable } from '../text/printable.ts';
import { wiringPanel, type WaysKey } from '../wiring/lines.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { Asking } from './asking.ts';
import type { AskView } from './ask.ts';
import type { Desk, PaperOut } from './desk.ts';
import { historyLines } from './history.ts';
import { labelOf, listingOf, paperName, sheetOf, type Paper } from './paper-work.ts';
import { withTest } from './tested-pickups.ts';

/** Longest note, characters. */
const NOTE_MOST = 2000;
/** Partners that are listed. */
const PARTNERS_MOST = 50;

/** A touch as it was heard, or as a person saw it on a meter. */
export interface TouchLine {
  readonly label: string;
  readonly channels: readonly TraceChannel[];
}

export interface PartnerRow {
  readonly number: string;
  readonly reason: string;
}

export interface PickupView {
  readonly number: string;
  /** State, title, lot, and whether nobody has it. */
  readonly about: string;
  readonly map: WireMap | null;
  readonly clips: readonly ClipLabel[];
  readonly touches: readonly TouchLine[];
  readonly wiring: readonly PanelLine[];
  /** What the key for ways of wiring does; null where there are no more. */
  readonly ways: WaysKey;
  readonly history: readonly string[];
  /** Null until they are known. */
  readonly partners: readonly PartnerRow[] | null;
  readonly chosen: number;
  /** Said in place of partners. */
  readonly noPartners: string;
  readonly ask: AskView | null;
  readonly message: string | null;
}

const STATE_KEYS: Readonly<Record<StateWord, string>> = { waiting: 'w', good: 'g', fault: 'f', unsure: 'u', aside: 'a', sold: 's' };

/** A pickup by its own name, its number, or its id in this stock. */
export type WhichPickup = { readonly uid: string } | { readonly number: string } | { readonly pickup: number };

export interface PickupMeans {
  readonly desk: Desk;
  readonly out: PaperOut;
  readonly labelSize: () => LabelSize;
}

export class PickupModel extends Asking<PickupView> {
  readonly #means: PickupMeans;
  #which: WhichPickup;
  /** Where it was found. */
  #stock: Stock;
  #detail: PickupDetail | null = null;
  #tested: TestedPickup | null = null;
  /** Of its test; tens of thousands of values. */
  #touches: readonly TouchLine[] = [];
  #wrong: string | null = null;
  #partners: PartnerRow[] | null = null;
  #noPartners = 'Looking.';
  #chosen = 0;
  #allWays = false;
  #ended: (() => void) | null = null;

  constructor(means: PickupMeans, which: WhichPickup) {
    super();
    this.#means = means;
    this.#which = which;
    this.#stock = means.desk;
  }

  async open(): Promise<void> {
    this.#ended ??= this.#means.desk.watch(() => void this.#look());
    await this.#look();
  }

  close(): void {
    this.#ended?.();
    this.#ended = null;
  }

  /** The pickup with its test, or null while it is not known. */
  tested(): TestedPickup | null {
    return this.#tested;
  }

  toggleWays(): void {
    this.#allWays = !this.#allWays;
    this.changed();
  }

  /** Looks for partners, once. */
  async wantPartners(): Promise<void> {
    const detail = this.#detail;
    if (detail === null || this.#partners !== null) return;
    this.#partners = [];
    try {
      const found = await findPartners(this.#stock, detail.line);
      this.#noPartners = found === null ? 'It has no whole test to compare by; test it first.' : 'No good pickup in stock is near it in ohms.';
      this.#partners = (found ?? []).slice(0, PARTNERS_MOST)
        .map(({ number, reason }) => ({ number: printable(number), reason: printable(reason) }));
    } catch (error) {
      this.#noPartners = this.sentence(error);
    }
    this.changed();
  }

  /** @param by - partners down, or up when negative */
  move(by: number): void {
    this.#chosen = Math.max(0, Math.min((this.#partners?.length ?? 0) - 1, this.#chosen + by));
    this.changed();
  }

  /** The chosen partner's number, or null. */
  partner(): string | null {
    return this.#partners?.[this.#chosen]?.number ?? null;
  }

  askState(): void {
    this.ask({
      kind: 'choice', question: 'What is it now?',
      choices: STATES.map((word) => ({ key: STATE_KEYS[word], does: stateInWords(word), take: () => void this.#event('state', word) })),
    });
  }

  askNote(): void {
    this.ask({
      kind: 'text', question: 'Note', text: '',
      take: (text) => {
        if (text.trim() === '') this.say(null);
        else if (text.length > NOTE_MOST) this.say(`A note holds ${NOTE_MOST} characters; this one has ${text.length}.`);
        else void this.#event('note', text.trim());
      },
    });
  }

  askNumber(): void {
    this.ask({
      kind: 'text', question: 'New number, typed or scanned', text: '',
      take: (text) => {
        const fault = numberFault(text);
        if (text === '') this.say(null);
        else if (fault === null) void this.#event('number', text);
        else this.say(fault);
      },
    });
  }

  askLabel(): void {
    const size = this.#means.labelSize();
    this.#askPaper(`Label, ${sizeInWords(size)} mm`, [['f', 'into a file', 'label']], 'label');
  }

  askSheet(): void {
    this.#askPaper('Sheet of A4 with everything', [['f', 'into a file', 'sheet']], 'sheet');
  }

  askListing(): void {
    this.#askPaper('Text of an offer, into a file', [['f', 'plain', 'listing'], ['m', 'Markdown', 'markdown']], null);
  }

  protected draw(): PickupView {
    const { desk } = this.#means;
    const detail = this.#detail;
    const test = this.#tested?.test ?? null;
    const colours = test?.colours ?? new Map<number, string | undefined>();
    const wiring = test === null ? null : wiringPanel(test.map, colours, this.#allWays, 'w');
    return {
      number: printable(detail?.line.number ?? (detail === null ? '' : 'without a number')),
      about: detail === null ? '' : aboutOf(detail),
      map: test?.map ?? null,
      clips: test?.record.clips.map(({ clip, colour }) => (colour === undefined ? { clip } : { clip, colour })) ?? [],
      touches: this.#touches,
      ways: wiring?.ways ?? null,
      wiring: wiring === null ? [] : [
        ...wiring.lines, { text: '', indent: 0 }, { text: 'Cautions', indent: 0 }, ...cautionLines()],
      history: detail === null ? [] : historyLines(detail, desk.localTime),
      partners: this.#partners, chosen: this.#chosen, noPartners: this.#noPartners,
      ask: this.asked, message: this.message ?? this.#wrong ?? desk.trouble,
    };
  }

  protected sentence(error: unknown): string {
    return error instanceof NumberTaken ? error.message : this.#means.desk.sentence(error);
  }

  async #look(): Promise<void> {
    const { desk } = this.#means;
    const which = this.#which;
    try {
      const detail = await this.#find('uid' in which ? pickupNamed(which.uid) : 'number' in which ? pickupNumbered(which.number) : pickupOf(which));
      // Its number may change, and its id is another one in another stock.
      if (detail !== null) this.#which = { uid: detail.uid };
      this.#wrong = detail === null ? 'This pickup is not in stock any more.' : null;
      this.#detail = detail ?? this.#detail;
      if (detail !== null && (this.#tested?.test?.id ?? null) === detail.line.test && this.#tested !== null) {
        this.#tested = { ...this.#tested, number: detail.line.number ?? '', state: detail.line.state };
      } else if (detail !== null) {
        this.#tested = await withTest(this.#stock, detail, desk.localTime);
        const { touches = [], observed = [] } = this.#tested.test?.record ?? {};
        this.#touches = touchesOf(touches, observed);
      }
    } catch (error) {
      this.#wrong = this.sentence(error);
    }
    this.changed();
  }

  /** In the shared stock, or else in this computer's own file: what the bench has just kept is there first. */
  async #find(look: Work<PickupDetail | null>): Promise<PickupDetail | null> {
    const { desk } = this.#means;
    for (const stock of [desk, desk.own]) {
      const detail = await stock.do(look);
      if (detail === null) continue;
      this.#stock = stock;
      return detail;
    }
    return null;
  }

  async #event(kind: NewEvent['kind'], text: string): Promise<void> {
    const { desk } = this.#means;
    const detail = this.#detail;
    if (detail === null) return;
    await this.attempt(async () => {
      await this.#stock.do(addEvent({ uid: desk.freshUid(), pickup: detail.uid, at: desk.timeOfDay(), kind, text }));
      await this.#look();
      return kind === 'note' ? 'Noted.' : null;
    });
  }

  #askPaper(question: string, files: readonly (readonly [string, string, Paper])[], printed: Paper | null): void {
    const { printerWords } = this.#means.out;
    this.ask({
      kind: 'choice', question,
      choices: [
        ...(printed === null ? [] : [{ key: 'p', does: `print (${printerWords})`, take: () => void this.#paper(printed, true) }]),
        ...files.map(([key, does, paper]) => ({ key, does, take: () => void this.#paper(paper, false) })),
      ],
    });
  }

  async #paper(paper: Paper, isPrinted: boolean): Promise<void> {
    const { out, labelSize } = this.#means;
    await this.attempt(async () => {
      const pickup = this.#tested;
      if (pickup === null || pickup.number === '') return 'It has no number yet, so nothing can be found by its paper; the key # gives it one.';
      const { test } = pickup;
      if (paper !== 'label' && test === null) return 'It has no whole test to tell of; test it first.';
      this.say('Drawing.');
      const whole = { ...pickup, test: test! };
      const made = paper === 'label' ? await labelOf(pickup, labelSize())
        : paper === 'sheet' ? await sheetOf(whole) : await listingOf(whole, paper === 'markdown');
      if (isPrinted) {
        await out.print(made as Uint8Array);
        return `Handed to the printer: the ${paper} of ${printable(pickup.number)}.`;
      }
      return `Written: ${printable(await out.save(paperName(pickup.number, paper), made))}`;
    });
  }
}

function aboutOf({ line: { state, doubt, title, lot, isVirtual, ohm, test } }: PickupDetail): string {
  const parts = [
    standingInWords(state, doubt), title, lot === null || lot === '' ? '' : `lot ${lot}`,
    test === null ? '' : `${kilohms(ohm)} ohm`, isVirtual ? 'virtual bench: nobody has it' : '',
  ];
  return printable(parts.filter((part) => part !== '').join(', '));
}

const VOLTS = (volt_V: number | null): Span => (
  // Over range: as far as the plot goes.
  volt_V === null ? { low_V: -Infinity, high_V: Infinity } : { low_V: volt_V, high_V: volt_V });

function touchesOf(
  touches: readonly BenchTouch[], observed: readonly { at?: string; plus: number; minus: number; swing: string }[],
): TouchLine[] {
  return [
    ...touches.map(({ at, channels }) => ({
      label: at === undefined ? 'a touch' : `touch at ${printable(at)}`,
      channels: channels.map(({ plus, minus, volts_V }) => ({ label: `clip ${plus} against ${minus}`, spans: volts_V.map(VOLTS) })),
    })),
    ...observed.map(({ at, plus, minus, swing }) => ({
      label: `${at === undefined ? 'a touch' : `touch at ${printable(at)}`}: clip ${plus} against ${minus} ${swing}`, channels: [],
    })),
  ];
}
