/** What each reading shows against what the harness should show, as planned. */
import { listInWords } from '../wiremap/lead-words.ts';
import type { Model } from './faults.ts';
import { copperShift, inductanceSigma, ohmSigma, placeShare, type Evidence, type PlaceShare } from './likelihood.ts';
import type { Place } from './places.ts';
import { DOUBT_most, type JackReading, type Swing } from './reading.ts';
import type { Prediction } from './wired.ts';

export type SwingWord = 'positive' | 'negative' | 'none';

/** A touch, as it was read and as it should have been. */
export interface TouchResult {
  readonly at: string;
  readonly swing: SwingWord;
  /** Null where plus is not known. */
  readonly expected: SwingWord | null;
  /** Null where nobody can say, such as a swing so small that it may be a neighbour's. */
  readonly agrees: boolean | null;
}

/** One reading against the plan. */
export interface ReadingResult {
  /** Null without a path, or where nothing was read. */
  readonly ohm: number | null;
  readonly expected_ohm: number | null;
  /** Of `expected_ohm`, pots of 20 % and the room's temperature included. */
  readonly u_expected_ohm: number;
  readonly ohmAgrees: boolean | null;
  /** Null where none was read, or it cannot be judged. */
  readonly inductance: { readonly henry_H: number; readonly expected_H: number; readonly agrees: boolean } | null;
  readonly touches: readonly TouchResult[];
  /** What differs, a sentence each; empty when all is as planned. */
  readonly differences: readonly string[];
}

/** Resistances farther from the plan than this many of its uncertainties differ. */
const OHM_z = 4;
/** The same of inductances, whose uncertainty is wide and hardly ever used up. */
const INDUCTANCE_z = 3;
/** A share above which a coil should be heard, and below which not. */
const [HEARD_share, SILENT_share] = [0.15, 0.03];
/** Of what a touch should give: less is a neighbour's share, or a slip. */
const HEARD_part = 0.3;
/** Of what the coils beside give when they are touched: less is their share of this touch. */
const BESIDE_part = 0.25;
/** Of a place's usual flux: less is nothing. */
const LEAST_part = 0.045;
/** Flux of a hand where no other touch tells, webers: small, as file-formats.md has it (0.2 to 15 mWb). */
const USUAL_Wb = 1e-3;

/** All readings against the plan. @param predictions - of the harness as planned, one for each reading */
export function differencesOf(evidence: Evidence, predictions: readonly Prediction[]): ReadingResult[] {
  const usual = usualFluxes(evidence, predictions);
  return evidence.readings.map((reading, at) => {
    const prediction = predictions[at]!;
    const ohms = ohmResult(reading, prediction);
    const inductance = inductanceResult(reading, prediction);
    const touches = reading.swings.map((swing, index) => {
      const place = evidence.placeOf[at]![index]!;
      const share = placeShare(evidence.places[place]!, evidence.places, prediction, null);
      return touchResult(swing, share, evidence.places[place]!.isSignKnown, usual[place]!);
    });
    const clear = touches.flatMap((touch, index) => {
      const { isSignKnown } = evidence.places[evidence.placeOf[at]![index]!]!;
      return reading.swings[index]!.doubt <= DOUBT_most ? [{ ...touch, isSignKnown }] : [];
    });
    const against = opposed(clear);
    const differences = [...ohms.differences, ...inductanceDifference(inductance), ...touches.flatMap(touchDifference), ...against];
    return { ...ohms, inductance, touches, differences: [...new Set(differences)] };
  });
}

function inductanceResult(reading: JackReading, { inductance: predicted }: Prediction): ReadingResult['inductance'] {
  const sigma = reading.isUnsteady ? null : inductanceSigma(reading, predicted);
  if (sigma === null) return null;
  const [{ henry_H }, { henry_H: expected_H }] = [reading.inductance!, predicted!];
  return { henry_H, expected_H, agrees: Math.abs(Math.log(henry_H / expected_H)) <= INDUCTANCE_z * Math.hypot(sigma.own, sigma.common) };
}

function inductanceDifference(result: ReadingResult['inductance']): string[] {
  if (result === null || result.agrees) return [];
  return [`${result.henry_H.toPrecision(2)} henry at the clips, where ${result.expected_H.toPrecision(2)} should be`];
}

function ohmResult(reading: JackReading, prediction: Prediction): Omit<ReadingResult, 'touches' | 'inductance'> {
  const { resistance, isUnsteady, live_V } = reading;
  const predicted = prediction.ohm === null ? null : prediction.ohm * Math.exp(copperShift(reading, prediction));
  const u = predicted === null ? 0 : predicted * ohmSigma(reading, prediction);
  const base = { ohm: resistance?.ohm ?? null, expected_ohm: predicted, u_expected_ohm: u };
  if (live_V > 0)
    return { ...base, ohmAgrees: null, differences: [`there are ${live_V.toPrecision(2)} V on the two clips: take out the battery, pull the cable, and read again`] };
  if (isUnsteady) return { ...base, ohmAgrees: null, differences: ['the readings of its ohms do not agree: a joint, the jack or a switch makes contact now and then'] };
  if (resistance === null) return { ...base, ohmAgrees: null, differences: [] };
  const agrees = agreeing(resistance.ohm, resistance.above_ohm, predicted, u);
  if (agrees) return { ...base, ohmAgrees: true, differences: [] };
  const read = resistance.ohm === null ? 'no path' : ohmInWords(resistance.ohm);
  const should = predicted === null ? 'no path' : ohmInWords(predicted);
  return { ...base, ohmAgrees: false, differences: [`${read} at the clips, where ${should} should be`] };
}

