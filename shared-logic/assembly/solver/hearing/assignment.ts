/**
 * Every way in which the places may have the windings and each coil may be turned, weighed by all that was heard.
 *
 * A state is an assignment of places to windings with, for each place, which end of its winding its coil lifts, and the same
 * for each winding that no place has. A touch at a place was most likely on that place's own coil; the rest is a hand that
 * slipped or touched nothing. Couplings and magnets tie the signs of two windings to each other. Places, signs, mistakes
 * and their probabilities are margins of the one sum over all states, so that what is not sure of the coil is not sure of
 * the sign either.
 */
import { EvidenceFlag, Kind, MAX_PLACES, NONE } from '../../layout';
import { evidence } from '../../blocks';
import { isClose, unusual } from './hearing';
import {
  directionOf, elsewhere, HEARD_OWN, HEARD_SHARE, hearings, howOf, isListened, leftAt, likelihoodOf, likeliestAt, logOf, MAX_HEARINGS,
  placeCount, rowPlace, SAYS_NOTHING, signOf, sizeOf, TABLE_end, unitLogOf, UNSEEN_SHARE, wasMissed,
} from './hearing-table';
import { relationOf } from './poles';
import { addLogs, exponential, logarithm } from '../../waves';
import { mostCoils } from '../ground/expected';
import {
  ASSIGNMENT, ASSIGNMENT_bytes, CLIPS, MAX_WINDINGS, nodeOf, partOf, windingAt, windingCount,
} from '../ground/workspace';
import {
  ASKED, HAND_BETWEEN, LEFT_BEHIND, LEFT_ON, MISTAKEN, NEGLIGIBLE, NOTHING_TOUCHED, NO_COIL_LOG, NO_COIL_LOOSE_LOG, NO_COIL_NOWHERE_LOG,
  NO_COIL_ONE_LOOSE_LOG, ODD_TOUCH, OWN_LOG, SAME_HAND_SPREAD, SAME_SHARE_SPREAD, SHARED_LOG, SHARED_LOOSE_LOG, SHARE_LOG, TOGETHER,
  UNDRIVEN_LOG,
} from '../ground/limits';

/** From them: variance between persons; precision within one; precision with both, and ln of both over within. */
const BETWEEN: f32 = HAND_BETWEEN * HAND_BETWEEN;
const OWN_PRECISION: f32 = 1 / (SAME_HAND_SPREAD * SAME_HAND_SPREAD);
const SHARE_PRECISION: f32 = 1 / (SAME_SHARE_SPREAD * SAME_SHARE_SPREAD);
const OWN_TOTAL: f32 = 1 / (BETWEEN + SAME_HAND_SPREAD * SAME_HAND_SPREAD);
const SHARE_TOTAL: f32 = 1 / (BETWEEN + SAME_SHARE_SPREAD * SAME_SHARE_SPREAD);
/** Of more candidates than this a place keeps the likeliest; of more than three places each keeps fewer. */
const CANDIDATES: u32 = 6;
/** Coils whose turning is a variable of the sum: 64 ways. Of any more, both ways count alike. */
const TURNED_most: u32 = 6;

/** Per place: candidates (6 bytes), their number, the one at hand. */
const CHOICE: u32 = TABLE_end + 3 & ~3;
/** Variable of each place and of each winding that no place has; NONE for none. */
const OF_PLACE: u32 = CHOICE + MAX_PLACES * 8;
const OF_WINDING: u32 = OF_PLACE + MAX_PLACES;
/** Places of each winding in the assignment at hand, a bit each. */
const SHARES: u32 = OF_WINDING + MAX_WINDINGS + 1;
/** Probability, in the state at hand, that a hearing was a hand that slipped. */
const SLIP: u32 = SHARES + MAX_WINDINGS + 1;
/** Sums over states. */
const MARGINS: u32 = SLIP + MAX_HEARINGS * 4;
const PLACE_POSITIVE: u32 = MARGINS + MAX_PLACES * (MAX_WINDINGS + 1) * 4;
const POSITIVE: u32 = PLACE_POSITIVE + MAX_PLACES * 4;
const OPPOSED: u32 = POSITIVE + MAX_WINDINGS * 4;
const SLIPPED: u32 = OPPOSED + MAX_WINDINGS * 4;
const TOTALS: u32 = SLIPPED + MAX_HEARINGS * 4;
const SUMS_end: u32 = TOTALS + 4 * 4;
/** ln of the most that all hearings can be, whatever the state; then those of each place, and those without one. */
const MOST: u32 = SUMS_end;
const STATES_end: u32 = MOST + (MAX_PLACES + 2) * 4;

