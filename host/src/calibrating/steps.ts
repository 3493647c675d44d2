/** The steps of a calibration, each in itself: what the person does first, what the tester reads, and what is told of it. */
import type { Calibration, CalibrationStep } from '../logic/calibration-page.ts';
import type { Interview } from '../transport/interview.ts';
import { leadsFrom, readJoined } from './joined-clips.ts';
import { KNOWN_least_ohm, KNOWN_most_ohm, readKnown, scaleFrom, type KnownResistor, type ScaleOutcome } from './known-resistor.ts';
import { fixtureFrom, readOpenClips } from './open-clips.ts';
import { readRamps, widthsFrom } from './ramp.ts';

/** What a step found: values to be kept, or why there are none. */
export type StepOutcome =
  | { readonly kind: 'found'; readonly change: Partial<Calibration>; readonly told: string }
  | { readonly kind: 'refused'; readonly sentence: string };

export type Step = {
  readonly name: StepName;
  /** What of the calibration it gives. */
  readonly gives: CalibrationStep;
  readonly title: string;
  /** What the person does first. */
  readonly prepare: string;
  /** Whether the value of a resistor is needed. */
  readonly needsKnown: boolean;
  /** @param values - of the calibration in use */
  run(interview: Interview, values: Calibration, known: KnownResistor | undefined): Promise<StepOutcome>;
};

export const STEP_NAMES = ['ramp', 'open', 'short', 'resistor'] as const;
export type StepName = (typeof STEP_NAMES)[number];

const refused = (sentence: string): StepOutcome => ({ kind: 'refused', sentence });
const listed = (clips: readonly number[]): string => clips.join(', ');

/** The ramp comes first: the widths that it gives sharpen what the open clips tell. */
export const STEPS: readonly Step[] = [
  {
    name: 'ramp', gives: 'codes', title: 'the ramp: how wide the listening converter\'s four wide codes are',
    prepare: 'Take everything off the six clips and lay them apart, on wood or card.',
    needsKnown: false,
    async run(interview) {
      const outcome = widthsFrom(await readRamps(interview));
      switch (outcome.kind) {
        case 'found':
          return { kind: 'found', change: outcome.change, told: `wide codes ${outcome.change.wideCodes.map((width) => width.toFixed(2)).join(', ')}, u ${outcome.u.toFixed(2)} of a code` };
        case 'noRamp': return refused('the ramp did not go through all codes; take everything off clip 1 and try again, and if it stays so look at the board with tapstone check');
        case 'misfit': return refused('no widths fit the ramp; keep your hands off the leads and try again, and if it stays so look at the board with tapstone check');
      }
    },
  },
  {
    name: 'open', gives: 'fixture', title: 'open clips: the capacitance of each clip and its lead',
    prepare: 'Leave the six clips empty and apart from each other, the leads as they lie when you work.',
    needsKnown: false,
    async run(interview, values) {
      const outcome = fixtureFrom(await readOpenClips(interview), values);
      switch (outcome.kind) {
        case 'found': {
          const { fixture_F, fixture_u_F } = outcome.change;
          return { kind: 'found', change: outcome.change, told: `clips 1 to 6 hold ${fixture_F.map((farad) => (farad * 1e12).toFixed(1)).join(', ')} pF, u ${(fixture_u_F * 1e12).toFixed(1)} pF` };
        }
        case 'occupied':
          return refused(`${outcome.clips.length === 1 ? `clip ${listed(outcome.clips)} holds` : `clips ${listed(outcome.clips)} hold`} more or less than an open clip does, 120 to 600 pF; take everything off and try again`);
        case 'faulty': return refused('the resistor that the clips are read with is not 100 kilohm within 3 %; look at the board with tapstone check');
      }
    },
  },
  {
    name: 'short', gives: 'zero', title: 'joined clips: the ohms of each lead',
    prepare: 'Clip all six clips onto one short piece of thick bare copper, close together and firmly.',
    needsKnown: false,
    async run(interview) {
      const outcome = leadsFrom(await readJoined(interview));
      switch (outcome.kind) {
        case 'found': {
          const { zero_ohm, zero_u_ohm } = outcome.change;
          return { kind: 'found', change: outcome.change, told: `leads 1 to 6 have ${zero_ohm.map((ohm) => ohm.toFixed(3)).join(', ')} ohms, u of two ${zero_u_ohm.toFixed(3)}` };
        }
        case 'open': {
          const [low, high] = outcome.pairs[0]!;
          return refused(`nothing conducts between clips ${low} and ${high}${outcome.pairs.length > 1 ? ` (and ${outcome.pairs.length - 1} other pairs)` : ''}; all six go on one piece of copper`);
        }
        case 'notJoined':
          return refused(`between clips ${outcome.pair[0]} and ${outcome.pair[1]} are ${outcome.ohm.toFixed(2)} ohms, expected 4 at most; all six go on one piece of copper, with nothing between`);
        case 'scattered':
          return refused(`the readings do not fit six leads${Number.isFinite(outcome.scatter_ohm) ? `, they are ${outcome.scatter_ohm.toFixed(3)} ohms off, expected 0.02 at most` : ''}; clean the clips, press them on firmly and try again`);
      }
    },
  },
  {
    name: 'resistor', gives: 'ohm', title: 'a known resistor: the scale of all ohms',
    prepare: `Take everything off, clip a resistor of ${KNOWN_least_ohm} to ${KNOWN_most_ohm} ohms that a four-wire meter has read on clips 1 and 2, and let it come to the warmth of the room.`,
    needsKnown: true,
    async run(interview, values, known) {
      const readings = await readKnown(interview);
      const outcome = scaleFrom(readings, known!, values.reference_ohm);
      if (outcome.kind !== 'found') return refused(scaleRefused(outcome, known!));
      return { kind: 'found', change: outcome.change, told: scaleTold(outcome, known!) };
    },
  },
];

const ppm = (share: number): string => `${share < 0 ? '-' : '+'}${Math.abs(share * 1e6).toFixed(0)} ppm`;

function scaleTold(outcome: ScaleOutcome & { readonly kind: 'found' }, known: KnownResistor): string {
  const { reference_ohm, reference_u } = outcome.change;
  return `${outcome.read.ohm.toFixed(3)} ohms were read where ${known.ohm} are: the scale moves by ${ppm(outcome.moves)}, ` +
    `reference ${reference_ohm.toFixed(3)} ohms, u ${(reference_u * 1e6).toFixed(0)} ppm`;
}

/** What must be mended first. */
function scaleRefused(outcome: Exclude<ScaleOutcome, { kind: 'found' }>, known: KnownResistor): string {
  switch (outcome.kind) {
    case 'open': return 'nothing is connected between clips 1 and 2; clip the resistor there and nothing else';
    case 'scattered':
      return `the readings differ by ${(outcome.scatter * 1e6).toFixed(0)} ppm, expected 55 at most; clean the clips, let the resistor cool and try again`;
    case 'implausible':
      return `${outcome.read.ohm.toFixed(2)} ohms are on clips 1 and 2 and ${known.ohm} were typed, ` +
        `which would put the tester's reference ${(outcome.off * 100).toFixed(2)} % off, expected 0.1 at most; check the value and what else is clipped on`;
  }
}
