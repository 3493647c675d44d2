/** Pictures to solder from: nothing lies on a text, every wire leads where the harness says, and the same input gives the same file. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { PDFDocument } from '@cantoo/pdf-lib';
import { afterAll, describe, expect, it } from 'vitest';
import { boxOf } from '../../host/src/drawing/letters.ts';
import { LetterMissing, pdfOf } from '../../host/src/drawing/pdf.ts';
import { harnessSheet, NothingToDraw, pickupSheet } from '../../host/src/drawing/sheet.ts';
import { text as textShape, type Scene, type Shape, type TextShape } from '../../host/src/drawing/scene.ts';
import { svgOf } from '../../host/src/drawing/svg.ts';
import { asWireMap, filledMap } from '../../host/src/files/wiremap-file.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';
import { EXAMPLES, example, exampleNames, load, loadInColour, SETS, withSet, type PlainMap } from './example-harnesses.ts';
import { tapstone } from '../program/run-program.ts';
import { meetsBox, placed, segmentsOf, wiredTogether, wordsOf } from './picture-geometry.ts';

/** What lies on a text, or beside the sheet, in words. */
function faults(scene: Scene): string[] {
  const shapes = placed(scene);
  const texts = shapes.filter((shape): shape is TextShape => shape.kind === 'text');
  const found: string[] = [];
  const boxes = texts.map(boxOf);
  const segments = shapes.flatMap((shape) => segmentsOf(shape).map((segment) => ({ kind: shape.kind, segment })));
  texts.forEach((one, at) => {
    const own = boxes[at]!;
    if (own.left < 0 || own.right > scene.width) found.push(`"${one.text}" leaves the sheet`);
    boxes.slice(at + 1).forEach((box, after) => {
      if (own.left < box.right && box.left < own.right && own.top < box.bottom && box.top < own.bottom)
        found.push(`"${one.text}" lies on "${texts[at + 1 + after]!.text}"`);
    });
    for (const { kind, segment } of segments) if (meetsBox(segment, own)) found.push(`a line of a ${kind} runs through "${one.text}"`);
  });
  return found;
}

/** Joints that the harness puts together, by their numbers, from the file alone: leads by the list, lugs by the nodes of the parts. */
function jointsOf({ harness, pickups }: LoadedHarness): string[] {
  const groups: { nodes: Set<string>; numbers: Set<number> }[] = [];
  const tie = (nodes: readonly string[], numbers: readonly number[]): void => {
    const all = { nodes: new Set(nodes), numbers: new Set(numbers) };
    for (const group of groups.filter((one) => nodes.some((node) => one.nodes.has(node)))) {
      for (const node of group.nodes) all.nodes.add(node);
      for (const number of group.numbers) all.numbers.add(number);
      groups.splice(groups.indexOf(group), 1);
    }
    groups.push(all);
  };
  for (const join of harness.joins ?? []) tie(join, []);
  let number = 0;
  for (const { leads, placement, slot } of pickups)
    for (const clip of leads.clips) {
      number += 1;
      const nodes = placement.get(clip)!;
      tie(nodes.length === 0 ? [`${slot.slot} ${clip}`] : nodes, [number]);
    }
  const lugs = [
    ...harness.switches.flatMap(({ positions }) => positions.flatMap(({ joins }) => (joins ?? []).flat())),
    ...(harness.parts ?? []).flatMap((part) => (part.kind === 'pot' ? [part.a, part.wiper, part.b] : [part.a, part.b])),
    harness.output.hot, harness.output.ground,
  ].filter((node) => node !== null);
  const numbered = new Set<unknown>();
  for (const node of lugs) {
    tie([node], []);
    const group = groups.find(({ nodes }) => nodes.has(node))!;
    // One number for all lugs of a node, in the order of the parts.
    if (![...group.nodes].some((one) => numbered.has(one))) group.numbers.add(++number);
    for (const one of group.nodes) numbered.add(one);
  }
  return groups.filter(({ numbers }) => numbers.size > 0).map(({ numbers }) => [...numbers].sort((a, b) => a - b).join()).sort();
}

