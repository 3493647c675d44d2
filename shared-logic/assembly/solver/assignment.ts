/**
 * Which place drives which winding, and which end of each winding is plus: all touches and observations together.
 *
 * A touch at a place was most likely on that place's own winding. Every assignment of places to windings is weighed by
 * all that was heard; the sign of a winding is the mean over the assignments, so that what is not sure of the coil
 * is not sure of the sign either.
 */
import {
  EVIDENCE, Evidence, EvidenceFlag, Finding, FindingText, Kind, NONE, RESULT, Result, Severity, TouchFlag, UnknownText,
} from '../layout';
import { addFinding, addUnknown, findingAt } from './findings';
import {
  fillClose, fillShown, HAND_BETWEEN, heardCount, heardPlace, heardTouch, hearObserved, hearTouch, isClose, mixed, probability,
  TOUCH_LOG_ODDS, unusual, weigh, weighedHeard, weighedLog, weighedSign, weighedSize, weighElsewhere,
} from './hearing';
import { addLogs, exponential, logarithm } from '../waves';
import { expectedCoils, WINDING_HIDDEN, WINDING_OPPOSED } from './windings';
import { touchAt } from './witness';
import { ASSIGNMENT, ASSIGNMENT_bytes, MAX_PLACES_SOLVED, MAX_WINDINGS, partOf, Winding, windingAt, windingCount } from './workspace';

/** ln of the prior that a person touches the place that was asked, another winding's, none of them, or nothing. */
const ASKED_LOG: f32 = -0.062;
const MISTAKEN_LOG: f32 = -3.9;
/** Both ways to be on the asked one. */
const ON_ASKED_LOG: f32 = -0.04;
const NOTHING_LOG: f32 = -3.2;
/** ln of the prior that two places belong to one winding when each could have its own, and that a place has none. */
const SHARED_LOG: f32 = -5;
const NO_COIL_LOG: f32 = -8;
const NO_COIL_SPARE_LOG: f32 = -0.7;
/** The same when no lead hangs loose: a broken coil would leave one. */
const NO_COIL_NOWHERE_LOG: f32 = -1.8;
/** The same when leads hang loose, as those of a broken coil do: for a place without a coil, and for a shared one. */
const LOOSE_NO_COIL_LOG: f32 = -0.2;
const LOOSE_SHARED_LOG: f32 = -2;
/** ln of the prior that nobody touched a winding though its places were asked. */
const UNDRIVEN_LOG: f32 = -2.5;
/** Signs are never surer than this: 0.99999. */
const SIGN_MOST: f32 = 11.5;
/** nor surer than this, 0.97, through a lead that lost contact during the test. */
const SHAKY_MOST: f32 = 3.476;
/** Evidence of a sign counts as a vote from these ln odds. */
const VOTE: f32 = 3;
/** A vote is worth this much when others contradict it. */
const CONTRADICTED_VOTE: f32 = 1.5;
/** A place is given a winding from this probability. */
const PLACE_SURE: f32 = 0.9;
/** The same once a touch was most likely on another winding than its place's: a hand that slipped may have slipped twice. */
const PLACE_SURE_SLIPPED: f32 = 0.985;
/** With fewer windings than places, two places share one from this probability each. */
const SHARED_SURE: f32 = 0.75;
/** The same when their signs are opposite, which a share of the other coil's touch explains worse. */
const OPPOSED_SURE: f32 = 0.4;
/** So sure must the winding of a place be, where leads hang loose and a coil is missing, for a verdict "good". */
const SETTLED_LOOSE: f32 = 0.85;
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
/** How a hearing speaks of the hand when it is taken for a winding: not at all, by its own flux, by a share. */
const SAYS_NOTHING: u8 = 0;
const HEARD_OWN: u8 = 1;
const HEARD_SHARE: u8 = 2;
/** A share that would not be seen if the hand is faint. */
const UNSEEN_SHARE: u8 = 3;
/** A touch says something of the hand when the winding it is taken for is this near the likeliest, ln. */
const PLAUSIBLE: f32 = 2.5;
/** ln likelihood, against none, from which a touch says something of the hand. */
const AUDIBLE: f32 = 2;
/** Rows of the table: touches and groups of observations. */
const MAX_HEARINGS: u32 = 40;
/** Of more candidates than this a place keeps the likeliest; of more than three places each keeps fewer. */
const CANDIDATES: u32 = 6;
/** Column of "on none of the listed windings". */
@inline function elsewhere(): u32 { return windingCount; }