function agreeing(ohm: number | null, above: number, predicted: number | null, u: number): boolean {
  if (ohm === null) return predicted === null || predicted > 0.5 * above;
  if (predicted === null) return false;
  if (ohm < 3 && predicted < 3) return true;
  return Math.abs(Math.log(Math.max(ohm, 0.1) / Math.max(predicted, 0.1))) * predicted <= OHM_z * u + 2;
}

/** By place: the flux that a touch there usually gives, from the touches of coils that should be heard. */
function usualFluxes({ readings, places, placeOf }: Evidence, predictions: readonly Prediction[]): number[] {
  const found = places.map((): number[] => []);
  readings.forEach(({ swings }, at) => swings.forEach(({ flux_Wb, sign }, index) => {
    if (flux_Wb === null || sign === 0) return;
    const place = placeOf[at]![index]!;
    const { direct } = placeShare(places[place]!, places, predictions[at]!, null);
    if (Math.abs(direct) > HEARD_share) found[place]!.push(Math.abs(flux_Wb / direct));
  }));
  const all = found.flat();
  return found.map((some) => (some.length > 0 ? Math.max(...some) : Math.max(USUAL_Wb, ...all)));
}

function touchResult(swing: Swing, { direct, others }: PlaceShare, isSignKnown: boolean, usual: number): TouchResult {
  const word = (sign: number): SwingWord => (sign > 0 ? 'positive' : sign < 0 ? 'negative' : 'none');
  const should = Math.abs(direct) < SILENT_share ? 0 : Math.sign(direct);
  const least = usual * Math.max(HEARD_part * Math.abs(direct), BESIDE_part * others, LEAST_part);
  const isFaint = swing.flux_Wb !== null && swing.sign !== 0 && Math.abs(swing.flux_Wb) < least;
  const heard = isFaint ? 0 : swing.sign;
  const expected = should === 0 ? 'none' : isSignKnown ? word(should) : null;
  const base = { at: swing.at, swing: word(heard), expected } as const;
  if (should !== 0 && Math.abs(direct) < HEARD_share) return { ...base, agrees: null };
  if (heard === 0 || should === 0) return { ...base, agrees: heard === 0 && should === 0 };
  if (!isSignKnown || heard === should) return { ...base, agrees: true };
  return { ...base, agrees: swing.doubt > DOUBT_most ? null : false };
}

/** Coils that swing against each other where nobody could say beforehand. */
function opposed(touches: readonly (TouchResult & { readonly isSignKnown: boolean })[]): string[] {
  const named = (word: SwingWord): string[] => [...new Set(touches.filter(({ swing }) => swing === word).map(({ at }) => at))];
  const [up, down] = [named('positive'), named('negative')];
  if (up.length === 0 || down.length === 0 || touches.every(({ swing, isSignKnown }) => swing === 'none' || isSignKnown)) return [];
  return [`${listInWords(up)} and ${listInWords(down)} swing against each other, which the wire map could not tell`];
}

function touchDifference({ at, swing, expected, agrees }: TouchResult): string[] {
  if (agrees !== false) return [];
  if (swing === 'none') return [`${at} is silent and should sound`];
  if (expected === 'none') return [`${at} sounds (${swing}) and should be silent`];
  return [`${at} swings ${swing}, not ${expected}`];
}

/** Ohms as a meter shows them. */
export function ohmInWords(ohm: number): string {
  if (ohm < 1000) return `${ohm < 10 ? ohm.toPrecision(1) : ohm.toFixed(0)} ohm`;
  return ohm < 1e6 ? `${(ohm / 1000).toPrecision(3)} k` : `${(ohm / 1e6).toPrecision(3)} M`;
}

/** The settings that were read, each once. */
export function settingsRead({ readings }: Evidence): Set<number> {
  return new Set(readings.filter(({ between, lifted }) => between === null && lifted.length === 0).map(({ setting }) => setting));
}

/** What a model shows at a probe. */
export interface Shown {
  readonly prediction: Prediction;
  readonly swapped: Model['swapped'];
}

/** Whether neither ohms nor swings can tell two models apart. */
export function areAlike({ prediction: a, swapped }: Shown, { prediction: b, swapped: theirs }: Shown, places: readonly Place[]): boolean {
  if ((a.ohm === null) !== (b.ohm === null)) return false;
  if (a.ohm !== null && b.ohm !== null && Math.abs(a.ohm - b.ohm) > 0.002 * Math.max(a.ohm, b.ohm) + 1) return false;
  return places.every((place) => {
    const [one, other] = [placeShare(place, places, a, swapped), placeShare(place, places, b, theirs)];
    const gap = place.isSignKnown ? Math.abs(one.direct - other.direct) : Math.abs(Math.abs(one.direct) - Math.abs(other.direct));
    return gap < 0.01;
  });
}

