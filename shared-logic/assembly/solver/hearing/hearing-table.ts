/**
 * The table of hearings: what every touch and every group of observations says of every winding, by itself. Which place
 * has which winding, and which way each is turned, is weighed over all of them together (assignment.ts).
 */
import { NONE, TouchFlag, UnknownText } from '../../layout';
import { evidence, touchEvidence } from '../../blocks';
import {
  fillHand, fillShown, heardCount, heardPlace, hearObserved, hearTouch, probability, weigh, Weighed, weighElsewhere,
} from './hearing';
import { addUnknown } from '../ground/findings';
import { exponential } from '../../waves';
import { mostCoils } from '../ground/expected';
import { ASSIGNMENT, MAX_WINDINGS, windingCount } from '../ground/workspace';
import { AUDIBLE, PLAUSIBLE } from '../ground/limits';

/** How a hearing speaks of the hand when it is taken for a winding: not at all, by its own flux, by a share. */
export const SAYS_NOTHING: u8 = 0;
export const HEARD_OWN: u8 = 1;
export const HEARD_SHARE: u8 = 2;
/** A share that would not be seen if the hand is faint. */
export const UNSEEN_SHARE: u8 = 3;
/** Rows of the table: touches and groups of observations. */
export const MAX_HEARINGS: u32 = 40;
/** Column of "on none of the listed windings". */
@inline export function elsewhere(): u32 { return windingCount; }

/** What one hearing says of one winding, or of none of them. */
@unmanaged class Cell {
  /** ln likelihood against "nothing was touched", whichever way the winding is turned. */
  log: f32;
  /** ln odds of "its end i went positive". */
  sign: f32;
  /** ln of the flux that the touch would have had; 0 when that is not known. */
  size: f32;
  /** Likelihood with end i positive, and negative, in units of the row's largest. */
  positive: f32;
  negative: f32;
}
/**
 * A row: its place, the column that explains it best, where the capture before may have left steel and whether it began too late,
 * ln of its unit, a cell for each winding and elsewhere, a byte each on how it speaks of the hand.
 */
@unmanaged class Row {
  place: u8;
  likeliest: u8;
  left: u8;
  wasMissed: u8;
  /** Windings that a channel or a needle was across, a bit each. */
  listened: u32;
  unitLog: f32;
}
const CELLS_at: u32 = offsetof<Row>();
const HOW_at: u32 = CELLS_at + (MAX_WINDINGS + 1) * offsetof<Cell>();
const ROW_bytes: u32 = HOW_at + MAX_WINDINGS + 1;
const ROWS: u32 = ASSIGNMENT;
/** What follows the table in the workspace. */
export const TABLE_end: u32 = ROWS + MAX_HEARINGS * ROW_bytes;

/** Rows filled, and places that were named. */
export let hearings: u32 = 0;
export let placeCount: u32 = 0;

@inline function rowAt(h: u32): Row { return changetype<Row>(<usize>(ROWS + h * ROW_bytes)); }
@inline function cellAt(h: u32, w: u32): Cell {
  return changetype<Cell>(<usize>(ROWS + h * ROW_bytes + CELLS_at + w * offsetof<Cell>()));
}
@inline function howCell(h: u32, w: u32): usize { return <usize>(ROWS + h * ROW_bytes + HOW_at + w); }
@inline export function rowPlace(h: u32): u32 { return rowAt(h).place; }
/** The winding, or elsewhere(), that explains a hearing best. */
@inline export function likeliestAt(h: u32): u32 { return rowAt(h).likeliest; }
/** Place at which the capture before left its steel, as far as it heard, so that it may have been lifted in this one; NONE for none. */
@inline export function leftAt(h: u32): u32 { return rowAt(h).left; }
/** Whether anybody listened to a winding in a hearing. */
@inline export function isListened(h: u32, w: u32): bool { return ((rowAt(h).listened >> w) & 1) != 0; }
/** Whether that capture began after its trigger, and so heard nothing of it. */
@inline export function wasMissed(h: u32): bool { return rowAt(h).wasMissed != 0; }
/** ln of the unit of `likelihoodOf` in a row: at least the likelihood of "nothing was touched". */
@inline export function unitLogOf(h: u32): f32 { return rowAt(h).unitLog; }
@inline export function logOf(h: u32, w: u32): f32 { return cellAt(h, w).log; }
@inline export function signOf(h: u32, w: u32): f32 { return cellAt(h, w).sign; }
@inline export function sizeOf(h: u32, w: u32): f32 { return cellAt(h, w).size; }
@inline export function howOf(h: u32, w: u32): u8 { return load<u8>(howCell(h, w)); }
/** Likelihood of a hearing, given the winding and which way it is turned, in units of its row. */
@inline export function likelihoodOf(h: u32, w: u32, positive: bool): f32 {
  const cell = cellAt(h, w);
  return positive ? cell.positive : cell.negative;
}

