/**
 * Single faults of a wired harness: what may be soldered wrong, broken or bridged, each as the harness as it would then be.
 * Nothing here says what a fault does; the solved circuit does.
 */
import type { FittedPickup } from '../harness/fitted-pickup.ts';
import { settingsOf, type Harness, type Join, type Part, type Slot, type Switch } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { NodeNames } from '../harness/node-names.ts';
import { groupOf, wayInWords } from '../harness/ways.ts';
import { leadInWords, listInWords } from '../wiremap/lead-words.ts';
import { BROKEN_ohm, publicPlacement, withHarness, withPickup } from './wired.ts';

export const FAULT_KINDS = [
  'leads_exchanged', 'coil_order', 'turned_over', 'other_way', 'pickups_exchanged', 'open_joint', 'bad_joint', 'bridge',
  'switch', 'broken_coil', 'shorted_coil', 'part', 'output',
] as const;
export type FaultKind = (typeof FAULT_KINDS)[number];

/** A harness with a fault in it. */
export interface Model {
  readonly wired: LoadedHarness;
  /** Two pickups of which each sits in the other's place: steel at the one's slot drives the other. */
  readonly swapped: readonly [number, number] | null;
}

/** A single fault. */
export interface Fault {
  /** Of its own among all of a harness. */
  readonly id: string;
  readonly kind: FaultKind;
  /** What is wrong, a clause: `the leads ... of front are exchanged`. */
  readonly text: string;
  /** What to do about it, a clause: `exchange them`. */
  readonly cure: string;
  readonly model: Model;
}

/** A fault of unknown size: a joint, or a contact of a switch, that lets little through. */
export interface JointFault extends Omit<Fault, 'model' | 'text'> {
  /** Settings that it can show in, by index; null for any. */
  readonly settings: ReadonlySet<number> | null;
  text(ohm: number): string;
  model(ohm: number): Model;
}

const RESOLDER = 'solder it again';

/** Every single fault that is tried, without those of unknown size. @param wired - as `wiredOf` gives it */
export function singleFaults(wired: LoadedHarness): Fault[] {
  return [...new FaultList(wired).all()];
}

/** Joints of leads that may be bad without being open. */
export function jointFaults(wired: LoadedHarness): JointFault[] {
  return wired.pickups.flatMap((pickup, at) =>
    placedClips(pickup).map((clip): JointFault => {
      const end = `${pickup.slot.slot} joint of clip ${clip}`;
      return {
        id: `bad joint ${pickup.slot.slot} ${clip}`,
        kind: 'bad_joint',
        settings: null,
        text: (ohm) => `the joint of ${leadOf(pickup, clip)} is bad: about ${roughly(ohm)} ohm stand in it`,
        cure: RESOLDER,
        model: (ohm) => {
          const [first, ...rest] = pickup.placement.get(clip)!;
          const part: Part = { id: end, kind: 'resistor', a: end, b: first!, ohm };
          const behind = withHarness(wired, (harness) => ({ ...harness, parts: [...(harness.parts ?? []), part] }));
          const moved = withPickup(behind, at, (one) => ({ ...one, placement: new Map(one.placement).set(clip, [end, ...rest]) }));
          return { wired: moved, swapped: null };
        },
      };
    }));
}

/** Contacts of switches that may be bad without being open, each in one position. */
export function contactFaults(wired: LoadedHarness): JointFault[] {
  const settings = settingsOf(wired.harness);
  return wired.harness.switches.flatMap((one, at) => {
    const { id, positions } = one;
    if (positions.length < 2) return [];
    return positions.flatMap(({ name, joins = [] }, position) =>
      contactsOf(one, joins, wired.harness.output.ground).map(({ node, on }): JointFault => {
        const behind = `${id} contact of ${node}`;
        const moved = (join: Join): Join => (join === on ? join.map((other) => (other === node ? behind : other)) : join);
        return {
          id: `bad contact ${id} ${node} ${name}`,
          kind: 'switch',
          settings: new Set(settings.flatMap((chosen, setting) => (chosen[at] === position ? [setting] : []))),
          text: (ohm) => `the switch ${id} makes bad contact to ${node} in position ${name}: about ${roughly(ohm)} ohm stand in it`,
          cure: 'clean or change the switch',
          model: (ohm) => {
            const part: Part = { id: behind, kind: 'resistor', a: node, b: behind, ohm };
            const spoilt: Switch = {
              id, positions: positions.map((other, index) => (index === position ? { name, joins: joins.map(moved) } : other)),
            };
            const switches = wired.harness.switches.map((other, index) => (index === at ? spoilt : other));
            const parts = [...(wired.harness.parts ?? []), part];
            return { wired: withHarness(wired, (harness) => ({ ...harness, switches, parts })), swapped: null };
          },
        };
      }));
  });
}

