/** Poles from magnet readings, and the sign relations between windings from their coupling (physics.md 5). */
import {
  EntryFlag, EVIDENCE, Evidence, EVIDENCE_MAGNETS, Finding, FindingText, Kind, MagnetEvidence, NONE, Pole, Severity,
} from '../layout';
import { addFinding } from './findings';
import { probability } from './hearing';
import { logarithm } from '../waves';
import { WINDING_GUESSED, WINDING_HIDDEN, WINDING_LOOP } from './windings';
import { CLEAR_u, channelAt, foundDisagree, foundHenry, foundMutual, foundU_H, readCoupling, readInductance, touchAt, vertexOf } from './witness';
import { partOf, stretchAt, Winding, windingAt, windingCount } from './workspace';

/** Fields below this say nothing: the sensor's own offset (physics.md 6). */
const FIELD_LEAST_T: f32 = 3e-3;
/** Coupling factors up to the first are side by side, from the second on stacked (physics.md 1 and 5; formats.md). */
const SIDE_k: f32 = 0.2;
const STACKED_k: f32 = 0.3;
/** A coupling whose kind was said may be this far off. */
const SAID_MOST_k: f32 = 0.4;
/** Coils side by side see up to 0.2 of each other's touches (physics.md 1), stacked ones most. */
const CLOSE_SHARE: f32 = 0.5;
/** Inductance for each ohm of a usual coil, for a coupling factor without inductances: common practice, no published source. */
const USUAL_H_per_ohm: f32 = 5.6e-4;
/** A mutual inductance counts from this many standard uncertainties. */
const COUPLED_u: f32 = 4;
/** ln odds of the coupling and both magnets together: 0.98, since a wand may be turned round. */
const RELATION_LOG_ODDS: f32 = 3.9;
/** A sign counts as known for a comparison from these ln odds: 0.95. */
const KNOWN: f32 = 2.94;

export const GEOMETRY_OPEN: u32 = 0;
export const GEOMETRY_SIDE: u32 = 1;
export const GEOMETRY_STACKED: u32 = 2;

@inline function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }
@inline function magnetAt(n: u32): MagnetEvidence { return changetype<MagnetEvidence>(<usize>(EVIDENCE_MAGNETS + n * 8)); }

/** Pole read at a place (NONE: without a place); unknown when none was read or readings contradict each other. */
function poleAt(place: u32): u32 {
  let north = false;
  let south = false;
  for (let n: u32 = 0; n < <u32>evidence().magnetCount; n++) {
    const magnet = magnetAt(n);
    if (<u32>magnet.place != place) continue;
    if ((magnet.flags & <u16>EntryFlag.fieldKnown) != 0 && magnet.field_T < FIELD_LEAST_T) continue;
    if (<u32>magnet.pole == Pole.north) north = true;
    if (<u32>magnet.pole == Pole.south) south = true;
  }
  return north == south ? Pole.unknown : north ? Pole.north : Pole.south;
}

/** Gives each winding the pole of its place, and tells readings that contradict each other. */
export function assignPoles(): void {
  tellMagnets();
  const common = commonPole();
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    if ((winding.flags & <u8>(WINDING_HIDDEN | WINDING_GUESSED)) != 0) continue;
    if (winding.place != <u8>NONE) winding.pole = <u8>poleAt(winding.place);
    else if (windingCount == 1 && evidence().placeCount == 0) winding.pole = <u8>poleAt(NONE);
    else winding.pole = <u8>common;
  }
}

/** The pole that every place shows, if there is one for each coil and all agree: then it does not matter which coil sits where. */
function commonPole(): u32 {
  const places: u32 = evidence().placeCount;
  // A single winding may hide two coils: its place must be known first.
  if (places < 2 || windingCount < 2 || places < windingCount) return Pole.unknown;
  const first = poleAt(0);
  for (let place: u32 = 1; place < places; place++) if (poleAt(place) != first) return Pole.unknown;
  return first;
}

