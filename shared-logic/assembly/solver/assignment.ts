/**
 * Every assignment of places to windings, weighed by all that was heard.
 *
 * A touch at a place was most likely on that place's own winding. The sign of a winding is the mean over the
 * assignments, so that what is not sure of the coil is not sure of the sign either.
 */
import { EVIDENCE, Evidence, EvidenceFlag, Kind, NONE, RESULT, Result } from '../layout';
import { HAND_BETWEEN, isClose, probability, unusual } from './hearing';
import {
  ASKED_LOG, askedOf, elsewhere, HEARD_OWN, hearings, howCell, logOf, mistakenOf, NO_COIL_LOG, NO_COIL_SPARE_LOG, NOTHING_LOG,
  placeCell, placeCount, rowPlace, SAYS_NOTHING, sizeOf, spareCoils, TABLE_end, UNSEEN_SHARE,
} from './hearing-table';
import { addLogs, exponential, logarithm } from '../waves';
import { ASSIGNMENT, ASSIGNMENT_bytes, MAX_PLACES_SOLVED, MAX_WINDINGS, windingCount } from './workspace';

/** ln of the prior that two places belong to one winding when each could have its own. */
const SHARED_LOG: f32 = -5;
/** ln of the prior that a place has none, with more coils than windings and no lead loose: a broken coil would leave one. */
const NO_COIL_NOWHERE_LOG: f32 = -1.8;
/** The same when leads hang loose, as those of a broken coil do: for a place without a coil, and for a shared one. */
const LOOSE_NO_COIL_LOG: f32 = -0.2;
const LOOSE_SHARED_LOG: f32 = -2;
/** ln of the prior that nobody touched a winding though its places were asked. */
const UNDRIVEN_LOG: f32 = -2.5;
/** Signs are never surer than this: 0.99999. */
export const SIGN_MOST: f32 = 11.5;
/** Evidence of a sign counts as a vote from these ln odds. */
export const VOTE: f32 = 3;
/** Spread of ln flux of one person's own touches, and of what other coils see of one. */
const SAME_HAND_SPREAD: f32 = 0.7;
const SAME_SHARE_SPREAD: f32 = 0.92;
/** From them: variance between persons; precision within one; precision with both, and ln of both over within. */
const BETWEEN: f32 = HAND_BETWEEN * HAND_BETWEEN;
const OWN_PRECISION: f32 = 1 / (SAME_HAND_SPREAD * SAME_HAND_SPREAD);
const SHARE_PRECISION: f32 = 1 / (SAME_SHARE_SPREAD * SAME_SHARE_SPREAD);
const OWN_TOTAL: f32 = 1 / (BETWEEN + SAME_HAND_SPREAD * SAME_HAND_SPREAD);
const SHARE_TOTAL: f32 = 1 / (BETWEEN + SAME_SHARE_SPREAD * SAME_SHARE_SPREAD);
/** ln((0.85^2 + 0.7^2) / 0.7^2) and ln((0.85^2 + 0.92^2) / 0.92^2). */
const OWN_LOG: f32 = 0.9061;
const SHARE_LOG: f32 = 0.6172;
/** Of more candidates than this a place keeps the likeliest; of more than three places each keeps fewer. */
const CANDIDATES: u32 = 6;

const CHOICE: u32 = TABLE_end;
const MARGINS: u32 = CHOICE + MAX_PLACES_SOLVED * 8;
const POSITIVE: u32 = MARGINS + MAX_PLACES_SOLVED * (MAX_WINDINGS + 1) * 4;
const USED_bytes: u32 = POSITIVE + MAX_WINDINGS * 4 - ASSIGNMENT;

@inline function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }
@inline function marginCell(p: u32, w: u32): usize { return <usize>(MARGINS + (p * (MAX_WINDINGS + 1) + w) * 4); }
@inline function choiceCell(p: u32): usize { return <usize>(CHOICE + p * 8); }
@inline function positiveCell(w: u32): usize { return <usize>(POSITIVE + w * 4); }

