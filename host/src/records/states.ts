/** What may be said of a pickup in the shop. */
export const STATES = ['waiting', 'good', 'fault', 'unsure', 'aside', 'sold'] as const;
export type StateWord = (typeof STATES)[number];

const IN_WORDS: Readonly<Record<StateWord, string>> = {
  waiting: 'waiting for a test', good: 'good', fault: 'fault', unsure: 'unsure', aside: 'set aside', sold: 'sold',
};

export function isState(word: string): word is StateWord {
  return (STATES as readonly string[]).includes(word);
}

/** For a list; a word that is none of ours stays as it is. */
export function stateInWords(word: string): string {
  return isState(word) ? IN_WORDS[word] : word;
}

/** The same in a column of `STATE_COLUMN` letters. */
export function stateInList(word: string): string {
  return word === 'waiting' ? word : stateInWords(word);
}

/** Letters of the longest state in a list. */
export const STATE_COLUMN = Math.max(...STATES.map((word) => stateInList(word).length));
