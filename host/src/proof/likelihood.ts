/**
 * How likely readings at the jack are, if a harness is as a model says.
 *
 * Henries: as ohms, with what capacitors take off known to a half of it. Ohms: ln(read / predicted) is normal; pots differ from what is printed on them, copper from 20 degrees, each all readings
 * alike, and what is left is each reading's own. Touches: nobody knows how much flux a hand makes at a place, so that all
 * amounts are summed over, one for all readings of the place; a neighbour's share of a touch is taken without its sign.
 */
import type { Place } from './places.ts';
import type { JackReading, Swing } from './reading.ts';
import type { Model } from './faults.ts';
import { predict, type Prediction } from './wired.ts';

/** A pot's ohms against what is printed on it: within 20 % (common practice, no published source), evenly spread. */
export const POT_sigma = 0.2 / Math.sqrt(3);
/** Of a resistance beyond its stated uncertainty: joints, switches, and coils that were measured on another day. */
const OHM_sigma = 0.004;
const CONTACT_ohm = 1;
/** Copper (IEC 60028: 0.393 % a kelvin) where nobody read the temperature: 5 K either way of 22 degrees; read: 1.5 K. */
const COPPER_PER_K = 0.00393;
const [ROOM_C, ROOM_K, READ_K] = [22, 5, 1.5];
/** Density of ln(ohm) for a reading that a model does not expect: even over twelve e-foldings, once in ten thousand. */
const STRAY_log = Math.log(1e-4 / 12);
/** Density of ln(ohm) if nothing is known. */
export const ANY_OHM_log = Math.log(1 / 14);

/** Fluxes of a hand at a place, webers, evenly spread in their logarithm. */
const FLUX_Wb = Array.from({ length: 33 }, (_, at) => 1e-4 * 300 ** (at / 32));
/** One touch of a place against the others of the same place and hand (6 dB either way; common practice). */
const HAND_sigma = 0.35;
/** A touch that gives more than this many times what coils beside it may is a hand's. */
const HAND_clear = 2;
/** What of a touch other coils of the pickup get: 8 % (physics.md, section 4), more where they are near. */
const CROSSTALK = 0.12;
/** One touch in 200 is not what it was meant to be: another place, a slip, a lift taken for an arrival. */
const SLIP = 0.005;
/** Width over which such a flux lies, webers. */
const SLIP_Wb = 0.01;
/** Density of a flux if nothing is known, and how narrow silence is against it. */
const [ANY_WIDE, ANY_SILENT] = [2 / 3, 1 / 3];

/** Readings, and what they are compared with. */
export interface Evidence {
  readonly readings: readonly JackReading[];
  readonly places: readonly Place[];
  /** Place of each swing, by reading and swing. */
  readonly placeOf: readonly (readonly number[])[];
}

/** Log likelihood of all readings. @param predictions - one for each reading, pots' slopes included */
export function logLikelihood(evidence: Evidence, model: Model, predictions: readonly Prediction[]): number {
  return ohmLog(evidence.readings, predictions) + inductanceLog(evidence.readings, predictions) + touchLog(evidence, model, predictions);
}

/** The same for a model that is solved here. */
export function fitOf(evidence: Evidence, model: Model): { log: number; predictions: Prediction[] } {
  const predictions = predict(model.wired, evidence.readings, true);
  return { log: logLikelihood(evidence, model, predictions), predictions };
}

/** Standard uncertainty of ln(ohm) as predicted against read, pots and temperature included. */
export function ohmSigma(reading: JackReading, { ohm, potSlopes }: Prediction): number {
  const pots = potSlopes.reduce((sum, slope) => sum + (slope * POT_sigma) ** 2, 0);
  return Math.sqrt(ownVariance(reading, ohm ?? 1) + (copperShare(potSlopes) * copperSigma(reading)) ** 2 + pots);
}

/** By how much copper in the guitar is expected to differ from 20 degrees: ln. */
export function copperShift(reading: JackReading, { potSlopes }: Prediction): number {
  return copperShare(potSlopes) * COPPER_PER_K * ((reading.temperature_C ?? ROOM_C) - 20);
}

const copperShare = (slopes: readonly number[]): number => Math.max(0, 1 - slopes.reduce((sum, slope) => sum + slope, 0));
const copperSigma = ({ temperature_C }: JackReading): number => COPPER_PER_K * (temperature_C === null ? ROOM_K : READ_K);

function ownVariance({ resistance }: JackReading, predicted: number): number {
  const ohm = Math.max(1, resistance?.ohm ?? predicted);
  return OHM_sigma ** 2 + (CONTACT_ohm / ohm) ** 2 + ((resistance?.u_ohm ?? 0) / ohm) ** 2;
}

/** Below this a resistance is a joint, and logarithms of it say nothing. */
const JOINT_ohm = 3;

