/** The question that a colleague who looks on would ask before a reading is noted. */
import { listInWords } from '../wiremap/lead-words.ts';
import { areAlike, contradictionOf, leastChain, type OhmsAsk, type OhmsRead } from './chains.ts';
import { LEAK_ohm, type OhmsBelief } from './ohms-belief.ts';
import { isSameAsk, type Answered, type Ask, type Lying } from './reading.ts';
import { ohmsInWords, OVER_RANGE_ohm, type TypedOhms, type TypedSwing } from './values.ts';

/** A question back. Yes takes `instead`, or reads again where there is none; no keeps what was typed. */
export interface Doubt {
  readonly text: string;
  readonly instead: TypedOhms | TypedSwing | null;
  /** It is not what was typed that is in doubt but what this was answered before: yes keeps what was typed, and notes that as `value`. */
  readonly earlier?: { readonly ask: Ask; readonly value: TypedSwing | null };
}

/** Whether yes is a yes, or reads again. */
export function hasAnswer({ instead, earlier }: Doubt): boolean {
  return instead !== null || earlier !== undefined;
}

type SwingAsk = Extract<Ask, { kind: 'swing' }>;
interface SwingRead { readonly ask: SwingAsk; readonly value: TypedSwing }

/** What was read before the one in question. */
export interface Before {
  readonly lying: Lying;
  readonly answers: readonly Answered[];
  readonly belief: OhmsBelief;
  /** Coils that the map of them has. */
  readonly coils: readonly { readonly ends: readonly [number, number] }[];
}

/** A winding has this much (2 to 25 kilohm, three in series 75; common practice, no published source). */
const COIL_ohm = { least: 2000, most: 8e4 } as const;
/** Less than the first is a joint, less than the second as ohms no winding; the solver asks between the same two. */
const SMALL_ohm = { least: 1, most: 100 } as const;
/** What simple digital meters show over range. */
const LONE_ONE_ohm = 1;
/** A whole winding below this is rare. */
const LITTLE_ohm = 1000;
/** Surer than this that two leads conduct, or do not. */
const SURE = 0.97;
/** A prediction is worth telling when it is this narrow and this probable. */
const TOLD = { share: 0.06, probability: 0.05 } as const;
/** Size of a swing that steel makes on a meter; and of the neighbour's share of the touched coil's. */
const SWING_V = { least: 1e-3, most: 2 } as const;
const NEIGHBOUR_share = 0.34;

/** The question about a reading, or null when nobody would ask. */
export function doubtOf({ ask, value }: Answered, before: Before): Doubt | null {
  if (value === null) return null;
  if (ask.kind === 'ohms') return ohmsDoubt(ask, value as TypedOhms, before);
  if (ask.kind === 'swing') return swingDoubt(ask, value as TypedSwing, before);
  return poleDoubt(ask, value as 'N' | 'S', before);
}

// ---------------------------------------------------------------- Ohms