/** Nodes of a position that have a contact of their own: of two that are joined not ground, and else the one that fewer positions name. */
function contactsOf(one: Switch, joins: readonly Join[], ground: string): { readonly node: string; readonly on: Join }[] {
  return joins.flatMap((on) => {
    const [a, b] = on as [string, string];
    if (on.length !== 2) return on.map((node) => ({ node, on }));
    const isSecond = a === ground || (b !== ground && positionsNaming(one, a) > positionsNaming(one, b));
    return [{ node: isSecond ? b : a, on }];
  });
}

/** How many positions of a switch name a node. */
function positionsNaming({ positions }: Switch, node: string): number {
  return positions.filter(({ joins }) => (joins ?? []).flat().includes(node)).length;
}

const roughly = (ohm: number): string => Number(ohm.toPrecision(1)).toLocaleString('en');

/** Clips of which the lead is on some node. */
export function placedClips({ leads, placement }: FittedPickup): number[] {
  return leads.clips.filter((clip) => (placement.get(clip) ?? []).length > 0);
}

function leadOf({ slot, colours }: FittedPickup, clip: number): string {
  return `${slot.slot} ${leadInWords(clip, colours)}`;
}

class FaultList {
  private readonly wired: LoadedHarness;
  private readonly names: NodeNames;

  constructor(wired: LoadedHarness) {
    this.wired = wired;
    this.names = new NodeNames(wired.harness);
  }

  *all(): Generator<Fault> {
    for (const [at, pickup] of this.wired.pickups.entries()) {
      yield* this.exchanges(at, pickup);
      yield* this.coilsExchanged(at, pickup);
      yield* this.ways(at, pickup);
      yield* this.openJoints(at, pickup);
      yield* this.coils(at, pickup);
    }
    yield* this.pickupsExchanged();
    for (const [at, one] of this.wired.harness.switches.entries()) yield* this.switches(at, one);
    yield* this.bridges();
    for (const [at, part] of (this.wired.harness.parts ?? []).entries()) yield* this.parts(at, part);
    yield* this.wires();
    yield* this.output();
  }

  private fault(kind: FaultKind, id: string, text: string, cure: string, wired: LoadedHarness, swapped: Model['swapped'] = null): Fault {
    return { id, kind, text, cure, model: { wired, swapped } };
  }

  private *exchanges(at: number, pickup: FittedPickup): Generator<Fault> {
    const { leads, placement, slot: { slot }, colours } = pickup;
    for (const [index, a] of leads.clips.entries()) {
      for (const b of leads.clips.slice(index + 1)) {
        const [onA, onB] = [placement.get(a) ?? [], placement.get(b) ?? []];
        if (groupOf(leads, a) === groupOf(leads, b) || String(onA) === String(onB)) continue;
        const changed = withPickup(this.wired, at, (one) => ({ ...one, placement: new Map(placement).set(a, onB).set(b, onA) }));
        yield this.fault('leads_exchanged', `exchange ${slot} ${a} ${b}`, `two leads of ${slot} are exchanged: ${leadInWords(a, colours)} with ${leadInWords(b, colours)}`,
          'exchange them', changed);
      }
    }
  }

  /** Two coils of a pickup, each where the other belongs, plus staying plus. */
  private *coilsExchanged(at: number, { slot: { slot }, leads, placement }: FittedPickup): Generator<Fault> {
    for (const [index, a] of leads.coils.entries()) {
      for (const b of leads.coils.slice(index + 1)) {
        const ends = [a.minus, a.plus, b.minus, b.plus].map((clip) => groupOf(leads, clip));
        if (new Set(ends).size < 4) continue;
        const moved = new Map(placement);
        for (const [one, other] of [[a.minus, b.minus], [a.plus, b.plus]] as const)
          moved.set(one, placement.get(other) ?? []).set(other, placement.get(one) ?? []);
        const changed = withPickup(this.wired, at, (pickup) => ({ ...pickup, placement: moved }));
        yield this.fault('coil_order', `coils ${slot} ${a.name} ${b.name}`, `${a.name} and ${b.name} of ${slot} are each where the other belongs (a split keeps the wrong one)`,
          'exchange the two coils, plus stays plus', changed);
      }
    }
  }