/** Per hearing: place, then for each winding and elsewhere: ln likelihood, sign, contribution when asked and when mistaken, ln flux. */
const CELL_bytes: u32 = 20;
const ROW_bytes: u32 = 4 + (MAX_WINDINGS + 1) * (CELL_bytes + 1);
const ROWS: u32 = ASSIGNMENT;
const PLACES: u32 = ROWS + MAX_HEARINGS * ROW_bytes;
const CHOICE: u32 = PLACES + MAX_PLACES_SOLVED * (MAX_WINDINGS + 1) * 4;
const MARGINS: u32 = CHOICE + MAX_PLACES_SOLVED * 8;
const POSITIVE: u32 = MARGINS + MAX_PLACES_SOLVED * (MAX_WINDINGS + 1) * 4;
const USED_bytes: u32 = POSITIVE + MAX_WINDINGS * 4 - ASSIGNMENT;

let hearings: u32 = 0;
let placeCount: u32 = 0;

@inline function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }
@inline function rowPlace(h: u32): u32 { return load<u8>(<usize>(ROWS + h * ROW_bytes)); }
@inline function cellAt(h: u32, w: u32): usize { return <usize>(ROWS + h * ROW_bytes + 4 + w * CELL_bytes); }
@inline function howCell(h: u32, w: u32): usize { return cellAt(h, MAX_WINDINGS + 1) + w; }
@inline function logOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w)); }
@inline function signOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 4); }
@inline function askedOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 8); }
@inline function mistakenOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 12); }
@inline function sizeOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 16); }
@inline function placeCell(p: u32, w: u32): usize { return <usize>(PLACES + (p * (MAX_WINDINGS + 1) + w) * 4); }
@inline function marginCell(p: u32, w: u32): usize { return <usize>(MARGINS + (p * (MAX_WINDINGS + 1) + w) * 4); }
@inline function choiceCell(p: u32): usize { return <usize>(CHOICE + p * 8); }
@inline function positiveCell(w: u32): usize { return <usize>(POSITIVE + w * 4); }

/** Fills sign, place and hidden junctions of all windings. */
export function assignPlaces(): void {
  assert(USED_bytes <= ASSIGNMENT_bytes);
  placeCount = min<u32>(max<u32>(evidence().placeCount, 0), MAX_PLACES_SOLVED);
  hearings = 0;
  if (windingCount == 0) return;
  for (let w: u32 = 0; w < windingCount; w++) windingAt(w).place = <u8>NONE;
  fillClose();
  fillTable();
  weighPlaces();
  enumerate();
  settleWindings();
}

// ---------------------------------------------------------------- the table

function fillTable(): void {
  hearings = 0;
  for (let t: u32 = 0; t < <u32>evidence().touchCount && hearings < MAX_HEARINGS; t++) {
    hearTouch(t);
    if (heardCount > 0) fillRow();
  }
  for (let n: u32 = 0; n < <u32>evidence().observedCount && hearings < MAX_HEARINGS; n++) {
    if (hearObserved(n) && heardCount > 0) fillRow();
  }
}

function fillRow(): void {
  const h = hearings++;
  fillShown();
  store<u8>(<usize>(ROWS + h * ROW_bytes), <u8>(heardPlace < placeCount ? heardPlace : NONE));
  for (let w: u32 = 0; w < windingCount; w++) {
    weigh(w);
    const at = cellAt(h, w);
    store<f32>(at, weighedLog);
    store<f32>(at, weighedHeard ? weighedSign : 0, 4);
    store<f32>(at, weighedSize, 16);
    store<u8>(howCell(h, w), weighedHeard ? HEARD_OWN : HEARD_SHARE);
  }
  const at = cellAt(h, elsewhere());
  store<f32>(at, weighElsewhere());
  store<f32>(at, weighedSize, 16);
  store<u8>(howCell(h, elsewhere()), HEARD_SHARE);
  // What is hardly a touch at all says nothing of the hand.
  const faint = max<f32>(logOf(h, 0), bestRival(h, 0)) < AUDIBLE;
  for (let w: u32 = 0; w <= windingCount; w++) {
    const how = faint && load<u8>(howCell(h, w)) == HEARD_SHARE ? UNSEEN_SHARE : SAYS_NOTHING;
    if (faint || sizeOf(h, w) == 0 || logOf(h, w) < bestRival(h, w) - PLAUSIBLE) store<u8>(howCell(h, w), how);
  }
}

