/** What the tester is doing and what the person is to do now, in words. */
import { Light, Step } from '../logic/layout.generated.ts';
import type { State } from '../transport/reports.ts';

const STEP_WORDS: ReadonlyMap<number, string> = new Map([
  [Step.idle, 'ready'],
  [Step.guard, 'looking for live leads'],
  [Step.reference, 'reading the reference'],
  [Step.quickScan, 'scanning all pairs'],
  [Step.resistance, 'reading ohms'],
  [Step.leak, 'looking for leaks'],
  [Step.potential, 'placing a leak'],
  [Step.inductance, 'inductance'],
  [Step.coupling, 'coupling'],
  [Step.ring, 'ring'],
  [Step.askTouch, 'waiting for steel'],
  [Step.listening, 'listening'],
  [Step.lift, 'waiting for the lift'],
  [Step.magnet, 'magnet'],
  [Step.solve, 'solving'],
  [Step.done, 'done'],
  [Step.cancelled, 'cancelled'],
  [Step.failed, 'failed'],
  [Step.waitHost, 'sending'],
  [Step.asleep, 'asleep, current off'],
  [Step.storing, 'writing its calibration'],
]);

/** What the tester is doing. */
export function stepWords(step: number): string {
  return STEP_WORDS.get(step) ?? `step ${step}`;
}

/** What the button does now: at a touch or a magnet it gives up the wait for the hand. */
export function buttonWords(state: State | null, ended: boolean): string | null {
  if (ended) return 'test again';
  if (state === null) return 'start';
  if (state.step === Step.asleep) return 'wake';
  switch (state.light) {
    case Light.touch: case Light.magnet: return 'skip';
    case Light.lift: case Light.waiting: return 'go on';
    case Light.busy: return null;
    default: return 'start';
  }
}

/** Whether the tester waits for the person's hand: a bell is in place. */
export function wantsHand(state: State | null): boolean {
  return state !== null && state.step !== Step.asleep && (state.light === Light.touch || state.light === Light.magnet);
}

/**
 * The sentence that tells the person what to do.
 * @param places - names by the index that the tester uses @param isVirtual - a key stands for the hand
 */
export function promptOf(state: State | null, places: readonly string[], isVirtual: boolean): string {
  if (state === null) return isVirtual ? 'Press space: the button of the tester.' : 'Waiting for the tester.';
  const place = places[state.place] ?? `place ${state.place + 1}`;
  if (state.step === Step.asleep) {
    return `The tester sleeps, its current off; press the button (space), and it asks again for ${state.light === Light.magnet ? 'the magnet probe' : 'steel'} at the ${place} coil.`;
  }
  switch (state.light) {
    case Light.touch: {
      const key = isVirtual ? ' (press t)' : '';
      return state.ask > 0
        ? `Once more, firmly: touch the ${place} coil with steel, hold, then lift${key}.`
        : `Touch the ${place} coil with plain steel, hold it there, then lift${key}.`;
    }
    case Light.lift:
      return 'Lift the steel away.';
    case Light.magnet:
      return isVirtual
        ? `Hold the magnet probe at the ${place} coil (g), or skip it with space.`
        : `Hold the magnet probe at the ${place} coil, or press the button to skip it.`;
    case Light.waiting:
      return 'The tester waits for this program to take what it measured.';
    case Light.busy:
      return 'Hands off: the tester is measuring.';
    case Light.trap:
      return 'The tester stopped itself and switched its current off; unplug it, plug it in and start again.';
    default:
      return 'Clip on the leads, then press the button (space).';
  }
}
