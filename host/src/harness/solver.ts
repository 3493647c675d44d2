/** Solves settings of a harness, keeping what several of them share. */
import { blockAt, Circuit, type Layout, type Wiring, type WiringBlock } from './circuit.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import type { Harness } from './harness.ts';
import { judgedCoils, SOUNDING_share, type JudgedCoil } from './judge.ts';
import type { Merge } from './merge.ts';
import { GRID_Hz, highestPoint, type Resonance } from './resonance.ts';
import type { Placement } from './ways.ts';

/** Where shares are taken: the lowest string of a guitar in standard tuning, E2, hertz. */
const SHARE_Hz = 82.41;
const SHARE_omega = 2 * Math.PI * SHARE_Hz;

/** What the circuit of a setting gives, whatever the magnets are. */
export interface Solution {
  /** Of all coils, by the order of `coils`. */
  readonly shares: Float64Array;
  /** At the output, the load removed; null without a path, 0 for one node. */
  readonly ohm: number | null;
  readonly resonance: Resonance | null;
}

export class Solver {
  readonly circuit: Circuit;
  readonly coils: readonly JudgedCoil[];
  private readonly pickups: readonly FittedPickup[];
  private readonly bases: readonly Merge[];
  private readonly shareBlocks = new Map<Wiring, WiringBlock>();
  private readonly ohmBlocks = new Map<Wiring, WiringBlock>();
  private readonly gridBlocks = new Map<Wiring, WiringBlock[]>();
  private readonly layouts = new Map<string, Layout>();
  private readonly complex = new Float64Array(2);

  constructor(harness: Harness, pickups: readonly FittedPickup[]) {
    this.circuit = new Circuit(harness);
    this.pickups = pickups;
    this.coils = judgedCoils(pickups);
    this.bases = this.circuit.settings.map((_, at) => this.circuit.joined(at));
  }

  /** A pickup with its leads put somewhere. */
  wiring(pickup: number, placement: Placement): Wiring {
    return this.circuit.wiring(this.pickups[pickup]!, placement);
  }

  /** Pickups with their leads where they are. */
  wirings(pickups: readonly Pick<FittedPickup, 'placement'>[]): Wiring[] {
    return pickups.map(({ placement }, at) => this.wiring(at, placement));
  }

  /** Which pickups can have any part in a setting, however they are wired in one of some ways. */
  reach(setting: number, wirings: readonly (readonly Wiring[])[]): boolean[] {
    return this.circuit.reach(this.bases[setting]!, wirings);
  }

  /** The nodes of a setting, for alternating voltages or for ohms; the same one is given again for wirings of equal shapes. */
  layout(setting: number, wirings: readonly Wiring[], kind: 'ac' | 'dc'): Layout {
    let key = `${kind}${setting}`;
    for (let at = 0; at < wirings.length; at++) key += ` ${wirings[at]!.shape}`;
    return kept(this.layouts, key, () => this.circuit.layout(this.bases[setting]!, wirings, kind));
  }

  /** What a wiring is at the frequency of the shares. */
  shareBlock(wiring: Wiring): WiringBlock {
    return kept(this.shareBlocks, wiring, () => blockAt(wiring, SHARE_omega));
  }

  /** Share of every coil: volts at the output for one volt that lifts its plus; real parts at 82.41 Hz.
   * @param blocks - of each pickup, as `shareBlock` gives them
   * @param into - filled, by the order of `coils`
   */
  shares(layout: Layout, blocks: readonly WiringBlock[], into: Float64Array): Float64Array {
    if (layout.output !== 'connected') return into.fill(0);
    layout.solve(blocks, SHARE_omega);
    for (let at = 0; at < this.coils.length; at++) {
      const { pickup, coil } = this.coils[at]!;
      layout.shareOf(pickup, coil, blocks, this.pickups[pickup]!.coils.length, this.complex);
      into[at] = this.complex[0]!;
    }
    return into;
  }

  /** Everything that the circuit of a setting gives. */
  solution(setting: number, wirings: readonly Wiring[]): Solution {
    const layout = this.layout(setting, wirings, 'ac');
    const shares = this.shares(layout, wirings.map((wiring) => this.shareBlock(wiring)), new Float64Array(this.coils.length));
    return { shares, ohm: this.ohm(setting, wirings), resonance: this.resonance(layout, wirings, shares) };
  }

  /** Resistance at the output with the load removed, ohms; null without a path, 0 for one node. */
  ohm(setting: number, wirings: readonly Wiring[]): number | null {
    const layout = this.layout(setting, wirings, 'dc');
    if (layout.output === 'one node') return 0;
    if (layout.output === 'apart') return null;
    layout.solve(wirings.map((wiring) => kept(this.ohmBlocks, wiring, () => blockAt(wiring, 0))), 0);
    return layout.ohm();
  }

  /** What the coils that sound in a setting give together, each with its weight and the sign of its share.
   * @param hertz - where
   * @returns decibels over one volt in the strongest coil, output open; null where nothing sounds or an inductance is missing
   */
  curve(setting: number, wirings: readonly Wiring[], hertz: readonly number[]): number[] | null {
    const layout = this.layout(setting, wirings, 'ac');
    const shares = this.shares(layout, wirings.map((wiring) => this.shareBlock(wiring)), new Float64Array(this.coils.length));
    const response = this.response(layout, shares);
    if (response === null) return null;
    return hertz.map((one) => 20 * Math.log10(response(one, wirings.map((wiring) => blockAt(wiring, 2 * Math.PI * one)))));
  }

  private resonance(layout: Layout, wirings: readonly Wiring[], shares: Float64Array): Resonance | null {
    const response = this.response(layout, shares);
    if (response === null) return null;
    const grids = wirings.map((wiring) =>
      kept(this.gridBlocks, wiring, () => GRID_Hz.map((hertz) => blockAt(wiring, 2 * Math.PI * hertz))));
    const onGrid = GRID_Hz.map((hertz, at) => response(hertz, grids.map((grid) => grid[at]!)));
    return highestPoint(onGrid, (hertz) => response(hertz, wirings.map((wiring) => blockAt(wiring, 2 * Math.PI * hertz))));
  }

  /** Magnitude at a frequency, by what the wirings are there; null where there is none to give. */
  private response(layout: Layout, shares: Float64Array): ((hertz: number, blocks: readonly WiringBlock[]) => number) | null {
    const sounding = this.coils.flatMap((coil, at) =>
      Math.abs(shares[at]!) > SOUNDING_share ? [{ ...coil, factor: coil.weight * Math.sign(shares[at]!) }] : []);
    if (sounding.length === 0 || sounding.some(({ hasInductance }) => !hasInductance)) return null;
    return (hertz, blocks) => {
      layout.solve(blocks, 2 * Math.PI * hertz);
      let [re, im] = [0, 0];
      for (const { pickup, coil, factor } of sounding) {
        layout.shareOf(pickup, coil, blocks, this.pickups[pickup]!.coils.length, this.complex);
        re += factor * this.complex[0]!;
        im += factor * this.complex[1]!;
      }
      return Math.hypot(re, im);
    };
  }
}

function kept<Key, T>(cache: Map<Key, T>, key: Key, make: () => T): T {
  let value = cache.get(key);
  if (value === undefined) cache.set(key, (value = make()));
  return value;
}