function tellMagnets(): void {
  for (let n: u32 = 0; n < <u32>evidence().magnetCount; n++) {
    const magnet = magnetAt(n);
    let contradicted = false;
    let earlier = false;
    for (let m: u32 = 0; m < <u32>evidence().magnetCount; m++) {
      const other = magnetAt(m);
      if (other.place != magnet.place || other.pole == magnet.pole || other.pole == 0 || magnet.pole == 0) continue;
      if (weakField(other) || weakField(magnet)) continue;
      contradicted = true;
      if (m < n) earlier = true;
    }
    if (contradicted && !earlier && firstOf(n)) {
      addFinding(Finding.contradiction, Severity.warning, FindingText.magnetsDisagree).place = magnet.place;
    }
  }
}

function weakField(magnet: MagnetEvidence): bool {
  return (magnet.flags & <u16>EntryFlag.fieldKnown) != 0 && magnet.field_T < FIELD_LEAST_T;
}

function firstOf(n: u32): bool {
  for (let m: u32 = 0; m < n; m++) if (magnetAt(m).place == magnetAt(n).place) return false;
  return true;
}

/** Sign and size of the coupling of two windings, both read at their end i: into coupledSign, coupledFactor. */
export let coupledSign: i32 = 0;
export let coupledFactor: f32 = 0;

/** Looks for a coupling between any stretches of two windings. @returns whether one was read and is not noise */
export function findCoupling(a: u32, b: u32): bool {
  const first = windingAt(a);
  const second = windingAt(b);
  coupledSign = 0;
  coupledFactor = -1;
  if (readCoupling(first.i, first.j, second.i, second.j)) return noteCoupling(first.i, first.j, second.i, second.j, first.ohm, second.ohm);
  for (let s: u32 = first.firstStretch; s < <u32>first.firstStretch + first.stretchCount; s++) {
    for (let t: u32 = second.firstStretch; t < <u32>second.firstStretch + second.stretchCount; t++) {
      const x = stretchAt(s);
      const y = stretchAt(t);
      if (readCoupling(x.a, x.b, y.a, y.b) && noteCoupling(x.a, x.b, y.a, y.b, x.ohm, y.ohm)) return true;
    }
  }
  return false;
}

function noteCoupling(a: u32, b: u32, c: u32, d: u32, ohm: f32, otherOhm: f32): bool {
  const mutual = foundMutual;
  const u = foundU_H;
  if (foundDisagree() || abs<f32>(mutual) < COUPLED_u * u) return false;
  coupledSign = mutual > 0 ? 1 : -1;
  const own = readInductance(a, b) && foundHenry > 0 ? foundHenry : USUAL_H_per_ohm * ohm;
  const other = readInductance(c, d) && foundHenry > 0 ? foundHenry : USUAL_H_per_ohm * otherOhm;
  coupledFactor = abs<f32>(mutual) / sqrt<f32>(own * other);
  return true;
}

/** Whether two windings lie side by side or one in the other; findCoupling goes before. */
export function geometryOf(a: u32, b: u32): u32 {
  const kind: u32 = evidence().kind;
  const known = coupledSign != 0;
  if (kind == Kind.sideBySide || kind == Kind.three) return known && coupledFactor > SAID_MOST_k ? GEOMETRY_OPEN : GEOMETRY_SIDE;
  if (kind == Kind.stacked) return GEOMETRY_STACKED;
  if (!known) return GEOMETRY_OPEN;
  if (coupledFactor < SIDE_k) return GEOMETRY_SIDE;
  const share = shareOf(a, b);
  if (coupledFactor > STACKED_k) return share > <f32>0.25 ? GEOMETRY_STACKED : GEOMETRY_OPEN;
  return share >= 0 && share < <f32>0.15 ? GEOMETRY_SIDE : GEOMETRY_OPEN;
}

/**
 * Whether two windings lie so close that one's touch drives the other too. Where no coupling was read, a stacked pair being
 * the one that drives the sensed channel over its range, the touches themselves tell.
 */
export function isCloseBy(a: u32, b: u32): bool {
  const kind: u32 = evidence().kind;
  if (kind == Kind.stacked) return true;
  if (!comparable(a, b)) return false;
  if (findCoupling(a, b)) return geometryOf(a, b) != GEOMETRY_SIDE;
  // A third coil's touch shows in both alike.
  return windingCount == 2 && kind != Kind.sideBySide && shareOf(a, b) > CLOSE_SHARE;
}

