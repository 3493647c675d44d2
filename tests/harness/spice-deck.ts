/**
 * All settings of a harness as one deck for ngspice, each an island of its own. Written from the file format alone: nothing
 * here knows how the program joins nodes or solves.
 */
import type { Harness } from '../../host/src/harness/harness.ts';
import { analyses } from '../reference/ngspice.ts';
import type { PlainHarness, PlainMap } from './example-harnesses.ts';
import type { OtherSetting } from './same-setting.ts';

/** What ngspice says of one setting. */
export interface SpiceSetting extends OtherSetting {
  /** Highest point of the weighted response, hertz and decibels over 100 Hz, and whether it lies at an end. */
  readonly peak: { readonly hertz: number; readonly dB: number; readonly isEnd: boolean };
}

/** A coil with a source in it. */
interface SpiceCoil {
  readonly label: string;
  readonly pickup: number;
  readonly at: PlainMap;
}

/** Clip to node names of each pickup; the deck takes them as the program's soldering list gives them. */
export type Placements = readonly ReadonlyMap<number, readonly string[]>[];

/** Solves every setting with ngspice: twice, since the response takes each coil with the sign of its share.
 * @param placements - where the leads are
 * @param weight - of a coil in the response, without its sign
 */
export function spiceSettings(
  { harness, maps }: PlainHarness,
  placements: Placements,
  weight: (slot: string, coil: string) => number,
): SpiceSetting[] {
  const settings = allSettings(harness);
  const coils = maps.flatMap((map, pickup) =>
    map.coils
      .filter((coil: PlainMap) => coil.ohm !== null && coil.ends !== null)
      .map((coil: PlainMap): SpiceCoil => ({ label: `${harness.fitted[pickup]!.slot} ${coil.name}`, pickup, at: coil })));
  const lines: string[] = ['.options rshunt=1e15'];
  const outs = settings.map((joins, at) => {
    const node = nodesOf(harness, maps, placements, joins);
    lines.push(...island(`a${at}`, harness, maps, coils, node, true), ...island(`d${at}`, harness, maps, coils, node, false));
    lines.push(`Rd${at} d${at}out 0 1e16`, `Ra${at} a${at}out 0 1e16`, `Id${at} 0 ${name(`d${at}`, node('output'))} dc 1 ac 0`);
    return node('output');
  });
  const vector = (kind: string, at: number): string => (outs[at] === '0' ? `v(${kind}${at}out)` : `v(${name(`${kind}${at}`, outs[at]!)})`);
  const voltages = settings.map((_, at) => vector('a', at));
  const source = (at: number, coil: number): string => `va${at}c${coil}`;
  const excite = (value: (at: number, coil: number) => number): string[] =>
    settings.flatMap((_, at) => coils.map((__, coil) => {
      const volts = value(at, coil);
      return `alter @${source(at, coil)}[acmag] = ${Math.abs(volts)}\nalter @${source(at, coil)}[acphase] = ${volts < 0 ? 180 : 0}`;
    }));
  const deck = lines.join('\n');
  const shares = analyses(deck, coils.map((_, one) => (
    { commands: [...excite((__, coil) => (coil === one ? 1 : 0)), 'ac lin 1 82.41 82.41'], vectors: voltages })));
  const share = (at: number, coil: number): number => shares[coil]![0]![1 + 2 * at]!;
  const weighted = excite((at, coil) => {
    const { pickup, at: { name: own } } = coils[coil]!;
    return Math.abs(share(at, coil)) > 0.02 ? weight(harness.fitted[pickup]!.slot, own) * Math.sign(share(at, coil)) : 0;
  });
  const [reference, sweep, direct] = analyses(deck, [
    { commands: [...weighted, 'ac lin 1 100 100'], vectors: voltages },
    { commands: ['ac dec 150 500 20000'], vectors: voltages },
    { commands: ['op'], vectors: settings.map((_, at) => vector('d', at)) },
  ]) as [number[][], number[][], number[][]];
  return settings.map((_, at) => ({
    shares: new Map(coils.map(({ label }, coil) => [label, share(at, coil)])),
    ohm: outs[at] === '0' ? 0 : direct[0]![1 + at]!,
    peak: peakOf(sweep, reference[0]!, at),
  }));
}

function size(row: readonly number[], at: number): number {
  return Math.hypot(row[1 + 2 * at]!, row[2 + 2 * at]!);
}

/** The highest point of a sweep, between its neighbours by a parabola. */
function peakOf(sweep: readonly (readonly number[])[], reference: readonly number[], at: number): SpiceSetting['peak'] {
  let best = 0;
  sweep.forEach((row, index) => {
    if (size(row, at) > size(sweep[best]!, at)) best = index;
  });
  const isEnd = best === 0 || best === sweep.length - 1;
  const decibels = (index: number): number => 20 * Math.log10(size(sweep[index]!, at) / size(reference, at));
  if (isEnd) return { hertz: sweep[best]![0]!, dB: decibels(best), isEnd };
  const [a, b, c] = [decibels(best - 1), decibels(best), decibels(best + 1)];
  const shift = (a - c) / (2 * (a - 2 * b + c));
  const ratio = sweep[best + 1]![0]! / sweep[best]![0]!;
  return { hertz: sweep[best]![0]! * ratio ** shift, dB: b - ((a - c) * shift) / 4, isEnd };
}

