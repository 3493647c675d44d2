/**
 * A harness with its pickups as something that can be changed joint by joint: every node has a public name, so that a fault may
 * take hold of it, and what is read at the jack is predicted for it as it then is.
 */
import { blockAt, Circuit, type Wiring } from '../harness/circuit.ts';
import type { FittedPickup } from '../harness/fitted-pickup.ts';
import type { Harness } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { NodeNames } from '../harness/node-names.ts';
import { isOwnNode, type Placement } from '../harness/ways.ts';

/** A lead of a pickup. */
export interface Lead {
  readonly pickup: number;
  readonly clip: number;
}

/** What one reading is of: a setting, leads that are lifted meanwhile, and where the two clips are. */
export interface Probe {
  readonly setting: number;
  readonly lifted: readonly Lead[];
  /** Nodes of the harness or names that `leadNode` gives; null: hot and ground of the output. */
  readonly between: { readonly plus: string; readonly minus: string } | null;
  /** Where an inductance was read: the angular frequency that says the same of a circuit; left out or null where none was. */
  readonly omega?: number | null;
}

/** What a harness would show at a probe. */
export interface Prediction {
  /** Null without a path. */
  readonly ohm: number | null;
  /**
   * By pickup and coil: the flux at the clips, plus against minus, for one weber that lifts the coil's plus. A pulse's integral
   * comes through a linear network as a steady voltage does, so that capacitors have no part in it.
   */
  readonly shares: readonly Float64Array[];
  /** Inductance that a tester would read, henries; null where none is asked for, or nothing can be said. */
  readonly inductance: PredictedInductance | null;
  /** By pot: change of ln(ohm) for a small change of ln(ohm of the pot); empty unless asked for. */
  readonly potSlopes: readonly number[];
}

/** An inductance behind controls. */
export interface PredictedInductance {
  readonly henry_H: number;
  /** The same as if no capacitor were there: what they take off is known the worse, the more it is. */
  readonly still_H: number;
}

/** A path of more ohms than this is none: windings that are broken have it. */
const NO_PATH_ohm = 1e10;
/** A broken winding, ohms. */
export const BROKEN_ohm = 1e13;
/** Step of a pot's logarithm for its slope. */
const POT_STEP = 0.02;

/** The node that a lifted lead is, as records name it. */
export function leadNode(slot: string, clip: number): string {
  return `${slot} clip ${clip}`;
}

/** A harness whose nodes all have names that the file could hold. */
export function wiredOf({ harness, pickups }: LoadedHarness): LoadedHarness {
  // Named once more, a node stays one when a fault takes everything off it.
  const named = new NodeNames(harness).all().map((node) => [node, node]);
  return withNodes({
    harness: { ...harness, joins: [...(harness.joins ?? []), ...named] },
    pickups: pickups.map((pickup) => ({ ...pickup, placement: publicPlacement(pickup.slot.slot, pickup.placement) })),
  });
}

/** Nodes that a way made for itself get the name of what they are: a joint of the slot's leads. */
export function publicPlacement(slot: string, placement: Placement): Placement {
  const own = [...new Set([...placement.values()].flat().filter(isOwnNode))];
  const name = (node: string): string => (isOwnNode(node) ? `${slot} joint ${own.indexOf(node) + 1}` : node);
  return new Map([...placement].map(([clip, nodes]) => [clip, nodes.map(name)]));
}

/** Makes every node on which a lead is put one of the harness, by naming it there. */
function withNodes({ harness, pickups }: LoadedHarness): LoadedHarness {
  const nodes = new Set(pickups.flatMap(({ placement }) => [...placement.values()].flat()));
  // What a way says is in the placements by now; names that stand in `leads` alone would count as private.
  const fitted = harness.fitted.map(({ leads: _, way: __, ...rest }) => rest);
  return { harness: { ...harness, fitted, joins: [...(harness.joins ?? []), ...[...nodes].map((node) => [node, node])] }, pickups };
}

/** A harness with one of its pickups changed. */
export function withPickup({ harness, pickups }: LoadedHarness, at: number, change: (pickup: FittedPickup) => FittedPickup): LoadedHarness {
  return withNodes({ harness, pickups: pickups.map((pickup, index) => (index === at ? change(pickup) : pickup)) });
}

/** A harness with its file changed. */
export function withHarness({ harness, pickups }: LoadedHarness, change: (harness: Harness) => Harness): LoadedHarness {
  return { harness: change(harness), pickups };
}

/** A harness with leads off their joints. */
export function lifted(wired: LoadedHarness, leads: readonly Lead[]): LoadedHarness {
  return leads.reduce(
    (all, { pickup, clip }) =>
      withPickup(all, pickup, (one) => ({ ...one, placement: new Map(one.placement).set(clip, [leadNode(one.slot.slot, clip)]) })),
    wired,
  );
}

