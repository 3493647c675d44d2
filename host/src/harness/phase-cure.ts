/** What puts coils that work against each other in phase: each cure is tried in the circuit before it is offered. */
import type { Wiring } from './circuit.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import { judge } from './judge.ts';
import type { LoadedHarness } from './load-harness.ts';
import { looseFrames } from './loose-frames.ts';
import { NodeNames } from './node-names.ts';
import { areLeadsLeft, exchangedInPlace, foreignNodes, leftInWords, magnetWork, pickupOptions } from './options.ts';
import type { Solver } from './solver.ts';
import { endNodes, keepsFrame } from './ways.ts';

/** Some sentences: which one change of one pickup leaves nothing out of phase, nothing silent and no frame off ground.
 * @param solver - made for the harness with the same pickups, however they were wired then
 * @param flipped - by pickup, whether its magnet was turned after it was wired
 */
export function phaseCure({ harness, pickups }: LoadedHarness, solver: Solver, flipped: readonly boolean[]): string {
  const trial = new Trial(solver, pickups, flipped);
  const leads = pickups.flatMap((pickup, at) =>
    [...pickupOptions(harness, pickup, new Set()), ...exchangedInPlace(harness, pickup)]
      .filter(({ work: [step, second] }) =>
        step !== undefined && second === undefined && step.change !== 'order' && step.change !== 'alone')
      .filter(({ placement }) => trial.isCured(at, solver.wiring(at, placement), false))
      .map(({ work }) => work[0]!.text));
  const turning = pickups.flatMap((pickup, at) => (trial.isCured(at, null, true) ? [pickup] : []));
  const names = new NodeNames(harness);
  const tied = turning.filter((pickup) => isTiedWhenTurned(pickup, names));
  const warning = tied.map(({ slot: { slot } }) =>
    ` Do not exchange the ends of ${slot}: its frame is tied to the one at ground and would be hot, or short the output.`).join('');
  if (leads.length > 0) return `${leads.length > 1 ? 'Any one of these cures it' : 'This cures it'}: ${leads.join('; or ')}.${warning}`;
  const left = leftInWords(pickups.filter((pickup) => areLeadsLeft(harness, pickup))
    .map((pickup) => ({ slot: pickup.slot.slot, nodes: foreignNodes(harness, pickup) })));
  if (turning.length > 0) {
    const magnets = turning.map(({ slot: { slot } }) => magnetWork(slot).text).join('; or ');
    return `No exchange of one pickup's two ends, hot for ground, cures it; this does: ${magnets}.${left}${warning}`;
  }
  return `No change of one pickup alone that was tried, ends exchanged or magnet turned over, puts all of it in phase ` +
    `(behind a phase switch that is as meant).${left}`;
}

/** Whether the pickup the other way round would have an end that is tied to the frame at hot. */
function isTiedWhenTurned({ slot, leads, way }: FittedPickup, names: NodeNames): boolean {
  if (way === null) return false;
  const turned = endNodes(slot, leads, { ...way, turned: way.turned !== true }, names.isSame);
  return 'ends' in turned && !keepsFrame(slot, leads, turned.ends, names.isSame);
}

/** The harness with one pickup changed, against the harness as it stands. */
class Trial {
  private readonly solver: Solver;
  private readonly pickups: readonly FittedPickup[];
  private readonly flipped: readonly boolean[];
  private readonly wirings: readonly Wiring[];
  private readonly sounds: readonly boolean[];
  private readonly loose: number;

  constructor(solver: Solver, pickups: readonly FittedPickup[], flipped: readonly boolean[]) {
    this.solver = solver;
    this.pickups = pickups;
    this.flipped = flipped;
    this.wirings = solver.wirings(pickups);
    this.sounds = solver.circuit.settings.map((_, setting) => this.judged(setting, this.wirings, flipped).sounding.length > 0);
    this.loose = looseFrames(solver, pickups, this.wirings).length;
  }

  /** Whether nothing is out of phase any more and nothing else lost.
   * @param wiring - of the pickup; null as it stands
   * @param isTurned - its magnet is turned over
   */
  isCured(pickup: number, wiring: Wiring | null, isTurned: boolean): boolean {
    const wirings = wiring === null ? this.wirings : this.wirings.with(pickup, wiring);
    const flipped = this.flipped.with(pickup, this.flipped[pickup] !== isTurned);
    return (
      this.sounds.every((didSound, setting) => {
        const { in_phase, sounding } = this.judged(setting, wirings, flipped);
        return in_phase !== false && (sounding.length > 0 || !didSound);
      }) && looseFrames(this.solver, this.pickups, wirings).length <= this.loose
    );
  }

  private judged(setting: number, wirings: readonly Wiring[], flipped: readonly boolean[]): ReturnType<typeof judge> {
    const { solver } = this;
    const shares = new Float64Array(solver.coils.length);
    solver.shares(solver.layout(setting, wirings, 'ac'), wirings.map((wiring) => solver.shareBlock(wiring)), shares);
    return judge(solver.coils, shares, flipped);
  }
}
