/** Looks things up in the evidence by vertex: inductance, coupling, and how well a set of windings explains the touches. */
import { ChannelEvidence, EntryFlag, Swing, TouchFlag } from '../../layout';
import { channelOf, couplingEvidence, evidence, inductanceEvidence, observedEvidence, touchEvidence } from '../../blocks';
import { CLIPS, nodeOf, ohmOf, PAIR_FILLED, PAIR_VALUE, stateOf } from './workspace';
import { ASSUMED_u, ASUNDER_u, BELOW_u, CLEAR_u, UNEVEN_k } from './limits';

@inline export function channelAt(t: u32, c: u32): ChannelEvidence { return channelOf(touchEvidence(t), c); }
/** Vertex of a clip number, 1 to 6. */
@inline export function vertexOf(clip: u32): u32 { return nodeOf(clip - 1); }

/** Repeats of one reading, combined by weight, henry. */
@unmanaged export class Reading {
  henry: f32;
  /** Standard uncertainty. */
  u: f32;
  /** The lowest and the highest of them. */
  least: f32;
  most: f32;
  /** The lowest upper and the highest lower limit of them, 5 u away. */
  lowestTop: f32;
  highestFoot: f32;
  /** Whether they lie further apart than 5 u each. */
  get disagrees(): bool { return this.highestFoot > this.lowestTop; }
  begin(): void {
    this.least = f32.MAX_VALUE;
    this.most = -f32.MAX_VALUE;
    this.lowestTop = f32.MAX_VALUE;
    this.highestFoot = -f32.MAX_VALUE;
  }
  note(value: f32, u: f32): void {
    this.least = min<f32>(this.least, value);
    this.most = max<f32>(this.most, value);
    this.lowestTop = min<f32>(this.lowestTop, value + ASUNDER_u * u);
    this.highestFoot = max<f32>(this.highestFoot, value - ASUNDER_u * u);
  }
}
/** The same of an inductance, with the loss that was read beside it as a resistance across it, ohms; 0 for none. */
@unmanaged export class Inductance extends Reading {
  loss_ohm: f32;
}
/** A coupling factor and its standard uncertainty. */
@unmanaged export class Factor {
  k: f32;
  u: f32;
}

/** Inductance between two vertices. @param into - written when there is any @returns whether there is */
export function readInductance(a: u32, b: u32, into: Inductance): bool {
  let weights: f32 = 0;
  let sum: f32 = 0;
  let lossWeights: f32 = 0;
  let lossSum: f32 = 0;
  into.begin();
  for (let n: u32 = 0; n < <u32>evidence().inductanceCount; n++) {
    const reading = inductanceEvidence(n);
    if (!isAcross(reading.plus, reading.minus, a, b)) continue;
    const u = reading.u_H > 0 ? reading.u_H : ASSUMED_u * abs<f32>(reading.henry_H) + <f32>1e-3;
    const weight: f32 = 1 / (u * u);
    weights += weight;
    sum += weight * reading.henry_H;
    into.note(reading.henry_H, u);
    if ((reading.flags & <u16>EntryFlag.lossKnown) == 0 || reading.loss_ohm <= 0) continue;
    const u_loss = reading.u_loss_ohm > 0 ? reading.u_loss_ohm : <f32>0.1 * reading.loss_ohm;
    lossWeights += 1 / (u_loss * u_loss);
    lossSum += reading.loss_ohm / (u_loss * u_loss);
  }
  // Uncertainties from elsewhere may be 1e-30 or 1e30, whose squares are none: no number rather than NaN.
  if (weights <= 0 || !isFinite<f32>(sum / weights)) return false;
  into.henry = sum / weights;
  into.u = 1 / sqrt<f32>(weights);
  into.loss_ohm = lossWeights > 0 && isFinite<f32>(lossSum / lossWeights) ? lossSum / lossWeights : 0;
  return true;
}

/**
 * Mutual inductance of two pairs of vertices, current into plus of the one, plus against minus of the other (the coupling is
 * the same either way round). @param into - written when there is any @returns whether there is
 */
