/** What is said to a person who reads with meters of their own. */
import { CAUTIONS } from '../text/cautions.ts';
import { colourInWords } from '../wiremap/colours.ts';
import { hasAnswer } from './doubts.ts';
import type { Answered, Ask, Lying } from './reading.ts';
import type { Prompt } from './session.ts';
import { ohmsInWords, type TypedOhms, type TypedSwing } from './values.ts';

/** A lead by its number and its colour in words: `lead 1, blue (BU)`. */
function leadInFull(clip: number, { leads }: Lying): string {
  const colour = leads.find((lead) => lead.clip === clip)?.colour;
  return colour === undefined ? `lead ${clip}` : `lead ${clip}, ${colourInWords(colour)}`;
}

/** What to do now, in one or two sentences. */
export function askInWords(ask: Ask, lying: Lying): string {
  switch (ask.kind) {
    case 'ohms':
      return `${ask.isAgain === true ? 'Again, since three do not fit: ohms' : 'Ohms'} between ${leadInFull(ask.a, lying)}, and ${leadInFull(ask.b, lying)}.`;
    case 'swing':
      return `${ask.isAgain ? 'Again, to be sure: plus' : 'Plus'} of the meter on ${leadInFull(ask.plus, lying)}, minus on ` +
        `${leadInFull(ask.minus, lying)}. Touch the coil "${ask.at}" with steel: which way first?` +
        (ask.wantsSize ? ' And how large, such as +66 for 66 mV?' : '');
    case 'compass':
      return `Compass to the face of the coil "${ask.at}": which pole does the face show?`;
  }
}

/** What is typed as the answer. */
export const ANSWERS: Readonly<Record<Ask['kind'], string>> = {
  ohms: 'as the meter shows it: 4.13k, 4k13, 7,9k, 0.4, 3.9M, OL for over range',
  swing: '+ or -, as the meter first moves, or 0 for no move',
  compass: 'n north (the needle\'s south end goes to it), s south (its north end does)',
};

/** How a reading is taken: said in full before the first of its kind, and whenever it is asked for. */
export const HOW: Readonly<Record<Ask['kind'], readonly string[]>> = {
  ohms: [
    'Ohmmeter on a range for 20 k. Tips on these two leads, the other leads free, fingers on the insulation: a body reads as a megohm.',
    'Over range there? See that both tips bite on bare metal, and turn to the highest range before you type OL: a tip that is off, a leak and an open pair differ only so.',
    'A coil takes a second to settle, and kicks back when the tips come off.',
  ],
  swing: [
    'Needle meter: its lowest range of direct volts, a quarter volt or less (or microamperes). The needle twitches one way as steel arrives and the other way as it leaves: the first move counts, + up the scale, - against the stop.',
    'Digital meter: the millivolt range, held fixed, its slow average off if it has one. Watch the first number that is not 0; without a sign it is +; peaks are tens of millivolts.',
    'Touch the pole once, quickly, with the flat of a steel tool, no magnet; hold still; then look at the meter. The coil beside it shows a tenth or so of that: such a small move is 0.',
  ],
  compass: [
    'Lay the compass flat before the face, right over this coil, the other coil a finger away. Opposite poles attract: the needle\'s north end goes to a south face.',
    'Hold it off a hand\'s breadth first, and see that it still points north there afterwards: a strong magnet can turn a small needle\'s poles.',
  ],
};

/** What can hurt while readings are taken, besides what can while a pickup is wired. */
export const READING_CAUTIONS: readonly string[] = [
  'Read a pickup that is out of its instrument and wired to nothing; an ohmmeter on a live circuit, and a hand in an amplifier, come to harm.',
  CAUTIONS[2]!,
  CAUTIONS[3]!,
];

/** What was read, for the list: `1-4  4.13 k`. */
export function answeredInWords({ ask, value }: Answered): string {
  const what = ask.kind === 'ohms' ? `ohms ${ask.a}-${ask.b}` : ask.kind === 'swing' ? `${ask.at}, plus on ${ask.plus}, minus on ${ask.minus}` : `face of ${ask.at}`;
  return `${what}: ${valueInWords(ask.kind, value)}`;
}

/** What came of a reading: `over range`, `4.13 k`, `+ 66 mV`, `north`, `skipped`. */
function valueInWords(kind: Ask['kind'], value: Answered['value']): string {
  if (value === null) return 'skipped';
  if (kind === 'compass') return value === 'N' ? 'north' : 'south';
  if (kind === 'ohms') {
    const ohms = value as TypedOhms;
    return ohms.ohm === null ? `over range (more than ${ohmsInWords(ohms.above_ohm)})` : ohmsInWords(ohms.ohm);
  }
  const { swing, peak_V } = value as TypedSwing;
  const sign = { positive: '+', negative: '-', none: '0' }[swing];
  return peak_V === undefined ? sign : `${sign} ${Number((peak_V * 1000).toPrecision(3))} mV`;
}

/** What is asked before the readings, with what is typed as the answer. */
export const FIRST: Readonly<Record<'leads' | 'places', readonly [ask: string, answer: string]>> = {
  leads: [
    'Number the leads from 1 with a bit of tape; the map calls lead 1 clip 1. Which are they?',
    'how many, or their colours in order: BU YE GY BARE (codes of IEC 60757; BARE is uncoated, ? a colour not noted)',
  ],
  places: [
    'In how many places can steel touch a coil? Two rows of poles are two places.',
    '1, 2 or 3, or names of your own: upper, lower',
  ],
};

/** What is asked now, with what is typed as the answer. */
export function promptInWords(prompt: Prompt, lying: Lying): readonly [ask: string, answer: string] {
  switch (prompt.kind) {
    case 'leads':
    case 'places':
      return FIRST[prompt.kind];
    case 'reading':
      return [`${prompt.of === null ? '' : 'Once more: '}${askInWords(prompt.ask, lying)}`, ANSWERS[prompt.ask.kind]];
    case 'doubt':
      return [prompt.doubt.text, `y ${hasAnswer(prompt.doubt) ? 'yes' : 'read again'}, n no, keep it as typed${prompt.ask.kind === 'compass' ? '' : ', or the reading once more'}`];
    case 'which':
      return ['Which reading is to be corrected?', 'its number in the list'];
    case 'done':
      return ['No reading that is left is expected to change what to do with this pickup.', 'Enter for the map'];
  }
}
