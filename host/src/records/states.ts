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
