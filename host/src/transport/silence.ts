/** Notices a tester that says nothing any more although its cable is in. */
import { alarm, type Alarm } from '../edge/clock.ts';
import type { Transport } from './transport.ts';

export type { Alarm };

/**
 * An alarm for a tester that says nothing for as long as it may at most; each report puts it off.
 * @returns null for a twin, which may take any time
 */
export function silenceAlarm({ answersWithin_ms }: Transport, act: () => void): Alarm | null {
  return answersWithin_ms === undefined ? null : alarm(answersWithin_ms, act);
}
