/** What stands right of the channel: switches by their lugs, pots, resistors, capacitors, the jack. */
import type { Harness, Part, Pot, Switch } from '../harness/harness.ts';
import { fitted, widthOf } from './letters.ts';
import { jointNumber, NUMBER_radius, ROW, type Pin } from './pins.ts';
import { at, box, INK, line, PAPER, SOFT, text, type Shape } from './scene.ts';

/** Width of all that is drawn right of the channel. */
export const PART_width = 122;
/** From the channel to the lug, and from there to its words. */
const LUG = 2 * NUMBER_radius + 10;
const WORDS = LUG + 12;
const BODY = 6;
const WORDS_size = 7.2;
const TITLE_size = 8.4;

/** A point of a part that wires are soldered to. */
export interface Lug {
  /** Null for an end that is not connected. */
  readonly node: string | null;
  readonly words: string;
}

/** A part with its lugs, ready to be drawn. */
export interface PartSymbol {
  readonly title: string;
  readonly kind: 'lugs' | 'pot' | 'resistor' | 'capacitor' | 'jack';
  readonly lugs: readonly Lug[];
}

/** Lugs of a switch in the order in which its positions name them: one for each node, named a, b, c and on. */
export function switchLugs({ positions }: Switch): string[] {
  return [...new Set(positions.flatMap(({ joins }) => (joins ?? []).flat()))];
}

/** The name of a lug: a to z, then aa, ab and on. */
export function lugName(index: number): string {
  const letter = String.fromCharCode(97 + (index % 26));
  return index < 26 ? letter : lugName(Math.floor(index / 26) - 1) + letter;
}

/** Every part of a harness, switches first and the jack last. */
export function partSymbols(harness: Harness): PartSymbol[] {
  return [
    ...harness.switches.map((one): PartSymbol => ({
      title: `switch ${one.id}`, kind: 'lugs', lugs: switchLugs(one).map((node, index) => ({ node, words: node })),
    })),
    ...(harness.parts ?? []).map(partSymbol),
    { title: 'output', kind: 'jack', lugs: [{ node: harness.output.hot, words: 'hot' }, { node: harness.output.ground, words: 'ground' }] },
  ];
}

function partSymbol(part: Part): PartSymbol {
  if (part.kind === 'pot') return { title: `${part.id} ${ohmInWords(part.ohm)}`, kind: 'pot', lugs: potLugs(part) };
  const title = `${part.id} ${part.kind === 'resistor' ? ohmInWords(part.ohm) : faradInWords(part.farad_F)}`;
  return { title, kind: part.kind, lugs: [{ node: part.a, words: part.a }, { node: part.b, words: part.b }] };
}

/** A pot turned up has its wiper at `a`. */
function potLugs({ a, wiper, b }: Pot): Lug[] {
  return [{ node: a, words: 'end at full turn' }, { node: wiper, words: 'wiper' }, { node: b, words: 'end at zero' }];
}

/** `500 k`, `4.7 k`, `220 ohm`. */
function ohmInWords(ohm: number): string {
  if (ohm < 1000) return `${Number(ohm.toPrecision(3))} ohm`;
  return ohm < 1e6 ? `${Number((ohm / 1000).toPrecision(3))} k` : `${Number((ohm / 1e6).toPrecision(3))} M`;
}

function faradInWords(farad: number): string {
  if (farad < 1e-9) return `${Number((farad * 1e12).toPrecision(3))} pF`;
  return farad < 1e-6 ? `${Number((farad * 1e9).toPrecision(3))} nF` : `${Number((farad * 1e6).toPrecision(3))} uF`;
}

/** Rows that a part takes, its title among them. */
export function partRows({ lugs }: PartSymbol): number {
  return lugs.length + 1;
}

/** Lugs that wires can be on. @param top - y of the part's upper edge */
export function partPins({ lugs }: PartSymbol, top: number, netOf: (node: string) => string): Pin[] {
  return lugs.flatMap(({ node }, index) => (node === null ? [] : [{ y: top + (index + 1) * ROW, net: netOf(node), isLead: false }]));
}

