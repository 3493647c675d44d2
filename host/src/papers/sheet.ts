/** Everything of one pickup on A4: map, drawing, touches, readings, what they are worth, and what was not tested. */
import { legible } from '../drawing/letters.ts';
import { qrCode } from '../drawing/qr-code.ts';
import { at, together, type Block, type Scene } from '../drawing/scene.ts';
import { NothingToDraw, pickupSheet } from '../drawing/sheet.ts';
import { heading, paragraphs } from '../drawing/tables.ts';
import { CAUTIONS } from '../text/cautions.ts';
import { leadInWords } from '../wiremap/lead-words.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { matrixTable } from './matrix.ts';
import { leads, measured, notTested, SIGNS } from './measured.ts';
import { standing } from './standing.ts';
import type { KeptTest, TestedPickup } from './tested-pickup.ts';
import { touchScale_V, tracePlot } from './traces.ts';
import { GIVE_OR_TAKE } from './uncertain.ts';

const WIDTH = 470;
const CODE = 62;

/** @returns a picture for pages of A4; every text in it can be shown by the fonts of PDF */
export function testedSheet(pickup: TestedPickup & { readonly test: KeptTest }): Scene {
  const test = readable(pickup.test);
  const drawing = wiringScene(test);
  const width = Math.max(WIDTH, drawing.width);
  const list = (title: string, items: readonly string[], nothing: string): Block[] => [
    ...heading(title, 0, width),
    ...(items.length === 0 ? paragraphs(nothing, 0, width) : items.flatMap((item) => paragraphs(`- ${legible(item)}`, 0, width, { hang: 8 }))),
  ];
  const { map } = test;
  return {
    title: `pickup ${pickup.number}`,
    width,
    blocks: [
      headBlock({ ...pickup, test }, width),
      ...list('Measured', measured(test), 'No coil was found.'),
      ...paragraphs(GIVE_OR_TAKE, 0, width, { size: 7.6, soft: true }),
      ...list('Leads', leads(test), 'none'),
      ...paragraphs(SIGNS, 0, width, { size: 7.6, soft: true }),
      ...list('Found', map.findings.map(({ severity, text: finding }) => `${severity}: ${finding}`), 'Nothing.'),
      ...list('Not known', map.unknown, 'Nothing was left open by what was tested.'),
      ...list('Not tested', notTested(test), ''),
      ...heading('Every pair of leads, as read', 0, width),
      ...matrixTable(test.record, test.colours, 0, width),
      ...paragraphs('\u00b1 is twice the standard uncertainty of that reading (k = 2).', 0, width, { size: 7.6, soft: true }),
      ...touchBlocks(test, width),
      ...drawing.blocks,
    ],
  };
}

/** The same test with no letter in it that the fonts lack. */
function readable(test: KeptTest): KeptTest {
  const plain = <T>(value: T): T =>
    JSON.parse(JSON.stringify(value ?? null), (_, part: unknown) => (typeof part === 'string' ? legible(part) : part)) as T;
  const { tester, touches, observed, magnets, ...rest } = test.record;
  const record = {
    ...rest,
    ...(tester === undefined ? {} : { tester: plain(tester) }),
    ...(observed === undefined ? {} : { observed: plain(observed) }),
    ...(magnets === undefined ? {} : { magnets: plain(magnets) }),
    // Not through JSON: a touch has thousands of values.
    ...(touches === undefined ? {} : { touches: touches.map(({ at: place, ...touch }) => ({ ...touch, ...plain({ at: place }) })) }),
  };
  return { ...test, record, map: plain<WireMap>(test.map) };
}

function headBlock(pickup: TestedPickup & { readonly test: KeptTest }, width: number): Block {
  const { number, title, lot, isVirtual, test } = pickup;
  const { tester, temperature_C } = test.record;
  const stands = standing(pickup);
  const facts = [
    ...(isVirtual ? ['tested on the virtual bench: nobody has this pickup'] : []),
    [title, lot === '' ? '' : `lot ${lot}`].filter((part) => part !== '').join(', '),
    `test ${test.id}, ${test.taken}${temperature_C === undefined ? '' : `, ${temperature_C.toFixed(1)} \u00b0C`}`,
    tester?.serial === undefined ? 'meters of our own' : `tester ${tester.serial}${tester.firmware === undefined ? '' : `, firmware ${tester.firmware}`}`,
    `solved by the module with SHA-256 ${test.module}`,
  ].filter((part) => part !== '');
  const room = width - CODE - 8;
  const lines = facts.flatMap((words) => paragraphs(legible(words), 0, room, { hang: 8, size: 7.8 }));
  const number_ = paragraphs(legible(number), 0, room, { size: 17, bold: true });
  const stand = stands === null ? [] : paragraphs(stands, 0, room, { size: 11, bold: true });
  let y = 0;
  const shapes = [...number_, ...stand, { height: 3, shapes: [] }, ...lines].flatMap((block) => {
    const top = y;
    y += block.height;
    return block.shapes.map((shape) => (shape.kind === 'text' ? { ...shape, at: at(shape.at.x, shape.at.y + top) } : shape));
  });
  return { height: Math.max(y, CODE) + 4, shapes: [...shapes, ...qrCode(number).shapes(at(width - CODE, 0), CODE)] };
}

/** What was heard, and what a person saw on a meter. */
function touchBlocks({ record, colours }: KeptTest, width: number): Block[] {
  const seen = (record.observed ?? []).map(({ at: place, plus, minus, swing, peak_V }) => (
    `${place === undefined ? 'a touch' : `at "${place}"`}: ${leadInWords(plus, colours)}, against ${leadInWords(minus, colours)}: ${swing}` +
    (peak_V === undefined ? '' : `, ${Number((peak_V * 1e3).toPrecision(3))} mV`)));
  const touches = (record.touches ?? []).flatMap((touch) => {
    const scale_V = touchScale_V(touch);
    const title = touch.at === undefined ? 'a touch' : `touch at ${touch.at}`;
    return together(touch.channels.map((channel) => (
      tracePlot(channel, touch, [title, `clip ${channel.plus} against ${channel.minus}`], scale_V, 0, width))));
  });
  const told = seen.length + touches.length === 0 ? ['Nobody touched a coil, or nothing was kept of it.'] : seen.map((words) => `- ${words}`);
  return [
    ...heading(touches.length === 0 ? 'Touches' : 'Touches: plus is up', 0, width), ...touches,
    ...told.flatMap((words) => paragraphs(words, 0, width, { hang: 8 })),
  ];
}

/** The ways of wiring it, or why there is none. */
function wiringScene({ map, colours }: KeptTest): Scene {
  try {
    return pickupSheet('Wiring', { map, colours });
  } catch (error) {
    if (!(error instanceof NothingToDraw)) throw error;
    const cautions = CAUTIONS.flatMap((caution) => paragraphs(`- ${caution}`, 0, WIDTH, { hang: 6, size: 7.8 }));
    const words = [...heading('Wiring', 0, WIDTH), ...paragraphs(`Not drawn: ${error.message}`, 0, WIDTH, { bold: true })];
    return { title: '', width: WIDTH, blocks: [...words, ...together([...heading('Cautions', 0, WIDTH), ...cautions])] };
  }
}
