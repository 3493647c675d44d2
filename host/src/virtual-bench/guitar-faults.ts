/**
 * What goes wrong when a guitar is wired: one thing, drawn by a seed, done to the joints, wires, switches and parts themselves.
 * What it does to the sound is the circuit's business.
 */
import type { GuitarPart, GuitarPlan, GuitarSwitch, WiredPickup } from './guitar.ts';
import type { RandomStream } from './random.ts';

export const GUITAR_FAULTS = [
  'leads exchanged', 'coils exchanged', 'joint open', 'joint bad', 'node on ground', 'lugs bridged', 'coil broken', 'coil shorted',
  'lug exchanged', 'lug off', 'lug one off', 'switch reversed', 'contact dead', 'contact bad', 'leads of two pickups exchanged', 'pickups exchanged',
  'pot lug off', 'pot value', 'pot backwards', 'magnet turned',
] as const;
export type GuitarFaultKind = (typeof GUITAR_FAULTS)[number];

/** A fault that was put into a guitar. */
export interface GuitarFault {
  readonly kind: GuitarFaultKind;
  /** What was done, for the person who rehearses. */
  readonly text: string;
  /** What was taken hold of: slots, clips, nodes, switches, parts, in words of their own. */
  readonly at: readonly (string | number)[];
  readonly plan: GuitarPlan;
}

const SOLDER_BRIDGE_ohm = 0.1;

