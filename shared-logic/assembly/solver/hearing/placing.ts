/**
 * Sign, place and hidden junctions of every winding, read off the margins of the weighed assignments; and what of the
 * places is left to say.
 */
import { Finding, FindingText, Kind, NONE, Severity, TouchFlag, UnknownText } from '../../layout';
import { evidence, findingResult, result, touchEvidence } from '../../blocks';
import {
  hasClose, looseLeads, opposedShare, placePositiveShare, placeShare, positiveShare, slippedShare, slipShare, weighAssignments,
} from './assignment';
import { addFinding, addUnknown, hasFinding } from '../ground/findings';
import { fillClose, heardCount, heardPlace, heardTouch, hearObserved, hearTouch, isClose, movedUnsized, probability, signAlone } from './hearing';
import { elsewhere, fillTable, hearings, isAudible, logOf, placeCount, rowPlace, signOf, sizeOf } from './hearing-table';
import { fillRelations } from './poles';
import { logarithm } from '../../waves';
import { expectedCoils } from '../ground/expected';
import { channelAt, vertexOf } from '../ground/witness';
import { partOf, Winding, WINDING_GUESSED, WINDING_HIDDEN, WINDING_OPPOSED, windingAt, windingCount } from '../ground/workspace';
import {
  AUDIBLE, FAINT, OPPOSED_SURE, PLACE_SURE, SAYS, SENSE_SURE, SETTLED_LOOSE, SHAKY_MOST, SHARED_SURE, SIGN_GIVEN, SIGN_MOST, SLIPPED_SURE,
  SLIPPED_SUSPECTED, STACKED_LOG_ODDS, SURE_ALL_THE_SAME, SWING_LOG_ODDS,
} from '../ground/limits';


/** Fills sign, place and hidden junctions of all windings. */
export function assignPlaces(): void {
  for (let w: u32 = 0; w < windingCount; w++) windingAt(w).place = <u8>NONE;
  fillClose();
  fillRelations();
  fillTable();
  if (windingCount == 0) return;
  weighAssignments();
  for (let w: u32 = 0; w < windingCount; w++) settleWinding(w, windingAt(w));
  tellSlips();
  tellPlaces();
}

/** Whether a lead of this part lost contact: then a touch heard through it is doubtful. */
function isShaky(part: u32): bool {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    const finding = findingResult(n);
    if (<u32>finding.kind != Finding.intermittent) continue;
    if (<u32>finding.severity != Severity.fault && <u32>finding.text != FindingText.contactBurst) continue;
    if (partOf(<u32>finding.clip0 - 1) == part || (finding.clip1 != 0 && partOf(<u32>finding.clip1 - 1) == part)) return true;
  }
  return false;
}

function settleWinding(w: u32, winding: Winding): void {
  winding.sign = signOdds(w);
  const fewer = windingCount < placeCount;
  winding.placeMask = placesOf(w, fewer ? SHARED_SURE : PLACE_SURE);
  const places = popcnt<u32>(winding.placeMask);
  if (places == 1 && !mayBeShared(w, ctz<u32>(winding.placeMask))) winding.place = <u8>ctz<u32>(winding.placeMask);
  if (places > 1 && fewer && !hasClose(w)) settleShared(w, winding);
  else contradict(w, winding);
  // A coil that nobody asked for may lie inside, or it was heard by way of readings that are missing.
  const fewerNamed = windingCount < expectedCoils() && placeCount < expectedCoils();
  const hidesMore = fewerNamed && looseLeads() < 2 && evidence().kind != <u8>Kind.stacked;
  if (hidesMore || (winding.flags & <u8>WINDING_GUESSED) != 0) {
    winding.sign = 0;
    winding.place = <u8>NONE;
    winding.placeMask = 0;
  }
  // Several places give one sign together: seen once at any of them, it is worth no more than that swing.
  if (fewer && evidence().touchCount == 0 && !isRepeated()) {
    winding.sign = max<f32>(-SWING_LOG_ODDS, min<f32>(SWING_LOG_ODDS, winding.sign));
  }
  if (abs<f32>(winding.sign) < SAYS && (winding.flags & <u8>WINDING_GUESSED) == 0) {
    const stacked = stackedSign(w);
    if (abs<f32>(stacked) > SAYS) winding.sign = stacked;
  }
  if (isShaky(winding.part)) winding.sign = max<f32>(-SHAKY_MOST, min<f32>(SHAKY_MOST, winding.sign));
}

