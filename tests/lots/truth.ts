/**
 * What a perfect wire map would say of an invented pickup, from its graph and the sign conventions alone.
 *
 * The solver is never asked: stretches between clips come from merging series and parallel windings by hand, signs
 * from winding times pole, and voltages at the clips from the text-book network.
 */
import { tapPoint, type Pickup, type PickupCoil } from '../../host/src/pickup/pickup.ts';
import { placesInOrder, positiveAtTo } from './generator.ts';
import { COPPER_PER_K, LeadNetwork } from './lead-network.ts';

/** Clips closer than this are one node. @see formats: `joined` */
const JOINED_ohm = 2;
/** Bridges from here up are leaks. */
export const LEAK_ohm = 5e5;

/** One stretch of winding between two clips. */
export interface TrueCoil {
  /** Representative clips (lowest of each joined group), rising. */
  readonly ends: readonly [number, number];
  readonly ohm: number;
  /** Representative clips; null when its own coils disagree (out of phase). */
  readonly plus: number | null;
  readonly minus: number | null;
  /** Indices of the pickup's coils in it. */
  readonly own: readonly number[];
  readonly outOfPhase: boolean;
  /** Null when several coils share the stretch. */
  readonly place: string | null;
  readonly pole: 'N' | 'S' | null;
  /** Steel cannot reach it: the lower one of stacked coils. */
  readonly outOfReach: boolean;
}

/** A fault that measurements at the clips can show. */
export interface TrueFault {
  readonly kind: 'bridge' | 'leak' | 'open' | 'shorted_turns' | 'intermittent' | 'live';
  /** Ohms of a bridge or leak, fraction of shorted turns, volts of a live lead. */
  readonly size: number;
  /** Whether it must be told: what it joins is brought out. */
  readonly visible: boolean;
}

export interface Truth {
  readonly coils: readonly TrueCoil[];
  /** Groups of clips on one node, each rising, in rising order. */
  readonly joined: readonly (readonly number[])[];
  readonly chassis: readonly number[];
  /** Coloured clips that are connected to nothing, so that nobody can know what they are. */
  readonly isolated: readonly number[];
  readonly faults: readonly TrueFault[];
  /** More than one reading fits everything that can be measured (a coloured lead bridged onto a winding). */
  readonly ambiguous: boolean;
  /** Representative of a clip's joined group. */
  readonly representative: ReadonlyMap<number, number>;
  /** Findings that a sound pickup of this make may rightly have. */
  readonly mayMismatch: boolean;
  readonly mustMismatch: boolean;
  readonly equalPoles: boolean;
}

/** Works out what should be found. */
export function truthOf(pickup: Pickup): Truth {
  const network = new LeadNetwork(pickup);
  const clips = pickup.leads.map((lead) => lead.clip).sort((a, b) => a - b);
  const representative = new Map<number, number>();
  for (const clip of clips) {
    const mate = clips.find(
      (other) => other < clip && network.resistance(other, clip) < JOINED_ohm,
    );
    representative.set(clip, mate === undefined ? clip : representative.get(mate)!);
  }
  const joined = clips
    .map((clip) => clips.filter((other) => representative.get(other) === clip))
    .filter((group) => group.length > 1);
  const bare = new Set(
    pickup.leads
      .filter((lead) => lead.colour === 'BARE')
      .map((lead) => representative.get(lead.clip)),
  );
  const chassis = clips.filter((clip) => bare.has(representative.get(clip)));
  const isolated = clips.filter(
    (clip) => !chassis.includes(clip) && clips.every((other) => other === clip || network.resistance(clip, other) === Infinity),
  );
  const reduced = reduce(pickup, representative);
  const stacked = pickup.couplings.some((coupling) => coupling.k < 0);
  const coils = reduced.stretches.map((stretch): TrueCoil => {
    const { own, ends, ohm } = stretch;
    const gains = network.gains(ends[1], ends[0]);
    // Steel reaches the upper one of stacked coils only: what drives the stretch decides, not what is in it.
    const reached = own.filter((coil) => !stacked || coil === 0);
    const signs = (reached.length > 0 ? reached : own).map(
      (coil) => Math.sign(gains[coil]!) * (positiveAtTo(pickup.coils[coil]!) ? 1 : -1),
    );
    const outOfPhase = signs.some((sign) => sign !== signs[0]);
    const shared = <T>(of: (coil: PickupCoil) => T): T | null => {
      const values = new Set(own.map((coil) => of(pickup.coils[coil]!)));
      return values.size === 1 ? [...values][0]! : null;
    };
    return {
      ends,
      own,
      ohm,
      outOfPhase,
      plus: outOfPhase ? null : signs[0]! > 0 ? ends[1] : ends[0],
      minus: outOfPhase ? null : signs[0]! > 0 ? ends[0] : ends[1],
      place: shared((coil) => coil.place),
      pole: shared((coil) => coil.pole),
      outOfReach: reached.length === 0,
    };
  });
  return {
    coils,
    joined,
    chassis,
    isolated,
    faults: [...faultsOf(pickup, network, coils), ...(reduced.hiddenStar ? [] : tornOff(pickup, coils))],
    ambiguous: reduced.hiddenStar || colouredBridge(pickup),
    representative,
    ...siblings(pickup, coils),
  };
}

