/**
 * What a coil's ring says of the winding alone: capacitance, eddy loss, resonance; and whether turns are shorted.
 *
 * With R in series with (L parallel R_E) and C across both, s^2 + s w0^2 T + w0^2 = 0 has w0^2 = 1/(L C (1 + R/R_E)) and
 * T = R C + L/R_E. So tau = T - R C = L/R_E, L = 1/(w0^2 C) - R tau. tau does not depend on the number of turns, and turns f that
 * are shorted on themselves add f/(1-f) L/R to it, R and L as read: coils are compared by tau (hardware-notes/rings.md).
 */
import { Cover, EntryFlag, EVIDENCE_RINGS, Finding, FindingText, Kind, NONE, RingEvidence, Severity, UnknownText } from '../../layout';
import { coilResult, evidence } from '../../blocks';
import { logarithm } from '../../waves';
import { addFinding, addUnknown } from '../ground/findings';
import { Coupling, findCoupling } from '../hearing/coupling';
import { vertexOf } from '../ground/witness';
import {
  CLIPS, stretchAt, stretchCount, Winding, WINDING_ARM, WINDING_BRIDGED, WINDING_HIDDEN, WINDING_LOOP, windingAt, windingCount,
} from '../ground/workspace';
import {
  ALIKE_ohm, ALIKE_u, APART, ASSUMED_u_fixture, ASSUMED_u_loss, ASSUMED_u_total, BARE_least_ohm, MODEL_u_loss, NOT_SIMPLE_u_F, RING_most,
  OPEN_LOSS, OPEN_USUAL_k, SHORTED_MOST_R, SIMPLE_most, TAU_FLOOR_s, STACKED_k, USUAL_ohm,
} from '../ground/limits';

const TWO_PI: f32 = 6.2831855;
/** Standard deviation of what lies anywhere between 0 and 1: 1/sqrt(12). */
const EVENLY_u: f32 = 0.289;

/** A ring as numbers of the winding alone. */
@unmanaged class Loss {
  /** 1 once read; 2 fit is that of a simple coil, 4 that there is a ring at all, 8 the fixture's part is known. */
  state: u32;
  tau_s: f32;
  u_tau_s: f32;
  henry_H: f32;
  loss_ohm: f32;
  winding_F: f32;
  u_winding_F: f32;
}
const READ: u32 = 1;
const SIMPLE: u32 = 2;
const RINGS: u32 = 4;
const FIXTURE: u32 = 8;
const WINDINGS_most: u32 = 15;
const LOSS_bytes: u32 = offsetof<Loss>();
const FOUND: Coupling = changetype<Coupling>(memory.data(offsetof<Coupling>()));
/** One per winding, and one for a stretch. */
const LOSSES: u32 = <u32>memory.data((WINDINGS_most + 1) * LOSS_bytes);

@inline function lossAt(n: u32): Loss { return changetype<Loss>(<usize>(LOSSES + n * LOSS_bytes)); }

/** The ring of two vertices that its fit leaves least of, null when there is none. */
function ringOf(a: u32, b: u32): RingEvidence | null {
  let best: RingEvidence | null = null;
  for (let n: u32 = 0; n < <u32>evidence().ringCount; n++) {
    const ring = changetype<RingEvidence>(<usize>(EVIDENCE_RINGS + n * offsetof<RingEvidence>()));
    const plus = vertexOf(ring.plus);
    const minus = vertexOf(ring.minus);
    if (!((plus == a && minus == b) || (plus == b && minus == a))) continue;
    if (!best || ring.misfit < best.misfit) best = ring;
  }
  return best;
}

/**
 * What windings add to a ring's time of loss that were left open beside it, as a share. A fixture holds two clips at 0 V, which is one
 * other coil: a third one rings along. @param w - the winding that rang
 */