@inline function sumAt(at: u32): f32 { return load<f32>(<usize>at); }
@inline function add(at: u32, weight: f32): void { store<f32>(<usize>at, load<f32>(<usize>at) + weight); }
@inline function marginAt(p: u32, w: u32): u32 { return MARGINS + (p * (MAX_WINDINGS + 1) + w) * 4; }
@inline function choiceAt(p: u32): usize { return <usize>(CHOICE + p * 8); }
@inline function chosen(p: u32): u32 { return load<u8>(choiceAt(p), 7); }
@inline function sharesOf(w: u32): u32 { return load<u8>(<usize>(SHARES + w)); }

/** Sums of all states: all; with a place that has no winding; with a hand that slipped; with two places on one winding. */
@inline function total(): f32 { return sumAt(TOTALS); }
/** Probability that some place has no winding, whichever it is. */
export function bareShare(): f32 { return hearings > 0 ? sumAt(TOTALS + 4) / total() : 0; }
/** Probability that some touch was on another winding than its place's, or on the same as another place's without need. */
export function slipShare(): f32 { return hearings > 0 ? sumAt(TOTALS + 8) / total() : 0; }
/** Probability that a hearing was one of those. */
export function slippedShare(h: u32): f32 { return sumAt(SLIPPED + h * 4) / total(); }
/** Probability that a winding, or elsewhere(), is the one of a place. */
export function placeShare(p: u32, w: u32): f32 { return sumAt(marginAt(p, w)) / total(); }
/** Probability that a winding's end i is plus for all its coils; where their turning is no variable, half. */
export function positiveShare(w: u32): f32 { return sumAt(POSITIVE + w * 4) / total(); }
/** Probability that the coils inside a winding work against each other. */
export function opposedShare(w: u32): f32 { return sumAt(OPPOSED + w * 4) / total(); }
/** Probability that a touch of a place's own coil lifts end i of its winding. */
export function placePositiveShare(p: u32): f32 { return sumAt(PLACE_POSITIVE + p * 4) / total(); }

@inline function surprise(share: f32): f32 { return share > 0 ? -share * logarithm(share) : 0; }
/**
 * What one more touch at a place is expected to tell, nats: how open it is which winding the place has, and which way its
 * coil is turned. Of windings that nobody listens to nothing can be told.
 */
export function worthOfTouch(p: u32): f32 {
  if (windingCount == 0 || p >= placeCount) return 0;
  let worth: f32 = 0;
  for (let w: u32 = 0; w <= windingCount; w++) worth += surprise(placeShare(p, w));
  const told: f32 = 1 - placeShare(p, elsewhere());
  const positive: f32 = max<f32>(0, placePositiveShare(p) - placeShare(p, elsewhere()) / 2) / max<f32>(told, <f32>1e-6);
  return worth + told * (surprise(positive) + surprise(1 - positive));
}

/** ln weight that stands for 1 in the sums. */
let unit: f32 = 0;
let turned: u32 = 0;

/** Weighs all states of the table. */
export function weighAssignments(): void {
  assert(STATES_end <= ASSIGNMENT + ASSIGNMENT_bytes);
  memory.fill(<usize>MARGINS, 0, <usize>(SUMS_end - MARGINS));
  unit = -f32.MAX_VALUE;
  const each: u32 = placeCount <= 3 ? CANDIDATES : placeCount == 4 ? 4 : placeCount == 5 ? 3 : 2;
  for (let p: u32 = 0; p < placeCount; p++) chooseCandidates(p, each);
  memory.fill(<usize>SHARES, 0, <usize>(MAX_WINDINGS + 1));
  fillMost();
  descend(0, 0);
}

