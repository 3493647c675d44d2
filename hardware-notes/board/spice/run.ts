/** Runs a deck with ngspice and holds its figures against their limits. */
import { spawnSync } from 'node:child_process';
import type { Deck, Figure } from './decks.ts';

/** A figure as found: every value that the deck printed under its name. */
export interface Found {
  readonly figure: Figure;
  readonly values: readonly number[];
  /** How much of the room is left, 0 at a limit, 1 in the middle or far from a one-sided one; negative when missed. */
  readonly margin: number;
}

/** Runs a deck's file. @param path - of the `.cir` @throws when ngspice is missing or prints no value for a figure */
export function runDeck(deck: Deck, path: string): Found[] {
  const { stdout, stderr, error } = spawnSync('ngspice', ['-b', path], { encoding: 'utf8', maxBuffer: 1 << 26 });
  if (error !== undefined) throw new Error('ngspice is missing. Install it: apt-get install -y ngspice');
  const values = new Map<string, number[]>();
  for (const [, name, value] of stdout.matchAll(/^(\w+)\s+=\s+([-+.\deE]+)/gm)) {
    const key = name.toLowerCase();
    values.set(key, [...(values.get(key) ?? []), Number(value)]);
  }
  return deck.figures.map((figure) => {
    const all = values.get(figure.name.toLowerCase());
    if (all === undefined || all.some(Number.isNaN)) throw new Error(`deck ${deck.name} printed no ${figure.name}: ${stderr.slice(-500)}`);
    return { figure, values: all, margin: Math.min(...all.map((value) => marginOf(figure, value))) };
  });
}

function marginOf({ low, high }: Figure, value: number): number {
  if (!Number.isFinite(low)) return 1 - value / high;
  if (!Number.isFinite(high)) return low === 0 ? (value >= 0 ? 1 : -1) : value / low - 1;
  return Math.min(value - low, high - value) / ((high - low) / 2);
}