function openShare(ring: RingEvidence, w: u32): f32 {
  const plus = vertexOf(ring.plus);
  let held: u32 = 1 << vertexOf(ring.minus);
  for (let clip: u32 = 1; clip <= CLIPS; clip++) if (((<u32>ring.groundedMask >> (clip - 1)) & 1) != 0) held |= 1 << vertexOf(clip);
  let share: f32 = 0;
  for (let other: u32 = 0; other < windingCount; other++) {
    const winding = windingAt(other);
    if (other == w || <u32>winding.i == plus || <u32>winding.j == plus) continue;
    if (((held >> winding.i) & (held >> winding.j) & 1) != 0) continue;
    const k: f32 = findCoupling(w, other, FOUND) ? FOUND.factor : OPEN_USUAL_k;
    share += OPEN_LOSS * k * k;
  }
  return share;
}

/** Works a ring out. @param ohm - of the winding between the ring's clips @param w - that winding @returns whether the loss is known */
function workOut(out: Loss, a: u32, b: u32, ohm: f32, w: u32): bool {
  out.state = 0;
  const ring = a < CLIPS && b < CLIPS ? ringOf(a, b) : null;
  if (!ring) return false;
  out.state = ring.misfit <= RING_most ? (ring.misfit <= SIMPLE_most ? SIMPLE | RINGS : RINGS) : 0;
  if ((ring.flags & <u8>EntryFlag.totalKnown) == 0) return false;
  const total_F = ring.total_F;
  const simple = (out.state & SIMPLE) != 0;
  let u_total_F = ring.u_F > 0 ? ring.u_F : ASSUMED_u_total * total_F;
  if (!simple) u_total_F = sqrt<f32>(u_total_F * u_total_F + NOT_SIMPLE_u_F * NOT_SIMPLE_u_F);
  const knowsFixture = ring.fixture_F > 0;
  const share = min<f32>(ring.fixture_F / total_F, 1);
  // The fixture's part charges through the path's resistance; one that is not known is anything between none and all.
  const whole_ohm = ohm + ring.series_ohm * (knowsFixture ? share * share : <f32>0.5);
  const tau = ring.loss_s - whole_ohm * total_F;
  const u_loss = ring.u_s > 0 ? ring.u_s : ASSUMED_u_loss * ring.loss_s;
  const u_charge = whole_ohm * u_total_F + (knowsFixture ? <f32>0 : EVENLY_u * ring.series_ohm * total_F);
  const w0 = TWO_PI * ring.natural_Hz;
  const henry: f32 = <f32>1 / (w0 * w0 * total_F) - whole_ohm * tau;
  if (!isFinite<f32>(tau) || !(henry > 0) || !isFinite<f32>(henry)) return false;
  const u_open = openShare(ring, w);
  out.u_tau_s = sqrt<f32>(u_loss * u_loss + u_charge * u_charge + (u_open * u_open + MODEL_u_loss * MODEL_u_loss) * tau * tau);
  // A coil with nothing conducting near it: its loss is below what can be told.
  out.tau_s = max<f32>(tau, out.u_tau_s);
  out.henry_H = henry;
  out.loss_ohm = tau > 2 * out.u_tau_s ? henry / tau : 0;
  if (knowsFixture) {
    const u_fixture_F = ring.u_fixture_F > 0 ? ring.u_fixture_F : ASSUMED_u_fixture * ring.fixture_F;
    out.winding_F = total_F - ring.fixture_F;
    out.u_winding_F = sqrt<f32>(u_total_F * u_total_F + u_fixture_F * u_fixture_F);
    out.state |= FIXTURE;
  }
  out.state |= READ;
  return isFinite<f32>(out.u_tau_s) && out.u_tau_s > 0;
}

/** The same, and whether there is a ring at all. */
function rings(out: Loss, a: u32, b: u32, ohm: f32, w: u32): bool { return workOut(out, a, b, ohm, w) && (out.state & RINGS) != 0; }

