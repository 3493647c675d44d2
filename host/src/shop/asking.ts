/** What screens that ask have in common: the question that is open, what the last key did, and work that goes on. */
import { askView, type Ask, type AskView } from './ask.ts';
import { Told } from './desk.ts';

export abstract class Asking<View> extends Told {
  #ask: Ask | null = null;
  #message: string | null = null;
  #drawn: View | null = null;

  readonly view = (): View => (this.#drawn ??= this.draw());

  protected abstract draw(): View;
  protected abstract sentence(error: unknown): string;

  protected get asked(): AskView | null {
    return askView(this.#ask);
  }

  protected get message(): string | null {
    return this.#message;
  }

  protected ask(ask: Ask): void {
    this.#ask = ask;
    this.#message = null;
    this.changed();
  }

  protected say(message: string | null): void {
    this.#message = message;
    this.changed();
  }

  protected changed(): void {
    this.#drawn = null;
    this.tell();
  }

  /** Does something that may fail, and says what came of it. */
  protected async attempt(act: () => Promise<string | null>): Promise<void> {
    try {
      this.say(await act());
    } catch (error) {
      this.say(this.sentence(error));
    }
  }

  /** Letters that are typed or scanned, or the key that answers. @returns whether a question took them */
  type(text: string): boolean {
    const ask = this.#ask;
    if (ask === null) return false;
    if (ask.kind === 'text') this.#ask = { ...ask, text: ask.text + text };
    else {
      const choice = ask.choices.find(({ key }) => key === text);
      if (choice === undefined) return true;
      this.#ask = null;
      choice.take();
    }
    this.changed();
    return true;
  }

  erase(): void {
    if (this.#ask?.kind !== 'text') return;
    this.#ask = { ...this.#ask, text: [...this.#ask.text].slice(0, -1).join('') };
    this.changed();
  }

  /** Takes what was typed. @returns whether there was a question */
  enter(): boolean {
    const ask = this.#ask;
    if (ask?.kind !== 'text') return ask !== null;
    this.#ask = null;
    ask.take(ask.text);
    this.changed();
    return true;
  }

  /** Leaves the question. @returns whether there was one */
  leave(): boolean {
    const was = this.#ask !== null;
    this.#ask = null;
    if (was) this.changed();
    return was;
  }
}
