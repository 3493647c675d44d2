/** A harness with its pickups, or one pickup in each of its ways, as a picture to solder from. */
import { printable } from '../text/printable.ts';
import { fittedLookAlikes, type HarnessFinding } from '../harness/findings.ts';
import type { FittedPickup } from '../harness/fitted-pickup.ts';
import type { Harness } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { positionsOf } from '../harness/positions.ts';
import { wayInWords } from '../harness/ways.ts';
import { CAUTIONS } from '../text/cautions.ts';
import { wiringPlan } from '../wiring/plan.ts';
import { planInWords, type LayoutWords } from '../wiring/words.ts';
import { channel } from './channel.ts';
import { Nets } from './nets.ts';
import { PART_width, partDrawing, partPins, partRows, partSymbols, type PartSymbol } from './part-symbols.ts';
import { coilColumns, pickupDrawing, pickupWidth } from './pickup-symbol.ts';
import { ROW, type Pin } from './pins.ts';
import { together, withNext, type Block, type Scene, type Shape } from './scene.ts';
import { heading, numbered, paragraphs, positionTable, tableWidth } from './tables.ts';
import { wiredAs, type ColouredMap } from './wired-as.ts';

const MARGIN = 12;
/** As wide as a phone is, in its own pixels; enlarged on paper. */
const WIDTH_least = 380;
const CHANNEL_least = 48;

/** The wiring of a harness, drawn, with the room that it takes. */
interface Drawing {
  readonly width: number;
  readonly block: Block;
  readonly nets: Nets;
}

/** One way of wiring a pickup, as a harness of its own. */
interface WaySheet {
  readonly loaded: LoadedHarness;
  readonly words: LayoutWords;
}

/** The harness as it stands. */
export function harnessSheet(loaded: LoadedHarness): Scene {
  const { harness } = loaded;
  const parts = partSymbols(harness);
  const drawing = drawn(loaded, parts, WIDTH_least);
  const width = Math.max(drawing.width, ...harness.switches.map((one) => tableWidth(one) + 2 * MARGIN));
  const [left, room] = [MARGIN, width - 2 * MARGIN];
  const title = harness.title ?? 'Harness';
  const { settings: _, findings } = positionsOf(loaded);
  return {
    title,
    width,
    blocks: [
      ...titleBlocks(title, left, room),
      ...warningBlocks(findings, left, room),
      ...fittedLookAlikes(loaded.pickups).flatMap(({ text }) => paragraphs(`look-alikes: ${text}`, left, room, { hang: 8, bold: true })),
      ...together([drawn(loaded, parts, width).block, ...keyBlocks(left, room, true)]),
      ...switchBlocks(harness, left, room),
      ...listBlocks(loaded, drawing.nets, left, room),
      ...cautionBlocks(left, room),
    ],
  };
}

/** One pickup: each way that its wiring plan offers, by the plan's number and in its words.
 * @param name - of the pickup, for the title
 * @throws NothingToDraw
 */
export function pickupSheet(name: string, { map, colours }: ColouredMap): Scene {
  const plan = wiringPlan(map);
  const words = planInWords(plan, map, colours);
  if (plan.layouts.length === 0) {
    const faults = map.findings.filter(({ severity }) => severity === 'fault').map(({ text }) => printable(text));
    throw new NothingToDraw(['there is no way of wiring this pickup.', ...words.notPossible, ...faults].join(' '));
  }
  const sheets = plan.layouts.map((layout, at): WaySheet => ({ loaded: wiredAs(layout, { map, colours }), words: words.ways[at]! }));
  const parts: PartSymbol[] = [
    { title: 'output', kind: 'jack', lugs: [{ node: 'hot', words: 'hot' }, { node: 'ground', words: 'ground' }] },
  ];
  const width = Math.max(...sheets.map(({ loaded }) => drawn(loaded, parts, WIDTH_least).width));
  const [left, room] = [MARGIN, width - 2 * MARGIN];
  const said = (sentences: readonly string[], bold = false): Block[] =>
    sentences.flatMap((sentence) => paragraphs(sentence, left, room, { hang: 8, bold }));
  return {
    title: name,
    width,
    blocks: [
      ...titleBlocks(name, left, room),
      ...said(words.first, true),
      ...said(words.always),
      ...withNext(paragraphs(sheets.length === 1 ? '1 way of wiring it.' : `${sheets.length} ways of wiring it; choose one.`, left, room)),
      ...sheets.flatMap((sheet) => wayBlocks(sheet, parts, left, width)),
      { height: 6, shapes: [] },
      ...said(words.partner),
      ...said(words.notPossible),
      { height: 6, shapes: [] },
      ...keyBlocks(left, room, false),
      ...cautionBlocks(left, room),
    ],
  };
}

/** A pickup that cannot be drawn; the message says why. */
export class NothingToDraw extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'NothingToDraw';
  }
}