/** Largest share of a clear touch on one of two windings that the other one showed; below 0 when never heard together. */
function shareOf(a: u32, b: u32): f32 {
  let most: f32 = -1;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    const touch = touchAt(t);
    let first: f32 = -1;
    let second: f32 = -1;
    let u: f32 = 0;
    for (let c: u32 = 0; c < <u32>touch.channelCount; c++) {
      const channel = channelAt(t, c);
      const part = partOf(vertexOf(channel.plus));
      if (part != partOf(vertexOf(channel.minus))) continue;
      if (spans(channel.plus, channel.minus, windingAt(a))) first = abs<f32>(channel.flux_Wb);
      else if (spans(channel.plus, channel.minus, windingAt(b))) second = abs<f32>(channel.flux_Wb);
      u = max<f32>(u, channel.u_flux_Wb);
    }
    if (first < 0 || second < 0 || max<f32>(first, second) < CLEAR_u * u) continue;
    most = max<f32>(most, min<f32>(first, second) / max<f32>(first, second));
  }
  return most;
}

function spans(plus: u32, minus: u32, w: Winding): bool {
  const a = vertexOf(plus);
  const b = vertexOf(minus);
  return (a == <u32>w.i && b == <u32>w.j) || (a == <u32>w.j && b == <u32>w.i);
}

/** Whether two windings' couplings and poles may be compared at all. */
export function comparable(a: u32, b: u32): bool {
  const skip = <u8>(WINDING_HIDDEN | WINDING_LOOP);
  return ((windingAt(a).flags | windingAt(b).flags) & skip) == 0;
}

/** Coupling and both poles together say whether two signs agree: used for signs, and compared with the touches. */
export function relateSigns(): void {
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) {
      if (!comparable(a, b)) continue;
      const first = windingAt(a);
      const second = windingAt(b);
      if (first.pole == 0 || second.pole == 0 || !findCoupling(a, b)) continue;
      const geometry = geometryOf(a, b);
      if (geometry == GEOMETRY_OPEN) continue;
      // Side by side M_pp = -p1 p2 k sqrt(L1 L2), stacked the reverse.
      const equal = first.pole == second.pole;
      const positiveAtPlus = equal == (geometry == GEOMETRY_STACKED);
      const relation: f32 = positiveAtPlus == (coupledSign > 0) ? 1 : -1;
      if (abs<f32>(first.sign) > KNOWN && abs<f32>(second.sign) > KNOWN) {
        if (first.sign * second.sign * relation > 0) continue;
        const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.polesDisagree);
        finding.coil = first.firstStretch;
        finding.otherCoil = second.firstStretch;
      }
      const before = first.sign;
      first.sign = related(first.sign, second.sign, relation);
      second.sign = related(second.sign, before, relation);
    }
  }
}

/** ln odds of a sign after what a related sign says: sum over the other sign. */
function related(own: f32, other: f32, relation: f32): f32 {
  const p = probability(other * relation);
  const r = probability(RELATION_LOG_ODDS);
  return own + logarithm((p * r + (1 - p) * (1 - r)) / (p * (1 - r) + (1 - p) * r));
}

/** Three coils side by side: the product of their three couplings is negative however they are clipped. */
export function checkCouplings(): void {
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) {
      const first = windingAt(a);
      const second = windingAt(b);
      if (readCoupling(first.i, first.j, second.i, second.j) && foundDisagree()) tellCouplings(a, b);
      if (!comparable(a, b) || !findCoupling(a, b) || coupledFactor > STACKED_k) continue;
      const ab = coupledSign;
      for (let c = b + 1; c < windingCount; c++) {
        if (!comparable(b, c) || !findCoupling(b, c) || coupledFactor > STACKED_k) continue;
        const bc = coupledSign;
        if (!findCoupling(a, c) || coupledFactor > STACKED_k) continue;
        if (ab * bc * coupledSign > 0 && evidence().kind != <u8>Kind.stacked) tellCouplings(a, b);
      }
    }
  }
}

function tellCouplings(a: u32, b: u32): void {
  const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.couplingImpossible);
  finding.coil = windingAt(a).firstStretch;
  finding.otherCoil = windingAt(b).firstStretch;
}