/** A clear hearing is twice as likely of a coil that is turned its way as of any coil: what a state lacks the others may make good. */
function fillMost(): void {
  memory.fill(<usize>MOST, 0, (MAX_PLACES + 2) * 4);
  for (let h: u32 = 0; h < hearings; h++) {
    let most: f32 = 0;
    for (let w: u32 = 0; w <= windingCount; w++) most = max<f32>(most, max<f32>(likelihoodOf(h, w, true), likelihoodOf(h, w, false)));
    // As a share it may be twice as likely the one way.
    const log = logarithm(2 * (ASKED + MISTAKEN * <f32>windingCount + LEFT_BEHIND) * most + NOTHING_TOUCHED * exponential(-unitLogOf(h)));
    add(MOST, log);
    add(MOST + 4 + min<u32>(rowPlace(h), placeCount) * 4, log);
  }
}

/** Keeps a place's likeliest windings: bytes 0 to 5 of its choice, byte 6 their number. */
function chooseCandidates(p: u32, each: u32): void {
  const at = choiceAt(p);
  let taken: u32 = 0;
  let count: u32 = 0;
  for (let n: u32 = 0; n < each && n <= windingCount; n++) {
    let best: u32 = NONE;
    let most: f32 = 0;
    for (let w: u32 = 0; w <= windingCount; w++) {
      if (((taken >> w) & 1) != 0) continue;
      const log = ownLog(p, w);
      if (best != NONE && log <= most) continue;
      best = w;
      most = log;
    }
    taken |= 1 << best;
    store<u8>(at + n, <u8>best);
    count++;
  }
  store<u8>(at, <u8>count, 6);
}

/** ln likelihood of what was heard at a place if it has this winding; slips of the hand included. */
function ownLog(p: u32, w: u32): f32 {
  let log: f32 = 0;
  for (let h: u32 = 0; h < hearings; h++) {
    if (rowPlace(h) != p) continue;
    const own = (likelihoodOf(h, w, true) + likelihoodOf(h, w, false)) / 2;
    log += logarithm(ASKED * own + MISTAKEN + NOTHING_TOUCHED * exponential(-unitLogOf(h)));
  }
  return log;
}

/** All assignments from place p on, of a prior so far. */
function descend(p: u32, log: f32): void {
  if (p == placeCount) {
    weighTurns(log + handTerm() + undrivenTerm());
    return;
  }
  const at = choiceAt(p);
  const count: u32 = load<u8>(at, 6);
  const loose = looseLeads();
  for (let n: u32 = 0; n < count; n++) {
    const w: u32 = load<u8>(at + n);
    let next = log;
    if (w == elsewhere()) {
      // As many places have none as coils are missing, hardly more.
      const missing = popcnt<u32>(sharesOf(w)) < mostCoils() - windingCount;
      next += !missing ? NO_COIL_LOG : loose >= 2 ? NO_COIL_LOOSE_LOG : loose == 1 ? NO_COIL_ONE_LOOSE_LOG : NO_COIL_NOWHERE_LOG;
    } else if (sharesOf(w) != 0 && !hasClose(w)) {
      next += windingCount >= placeCount ? SHARED_LOG : loose >= 2 ? SHARED_LOOSE_LOG : 0;
    }
    store<u8>(at, <u8>w, 7);
    store<u8>(<usize>(SHARES + w), <u8>(sharesOf(w) | (1 << p)));
    descend(p + 1, next);
    store<u8>(<usize>(SHARES + w), <u8>(sharesOf(w) & ~(1 << p)));
  }
}

