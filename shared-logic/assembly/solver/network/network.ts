/**
 * Pair resistances to nodes and connected parts: readings of one pair, joined clips, parts, checks that every
 * network of resistors passes, and leaks between parts.
 */
import {
  CLIP_COUNT, EVIDENCE, Evidence, Finding, FindingResult, FindingText, NONE, PairEvidence, Reading, RESULT, Result, Severity,
  UnknownText,
} from '../../layout';
import { pairAddress, potentialEvidence, readingOf } from '../../blocks';
import { addClipFinding, addFinding, addUnknown, setClips } from '../ground/findings';
import {
  aboveOf, markFilledPart, markOddPart, nodeOf, NOTHING, ohmOf, PAIR_FILLED, PAIR_MISSING, PAIR_OPEN, PAIR_VALUE, partOf, setAbove,
  setNode, setPair, setPart, stateOf, uOf,
} from '../ground/workspace';
import { isWound } from '../ground/witness';
import {
  INSULATION_ohm, JOINED_ohm, LEAK_WARNING_ohm, LEAK_ohm, MERGED_ohm, ODD_SHARE, RATIO_BEYOND, RATIO_MOST_u, SMALL_CHANGE,
  VIOLATED_u, WAYS_APART,
} from '../ground/limits';
import { askTypedOhms, compareJoined, isAsked, markApart } from './typed';
import { bit } from '../ground/mask';

/** Reads the pairs, tells what repeats disagree, and sorts the clips into nodes and parts. @returns whether anything was read */
export function readNetwork(): bool {
  const evidence = changetype<Evidence>(<usize>EVIDENCE);
  const mask: u32 = evidence.clipMask;
  let any = false;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
      if (bit(mask, i) && bit(mask, j) && readPair(i, j)) any = true;
    }
  }
  askTypedOhms(mask);
  joinClips(mask, evidence.bareMask);
  findParts(mask);
  markApart();
  return any;
}

/** One pair's readings to one value: the group that was read most often, never a mean of what disagrees. */
function readPair(i: u32, j: u32): bool {
  const at = pairAddress(i + 1, j + 1);
  const pair = changetype<PairEvidence>(at);
  setAbove(i, j, pair.above_ohm);
  const groups: u32 = pair.groupCount;
  if (groups == 0) {
    if (pair.openCount == 0) return false;
    setPair(i, j, PAIR_OPEN, 0, 0);
    return true;
  }
  let best = readingOf(pair, 0);
  let least: f32 = best.ohm;
  let most: f32 = best.ohm;
  for (let n: u32 = 1; n < groups; n++) {
    const reading = readingOf(pair, n);
    least = min<f32>(least, reading.ohm);
    most = max<f32>(most, reading.ohm);
    // Of equally many readings the lower one: a bad contact adds resistance.
    if (reading.count > best.count || (reading.count == best.count && reading.ohm < best.ohm)) best = reading;
  }
  const u: f32 = <f32>1 / sqrt<f32>(best.weight);
  setPair(i, j, PAIR_VALUE, best.ohm, u);
  if (pair.openCount > 0 && pair.above_ohm > most + VIOLATED_u * u && most < LEAK_ohm) {
    addClipFinding(Finding.intermittent, Severity.fault, FindingText.contactLost, i, j, NONE).value = best.ohm;
  } else if (groups > 1) {
    const severity = most - least < SMALL_CHANGE * least ? Severity.warning : Severity.fault;
    const leak = least >= LEAK_ohm;
    const finding = addClipFinding(Finding.intermittent, leak ? Severity.warning : severity, FindingText.readingsApart, i, j, NONE);
    finding.value = least;
    finding.value2 = most;
  }
  return true;
}

