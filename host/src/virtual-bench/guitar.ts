/**
 * Pickups wired into a guitar, on two clips at its jack: to the bench one large pickup whose coils are named by slot.
 * It shares nothing with what solves harnesses but the meaning of a harness file.
 */
import { CHASSIS_NODE, tapPoint, type Pickup, type PickupCoil, type PickupCoupling, type PickupFault, type PickupTouch } from '../pickup/pickup.ts';

/** A pickup and the nodes that each of its clips' leads is soldered to; none: insulated. */
export interface WiredPickup {
  readonly slot: string;
  readonly pickup: Pickup;
  readonly put: ReadonlyMap<number, readonly string[]>;
}

/** A part of the guitar; a pot as in harness files, `turn` from wiper to b. */
export type GuitarPart =
  | GuitarPot
  | { readonly id: string; readonly kind: 'resistor' | 'capacitor'; readonly a: string; readonly b: string; readonly value: number };

export interface GuitarPot {
  readonly id: string;
  readonly kind: 'pot';
  readonly a: string | null;
  readonly wiper: string;
  readonly b: string | null;
  readonly ohm: number;
  readonly turn: number;
}

export interface GuitarSwitch {
  readonly id: string;
  readonly positions: readonly { readonly name: string; readonly joins: readonly (readonly string[])[] }[];
}

/** All that is between pickups and jack. */
export interface GuitarPlan {
  readonly pickups: readonly WiredPickup[];
  readonly parts: readonly GuitarPart[];
  readonly joins: readonly (readonly string[])[];
  readonly switches: readonly GuitarSwitch[];
  readonly hot: string;
  readonly ground: string;
  /** What a touch at one coil of a slot really meets, by slot: another slot's pickup, where two were exchanged. */
  readonly bodies?: ReadonlyMap<string, string>;
}

/** Clips at the jack. */
export const JACK = { hot: 1, ground: 2 } as const;

/** A lead on a tap, which no other node can stand for, ohms. */
const TAP_LEAD_ohm = 0.05;
/** What is less than this is a joint. */
const JOINT_ohm = 0.01;
/** Touches of each place that are laid out before they repeat. */
const ROUNDS = 8;

/** A guitar as a pickup: made here only, never read from a file. */
export class Guitar implements Pickup {
  readonly format = 'pickup/1';
  readonly temperature_C: number;
  readonly coils: readonly PickupCoil[];
  readonly couplings: readonly PickupCoupling[];
  readonly leads: Pickup['leads'];
  readonly faults: readonly PickupFault[];
  readonly touches: readonly PickupTouch[];
  readonly magnet_readings = false;
  readonly interference: Pickup['interference'];
  /** Between nodes as the coils name them, farads. */
  readonly capacitors: readonly { readonly a: string; readonly b: string; readonly farad_F: number }[];
  private readonly slots = new Map<string, string>();

  /**
   * @param plan - with one pickup or more
   * @param positions - index of the position of each switch
   */
  constructor({ pickups, parts, joins, switches, hot, ground, bodies = new Map() }: GuitarPlan, positions: readonly number[]) {
    const first = pickups[0]?.pickup;
    if (first === undefined) throw new Error('a guitar without a pickup has nothing to listen to');
    this.temperature_C = first.temperature_C;
    this.interference = first.interference;
    const nodes = new Nodes();
    for (const join of [...joins, ...switches.flatMap((one, at) => one.positions[positions[at]!]!.joins)]) nodes.join(join.map(outer));
    const resistors = parts.flatMap(resistorsOf);
    for (const { a, b, ohm } of resistors) if (ohm < JOINT_ohm) nodes.join([outer(a), outer(b)]);
    for (const { slot, pickup, put } of pickups) {
      for (const { clip, node } of pickup.leads) {
        const on = (put.get(clip) ?? []).map(outer);
        if (node === null || on.length === 0) continue;
        nodes.join(on);
        if (tapPoint(node) === null) nodes.join([inner(slot, node), on[0]!]);
      }
    }
    const of = (slot: string, node: string): string => {
      const tap = tapPoint(node);
      return tap === null ? nodes.of(inner(slot, node)) : `${coilId(slot, tap.coil)}@${tap.fraction}`;
    };
    const faults: PickupFault[] = [];
    for (const { a, b, ohm } of resistors)
      if (ohm >= JOINT_ohm) faults.push({ kind: 'bridge', a: nodes.of(outer(a)), b: nodes.of(outer(b)), ohm });
    for (const { slot, pickup, put } of pickups) {
      for (const { clip, node } of pickup.leads) {
        const [on] = put.get(clip) ?? [];
        if (node !== null && on !== undefined && tapPoint(node) !== null)
          faults.push({ kind: 'bridge', a: of(slot, node), b: nodes.of(outer(on)), ohm: TAP_LEAD_ohm });
      }
      faults.push(...pickup.faults.flatMap((fault) => ownFault(fault, slot, (node) => of(slot, node))));
    }
    this.coils = pickups.flatMap(({ slot, pickup }) =>
      pickup.coils.map((coil) => {
        const id = coilId(slot, coil.id);
        this.slots.set(id, slot);
        return { ...coil, id, from: of(slot, coil.from), to: of(slot, coil.to), place: `${slot} ${coil.place}` };
      }));
    this.couplings = pickups.flatMap(({ slot, pickup }) =>
      pickup.couplings.map(({ a, b, k }) => ({ a: coilId(slot, a), b: coilId(slot, b), k })));
    this.leads = [
      { clip: JACK.hot, colour: 'GY', node: nodes.of(outer(hot)) },
      { clip: JACK.ground, colour: 'VT', node: nodes.of(outer(ground)) },
    ];
    this.faults = faults;
    this.capacitors = parts.flatMap((part) => {
      if (part.kind !== 'capacitor') return [];
      const [a, b] = [nodes.of(outer(part.a)), nodes.of(outer(part.b))];
      return a === b ? [] : [{ a, b, farad_F: part.value }];
    });
    this.touches = touchesOf(pickups, bodies);
  }