/** Gives each coil that can be turned a variable: each place's, then each winding's that no place has. */
function nameVariables(): void {
  turned = 0;
  for (let p: u32 = 0; p < placeCount; p++) {
    store<u8>(<usize>(OF_PLACE + p), <u8>(chosen(p) != elsewhere() && turned < TURNED_most ? turned++ : NONE));
  }
  for (let w: u32 = 0; w < windingCount; w++) {
    store<u8>(<usize>(OF_WINDING + w), <u8>(sharesOf(w) == 0 && turned < TURNED_most ? turned++ : NONE));
  }
}
@inline function variableOfPlace(p: u32): u32 { return load<u8>(<usize>(OF_PLACE + p)); }
@inline function variableOfWinding(w: u32): u32 { return load<u8>(<usize>(OF_WINDING + w)); }

/** Whether the assignment at hand leaves a coil that is in no winding: only then may a hand have slipped onto one. */
let leavesCoil: bool = false;

/** All ways to turn the coils of one assignment. @param prior - ln weight of the assignment */
function weighTurns(prior: f32): void {
  nameVariables();
  let coils: u32 = 0;
  for (let w: u32 = 0; w < windingCount; w++) coils += max<u32>(1, popcnt<u32>(sharesOf(w)));
  leavesCoil = mostCoils() > coils;
  for (let turns: u32 = 0; turns < <u32>1 << turned; turns++) weighState(prior, turns);
}

/** Likelihood of a hearing on one coil. @param variable - of the coil, NONE: both ways alike */
@inline function likelihood(h: u32, w: u32, variable: u32, turns: u32): f32 {
  if (variable == NONE) return (likelihoodOf(h, w, true) + likelihoodOf(h, w, false)) / 2;
  return likelihoodOf(h, w, ((turns >> variable) & 1) != 0);
}

/** The same on any coil of a winding: the mean of the places that have it, but for the one that was asked for. */
function likelihoodOn(h: u32, w: u32, turns: u32): f32 {
  const place = rowPlace(h);
  const places = place == NONE ? sharesOf(w) : sharesOf(w) & ~(1 << place);
  if (places == 0) return likelihood(h, w, variableOfWinding(w), turns);
  let sum: f32 = 0;
  for (let p: u32 = 0; p < placeCount; p++) if (((places >> p) & 1) != 0) sum += likelihood(h, w, variableOfPlace(p), turns);
  return sum / <f32>popcnt<u32>(places);
}

/** Likelihood of a hearing in the state at hand, in units of its row; notes how likely it was a slip. */
function hearingLikelihood(h: u32, turns: u32): f32 {
  const place = rowPlace(h);
  const nothing = NOTHING_TOUCHED * exponential(-unitLogOf(h));
  let slips: f32 = 0;
  let own: f32 = 0;
  const asked = place == NONE ? NONE : chosen(place);
  if (place != NONE) own = ASKED * likelihood(h, asked, asked == elsewhere() ? NONE : variableOfPlace(place), turns);
  // Where nobody said what was touched every winding is as likely as the others.
  const each = place == NONE ? ASKED / <f32>windingCount : MISTAKEN;
  for (let w: u32 = 0; w < windingCount; w++) if (w != asked || popcnt<u32>(sharesOf(w)) > 1) slips += each * likelihoodOn(h, w, turns);
  if (asked != elsewhere() && leavesCoil) slips += MISTAKEN * likelihoodOf(h, elsewhere(), true);
  // Steel that was left at another place goes the other way as it leaves: that is no touch of a wrong place.
  const left = leftAt(h);
  let lift: f32 = 0;
  if (left != NONE && chosen(left) != asked) {
    lift = (wasMissed(h) ? LEFT_BEHIND : LEFT_ON) * likelihood(h, chosen(left), variableOfPlace(left), ~turns);
  }
  const all = own + slips + lift + nothing;
  store<f32>(<usize>(SLIP + h * 4), place == NONE ? 0 : slips / all);
  return all;
}

