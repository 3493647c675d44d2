/** A question that a screen asks before it does something: a text to be typed or scanned, or one key of several. */
import type { KeyHint } from '../bench/view.ts';

export interface AskView {
  readonly question: string;
  /** What is typed so far; null where one key answers. */
  readonly text: string | null;
  /** Keys that answer. */
  readonly choices: readonly KeyHint[];
}

export type Ask =
  | { readonly kind: 'text'; readonly question: string; readonly text: string; readonly take: (text: string) => void }
  | { readonly kind: 'choice'; readonly question: string; readonly choices: readonly (KeyHint & { readonly take: () => void })[] };

export function askView(ask: Ask | null): AskView | null {
  if (ask === null) return null;
  const { question } = ask;
  return ask.kind === 'text' ? { question, text: ask.text, choices: [] } : { question, text: null, choices: ask.choices };
}