/** ln likelihood of each place on each winding, and what each hearing says of each sign when it was asked there or elsewhere. */
function weighPlaces(): void {
  for (let p: u32 = 0; p < placeCount; p++) for (let w: u32 = 0; w <= windingCount; w++) store<f32>(placeCell(p, w), 0);
  for (let h: u32 = 0; h < hearings; h++) {
    let all: f32 = NOTHING_LOG;
    const spare = spareCoils();
    for (let w: u32 = 0; w <= windingCount; w++) {
      if (w < windingCount || spare) all = addLogs(all, MISTAKEN_LOG + logOf(h, w));
    }
    let uniform: f32 = NOTHING_LOG;
    const even = -logarithm(<f32>windingCount);
    for (let w: u32 = 0; w < windingCount; w++) uniform = addLogs(uniform, even + logOf(h, w));
    uniform = addLogs(uniform, (spare ? NO_COIL_SPARE_LOG : NO_COIL_LOG) + logOf(h, elsewhere()));
    const place = rowPlace(h);
    for (let w: u32 = 0; w <= windingCount; w++) {
      const own = logOf(h, w);
      const asked = addLogs(ASKED_LOG + own, all);
      if (place != NONE) store<f32>(placeCell(place, w), load<f32>(placeCell(place, w)) + asked);
      if (w == windingCount) continue;
      const sign = signOf(h, w);
      const given = place == NONE ? even + own - uniform : ON_ASKED_LOG + own - asked;
      // Asked elsewhere, the touch came here by mistake only.
      const rival = bestRival(h, w);
      const strayed = MISTAKEN_LOG + own - addLogs(all, ASKED_LOG + rival);
      store<f32>(cellAt(h, w), mixed(min<f32>(1, exponential(given)), sign), 8);
      store<f32>(cellAt(h, w), mixed(min<f32>(1, exponential(strayed)), sign), 12);
    }
  }
}

function bestRival(h: u32, w: u32): f32 {
  let best: f32 = logOf(h, elsewhere());
  for (let v: u32 = 0; v < windingCount; v++) if (v != w) best = max<f32>(best, logOf(h, v));
  return best;
}

/** Whether there are more coils than windings: some place has none, or shares one. */
export function spareCoils(): bool { return expectedCoils() > windingCount || placeCount > windingCount; }

// ---------------------------------------------------------------- assignments

let total: f32 = 0;
let heaviest: f32 = 0;
/** Weight of the assignments that leave a place without a winding. */
let withoutCoil: f32 = 0;

/** Whether some place more likely than not has no winding, whichever it is. */
export function placeIsBare(): bool { return windingCount > 0 && hearings > 0 && withoutCoil > total / 2; }