/** ln of the prior that coils are turned so: those inside one winding together or not, and what couplings and magnets say. */
function turnsPrior(turns: u32): f32 {
  let log: f32 = 0;
  for (let w: u32 = 0; w < windingCount; w++) {
    const coils = popcnt<u32>(sharesOf(w));
    if (coils < 2) continue;
    // Two ways to be together, all others against each other; each way of 2^coils counts as one half to the power of them.
    const ways = <f32>((1 << coils) - 2);
    const share: f32 = isTogether(w, turns) ? TOGETHER / 2 : (1 - TOGETHER) / ways;
    log += logarithm(share * (ways + 2));
  }
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) {
      const x = soleVariable(a);
      const y = soleVariable(b);
      if (x == NONE || y == NONE) continue;
      const agree = relationOf(a, b, solePlace(a), solePlace(b));
      if (agree == 0) continue;
      const same = ((turns >> x) & 1) == ((turns >> y) & 1);
      log += logarithm(same ? agree : 1 - agree) + <f32>0.6931472;
    }
  }
  return log;
}

/** The variable of a winding with one coil, NONE with several. */
function soleVariable(w: u32): u32 {
  const places = sharesOf(w);
  return places == 0 ? variableOfWinding(w) : popcnt<u32>(places) == 1 ? variableOfPlace(ctz<u32>(places)) : NONE;
}
@inline function solePlace(w: u32): u32 { return sharesOf(w) == 0 ? NONE : ctz<u32>(sharesOf(w)); }

/** Whether all coils of a winding lift the same end. */
function isTogether(w: u32, turns: u32): bool {
  const places = sharesOf(w);
  const first = variableOfPlace(ctz<u32>(places));
  for (let p: u32 = 0; p < placeCount; p++) {
    if (((places >> p) & 1) == 0) continue;
    if (variableOfPlace(p) == NONE || first == NONE || ((turns >> variableOfPlace(p)) & 1) != ((turns >> first) & 1)) return false;
  }
  return true;
}

/**
 * ln likelihood of all that was heard at a place, or without one. If nobody listened to its coil, what shows on another one is its
 * share: of one size and direction, however often it is repeated. So what speaks against a share is said once, by the hearing that
 * says most.
 */
function placeLog(place: u32, turns: u32): f32 {
  const coil = place == NONE ? NONE : chosen(place);
  let seenOn: u32 = NONE;
  let log: f32 = 0;
  let up: f32 = 0;
  let down: f32 = 0;
  let against: f32 = 0;
  let again: f32 = 0;
  for (let h: u32 = 0; h < hearings; h++) {
    if (rowPlace(h) != place) continue;
    const all = hearingLikelihood(h, turns);
    let swing: f32 = 0;
    if (coil != NONE && coil != elsewhere() && !isListened(h, coil)) {
      if (seenOn == NONE) seenOn = showsMost(h, coil);
      if (seenOn != NONE) swing = ASKED * likelihoodOf(h, coil, true) * directionOf(h, seenOn);
    }
    if (swing == 0) {
      log += logarithm(all);
      continue;
    }
    up += logarithm(all + swing);
    down += logarithm(all - swing);
    // Up to what it were as that other coil's own, no further: a hand that slipped explains it as well as before.
    const own = (likelihoodOf(h, seenOn, true) + likelihoodOf(h, seenOn, false)) / 2;
    const cost = logarithm(1 + ASKED * max<f32>(0, own - likelihoodOf(h, coil, true)) / all);
    again += cost;
    against = max<f32>(against, cost);
  }
  return log + addLogs(up, down) - <f32>0.6931472 + again - against;
}

/** The winding other than one that a hearing gives the clearest direction to, NONE for none. */
function showsMost(h: u32, apart: u32): u32 {
  let most: u32 = NONE;
  for (let w: u32 = 0; w < windingCount; w++) {
    if (w != apart && signOf(h, w) != 0 && (most == NONE || abs<f32>(signOf(h, w)) > abs<f32>(signOf(h, most)))) most = w;
  }
  return most;
}

