/** Keys one by one, whatever the terminal hands over at once: letters, and what moves, takes, leaves. */
import { useInput, useStdin, type Key } from 'ink';
import { createContext, useContext } from 'react';

const NAMED = ['enter', 'esc', 'tab', 'backtab', 'up', 'down', 'left', 'right', 'pageup', 'pagedown', 'home', 'end', 'erase', 'quit'] as const;
export type NamedKey = (typeof NAMED)[number];

/** One key: its name, or the letter that it types. */
export type Press = { readonly name: NamedKey } | { readonly letter: string };

const BY_FLAG: readonly (readonly [keyof Key, NamedKey])[] = [
  ['return', 'enter'], ['escape', 'esc'], ['upArrow', 'up'], ['downArrow', 'down'], ['leftArrow', 'left'], ['rightArrow', 'right'],
  ['pageUp', 'pageup'], ['pageDown', 'pagedown'], ['home', 'home'], ['end', 'end'], ['backspace', 'erase'], ['delete', 'erase'],
];
/** Control characters that arrive among letters when keys are typed, or a code is read, faster than they are taken. */
const BY_LETTER: Readonly<Record<string, NamedKey>> = { '\r': 'enter', '\n': 'enter', '\t': 'tab', '\x7f': 'erase', '\b': 'erase', '\x1b': 'esc', '\x03': 'quit' };

/** What the library hands over, as keys in their order. */
export function pressesOf(input: string, key: Key): Press[] {
  if (key.ctrl) return input === 'c' ? [{ name: 'quit' }] : [];
  if (key.tab) return [{ name: key.shift ? 'backtab' : 'tab' }];
  const flagged = BY_FLAG.find(([flag]) => key[flag] === true);
  if (flagged !== undefined) return [{ name: flagged[1] }];
  if (key.meta) return [];
  return [...input].flatMap((letter): Press[] => {
    const name = BY_LETTER[letter];
    if (name !== undefined) return [{ name }];
    return /\p{Cc}/u.test(letter) ? [] : [{ letter }];
  });
}

/** False for screens that lie below another one. */
export const Listens = createContext(true);

/** Calls for each key, as long as the screen is the one on top. */
export function useKeys(act: (press: Press) => void): void {
  const { isRawModeSupported } = useStdin();
  const listens = useContext(Listens);
  useInput((input, key) => {
    for (const press of pressesOf(input, key)) act(press);
  }, { isActive: isRawModeSupported && listens });
}