/** Puts one fault into a guitar; null where this guitar has nothing that could fail so. */
export function putFault(plan: GuitarPlan, kind: GuitarFaultKind, random: RandomStream): GuitarFault | null {
  const pick = <T>(items: readonly T[]): T | null => (items.length === 0 ? null : items[random.below(items.length)]!);
  const done = (text: string, at: readonly (string | number)[], changed: GuitarPlan): GuitarFault => ({ kind, text, at, plan: changed });
  const onPickup = (change: (one: WiredPickup) => GuitarFault | null): GuitarFault | null => {
    const one = pick(plan.pickups);
    return one === null ? null : change(one);
  };
  switch (kind) {
    case 'leads exchanged': return onPickup((one) => {
      const pairs = leadPairs(one);
      const pair = pick(pairs);
      if (pair === null) return null;
      const [a, b] = pair;
      const put = new Map(one.put).set(a, one.put.get(b) ?? []).set(b, one.put.get(a) ?? []);
      return done(`${one.slot}: leads ${a} and ${b} exchanged`, [one.slot, a, b], withPut(plan, one, put));
    });
    case 'coils exchanged': return onPickup((one) => {
      const { coils, leads } = one.pickup;
      if (coils.length !== 2) return null;
      const clipAt = (node: string): number | undefined => leads.find((lead) => lead.node === node)?.clip;
      const ends = coils.map((coil) => [clipAt(coil.from), clipAt(coil.to)]);
      if (ends.flat().some((clip) => clip === undefined) || new Set(ends.flat()).size < 4) return null;
      const put = new Map(one.put);
      for (const side of [0, 1]) {
        const [a, b] = [ends[0]![side]!, ends[1]![side]!];
        put.set(a, one.put.get(b) ?? []).set(b, one.put.get(a) ?? []);
      }
      return done(`${one.slot}: its two coils exchanged`, [one.slot], withPut(plan, one, put));
    });
    case 'joint open': return onPickup((one) => {
      const clip = pick(soldered(one));
      if (clip === null) return null;
      return done(`${one.slot}: no contact at lead ${clip}`, [one.slot, clip], withPut(plan, one, new Map(one.put).set(clip, [])));
    });
    case 'joint bad': return onPickup((one) => {
      const clip = pick(soldered(one));
      if (clip === null) return null;
      const ohm = random.betweenLog(400, 200_000);
      const end = `${one.slot} cold ${clip}`;
      const joint: GuitarPart = { id: end, kind: 'resistor', a: end, b: one.put.get(clip)![0]!, value: ohm };
      const changed = withPut(plan, one, new Map(one.put).set(clip, [end]));
      return done(`${one.slot}: ${ohm.toFixed(0)} ohm at the joint of lead ${clip}`, [one.slot, clip], { ...changed, parts: [...changed.parts, joint] });
    });
    case 'node on ground': {
      const node = pick(nodesOf(plan).filter((name) => name !== plan.ground));
      return node === null ? null : done(`${node} on ground`, [node], bridged(plan, node, plan.ground));
    }
    case 'lugs bridged': {
      const one = pick(plan.switches);
      const nodes = one === null ? [] : lugsOf(one);
      const a = pick(nodes);
      const b = pick(nodes.filter((node) => node !== a));
      return a === null || b === null ? null : done(`${a} and ${b} bridged`, [a, b].sort(), bridged(plan, a, b));
    }
    case 'coil broken':
    case 'coil shorted': return onPickup((one) => {
      const { pickup } = one;
      const coil = pick(pickup.coils)!;
      const fault = kind === 'coil broken'
        ? { kind: 'open' as const, coil: coil.id }
        : { kind: 'bridge' as const, a: coil.from, b: coil.to, ohm: SOLDER_BRIDGE_ohm };
      const spoilt = { ...one, pickup: { ...pickup, faults: [...pickup.faults, fault] } };
      return done(`${one.slot}: ${coil.id} ${kind === 'coil broken' ? 'broken' : 'shorted'}`, [one.slot, coil.id], withOne(plan, one, spoilt));
    });
    case 'magnet turned': return onPickup((one) => {
      const coils = one.pickup.coils.map((coil) => ({ ...coil, pole: coil.pole === 'N' ? 'S' as const : 'N' as const }));
      return done(`${one.slot}: magnet turned over`, [one.slot], withOne(plan, one, { ...one, pickup: { ...one.pickup, coils } }));
    });
    case 'lug exchanged': {
      const one = pick(plan.switches);
      const nodes = one === null ? [] : lugsOf(one);
      const a = pick(nodes);
      const b = pick(nodes.filter((node) => node !== a));
      if (one === null || a === null || b === null) return null;
      const swap = (node: string): string => (node === a ? b : node === b ? a : node);
      return done(`${one.id}: wires of ${a} and ${b} exchanged`, [one.id, ...[a, b].sort()], onSwitch(plan, one, (joins) => joins.map((join) => join.map(swap))));
    }
    case 'lug off': {
      const one = pick(plan.switches);
      const node = one === null ? null : pick(lugsOf(one));
      if (one === null || node === null) return null;
      return done(`${one.id}: wire of ${node} off`, [one.id, node], onSwitch(plan, one, (joins) => without(joins, node)));
    }
    case 'contact dead': {
      const one = pick(plan.switches);
      const node = one === null ? null : pick(lugsOf(one));
      if (one === null || node === null || one.positions.length < 2) return null;
      const where = pick(one.positions.flatMap(({ joins }, at) => (joins.flat().includes(node) ? [at] : [])))!;
      return done(`${one.id}: no contact to ${node} in ${one.positions[where]!.name}`, [one.id, node, one.positions[where]!.name],
        onSwitch(plan, one, (joins, at) => (at === where ? without(joins, node) : joins)));
    }
    case 'contact bad': {
      const one = pick(plan.switches.filter(({ positions }) => positions.length > 1));
      const node = one === null ? null : pick(lugsOf(one));
      if (one === null || node === null) return null;
      const where = pick(one.positions.flatMap(({ joins }, at) => (joins.flat().includes(node) ? [at] : [])))!;
      const ohm = random.betweenLog(30, 20_000);
      const behind = `${one.id} worn ${node}`;
      const worn: GuitarPart = { id: behind, kind: 'resistor', a: node, b: behind, value: ohm };
      const { name, joins: sound } = one.positions[where]!;
      const join = sound.find((some) => some.includes(node))!;
      const same = join.length === 2 ? join.find((other) => other !== node)! : node;
      const changed = onSwitch(plan, one, (joins, at) =>
        (at === where ? joins.map((some) => (some === join ? some.map((other) => (other === node ? behind : other)) : some)) : joins));
      return done(`${one.id}: ${ohm.toFixed(0)} ohm at the contact to ${node} in ${name}`, [one.id, node, name, same],
        { ...changed, parts: [...changed.parts, worn] });
    }
    case 'lug one off': {
      const one = pick(plan.switches);
      const pole = one === null ? null : poleOf(one);
      const node = one === null ? null : pick(lugsOf(one).filter((name) => name !== pole));
      if (one === null || pole === null || node === null || one.positions.length < 2) return null;
      const step = random.below(2) === 0 ? 1 : -1;
      const partner = (join: readonly string[]): string => (join.includes(pole) ? pole : join.find((name) => name !== node)!);
      const partners = (at: number): string[] => (one.positions[at]?.joins ?? []).filter((join) => join.includes(node)).map(partner);
      return done(`${one.id}: wire of ${node} one lug ${step > 0 ? 'late' : 'early'}`, [one.id, node, step],
        onSwitch(plan, one, (joins, at) => [...without(joins, node), ...partners(at - step).map((other) => [node, other])]));
    }
    case 'switch reversed': {
      const one = pick(plan.switches.filter(({ positions }) => positions.length > 1));
      if (one === null) return null;
      const { length } = one.positions;
      return done(`${one.id} end for end`, [one.id], onSwitch(plan, one, (_, at) => one.positions[length - 1 - at]!.joins));
    }
    case 'leads of two pickups exchanged':
    case 'pickups exchanged': {
      const [a, b] = [pick(plan.pickups), pick(plan.pickups)];
      if (a === null || b === null || a === b || a.pickup.leads.length !== b.pickup.leads.length) return null;
      // Each is wired as it would be at home, in the other's slot; that needs leads of the same meaning.
      const moved = exchangedPuts(a, b);
      if (moved === null) return null;
      const pickups = plan.pickups.map((one) => (one === a ? { ...a, put: moved[0] } : one === b ? { ...b, put: moved[1] } : one));
      const bodies = kind === 'pickups exchanged' ? { bodies: new Map([[a.slot, b.slot], [b.slot, a.slot]]) } : {};
      return done(`${a.slot} and ${b.slot}: ${kind}`, [a.slot, b.slot].sort(), { ...plan, ...bodies, pickups });
    }
    case 'pot lug off': {
      const pot = pick(plan.parts.filter((part) => part.kind === 'pot'));
      const lug = pot === null ? null : pick((['a', 'wiper', 'b'] as const).filter((key) => pot[key] !== null));
      if (pot === null || lug === null) return null;
      const node = pot[lug]!;
      return done(`${pot.id}: lug at ${node} off`, [pot.id, lug], withPart(plan, pot, { ...pot, [lug]: lug === 'wiper' ? `${pot.id} loose` : null }));
    }
    case 'pot value': {
      const pot = pick(plan.parts.filter((part) => part.kind === 'pot'));
      if (pot === null) return null;
      const factor = random.below(2) === 0 ? 0.5 : 2;
      return done(`${pot.id}: ${(pot.ohm * factor).toFixed(0)} ohm`, [pot.id, factor], withPart(plan, pot, { ...pot, ohm: pot.ohm * factor }));
    }
    case 'pot backwards': {
      const pot = pick(plan.parts.filter((part) => part.kind === 'pot'));
      if (pot === null) return null;
      return done(`${pot.id}: outer lugs exchanged`, [pot.id], withPart(plan, pot, { ...pot, a: pot.b, b: pot.a }));
    }
  }
}