/** Adds one state. @param prior - ln weight of its assignment @param turns - a bit per variable, 1: lifts end i */
function weighState(prior: f32, turns: u32): void {
  let log = prior + turnsPrior(turns) - <f32>turned * <f32>0.6931472;
  let left = sumAt(MOST);
  for (let p: u32 = 0; p <= placeCount; p++) {
    log += placeLog(p < placeCount ? p : NONE, turns);
    left -= sumAt(MOST + p * 4 + 4);
    if (log + left < unit - NEGLIGIBLE) return;
  }
  if (log > unit) rescale(log);
  const weight = exponential(log - unit);
  add(TOTALS, weight);
  let bare = false;
  for (let p: u32 = 0; p < placeCount; p++) {
    add(marginAt(p, chosen(p)), weight);
    if (chosen(p) == elsewhere()) bare = true;
    const variable = variableOfPlace(p);
    add(PLACE_POSITIVE + p * 4, variable == NONE ? weight / 2 : ((turns >> variable) & 1) != 0 ? weight : 0);
  }
  if (bare) add(TOTALS + 4, weight);
  let needless = false;
  for (let w: u32 = 0; w < windingCount; w++) {
    const places = sharesOf(w);
    const several = popcnt<u32>(places) > 1;
    const opposed = several && !isTogether(w, turns);
    const variable = places == 0 ? variableOfWinding(w) : variableOfPlace(ctz<u32>(places));
    add(POSITIVE + w * 4, opposed ? 0 : variable == NONE ? weight / 2 : ((turns >> variable) & 1) != 0 ? weight : 0);
    if (opposed) add(OPPOSED + w * 4, weight);
    if (several && windingCount >= placeCount && !hasClose(w)) needless = true;
  }
  let straight: f32 = 1;
  for (let h: u32 = 0; h < hearings; h++) {
    const slip = sumAt(SLIP + h * 4);
    straight *= 1 - slip;
    const place = rowPlace(h);
    const odd = place != NONE && chosen(place) != elsewhere() && needless && popcnt<u32>(sharesOf(chosen(place))) > 1;
    add(SLIPPED + h * 4, weight * (odd ? max<f32>(slip, <f32>0.5) : slip));
  }
  add(TOTALS + 8, needless ? weight : weight * (1 - straight));
}

/** A state heavier than all before becomes the unit of the sums. */
function rescale(log: f32): void {
  const factor = exponential(unit - log);
  for (let at = MARGINS; at < SUMS_end; at += 4) store<f32>(<usize>at, sumAt(at) * factor);
  unit = log;
}

/**
 * ln of how much likelier the sizes are from one hand than each from a hand of its own: normal ln flux, spread
 * SAME_HAND_SPREAD within a person and HAND_BETWEEN between persons. A hand far from the usual is as good as one a little off it
 * (`unusual`), but its touches still lie as close together.
 */
function handTerm(): f32 {
  let precision: f32 = 0;
  let sizes: f32 = 0;
  let single: f32 = 0;
  for (let h: u32 = 0; h < hearings; h++) {
    if (!tellsSize(h)) continue;
    const weight = precisionOf(h);
    precision += weight;
    sizes += sizeOf(h, chosenOf(h)) * weight;
    single += aloneCost(h);
  }
  if (precision == 0) return 0;
  let hand = sizes / precision;
  let joint = handCost(hand);
  if (farFrom > 0 || joint > single) {
    // One of them is not of a kind with the others: the hand is that of the rest, whichever they are.
    for (let h: u32 = 0; h < hearings; h++) {
      if (!tellsSize(h)) continue;
      const cost = handCost(sizeOf(h, chosenOf(h)));
      if (cost >= joint) continue;
      joint = cost;
      hand = sizeOf(h, chosenOf(h));
    }
  }
  return (single - joint) / 2 + unseenTerm(hand);
}