/** Writes what the rings say beside the listed coils. */
export function listLosses(): void {
  const loss = lossAt(WINDINGS_most);
  for (let s: u32 = 0; s < stretchCount; s++) {
    const stretch = stretchAt(s);
    const coil = coilResult(stretch.index);
    if (!rings(loss, stretch.a, stretch.b, stretch.ohm, stretch.winding)) {
      // A tapped winding rings whole; its loss as a time is that of each part.
      const winding = windingAt(stretch.winding);
      if (winding.stretchCount < 2 || !rings(loss, winding.i, winding.j, winding.ohm, stretch.winding)) continue;
      coil.loss_s = loss.tau_s;
      coil.u_loss_s = loss.u_tau_s;
      continue;
    }
    if (loss.loss_ohm > 0) {
      coil.loss_ohm = loss.loss_ohm;
      coil.u_loss_ohm = loss.loss_ohm * loss.u_tau_s / loss.tau_s;
    }
    coil.loss_s = loss.tau_s;
    coil.u_loss_s = loss.u_tau_s;
    if ((loss.state & FIXTURE) == 0) continue;
    coil.capacitance_F = loss.winding_F;
    coil.u_capacitance_F = loss.u_winding_F;
    if (loss.winding_F <= loss.u_winding_F) continue;
    const perLoss: f32 = loss.loss_ohm > 0 ? 1 / loss.loss_ohm : 0;
    const w0: f32 = <f32>1 / sqrt<f32>(loss.henry_H * loss.winding_F * (1 + stretch.ohm * perLoss));
    const q: f32 = <f32>1 / (w0 * (stretch.ohm * loss.winding_F + loss.henry_H * perLoss));
    if (!(w0 > 0) || !isFinite<f32>(w0) || !isFinite<f32>(q)) continue;
    coil.resonance_Hz = w0 / TWO_PI;
    coil.q = q;
  }
}

/** Whether a winding's ring is its own and nothing else's. */
function comparable(winding: Winding): bool {
  return (winding.flags & <u8>(WINDING_HIDDEN | WINDING_ARM | WINDING_LOOP | WINDING_BRIDGED)) == 0;
}

/** Tells shorted turns: of a coil beside its siblings, and of one that stands alone. */
export function judgeLosses(): void {
  const most = min<u32>(windingCount, WINDINGS_most);
  for (let w: u32 = 0; w < most; w++) {
    const winding = windingAt(w);
    const loss = lossAt(w);
    if (!workOut(loss, winding.i, winding.j, winding.ohm, w)) loss.state &= ~READ;
    else if (!comparable(winding)) loss.state = 0;
  }
  for (let w: u32 = 0; w < most; w++) {
    if ((lossAt(w).state & READ) == 0) continue;
    tellRing(w);
    if (!besideSiblings(w, most)) alone(w);
  }
}

/** Whether the losses of two windings could be compared: siblings with a ring each. */
export function ringsCompared(a: u32, b: u32): bool {
  if (a >= WINDINGS_most || b >= WINDINGS_most) return false;
  return (lossAt(a).state & lossAt(b).state & READ) != 0;
}

function tellRing(w: u32): void {
  const state = lossAt(w).state;
  if ((state & SIMPLE) != 0) return;
  const text = (state & RINGS) != 0 ? UnknownText.ringNotSimple : UnknownText.ringHeavy;
  addUnknown(text, windingAt(w).firstStretch, NONE, NONE, 0, 0);
}

/** Compares a winding with every sibling. @returns whether it has one */
function besideSiblings(w: u32, most: u32): bool {
  if (evidence().kind == <u8>Kind.stacked) return false;
  const mine = lossAt(w);
  let nearest: u32 = NONE;
  let stands = true;
  for (let other: u32 = 0; other < most; other++) {
    if (other == w || (lossAt(other).state & READ) == 0 || !alike(w, other)) continue;
    const theirs = lossAt(other);
    const u = sqrt<f32>(ALIKE_u * ALIKE_u + ownVariance(mine) + ownVariance(theirs));
    if (logarithm(leastTold(mine) / leastTold(theirs)) <= APART * u) stands = false;
    if (nearest == NONE || theirs.tau_s > lossAt(nearest).tau_s) nearest = other;
  }
  if (nearest == NONE) return false;
  if (stands) tellBeside(w, nearest);
  return true;
}

