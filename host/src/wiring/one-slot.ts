/** One pickup and nothing else as a circuit: the solver of a whole harness, with one slot, no parts and no load. */
import { fitPickups, type FittedPickup } from '../harness/fitted-pickup.ts';
import { judge } from '../harness/judge.ts';
import { NodeNames } from '../harness/node-names.ts';
import { Solver } from '../harness/solver.ts';
import { chassisGroups, groupOf, keepsFrame, ownNode, placementOfWay } from '../harness/ways.ts';
import type { Harness } from '../harness/harness.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

const SLOT = { slot: 'pickup', hot: 'hot', ground: 'ground', frame: 'ground' } as const;
/** The leads are put on nodes by each attempt. */
const HARNESS: Harness = {
  format: 'harness/1', slots: [SLOT], switches: [], output: { hot: SLOT.hot, ground: SLOT.ground },
  fitted: [{ slot: SLOT.slot, map: 'pickup', leads: {} }],
};
const NAMES = new NodeNames(HARNESS);
/** In series a coil gives its whole voltage; less means that something lies across it. */
const WHOLE_share = 0.98;

/** Coils in series from ground to hot, by name. */
export type Chain = readonly string[];

/** A pickup wired as was wanted. */
export interface Wired {
  readonly hot: readonly number[];
  readonly ground: readonly number[];
  /** Joints between coils that follow one another, each as the clips on it. */
  readonly links: readonly (readonly number[])[];
  readonly insulated: readonly number[];
  /** Left over of the hum, 0 to 1 as in `positions/1`; null when it is not known. */
  readonly hum: number | null;
  /** From hot to ground. */
  readonly ohm: number;
}

/** A way that the circuit does not confirm, and why. */
export interface Refused {
  readonly why: string;
}

export class OneSlot {
  private readonly pickup: FittedPickup;
  private readonly solver: Solver;
  private readonly shares: Float64Array;

  /** @param map - in which the ends of every coil that is to be wired are told apart */
  constructor(map: WireMap) {
    this.pickup = fitPickups(HARNESS, [{ map, colours: new Map() }])[0]!;
    this.solver = new Solver(HARNESS, [this.pickup]);
    this.shares = new Float64Array(this.solver.coils.length);
  }

  /** Clips that are on ground whatever else is done. */
  get alwaysGround(): number[] {
    const { leads } = this.pickup;
    const frame = chassisGroups(leads);
    return leads.clips.filter((clip) => frame.has(groupOf(leads, clip)));
  }

  /** Wires chains side by side and solves what they then do.
   * @param turned - minus at hot
   */
  attempt(chains: readonly Chain[], turned: boolean): Wired | Refused {
    const { leads } = this.pickup;
    const ends = new Map<number, string>();
    const joints: string[] = [];
    for (const [clip, node] of this.wanted(chains, turned, joints)) {
      const group = groupOf(leads, clip);
      const other = ends.get(group);
      if (other !== undefined && other !== node) return { why: `clip ${clip} would have to be ${where(other)} and ${where(node)} at once` };
      ends.set(group, node);
    }
    if (!keepsFrame(SLOT, leads, ends, NAMES.isSame)) return { why: 'its end at the frame would not be at ground' };
    const wiring = this.solver.wiring(0, placementOfWay(SLOT, leads, ends));
    const shares = this.solver.shares(this.solver.layout(0, [wiring], 'ac'), [this.solver.shareBlock(wiring)], this.shares);
    const { sounding, in_phase, hum } = judge(this.solver.coils, shares, [false]);
    const wanted = new Set(chains.flat());
    const why = this.fault(wanted, sounding, in_phase, chains.length === 1);
    const ohm = this.solver.ohm(0, [wiring]);
    if (why !== null || ohm === null) return { why: why ?? 'nothing would lead from hot to ground' };
    const frame = chassisGroups(leads);
    const on = (node: string): number[] => leads.clips.filter((clip) => {
      const group = groupOf(leads, clip);
      return ends.get(group) === node || (node === SLOT.ground && frame.has(group));
    });
    const used = new Set([on(SLOT.hot), on(SLOT.ground), ...joints.map(on)].flat());
    const isLead = this.isLead();
    return {
      hot: on(SLOT.hot),
      ground: on(SLOT.ground),
      links: joints.map(on),
      insulated: leads.clips.filter((clip) => isLead.has(clip) && !used.has(clip)),
      hum,
      ohm,
    };
  }

  /** Clips that are an end, joined or on the frame; those that are connected to nothing are told elsewhere. */
  private isLead(): Set<number> {
    const { coils, joined, chassis } = this.pickup.leads;
    return new Set([...coils.flatMap(({ minus, plus }) => [minus, plus]), ...joined.flat(), ...chassis]);
  }

  /** A node for each coil's end. @param joints - filled with the nodes between coils that follow one another */
  private wanted(chains: readonly Chain[], turned: boolean, joints: string[]): [number, string][] {
    const [low, high] = turned ? [SLOT.hot, SLOT.ground] : [SLOT.ground, SLOT.hot];
    return chains.flatMap((chain) => chain.flatMap((name, at): [number, string][] => {
      const { minus, plus } = this.pickup.leads.coils.find((coil) => coil.name === name)!;
      const below = at === 0 ? low : joints.at(-1)!;
      if (at < chain.length - 1) joints.push(ownNode(SLOT.slot, joints.length));
      return [[minus, below], [plus, at === chain.length - 1 ? high : joints.at(-1)!]];
    }));
  }

  /** What is wrong with what sounds, null for nothing. */
  private fault(wanted: ReadonlySet<string>, sounding: readonly number[], in_phase: boolean | null, isSeries: boolean): string | null {
    const { coils } = this.solver;
    const also = sounding.filter((at) => !wanted.has(coils[at]!.name)).map((at) => coils[at]!.name);
    if (also.length > 0) return `${listInWords(also)} would sound as well`;
    const silent = coils.filter(({ name }, at) =>
      wanted.has(name) && (!sounding.includes(at) || (isSeries && Math.abs(this.shares[at]!) < WHOLE_share)));
    if (silent.length > 0) return `what is joined inside would short out ${listInWords(silent.map(({ name }) => name))}`;
    return in_phase === true ? null : 'the coils would work against each other';
  }
}

function where(node: string): string {
  return node === SLOT.hot ? 'hot' : node === SLOT.ground ? 'at ground' : 'a joint between coils';
}