/** Touches that lie too far from the hand that handCost looked at to be its own. */
let farFrom: u32 = 0;
/** Twice the negative ln of the sizes if all but the odd ones are from a hand of this size. */
function handCost(hand: f32): f32 {
  farFrom = 0;
  let precision: f32 = 0;
  let squares: f32 = 0;
  for (let h: u32 = 0; h < hearings; h++) {
    if (!tellsSize(h)) continue;
    const apart = sizeOf(h, chosenOf(h)) - hand;
    const own = apart * apart * precisionOf(h);
    const odd = aloneCost(h) + 2 * ODD_TOUCH;
    if (own > odd) {
      farFrom++;
      squares += odd;
    } else {
      squares += own;
      precision += precisionOf(h);
    }
  }
  const middle = unusual(hand);
  return precision == 0 ? squares : squares + middle * middle / (1 / precision + BETWEEN) + logarithm(1 + BETWEEN * precision);
}
@inline function tellsSize(h: u32): bool { return howChosen(h) == HEARD_OWN || howChosen(h) == HEARD_SHARE; }
@inline function precisionOf(h: u32): f32 { return howChosen(h) == HEARD_OWN ? OWN_PRECISION : SHARE_PRECISION; }
/** Twice the negative ln of a size from a hand of its own, but for a constant that all costs share. */
function aloneCost(h: u32): f32 {
  const alone = unusual(sizeOf(h, chosenOf(h)));
  return howChosen(h) == HEARD_OWN ? alone * alone * OWN_TOTAL + OWN_LOG : alone * alone * SHARE_TOTAL + SHARE_LOG;
}
/**
 * The winding that a touch was on: its place's, or the likeliest where that cannot be, so that a hand that slipped is as large as
 * one that did not.
 */
function chosenOf(h: u32): u32 {
  const asked = chosen(rowPlace(h));
  return howOf(h, asked) != SAYS_NOTHING ? asked : likeliestAt(h);
}
function howChosen(h: u32): u8 { return rowPlace(h) == NONE ? SAYS_NOTHING : howOf(h, chosenOf(h)); }

/**
 * ln of how much likelier a hand of this size leaves the touches unseen that were on a winding nobody listened to, than
 * any hand: their share of a faint one drowns in the noise, and that nothing was seen is no sign of nothing touched.
 */
function unseenTerm(hand: f32): f32 {
  let log: f32 = 0;
  for (let h: u32 = 0; h < hearings; h++) {
    if (howChosen(h) != UNSEEN_SHARE) continue;
    const own = logOf(h, chosenOf(h));
    const unseen = -logarithm(1 + exponential(hand - sizeOf(h, chosenOf(h))));
    if (unseen > own) log += logarithm((ASKED * exponential(unseen) + NOTHING_TOUCHED) / (ASKED * exponential(own) + NOTHING_TOUCHED));
  }
  return log;
}

function undrivenTerm(): f32 {
  if (placeCount < windingCount) return 0;
  let log: f32 = 0;
  for (let w: u32 = 0; w < windingCount; w++) if (sharesOf(w) == 0 && !hasClose(w)) log += UNDRIVEN_LOG;
  return log;
}

/** Nodes of leads that belong to no winding, as far as was read, and are no drain wire. */
export function looseLeads(): u32 {
  // Where nobody said which clips hold a lead, a clip without contact says nothing.
  if ((evidence().flags & EvidenceFlag.clipsAssumed) != 0) return 0;
  let leads: u32 = evidence().clipMask & ~evidence().bareMask;
  for (let clip: u32 = 0; clip < CLIPS; clip++) {
    for (let w: u32 = 0; w < windingCount; w++) if (partOf(clip) == <u32>windingAt(w).part) leads &= ~(1 << clip);
  }
  // Leads on one node are one loose end.
  for (let clip: u32 = 0; clip < CLIPS; clip++) if (nodeOf(clip) != clip) leads &= ~(1 << clip);
  return popcnt<u32>(leads);
}

/** Whether another winding is coupled to this one as stacked coils are: both places may then be over this one. */
export function hasClose(w: u32): bool {
  if (evidence().kind == <u8>Kind.stacked) return true;
  for (let v: u32 = 0; v < windingCount; v++) if (v != w && isClose(w, v)) return true;
  return false;
}