/** The two pickups' leads, each where the lead of the same number of the other goes; null where that would mean something else. */
function exchangedPuts(a: WiredPickup, b: WiredPickup): [WiredPickup['put'], WiredPickup['put']] | null {
  const role = (one: WiredPickup, node: string): string => node.replaceAll(one.slot, '*');
  const home = (one: WiredPickup, other: WiredPickup): WiredPickup['put'] =>
    new Map([...one.put].map(([clip, nodes]) => [clip, nodes.map((node) => role(one, node).replaceAll('*', other.slot))]));
  const rolesOf = (one: WiredPickup): Set<string> => new Set([...one.put.values()].flat().map((node) => role(one, node)));
  const [roles, theirs] = [rolesOf(a), rolesOf(b)];
  const isAlike = roles.size === theirs.size && [...roles].every((name) => theirs.has(name));
  return isAlike ? [home(a, b), home(b, a)] : null;
}

function leadPairs({ pickup, put }: WiredPickup): [number, number][] {
  const clips = pickup.leads.map(({ clip }) => clip);
  const key = (clip: number): string => String(put.get(clip) ?? []);
  const nodeOf = (clip: number): string | null => pickup.leads.find((lead) => lead.clip === clip)!.node;
  return clips.flatMap((a, at) =>
    clips.slice(at + 1).filter((b) => key(a) !== key(b) && nodeOf(a) !== nodeOf(b)).map((b): [number, number] => [a, b]));
}