  /** The same coils wired in another way, or turned over as they are. */
  private *ways(at: number, { slot, fitting, way, leads, coils }: FittedPickup): Generator<Fault> {
    const { slot: name } = slot;
    const over = withPickup(this.wired, at, (one) => ({
      ...one, leads: { ...leads, coils: leads.coils.map((coil) => ({ ...coil, minus: coil.plus, plus: coil.minus })) },
    }));
    yield this.fault('turned_over', `over ${name}`, `all touches of ${name} turn over: its magnet is the other way round, or another pickup lies there than its wire map says`,
      'hold a compass to it, and test it by itself', over);
    if (way === null) return;
    for (const other of fitting) {
      if (JSON.stringify(other.way) === JSON.stringify(way)) continue;
      const changed = withPickup(this.wired, at, (one) => ({ ...one, placement: publicPlacement(name, other.placement) }));
      const is = `${name} is wired as ${wayInWords(other.way, coils)}, in place of ${wayInWords(way, coils)}`;
      const id = `way ${name} ${other.way.kind} ${other.way.coils.join(' ')}${other.way.turned === true ? ' turned' : ''}`;
      yield this.fault('other_way', id, is, 'solder it as the list says', changed);
    }
  }

  private *openJoints(at: number, pickup: FittedPickup): Generator<Fault> {
    const { placement, slot: { slot } } = pickup;
    for (const clip of placedClips(pickup)) {
      const changed = withPickup(this.wired, at, (one) => ({ ...one, placement: new Map(placement).set(clip, []) }));
      yield this.fault('open_joint', `open ${slot} ${clip}`, `${leadOf(pickup, clip)} has no contact at its joint`, RESOLDER, changed);
    }
  }

  private *coils(at: number, { slot: { slot }, coils, leads, bank }: FittedPickup): Generator<Fault> {
    for (const [index, { name, place }] of coils.entries()) {
      const coil = `${name}${place === null ? '' : ` (${place})`} of ${slot}`;
      const broken = withPickup(this.wired, at, (one) => ({
        ...one, bank: { ...bank, coils: bank.coils.map((some, which) => (which === index ? { ...some, ohm: BROKEN_ohm } : some)) },
      }));
      yield this.fault('broken_coil', `broken ${slot} ${name}`, `the winding of ${coil} is broken`, 'lift its leads and measure it by itself', broken);
      const { minus, plus } = leads.coils[index]!;
      const shorted = withPickup(this.wired, at, (one) => ({ ...one, leads: { ...leads, joined: [...leads.joined, [minus, plus]] } }));
      yield this.fault('shorted_coil', `shorted ${slot} ${name}`, `${coil} is shorted, its two leads touch`, 'look where its leads touch one another', shorted);
    }
  }

  private *pickupsExchanged(): Generator<Fault> {
    const { pickups } = this.wired;
    const all = new Set(this.names.all());
    for (const [i, a] of pickups.entries()) {
      for (const [j, b] of pickups.entries()) {
        if (j <= i) continue;
        const half = withPickup(this.wired, i, (one) => ({ ...one, placement: toSlot(a, b.slot, all) }));
        const moved = withPickup(half, j, (one) => ({ ...one, placement: toSlot(b, a.slot, all) }));
        const both = listInWords([a.slot.slot, b.slot.slot]);
        yield this.fault('pickups_exchanged', `leads of ${a.slot.slot} and ${b.slot.slot}`, `the leads of ${both} are each soldered where those of the other belong`,
          'exchange the leads of the two pickups', moved);
        yield this.fault('pickups_exchanged', `bodies of ${a.slot.slot} and ${b.slot.slot}`, `the pickups of ${both} sit in each other's place`,
          'exchange the pickups', moved, [i, j]);
      }
    }
  }

  private withSwitch(at: number, change: (one: Switch) => Switch): LoadedHarness {
    return withHarness(this.wired, (harness) => ({
      ...harness, switches: harness.switches.map((one, index) => (index === at ? change(one) : one)),
    }));
  }

