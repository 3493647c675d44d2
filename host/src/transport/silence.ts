/** Notices a tester that says nothing any more although its cable is in, or whose last words were lost on the way. */
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

/** Of the time in which a sound tester answers, the part after which it is asked once more: a solve takes less. */
const QUIET_SHARE = 0.15;

/**
 * An alarm for a tester that has said nothing for a while. It may be measuring; or its last reports were lost because this
 * computer had no time for them, and now each waits for the other.
 * @returns null for a twin, of which nothing is lost
 */
export function quietAlarm({ answersWithin_ms }: Transport, act: () => void): Alarm | null {
  return answersWithin_ms === undefined ? null : alarm(QUIET_SHARE * answersWithin_ms, act);
}