function wayBlocks({ loaded, words }: WaySheet, parts: readonly PartSymbol[], left: number, width: number): Block[] {
  const room = width - 2 * MARGIN;
  const drawing = drawn(loaded, parts, width);
  return together([
    ...heading(words.title, left, room),
    drawing.block,
    ...paragraphs(words.result, left, room),
    ...drawing.nets.leads.flatMap(({ number, lead, text }) => numbered(number, `${lead}: ${text}`, left, room)),
    ...drawing.nets.lugs.flatMap(({ number, text }) => numbered(number, text, left, room)),
  ]);
}

/** Draws pickups, parts and the wires between them. @param least - width of the whole picture at least */
function drawn(loaded: LoadedHarness, parts: readonly PartSymbol[], least: number): Drawing {
  const nets = new Nets(loaded, parts);
  const shapes: Shape[] = [];
  const pins: Pin[] = [];
  const columns = Math.max(1, ...loaded.pickups.map(coilColumns));
  let leftHeight = 0;
  loaded.pickups.forEach((pickup: FittedPickup, at) => {
    const ends = nets.leads.filter((joint) => joint.pickup === at)
      .map((joint) => ({ clip: joint.clip, number: joint.number, net: nets.ofLead(joint) }));
    const drawing = pickupDrawing(pickup, MARGIN, leftHeight, columns, ends);
    shapes.push(...drawing.shapes);
    pins.push(...drawing.pins);
    leftHeight += drawing.height;
  });
  const channelLeft = MARGIN + pickupWidth(columns);
  const rows = parts.map(partRows);
  // Half a row lower than the leads: no two wires run in one line.
  let rightHeight = ROW / 2;
  const tops = rows.map((count) => {
    const top = rightHeight;
    rightHeight += count * ROW;
    return top;
  });
  const lugPins = parts.flatMap((part, index) => partPins(part, tops[index]!, nets.of));
  const room = Math.max(CHANNEL_least, least - channelLeft - PART_width - MARGIN);
  const wires = channel([...pins, ...lugPins], channelLeft, room, nets.of(loaded.harness.output.ground));
  const partsLeft = channelLeft + wires.width;
  parts.forEach((part, index) => shapes.push(...partDrawing(part, partsLeft, tops[index]!, nets.numberOf)));
  return {
    width: partsLeft + PART_width + MARGIN,
    block: { height: Math.max(leftHeight, rightHeight) + 6, shapes: [...wires.shapes, ...shapes] },
    nets,
  };
}

function titleBlocks(title: string, left: number, room: number): Block[] {
  return withNext([{ height: 8, shapes: [] }, ...heading(printable(title), left, room), { height: 4, shapes: [] }]);
}

function warningBlocks(findings: readonly HarnessFinding[], left: number, room: number): Block[] {
  return findings.flatMap(({ severity, text }) => paragraphs(`${severity}: ${text}`, left, room, { hang: 8, bold: severity !== 'note' }));
}

function keyBlocks(left: number, room: number, isHarness: boolean): Block[] {
  const words = [
    '+ and \u2013: the end of a coil that goes positive, negative, as steel touches its pole. N, S: the pole that its face shows.',
    'Letters on a lead: its colour by IEC 60757 (BARE: uncoated). Numbers in circles: the joints of the list. A dot: wires meet; the thick wire is ground.',
    ...(isHarness ? ['A capped end is insulated. Lugs of a switch bear letters of this sheet, not of the part: find them by what is connected in each position.'] : ['A capped end is insulated.']),
  ];
  return words.flatMap((one) => paragraphs(one, left, room, { size: 7.6, soft: true, hang: 8 }));
}

function switchBlocks({ switches }: Harness, left: number, room: number): Block[] {
  if (switches.length === 0) return [];
  return [
    ...heading('Positions of the switches', left, room),
    ...withNext(paragraphs('Lugs with the same mark in a row are connected in that position.', left, room)),
    ...switches.flatMap((one) => positionTable(one, left, room)),
  ];
}

function listBlocks({ pickups }: LoadedHarness, nets: Nets, left: number, room: number): Block[] {
  return [
    ...(pickups.length === 0 ? [] : heading('Soldering list: leads of the pickups', left, room)),
    ...pickups.flatMap(({ slot, way, coils }, at) => [
      ...withNext(paragraphs(`${slot.slot}${way === null ? '' : `: ${wayInWords(way, coils)}`}`, left, room, { bold: true, hang: 8 })),
      ...nets.leads.filter(({ pickup }) => pickup === at).flatMap(({ number, lead, text }) => numbered(number, `${lead}: ${text}`, left, room)),
      { height: 4, shapes: [] },
    ]),
    ...heading('Between the parts', left, room),
    ...nets.lugs.flatMap(({ number, text }) => numbered(number, text, left, room)),
  ];
}

function cautionBlocks(left: number, room: number): Block[] {
  return together([
    ...heading('Cautions', left, room),
    ...CAUTIONS.flatMap((text) => paragraphs(`- ${text}`, left, room, { hang: 6, size: 7.8 })),
    { height: 10, shapes: [] },
  ]);
}