/**
 * Of two coils one over the other a touch drives both, each as its own: what a channel across one alone shows tells its plus,
 * whichever of them lies outside. Worth no more than that they lie so. 0 where that was not heard.
 */
function stackedSign(w: u32): f32 {
  if (windingCount != 2 || placeCount > 1 || !isClose(0, 1)) return 0;
  let sum: f32 = 0;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    const one: f32 = hearTouch(t) ? signAlone(w) : 0;
    if (one * sum < 0) return 0;
    sum += one;
  }
  return max<f32>(-STACKED_LOG_ODDS, min<f32>(STACKED_LOG_ODDS, sum));
}

/** ln odds of the likelier sign against the other and against coils inside that oppose each other; 0 for none likelier than not. */
function signOdds(w: u32): f32 {
  const positive = positiveShare(w);
  const negative: f32 = 1 - positive - opposedShare(w);
  const likelier = min<f32>(<f32>0.999999, max<f32>(positive, negative));
  if (likelier <= <f32>0.5) return 0;
  const odds = min<f32>(SIGN_MOST, logarithm(likelier / (1 - likelier)));
  return positive >= negative ? odds : -odds;
}

/** Places that were heard and drive a winding with at least this probability, a bit each. */
function placesOf(w: u32, sure: f32): u32 {
  let mask: u32 = 0;
  for (let p: u32 = 0; p < placeCount; p++) if (isAudible(p) && placeShare(p, w) >= sure) mask |= 1 << p;
  return mask;
}

/** Whether another place may drive this winding too, and it so be two coils with a hidden junction, or one over the other. */
function mayBeShared(w: u32, own: u32): bool {
  if (windingCount >= placeCount && !hasClose(w)) return false;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (p != own && placeShare(p, w) > 1 - PLACE_SURE) return true;
  }
  return false;
}

/** Several places drive one winding: coils with a hidden junction, which way each is turned, and whether together. */
function settleShared(w: u32, winding: Winding): void {
  winding.flags |= <u8>WINDING_HIDDEN;
  for (let p: u32 = 0; p < placeCount; p++) {
    if (((winding.placeMask >> p) & 1) == 0) continue;
    const positive = placePositiveShare(p) / placeShare(p, w);
    if (positive >= SENSE_SURE) winding.upMask |= <u8>(<u32>1 << p);
    else if (positive <= 1 - SENSE_SURE) winding.downMask |= <u8>(<u32>1 << p);
    contradictAt(p, w, winding);
  }
  if (opposedShare(w) < OPPOSED_SURE) return;
  winding.flags |= <u8>WINDING_OPPOSED;
  winding.sign = 0;
}

/** Whether something was heard twice at each place. */
function isRepeated(): bool {
  for (let p: u32 = 0; p < placeCount; p++) {
    let count: u32 = 0;
    for (let h: u32 = 0; h < hearings; h++) if (rowPlace(h) == p) count++;
    if (count < 2) return false;
  }
  return true;
}

/** Hearings at a place, or of a winding wherever, that say opposite things of its sign. */
function contradictAt(place: u32, w: u32, winding: Winding): bool {
  let positive = false;
  let negative = false;
  for (let h: u32 = 0; h < hearings; h++) {
    if ((place != NONE && rowPlace(h) != place) || !isOwn(h, w) || !mayHave(rowPlace(h), w)) continue;
    if (signOf(h, w) > SAYS) positive = true;
    else if (signOf(h, w) < -SAYS) negative = true;
  }
  if (!positive || !negative) return false;
  addFinding(Finding.contradiction, Severity.warning, FindingText.signsDisagree).coil = winding.firstStretch;
  return true;
}
function contradict(w: u32, winding: Winding): void { contradictAt(NONE, w, winding); }

/** Whether a place, if one was named, has this winding rather than not: elsewhere even a loud hearing is a share, whose sign says nothing. */
function mayHave(place: u32, w: u32): bool { return place == NONE || placeShare(place, w) > <f32>0.5; }

