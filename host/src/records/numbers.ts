/** Shop numbers of pickups: the pattern that the shop sets, and what a code reader may type. */
import { printable } from '../text/printable.ts';
import { row, rows, type Steps, type Work } from './work.ts';

/** Numbers of the shop's own pickups, and of the virtual bench's, which must never be taken for them. */
export const PATTERN = { shop: '####', virtual: 'V-####' } as const;
/** Name of the setting that holds the shop's pattern. */
export const PATTERN_SETTING = 'number_pattern';
/** Says where numbers come from: the own counter, or a server that several benches share, which reserves them. */
export const SOURCE_SETTING = 'numbers_from';
export const NUMBERS_OF_SERVER = 'server';

/** Longest number; longer ones fit no label. */
export const NUMBER_MOST = 40;

/** What is wrong with a pattern, or null. */
export function patternFault(pattern: string): string | null {
  const runs = pattern.match(/#+/g) ?? [];
  if (runs.length !== 1 || pattern.length > 30 || printable(pattern) !== pattern || pattern.trim() !== pattern)
    return `"${printable(pattern, 40)}" is no pattern of numbers; expected one run of # where the digits go, such as #### or P-#####`;
  return null;
}

/** What is wrong with a number that was typed or scanned, or null. */
export function numberFault(number: string): string | null {
  if (number === '' || number.length > NUMBER_MOST || printable(number) !== number || number.trim() !== number)
    return `"${printable(number, 60)}" is no number; expected 1 to ${NUMBER_MOST} visible characters`;
  return null;
}

/** The n-th number of a pattern; more digits than places are all written. */
export function numberOf(pattern: string, n: number): string {
  return pattern.replace(/#+/, (run) => String(n).padStart(run.length, '0'));
}

function* pattern(isVirtual: boolean): Steps<string> {
  if (isVirtual) return PATTERN.virtual;
  const set = yield* row('SELECT value FROM settings WHERE name = ?', PATTERN_SETTING);
  return set === undefined ? PATTERN.shop : String(set.value);
}

/** The next number that no pickup has. Whoever asks at the same time waits for this row and gets the one after it. */
function* count(isVirtual: boolean): Steps<string> {
  const name = isVirtual ? 'virtual' : 'shop';
  for (;;) {
    const counted = yield* row('UPDATE counters SET next = next + 1 WHERE name = ? RETURNING next', name);
    const number = numberOf(yield* pattern(isVirtual), Number(counted!.next) - 1);
    if ((yield* row('SELECT 1 FROM pickups WHERE number = ?', number)) === undefined) return number;
  }
}

/** A number for a new pickup, or null when this bench has none in reserve and cannot ask for one. */
export function* freshNumber(isVirtual: boolean): Steps<string | null> {
  if (isVirtual) return yield* count(true);
  const source = yield* row('SELECT value FROM settings WHERE name = ?', SOURCE_SETTING);
  if (source?.value !== NUMBERS_OF_SERVER) return yield* count(false);
  for (;;) {
    const kept = yield* row('SELECT number FROM reserve ORDER BY id LIMIT 1');
    if (kept === undefined) return null;
    yield* rows('DELETE FROM reserve WHERE number = ?', String(kept.number));
    if ((yield* row('SELECT 1 FROM pickups WHERE number = ?', String(kept.number))) === undefined) return String(kept.number);
  }
}

/** On the server: numbers for a bench to give when the server cannot be asked. */
export function reserveNumbers(most: number): Work<string[]> {
  return {
    use: 'keep',
    *steps() {
      const numbers: string[] = [];
      while (numbers.length < most) numbers.push(yield* count(false));
      return numbers;
    },
  };
}

/** On the bench: keeps the numbers that the server gave. */
export function takeReserve(numbers: readonly string[]): Work<void> {
  return {
    use: 'keep',
    *steps() {
      for (const number of numbers) yield* rows('INSERT INTO reserve (number) VALUES (?) ON CONFLICT (number) DO NOTHING', number);
    },
  };
}

/** On the bench: how many numbers are left. */
export function reserveCount(): Work<number> {
  return {
    use: 'look',
    *steps() {
      return Number((yield* row('SELECT count(*) AS n FROM reserve'))!.n);
    },
  };
}