  private *switches(at: number, one: Switch): Generator<Fault> {
    const { id, positions } = one;
    const joinsAt = (index: number): readonly Join[] => positions[index]?.joins ?? [];
    const withJoins = (joins: (index: number) => readonly Join[]): LoadedHarness =>
      this.withSwitch(at, () => ({ id, positions: positions.map(({ name }, index) => ({ name, joins: joins(index) })) }));
    const last = positions.length - 1;
    if (last > 0) {
      yield this.fault('switch', `reversed ${id}`, `the switch ${id} works the wrong way round`, 'turn the switch over, or its wires end for end', withJoins((index) => joinsAt(last - index)));
    }
    if (last > 1) {
      for (const step of [1, -1]) {
        yield this.fault('switch', `shifted ${id} ${step}`, `all lugs of the switch ${id} are one off: each position does what the ${step > 0 ? 'next' : 'one before'} should`,
          'move its wires by one lug', withJoins((index) => joinsAt(index + step)));
      }
    }
    const nodes = [...new Set(positions.flatMap(({ joins }) => (joins ?? []).flat()))];
    for (const node of nodes) {
      const without = (index: number): Join[] => joinsAt(index).map((join) => join.filter((other) => other !== node));
      yield this.fault('switch', `off ${id} ${node}`, `the wire of ${node} is off its lug at the switch ${id}`, RESOLDER, withJoins(without));
      for (const step of [1, -1]) {
        const coming = (index: number): Join[] =>
          joinsAt(index - step).filter((join) => join.includes(node)).map((join) => [node, poleOf(one, node, join)]);
        const moved = (index: number): Join[] => [...without(index), ...coming(index)];
        if (last > 0) {
          yield this.fault('switch', `lug ${id} ${node} ${step}`, `the wire of ${node} is one lug off at the switch ${id}: it comes one position ${step > 0 ? 'late' : 'early'}`,
            'move it by one lug', withJoins(moved));
        }
      }
      for (const [index, { name }] of positions.entries()) {
        if (last === 0 || !joinsAt(index).some((join) => join.includes(node))) continue;
        yield this.fault('switch', `contact ${id} ${node} ${name}`, `the switch ${id} makes no contact to ${node} in position ${name}`,
          'clean or change the switch', withJoins((where) => (where === index ? without(where) : joinsAt(where))));
      }
      for (const other of nodes.slice(nodes.indexOf(node) + 1)) {
        const swap = (name: string): string => (name === node ? other : name === other ? node : name);
        yield this.fault('switch', `swap ${id} ${node} ${other}`, `the wires of ${node} and ${other} are exchanged at the switch ${id}`, 'exchange them',
          withJoins((index) => joinsAt(index).map((join) => join.map(swap))));
      }
    }
  }

  /** Two nodes that touch: each with ground, lugs of one switch, ends of one slot. */
  private *bridges(): Generator<Fault> {
    const { harness } = this.wired;
    const { ground } = harness.output;
    const pairs = new Map<string, readonly [string, string]>();
    const add = (a: string, b: string): void => {
      const [one, other] = [a, b].map((node) => this.names.root(node)).sort() as [string, string];
      if (one !== other && !pairs.has(`${one}\n${other}`)) pairs.set(`${one}\n${other}`, [a, b]);
    };
    for (const node of this.names.all()) add(node, ground);
    for (const { hot, link } of harness.slots) if (link !== undefined) add(hot, link);
    for (const { positions } of harness.switches) {
      const nodes = [...new Set(positions.flatMap(({ joins }) => (joins ?? []).flat()))];
      for (const [at, a] of nodes.entries()) for (const b of nodes.slice(at + 1)) add(a, b);
    }
    for (const [a, b] of pairs.values()) {
      const changed = withHarness(this.wired, (one) => ({ ...one, joins: [...(one.joins ?? []), [a, b]] }));
      const text = b === ground ? `${a} touches ground (${ground})` : `${a} and ${b} touch one another`;
      yield this.fault('bridge', `bridge ${a} ${b}`, text, 'look for solder, wire or shield that bridges them', changed);
    }
  }