/** Whether a hearing was most likely a touch of this winding. */
function isOwn(h: u32, w: u32): bool {
  if (logOf(h, w) < AUDIBLE) return false;
  for (let v: u32 = 0; v <= windingCount; v++) if (v != w && logOf(h, v) > logOf(h, w)) return false;
  return true;
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

/** Whether a winding's sign is open, so that the places are touched again in any case. */
function isAnyOpen(): bool {
  for (let w: u32 = 0; w < windingCount; w++) if (probability(abs<f32>(windingAt(w).sign)) < SIGN_GIVEN) return true;
  return false;
}

/** The touch that most likely was on another place's coil, and the coil that it was heard on. */
function tellSlips(): void {
  if (slipShare() < (isAnyOpen() ? SLIPPED_SUSPECTED : SLIPPED_SURE)) return;
  let worst: u32 = 0;
  for (let h: u32 = 1; h < hearings; h++) if (slippedShare(h) > slippedShare(worst) + <f32>1e-3) worst = h;
  // A swing of unknown size may as well have been read the wrong way.
  const sized = sizeOf(worst, elsewhere()) != 0;
  if (!sized && hasFinding(Finding.contradiction)) return;
  const finding = addFinding(Finding.contradiction, Severity.warning, sized ? FindingText.placesDisagree : FindingText.swingMisplaced);
  finding.place = <u8>rowPlace(worst);
  for (let w: u32 = 0; w < windingCount; w++) {
    if (!isOwn(worst, w)) continue;
    finding.coil = windingAt(w).firstStretch;
    // The other place at which the same coil answered.
    for (let h: u32 = 0; h < hearings; h++) {
      if (rowPlace(h) != rowPlace(worst) && rowPlace(h) != NONE && isOwn(h, w)) finding.value = <f32>(rowPlace(h) + 1);
    }
  }
}

/** Touches of nothing, and places that drive nothing. */
function tellPlaces(): void {
  let touched: u32 = 0;
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) {
    // A needle that moved without its size noted may have shown the place's own coil: it accuses none of being broken.
    if (hearObserved(n) && heardPlace < placeCount && !movedUnsized()) touched |= 1 << heardPlace;
  }
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    hearTouch(t);
    const touch = touchEvidence(t);
    if (heardCount > 0 && heardTouch() > SAYS && heardPlace < placeCount) touched |= 1 << heardPlace;
    if ((touch.flags & <u16>TouchFlag.overrange) != 0 && isStrong(t)) {
      addFinding(Finding.overrange, Severity.note, FindingText.overrangeTouch).place = touch.place;
    }
    if (heardCount == 0 || heardTouch() >= FAINT || heardLater(t, touch.place)) continue;
    const nothing = heardTouch() < 0;
    if (!nothing && isSure(touch.place)) continue;
    addFinding(Finding.weakTouch, Severity.warning, nothing ? FindingText.noTouch : FindingText.weakTouch).place = touch.place;
  }
  for (let p: u32 = 0; p < placeCount; p++) {
    if (((touched >> p) & 1) != 0 && placeShare(p, elsewhere()) > <f32>0.5) {
      addUnknown(UnknownText.placeNoCoil, NONE, NONE, p, 0, 0);
    }
  }
}

/** Whether a touch went over range along wire: what is so between leads that nothing connects was no strong touch. */
function isStrong(t: u32): bool {
  for (let c: u32 = 0; c < <u32>touchEvidence(t).channelCount; c++) {
    const channel = channelAt(t, c);
    const isOver = (channel.flags & <u16>TouchFlag.overrange) != 0;
    if (isOver && partOf(vertexOf(channel.plus)) == partOf(vertexOf(channel.minus))) return true;
  }
  return false;
}

/** Whether any other touch at this place was plain. */
function heardLater(t: u32, place: u32): bool {
  for (let other: u32 = 0; other < <u32>evidence().touchCount; other++) {
    if (other == t || <u32>touchEvidence(other).place != place) continue;
    hearTouch(other);
    const plain = heardCount > 0 && heardTouch() >= FAINT;
    hearTouch(t);
    if (plain) return true;
  }
  return false;
}

/** Whether the coil of a place is sure of its ends, by this touch or any other. */
function isSure(place: u32): bool {
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    if (((winding.placeMask >> place) & 1) != 0 && probability(abs<f32>(winding.sign)) >= SURE_ALL_THE_SAME) return true;
  }
  return false;
}