const drawing = (scene: Scene): readonly Shape[] => [...scene.blocks].sort((a, b) => b.shapes.length - a.shapes.length)[0]!.shapes;

describe.each(exampleNames)('%s', (name) => {
  it.each(['its own wire maps', ...Object.keys(SETS)])('is drawn with nothing on a text and every wire in its place: %s', (set) => {
    const plain = example(name);
    const loaded = set in SETS ? load(withSet(plain, set)) : loadInColour(plain);
    const scene = harnessSheet(loaded);
    expect(faults(scene)).toEqual([]);
    expect(wiredTogether(drawing(scene)).sort()).toEqual(jointsOf(loaded));
    const words = placed(scene).flatMap((shape) => (shape.kind === 'text' ? [shape.text] : []));
    for (const { colours } of loaded.pickups)
      for (const [clip, colour] of colours) if (colour !== undefined) expect(words).toContain(`clip ${clip}  ${colour}`);
  });
});

describe('one pickup', () => {
  const texts = new Set(exampleNames.flatMap((name) => example(name).maps.map((map) => JSON.stringify(map))));
  const maps = [...texts].map((json) => JSON.parse(json) as PlainMap);
  const sheet = (map: PlainMap): Scene =>
    pickupSheet('a pickup', {
      map: filledMap(asWireMap(map)), colours: new Map((map.clips ?? []).map(({ clip, colour }: PlainMap) => [clip, colour])),
    });
  it.each(maps)('is drawn in each of its ways', (map) => {
    const scene = sheet(map);
    expect(faults(scene)).toEqual([]);
    const ways = map.coils.length === 1 ? 1 : 5;
    expect(placed(scene).filter((shape) => shape.kind === 'text' && /^Way \d: /.test(shape.text))).toHaveLength(ways);
  });
  it('is drawn turned where plus is on the frame, and not at all with a fault', () => {
    const map = structuredClone(maps.find(({ coils }) => coils.length === 1)!);
    const [coil] = map.coils;
    Object.assign(map, { chassis: [coil.plus], joined: [] });
    const words = wordsOf(sheet(map));
    expect(words).toContain('Way 1: coil 1 pickup');
    expect(words).toContain('The signal is turned over, since the tie to the frame allows no other way.');
    expect(words).toMatch(new RegExp(`clip ${coil.plus},[^:]*: to ground`));
    map.findings = [{ kind: 'shorted_turns', severity: 'fault', clips: [], text: 'Turns are shorted.' }];
    expect(() => sheet(map)).toThrow(NothingToDraw);
  });
});

describe('one pickup of which not all is known', () => {
  const pair = example('two-pairs-one-split').maps.find(({ coils }) => coils.length === 2)!;
  const [first, second] = pair.coils as readonly [PlainMap['coils'][number], PlainMap['coils'][number]];
  const said = (map: PlainMap): string => wordsOf(pickupSheet('a pickup', { map: filledMap(asWireMap(map)), colours: new Map() }));
  it('is drawn in no way of coils whose plus nobody knows, and of none it is said that its minus is hot', () => {
    const unsigned = { ...pair, verdict: 'unsure', coils: [{ ...first, plus: null, minus: null, confidence: undefined }, second] };
    for (const chassis of [[], [first.ends![0]], [first.ends![1]]]) {
      const words = said({ ...unsigned, chassis, joined: [] });
      expect(words).toContain('2 ways of wiring it');
      expect(words).not.toMatch(/in series|in parallel|minus hot/);
      expect(words.includes('Not checked: whether metal of this pickup')).toBe(chassis.length === 0);
    }
  });
  it('bears the caution of a plus that is likely and not sure', () => {
    expect(said({ ...pair, coils: [{ ...first, confidence: 0.9651 }, second] })).toContain(`Do not solder yet: plus and minus of ${first.name} (96.51 %) are likely, not sure.`);
    expect(said(pair)).not.toContain('not sure');
  });
  it('of stacked coils is drawn without the inner one by itself', () => {
    const words = said({ ...pair, chassis: [], joined: [], coils: [first, { ...second, inner: true, place: null, pole: null }] });
    expect(words).toContain(`${first.place} alone`);
    expect(words).not.toContain(`${second.name} alone`);
  });
});