/** Relative variance of a time of loss as it was read: of coils that lose next to nothing it is all that there is. */
function ownVariance(loss: Loss): f32 {
  const tau = leastTold(loss);
  return (loss.u_tau_s * loss.u_tau_s + TAU_FLOOR_s * TAU_FLOOR_s) / (tau * tau);
}

/** A time of loss, or the least that means anything: a coil that loses nothing at all is as good as one that loses that. */
function leastTold(loss: Loss): f32 { return max<f32>(loss.tau_s, TAU_FLOOR_s); }

function alike(a: u32, b: u32): bool {
  const ratio = windingAt(a).ohm / windingAt(b).ohm;
  if (ratio > ALIKE_ohm || ratio * ALIKE_ohm < 1) return false;
  return !(findCoupling(a, b, FOUND) && FOUND.factor > STACKED_k);
}

/** Inductance by the flux where both have it, else by the ring: of the first as a share of the second's. */
function inductanceRatio(w: u32, other: u32): f32 {
  const a = windingAt(w);
  const b = windingAt(other);
  return a.henry > 0 && b.henry > 0 ? a.henry / b.henry : lossAt(w).henry_H / lossAt(other).henry_H;
}

/** f of f/(1-f); numbers from elsewhere may be beyond all bounds. */
function shareOf(x: f32): f32 { return isFinite<f32>(x) ? x / (1 + x) : 1; }

/** A loss that stands out: shorted turns when the inductance says so too, else a difference. */
function tellBeside(w: u32, other: u32): void {
  const lossy = windingAt(w);
  const mine = lossAt(w);
  const x: f32 = (mine.tau_s - lossAt(other).tau_s) * lossy.ohm / mine.henry_H;
  const share = shareOf(x);
  const less = inductanceRatio(w, other);
  const both = less <= 1 - share && lossy.ohm <= SHORTED_MOST_R * windingAt(other).ohm;
  const finding = both
    ? addFinding(Finding.shortedTurns, Severity.fault, FindingText.shortedTurns)
    : addFinding(Finding.mismatch, Severity.warning, FindingText.lossDiffers);
  finding.coil = lossy.firstStretch;
  finding.otherCoil = windingAt(other).firstStretch;
  finding.value = both ? share : mine.loss_ohm;
  finding.value2 = both ? less : lossAt(other).loss_ohm;
  finding.value3 = both ? mine.loss_ohm : share;
}

/** A coil without a sibling: against the least that a coil without a cover loses. */
function alone(w: u32): void {
  const loss = lossAt(w);
  const coil: u32 = windingAt(w).firstStretch;
  const cover: u32 = evidence().cover;
  if (cover == Cover.metal) {
    addUnknown(UnknownText.turnsUnderCover, coil, NONE, NONE, 0, 0);
    return;
  }
  if (loss.loss_ohm <= 0 || loss.loss_ohm >= BARE_least_ohm) return;
  const x: f32 = (<f32>1 / loss.loss_ohm - <f32>1 / USUAL_ohm) * windingAt(w).ohm;
  const finding = addFinding(Finding.shortedTurns, cover == Cover.none ? Severity.fault : Severity.warning, FindingText.lossAlone);
  finding.coil = <u8>coil;
  finding.value = shareOf(x);
  finding.value3 = loss.loss_ohm;
  if (cover == Cover.unknown) addUnknown(UnknownText.coverOrTurns, coil, NONE, NONE, 0, 0);
}