/** How much likelier it is that end i of a winding went up than down, -1 to 1, if the touch was on it. */
export function directionOf(h: u32, w: u32): f32 {
  const cell = cellAt(h, w);
  const both = cell.positive + cell.negative;
  return both > 0 ? (cell.positive - cell.negative) / both : 0;
}

/** Fills the table from all touches and observations. */
export function fillTable(): void {
  placeCount = evidence().placeCount;
  hearings = 0;
  if (windingCount == 0) return;
  fillHand();
  let left: u32 = NONE;
  let missed: u32 = 0;
  for (let t: u32 = 0; t < <u32>evidence().touchCount && hearings < MAX_HEARINGS; t++) {
    hearTouch(t);
    const flags: u32 = touchEvidence(t).flags;
    // What comes and goes within the capture is no lift, and where one was heard by itself this is not it. After a capture that heard
    // nothing less is sure: only both together rule it out.
    const tells = flags & (TouchFlag.noDeparture | TouchFlag.lateLift);
    const mayLift = missed != 0 ? tells != (TouchFlag.noDeparture | TouchFlag.lateLift) : tells == TouchFlag.noDeparture;
    if (heardCount > 0) {
      fillRow(mayLift ? left : NONE);
      rowAt(hearings - 1).wasMissed = <u8>(missed != 0);
    }
    missed = flags & TouchFlag.missed;
    left = (flags & (TouchFlag.missed | TouchFlag.noDeparture)) != 0 && heardPlace < placeCount ? heardPlace : NONE;
  }
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) {
    if (!hearObserved(n) || heardCount == 0) continue;
    if (hearings == MAX_HEARINGS) addUnknown(UnknownText.evidenceFull, NONE, NONE, NONE, 0, 0);
    else fillRow(NONE);
  }
}

const WEIGHED: Weighed = changetype<Weighed>(memory.data(offsetof<Weighed>()));
function fillRow(left: u32): void {
  const h = hearings++;
  fillShown();
  const row = rowAt(h);
  row.left = <u8>left;
  row.place = <u8>(heardPlace < placeCount ? heardPlace : NONE);
  row.unitLog = 0;
  row.listened = 0;
  for (let w: u32 = 0; w < windingCount; w++) {
    weigh(w, WEIGHED);
    if (WEIGHED.isHeard) row.listened |= 1 << w;
    fillCell(h, w, WEIGHED.isHeard ? WEIGHED.sign : 0, WEIGHED.isHeard ? HEARD_OWN : HEARD_SHARE);
  }
  weighElsewhere(WEIGHED);
  fillCell(h, elsewhere(), 0, HEARD_SHARE);
  // What is hardly a touch at all says nothing of the hand.
  row.likeliest = <u8>windingCount;
  for (let w: u32 = 0; w < windingCount; w++) if (logOf(h, w) > likeliestOf(h)) row.likeliest = <u8>w;
  const faint = likeliestOf(h) < AUDIBLE;
  for (let w: u32 = 0; w <= windingCount; w++) {
    const cell = cellAt(h, w);
    const all = exponential(cell.log - row.unitLog);
    const positive = probability(cell.sign);
    cell.positive = 2 * positive * all;
    cell.negative = 2 * (1 - positive) * all;
    if (!faint && cell.size != 0 && cell.log >= likeliestOf(h) - PLAUSIBLE) continue;
    store<u8>(howCell(h, w), faint && howOf(h, w) == HEARD_SHARE ? UNSEEN_SHARE : SAYS_NOTHING);
  }
}

/** Writes what was just weighed. */
function fillCell(h: u32, w: u32, sign: f32, how: u8): void {
  const cell = cellAt(h, w);
  cell.log = WEIGHED.log;
  cell.sign = sign;
  cell.size = WEIGHED.size;
  store<u8>(howCell(h, w), how);
  rowAt(h).unitLog = max<f32>(rowAt(h).unitLog, WEIGHED.log);
}

/** ln likelihood of a hearing on the winding, or on none, that explains it best. */
@inline function likeliestOf(h: u32): f32 { return logOf(h, likeliestAt(h)); }

/** Whether anything was clearly heard when a place was asked for. */
export function isAudible(place: u32): bool {
  for (let h: u32 = 0; h < hearings; h++) if (rowPlace(h) == place && likeliestOf(h) >= AUDIBLE) return true;
  return false;
}

/** Whether there are more coils than windings: some place has none, or shares one. */
export function spareCoils(): bool { return mostCoils() > windingCount; }
