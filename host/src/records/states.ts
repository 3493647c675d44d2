/** What may be said of a pickup in the shop. */
import { DOUBTS, type KeptDoubt } from './doubts.ts';

export const STATES = ['waiting', 'good', 'fault', 'unsure', 'aside', 'sold'] as const;
export type StateWord = (typeof STATES)[number];

const IN_WORDS: Readonly<Record<StateWord, string>> = {
  waiting: 'waiting for a test', good: 'good', fault: 'fault', unsure: 'unsure', aside: 'set aside', sold: 'sold',
};

/** In place of a bare `good`: whoever solders by a list has to read there what the pickup's paper says. */
const DOUBT_IN_LIST: Readonly<Record<KeptDoubt, string>> = { '': 'good', warning: 'warning', likely: 'touch again', untold: 'see its map' };
const DOUBT_IN_WORDS: Readonly<Record<KeptDoubt, string>> = {
  '': 'good', warning: 'good, with a warning', likely: 'good, touch again', untold: 'good, see its map',
};

export function isState(word: string): word is StateWord {
  return (STATES as readonly string[]).includes(word);
}

/** A state as people say it; a word that is none of ours stays as it is. */
export function stateInWords(word: string): string {
  return isState(word) ? IN_WORDS[word] : word;
}

/** A state or verdict with the doubt that a good one leaves. */
export function standingInWords(word: string, doubt: KeptDoubt): string {
  return word === 'good' ? DOUBT_IN_WORDS[doubt] : stateInWords(word);
}

/** The same in a column of `STATE_COLUMN` letters. */
export function standingInList(word: string, doubt: KeptDoubt): string {
  return word === 'good' ? DOUBT_IN_LIST[doubt] : word === 'waiting' ? word : stateInWords(word);
}

/** Whether its paper says UNSURE: its test does, or leaves a plus only likely. */
export function isUnsure(state: string, doubt: KeptDoubt): boolean {
  return state === 'unsure' || (state === 'good' && doubt === 'likely');
}

/** `4 good (1 in doubt)`: how many of each state, and of how many good ones something is still to be minded. */
export function countsInWords(counts: readonly (readonly [state: string, n: number])[], doubtful: number): string {
  return counts.map(([state, n]) => `${n} ${stateInWords(state)}${state === 'good' && doubtful > 0 ? ` (${doubtful} in doubt)` : ''}`).join(', ');
}

/** Letters of the longest in a list. */
export const STATE_COLUMN = Math.max(...STATES.flatMap((word) => DOUBTS.map((doubt) => standingInList(word, doubt).length)));
