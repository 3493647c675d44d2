/**
 * Readings that a person typed: ohms that may have been meant as kilohms, and readings of joined leads against each other.
 * A slip of the fingers must be asked back; it must not become a coil, a joint or a fault.
 */
import { CLIP_COUNT, EvidenceFlag, Finding, FindingText, NONE, Severity, TouchFlag, UnknownText } from '../../layout';
import { evidence, inductanceEvidence, touchEvidence } from '../../blocks';
import { addClipFinding, addUnknown } from '../ground/findings';
import { aboveOf, markOddPart, nodeOf, ohmOf, PAIR_OPEN, PAIR_VALUE, partOf, setPair, stateOf, uOf } from '../ground/workspace';
import { channelAt } from '../ground/witness';
import {
  CLEAR_u, JOINED_ohm, JOINED_SHARE, KILOHM_LEAST, KILOHM_MOST, LEAK_ohm, OHMS_H_per_ohm2, OHMS_Wb_per_ohm, VIOLATED_u,
} from '../ground/limits';
import { bit } from '../ground/mask';

@inline function key(i: u32, j: u32): u32 { return <u32>1 << (min<u32>(i, j) * 6 + max<u32>(i, j) - 1); }

/** Clips against which joined ones read apart. */
let apart: u32 = 0;
/** Pairs whose ohms are asked back, a bit each. */
let asked: u32 = 0;
/** Whether this pair may be a coil typed in kilohms: then it is no joint. */
export function isAsked(i: u32, j: u32): bool { return (asked & key(i, j)) != 0; }

export function isTyped(): bool { return (evidence().flags & EvidenceFlag.typed) != 0; }

/** Asks back every reading that in kilohms would be a coil's, where no reading beside it shows that it is a contact. */
export function askTypedOhms(mask: u32): void {
  asked = 0;
  if (!isTyped()) return;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j = i + 1; j < CLIP_COUNT; j++) {
      if (!bit(mask, i) || !bit(mask, j) || stateOf(i, j) != PAIR_VALUE) continue;
      if (ohmOf(i, j) >= KILOHM_LEAST && ohmOf(i, j) < KILOHM_MOST) ask(i, j, mask);
    }
  }
}

function ask(i: u32, j: u32, mask: u32): void {
  const ohm = ohmOf(i, j);
  let asKilohm = false;
  for (let k: u32 = 0; k < CLIP_COUNT; k++) {
    if (k == i || k == j || !bit(mask, k) || stateOf(i, k) != PAIR_VALUE || stateOf(k, j) != PAIR_VALUE) continue;
    const u = VIOLATED_u * sqrt<f32>(uOf(i, k) * uOf(i, k) + uOf(k, j) * uOf(k, j));
    const apart = abs<f32>(ohmOf(i, k) - ohmOf(k, j));
    const round = ohmOf(i, k) + ohmOf(k, j);
    // Beside a contact of this size both ends read alike.
    if (apart <= ohm + u + JOINED_ohm && round > KILOHM_MOST) return;
    const kilohm: f32 = ohm * 1000;
    if (apart <= kilohm + u && kilohm <= round + u) asKilohm = true;
  }
  const clips: u32 = (1 << i) | (1 << j);
  if (asKilohm) {
    setPair(i, j, PAIR_VALUE, ohm * 1000, uOf(i, j) * 1000);
    addUnknown(UnknownText.kilohmsTaken, NONE, NONE, NONE, clips, 0);
    return;
  }
  if (isWoundInOhms(i, j, ohm)) return;
  asked |= key(i, j);
  addUnknown(UnknownText.ohmsOrKilohms, NONE, NONE, NONE, clips, 0);
}

/**
 * Whether an instrument that listened or measured between the two leads tells a few turns from the thousands that kilohms are:
 * inductance goes with the square of the turns, flux with the turns, and turns with the ohms. By clips, since which of them are
 * one node is found out after this.
 */
function isWoundInOhms(i: u32, j: u32, ohm: f32): bool {
  for (let n: u32 = 0; n < <u32>evidence().inductanceCount; n++) {
    const reading = inductanceEvidence(n);
    if (key(i, j) != key(<u32>reading.plus - 1, <u32>reading.minus - 1)) continue;
    return reading.henry_H > 0 && reading.henry_H < OHMS_H_per_ohm2 * ohm * ohm;
  }
  let most: f32 = 0;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    for (let c: u32 = 0; c < <u32>touchEvidence(t).channelCount; c++) {
      const channel = channelAt(t, c);
      if (key(i, j) != key(<u32>channel.plus - 1, <u32>channel.minus - 1)) continue;
      if ((channel.flags & <u16>TouchFlag.overrange) != 0) return false;
      if (abs<f32>(channel.flux_Wb) > CLEAR_u * channel.u_flux_Wb) most = max<f32>(most, abs<f32>(channel.flux_Wb));
    }
  }
  return most > 0 && most < OHMS_Wb_per_ohm * ohm;
}

/** Tells joined clips that do not read alike against a third one; before readings are borrowed from one for the other. */
export function compareJoined(mask: u32): void {
  apart = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j = i + 1; j < CLIP_COUNT; j++) {
      if (!bit(mask, i) || !bit(mask, j) || nodeOf(i) != nodeOf(j) || stateOf(i, j) != PAIR_VALUE) continue;
      for (let k: u32 = 0; k < CLIP_COUNT; k++) {
        if (bit(mask, k) && nodeOf(k) != nodeOf(i) && readApart(i, j, k)) tellApart(i, j, k);
      }
    }
  }
}

function readApart(i: u32, j: u32, k: u32): bool {
  const isRead = stateOf(i, k) == PAIR_VALUE;
  if (isRead && stateOf(j, k) == PAIR_VALUE) {
    const most = max<f32>(ohmOf(i, k), ohmOf(j, k));
    if (most >= LEAK_ohm) return false;
    const u = sqrt<f32>(uOf(i, k) * uOf(i, k) + uOf(j, k) * uOf(j, k));
    return abs<f32>(ohmOf(i, k) - ohmOf(j, k)) > ohmOf(i, j) + JOINED_ohm + max<f32>(VIOLATED_u * u, JOINED_SHARE * most);
  }
  const read = isRead ? i : j;
  const open = isRead ? j : i;
  if (stateOf(read, k) != PAIR_VALUE || stateOf(open, k) != PAIR_OPEN) return false;
  return aboveOf(open, k) > 2 * ohmOf(read, k) + JOINED_ohm && ohmOf(read, k) < LEAK_ohm;
}

/** Marks the parts that this concerns; they are known now. */
export function markApart(): void {
  for (let k: u32 = 0; k < CLIP_COUNT; k++) if (bit(apart, k)) markOddPart(partOf(k));
}

function tellApart(i: u32, j: u32, k: u32): void {
  apart |= 1 << k;
  const finding = addClipFinding(Finding.contradiction, Severity.warning, FindingText.joinedApart, i, j, k);
  finding.value = stateOf(i, k) == PAIR_VALUE ? ohmOf(i, k) : 0;
  finding.value2 = stateOf(j, k) == PAIR_VALUE ? ohmOf(j, k) : 0;
}