export function readCoupling(plusA: u32, minusA: u32, plusB: u32, minusB: u32, into: Reading): bool {
  let weights: f32 = 0;
  let sum: f32 = 0;
  into.begin();
  for (let n: u32 = 0; n < <u32>evidence().couplingCount; n++) {
    const reading = couplingEvidence(n);
    const drivePlus = vertexOf(reading.drivePlus);
    const driveMinus = vertexOf(reading.driveMinus);
    const sensePlus = vertexOf(reading.sensePlus);
    const senseMinus = vertexOf(reading.senseMinus);
    const straight = sense(drivePlus, driveMinus, plusA, minusA) * sense(sensePlus, senseMinus, plusB, minusB);
    const crossed = sense(drivePlus, driveMinus, plusB, minusB) * sense(sensePlus, senseMinus, plusA, minusA);
    const sign = straight != 0 ? straight : crossed;
    if (sign == 0) continue;
    const u = reading.u_H > 0 ? reading.u_H : ASSUMED_u * abs<f32>(reading.mutual_H) + <f32>1e-3;
    const weight: f32 = 1 / (u * u);
    const mutual = <f32>sign * reading.mutual_H;
    weights += weight;
    sum += weight * mutual;
    into.note(mutual, u);
  }
  if (weights <= 0 || !isFinite<f32>(sum / weights)) return false;
  into.henry = sum / weights;
  into.u = 1 / sqrt<f32>(weights);
  return true;
}

/** 1 when a pair of vertices is (a, b), -1 when it is (b, a), else 0. */
function sense(plus: u32, minus: u32, a: u32, b: u32): i32 {
  if (plus == a && minus == b) return 1;
  if (plus == b && minus == a) return -1;
  return 0;
}

/** Whether two clips are at two vertices, either way round. */
export function isAcross(plus: u32, minus: u32, a: u32, b: u32): bool { return sense(vertexOf(plus), vertexOf(minus), a, b) != 0; }

/** What the looks below read with: the self-inductances of two wires, and what lies between them. */
const FIRST: Inductance = changetype<Inductance>(memory.data(offsetof<Inductance>()));
const SECOND: Inductance = changetype<Inductance>(memory.data(offsetof<Inductance>()));
const BETWEEN: Inductance = changetype<Inductance>(memory.data(offsetof<Inductance>()));
const OTHER: Reading = changetype<Reading>(memory.data(offsetof<Reading>()));

/** The inductances of the wires x-v and v-y, into FIRST and SECOND. @returns whether both were read and are above 0 */
function readBoth(x: u32, v: u32, y: u32): bool {
  return readInductance(x, v, FIRST) && FIRST.henry > 0 && readInductance(v, y, SECOND) && SECOND.henry > 0;
}

/**
 * Coupling factor of the wires x-v and v-y, both read along the way from x to y: from M, or from the inductance of the
 * whole. Parts of one winding have one sense, so theirs is near +1 (physics.md 5, coaxial). @returns whether it is known
 */
export function readCouplingFactor(x: u32, v: u32, y: u32, into: Factor): bool {
  if (!readBoth(x, v, y)) return false;
  const first = FIRST.henry;
  const u_first = FIRST.u / first;
  const second = SECOND.henry;
  const u_second = SECOND.u / second;
  const root = sqrt<f32>(first * second);
  const inRoot = (u_first * u_first + u_second * u_second) / 4;
  let k: f32 = 0;
  let u_over: f32 = 0;
  if (readCoupling(x, v, v, y, BETWEEN)) {
    k = BETWEEN.henry / root;
    u_over = BETWEEN.u / root;
  } else {
    if (!readInductance(x, y, BETWEEN)) return false;
    k = (BETWEEN.henry - first - second) / (2 * root);
    u_over = BETWEEN.u / (2 * root);
  }
  const u = sqrt<f32>(u_over * u_over + k * k * inRoot);
  into.k = k;
  into.u = u;
  return isFinite<f32>(k) && isFinite<f32>(u);
}

/**
 * Whether a third pair is coupled to the wires x-v and v-y as to two coils: parts of one winding lie in the same field, so that per
 * root of their inductance it sees both alike. By any reading that tells.
 */