function ohmsDoubt(ask: OhmsAsk, typed: TypedOhms, before: Before): Doubt | null {
  const { ohm } = typed;
  const indices = [ask.a, ask.b].map((clip) => before.lying.leads.findIndex((lead) => lead.clip === clip));
  const [i, j] = [Math.min(...indices), Math.max(...indices)];
  const read = ohmsRead(before.answers);
  const conducts = before.belief.conducts(i, j);
  const isExplained = !before.belief.isAstray;
  const pair = pairWords(ask);
  const again = read.find(({ ask: other }) => isSameAsk(other, ask));
  if (ohm === null) {
    if (again !== undefined) return againDoubt(again, typed);
    const by = isExplained && conducts > SURE ? leastChain({ ask }, read) : null;
    return by === null ? impossible({ ask, value: typed }, read) : openDoubt(ask, by);
  }
  if (ohm === LONE_ONE_ohm) {
    return { text: 'A lone 1 at the left of a digital meter is over range: is it that?', instead: { ohm: null, above_ohm: OVER_RANGE_ohm } };
  }
  if (ohm >= SMALL_ohm.least && ohm < SMALL_ohm.most) {
    const kilo = kilohms(ohm);
    const text = `${ohmsInWords(ohm)} is more than a joint and far too little for a coil`;
    return kilo.ohm <= COIL_ohm.most ? { text: `${text}: is that ${ohmsInWords(kilo.ohm)}?`, instead: kilo }
      : { text: `${text}, and ${ohmsInWords(kilo.ohm)} is more than any winding has: read it again?`, instead: null };
  }
  if (ohm >= LEAK_ohm) {
    return { text: `${ohmsInWords(ohm)}: fingers on both tips read about so. Hold the tips by their insulation, wait until it stands still. Read it again?`, instead: null };
  }
  if (ohm > COIL_ohm.most) {
    const tenth = { ohm: Number((ohm / 10).toPrecision(12)) };
    return { text: `${ohmsInWords(ohm)} is more than any winding has: is that ${ohmsInWords(tenth.ohm)}?`, instead: tenth };
  }
  if (again !== undefined) return againDoubt(again, typed);
  if (isExplained && conducts < 1 - SURE) {
    const open = read.filter(({ ask: other, value }) => value.ohm === null && touches(other, ask));
    const known = open.length === 0 ? '' : ` since ${listInWords(open.slice(0, 3).map(({ ask: other }) => pairWords(other)))} did`;
    return { text: `Leads ${pair} should read over range${known}: are the tips on the right leads? Read it again?`, instead: null };
  }
  const isFirst = !read.some(({ ask: other, value }) => value.ohm !== null && touches(other, ask));
  if (isFirst && ohm >= SMALL_ohm.most && ohm < LITTLE_ohm)
    return { text: `${ohmsInWords(ohm)} is little for a coil, which usually has 2 to 25 k: look at the meter's range. Read it again?`, instead: null };
  const doubt = isExplained && !before.belief.fits({ i, j, ohm }, false) ? misfit(ask, ohm, i, j, before, read) : null;
  return doubt ?? impossible({ ask, value: typed }, read);
}

/** What no network of resistances reads, be it a likely one or not. */
function impossible(typed: OhmsRead, read: readonly OhmsRead[]): Doubt | null {
  const found = contradictionOf(typed, read);
  if (found === null) return null;
  const pair = pairWords(typed.ask);
  const have = (some: readonly OhmsRead[]): string => listInWords(some.map(({ ask, value }) => `${pairWords(ask)} ${shownInWords(value)}`));
  switch (found.kind) {
    case 'open': return openDoubt(typed.ask, found.chain);
    case 'more':
      return { text: `With leads ${have(found.chain)}, ${pair} can have no more than ${roundInWords(found.most_ohm)}, not ${shownInWords(typed.value)}: read it again?`, instead: null };
    case 'less':
      return {
        text: `With leads ${have([found.other, ...found.rest])}, ${pair} has at least ${roundInWords(found.least_ohm)}, not ${shownInWords(typed.value)}: read it again?`,
        instead: null,
      };
    case 'was open': {
      const { other, chain } = found;
      return {
        text: `Leads ${listInWords(chain.map(({ ask }) => pairWords(ask)))} conduct, so ${pairWords(other.ask)} should too, but it read ${shownInWords(other.value)} before: ` +
          'was that a slip, to be noted no more? (No: both stay.)',
        instead: null, earlier: { ask: other.ask, value: null },
      };
    }
  }
}

function openDoubt(ask: OhmsAsk, chain: readonly OhmsRead[]): Doubt {
  const by = listInWords(chain.map((one) => pairWords(one.ask)));
  return { text: `Leads ${by} conduct, so ${pairWords(ask)} should too: is a clip off, or the meter on too low a range? Read it again?`, instead: null };
}

/** A pair that was asked for again since it fits no others: what it reads now is believed, unless it comes and goes. */
function againDoubt({ ask, value: before }: OhmsRead, { ohm }: TypedOhms): Doubt | null {
  if (ohm === null || before.ohm === null ? ohm === before.ohm : areAlike(ohm, before.ohm)) return null;
  return {
    text: `Leads ${pairWords(ask)} read ${shownInWords(before)} before: was that a slip, to be noted no more? (No: it comes and goes.)`,
    instead: null, earlier: { ask, value: null },
  };
}

