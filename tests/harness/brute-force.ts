/**
 * A plan by trying everything, written from the file format alone: its own ways, its own circuit (modified nodal analysis
 * with the currents of the coils as unknowns, solved by ml-matrix as a real system of twice the size), its own judgement.
 */
import { LuDecomposition, Matrix } from 'ml-matrix';
import type { Harness } from '../../host/src/harness/harness.ts';
import type { PlainHarness, PlainMap } from './example-harnesses.ts';

/** What a plan's best proposal comes to. */
export interface BruteBest {
  readonly sounds: number;
  readonly out_of_phase: number;
  readonly hum_cancelled: number;
  readonly cost: number;
  readonly tried: number;
}

interface OneWay {
  readonly kind: string;
  readonly coils: readonly string[];
  readonly turned: boolean;
}

/** By clip, the names of the nodes that it is put on. */
type Put = Map<number, string[]>;

interface Choice {
  readonly put: Put;
  readonly cost: number;
  readonly flipped: boolean;
}

const live = (map: PlainMap): PlainMap[] => map.coils.filter((coil: PlainMap) => coil.ohm !== null);
const low = (coil: PlainMap): number => coil.minus ?? coil.ends[0];
const high = (coil: PlainMap): number => coil.plus ?? coil.ends[1];

/** Tries all combinations. Leads that are written out are taken to make a way or to be left alone: see `choicesOf`. */
export function bruteForce(plain: PlainHarness, allowed: ReadonlySet<string>): BruteBest {
  const { harness, maps } = plain;
  const choices = maps.map((_, pickup) => choicesOf(plain, pickup, allowed));
  let combinations: Choice[][] = [[]];
  for (const some of choices) combinations = combinations.flatMap((before) => some.map((one) => [...before, one]));
  const settings = harness.switches.reduce<string[][][]>(
    (all, { positions }) => all.flatMap((joins) => positions.map((one) => [...joins, ...((one.joins ?? []) as string[][])])),
    [[]],
  );
  // A turned magnet leaves the circuit as it is: solved once for each way of putting the leads.
  const puts = choices.map((some) => [...new Set(some.map(({ put }) => put))]);
  const solved = new Map<string, number[]>();
  const sharesOf = (setting: number, combination: readonly Choice[]): number[] => {
    const key = [setting, ...combination.map(({ put }, pickup) => puts[pickup]!.indexOf(put))].join();
    if (!solved.has(key)) solved.set(key, bruteShares(plain, settings[setting]!, combination.map(({ put }) => put)));
    return solved.get(key)!;
  };
  let best: BruteBest | null = null;
  for (const combination of combinations) {
    const found = settings.map((_, setting) => judged(plain, sharesOf(setting, combination), combination));
    const one: BruteBest = {
      sounds: found.filter(({ sounds }) => sounds).length,
      out_of_phase: found.filter(({ phase }) => phase === false).length,
      hum_cancelled: found.filter(({ phase, hum }) => phase === true && hum !== null && hum <= 0.15).length,
      cost: combination.reduce((sum, { cost }) => sum + cost, 0),
      tried: combinations.length,
    };
    if (best === null || key(one) > key(best)) best = one;
  }
  return best!;
}

/** Larger is better; each count is far below 1000. */
function key({ sounds, out_of_phase, hum_cancelled, cost }: BruteBest): number {
  return ((sounds * 1000 + 999 - out_of_phase) * 1000 + hum_cancelled) * 1000 + 999 - cost;
}