function ohmLog(readings: readonly JackReading[], predictions: readonly Prediction[]): number {
  let log = 0;
  const residual: number[] = [];
  const own: number[] = [];
  const common: number[][] = [];
  readings.forEach((reading, at) => {
    const { resistance, isUnsteady } = reading;
    if (resistance === null || isUnsteady) return;
    const prediction = predictions[at]!;
    const { ohm: predicted, potSlopes } = prediction;
    const { ohm, above_ohm } = resistance;
    if (ohm === null) log += predicted === null || predicted > 0.5 * above_ohm ? 0 : STRAY_log;
    else if (predicted === null) log += STRAY_log;
    else if (ohm < JOINT_ohm || predicted < JOINT_ohm) log += ohm < 2 * JOINT_ohm && predicted < 2 * JOINT_ohm ? 0 : STRAY_log;
    else {
      residual.push(Math.log(ohm / predicted) - copperShift(reading, prediction));
      own.push(ownVariance(reading, predicted));
      common.push([...potSlopes.map((slope) => slope * POT_sigma), copperShare(potSlopes) * copperSigma(reading)]);
    }
  });
  return log + normalLog(residual, own, common);
}

/**
 * An inductance against that of the wire maps: read in the same way 2 % (cores depend on level and frequency), by another meter
 * at another frequency a good deal more, and then all alike; of what capacitors take off, half.
 */
const [INDUCTANCE_own, INDUCTANCE_common, CAPACITOR_part] = [0.03, 0.1, 0.5];
/** Less is a resistance, or capacitors have the better of the coils: then nothing is said. */
const INDUCTANCE_least_H = 0.05;

/** Standard uncertainty of ln(henry) as predicted against read; null where nothing can be said. */
export function inductanceSigma({ inductance }: JackReading, predicted: Prediction['inductance']): { own: number; common: number } | null {
  if (inductance === null || predicted === null) return null;
  const { henry_H, still_H } = predicted;
  if (!(henry_H > INDUCTANCE_least_H && still_H > INDUCTANCE_least_H)) return null;
  const capacitors = CAPACITOR_part * Math.log(still_H / henry_H);
  return { own: Math.hypot(INDUCTANCE_own, inductance.u_H / inductance.henry_H, capacitors), common: INDUCTANCE_common };
}

function inductanceLog(readings: readonly JackReading[], predictions: readonly Prediction[]): number {
  let log = 0;
  const residual: number[] = [];
  const own: number[] = [];
  const common: number[][] = [];
  readings.forEach((reading, at) => {
    if (reading.inductance === null || reading.isUnsteady) return;
    const predicted = predictions[at]!.inductance;
    const sigma = inductanceSigma(reading, predicted);
    if (sigma === null) {
      log += ANY_OHM_log;
      return;
    }
    residual.push(Math.log(reading.inductance.henry_H / predicted!.henry_H));
    own.push(sigma.own ** 2);
    common.push([sigma.common]);
  });
  return log + normalLog(residual, own, common);
}

/** Log density of residuals that share causes: covariance diag(own) + common common^T, by Cholesky; floored for each reading. */
function normalLog(residual: readonly number[], own: readonly number[], common: readonly (readonly number[])[]): number {
  const n = residual.length;
  const lower = new Float64Array(n * n);
  const white = new Float64Array(n);
  let log = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = (i === j ? own[i]! : 0) + common[i]!.reduce((total, value, k) => total + value * common[j]![k]!, 0);
      for (let k = 0; k < j; k++) sum -= lower[i * n + k]! * lower[j * n + k]!;
      lower[i * n + j] = i === j ? Math.sqrt(Math.max(sum, 1e-12)) : sum / lower[j * n + j]!;
    }
    let rest = residual[i]!;
    for (let k = 0; k < i; k++) rest -= lower[i * n + k]! * white[k]!;
    const width = lower[i * n + i]!;
    // Each reading given those before it; one that fits nowhere must not pull the others.
    const z = rest / width;
    const density = -0.5 * z * z - Math.log(width * Math.sqrt(2 * Math.PI));
    log += Math.max(density, STRAY_log);
    white[i] = density < STRAY_log ? 0 : z;
  }
  return log;
}

/** What steel at a place gives between the clips, for one weber there. */
export interface PlaceShare {
  /** Signed; plus lifted by the touch. */
  readonly direct: number;
  /** Sum of the sizes of the other coils' shares, of the same pickup. */
  readonly others: number;
}

/** @param swapped - pickups of which each sits in the other's place */
export function placeShare(place: Place, places: readonly Place[], { shares }: Prediction, swapped: Model['swapped']): PlaceShare {
  const there = touched(place, places, swapped);
  if (there === null) return { direct: 0, others: 0 };
  let direct = 0;
  const own = new Set<number>();
  for (const { pickup, coil, weight, sense } of there.coils) {
    direct += weight * sense * shares[pickup]![coil]!;
    own.add(coil);
  }
  const others = shares[there.pickup]!.reduce((sum, share, coil) => (own.has(coil) ? sum : sum + Math.abs(share)), 0);
  return { direct, others };
}

/** The place that a touch at a place really meets: that of the other pickup, by its number, where the two are exchanged. */
function touched(place: Place, places: readonly Place[], swapped: Model['swapped']): Place | null {
  if (swapped === null || !swapped.includes(place.pickup)) return place;
  const other = swapped[0] === place.pickup ? swapped[1] : swapped[0];
  const number = places.filter(({ pickup }) => pickup === place.pickup).indexOf(place);
  const theirs = places.filter(({ pickup }) => pickup === other);
  return theirs[number] ?? theirs[0] ?? null;
}