/** Nothing that is still likely reads so: says what should have been read, by what, and which slip would explain it. */
function misfit(ask: OhmsAsk, ohm: number, i: number, j: number, { belief }: Before, read: readonly OhmsRead[]): Doubt | null {
  const expected = belief.outlook(i, j).predictions
    .filter(({ ohm: mean, sd_ohm, probability }) =>
      mean !== null && probability > TOLD.probability && sd_ohm < Math.max(1, TOLD.share * mean))
    .map(({ ohm: mean, sd_ohm }) => ({ mean: mean!, sd_ohm })).slice(0, 2);
  const cited = read.filter(({ ask: other, value }) => value.ohm !== null && touches(other, ask)).slice(0, 3);
  if (expected.length === 0 || cited.length === 0) return null;
  const should = expected.map(({ mean }) => (mean < SMALL_ohm.least ? 'next to nothing' : roundInWords(mean))).join(' or ');
  const have = cited.map(({ ask: other, value }) => `${pairWords(other)} ${ohmsInWords(value.ohm!)}`);
  const text = `With leads ${listInWords(have)}, ${pairWords(ask)} should be ${should}, not ${ohmsInWords(ohm)}`;
  const slip = [10, 0.1, 1000, 1e-3].map((factor) => Number((ohm * factor).toPrecision(12)))
    .find((other) => expected.some(({ mean, sd_ohm }) => Math.abs(other - mean) < Math.max(4 * sd_ohm, 0.02 * mean)));
  return slip === undefined ? { text: `${text}: read it again?`, instead: null } : { text: `${text}: is that ${ohmsInWords(slip)}?`, instead: { ohm: slip } };
}

const shownInWords = ({ ohm }: TypedOhms): string => (ohm === null ? 'over range' : ohmsInWords(ohm));
/** What was reckoned, at the digits of a meter. */
const roundInWords = (ohm: number): string => ohmsInWords(Number(ohm.toPrecision(3)));
const kilohms = (ohm: number): { ohm: number } => ({ ohm: Number((ohm * 1000).toPrecision(12)) });
const ohmsRead = (answers: readonly Answered[]): OhmsRead[] =>
  answers.filter((one): one is OhmsRead => one.ask.kind === 'ohms' && one.value !== null);
const pairWords = ({ a, b }: OhmsAsk): string => `${a}-${b}`;
const touches = (one: OhmsAsk, other: OhmsAsk): boolean => [one.a, one.b].some((clip) => clip === other.a || clip === other.b);

// ---------------------------------------------------------------- Swings

function swingDoubt(ask: SwingAsk, typed: TypedSwing, { lying, answers, coils }: Before): Doubt | null {
  const { swing, peak_V } = typed;
  if (peak_V !== undefined && peak_V > SWING_V.most) {
    const small = { swing, peak_V: Number((peak_V / 1000).toPrecision(6)) };
    return { text: `${voltsInWords(peak_V)} is far more than steel makes: is that ${voltsInWords(small.peak_V)}?`, instead: small };
  }
  if (peak_V !== undefined && peak_V < SWING_V.least) {
    const large = { swing, peak_V: Number((peak_V * 1000).toPrecision(6)) };
    return { text: `${voltsInWords(peak_V)} is too little to be seen: is that ${voltsInWords(large.peak_V)}?`, instead: large };
  }
  const read = answers.filter((one): one is SwingRead => one.ask.kind === 'swing' && one.value !== null);
  const coil = coilWords(ask);
  const before = read.findLast(({ ask: other }) => other.at === ask.at && coilWords(other) === coil)?.value;
  if (before !== undefined && before.swing !== swing) {
    return { text: before.swing === 'none' || swing === 'none'
      ? `Leads ${coil} ${before.swing === 'none' ? 'stayed still' : 'swung'} at ${ask.at} before: was the steel on the same coil, and quick? Look once more?`
      : `Leads ${coil} went the other way at ${ask.at} before: the first move counts, as the steel arrives; as it leaves all goes back. Look once more?`,
    instead: null };
  }
  // It was asked when it was noted first.
  if (before !== undefined) return null;
  if (swing === 'none') return stillDoubt(ask, read, coils);
  return shareDoubt(ask, typed, read) ?? placeDoubt(ask, typed, read, coils.length >= lying.places.length);
}

/** Everything stays still at a place: a touch that was none, or a broken coil. */
function stillDoubt(ask: SwingAsk, read: readonly SwingRead[], coils: Before['coils']): Doubt | null {
  const here = read.filter(({ ask: other }) => other.at === ask.at);
  const looked = new Set([...here.map(({ ask: other }) => coilWords(other)), coilWords(ask)]);
  const isAll = here.every(({ value }) => value.swing === 'none') && coils.every(({ ends: [minus, plus] }) => looked.has(`${minus}-${plus}`));
  return isAll ? { text: `Nothing swings at ${ask.at}: was it plain steel, quick and right on the pole, on the lowest range of volts? Look once more?`, instead: null } : null;
}