/** Weight of all assignments, and of the heaviest. */
let total: f32 = 0;
let heaviest: f32 = 0;
/** Weight of the assignments that leave a place without a winding. */
let withoutCoil: f32 = 0;

/** Whether some place more likely than not has no winding, whichever it is. */
export function placeIsBare(): bool { return windingCount > 0 && hearings > 0 && withoutCoil > total / 2; }

/** Probability that a winding, or elsewhere(), is the one of a place. */
export function placeShare(p: u32, w: u32): f32 { return load<f32>(marginCell(p, w)) / total; }
/** Probability that a winding's p end is plus. */
export function positiveShare(w: u32): f32 { return load<f32>(positiveCell(w)) / total; }

/** Weighs all assignments of the table. */
export function weighAssignments(): void {
  assert(USED_bytes <= ASSIGNMENT_bytes);
  memory.fill(<usize>MARGINS, 0, <usize>(MAX_PLACES_SOLVED * (MAX_WINDINGS + 1) * 4));
  for (let w: u32 = 0; w < windingCount; w++) store<f32>(positiveCell(w), 0);
  const each: u32 = placeCount <= 3 ? CANDIDATES : placeCount == 4 ? 4 : placeCount == 5 ? 3 : 2;
  for (let p: u32 = 0; p < placeCount; p++) chooseCandidates(p, each);
  // Twice through: the heaviest first, so that the sums neither overflow nor vanish.
  heaviest = -f32.MAX_VALUE;
  total = 0;
  withoutCoil = 0;
  descend(0, 0, false);
  descend(0, 0, true);
}

/** Keeps a place's likeliest windings: bytes 0 to 5 of its choice, byte 6 their number, byte 7 the one at hand. */
function chooseCandidates(p: u32, each: u32): void {
  const at = choiceCell(p);
  let taken: u32 = 0;
  let count: u32 = 0;
  for (let n: u32 = 0; n < each && n <= windingCount; n++) {
    let best: u32 = NONE;
    for (let w: u32 = 0; w <= windingCount; w++) {
      if (((taken >> w) & 1) != 0) continue;
      if (best == NONE || load<f32>(placeCell(p, w)) > load<f32>(placeCell(p, best))) best = w;
    }
    taken |= 1 << best;
    store<u8>(at + n, <u8>best);
    count++;
  }
  store<u8>(at, <u8>count, 6);
}

/** All assignments from place p on, of a weight so far. */
function descend(p: u32, log: f32, summing: bool): void {
  if (p == placeCount) {
    log += handTerm() + undrivenTerm();
    if (!summing) heaviest = max<f32>(heaviest, log);
    else if (log > heaviest - 20) addAssignment(exponential(log - heaviest));
    return;
  }
  const at = choiceCell(p);
  const count: u32 = load<u8>(at, 6);
  for (let n: u32 = 0; n < count; n++) {
    const w: u32 = load<u8>(at + n);
    let next = log + load<f32>(placeCell(p, w));
    const leads = looseLeads();
    const loose = leads >= 2;
    if (w == elsewhere()) {
      next += !spareCoils() ? NO_COIL_LOG : loose ? LOOSE_NO_COIL_LOG : leads == 1 ? NO_COIL_SPARE_LOG : NO_COIL_NOWHERE_LOG;
    }
    if (w != elsewhere() && isTaken(p, w) && !hasClose(w)) {
      next += windingCount >= placeCount ? SHARED_LOG : loose ? LOOSE_SHARED_LOG : 0;
    }
    store<u8>(at, <u8>w, 7);
    descend(p + 1, next, summing);
  }
}

/**
 * ln of how much likelier the sizes are from one hand than each from a hand of its own: normal ln flux, spread
 * SAME_HAND within a person and HAND_BETWEEN between persons.
 */
