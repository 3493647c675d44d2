/** Coils of one pickup against each other: resistance, L/R^2, loss; shorted turns. */
import { EVIDENCE, Evidence, Finding, FindingText, Kind, Severity } from '../../layout';
import { addFinding } from '../ground/findings';
import { Coupling, findCoupling } from '../hearing/coupling';
import { isTyped } from '../network/typed';
import { ringsCompared } from './losses';
import { Inductance, readInductance } from '../ground/witness';
import {
  CLIPS, Stretch, stretchAt, stretchCount, Winding, WINDING_ARM, WINDING_HIDDEN, WINDING_LOOP, windingAt, windingCount,
} from '../ground/workspace';
import {
  INDUCTANCE_RATIO, KILOHM_MOST, LOSS_ALONE, LOSS_RATIO, RESISTANCE_RATIO, SHORTED_LEAST, SHORTED_LEAST_L, SHORTED_MOST_R, STACKED_k,
  TAPPED_MOST, WAYS_APART,
} from '../ground/limits';

const READ: Inductance = changetype<Inductance>(memory.data(offsetof<Inductance>()));
const COUPLED: Coupling = changetype<Coupling>(memory.data(offsetof<Coupling>()));

/** Reads inductance and loss of every winding and stretch. */
export function readInductances(): void {
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    if (<u32>winding.i >= CLIPS || <u32>winding.j >= CLIPS || !readInductance(winding.i, winding.j, READ)) continue;
    if (READ.disagrees) tellInductance(winding.firstStretch, READ);
    winding.henry = max<f32>(0, READ.henry);
    winding.u_henry = READ.u;
    winding.loss_ohm = READ.loss_ohm;
  }
  for (let s: u32 = 0; s < stretchCount; s++) {
    const stretch = stretchAt(s);
    if (<u32>stretch.a >= CLIPS || <u32>stretch.b >= CLIPS || !readInductance(stretch.a, stretch.b, READ)) continue;
    stretch.henry = max<f32>(0, READ.henry);
    stretch.u_henry = READ.u;
    stretch.loss_ohm = READ.loss_ohm;
    fillTapped(stretch);
  }
}

/** A tapped winding that was not read whole: from its largest piece, whose L and loss are its share of the turns squared (file-formats.md). */
function fillTapped(piece: Stretch): void {
  const winding = windingAt(piece.winding);
  const whole = winding.ohm / piece.ohm;
  if (whole < WAYS_APART || whole > TAPPED_MOST || winding.henry > 0) return;
  winding.henry = piece.henry * whole * whole;
  winding.u_henry = piece.u_henry * whole * whole;
  winding.loss_ohm = piece.loss_ohm * whole * whole;
}

function tellInductance(stretch: u32, read: Inductance): void {
  const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.inductanceDisagree);
  finding.coil = <u8>stretch;
  finding.value = read.least;
  finding.value2 = read.most;
}

/** Tells what differs between any two windings. */
export function compareSiblings(): void {
  const kind: u32 = changetype<Evidence>(<usize>EVIDENCE).kind;
  if (kind == Kind.stacked) return;
  for (let a: u32 = 0; a < windingCount; a++) {
    for (let b = a + 1; b < windingCount; b++) {
      const skip = <u8>(WINDING_HIDDEN | WINDING_ARM);
      if (((windingAt(a).flags | windingAt(b).flags) & skip) != 0) continue;
      if (findCoupling(a, b, COUPLED) && COUPLED.factor > STACKED_k) continue;
      // Asked back whether kilohms were meant.
      if (isTyped() && min<f32>(windingAt(a).ohm, windingAt(b).ohm) < KILOHM_MOST) continue;
      comparePair(windingAt(a), windingAt(b), !ringsCompared(a, b));
    }
  }
}

/** @param byStep - whether the loss of the voltage step is all that there is */
function comparePair(a: Winding, b: Winding, byStep: bool): void {
  // Nothing has so many times the resistance of nothing.
  if (a.ohm <= 0 || b.ohm <= 0) return;
  tellRatio(FindingText.resistanceDiffers, a, b, a.ohm / b.ohm, RESISTANCE_RATIO);
  if (((a.flags | b.flags) & <u8>WINDING_LOOP) != 0 || a.henry <= 0 || b.henry <= 0) return;
  const ratio = b.ohm / a.ohm;
  tellRatio(FindingText.inductanceDiffers, a, b, a.henry / b.henry * ratio * ratio, INDUCTANCE_RATIO);
  if (!byStep || (a.loss_ohm <= 0 && b.loss_ohm <= 0)) return;
  const lossA: f32 = a.loss_ohm > 0 ? 1 / a.loss_ohm : 0;
  const lossB: f32 = b.loss_ohm > 0 ? 1 / b.loss_ohm : 0;
  if (lossA > lossB) compareLoss(a, b, lossA - lossB);
  else compareLoss(b, a, lossB - lossA);
}

/** Tells that a quantity of two windings differs by more than a ratio, the larger one first. */
function tellRatio(text: u32, a: Winding, b: Winding, ratio: f32, most: f32): void {
  if (ratio > most) tell(text, a, b, ratio, 0);
  else if (ratio * most < 1) tell(text, b, a, 1 / ratio, 0);
}

/**
 * The lossier of two siblings. Shorted turns f load the rest by R(1-f)^2/f and leave R(1-f), L(1-f)^2 (file-formats.md), so
 * that extra conductance times the R that is left is f/(1-f).
 */
function compareLoss(lossy: Winding, sound: Winding, extra: f32): void {
  const x = extra * lossy.ohm;
  const share = x / (1 + x);
  if (share < SHORTED_LEAST) return;
  const less = lossy.henry / sound.henry;
  if (less <= 1 - share && less > SHORTED_LEAST_L * (1 - share) * (1 - share) && lossy.ohm <= SHORTED_MOST_R * sound.ohm) {
    const finding = addFinding(Finding.shortedTurns, Severity.fault, FindingText.shortedTurns);
    finding.coil = lossy.firstStretch;
    finding.otherCoil = sound.firstStretch;
    finding.value = share;
    finding.value2 = less;
    finding.value3 = lossy.loss_ohm;
  } else if (share > LOSS_ALONE && (sound.loss_ohm <= 0 || sound.loss_ohm > LOSS_RATIO * lossy.loss_ohm)) {
    tell(FindingText.lossDiffers, lossy, sound, lossy.loss_ohm, sound.loss_ohm);
  }
}

function tell(text: u32, a: Winding, b: Winding, value: f32, value2: f32): void {
  const finding = addFinding(Finding.mismatch, Severity.warning, text);
  finding.coil = a.firstStretch;
  finding.otherCoil = b.firstStretch;
  finding.value = value;
  finding.value2 = value2;
}