/** A coil sits in one place: of two swings of one hand the far smaller one is a neighbour's share.
 * @param isOneEach - whether there is a coil for each place, so that none holds two
 */
function placeDoubt(ask: SwingAsk, { peak_V }: TypedSwing, read: readonly SwingRead[], isOneEach: boolean): Doubt | null {
  const elsewhere = read.filter(({ ask: other, value }) => other.at !== ask.at && coilWords(other) === coilWords(ask) && value.swing !== 'none');
  if (!isOneEach || elsewhere.length === 0) return null;
  const sized = elsewhere.filter(({ value }) => value.peak_V !== undefined).sort((one, other) => one.value.peak_V! - other.value.peak_V!);
  const [least, most] = [sized[0], sized.at(-1)];
  const none: TypedSwing = { swing: 'none' };
  const coil = coilWords(ask);
  if (peak_V === undefined || least === undefined || most === undefined) {
    return { text: `Leads ${coil} swung at ${elsewhere[0]!.ask.at} too, and a coil sits in one place: is this a neighbour's small share, to be noted as 0?`, instead: none };
  }
  const sizes = (one: SwingRead): string => `Leads ${coil} show ${voltsInWords(peak_V)} at ${ask.at} and ${voltsInWords(one.value.peak_V!)} at ${one.ask.at}, and a coil sits in one place`;
  if (peak_V < NEIGHBOUR_share * most.value.peak_V!)
    return { text: `${sizes(most)}: is this a neighbour's small share, to be noted as 0?`, instead: none };
  if (least.value.peak_V! < NEIGHBOUR_share * peak_V) {
    return {
      text: `${sizes(least)}: are those ${voltsInWords(least.value.peak_V!)} a neighbour's small share, to be noted as 0?`,
      instead: null, earlier: { ask: least.ask, value: none },
    };
  }
  return { text: `${sizes(most)}: did the steel touch one coil alone? Look once more?`, instead: null };
}

/** Another coil swung at this place: the smaller swing is a neighbour's share. */
function shareDoubt(ask: SwingAsk, { peak_V }: TypedSwing, read: readonly SwingRead[]): Doubt | null {
  const coil = coilWords(ask);
  const other = read.find(({ ask: one, value }) =>
    value.swing !== 'none' && one.at === ask.at && coilWords(one) !== coil && !sharesLead(one, ask));
  if (other === undefined) return null;
  const { peak_V: larger_V } = other.value;
  const none: TypedSwing = { swing: 'none' };
  if (peak_V !== undefined && larger_V !== undefined) {
    if (peak_V < NEIGHBOUR_share * larger_V)
      return { text: `${voltsInWords(peak_V)} beside ${voltsInWords(larger_V)} of ${coilWords(other.ask)} is the neighbour's share: note it as 0?`, instead: none };
    return larger_V < NEIGHBOUR_share * peak_V ? null
      : { text: `Leads ${coilWords(other.ask)} swung about as much at ${ask.at}: did the steel touch one coil alone? Look once more?`, instead: null };
  }
  return { text: `Leads ${coilWords(other.ask)} swung at ${ask.at} too, and a neighbour shows a tenth or so: is this the much smaller one, to be noted as 0?`, instead: none };
}

/** A coil by its leads, whichever was plus. */
function coilWords({ plus, minus }: SwingAsk): string {
  return plus < minus ? `${plus}-${minus}` : `${minus}-${plus}`;
}
function sharesLead(one: SwingAsk, other: SwingAsk): boolean {
  return [one.plus, one.minus].some((clip) => clip === other.plus || clip === other.minus);
}

function voltsInWords(volts: number): string {
  return volts < 1 ? `${Number((volts * 1000).toPrecision(3))} mV` : `${Number(volts.toPrecision(3))} V`;
}

// ---------------------------------------------------------------- Poles

function poleDoubt({ at }: Extract<Ask, { kind: 'compass' }>, pole: 'N' | 'S', { lying, answers }: Before): Doubt | null {
  const place = lying.places.indexOf(at);
  const beside = lying.places.filter((_, other) => Math.abs(other - place) === 1);
  const same = answers.find(({ ask, value }) => ask.kind === 'compass' && beside.includes(ask.at) && value === pole);
  if (same === undefined) return null;
  const word = pole === 'N' ? 'north' : 'south';
  return {
    text: `${at} and ${(same.ask as { at: string }).at} both ${word}: coils beside each other mostly differ. Was the compass right over ${at} and away from the other? Look once more?`,
    instead: null,
  };
}