function handTerm(): f32 {
  let precision: f32 = 0;
  let sum: f32 = 0;
  let squares: f32 = 0;
  let single: f32 = 0;
  let sizes: f32 = 0;
  for (let h: u32 = 0; h < hearings; h++) {
    const how = howChosen(h);
    if (how == SAYS_NOTHING || how == UNSEEN_SHARE) continue;
    const size = sizeOf(h, chosenOf(h));
    const x = unusual(size);
    sizes += size * (how == HEARD_OWN ? OWN_PRECISION : SHARE_PRECISION);
    if (how == HEARD_OWN) {
      precision += OWN_PRECISION;
      sum += x * OWN_PRECISION;
      squares += x * x * OWN_PRECISION;
      single += x * x * OWN_TOTAL + OWN_LOG;
    } else {
      precision += SHARE_PRECISION;
      sum += x * SHARE_PRECISION;
      squares += x * x * SHARE_PRECISION;
      single += x * x * SHARE_TOTAL + SHARE_LOG;
    }
  }
  if (precision == 0) return 0;
  const joint = squares - sum * sum / (precision + 1 / BETWEEN) + logarithm(1 + BETWEEN * precision);
  return (single - joint) / 2 + unseenTerm(sizes / precision);
}
@inline function chosenOf(h: u32): u32 { return load<u8>(choiceCell(rowPlace(h)), 7); }
function howChosen(h: u32): u8 { return rowPlace(h) == NONE ? SAYS_NOTHING : load<u8>(howCell(h, chosenOf(h))); }

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
    if (unseen > own) log += addLogs(ASKED_LOG + unseen, NOTHING_LOG) - addLogs(ASKED_LOG + own, NOTHING_LOG);
  }
  return log;
}

function undrivenTerm(): f32 {
  if (placeCount < windingCount) return 0;
  let log: f32 = 0;
  for (let w: u32 = 0; w < windingCount; w++) if (!isTaken(placeCount, w) && !hasClose(w)) log += UNDRIVEN_LOG;
  return log;
}

/** Leads that are connected to nothing and are no drain wire. */
export function looseLeads(): u32 {
  // Where nobody said which clips hold a lead, a clip without contact says nothing.
  if ((evidence().flags & EvidenceFlag.clipsAssumed) != 0) return 0;
  const leads: u32 = changetype<Result>(<usize>RESULT).isolatedMask & ~evidence().bareMask;
  return popcnt<u32>(leads);
}

function isTaken(p: u32, w: u32): bool {
  for (let q: u32 = 0; q < p; q++) if (<u32>load<u8>(choiceCell(q), 7) == w) return true;
  return false;
}

function addAssignment(weight: f32): void {
  total += weight;
  let bare = false;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (<u32>load<u8>(choiceCell(p), 7) == elsewhere()) bare = true;
    const cell = marginCell(p, load<u8>(choiceCell(p), 7));
    store<f32>(cell, load<f32>(cell) + weight);
  }
  if (bare) withoutCoil += weight;
  for (let w: u32 = 0; w < windingCount; w++) {
    let sign: f32 = 0;
    let first: f32 = 0;
    let firstPlace: u32 = NONE;
    let opposed = false;
    for (let h: u32 = 0; h < hearings; h++) {
      const place = rowPlace(h);
      const here = place == NONE || <u32>load<u8>(choiceCell(place), 7) == w;
      const says = here ? askedOf(h, w) : mistakenOf(h, w);
      sign += says;
      if (!here || abs<f32>(says) < VOTE) continue;
      if (first * says < 0 && place != firstPlace) opposed = true;
      if (first == 0) {
        first = says;
        firstPlace = place;
      }
    }
    // Two places that drive one winding opposite ways are two coils against each other: the sum of both is nobody's sign.
    sign = opposed && !hasClose(w) ? 0 : max<f32>(-SIGN_MOST, min<f32>(SIGN_MOST, sign));
    store<f32>(positiveCell(w), load<f32>(positiveCell(w)) + weight * probability(sign));
  }
}

/** Whether another winding is coupled to this one as stacked coils are: both places may then be over this one. */
export function hasClose(w: u32): bool {
  if (evidence().kind == <u8>Kind.stacked) return true;
  for (let v: u32 = 0; v < windingCount; v++) if (isClose(w, v)) return true;
  return false;
}