/** The joins of each combination of positions, the last switch changing fastest. */
export function allSettings({ switches }: Harness): (readonly string[])[][] {
  let all: (readonly string[])[][] = [[]];
  for (const { positions } of switches) all = all.flatMap((joins) => positions.map((one) => [...joins, ...(one.joins ?? [])]));
  return all;
}

/** Names the net of a node, a lead (`PICKUP clip CLIP`), or `output`; ground is 0. */
function nodesOf(
  harness: Harness,
  maps: readonly PlainMap[],
  placements: Placements,
  joins: readonly (readonly string[])[],
): (of: string) => string {
  // Labels spread over what is joined until nothing changes: slow and plain.
  const groups: string[][] = [...(harness.joins ?? []), ...joins].map((join) => [...join]);
  for (const part of harness.parts ?? []) {
    if (part.kind !== 'pot') continue;
    const turn = part.turn ?? 1;
    if (turn === 1) groups.push([part.a ?? `${part.id} a`, part.wiper]);
    if (turn === 0) groups.push([part.b ?? `${part.id} b`, part.wiper]);
  }
  maps.forEach((map, pickup) => {
    for (const group of map.joined) groups.push(group.map((clip: number) => `${pickup} clip ${clip}`));
    for (const [clip, nodes] of placements[pickup]!) groups.push([`${pickup} clip ${clip}`, ...nodes]);
  });
  const label = new Map(groups.flat().map((node) => [node, node]));
  for (let changed = true; changed; ) {
    changed = false;
    for (const group of groups) {
      const least = group.map((node) => label.get(node)!).sort()[0]!;
      for (const node of group) {
        if (label.get(node) === least) continue;
        label.set(node, least);
        changed = true;
      }
    }
  }
  const of = (node: string): string => label.get(node) ?? node;
  const ground = of(harness.output.ground);
  return (node) => {
    const net = node === 'output' ? of(harness.output.hot) : of(node);
    return net === ground ? '0' : net;
  };
}

function name(prefix: string, net: string): string {
  return net === '0' ? '0' : `${prefix}n${Buffer.from(net).toString('hex')}`;
}

/** One setting as element lines. */
function island(
  prefix: string,
  harness: Harness,
  maps: readonly PlainMap[],
  coils: readonly SpiceCoil[],
  node: (of: string) => string,
  isLoaded: boolean,
): string[] {
  const lines: string[] = [];
  const net = (of: string): string => name(prefix, node(of));
  let count = 0;
  const element = (kind: string, a: string, b: string, value: number): void => {
    if (net(a) !== net(b)) lines.push(`${kind}${prefix}e${count++} ${net(a)} ${net(b)} ${value}`);
  };
  for (const part of harness.parts ?? []) {
    if (part.kind === 'resistor') element('R', part.a, part.b, part.ohm);
    else if (part.kind === 'capacitor') element('C', part.a, part.b, part.farad_F);
    else {
      const turn = part.turn ?? 1;
      if (turn < 1) element('R', part.a ?? `${part.id} a`, part.wiper, (1 - turn) * part.ohm);
      if (turn > 0) element('R', part.wiper, part.b ?? `${part.id} b`, turn * part.ohm);
    }
  }
  if (isLoaded && harness.load?.ohm !== undefined) element('R', 'output', harness.output.ground, harness.load.ohm);
  if (isLoaded && harness.load?.farad_F !== undefined) element('C', 'output', harness.output.ground, harness.load.farad_F);
  coils.forEach(({ pickup, at }, index) => {
    const { capacitance_F = 1e-10, loss_ohm } = harness.fitted[pickup]!.assume ?? {};
    const end = (clip: number | null, other: number): string => net(`${pickup} clip ${clip ?? at.ends[other]}`);
    const [plus, minus] = [end(at.plus, 1), end(at.minus, 0)];
    const own = `${prefix}c${index}`;
    lines.push(`R${own} ${plus} ${own}x ${at.ohm_20C ?? at.ohm}`);
    lines.push(`V${own} ${own}x ${own}y dc 0 ac 0`);
    if (at.inductance_H === undefined) lines.push(`V${own}s ${own}y ${minus} dc 0`);
    else lines.push(`L${own} ${own}y ${minus} ${at.inductance_H}`);
    if (loss_ohm !== undefined) lines.push(`Rl${own} ${own}x ${minus} ${loss_ohm}`);
    if (plus !== minus) lines.push(`C${own} ${plus} ${minus} ${capacitance_F}`);
  });
  maps.forEach((map, pickup) => {
    for (const { a, b, mutual_H } of map.pairs) {
      const [i, j] = [a, b].map((coil) => coils.findIndex((one) => one.pickup === pickup && one.at.name === coil)) as [number, number];
      if (mutual_H === undefined || i < 0 || j < 0) continue;
      const k = mutual_H / Math.sqrt(coils[i]!.at.inductance_H * coils[j]!.at.inductance_H);
      lines.push(`K${prefix}p${pickup}q${i}q${j} L${prefix}c${i} L${prefix}c${j} ${k}`);
    }
  });
  return lines;
}