function soldered({ pickup, put }: WiredPickup): number[] {
  return pickup.leads.map(({ clip }) => clip).filter((clip) => (put.get(clip) ?? []).length > 0);
}

function nodesOf({ pickups, parts, joins, switches, hot }: GuitarPlan): string[] {
  const ends = parts.flatMap((part) => (part.kind === 'pot' ? [part.a, part.wiper, part.b] : [part.a, part.b]));
  const all = [...pickups.flatMap(({ put }) => [...put.values()].flat()), ...ends, ...joins.flat(), ...switches.flatMap(lugsOf), hot];
  return [...new Set(all.filter((node) => node !== null))];
}

function lugsOf({ positions }: GuitarSwitch): string[] {
  return [...new Set(positions.flatMap(({ joins }) => joins.flat()))];
}

/** The node that most positions of a switch name. */
function poleOf(one: GuitarSwitch): string | null {
  const count = (node: string): number => one.positions.filter(({ joins }) => joins.flat().includes(node)).length;
  const nodes = lugsOf(one);
  return nodes.length === 0 ? null : nodes.reduce((best, node) => (count(node) > count(best) ? node : best));
}

function without(joins: readonly (readonly string[])[], node: string): string[][] {
  return joins.map((join) => join.filter((other) => other !== node)).filter((join) => join.length > 1);
}

function withPut(plan: GuitarPlan, one: WiredPickup, put: WiredPickup['put']): GuitarPlan {
  return withOne(plan, one, { ...one, put });
}

function withOne(plan: GuitarPlan, one: WiredPickup, changed: WiredPickup): GuitarPlan {
  return { ...plan, pickups: plan.pickups.map((other) => (other === one ? changed : other)) };
}

function withPart(plan: GuitarPlan, part: GuitarPart, changed: GuitarPart): GuitarPlan {
  return { ...plan, parts: plan.parts.map((other) => (other === part ? changed : other)) };
}

function bridged(plan: GuitarPlan, a: string, b: string): GuitarPlan {
  return { ...plan, parts: [...plan.parts, { id: `bridge ${a} ${b}`, kind: 'resistor', a, b, value: SOLDER_BRIDGE_ohm }] };
}

type Joins = readonly (readonly string[])[];

function onSwitch(plan: GuitarPlan, one: GuitarSwitch, change: (joins: Joins, at: number) => Joins): GuitarPlan {
  const changed = { ...one, positions: one.positions.map(({ name, joins }, at) => ({ name, joins: change(joins, at) })) };
  return { ...plan, switches: plan.switches.map((other) => (other === one ? changed : other)) };
}
