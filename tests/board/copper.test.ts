/** The board as it goes to a fab, before KiCad 9: its rule check with the schematic beside it, and what is ours to see in the copper. */
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { tester } from '../../hardware-notes/board/netlist/board.ts';
import { jobOf, kindOfNet } from '../../hardware-notes/board/making/layout.ts';
import { netOfPad } from '../../hardware-notes/board/making/footprints.ts';
import { fabOutputs } from '../../hardware-notes/board/making/outputs.ts';
import { child, lists, parsed, textOf, type List } from '../../hardware-notes/board/making/sexpr.ts';
import { copyOfProject, kicad, kicadOrSay, project } from './kicad.ts';

const ready = kicadOrSay('rule check of the board and its files for the fab');
const netlist = tester();
const board = parsed(readFileSync(join(project, 'tapstone.kicad_pcb'), 'utf8'));
const numbersOf = (list: List): number[] => list.slice(1).map((one) => Number(textOf(one)));
const names = new Map(lists(board, 'net').map((net) => [textOf(net[1]), textOf(net[2])]));
const netOf = (item: List): string => names.get(textOf(child(item, 'net')![1]))!;
const propertyOf = (footprint: List, name: string): string => textOf(lists(footprint, 'property').find((one) => textOf(one[1]) === name)![2]);

interface Stretch {
  readonly net: string;
  readonly layer: string;
  readonly from: readonly number[];
  readonly to: readonly number[];
}

const tracks: Stretch[] = lists(board, 'segment').map((one) => ({
  net: netOf(one), layer: textOf(child(one, 'layer')![1]), from: numbersOf(child(one, 'start')!), to: numbersOf(child(one, 'end')!),
}));
const vias = lists(board, 'via').map((one) => ({ net: netOf(one), at: numbersOf(child(one, 'at')!) }));
const lengthOf = ({ from, to }: Stretch): number => Math.hypot(to[0] - from[0], to[1] - from[1]);

/** Points along the tracks of some nets, each 0.1 mm. */
function pointsOf(isWanted: (net: string) => boolean): { layer: string; x: number; y: number; net: string }[] {
  return tracks.filter(({ net }) => isWanted(net)).flatMap((one) => {
    const steps = Math.max(1, Math.round(lengthOf(one) * 10));
    const along = (axis: 0 | 1, k: number): number => one.from[axis] + ((one.to[axis] - one.from[axis]) * k) / steps;
    return Array.from({ length: steps }, (_, k) => ({ net: one.net, layer: one.layer, x: along(0, k), y: along(1, k) }));
  });
}

describe('the copper', () => {
  it('has the parts of the netlist, each in its place, and every pad on its net', () => {
    const footprints = lists(board, 'footprint');
    expect(footprints.map((one) => propertyOf(one, 'Reference')).sort()).toEqual(netlist.parts.map(({ ref }) => ref).sort());
    for (const footprint of footprints) {
      const part = netlist.part(propertyOf(footprint, 'Reference'));
      expect(textOf(footprint[1]).split(':')[1]).toBe(part.bought.footprint.split(':')[1]);
      const [x, y, turn = 0] = numbersOf(child(footprint, 'at')!);
      expect([x, y, (turn + 360) % 360], part.ref).toEqual([part.place.x, part.place.y, part.place.turn]);
      for (const pad of lists(footprint, 'pad')) {
        const net = child(pad, 'net');
        const number = textOf(pad[1]);
        expect(net === undefined ? null : textOf(net[2]), `${part.ref}.${number}`).toBe(number === '' ? null : netOfPad(part, number));
      }
    }
  });
  it('brings USB from the chip to its protection as a pair without a via', () => {
    for (const [plus, minus] of [['USB_PLUS', 'USB_MINUS'], ['USB_PLUS_IN', 'USB_MINUS_IN']]) {
      expect(vias.filter(({ net }) => net === plus || net === minus)).toEqual([]);
      const pair = jobOf(netlist).fixedTracks;
      const length = (name: string): number => pair.filter(({ net }) => net === name)
        .reduce((sum, { from, to }) => sum + Math.hypot(to.x - from.x, to.y - from.y), 0);
      // A picosecond is 0.15 mm; full speed has bits of 83 ns.
      expect(Math.abs(length(plus) - length(minus))).toBeLessThan(0.5);
      for (const { net, from, to } of pair) {
        const isAt = (end: readonly number[], { x, y }: { x: number; y: number }): boolean => Math.hypot(end[0] - x, end[1] - y) < 1e-6;
        const isThere = tracks.some((one) => one.net === net && isAt(one.from, from) && isAt(one.to, to));
        expect(isThere, `${net} from ${from.x}, ${from.y}`).toBe(true);
      }
    }
  });
  it('keeps the nets of megohms away from the digital ones: next to none of their length runs within 0.45 mm of one', () => {
    const digital = new Set(pointsOf((net) => kindOfNet(net) === 'digital').map(({ layer, x, y }) => `${layer} ${Math.round(x * 10)} ${Math.round(y * 10)}`));
    const high = pointsOf((net) => kindOfNet(net) === 'high-ohm');
    const isNear = ({ layer, x, y }: { layer: string; x: number; y: number }): boolean => {
      for (let i = -4; i <= 4; i++) for (let j = -4; j <= 4; j++) if (digital.has(`${layer} ${Math.round(x * 10) + i} ${Math.round(y * 10) + j}`)) return true;
      return false;
    };
    expect(high.length).toBeGreaterThan(5000);
    expect(high.filter(isNear).length / high.length).toBeLessThan(0.02);
  });
  it('has the ground whole on the first inner layer, and the fab\'s limits beside the board', () => {
    expect(lists(board, 'zone').filter((one) => textOf(child(one, 'layer')![1]) === 'In1.Cu').map((one) => textOf(child(one, 'net_name')![1]))).toEqual(['GND']);
    expect(tracks.filter(({ layer }) => layer !== 'F.Cu' && layer !== 'B.Cu')).toEqual([]);
    expect(existsSync(join(project, 'tapstone.kicad_pro'))).toBe(true);
  });
});

