/** What a touch is worth, for the tests that judge how well touches are read. */
import type { ReadChannel } from '../../host/src/evidence/touch-reader.ts';

/** Probability of the more likely sign of a channel. */
export function confidenceOf(channel: ReadChannel): number {
  return 1 / (1 + Math.exp(-Math.abs(channel.signLogOdds)));
}