/** What a harness shows at some probes.
 * @param wired - as `wiredOf` gives it, changed or not
 * @param withPots - whether the slopes of the pots are wanted
 */
export function predict(wired: LoadedHarness, probes: readonly Probe[], withPots: boolean): Prediction[] {
  const groups = new Map<string, number[]>();
  probes.forEach(({ lifted: leads, between }, at) => {
    const key = JSON.stringify([leads, between]);
    groups.set(key, [...(groups.get(key) ?? []), at]);
  });
  const all = new Array<Prediction>(probes.length);
  for (const members of groups.values()) {
    const { lifted: leads, between } = probes[members[0]!]!;
    const off = lifted(wired, leads);
    const harness = between === null ? off.harness : { ...off.harness, output: { hot: between.plus, ground: between.minus } };
    const settings = members.map((at) => probes[at]!.setting);
    const omegas = members.map((at) => probes[at]!.omega ?? null);
    const pots = withPots ? potsOf(harness) : [];
    const nominal = solved({ harness, pickups: off.pickups }, settings, omegas);
    const moved = pots.map((part) => solved({ harness: withPot(harness, part), pickups: off.pickups }, settings, []));
    members.forEach((at, index) => {
      const { ohm, shares, inductance } = nominal[index]!;
      const potSlopes = moved.map((some) => {
        const other = some[index]!.ohm;
        return ohm === null || other === null || ohm <= 0 || other <= 0 ? 0 : Math.log(other / ohm) / POT_STEP;
      });
      all[at] = { ohm, shares, inductance, potSlopes };
    });
  }
  return all;
}

/** Indices of the pots among the parts. */
function potsOf({ parts = [] }: Harness): number[] {
  return parts.flatMap(({ kind }, at) => (kind === 'pot' ? [at] : []));
}

function withPot(harness: Harness, which: number): Harness {
  const parts = (harness.parts ?? []).map((part, at) =>
    at === which && part.kind === 'pot' ? { ...part, ohm: part.ohm * Math.exp(POT_STEP) } : part);
  return { ...harness, parts };
}

type Steady = Omit<Prediction, 'potSlopes'>;

/** @param omegas - of each setting, where its inductance is wanted */
function solved(
  { harness: { load: _, ...harness }, pickups }: LoadedHarness, settings: readonly number[], omegas: readonly (number | null)[],
): Steady[] {
  // With the cable pulled there is no load.
  const circuit = new Circuit(harness);
  const wirings = pickups.map((pickup) => circuit.wiring(pickup, pickup.placement));
  const blocks = wirings.map((wiring) => blockAt(wiring, 0));
  const complex = new Float64Array(2);
  return settings.map((setting, at) => {
    const layout = circuit.layout(circuit.joined(setting), wirings, 'dc');
    const silent = pickups.map(({ coils }) => new Float64Array(coils.length));
    if (layout.output === 'one node') return { ohm: 0, shares: silent, inductance: null };
    if (layout.output === 'apart') return { ohm: null, shares: silent, inductance: null };
    layout.solve(blocks, 0);
    const ohm = layout.ohm();
    if (!(ohm < NO_PATH_ohm)) return { ohm: null, shares: silent, inductance: null };
    const shares = pickups.map(({ coils }, pickup) =>
      Float64Array.from(coils, (_, coil) => {
        layout.shareOf(pickup, coil, blocks, coils.length, complex);
        return complex[0]!;
      }));
    const omega = omegas[at] ?? null;
    return { ohm, shares, inductance: omega === null ? null : inductanceAt(circuit, pickups, wirings, setting, shares, omega) };
  });
}

/** At hot, by what stands across it a quarter turn ahead of the current; and by the coils alone: a network is reciprocal, so that
 * a current at hot flows through each coil by the coil's own share. */
function inductanceAt(
  circuit: Circuit, pickups: LoadedHarness['pickups'], wirings: readonly Wiring[],
  setting: number, shares: readonly Float64Array[], omega: number,
): PredictedInductance {
  const layout = circuit.layout(circuit.joined(setting), wirings, 'ac');
  layout.solve(wirings.map((wiring) => blockAt(wiring, omega)), omega);
  let still_H = 0;
  pickups.forEach(({ bank: { coils, mutual_H } }, at) => {
    const own = shares[at]!;
    own.forEach((a, i) => own.forEach((b, j) => { still_H += a * b * (i === j ? coils[i]!.henry_H : mutual_H[i]![j]!); }));
  });
  return { henry_H: layout.reactance_ohm() / omega, still_H };
}
