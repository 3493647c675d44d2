/**
 * What hangs on the leads as a network of resistances with a source in each stretch of winding: the plain text-book
 * view of a pickup at direct current, used to know the truth and to write records that no tester took.
 */
import { inverse, Matrix } from 'ml-matrix';
import { tapPoint, type Pickup, type PickupCoil } from '../../host/src/pickup/pickup.ts';

/** Copper's resistance rises by this much of its value at 20 C per kelvin. @see IEC 60028 */
export const COPPER_PER_K = 0.00393;
/** Above this a bridge moves no voltage that a coil makes: it is left out where voltages are computed. */
const LEAK_ohm = 5e5;

/** A stretch of winding, or a bridge (coil -1). */
export interface Stretch {
  /** Node nearer the coil's `from`. */
  readonly tail: number;
  /** Node nearer the coil's `to`. */
  readonly head: number;
  readonly ohm: number;
  readonly coil: number;
  /** Share of the coil's whole flux linkage that this stretch sees. */
  readonly share: number;
}

/** Which of a pickup's faults the network shows. */
export interface NetworkOptions {
  /** Bridges with this many ohms or more are left out; none when not given. */
  readonly bridgesBelow_ohm?: number;
  /** Bridges that meet a winding between its ends are left out. */
  readonly noTappingBridges?: boolean;
}

/** Nodes are numbered; leads and stretches name them. */
export class LeadNetwork {
  readonly nodes = new Map<string, number>();
  readonly stretches: Stretch[] = [];
  /** Clip to node. */
  readonly clips = new Map<number, number>();
  readonly coils: readonly PickupCoil[];
  private readonly inverses = new Map<number, { inverse: Matrix; index: Map<number, number> }>();

  constructor(pickup: Pickup, options: NetworkOptions = {}) {
    this.coils = pickup.coils;
    const warm = 1 + COPPER_PER_K * (pickup.temperature_C - 20);
    const bridges = pickup.faults
      .filter((fault) => fault.kind === 'bridge')
      .filter((fault) => {
        const tapping = tapPoint(fault.a) !== null || tapPoint(fault.b) !== null;
        return (
          fault.ohm < (options.bridgesBelow_ohm ?? Infinity) &&
          !(options.noTappingBridges === true && tapping)
        );
      });
    const named = [
      ...pickup.leads.flatMap(({ node }) => node ?? []),
      ...bridges.flatMap((bridge) => [bridge.a, bridge.b]),
      ...pickup.coils.flatMap((coil) => [coil.from, coil.to]),
    ];
    pickup.coils.forEach((coil, index) => {
      const points: { at: number; node: string }[] = [
        { at: 0, node: coil.from },
        { at: 1, node: coil.to },
      ];
      for (const node of new Set(named)) {
        const tap = tapPoint(node);
        if (tap !== null && tap.coil === coil.id) points.push({ at: tap.fraction, node });
      }
      points.sort((a, b) => a.at - b.at);
      const broken = pickup.faults.some((fault) => fault.kind === 'open' && fault.coil === coil.id);
      let kept = 1;
      for (const fault of pickup.faults) {
        if (fault.kind === 'shorted_turns' && fault.coil === coil.id) kept *= 1 - fault.fraction;
      }
      const add = (from: number, to: number, tail: string, head: string): void => {
        this.stretches.push({
          tail: this.node(tail),
          head: this.node(head),
          ohm: coil.resistance_ohm_20C * warm * kept * (to - from),
          coil: index,
          share: kept * (to - from),
        });
      };
      for (let i = 1; i < points.length; i++) {
        const [low, high] = [points[i - 1]!, points[i]!];
        if (!broken || low.at >= 0.5 || high.at < 0.5) add(low.at, high.at, low.node, high.node);
        else {
          if (low.at < 0.5) add(low.at, 0.5, low.node, `${coil.id} break, first end`);
          if (high.at > 0.5) add(0.5, high.at, `${coil.id} break, second end`, high.node);
        }
      }
    });
    for (const bridge of bridges) {
      this.stretches.push({
        tail: this.node(bridge.a),
        head: this.node(bridge.b),
        ohm: bridge.ohm,
        coil: -1,
        share: 0,
      });
    }
    // A lead that leads nowhere is a node by itself.
    for (const { clip, node } of pickup.leads) this.clips.set(clip, this.node(node ?? `free end on clip ${clip}`));
  }