/** Draws a part.
 * @param left - where the channel ends
 * @param top - y of its upper edge
 * @param numberOf - the joint of a node
 */
export function partDrawing(part: PartSymbol, left: number, top: number, numberOf: (node: string) => number): Shape[] {
  const yOf = (index: number): number => top + (index + 1) * ROW;
  const x = left + LUG;
  const shapes: Shape[] = [
    text(at(left + 4, top + 0.5 * ROW), fitted(part.title, TITLE_size, PART_width - 4, true), TITLE_size, { bold: true }),
    ...symbol(part.kind, x, yOf(0), yOf(part.lugs.length - 1), yOf(1)),
  ];
  part.lugs.forEach(({ node, words }, index) => {
    const y = yOf(index);
    const letter = part.kind === 'lugs' ? lugName(index) : '';
    const room = letter === '' ? 0 : widthOf(letter, WORDS_size, true) + 4;
    const baseline = y + 0.36 * WORDS_size;
    const shown = fitted(node === null ? `${words}: not used` : words, WORDS_size, PART_width - WORDS - room);
    if (letter !== '') shapes.push(text(at(left + WORDS, baseline), letter, WORDS_size, { bold: true }));
    shapes.push(text(at(left + WORDS + room, baseline), shown, WORDS_size, { colour: node === null ? SOFT : INK }));
    if (node === null) return;
    const joint = left + NUMBER_radius + 2;
    shapes.push(
      line(at(left, y), at(joint - NUMBER_radius, y), 1.3),
      line(at(joint + NUMBER_radius, y), at(x - lugRoom(part.kind, index), y), 1.3),
      ...jointNumber(at(joint, y), numberOf(node)),
    );
  });
  return shapes;
}

/** How far before the lug's line its wire ends. */
function lugRoom(kind: PartSymbol['kind'], index: number): number {
  if (kind === 'lugs') return 3;
  return kind === 'pot' && index === 1 ? BODY / 2 + 2.5 : 0;
}

function symbol(kind: PartSymbol['kind'], x: number, upper: number, lower: number, middle: number): Shape[] {
  switch (kind) {
    case 'lugs': {
      const rows = Math.round((lower - upper) / ROW) + 1;
      return [
        line(at(x, upper - 6), at(x, lower + 6), 0.8, SOFT),
        ...Array.from({ length: rows }, (_, row): Shape => ({
          kind: 'circle', at: at(x, upper + row * ROW), radius: 3, fill: PAPER, colour: INK, width: 1.3,
        })),
      ];
    }
    case 'pot': {
      // The wiper's arrow, its point at the track.
      const [point, tail] = [x - BODY / 2 - 0.5, x - BODY / 2 - 4];
      return [
        ...resistor(x, upper, lower),
        { kind: 'area', points: [at(point, middle), at(tail, middle - 2.4), at(tail, middle + 2.4)], fill: INK },
      ];
    }
    case 'resistor':
      return resistor(x, upper, lower);
    case 'capacitor': {
      const half = (upper + lower) / 2;
      return [
        line(at(x, upper), at(x, half - 2), 1.3), line(at(x - 5, half - 2), at(x + 5, half - 2), 1.8),
        line(at(x, half + 2), at(x, lower), 1.3), line(at(x - 5, half + 2), at(x + 5, half + 2), 1.8),
      ];
    }
    case 'jack':
      return [
        { kind: 'circle', at: at(x + 3.2, upper), radius: 3.2, fill: INK },
        { kind: 'circle', at: at(x + 3.2, lower), radius: 3.2, fill: PAPER, colour: INK, width: 1.6 },
      ];
  }
}

function resistor(x: number, upper: number, lower: number): Shape[] {
  return [
    line(at(x, upper), at(x, upper + 4), 1.3),
    box(at(x - BODY / 2, upper + 4), BODY, lower - upper - 8, { colour: INK, width: 1.3 }),
    line(at(x, lower - 4), at(x, lower), 1.3),
  ];
}