function choicesOf({ harness, maps }: PlainHarness, pickup: number, allowed: ReadonlySet<string>): Choice[] {
  const fitted = harness.fitted[pickup]!;
  const slot = harness.slots.find((one) => one.slot === fitted.slot)!;
  const map = maps[pickup]!;
  const fits = waysOf(map).map((way) => ({ way, put: putOf(slot, map, way, true) })).filter(({ put }) => put !== null);
  const stands = fitted.way === undefined
    ? fits[0]!.way
    : { kind: fitted.way.kind, coils: fitted.way.coils, turned: fitted.way.turned ?? false };
  const choices: Choice[] = [{ put: putOf(slot, map, stands, false)!, cost: 0, flipped: false }];
  const sorted = ({ kind, coils }: OneWay): string => (kind === 'parallel' ? [...coils].sort() : coils).join();
  for (const { way, put } of fits) {
    if (way.kind !== stands.kind && !allowed.has('way')) continue;
    const cost = (way.turned === stands.turned ? 0 : 1) + (way.kind !== stands.kind || sorted(way) !== sorted(stands) ? 1 : 0);
    if (cost > 0) choices.push({ put: put!, cost, flipped: false });
  }
  return allowed.has('magnet') ? choices.flatMap((one) => [one, { ...one, cost: one.cost + 5, flipped: true }]) : choices;
}

function waysOf(map: PlainMap): OneWay[] {
  const names = live(map).map(({ name }) => name as string);
  const permute = (left: string[]): string[][] =>
    left.length === 0 ? [[]] : left.flatMap((one) => permute(left.filter((other) => other !== one)).map((rest) => [one, ...rest]));
  const kinds = [
    ...(names.length > 1 ? permute(names).map((coils) => ({ kind: 'series', coils })) : []),
    ...(names.length > 1 ? [{ kind: 'parallel', coils: names }] : []),
    ...names.map((one) => ({ kind: 'alone', coils: [one] })),
  ];
  return [false, true].flatMap((turned) => kinds.map((one) => ({ ...one, turned })));
}

/** Where a way puts every clip; null when it needs a clip twice, or (when it is to fit) takes the frame off ground. */
function putOf(slot: Harness['slots'][number], map: PlainMap, way: OneWay, mustFit: boolean): Put | null {
  const together = (clip: number): number[] => {
    const all = new Set([clip]);
    for (const one of all) for (const group of map.joined) if (group.includes(one)) for (const other of group) all.add(other);
    return [...all];
  };
  const coils = way.coils.map((name) => map.coils.find((coil: PlainMap) => coil.name === name));
  const [start, end] = way.turned ? [slot.hot, slot.ground] : [slot.ground, slot.hot];
  const asked: [number, string][] = [];
  if (way.kind === 'series') {
    const between = coils.slice(1).map((_, at) => (coils.length === 2 && slot.link !== undefined ? slot.link : `own ${slot.slot} ${at}`));
    coils.forEach((coil, at) => {
      asked.push([low(coil), at === 0 ? start : between[at - 1]!], [high(coil), at === coils.length - 1 ? end : between[at]!]);
    });
  } else for (const coil of coils) asked.push([low(coil), start], [high(coil), end]);
  const put: Put = new Map();
  for (const [clip, node] of asked) {
    for (const one of together(clip)) {
      if ((put.get(one) ?? [node])[0] !== node) return null;
      put.set(one, [node]);
    }
  }
  for (const clip of map.chassis) {
    for (const one of together(clip)) if (mustFit && put.has(one) && put.get(one)![0] !== slot.ground) return null;
  }
  for (const clip of map.chassis) put.set(clip, [...(put.get(clip) ?? []), slot.frame]);
  return put;
}

interface Heard {
  readonly coil: PlainMap;
  readonly share: number;
  readonly weight: number;
  readonly flipped: boolean;
}

interface Found {
  readonly sounds: boolean;
  readonly phase: boolean | null;
  readonly hum: number | null;
}