/** Clips of next to no resistance become one node; the lead stands for it rather than the drain wire. */
function joinClips(mask: u32, bareMask: u32): void {
  for (let i: u32 = 0; i < CLIP_COUNT; i++) setNode(i, i);
  unite(mask, JOINED_ohm);
  unite(mask, MERGED_ohm);
  compareJoined(mask);
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    if (!bit(mask, i) || nodeOf(i) != i || !bit(bareMask, i)) continue;
    // A group named by its drain wire is named by its first lead instead, if it has one.
    let lead: u32 = NOTHING;
    for (let k: u32 = i; k < CLIP_COUNT; k++) {
      if (bit(mask, k) && nodeOf(k) == i && !bit(bareMask, k)) {
        lead = k;
        break;
      }
    }
    if (lead == NOTHING) continue;
    for (let k: u32 = 0; k < CLIP_COUNT; k++) if (nodeOf(k) == i) setNode(k, lead);
  }
  // What stands for the nodes must have been read against each other; any other pair of the two groups serves too.
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
      if (!bit(mask, i) || !bit(mask, j) || nodeOf(i) != i || nodeOf(j) != j || stateOf(i, j) == PAIR_VALUE) continue;
      borrow(i, j, mask);
    }
  }
}

function borrow(i: u32, j: u32, mask: u32): void {
  for (let k: u32 = 0; k < CLIP_COUNT; k++) {
    if (!bit(mask, k) || nodeOf(k) != i) continue;
    for (let l: u32 = 0; l < CLIP_COUNT; l++) {
      if (!bit(mask, l) || nodeOf(l) != j) continue;
      const state = stateOf(k, l);
      if (state == PAIR_VALUE) {
        setPair(i, j, PAIR_VALUE, ohmOf(k, l), uOf(k, l) + <f32>0.5);
        return;
      }
      if (state == PAIR_OPEN && stateOf(i, j) == PAIR_MISSING) {
        setPair(i, j, PAIR_OPEN, 0, 0);
        setAbove(i, j, aboveOf(k, l));
      }
    }
  }
}

/** Makes clips closer than a limit one node, each named by its lowest clip. */
function unite(mask: u32, limit_ohm: f32): void {
  for (let pass = 0; pass < 6; pass++) {
    for (let i: u32 = 0; i < CLIP_COUNT; i++) {
      for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
        if (!bit(mask, i) || !bit(mask, j) || stateOf(i, j) != PAIR_VALUE || ohmOf(i, j) >= limit_ohm) continue;
        if (ohmOf(i, j) >= JOINED_ohm && (isWound(nodeOf(i), nodeOf(j)) || isAsked(i, j))) continue;
        const low = min<u32>(nodeOf(i), nodeOf(j));
        setNode(i, low);
        setNode(j, low);
      }
    }
  }
}

/** Parts: clips connected by less than a leak; numbered by their lowest clip. */
function findParts(mask: u32): void {
  for (let i: u32 = 0; i < CLIP_COUNT; i++) setPart(i, bit(mask, i) ? i : NOTHING);
  for (let pass = 0; pass < 6; pass++) {
    for (let i: u32 = 0; i < CLIP_COUNT; i++) {
      for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
        if (stateOf(i, j) != PAIR_VALUE || ohmOf(i, j) >= LEAK_ohm) continue;
        const low = min<u32>(partOf(i), partOf(j));
        setPart(i, low);
        setPart(j, low);
      }
    }
  }
}

/** Number of a BARE clip on the node of a vertex, 0 for none. */
export function frameClip(vertex: u32): u32 {
  const bareMask: u32 = changetype<Evidence>(<usize>EVIDENCE).bareMask;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) if (nodeOf(i) == vertex && bit(bareMask, i)) return i + 1;
  return 0;
}

