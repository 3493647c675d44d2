/** Poles from magnet readings, and what they and the couplings say of two windings' signs (physics.md 5). */
import { EntryFlag, Finding, FindingText, MagnetEvidence, NONE, Pole, Severity } from '../../layout';
import { evidence, magnetEvidence } from '../../blocks';
import { comparable, Coupling, findCoupling, GEOMETRY_OPEN, GEOMETRY_STACKED, geometryOf } from './coupling';
import { addFinding } from '../ground/findings';
import { MAX_WINDINGS, WINDING_GUESSED, WINDING_HIDDEN, windingAt, windingCount } from '../ground/workspace';
import { FIELD_LEAST_T, RELATION, RELATION_GUESSED } from '../ground/limits';


/** Pole read at a place (NONE: without a place); unknown when none was read or readings contradict each other. */
export function poleAt(place: u32): u32 {
  let north = false;
  let south = false;
  for (let n: u32 = 0; n < <u32>evidence().magnetCount; n++) {
    const magnet = magnetEvidence(n);
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
    const magnet = magnetEvidence(n);
    let contradicted = false;
    let earlier = false;
    for (let m: u32 = 0; m < <u32>evidence().magnetCount; m++) {
      const other = magnetEvidence(m);
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
  for (let m: u32 = 0; m < n; m++) if (magnetEvidence(m).place == magnetEvidence(n).place) return false;
  return true;
}

/** What the couplings say of each two windings: 0 nothing, else 1 when their ends i go positive together at equal poles, -1 when not; of stacked ones 2 and -2. */
const RELATED: usize = memory.data(225);
@inline function relatedAt(a: u32, b: u32): usize { return RELATED + a * MAX_WINDINGS + b; }

/** Fills the table that `relationOf` reads. */
export function fillRelations(): void {
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) store<i8>(relatedAt(a, b), relatedBy(a, b));
  }
}

const FOUND: Coupling = changetype<Coupling>(memory.data(offsetof<Coupling>()));
function relatedBy(a: u32, b: u32): i8 {
  if (!comparable(a, b) || !findCoupling(a, b, FOUND)) return 0;
  const sign = FOUND.sign;
  const geometry = geometryOf(a, b, FOUND);
  if (geometry == GEOMETRY_OPEN) return 0;
  // Side by side M_pp = -p1 p2 k sqrt(L1 L2), stacked the reverse.
  return <i8>(geometry == GEOMETRY_STACKED ? 2 * sign : -sign);
}

/**
 * Probability that two windings lift their ends i together, by their coupling and the poles of the places they have; 0
 * where nothing is known. Stacked coils share a magnet: one pole stands for both.
 * @param a - the lower winding @param placeA - its place or NONE
 */
export function relationOf(a: u32, b: u32, placeA: u32, placeB: u32): f32 {
  const related = load<i8>(relatedAt(a, b));
  if (related == 0) return 0;
  const stacked = abs(related) == 2;
  const poleA = poleAt(placeA);
  const poleB = poleAt(placeB);
  if (poleA == Pole.unknown || poleB == Pole.unknown) {
    if (!stacked) return 0;
    return related > 0 ? RELATION_GUESSED : 1 - RELATION_GUESSED;
  }
  return (poleA == poleB) == (related > 0) ? RELATION : 1 - RELATION;
}

/** Tells where signs that the touches gave, couplings and magnets do not agree. @param sure - ln odds from which a sign counts */
export function tellRelations(sure: f32): void {
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) {
      const first = windingAt(a);
      const second = windingAt(b);
      if (first.place == <u8>NONE || second.place == <u8>NONE || abs<f32>(first.sign) < sure || abs<f32>(second.sign) < sure) continue;
      const agree = relationOf(a, b, first.place, second.place);
      if (agree == 0 || (agree > <f32>0.5) == (first.sign * second.sign > 0)) continue;
      const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.polesDisagree);
      finding.coil = first.firstStretch;
      finding.otherCoil = second.firstStretch;
    }
  }
}