  /** Whether steel at one coil is near another. */
  isNear(a: string, b: string): boolean {
    return this.slots.get(a) === this.slots.get(b);
  }
}

const outer = (node: string): string => `wire ${node}`;
const inner = (slot: string, node: string): string => `${slot} ${node === CHASSIS_NODE ? 'frame' : `node ${node}`}`;
const coilId = (slot: string, id: string): string => `${slot}: ${id}`;

/** A part's resistances; of a pot both sides of its wiper. */
function resistorsOf(part: GuitarPart): { a: string; b: string; ohm: number }[] {
  if (part.kind === 'capacitor') return [];
  if (part.kind !== 'pot') return [{ a: part.a, b: part.b, ohm: part.value }];
  const { id, a, wiper, b, ohm, turn } = part;
  return [{ a: a ?? `${id} a`, b: wiper, ohm: (1 - turn) * ohm }, { a: wiper, b: b ?? `${id} b`, ohm: turn * ohm }];
}

/** A fault inside a pickup, in the guitar's names; what a test's own clips do is none of the guitar. */
function ownFault(fault: PickupFault, slot: string, of: (node: string) => string): PickupFault[] {
  switch (fault.kind) {
    case 'bridge': return [{ ...fault, a: of(fault.a), b: of(fault.b) }];
    case 'open':
    case 'shorted_turns': return [{ ...fault, coil: coilId(slot, fault.coil) }];
    default: return [];
  }
}

/** For each place of the guitar what the file of the pickup that lies there says of the same ask. */
function touchesOf(pickups: readonly WiredPickup[], bodies: ReadonlyMap<string, string>): PickupTouch[] {
  const touches: PickupTouch[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    for (const { slot, pickup: asked } of pickups) {
      const there = bodies.get(slot) ?? slot;
      const pickup = pickups.find((one) => one.slot === there)?.pickup ?? asked;
      const [places, own] = [asked, pickup].map(({ coils }) => [...new Set(coils.map(({ place }) => place))]) as [string[], string[]];
      places.forEach((_, at) => {
        const place = Math.min(at, own.length - 1);
        const touch = pickup.touches[(round * own.length + place) % Math.max(1, pickup.touches.length)];
        if (touch === undefined) touches.push({ coil: null, flux_Wb: 0, rise_s: 0.01, hold_s: 0.1, fall_s: 0.01 });
        else touches.push({ ...touch, coil: touch.coil === null ? null : coilId(there, touch.coil) });
      });
    }
  }
  return touches;
}

/** Names that stand for one another. */
class Nodes {
  private readonly parent = new Map<string, string>();

  of(node: string): string {
    let at = node;
    for (let up = this.parent.get(at); up !== undefined; up = this.parent.get(at)) at = up;
    return at;
  }

  join([first, ...rest]: readonly string[]): void {
    for (const other of rest) {
      const [a, b] = [this.of(first!), this.of(other)];
      if (a !== b) this.parent.set(b, a);
    }
  }
}