/** Writes joined groups and chassis into the result and tells them. @param bareMask - clips on uncoated wires */
export function tellNodes(mask: u32, bareMask: u32): void {
  const result = changetype<Result>(<usize>RESULT);
  let groups: u32 = 0;
  let chassis: u32 = bareMask & mask;
  let isolated: u32 = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    if (!bit(mask, i)) continue;
    const group = joinedGroup(i, mask);
    if ((group & bareMask) != 0) chassis |= 1 << i;
    let alone = true;
    for (let j: u32 = 0; j < CLIP_COUNT; j++) {
      if (j != i && bit(mask, j) && partOf(j) == partOf(i) && !bit(group, j)) alone = false;
    }
    // Only what was read against all else is known to be connected to nothing.
    if (alone && readAgainstAll(i, mask)) isolated |= 1 << i;
    if (popcnt<u32>(group) < 2 || (group & ((1 << i) - 1)) != 0) continue;
    if (groups == 0) result.joined0 = <u8>group;
    else if (groups == 1) result.joined1 = <u8>group;
    else result.joined2 = <u8>group;
    groups++;
    const leads = group & ~bareMask;
    const tied = (group & bareMask) != 0 && leads != 0 && !alone;
    if (tied) {
      addClipFinding(Finding.joined, Severity.note, FindingText.chassisTied, ctz<u32>(group & bareMask), ctz<u32>(leads), NONE);
    } else {
      setClips(addFinding(Finding.joined, Severity.note, FindingText.joinedClips), group);
    }
  }
  result.chassisMask = <u8>chassis;
  result.isolatedMask = <u8>isolated;
  tellResistiveContacts(mask, bareMask);
}

/** Whether something was read between a clip's part and every other part. */
function readAgainstAll(clip: u32, mask: u32): bool {
  for (let part: u32 = 0; part < CLIP_COUNT; part++) {
    if (bit(mask, part) && partOf(part) == part && part != partOf(clip) && !isReadBetween(partOf(clip), part, mask)) return false;
  }
  return true;
}

/** What was read between two parts: how many finite readings, and the highest limit of those that were open. */
@unmanaged export class Between {
  count: u32;
  least_ohm: f32;
  sum_ohm: f32;
  above_ohm: f32;
}
const BETWEEN: Between = changetype<Between>(memory.data(offsetof<Between>()));
const THERE: Between = changetype<Between>(memory.data(offsetof<Between>()));
const BACK: Between = changetype<Between>(memory.data(offsetof<Between>()));

/** Whether any pair between two parts was read. @param a - first clip of one @param b - of the other */
export function isReadBetween(a: u32, b: u32, mask: u32): bool { return readBetween(a, b, mask, BETWEEN); }

/** Looks at all pairs between two parts. @param a - first clip of one @param b - of the other @returns whether any was read */
function readBetween(a: u32, b: u32, mask: u32, into: Between): bool {
  let any = false;
  into.count = 0;
  into.least_ohm = 0;
  into.sum_ohm = 0;
  into.above_ohm = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j: u32 = 0; j < CLIP_COUNT; j++) {
      if (!bit(mask, i) || !bit(mask, j) || partOf(i) != a || partOf(j) != b || stateOf(i, j) == PAIR_MISSING) continue;
      any = true;
      if (stateOf(i, j) == PAIR_OPEN) into.above_ohm = max<f32>(into.above_ohm, aboveOf(i, j));
      if (stateOf(i, j) != PAIR_VALUE) continue;
      const ohm = ohmOf(i, j);
      if (into.count == 0 || ohm < into.least_ohm) into.least_ohm = ohm;
      into.sum_ohm += ohm;
      into.count++;
    }
  }
  return any;
}

/** Clips within JOINED_ohm of a clip, directly or by way of others. */
function joinedGroup(clip: u32, mask: u32): u32 {
  let group: u32 = 1 << clip;
  for (let pass = 0; pass < 5; pass++) {
    for (let i: u32 = 0; i < CLIP_COUNT; i++) {
      if (!bit(group, i)) continue;
      for (let j: u32 = 0; j < CLIP_COUNT; j++) {
        if (j != i && bit(mask, j) && stateOf(i, j) == PAIR_VALUE && ohmOf(i, j) < JOINED_ohm) group |= 1 << j;
      }
    }
  }
  return group;
}

/** Clips of one node that are too far apart to be joined: a contact with resistance. */
function tellResistiveContacts(mask: u32, bareMask: u32): void {
  let told: u32 = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    if (!bit(mask, i)) continue;
    for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
      if (!bit(mask, j) || nodeOf(i) != nodeOf(j) || bit(joinedGroup(i, mask), j) || bit(told, j)) continue;
      told |= joinedGroup(j, mask);
      const swap = bit(bareMask, j) && !bit(bareMask, i);
      const finding = addClipFinding(Finding.bridge, Severity.fault, FindingText.bridgeAtEnd, swap ? j : i, swap ? i : j, NONE);
      finding.value = ohmOf(i, j);
    }
  }
}