export function isApartToThird(x: u32, v: u32, y: u32): bool {
  if (!readBoth(x, v, y)) return false;
  const first = sqrt<f32>(FIRST.henry);
  const second = sqrt<f32>(SECOND.henry);
  for (let n: u32 = 0; n < <u32>evidence().couplingCount; n++) {
    const reading = couplingEvidence(n);
    const isDrive = isAcross(reading.sensePlus, reading.senseMinus, x, v) || isAcross(reading.sensePlus, reading.senseMinus, v, y);
    const plus = vertexOf(isDrive ? reading.drivePlus : reading.sensePlus);
    const minus = vertexOf(isDrive ? reading.driveMinus : reading.senseMinus);
    if (!readCoupling(plus, minus, x, v, BETWEEN) || !readCoupling(plus, minus, v, y, OTHER)) continue;
    const one = BETWEEN.henry / first;
    const u_one = BETWEEN.u / first;
    const other = OTHER.henry / second;
    const u_other = OTHER.u / second;
    if (areUneven(one, u_one, other, u_other) || areUneven(other, u_other, one, u_one)) return true;
  }
  return false;
}
/** Whether a coupling is surely more than UNEVEN_k times another one. */
function areUneven(large: f32, u_large: f32, small: f32, u_small: f32): bool {
  const sign: f32 = large >= 0 ? 1 : -1;
  return sign * (large - UNEVEN_k * small) > BELOW_u * sqrt<f32>(u_large * u_large + UNEVEN_k * UNEVEN_k * u_small * u_small);
}

/** Magnitude of the coupling factor of the pairs a-b and c-d; below 0 when it was not read. */
export function readPairFactor(a: u32, b: u32, c: u32, d: u32): f32 {
  if (!readCoupling(a, b, c, d, BETWEEN)) return -1;
  if (!readInductance(a, b, FIRST) || FIRST.henry <= 0 || !readInductance(c, d, SECOND) || SECOND.henry <= 0) return -1;
  return abs<f32>(BETWEEN.henry) / sqrt<f32>(FIRST.henry * SECOND.henry);
}

/**
 * Share of the emf in a winding from i to j (i positive) that shows at plus against minus, times twice the winding's
 * resistance: (R_pj + R_mi - R_pi - R_mj), from Q+ of the network by its effective resistances.
 */
export function response(plus: u32, minus: u32, i: u32, j: u32): f32 {
  return ohmOf(plus, j) + ohmOf(minus, i) - ohmOf(plus, i) - ohmOf(minus, j);
}

/** How far apart the answers of `response` may lie, ohms, because of pairs that were not read: each may be the sum of a way round or its difference. */
export function unreadRange(plus: u32, minus: u32, i: u32, j: u32): f32 {
  return slackOf(plus, j) + slackOf(minus, i) + slackOf(plus, i) + slackOf(minus, j);
}

/** From the shortest way round, that stands for a pair that was not read, down to the least that readings leave for it, ohms. */
function slackOf(a: u32, b: u32): f32 {
  if (stateOf(a, b) != PAIR_FILLED) return 0;
  let least: f32 = 0;
  for (let k: u32 = 0; k < CLIPS; k++) {
    if (stateOf(a, k) == PAIR_VALUE && stateOf(k, b) == PAIR_VALUE) least = max<f32>(least, abs<f32>(ohmOf(a, k) - ohmOf(k, b)));
  }
  return ohmOf(a, b) - least;
}

/** Whether a channel across exactly these two nodes showed clear flux: there is wire between them. */
export function isHeard(a: u32, b: u32): bool {
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    for (let c: u32 = 0; c < <u32>touchEvidence(t).channelCount; c++) {
      const channel = channelAt(t, c);
      if (!isAcross(channel.plus, channel.minus, a, b)) continue;
      if (abs<f32>(channel.flux_Wb) > CLEAR_u * channel.u_flux_Wb && (channel.flags & <u16>TouchFlag.noFlux) == 0) return true;
    }
  }
  return false;
}

/** How many swings a person noted across exactly these two nodes. */
export function swingsSeen(a: u32, b: u32): u32 {
  let count: u32 = 0;
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) {
    const it = observedEvidence(n);
    if (it.swing != <u8>Swing.none && isAcross(it.plus, it.minus, a, b)) count++;
  }
  return count;
}

/** Whether a touch or an inductance says that there is wire in coils between two nodes. */
export function isWound(a: u32, b: u32): bool {
  return isHeard(a, b) || (readInductance(a, b, FIRST) && FIRST.henry > CLEAR_u / 3 * FIRST.u);
}
