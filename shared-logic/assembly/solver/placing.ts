/**
 * Sign, place and hidden junctions of every winding, from the weighed assignments; and what of the places is left to say.
 */
import {
  EVIDENCE, Evidence, Finding, FindingText, Kind, NONE, RESULT, Result, Severity, TouchFlag, UnknownText,
} from '../layout';
import { hasClose, looseLeads, placeShare, positiveShare, SIGN_MOST, VOTE, weighAssignments } from './assignment';
import { addFinding, addUnknown, findingAt } from './findings';
import { fillClose, heardCount, heardPlace, heardTouch, hearObserved, hearTouch, TOUCH_LOG_ODDS } from './hearing';
import {
  askedOf, AUDIBLE, bestRival, elsewhere, fillTable, hearings, logOf, mistakenOf, placeCount, PLAUSIBLE, rowPlace,
} from './hearing-table';
import { logarithm } from '../waves';
import { WINDING_GUESSED, WINDING_HIDDEN, WINDING_OPPOSED } from './windings';
import { expectedCoils } from './wires';
import { touchAt } from './witness';
import { partOf, Winding, windingAt, windingCount } from './workspace';

/** Signs are never surer than this, 0.97, through a lead that lost contact during the test. */
const SHAKY_MOST: f32 = 3.476;
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

let placeSure: f32 = PLACE_SURE;

@inline function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }

/** Fills sign, place and hidden junctions of all windings. */
export function assignPlaces(): void {
  for (let w: u32 = 0; w < windingCount; w++) windingAt(w).place = <u8>NONE;
  fillClose();
  fillTable();
  if (windingCount == 0) return;
  weighAssignments();
  settleWindings();
}

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
  if (windingCount >= max<u32>(placeCount, expectedCoils()) || looseLeads() > 1 || evidence().kind == <u8>Kind.stacked) return false;
  if (popcnt<u32>(winding.placeMask) != 1) return false;
  // More coils than anybody named places for: one was never asked for.
  if (expectedCoils() > placeCount) return true;
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
    if (placeShare(place, w) > placeShare(place, best)) best = w;
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
    const positive = max<f32>(<f32>1e-6, min<f32>(<f32>0.999999, positiveShare(w)));
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
    if (mayHideAnother(winding) || (winding.flags & <u8>WINDING_GUESSED) != 0) {
      // Nor is it known to be the coil of the one place that was heard, or that its touches were its own.
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
  for (let p: u32 = 0; p < placeCount; p++) if (hasHearing(p) && placeShare(p, w) >= sure) mask |= 1 << p;
  return mask;
}

/** Whether another place may drive this winding too, and it so be two coils with a hidden junction. */
function mayBeShared(w: u32, own: u32): bool {
  if (windingCount >= placeCount) return false;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (p != own && hasHearing(p) && placeShare(p, w) > 1 - PLACE_SURE) return true;
  }
  return false;
}

/** Whether every place likelier has a winding than not: with fewer windings than places one may be broken. */
export function placesSettled(): bool {
  if (windingCount == 0 || windingCount >= placeCount || evidence().kind == <u8>Kind.stacked) return true;
  for (let p: u32 = 0; p < placeCount; p++) {
    let most: f32 = 0;
    for (let w: u32 = 0; w < windingCount; w++) most = max<f32>(most, placeShare(p, w));
    if (most < (looseLeads() > 0 ? SETTLED_LOOSE : <f32>0.5)) return false;
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
  const here = place == NONE || placeShare(place, w) > <f32>0.5;
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
    if (((touched >> p) & 1) != 0 && placeShare(p, elsewhere()) > <f32>0.5) {
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