/** Fills pairs of one part that were not read with the shortest way round, after the checks that need no inverse. */
export function checkPart(part: u32, mask: u32): void {
  let missing: u32 = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
      if (!isNode(i, part, mask) || !isNode(j, part, mask)) continue;
      if (stateOf(i, j) == PAIR_VALUE) checkTriangle(i, j, part, mask);
    }
  }
  for (let pass = 0; pass < 3; pass++) {
    for (let k: u32 = 0; k < CLIP_COUNT; k++) {
      if (!isNode(k, part, mask)) continue;
      for (let i: u32 = 0; i < CLIP_COUNT; i++) {
        for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
          if (i == k || j == k || !isNode(i, part, mask) || !isNode(j, part, mask) || stateOf(i, j) == PAIR_VALUE) continue;
          if (!hasOhm(i, k) || !hasOhm(k, j)) continue;
          const ohm = ohmOf(i, k) + ohmOf(k, j);
          if (stateOf(i, j) == PAIR_OPEN && aboveOf(i, j) > ohm * WAYS_APART + VIOLATED_u * (uOf(i, k) + uOf(k, j))) {
            const finding = addClipFinding(Finding.contradiction, Severity.warning, FindingText.openInside, i, j, k);
            finding.value = aboveOf(i, j);
            finding.value2 = ohm;
            markOddPart(part);
          }
          if (stateOf(i, j) == PAIR_FILLED && ohmOf(i, j) <= ohm) continue;
          missing |= (1 << i) | (1 << j);
          setPair(i, j, PAIR_FILLED, ohm, hypotenuse(uOf(i, k), uOf(k, j)));
        }
      }
    }
  }
  if (missing == 0) return;
  markFilledPart(part);
  addUnknown(UnknownText.readingsMissing, NONE, NONE, NONE, missing, 0);
}

@inline function hasOhm(i: u32, j: u32): bool { return stateOf(i, j) == PAIR_VALUE || stateOf(i, j) == PAIR_FILLED; }

/** Whether a clip stands for a node of this part. */
@inline export function isNode(i: u32, part: u32, mask: u32): bool { return bit(mask, i) && nodeOf(i) == i && partOf(i) == part; }

function hypotenuse(a: f32, b: f32): f32 { return sqrt<f32>(a * a + b * b); }

/** No way round is shorter than the straight one; where a reading says so, the shorter one is taken and both are told. */
function checkTriangle(i: u32, j: u32, part: u32, mask: u32): void {
  for (let k: u32 = 0; k < CLIP_COUNT; k++) {
    if (k == i || k == j || !isNode(k, part, mask)) continue;
    if (stateOf(i, k) != PAIR_VALUE || stateOf(k, j) != PAIR_VALUE) continue;
    const round = ohmOf(i, k) + ohmOf(k, j);
    const u = hypotenuse(uOf(i, j), hypotenuse(uOf(i, k), uOf(k, j)));
    if (ohmOf(i, j) <= round + VIOLATED_u * u) continue;
    const finding = addClipFinding(Finding.contradiction, Severity.warning, FindingText.triangleBroken, i, j, k);
    finding.value = ohmOf(i, j);
    finding.value2 = round;
    if (ohmOf(i, j) > (1 + ODD_SHARE) * round) markOddPart(part);
    setPair(i, j, PAIR_VALUE, round, u);
  }
}

/** What connects parts: leaks, pairs that nobody read, and opens that say little. */
export function tellBetweenParts(mask: u32, bareMask: u32): void {
  for (let a: u32 = 0; a < CLIP_COUNT; a++) {
    if (!bit(mask, a) || partOf(a) != a) continue;
    for (let b: u32 = a + 1; b < CLIP_COUNT; b++) if (bit(mask, b) && partOf(b) == b) tellPair(a, b, mask, bareMask);
  }
}

function partMask(part: u32, mask: u32): u32 {
  let clips: u32 = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) if (bit(mask, i) && partOf(i) == part) clips |= 1 << i;
  return clips;
}

