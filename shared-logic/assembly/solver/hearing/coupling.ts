/** How two windings are coupled, and so how they lie to each other: side by side, or one in or over the other. */
import { Finding, FindingText, Kind, NONE, Severity, TouchFlag } from '../../layout';
import { evidence, touchEvidence } from '../../blocks';
import { mostCoils } from '../ground/expected';
import { addFinding } from '../ground/findings';
import { channelAt, Inductance, isAcross, readCoupling, Reading, readInductance, vertexOf } from '../ground/witness';
import { partOf, stretchAt, WINDING_HIDDEN, WINDING_LOOP, windingAt, windingCount } from '../ground/workspace';
import {
  CLEAR_u, CLOSE_SHARE, COUPLED_u, SAID_MOST_k, SIDE_SHARE, SIDE_k, STACKED_LEAST_k, STACKED_SHARE, STACKED_SURE_k, STACKED_k,
  USUAL_H_per_ohm,
} from '../ground/limits';

export const GEOMETRY_OPEN: u32 = 0;
const GEOMETRY_SIDE: u32 = 1;
export const GEOMETRY_STACKED: u32 = 2;

/** How two windings are coupled, both read at their end i. */
@unmanaged export class Coupling {
  /** 1 or -1; 0 where none was read that is not noise. */
  sign: i32;
  /** Size of its factor; below 0 where there is none. */
  factor: f32;
}

/** What this file reads with. */
const MUTUAL: Reading = changetype<Reading>(memory.data(offsetof<Reading>()));
const SELF: Inductance = changetype<Inductance>(memory.data(offsetof<Inductance>()));
const FOUND: Coupling = changetype<Coupling>(memory.data(offsetof<Coupling>()));

/** Looks for a coupling between any stretches of two windings. @returns whether one was read and is not noise */
export function findCoupling(a: u32, b: u32, into: Coupling): bool {
  const first = windingAt(a);
  const second = windingAt(b);
  into.sign = 0;
  into.factor = -1;
  if (readCoupling(first.i, first.j, second.i, second.j, MUTUAL)) {
    return noteCoupling(first.i, first.j, second.i, second.j, first.ohm, second.ohm, into);
  }
  for (let s: u32 = first.firstStretch; s < <u32>first.firstStretch + first.stretchCount; s++) {
    for (let t: u32 = second.firstStretch; t < <u32>second.firstStretch + second.stretchCount; t++) {
      const x = stretchAt(s);
      const y = stretchAt(t);
      if (readCoupling(x.a, x.b, y.a, y.b, MUTUAL) && noteCoupling(x.a, x.b, y.a, y.b, x.ohm, y.ohm, into)) return true;
    }
  }
  return false;
}

/** What MUTUAL, between a-b and c-d, makes of a coupling. */
function noteCoupling(a: u32, b: u32, c: u32, d: u32, ohm: f32, otherOhm: f32, into: Coupling): bool {
  if (MUTUAL.disagrees || abs<f32>(MUTUAL.henry) < COUPLED_u * MUTUAL.u) return false;
  into.sign = MUTUAL.henry > 0 ? 1 : -1;
  into.factor = abs<f32>(MUTUAL.henry) / sqrt<f32>(henryOf(a, b, ohm) * henryOf(c, d, otherOhm));
  return true;
}
function henryOf(a: u32, b: u32, ohm: f32): f32 {
  return readInductance(a, b, SELF) && SELF.henry > 0 ? SELF.henry : USUAL_H_per_ohm * ohm;
}

/** Whether two windings that are coupled so lie side by side or one in the other. */
export function geometryOf(a: u32, b: u32, coupling: Coupling): u32 {
  const kind: u32 = evidence().kind;
  const known = coupling.sign != 0;
  const factor = coupling.factor;
  if (kind == Kind.sideBySide || kind == Kind.three) return known && factor > SAID_MOST_k ? GEOMETRY_OPEN : GEOMETRY_SIDE;
  if (kind == Kind.stacked) return GEOMETRY_STACKED;
  if (!known) return GEOMETRY_OPEN;
  if (factor > STACKED_SURE_k) return GEOMETRY_STACKED;
  const share = shareOf(a, b);
  if (factor < STACKED_LEAST_k || share < 0) return factor < SIDE_k ? GEOMETRY_SIDE : GEOMETRY_OPEN;
  return share > STACKED_SHARE ? GEOMETRY_STACKED : share < SIDE_SHARE || factor < SIDE_k ? GEOMETRY_SIDE : GEOMETRY_OPEN;
}