interface Reduced {
  tail: number;
  head: number;
  own: Set<number>;
  ohm: number;
}

/** Takes hidden nodes out: loose ends fall away, windings in series and in parallel become one stretch. */
function reduce(
  pickup: Pickup,
  representative: ReadonlyMap<number, number>,
): { stretches: { ends: [number, number]; own: number[]; ohm: number }[]; hiddenStar: boolean } {
  const network = new LeadNetwork(pickup, { noTappingBridges: true, bridgesBelow_ohm: JOINED_ohm });
  const clipOf = new Map<number, number>();
  for (const [clip, node] of network.clips)
    clipOf.set(node, Math.min(clip, clipOf.get(node) ?? clip));
  // What ties two nodes together (a winding made to the frame) makes them one here.
  const same = new Map<number, number>();
  const find = (node: number): number => (same.has(node) ? find(same.get(node)!) : node);
  for (const { coil, tail, head } of network.stretches) {
    if (coil >= 0 || find(tail) === find(head)) continue;
    const [gone, kept] = clipOf.has(find(tail))
      ? [find(head), find(tail)]
      : [find(tail), find(head)];
    same.set(gone, kept);
  }
  let edges: Reduced[] = network.stretches
    .filter((stretch) => stretch.coil >= 0)
    .map(({ tail, head, coil, ohm }) => ({
      tail: find(tail),
      head: find(head),
      own: new Set([coil]),
      ohm,
    }));
  for (let changed = true; changed;) {
    changed = false;
    const parallel = new Map<string, Reduced>();
    for (const edge of edges) {
      if (edge.tail === edge.head) continue;
      const key = [edge.tail, edge.head].sort((a, b) => a - b).join();
      const other = parallel.get(key);
      if (other === undefined) parallel.set(key, edge);
      else {
        const ohm = 1 / (1 / other.ohm + 1 / edge.ohm);
        parallel.set(key, { ...other, own: new Set([...other.own, ...edge.own]), ohm });
      }
    }
    changed = parallel.size !== edges.length;
    edges = [...parallel.values()];
    for (const node of new Set(edges.flatMap(({ tail, head }) => [tail, head]))) {
      if (clipOf.has(node)) continue;
      const at = edges.filter(({ tail, head }) => tail === node || head === node);
      if (at.length > 2) continue;
      edges = edges.filter((edge) => !at.includes(edge));
      if (at.length === 2) {
        const [far, near] = at.map(({ tail, head }) => (tail === node ? head : tail));
        edges.push({
          tail: far!,
          head: near!,
          own: new Set([...at[0]!.own, ...at[1]!.own]),
          ohm: at[0]!.ohm + at[1]!.ohm,
        });
      }
      changed = true;
      break;
    }
  }
  const hiddenStar = edges.some(({ tail, head }) => !clipOf.has(tail) || !clipOf.has(head));
  const stretches = edges
    .filter(({ tail, head }) => clipOf.has(tail) && clipOf.has(head))
    .map(({ tail, head, own, ohm }) => {
      const clips = [tail, head]
        .map((node) => representative.get(clipOf.get(node)!)!)
        .sort((a, b) => a - b);
      return { ends: [clips[0]!, clips[1]!] as [number, number], own: [...own].sort(), ohm };
    })
    .sort((a, b) => a.ends[0] - b.ends[0] || a.ends[1] - b.ends[1]);
  return { stretches, hiddenStar };
}

/** A lead of another colour than BARE that a bridge makes to a point of a winding looks like a tap. */
function colouredBridge(pickup: Pickup): boolean {
  return pickup.faults.some((fault) => {
    if (fault.kind !== 'bridge' || fault.ohm >= LEAK_ohm) return false;
    const ends = [fault.a, fault.b];
    const tapped = ends.some((node) => tapPoint(node) !== null);
    return (
      tapped && pickup.leads.some(({ node, colour }) => node !== null && ends.includes(node) && colour !== 'BARE')
    );
  });
}