function tellPair(a: u32, b: u32, mask: u32, bareMask: u32): void {
  if (!readBetween(a, b, mask, BETWEEN)) {
    addUnknown(UnknownText.pairNotRead, NONE, NONE, NONE, partMask(a, mask), partMask(b, mask));
    return;
  }
  const ohm = leakBetween(a, b, mask, BETWEEN);
  if (ohm > 0) tellLeak(a, b, ohm, mask, bareMask);
  else if (BETWEEN.count == 0 && BETWEEN.above_ohm < LEAK_ohm) {
    addUnknown(UnknownText.openLimitLow, NONE, NONE, NONE, partMask(a, mask), partMask(b, mask));
  }
}

/** Ohms of the leak that was read between two parts, the windings on either side taken off; 0 for none or one by way of a third. */
function leakBetween(a: u32, b: u32, mask: u32, read: Between): f32 {
  const least = read.least_ohm;
  if (read.count == 0 || least > INSULATION_ohm) return 0;
  const mean = read.sum_ohm / <f32>read.count;
  for (let c: u32 = 0; c < CLIP_COUNT; c++) {
    if (!bit(mask, c) || partOf(c) != c || c == a || c == b) continue;
    readBetween(a, c, mask, THERE);
    readBetween(c, b, mask, BACK);
    const there = THERE.least_ohm;
    const back = BACK.least_ohm;
    if (there > 0 && back > 0 && there < least && back < least && there + back < least * <f32>1.05) return 0;
  }
  const windings = span(a, mask) + span(b, mask);
  return max<f32>(mean - windings / 2, least - windings);
}

/** Largest resistance inside a part. */
function span(part: u32, mask: u32): f32 {
  let most: f32 = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j: u32 = i + 1; j < CLIP_COUNT; j++) {
      if (!bit(mask, i) || !bit(mask, j) || partOf(i) != part || partOf(j) != part || stateOf(i, j) != PAIR_VALUE) continue;
      most = max<f32>(most, ohmOf(i, j));
    }
  }
  return most;
}

function tellLeak(a: u32, b: u32, ohm: f32, mask: u32, bareMask: u32): void {
  const clipsA = partMask(a, mask);
  const clipsB = partMask(b, mask);
  const frameA = (clipsA & bareMask) != 0;
  const toFrame = frameA || (clipsB & bareMask) != 0;
  // The side that has the frame is named first.
  const first = frameA || !toFrame ? clipsA : clipsB;
  const second = first == clipsA ? clipsB : clipsA;
  const severity = ohm < LEAK_WARNING_ohm ? Severity.warning : Severity.note;
  const text = toFrame ? FindingText.leakToChassis : FindingText.leakBetween;
  const frameClips = first & bareMask;
  const finding = addClipFinding(Finding.leak, severity, text, ctz<u32>(frameClips != 0 ? frameClips : first), ctz<u32>(second), NONE);
  finding.value = ohm;
  placeLeak(first, second, finding);
}

/** The potential of the far side, sensed while a winding was driven, places a leak on it. */
function placeLeak(sensed: u32, driven: u32, finding: FindingResult): void {
  const evidence = changetype<Evidence>(<usize>EVIDENCE);
  let best_u = RATIO_MOST_u;
  for (let n: u32 = 0; n < <u32>evidence.potentialCount; n++) {
    const potential = potentialEvidence(n);
    if (!bit(sensed, <u32>potential.c - 1) || !bit(driven, <u32>potential.a - 1) || !bit(driven, <u32>potential.b - 1)) continue;
    if (potential.u >= best_u || potential.ratio < -RATIO_BEYOND || potential.ratio > 1 + RATIO_BEYOND) continue;
    best_u = potential.u;
    const ratio = min<f32>(1, max<f32>(0, potential.ratio));
    // clip1 the nearer end, clip2 the other one, fraction from clip1: `placeLeaks` makes coil and fraction of them.
    const nearA = ratio >= <f32>0.5;
    finding.clip1 = nearA ? potential.a : potential.b;
    finding.clip2 = nearA ? potential.b : potential.a;
    finding.fraction = nearA ? 1 - ratio : ratio;
  }
}