/** By evidence, what its touches are worth by place and shares: most faults leave most places as they are. */
const known = new WeakMap<Evidence, Map<string, number>>();

function touchLog(evidence: Evidence, { swapped }: Model, predictions: readonly Prediction[]): number {
  const { readings, places, placeOf } = evidence;
  const cache = known.get(evidence) ?? new Map<string, number>();
  known.set(evidence, cache);
  const byPlace = new Map<number, { swing: Swing; share: PlaceShare }[]>();
  readings.forEach(({ swings }, at) => {
    swings.forEach((swing, index) => {
      const place = placeOf[at]![index]!;
      const share = placeShare(places[place]!, places, predictions[at]!, swapped);
      byPlace.set(place, [...(byPlace.get(place) ?? []), { swing, share }]);
    });
  });
  let log = 0;
  for (const [place, all] of byPlace) {
    const key = `${place} ${all.map(({ share: { direct, others } }) => `${direct.toFixed(4)} ${others.toFixed(4)}`).join()}`;
    const before = cache.get(key);
    if (before !== undefined) {
      log += before;
      continue;
    }
    const signs = places[place]!.isSignKnown ? [1] : [1, -1];
    const logAt = (flux: number, sign: number): number =>
      all.reduce((sum, { swing, share }) => sum + swingLog(swing, flux * sign * share.direct, flux * share.others), 0);
    const terms = signs.flatMap((sign) => FLUX_Wb.map((flux) => logAt(flux, sign)));
    const own = logMean(terms);
    cache.set(key, own);
    log += own;
  }
  return log;
}

/** @param direct - webers expected, signed @param others - of coils beside, without their signs */
function swingLog({ flux_Wb, u_flux_Wb, sign, doubt }: Swing, direct: number, others: number): number {
  if (flux_Wb === null) return watchedLog(sign, direct, others);
  const beside = Math.hypot(u_flux_Wb, CROSSTALK * others);
  // What a hand gives is never turned over: its logarithm is spread; what is beside it adds either way.
  const hand = direct ** 2 / (direct ** 2 + (HAND_clear * beside) ** 2);
  const densityAt = (flux: number): number =>
    hand * handDensity(flux, direct, beside) + (1 - hand) * normal(flux - direct, Math.hypot(beside, HAND_sigma * direct));
  const density = (1 - doubt) * densityAt(flux_Wb) + doubt * densityAt(-flux_Wb);
  const slip = 0.5 / SLIP_Wb + 0.5 * normal(flux_Wb, u_flux_Wb);
  return Math.log((1 - SLIP) * density + SLIP * slip);
}

/** What a person sees on a meter: a swing from half a milliweber up, its way round with 0.98 at most (file-formats.md, `observed`). */
function watchedLog(sign: 1 | -1 | 0, direct: number, others: number): number {
  const seen = 1 / (1 + (2e-4 / Math.max(Math.abs(direct), 1e-9)) ** 2);
  const beside = (1 - seen) * (0.3 / (1 + (2e-3 / Math.max(others, 1e-9)) ** 2));
  if (sign === 0) return Math.log(0.02 + 0.96 * (1 - seen - beside));
  return Math.log(sign === Math.sign(direct) ? 0.01 + 0.97 * seen + beside / 2 : 0.01 + 0.01 * seen + beside / 2);
}

function normal(from: number, width: number): number {
  return Math.exp(-0.5 * (from / width) ** 2) / (width * Math.sqrt(2 * Math.PI));
}

/** Density of a flux whose logarithm is spread about what is expected. */
function handDensity(flux_Wb: number, direct: number, beside: number): number {
  const ratio = flux_Wb / direct;
  if (!(ratio > 0 && ratio < Infinity)) return 0;
  const width = Math.hypot(HAND_sigma, beside / Math.min(Math.abs(flux_Wb), Math.abs(direct)));
  return normal(Math.log(ratio), width) / Math.abs(flux_Wb);
}

function logMean(logs: readonly number[]): number {
  const most = Math.max(...logs);
  return most + Math.log(logs.reduce((sum, log) => sum + Math.exp(log - most), 0) / logs.length);
}

/** Log likelihood of the readings if nothing at all is known of the harness: what a model must beat to explain them. */
export function anyLog({ readings }: Evidence): number {
  let log = 0;
  for (const { resistance, inductance, isUnsteady, swings } of readings) {
    if (inductance !== null && !isUnsteady) log += ANY_OHM_log;
    if (resistance !== null && !isUnsteady) log += resistance.ohm === null ? Math.log(0.1) : ANY_OHM_log;
    for (const { flux_Wb, u_flux_Wb } of swings) {
      log += flux_Wb === null ? Math.log(1 / 3) : Math.log(ANY_WIDE * (0.5 / SLIP_Wb) + ANY_SILENT * normal(flux_Wb, u_flux_Wb));
    }
  }
  return log;
}
