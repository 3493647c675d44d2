/** Where the tester at a guitar's jack comes from: one that is attached, or a simulated one with a simulated guitar. */
import { makeTwin, type TwinKind } from '../bench/twins.ts';
import type { Transport, VirtualHands } from '../transport/transport.ts';
import { Guitar, type GuitarPlan } from '../virtual-bench/guitar.ts';
import { placesOf } from '../virtual-bench/person.ts';
import type { JackStep } from './jack-steps.ts';

/** Between the seeds of two readings of one setting. */
const AGAIN = 1009;

export interface JackBench {
  /** `tester` or `virtual bench`, for the head of the screen. */
  readonly source: string;
  /** Keys stand for the hand. */
  readonly isVirtual: boolean;
  /** A connection for one test, not yet opened. @param again - how often this step was read before */
  connect(step: JackStep, again: number): Promise<Transport & Partial<VirtualHands>>;
}

/** A simulated guitar whose simulated owner sets every switch as asked.
 * @param seed - decides noise, hum and hand
 * @param automatic - its hands act by themselves; otherwise keys stand for them
 * @param elapsed_ms - real clock that paces it; left out: as fast as it goes
 */
export function simulatedJack(plan: GuitarPlan, options: {
  readonly twin: TwinKind; readonly seed: number; readonly automatic: boolean; readonly elapsed_ms?: () => number;
}): JackBench {
  const { twin, seed, automatic, elapsed_ms } = options;
  return {
    source: 'virtual bench',
    isVirtual: true,
    connect: ({ setting, positions }, again) => makeTwin(twin, {
      pickup: new Guitar(plan, positions), seed: (seed + setting + again * AGAIN) >>> 0, automatic,
      ...(elapsed_ms === undefined ? {} : { elapsed_ms }),
    }),
  };
}

/** What can be touched on a simulated guitar, in the order in which its hands know it. */
export function simulatedPlaces(plan: GuitarPlan): string[] {
  return placesOf(new Guitar(plan, plan.switches.map(() => 0)));
}

/** An attached tester. */
export function attachedJack(connect: () => Promise<Transport>): JackBench {
  return { source: 'tester', isVirtual: false, connect };
}