function judged(plain: PlainHarness, shares: readonly number[], combination: readonly Choice[]): Found {
  const coils = plain.maps.flatMap((map, pickup) => live(map).map((coil) => ({ coil, pickup })));
  const byHenry = coils.every(({ coil }) => coil.inductance_H !== undefined);
  const size = coils.map(({ coil }) => (byHenry ? Math.sqrt(coil.inductance_H) : (coil.ohm_20C ?? coil.ohm)));
  const heard = coils.map(({ coil, pickup }, at): Heard => {
    const { flipped } = combination[pickup]!;
    return { coil, share: shares[at]! * (flipped ? -1 : 1), weight: size[at]! / Math.max(...size), flipped };
  }).filter(({ share }) => Math.abs(share) > 0.02);
  if (heard.length === 0) return { sounds: false, phase: null, hum: null };
  const known = heard.filter(({ coil }) => coil.plus !== null);
  const isMissing = known.length < heard.length && (heard.length > 1 || heard[0]!.coil.hidden_junction === true);
  const phase = new Set(known.map(({ share }) => Math.sign(share))).size > 1 ? false : isMissing ? null : true;
  return { sounds: true, phase, hum: isMissing ? null : humOf(plain, heard) };
}

/** The part of the hum that is left, by trying north and south on every coil that the map leaves open. */
function humOf({ maps }: PlainHarness, heard: readonly Heard[]): number | null {
  const all = maps.flatMap((map, pickup) => live(map).map((coil) => ({ coil, pickup })));
  const found = new Set<number>();
  for (let guess = 0; guess < 1 << all.length; guess++) {
    const pole = (coil: PlainMap): number => ((guess >> all.findIndex((one) => one.coil === coil)) & 1 ? 1 : -1);
    const isPossible = all.every(({ coil, pickup }) =>
      (coil.pole === null || pole(coil) === (coil.pole === 'N' ? 1 : -1)) &&
      maps[pickup]!.pairs.every(({ a, b, poles_differ }: PlainMap) => {
        const [one, other] = [a, b].map((name) => live(maps[pickup]!).find((each) => each.name === name));
        if (one === undefined || other === undefined || poles_differ === null || (one.pole !== null && other.pole !== null)) return true;
        return (pole(one) !== pole(other)) === poles_differ;
      }));
    if (!isPossible) continue;
    const size = heard.reduce((sum, { share, weight }) => sum + Math.abs(share) * weight, 0);
    // With the magnet both the touch sense and the pole turn over.
    const left = heard.reduce((sum, { coil, share, weight, flipped }) => sum + share * weight * pole(coil) * (flipped ? -1 : 1), 0);
    found.add(Math.round((Math.abs(left) / size) * 1e9) / 1e9);
  }
  return found.size === 1 ? [...found][0]! : null;
}

