/** What is settled once: shown, and changed line by line. */
import { readLabelSize, SIZE_EXPECTED, sizeInWords } from '../papers/label-size.ts';
import { remember, setting } from '../records/keeping.ts';
import { PATTERN, PATTERN_SETTING, patternFault } from '../records/numbers.ts';
import { printable } from '../text/printable.ts';
import { Asking } from './asking.ts';
import type { AskView } from './ask.ts';
import type { Desk } from './desk.ts';
import { textFault, type Settings } from './settings.ts';

export interface SettingLine {
  readonly name: string;
  readonly value: string;
  /** It can be changed here. */
  readonly isOpen: boolean;
  /** What it is for. */
  readonly words: string;
}

export interface SettingsView {
  readonly rows: readonly SettingLine[];
  readonly chosen: number;
  readonly ask: AskView | null;
  readonly message: string | null;
}

/** The settings of this computer, and facts that are only shown. */
export interface SettingsMeans {
  readonly desk: Desk;
  readonly settings: () => Settings;
  /** Keeps them. @throws whatever `Desk.sentence` words */
  readonly write: (settings: Settings) => Promise<void>;
  /** Where they are kept. */
  readonly path: string;
  /** Where the records are, and how that is set. */
  readonly records: { readonly where: string; readonly how: string };
  /** The tester that is used, '' without one. */
  readonly tester: string;
}

interface Row extends SettingLine {
  readonly change: (() => void) | null;
}

export class SettingsModel extends Asking<SettingsView> {
  readonly #means: SettingsMeans;
  #chosen = 0;
  /** Of the shop; null until it is known. */
  #pattern: string | null = null;

  constructor(means: SettingsMeans) {
    super();
    this.#means = means;
  }

  async open(): Promise<void> {
    const { desk } = this.#means;
    await this.attempt(async () => {
      this.#pattern = (await desk.do(setting(PATTERN_SETTING))) ?? PATTERN.shop;
      return null;
    });
  }

  move(by: number): void {
    this.#chosen = Math.max(0, Math.min(this.#rows().length - 1, this.#chosen + by));
    this.say(null);
  }

  /** Changes the chosen one. */
  change(): void {
    const { change, name } = this.#rows()[this.#chosen]!;
    if (change === null) this.say(`${name} is shown only; below stands how it is set.`);
    else change();
  }

  protected sentence(error: unknown): string {
    return this.#means.desk.sentence(error);
  }

  protected draw(): SettingsView {
    return { rows: this.#rows(), chosen: this.#chosen, ask: this.asked, message: this.message ?? this.#means.desk.trouble };
  }

  #rows(): Row[] {
    const { settings, records, tester, path } = this.#means;
    const { label, printer, papers, harnesses, colour } = settings();
    const row = (name: string, value: string, words: string, change: (() => void) | null): Row =>
      ({ name, value: printable(value, 200), words, isOpen: change !== null, change });
    const here = 'the folder in which the program was started';
    return [
      row('shop numbers', this.#pattern ?? '', 'How new numbers look: digits stand for the #, such as #### or P-#####. All benches of a shop share it.',
        () => this.#askText('Pattern of numbers', this.#pattern ?? PATTERN.shop, (text) => this.#keepPattern(text))),
      row('label size', sizeInWords(label), 'Millimetres, such as 60x30, or a6.',
        () => this.#askText('Size of labels', sizeInWords(label), (text) => {
          const size = readLabelSize(text);
          if (size === null) this.say(`"${printable(text, 40)}" is no size; expected ${SIZE_EXPECTED}.`);
          else this.#keep({ label: size });
        })),
      row('printer', printer === '' ? 'the one that the system prefers' : printer, 'Its name for lp or lpr; nothing for the one that the system prefers.',
        () => this.#askName('Name of the printer', printer, (text) => ({ printer: text }))),
      row('papers go to', papers === '' ? here : papers, 'Folder for labels, sheets and offers that are written into files.',
        () => this.#askName('Folder of papers', papers, (text) => ({ papers: text }))),
      row('harnesses', harnesses === '' ? here : harnesses, 'Folder in which the harness screen looks for files that end in .harness.json.',
        () => this.#askName('Folder of harnesses', harnesses, (text) => ({ harnesses: text }))),
      row('colours', colour ? 'on' : 'off', 'From the next start on. NO_COLOR in the environment switches them off as well.', () => this.#keep({ colour: !colour })),
      row('records', records.where, records.how, null),
      ...(tester === '' ? [] : [row('tester', tester, 'Of several testers tapstone --tester SERIAL chooses one, which is remembered.', null)]),
      row('this file', path, 'All but the shop numbers and the records stands in it, and may be changed there with any editor.', null),
    ];
  }

  #askText(question: string, text: string, take: (text: string) => void): void {
    this.ask({ kind: 'text', question, text, take });
  }

  #askName(question: string, text: string, change: (text: string) => Partial<Settings>): void {
    this.#askText(question, text, (typed) => {
      const name = typed.trim();
      const fault = textFault(name);
      if (fault === null) this.#keep(change(name));
      else this.say(`"${printable(name, 40)}" is not kept; ${fault}.`);
    });
  }

  #keep(change: Partial<Settings>): void {
    const { write, settings } = this.#means;
    void this.attempt(async () => {
      await write({ ...settings(), ...change });
      return 'Kept.';
    });
  }

  #keepPattern(text: string): void {
    const fault = patternFault(text);
    if (fault !== null) return this.say(`${fault}.`);
    void this.attempt(async () => {
      await this.#means.desk.do(remember(PATTERN_SETTING, text));
      this.#pattern = text;
      return 'Kept: the next new pickup is numbered so.';
    });
  }
}