describe('the files', () => {
  const scene = harnessSheet(loadInColour(example('two-pairs-one-split')));
  it('are the same each time, PDF on A4', async () => {
    expect(svgOf(scene)).toBe(svgOf(harnessSheet(loadInColour(example('two-pairs-one-split')))));
    const [first, second] = await Promise.all([pdfOf(scene), pdfOf(scene)]);
    expect(Buffer.from(first).equals(second)).toBe(true);
    const pages = (await PDFDocument.load(first)).getPages();
    // ISO 216: 210 by 297 mm.
    const millimetres = (points: number): number => Math.round((points / 72) * 25.4);
    for (const page of pages) expect([page.getWidth(), page.getHeight()].map(millimetres)).toEqual([210, 297]);
    expect(pages.length).toBeLessThan(4);
  });
  it.each(exampleNames)('have the drawing of %s under its title, on the first page of the PDF', async (name) => {
    const file = join(mkdtempSync(join(tmpdir(), 'tapstone-page-')), 'sheet.pdf');
    writeFileSync(file, await pdfOf(harnessSheet(loadInColour(example(name)))));
    // poppler, which shares nothing with the library that writes it.
    const { stdout, error } = spawnSync('pdftotext', ['-l', '1', file, '-'], { encoding: 'utf8' });
    rmSync(dirname(file), { recursive: true });
    expect(error).toBeUndefined();
    expect(stdout).toContain('output');
    expect(stdout).toContain('wiper');
  });
  it('escape what markup would take for its own, and name a letter that PDF lacks', async () => {
    const odd: Scene = { title: 'a <b> & "c"', width: 50, blocks: [{ height: 20, shapes: [textShape({ x: 1, y: 10 }, '<&"Ω', 8)] }] };
    expect(svgOf(odd)).toContain('<title>a &lt;b&gt; &amp; &quot;c&quot;</title>');
    expect(svgOf(odd)).toContain('>&lt;&amp;&quot;Ω</text>');
    await expect(pdfOf(odd)).rejects.toThrow(LetterMissing);
  });
});

describe('tapstone draw', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-draw-'));
  afterAll(() => rmSync(folder, { recursive: true }));
  const harness = `${EXAMPLES}two-singles.harness.json`;
  it('writes SVG or PDF by the name, and SVG where none is named', async () => {
    const [svg, pdf] = [join(folder, 'a.svg'), join(folder, 'a.pdf')];
    for (const out of [svg, pdf]) expect(await tapstone(['draw', harness, '--out', out])).toMatchObject({ code: 0, out: '', err: '' });
    expect(readFileSync(pdf, 'latin1').slice(0, 5)).toBe('%PDF-');
    expect((await tapstone(['draw', harness])).out).toBe(readFileSync(svg, 'utf8'));
    const { code, out } = await tapstone(['draw', `${EXAMPLES}pair-front.wiremap.json`]);
    expect([code, out.includes('<title>pair-front</title>')]).toEqual([0, true]);
  });
  it.each([
    [['draw', harness, '--out', 'a.png'], 64, 'tapstone draw: --out a.png tells no kind of picture; expected a name that ends in .svg or .pdf'],
    [['draw'], 64, 'tapstone draw: no file is named; write tapstone draw FILE.harness.json'],
    [['draw', `${EXAMPLES}none.harness.json`], 66, `${EXAMPLES}none.harness.json: no such file`],
  ] as const)('%j is refused in a sentence', async (args, code, sentence) => {
    const told = await tapstone([...args]);
    expect([told.code, told.out, told.err.split('\n').slice(0, -1).length]).toEqual([code, '', 1]);
    expect(told.err).toContain(sentence);
  });
});