/** Real part of every coil's share at 82.41 Hz. */
export function bruteShares({ harness, maps }: PlainHarness, joins: readonly (readonly string[])[], puts: readonly Put[]): number[] {
  const groups: string[][] = [...(harness.joins ?? []), ...joins].map((join) => [...join]);
  puts.forEach((put, pickup) => {
    for (const [clip, nodes] of put) groups.push([`${pickup}.${clip}`, ...nodes]);
    for (const group of maps[pickup]!.joined) groups.push(group.map((clip: number) => `${pickup}.${clip}`));
  });
  for (const part of harness.parts ?? []) {
    if (part.kind !== 'pot') continue;
    if ((part.turn ?? 1) === 1) groups.push([part.a ?? `${part.id}<`, part.wiper]);
    if (part.turn === 0) groups.push([part.b ?? `${part.id}>`, part.wiper]);
  }
  const nets = new Map<string, Set<string>>();
  const net = (node: string): Set<string> => {
    if (!nets.has(node)) nets.set(node, new Set([node]));
    return nets.get(node)!;
  };
  for (const [first, ...rest] of groups) {
    for (const other of rest) {
      const [a, b] = [net(first!), net(other)];
      if (a === b) continue;
      for (const node of b) {
        a.add(node);
        nets.set(node, a);
      }
    }
  }
  const coils = maps.flatMap((map, pickup) => live(map).map((coil) => ({ coil, pickup })));
  const index = new Map<Set<string>, number>([[net(harness.output.ground), -1]]);
  const at = (node: string): number => {
    const own = net(node);
    if (!index.has(own)) index.set(own, index.size - 1);
    return index.get(own)!;
  };
  const hot = at(harness.output.hot);
  if (hot < 0) return coils.map(() => 0);
  const omega = 2 * Math.PI * 82.41;
  const stamps: [number, number, number, number][] = [];
  const branch = (a: string, b: string, re: number, im: number): void => void stamps.push([at(a), at(b), re, im]);
  for (const part of harness.parts ?? []) {
    if (part.kind === 'resistor') branch(part.a, part.b, 1 / part.ohm, 0);
    else if (part.kind === 'capacitor') branch(part.a, part.b, 0, omega * part.farad_F);
    else {
      const turn = part.turn ?? 1;
      if (turn < 1) branch(part.a ?? `${part.id}<`, part.wiper, 1 / ((1 - turn) * part.ohm), 0);
      if (turn > 0) branch(part.wiper, part.b ?? `${part.id}>`, 1 / (turn * part.ohm), 0);
    }
  }
  const { output, load } = harness;
  if (load?.ohm !== undefined) branch(output.hot, output.ground, 1 / load.ohm, 0);
  if (load?.farad_F !== undefined) branch(output.hot, output.ground, 0, omega * load.farad_F);
  // Each coil has a node inside, between its resistance and its inductance.
  const ends = coils.map(({ coil, pickup }, one) => {
    const { capacitance_F = 1e-10, loss_ohm } = harness.fitted[pickup]!.assume ?? {};
    const [plus, minus, inner] = [`${pickup}.${high(coil)}`, `${pickup}.${low(coil)}`, `inside ${one}`];
    branch(plus, inner, 1 / (coil.ohm_20C ?? coil.ohm), 0);
    branch(plus, minus, 0, omega * capacitance_F);
    if (loss_ohm !== undefined) branch(inner, minus, 1 / loss_ohm, 0);
    return [at(inner), at(minus)] as const;
  });
  const nodes = index.size - 1;
  const size = nodes + coils.length;
  const system = Matrix.zeros(2 * size, 2 * size);
  const add = (row: number, column: number, re: number, im: number): void => {
    const [below, beside] = [row + size, column + size];
    for (const [r, c, value] of [[row, column, re], [below, beside, re], [row, beside, -im], [below, column, im]] as const)
      system.set(r, c, system.get(r, c) + value);
  };
  for (const [a, b, re, im] of stamps) {
    if (a >= 0) add(a, a, re, im);
    if (b >= 0) add(b, b, re, im);
    if (a >= 0 && b >= 0) {
      add(a, b, -re, -im);
      add(b, a, -re, -im);
    }
  }
  // What floats is held by a siemens that is nothing beside the rest.
  for (let node = 0; node < nodes; node++) add(node, node, 1e-16, 0);
  ends.forEach(([inner, minus], one) => {
    const row = nodes + one;
    if (inner >= 0) {
      add(inner, row, 1, 0);
      add(row, inner, 1, 0);
    }
    if (minus >= 0) {
      add(minus, row, -1, 0);
      add(row, minus, -1, 0);
    }
    add(row, row, 0, -omega * (coils[one]!.coil.inductance_H ?? 0));
    coils.forEach((other, two) => {
      if (other.pickup !== coils[one]!.pickup || one === two) return;
      const pair = maps[other.pickup]!.pairs.find(({ a, b }: PlainMap) =>
        [a, b].includes(other.coil.name) && [a, b].includes(coils[one]!.coil.name));
      if (pair?.mutual_H !== undefined) add(row, nodes + two, 0, -omega * pair.mutual_H);
    });
  });
  const right = Matrix.zeros(2 * size, coils.length);
  coils.forEach((_, one) => right.set(nodes + one, one, 1));
  const solved = new LuDecomposition(system).solve(right);
  return coils.map((_, one) => solved.get(hot, one));
}