/**
 * Whether two windings lie so close that one's touch drives the other too. Where no coupling was read, a stacked pair being
 * the one that drives the sensed channel over its range, the touches themselves tell.
 */
export function isCloseBy(a: u32, b: u32): bool {
  const kind: u32 = evidence().kind;
  if (kind == Kind.stacked) return true;
  if (!comparable(a, b)) return false;
  if (findCoupling(a, b, FOUND)) return geometryOf(a, b, FOUND) != GEOMETRY_SIDE;
  // A third coil's touch may be all that was heard.
  return windingCount == 2 && mostCoils() == 2 && kind != Kind.sideBySide && shareOf(a, b) > CLOSE_SHARE;
}

/**
 * Least share of a clear touch on one of two windings that the other one showed; below 0 when never heard together. The touch of
 * a third coil shows in both alike and tells nothing: where another winding showed more, it was not on either of them.
 */
function shareOf(a: u32, b: u32): f32 {
  let least: f32 = -1;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    const touch = touchEvidence(t);
    let first: f32 = -1;
    let second: f32 = -1;
    let third: f32 = 0;
    let u: f32 = 0;
    let firstOver = false;
    let secondOver = false;
    for (let c: u32 = 0; c < <u32>touch.channelCount; c++) {
      const channel = channelAt(t, c);
      const part = partOf(vertexOf(channel.plus));
      if (part != partOf(vertexOf(channel.minus))) continue;
      const across = windingAcross(channel.plus, channel.minus);
      if (across == NONE) continue;
      const isFirst = across == a;
      if (!isFirst && across != b) {
        third = max<f32>(third, abs<f32>(channel.flux_Wb));
        continue;
      }
      const over = (channel.flags & <u16>TouchFlag.overrange) != 0;
      if (isFirst) {
        first = abs<f32>(channel.flux_Wb);
        firstOver = over;
      } else {
        second = abs<f32>(channel.flux_Wb);
        secondOver = over;
      }
      // What is over range is clear, however little its size is known.
      if (!over) u = max<f32>(u, channel.u_flux_Wb);
    }
    if (first < 0 || second < 0 || max<f32>(first, second) < max<f32>(third, CLEAR_u * u)) continue;
    let share = min<f32>(first, second) / max<f32>(first, second);
    // The smaller of the two is a lower bound where it went over range: anything from there to alike.
    if (first < second ? firstOver : secondOver) {
      if (evidence().placeCount >= 2) continue;
      share = (1 + share) / 2;
    }
    // Where the larger one is a lower bound the share may be much less: it tells no more than that it is small.
    else if ((first < second ? secondOver : firstOver) && share >= SIDE_SHARE) continue;
    least = least < 0 ? share : min<f32>(least, share);
  }
  return least;
}

/** The winding between two clips, NONE where there is none. */
function windingAcross(plus: u32, minus: u32): u32 {
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    if (isAcross(plus, minus, winding.i, winding.j)) return w;
  }
  return NONE;
}

/** Whether two windings' couplings and poles may be compared at all. */
export function comparable(a: u32, b: u32): bool {
  const skip = <u8>(WINDING_HIDDEN | WINDING_LOOP);
  return ((windingAt(a).flags | windingAt(b).flags) & skip) == 0;
}

/** Three coils side by side: the product of their three couplings is negative however they are clipped. */
export function checkCouplings(): void {
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) {
      const first = windingAt(a);
      const second = windingAt(b);
      if (readCoupling(first.i, first.j, second.i, second.j, MUTUAL) && MUTUAL.disagrees) tellCouplings(a, b);
      if (!comparable(a, b) || !findCoupling(a, b, FOUND) || FOUND.factor > STACKED_k) continue;
      const ab = FOUND.sign;
      for (let c = b + 1; c < windingCount; c++) {
        if (!comparable(b, c) || !findCoupling(b, c, FOUND) || FOUND.factor > STACKED_k) continue;
        const bc = FOUND.sign;
        if (!findCoupling(a, c, FOUND) || FOUND.factor > STACKED_k) continue;
        if (ab * bc * FOUND.sign > 0 && evidence().kind != <u8>Kind.stacked) tellCouplings(a, b);
      }
    }
  }
}

function tellCouplings(a: u32, b: u32): void {
  const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.couplingImpossible);
  finding.coil = windingAt(a).firstStretch;
  finding.otherCoil = windingAt(b).firstStretch;
}
