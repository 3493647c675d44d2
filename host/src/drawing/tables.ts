/** Switch positions as tables of marks, and paragraphs of text. */
import type { Switch } from '../harness/harness.ts';
import { Merge } from '../harness/merge.ts';
import { wrapped } from './letters.ts';
import { lugName, switchLugs } from './part-symbols.ts';
import { at, box, FAINT, INK, line, PAPER, SOFT, text, together, withNext, type Block, type Shape } from './scene.ts';

const SIZE = 8.6;
const LINE = 11.4;
const CELL = 13;
const ROW = 13;
const NAME_least = 70;

/** Width that a table of a switch needs. */
export function tableWidth(one: Switch): number {
  return NAME_least + switchLugs(one).length * CELL;
}

/** The positions of a switch, a row each: lugs with the same mark in a row are connected. */
export function positionTable(one: Switch, left: number, width: number): Block[] {
  const lugs = switchLugs(one);
  const names = width - lugs.length * CELL;
  const xOf = (lug: number): number => left + names + (lug + 0.5) * CELL;
  const head: Shape[] = [
    text(at(left, 9), wrapped(one.id, SIZE, names - 6, true)[0]!, SIZE, { bold: true }),
    ...lugs.map((_, lug) => text(at(xOf(lug), 9), lugName(lug), SIZE, { bold: true, anchor: 'middle' })),
    line(at(left, ROW), at(left + width, ROW), 0.8),
  ];
  return [
    ...together([{ height: ROW, shapes: head }, ...one.positions.map(({ name, joins = [] }): Block => {
      const words = wrapped(name, SIZE, names - 6);
      const height = Math.max(ROW, words.length * LINE + 2);
      const groups = groupsOf(lugs, joins);
      return {
        height,
        shapes: [
          ...words.map((part, index) => text(at(left, 9 + index * LINE), part, SIZE)),
          ...lugs.flatMap((_, lug) => mark(xOf(lug), 6.4, groups[lug]!)),
          line(at(left, height), at(left + width, height), 0.4, FAINT),
        ],
      };
    })]),
    { height: 8, shapes: [] },
  ];
}

/** By lug, the number of the group that it is connected with in a position, or -1. */
function groupsOf(lugs: readonly string[], joins: readonly (readonly string[])[]): number[] {
  const merge = new Merge(lugs.length);
  for (const [first, ...rest] of joins) for (const other of rest) merge.join(lugs.indexOf(first!), lugs.indexOf(other));
  const roots = lugs.map((_, lug) => merge.find(lug));
  const shared = [...new Set(roots.filter((root, lug) => roots.indexOf(root) !== lug))];
  return roots.map((root) => shared.indexOf(root));
}

/** Marks that differ in shape, not in colour; more groups than shapes are numbered. */
function mark(x: number, y: number, group: number): Shape[] {
  const r = 3.4;
  switch (group) {
    case -1: return [{ kind: 'circle', at: at(x, y), radius: 0.9, fill: FAINT }];
    case 0: return [{ kind: 'circle', at: at(x, y), radius: r, fill: INK }];
    case 1: return [box(at(x - r, y - r), 2 * r, 2 * r, { fill: PAPER, colour: INK, width: 1.4 })];
    case 2: return [{ kind: 'area', points: [at(x, y - r - 0.6), at(x + r + 0.6, y + r), at(x - r - 0.6, y + r)], fill: INK }];
    case 3: {
      const points = [at(x, y - r - 1), at(x + r + 1, y), at(x, y + r + 1), at(x - r - 1, y)];
      return [{ kind: 'area', points, fill: PAPER, colour: INK, width: 1.4 }];
    }
    default: return [text(at(x, y + 2.6), String(group + 1), 7.4, { anchor: 'middle' })];
  }
}

/** A heading that stays with what is below it. */
export function heading(words: string, left: number, width: number): Block[] {
  return withNext(wrapped(words, 10, width, true).map((part, row) => ({
    height: row === 0 ? 20 : 13, shapes: [text(at(left, row === 0 ? 15 : 9), part, 10, { bold: true })],
  })));
}

/** A paragraph, a block for each line. @param hang - how far all lines but the first are set in */
export function paragraphs(
  words: string, left: number, width: number, { hang = 0, size = SIZE, bold = false, soft = false } = {},
): Block[] {
  return together(wrapped(words, size, width - hang, bold).map((part, row) => ({
    height: (LINE * size) / SIZE,
    shapes: [text(at(left + (row === 0 ? 0 : hang), size), part, size, { bold, ...(soft ? { colour: SOFT } : {}) })],
  })));
}

/** A numbered line: the number stands out to the left. */
export function numbered(number: number, words: string, left: number, width: number): Block[] {
  const room = 20;
  return together(wrapped(words, SIZE, width - room).map((part, row) => ({
    height: LINE,
    shapes: [
      ...(row === 0 ? [text(at(left + room - 5, SIZE), `${number}.`, SIZE, { bold: true, anchor: 'end' as const })] : []),
      text(at(left + room, SIZE), part, SIZE),
    ],
  })));
}