interface Drc {
  readonly violations: readonly { readonly severity: string; readonly type: string; readonly description: string }[];
  readonly unconnected_items: readonly unknown[];
  readonly schematic_parity: readonly unknown[];
}

describe.skipIf(!ready)('the board before KiCad 9', () => {
  let folder = '';
  beforeAll(() => (folder = copyOfProject()));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const judged = (): Drc => {
    kicad(folder, 'pcb', 'drc', '--schematic-parity', '--severity-all', '--format', 'json', '-o', 'drc.json', 'tapstone.kicad_pcb');
    return JSON.parse(readFileSync(join(folder, 'drc.json'), 'utf8')) as Drc;
  };
  it('has no violation, nothing unconnected and no difference to the schematic', () => {
    const { violations, unconnected_items, schematic_parity } = judged();
    expect(violations.map(({ severity, type, description }) => `${severity} ${type}: ${description}`)).toEqual([]);
    expect(unconnected_items).toEqual([]);
    expect(schematic_parity).toEqual([]);
  });
  it('is found at fault when a track is taken away, and when a part has another name than in the schematic', () => {
    const path = join(folder, 'tapstone.kicad_pcb');
    const text = readFileSync(path, 'utf8');
    // The longest of all: a short one may lie on copper of its own net.
    const longest = tracks.reduce((a, b) => (lengthOf(b) > lengthOf(a) ? b : a));
    const whole = [...text.matchAll(/\t\(segment\n(?:\t\t.*\n)+?\t\)\n/g)].map(([one]) => one)
      .find((one) => one.includes(`(start ${longest.from.join(' ')})`) && one.includes(`(end ${longest.to.join(' ')})`))!;
    writeFileSync(path, text.replace(whole, '').replace(/(property "Reference" "R)101"/, '$1199"'));
    const { violations, unconnected_items, schematic_parity } = judged();
    expect(unconnected_items.length + violations.length).toBeGreaterThan(0);
    expect(schematic_parity.length).toBeGreaterThan(0);
    writeFileSync(path, text);
  });
  it('gives the fab every layer, all holes, and the assembler all parts that are bought', () => {
    const into = mkdtempSync(join(tmpdir(), 'tapstone-fab-'));
    try {
      fabOutputs(into);
      const files = readdirSync(into);
      for (const layer of ['F_Cu', 'In1_Cu', 'In2_Cu', 'B_Cu', 'F_Mask', 'B_Mask', 'F_Paste', 'F_Silkscreen', 'B_Silkscreen', 'Edge_Cuts']) {
        expect(files).toContain(`tapstone-${layer}.gbr`);
        // A Gerber that draws: apertures, and more than one line or flash.
        expect(readFileSync(join(into, `tapstone-${layer}.gbr`), 'utf8')).toMatch(/%ADD10[^]*D0[13]\*[^]*D0[13]\*/);
      }
      // No moment is left in them: the same board gives the same bytes.
      for (const name of files.filter((one) => /\.(gbr|drl|gbrjob)$/.test(one))) {
        expect(readFileSync(join(into, name), 'utf8'), name).not.toMatch(/20[1-9]\d-\d\d-\d\d/);
      }
      const holes = readFileSync(join(into, 'tapstone-PTH.drl'), 'utf8').match(/^X[-\d.]+Y[-\d.]+/gm)!.length;
      expect(holes).toBeGreaterThanOrEqual(vias.length);
      const [, ...lines] = readFileSync(join(into, 'placement.csv'), 'utf8').trim().split('\n');
      const placed = lines.map((line) => line.split(',')[0].replaceAll('"', ''));
      const bought = netlist.parts.filter(({ bought: kind }) => kind.notBought !== true).map(({ ref }) => ref);
      expect(placed).toEqual(expect.arrayContaining(bought));
      expect(files).toEqual(expect.arrayContaining(['tapstone.step', 'schematic.pdf', 'parts.csv', 'where-each-part-goes.pdf']));
    } finally {
      rmSync(into, { recursive: true, force: true });
    }
  }, 60_000);
});
