/**
 * The table of hearings: what every touch and observation says of every winding, and so of every place.
 */
import { EVIDENCE, Evidence, NONE } from '../layout';
import {
  fillShown, heardCount, heardPlace, hearObserved, hearTouch, mixed, weigh, weighedHeard, weighedLog, weighedSign, weighedSize,
  weighElsewhere,
} from './hearing';
import { addLogs, exponential, logarithm } from '../waves';
import { expectedCoils } from './wires';
import { ASSIGNMENT, MAX_PLACES_SOLVED, MAX_WINDINGS, windingCount } from './workspace';

/** ln of the prior that a person touches the place that was asked, another winding's, none of them, or nothing. */
export const ASKED_LOG: f32 = -0.062;
const MISTAKEN_LOG: f32 = -3.9;
/** Both ways to be on the asked one. */
const ON_ASKED_LOG: f32 = -0.04;
export const NOTHING_LOG: f32 = -3.2;
/** ln of the prior that a place has no winding, and the same when there are more coils than windings. */
export const NO_COIL_LOG: f32 = -8;
export const NO_COIL_SPARE_LOG: f32 = -0.7;
/** How a hearing speaks of the hand when it is taken for a winding: not at all, by its own flux, by a share. */
export const SAYS_NOTHING: u8 = 0;
export const HEARD_OWN: u8 = 1;
const HEARD_SHARE: u8 = 2;
/** A share that would not be seen if the hand is faint. */
export const UNSEEN_SHARE: u8 = 3;
/** A touch says something of the hand when the winding it is taken for is this near the likeliest, ln. */
export const PLAUSIBLE: f32 = 2.5;
/** ln likelihood, against none, from which a touch says something of the hand. */
export const AUDIBLE: f32 = 2;
/** Rows of the table: touches and groups of observations. */
const MAX_HEARINGS: u32 = 40;
/** Column of "on none of the listed windings". */
@inline export function elsewhere(): u32 { return windingCount; }

/** Per hearing: place, then for each winding and elsewhere: ln likelihood, sign, contribution when asked and when mistaken, ln flux. */
const CELL_bytes: u32 = 20;
const ROW_bytes: u32 = 4 + (MAX_WINDINGS + 1) * (CELL_bytes + 1);
const ROWS: u32 = ASSIGNMENT;
const PLACES: u32 = ROWS + MAX_HEARINGS * ROW_bytes;
/** What follows the table in the workspace. */
export const TABLE_end: u32 = PLACES + MAX_PLACES_SOLVED * (MAX_WINDINGS + 1) * 4;

/** Rows filled, and places that were named. */
export let hearings: u32 = 0;
export let placeCount: u32 = 0;

@inline function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }
@inline export function rowPlace(h: u32): u32 { return load<u8>(<usize>(ROWS + h * ROW_bytes)); }
@inline function cellAt(h: u32, w: u32): usize { return <usize>(ROWS + h * ROW_bytes + 4 + w * CELL_bytes); }
@inline export function howCell(h: u32, w: u32): usize { return cellAt(h, MAX_WINDINGS + 1) + w; }
@inline export function logOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w)); }
@inline function signOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 4); }
@inline export function askedOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 8); }
@inline export function mistakenOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 12); }
@inline export function sizeOf(h: u32, w: u32): f32 { return load<f32>(cellAt(h, w), 16); }
@inline export function placeCell(p: u32, w: u32): usize { return <usize>(PLACES + (p * (MAX_WINDINGS + 1) + w) * 4); }

/** Fills the table from all touches and observations. */
export function fillTable(): void {
  placeCount = min<u32>(max<u32>(evidence().placeCount, 0), MAX_PLACES_SOLVED);
  hearings = 0;
  if (windingCount == 0) return;
  for (let t: u32 = 0; t < <u32>evidence().touchCount && hearings < MAX_HEARINGS; t++) {
    hearTouch(t);
    if (heardCount > 0) fillRow();
  }
  for (let n: u32 = 0; n < <u32>evidence().observedCount && hearings < MAX_HEARINGS; n++) {
    if (hearObserved(n) && heardCount > 0) fillRow();
  }
  weighPlaces();
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

/** ln likelihood of the likeliest other winding, or of none. */
export function bestRival(h: u32, w: u32): f32 {
  let best: f32 = logOf(h, elsewhere());
  for (let v: u32 = 0; v < windingCount; v++) if (v != w) best = max<f32>(best, logOf(h, v));
  return best;
}

/** Whether there are more coils than windings: some place has none, or shares one. */
export function spareCoils(): bool { return expectedCoils() > windingCount || placeCount > windingCount; }