function faultsOf(pickup: Pickup, network: LeadNetwork, coils: readonly TrueCoil[]): TrueFault[] {
  return pickup.faults.map((fault) => {
    switch (fault.kind) {
      case 'bridge': {
        const kind = fault.ohm >= LEAK_ohm ? 'leak' : 'bridge';
        const without = new LeadNetwork({
          ...pickup,
          faults: pickup.faults.filter((other) => other !== fault),
        });
        // Made to an end of a winding with next to nothing, it is a joint, and told as that.
        const isJoint =
          fault.ohm < JOINED_ohm && tapPoint(fault.a) === null && tapPoint(fault.b) === null;
        return { kind, size: fault.ohm, visible: !isJoint && connects(pickup, network, without) };
      }
      case 'open': {
        // A broken coil shows where a place has no winding left that is brought out. Beside a sound
        // one in parallel it leaves no trace, and a tapped coil of which a part still conducts looks
        // like one with a spare lead.
        const whole = new LeadNetwork({
          ...pickup,
          faults: pickup.faults.filter((other) => other !== fault),
        });
        return { kind: fault.kind, size: 0, visible: placeLost(pickup, coils) && connects(pickup, whole, network) };
      }
      case 'shorted_turns':
        return { kind: fault.kind, size: fault.fraction, visible: hasSibling(coils) };
      case 'intermittent':
        return {
          kind: fault.kind,
          size: fault.to_s - fault.from_s,
          // A lead that is connected to nothing has nothing to lose.
          visible: pickup.leads.some(
            ({ clip }) => clip !== fault.clip && network.resistance(clip, fault.clip) < LEAK_ohm,
          ),
        };
      case 'live':
        return { kind: fault.kind, size: Math.abs(fault.volt_V), visible: true };
    }
  });
}

/** Whether at some place no winding is left that is brought out. */
function placeLost(pickup: Pickup, coils: readonly TrueCoil[]): boolean {
  // Steel reaches stacked coils at one place only, whatever they are called.
  if (pickup.couplings.some((coupling) => coupling.k < 0)) return coils.length === 0;
  const left = new Set(coils.flatMap(({ own }) => own.map((coil) => pickup.coils[coil]!.place)));
  return pickup.coils.some((coil) => !left.has(coil.place));
}

/** A lead that has come off a coil's end leaves that coil open, as a broken winding does. One that was a tap or a link,
 * or one of two on a node, or a lead that never led anywhere, leaves every coil brought out: nothing tells it from a spare.
 * A whole coil that hangs by one end makes no peaks as a broken one does: it shows by touches alone, where each place
 * had its own.
 */
function tornOff(pickup: Pickup, coils: readonly TrueCoil[]): TrueFault[] {
  const loose = pickup.leads.some(({ node }) => node === null);
  const broken = pickup.faults.some(({ kind }) => kind === 'open');
  if (!loose || broken || !placeLost(pickup, coils)) return [];
  const places = placesInOrder(pickup.coils);
  const touched = places.map((_, i) => pickup.coils.find(({ id }) => id === pickup.touches[i]?.coil)?.place);
  return [{ kind: 'open', size: 0, visible: coils.length === 0 || touched.join() === places.join() }];
}

/** Whether two clips are connected in one network and not in the other. */
function connects(pickup: Pickup, network: LeadNetwork, without: LeadNetwork): boolean {
  return pickup.leads.some((a) =>
    pickup.leads.some(
      (b) =>
        a.clip < b.clip &&
        without.resistance(a.clip, b.clip) === Infinity &&
        network.resistance(a.clip, b.clip) < Infinity,
    ),
  );
}

/** Shorted turns show in one coil against another one that is brought out on its own. */
function hasSibling(coils: readonly TrueCoil[]): boolean {
  const alone = coils.filter((coil) => coil.own.length === 1).map((coil) => coil.own[0]);
  return new Set(alone).size > 1;
}

/** Whether siblings differ by what is told as mismatch, with a grey zone where either is right. */
function siblings(pickup: Pickup, stretches: readonly TrueCoil[]): {
  mayMismatch: boolean;
  mustMismatch: boolean;
  equalPoles: boolean;
} {
  let most = 0;
  const { coils } = pickup;
  for (const a of coils) {
    for (const b of coils) {
      const ohms = Math.max(a.resistance_ohm_20C / b.resistance_ohm_20C, 1) - 1;
      const l = (coil: typeof a): number => coil.inductance_H / coil.resistance_ohm_20C ** 2;
      most = Math.max(most, ohms / 0.25, (Math.max(l(a) / l(b), 1) - 1) / 0.15);
    }
  }
  // Where the end of a tapped coil has come off, what is left of it differs from its siblings by the turns that are missing.
  const warm = 1 + COPPER_PER_K * (pickup.temperature_C - 20);
  const cut = coils.some((coil, i) => {
    const alone = stretches.filter(({ own }) => own.length === 1 && own[0] === i);
    return alone.length > 0 && alone.reduce((sum, { ohm }) => sum + ohm, 0) < 0.98 * coil.resistance_ohm_20C * warm;
  });
  return {
    mayMismatch: most > 0.7 || cut,
    mustMismatch: most > 1.4 && !cut,
    equalPoles: coils.some((a, i) => coils.some((b, j) => i < j && a.pole === b.pole)),
  };
}