  private node(name: string): number {
    let index = this.nodes.get(name);
    if (index === undefined) this.nodes.set(name, (index = this.nodes.size));
    return index;
  }

  /** Resistance between two clips with all others open, ohms; Infinity when nothing connects them.
   * All other nodes are taken out one by one (star to mesh); conductances are only added, so that a contact of
   * 0.1 ohm beside a leak of 100 Mohm costs no digits.
   */
  resistance(clipA: number, clipB: number): number {
    const [a, b] = [this.clips.get(clipA)!, this.clips.get(clipB)!];
    if (a === b) return 0;
    const n = this.nodes.size;
    const g = new Float64Array(n * n);
    for (const { tail, head, ohm } of this.stretches) {
      if (tail === head) continue;
      g[tail * n + head]! += 1 / ohm;
      g[head * n + tail]! += 1 / ohm;
    }
    for (let k = 0; k < n; k++) {
      if (k === a || k === b) continue;
      let sum = 0;
      for (let i = 0; i < n; i++) sum += g[k * n + i]!;
      if (sum === 0) continue;
      for (let i = 0; i < n; i++) {
        if (i === k || g[k * n + i] === 0) continue;
        for (let j = 0; j < n; j++) {
          if (j !== i && j !== k) g[i * n + j]! += (g[i * n + k]! * g[k * n + j]!) / sum;
        }
      }
      for (let i = 0; i < n; i++) g[i * n + k] = g[k * n + i] = 0;
    }
    return g[a * n + b]! > 0 ? 1 / g[a * n + b]! : Infinity;
  }

  /** For each coil: the voltage of `plus` over `minus` when one volt is induced in the whole coil, `to` positive.
   * By reciprocity this is the part of a current, driven into `plus` and out of `minus`, that runs through the
   * coil from `to` to `from`, each stretch with its share. Zero where the clips are not connected.
   */
  gains(plus: number, minus: number): number[] {
    const [a, b] = [this.clips.get(plus)!, this.clips.get(minus)!];
    const result = this.coils.map(() => 0);
    if (a === b) return result;
    const part = this.component(a);
    const ia = part.index.get(a)!;
    const ib = part.index.get(b);
    if (ib === undefined) return result;
    const potential = (node: number): number => {
      const i = part.index.get(node)!;
      return part.inverse.get(i, ia) - part.inverse.get(i, ib);
    };
    for (const { tail, head, ohm, coil, share } of this.stretches) {
      if (coil < 0 || !part.index.has(tail)) continue;
      result[coil]! += (share * (potential(head) - potential(tail))) / ohm;
    }
    return result;
  }

  /** Inverse of the Laplacian of one connected part, earthed at one node through 10 kohm. */
  private component(node: number): { inverse: Matrix; index: Map<number, number> } {
    const known = this.inverses.get(node);
    if (known !== undefined) return known;
    const index = new Map([[node, 0]]);
    const conducting = this.stretches.filter(
      (stretch) => stretch.ohm < LEAK_ohm && stretch.tail !== stretch.head,
    );
    for (let size = 0; size < index.size;) {
      size = index.size;
      for (const { tail, head } of conducting) {
        if (index.has(tail) !== index.has(head))
          index.set(index.has(tail) ? head : tail, index.size);
      }
    }
    const laplacian = Matrix.zeros(index.size, index.size);
    const add = (i: number, j: number, value: number): void => {
      laplacian.set(i, j, laplacian.get(i, j) + value);
    };
    for (const { tail, head, ohm } of conducting) {
      const [i, j] = [index.get(tail), index.get(head)];
      if (i === undefined || j === undefined) continue;
      add(i, i, 1 / ohm);
      add(j, j, 1 / ohm);
      add(i, j, -1 / ohm);
      add(j, i, -1 / ohm);
    }
    add(0, 0, 1e-4);
    const part = { inverse: inverse(laplacian), index };
    for (const member of index.keys()) this.inverses.set(member, part);
    return part;
  }
}
