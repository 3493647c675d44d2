/** The pickup as it lies before the person, drawn in characters, so that the names of its places mean one thing. */
import type { BenchKind } from '../files/bench-record.ts';

const POLES = ' o   o   o   o   o   o ';

/**
 * Lines of the picture.
 * @param places - names in the order in which they are asked for, the farthest from the person first
 * @param kind - stacked coils lie one below the other, so that only the one at the face can be touched
 */
export function layingLines(places: readonly string[], kind?: BenchKind): string[] {
  const edge = '-'.repeat(POLES.length);
  const rows = places.flatMap((place, index) => [
    `${index === 0 ? 'leads' : '     '} |${POLES}|  ${place}${whereOf(index, places.length)}`,
    `      +${edge}+`,
  ]);
  return [
    'The side that faces the strings lies up, the leads to your left:',
    `      +${edge}+`,
    ...rows,
    `${' '.repeat(6 + (POLES.length >> 1))}you`,
    ...(kind === 'stacked' ? ['The other coil lies below it and cannot be touched.'] : []),
  ];
}

function whereOf(index: number, count: number): string {
  if (count === 1) return '';
  if (index === 0) return ': away from you';
  return index === count - 1 ? ': next to you' : '';
}