function enumerate(): void {
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
function looseLeads(): u32 {
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

// ---------------------------------------------------------------- what it comes to

let placeSure: f32 = PLACE_SURE;

/** Whether a lead of this part lost contact: then a touch heard through it is doubtful. */
function isShaky(part: u32): bool {
  for (let n: u32 = 0; n < <u32>changetype<Result>(<usize>RESULT).findingCount; n++) {
    const finding = findingAt(n);
    if (<u32>finding.kind != Finding.intermittent || <u32>finding.severity != Severity.fault) continue;
    if (partOf(<u32>finding.clip0 - 1) == part || partOf(<u32>finding.clip1 - 1) == part) return true;
  }
  return false;
}

/** Whether a coil of a place that was never heard may lie inside this winding; two loose leads would rather be its ends. */
function mayHideAnother(winding: Winding): bool {
  if (windingCount >= placeCount || looseLeads() > 1 || evidence().kind == <u8>Kind.stacked) return false;
  if (popcnt<u32>(winding.placeMask) != 1) return false;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (((winding.placeMask >> p) & 1) == 0 && !isAudible(p)) return true;
  }
  return false;
}

function isAudible(place: u32): bool {
  for (let h: u32 = 0; h < hearings; h++) {
    if (rowPlace(h) == place && max<f32>(logOf(h, 0), bestRival(h, 0)) >= AUDIBLE) return true;
  }
  return false;
}

/** The winding that a place most likely has, or elsewhere(). */
function bestOf(place: u32): u32 {
  let best: u32 = elsewhere();
  for (let w: u32 = 0; w < windingCount; w++) {
    if (load<f32>(marginCell(place, w)) > load<f32>(marginCell(place, best))) best = w;
  }
  return best;
}

/** Whether a touch was most likely on another winding than its place's, or two places seem to have one winding of enough. */
function slipped(): bool {
  for (let h: u32 = 0; h < hearings; h++) {
    const place = rowPlace(h);
    if (place == NONE) continue;
    const own = bestOf(place);
    for (let w: u32 = 0; w < windingCount; w++) {
      if (w != own && logOf(h, w) > max<f32>(logOf(h, own), logOf(h, elsewhere())) + PLAUSIBLE) return true;
    }
    if (own == elsewhere() || windingCount < placeCount || hasClose(own)) continue;
    for (let p: u32 = 0; p < placeCount; p++) if (p != place && hasHearing(p) && bestOf(p) == own) return true;
  }
  return false;
}

function settleWindings(): void {
  placeSure = slipped() ? PLACE_SURE_SLIPPED : PLACE_SURE;
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    const positive = max<f32>(<f32>1e-6, min<f32>(<f32>0.999999, load<f32>(positiveCell(w)) / total));
    winding.sign = max<f32>(-SIGN_MOST, min<f32>(SIGN_MOST, logarithm(positive / (1 - positive))));
    const fewer = windingCount < placeCount;
    winding.placeMask = placesOf(w, fewer ? SHARED_SURE : placeSure);
    countVotes(w, winding);
    // Touches at two places with opposite signs: two coils against each other rather than one touched twice.
    if (fewer && winding.plusCount > 0 && winding.minusCount > 0) winding.placeMask = placesOf(w, OPPOSED_SURE);
    const place = ctz<u32>(winding.placeMask);
    if (popcnt<u32>(winding.placeMask) == 1 && !mayBeShared(w, place) && !underSeveral(w)) winding.place = <u8>place;
    if (popcnt<u32>(winding.placeMask) > 1) settleShared(w, winding);
    else contradictVotes(w, winding);
    if (mayHideAnother(winding)) {
      // Nor is it known to be the coil of the one place that was heard.
      winding.sign = 0;
      winding.place = <u8>NONE;
      winding.placeMask = 0;
    }
    if (isShaky(winding.part)) winding.sign = max<f32>(-SHAKY_MOST, min<f32>(SHAKY_MOST, winding.sign));
  }
  tellPlaces();
}

/** Places that drive a winding with at least this probability, a bit each. */
function placesOf(w: u32, sure: f32): u32 {
  let mask: u32 = 0;
  for (let p: u32 = 0; p < placeCount; p++) if (hasHearing(p) && load<f32>(marginCell(p, w)) / total >= sure) mask |= 1 << p;
  return mask;
}

/** Whether another place may drive this winding too, and it so be two coils with a hidden junction. */
function mayBeShared(w: u32, own: u32): bool {
  if (windingCount >= placeCount) return false;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (p != own && hasHearing(p) && load<f32>(marginCell(p, w)) / total > 1 - PLACE_SURE) return true;
  }
  return false;
}

/** Whether every place likelier has a winding than not: with fewer windings than places one may be broken. */
export function placesSettled(): bool {
  if (windingCount == 0 || windingCount >= placeCount || evidence().kind == <u8>Kind.stacked) return true;
  for (let p: u32 = 0; p < placeCount; p++) {
    let most: f32 = 0;
    for (let w: u32 = 0; w < windingCount; w++) most = max<f32>(most, load<f32>(marginCell(p, w)));
    if (most / total < (looseLeads() > 0 ? SETTLED_LOOSE : <f32>0.5)) return false;
  }
  return true;
}

function hasHearing(p: u32): bool {
  for (let h: u32 = 0; h < hearings; h++) if (rowPlace(h) == p) return true;
  return false;
}

/** Whether a hearing counts for a winding, given its place's assignment. */
function votes(h: u32, w: u32): f32 {
  const place = rowPlace(h);
  const here = place == NONE || load<f32>(marginCell(place, w)) / total > <f32>0.5;
  return here ? askedOf(h, w) : mistakenOf(h, w);
}

function countVotes(w: u32, winding: Winding): void {
  for (let h: u32 = 0; h < hearings; h++) {
    const vote = votes(h, w);
    if (vote > VOTE) winding.plusCount++;
    else if (vote < -VOTE) winding.minusCount++;
  }
}