  private *parts(at: number, part: Part): Generator<Fault> {
    const changed = (change: (part: Part) => Part): LoadedHarness =>
      withHarness(this.wired, (harness) => ({ ...harness, parts: harness.parts!.map((one, index) => (index === at ? change(one) : one)) }));
    const { id } = part;
    if (part.kind !== 'pot') {
      const bridged = withHarness(this.wired, (harness) => ({ ...harness, joins: [...(harness.joins ?? []), [part.a, part.b]] }));
      yield this.fault('part', `shorted ${id}`, `${id} is shorted`, 'lift one of its ends and measure it', bridged);
      const open = withHarness(this.wired, (harness) => ({ ...harness, parts: harness.parts!.filter((_, index) => index !== at) }));
      yield this.fault('part', `open ${id}`, `${id} is open or off at one end`, RESOLDER, open);
      return;
    }
    const pot = (change: Partial<typeof part>): LoadedHarness => changed((one) => ({ ...one, ...change }) as Part);
    const { a, wiper, b, ohm } = part;
    for (const [key, node] of [['a', a], ['b', b]] as const) {
      if (node !== null) yield this.fault('part', `lug ${id} ${key}`, `the lug of ${id} at ${node} has no contact`, RESOLDER, pot({ [key]: null }));
    }
    yield this.fault('part', `lug ${id} wiper`, `the wiper of ${id} has no contact`, RESOLDER, pot({ wiper: `${id} wiper` }));
    for (const factor of [0.5, 2]) {
      yield this.fault('part', `value ${id} ${factor}`, `${id} is a pot of ${inKilo(ohm * factor)} in place of ${inKilo(ohm)}`, 'read what is printed on it', pot({ ohm: ohm * factor }));
    }
    yield this.fault('part', `outer ${id}`, `the two outer lugs of ${id} are exchanged, so that it works backwards`, 'exchange them', pot({ a: b, b: a }));
    for (const [key, node] of [['a', a], ['b', b]] as const) {
      if (node !== null) yield this.fault('part', `wiper ${id} ${key}`, `the wiper of ${id} and its lug at ${node} are exchanged`, 'exchange them', pot({ wiper: node, [key]: wiper }));
    }
  }

  /** Wires of the harness itself. */
  private *wires(): Generator<Fault> {
    const joins = (this.wired.harness.joins ?? []).filter((join) => new Set(join).size > 1);
    for (const join of joins) {
      for (const node of join) {
        if (join.length === 2 && node === join[1]) continue;
        const rest = join.filter((other) => other !== node);
        const off = (other: Join): Join => (other === join ? [...rest, rest[0]!] : other);
        const changed = withHarness(this.wired, (one) => ({ ...one, joins: (one.joins ?? []).map(off) }));
        yield this.fault('open_joint', `wire ${node} ${rest.join(' ')}`, `the wire from ${node} to ${listInWords(rest)} has no contact`, RESOLDER, changed);
      }
    }
  }

  private *output(): Generator<Fault> {
    const { hot, ground } = this.wired.harness.output;
    const to = (output: Harness['output'], nodes: Join): LoadedHarness =>
      withHarness(this.wired, (harness) => ({ ...harness, output, joins: [...(harness.joins ?? []), nodes] }));
    yield this.fault('output', 'jack exchanged', 'hot and ground are exchanged at the jack, or the two clips at it', 'exchange them', to({ hot: ground, ground: hot }, [hot, hot]));
    yield this.fault('output', 'jack open', 'the jack has no contact', 'look at its two wires', to({ hot: 'the jack', ground }, ['the jack', 'the jack']));
  }
}

/** What a node is switched to: among those of its join, the one that most positions of the switch name. */
function poleOf(one: Switch, node: string, join: Join): string {
  const [first = node, ...others] = join.filter((other) => other !== node);
  return others.reduce((best, other) => (positionsNaming(one, other) > positionsNaming(one, best) ? other : best), first);
}

/** A pickup's leads where they would go in another slot. */
function toSlot({ slot, placement }: FittedPickup, other: Slot, all: ReadonlySet<string>): FittedPickup['placement'] {
  const roles = (['frame', 'ground', 'link', 'hot'] as const).flatMap((role): [string, string][] =>
    slot[role] === undefined ? [] : [[slot[role], other[role] ?? `${other.slot} joint of ${slot.slot}`]]);
  const nodes = new Map(roles);
  // Nodes of a slot beyond its own four are named alike, where they have twins: `front.2` and `rear.2`.
  const twin = (node: string): string => {
    const name = `${other.slot}${node.slice(slot.slot.length)}`;
    return node.startsWith(slot.slot) && all.has(name) ? name : node;
  };
  return new Map([...placement].map(([clip, some]) => [clip, some.map((node) => nodes.get(node) ?? twin(node))]));
}

function inKilo(ohm: number): string {
  return `${Number((ohm / 1000).toPrecision(3))} k`;
}