/** Votes both ways: neither is worth what one alone would be. */
function contradictVotes(w: u32, winding: Winding): void {
  if (winding.plusCount == 0 || winding.minusCount == 0) return;
  const lead = CONTRADICTED_VOTE * <f32>(<i32>winding.plusCount - <i32>winding.minusCount);
  winding.sign = lead;
  addFinding(Finding.contradiction, Severity.warning, FindingText.signsDisagree).coil = winding.firstStretch;
}

/** Whether another winding is coupled to this one as stacked coils are: both places may then be over this one. */
function hasClose(w: u32): bool {
  if (evidence().kind == <u8>Kind.stacked) return true;
  for (let v: u32 = 0; v < windingCount; v++) if (isClose(w, v)) return true;
  return false;
}

/** Whether a winding that lies over or under another one may be driven from more than one place. */
function underSeveral(w: u32): bool { return hasClose(w) && popcnt<u32>(placesOf(w, 1 - PLACE_SURE)) > 1; }

/** Several places drive one winding: a hidden junction, or hands that slipped. */
function settleShared(w: u32, winding: Winding): void {
  if (hasClose(w)) {
    contradictVotes(w, winding);
    return;
  }
  if (windingCount >= placeCount) {
    const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.placesDisagree);
    finding.coil = winding.firstStretch;
    finding.place = <u8>ctz<u32>(winding.placeMask);
    contradictVotes(w, winding);
    return;
  }
  winding.flags |= <u8>WINDING_HIDDEN;
  // Each place's own sign: the two coils inside work together or against each other.
  let positive: u32 = 0;
  let negative: u32 = 0;
  let open = false;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (((winding.placeMask >> p) & 1) == 0) continue;
    let sum: f32 = 0;
    let plus: u32 = 0;
    let minus: u32 = 0;
    for (let h: u32 = 0; h < hearings; h++) {
      if (rowPlace(h) != p) continue;
      const vote = askedOf(h, w);
      sum += vote;
      if (vote > VOTE) plus++;
      else if (vote < -VOTE) minus++;
    }
    if (plus > 0 && minus > 0) {
      contradictVotes(w, winding);
      return;
    }
    if (sum > VOTE) positive++;
    else if (sum < -VOTE) negative++;
    else open = true;
  }
  if (positive > 0 && negative > 0) {
    winding.flags |= <u8>WINDING_OPPOSED;
    winding.sign = 0;
  }
  // One coil's sign says nothing of the pair's while the other's is open.
  if (open) winding.sign = 0;
}

/** Touches of nothing, places that drive nothing, touches that went wrong. */
function tellPlaces(): void {
  let touched: u32 = 0;
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) if (hearObserved(n) && heardPlace < placeCount) touched |= 1 << heardPlace;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    hearTouch(t);
    const touch = touchAt(t);
    if (heardCount > 0 && heardTouch() > VOTE && heardPlace < placeCount) touched |= 1 << heardPlace;
    if ((touch.flags & <u16>TouchFlag.overrange) != 0) {
      addFinding(Finding.overrange, Severity.note, FindingText.overrangeTouch).place = touch.place;
    }
    if (heardCount == 0) continue;
    if (heardTouch() < 0 && !heardLater(t, touch.place)) {
      addFinding(Finding.weakTouch, Severity.warning, FindingText.noTouch).place = touch.place;
    } else if (heardTouch() < TOUCH_LOG_ODDS / 2 && !heardLater(t, touch.place)) {
      addFinding(Finding.weakTouch, Severity.warning, FindingText.weakTouch).place = touch.place;
    }
  }
  for (let p: u32 = 0; p < placeCount; p++) {
    if (((touched >> p) & 1) != 0 && load<f32>(marginCell(p, elsewhere())) / total > <f32>0.5) {
      addUnknown(UnknownText.placeNoCoil, NONE, NONE, p, 0, 0);
    }
  }
}

/** Whether any other touch at this place was plain. */
function heardLater(t: u32, place: u32): bool {
  for (let other: u32 = 0; other < <u32>evidence().touchCount; other++) {
    if (other == t || <u32>touchAt(other).place != place) continue;
    hearTouch(other);
    if (heardCount > 0 && heardTouch() >= TOUCH_LOG_ODDS / 2) return true;
  }
  return false;
}
