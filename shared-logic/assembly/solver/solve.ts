/** The evidence block to the result block: a pure function of the evidence. */
import {
  CLIP_COUNT, EVIDENCE, EvidenceFlag, Finding, FindingText, LAYOUT_VERSION, NONE, Pole, RESULT, RESULT_bytes, Severity,
  TouchFlag, UnknownResult, UnknownText, Verdict,
} from '../layout';
import { evidence, liveEvidence, result, touchEvidence, unknownResult } from '../blocks';
import { bareShare, placeShare } from './hearing/assignment';
import { checkCouplings } from './hearing/coupling';
import { tellOpenVertices } from './windings/clip-joints';
import { tellBursts } from './telling/bursts';
import { isInner, isSignGiven, listCoils, listPairs, placeLeaks, tellContacts, tellLinks } from './telling/coils';
import { dropUndriven } from './windings/contacts';
import { judgeLosses, listLosses } from './telling/losses';
import {
  addClipFinding, addFinding, addUnknown, dropRepeats, hasFault, hasFinding, hasUnknown, hasWarning, nameCoils, setClips, takeBack,
} from './ground/findings';
import { probability } from './hearing/hearing';
import { elsewhere, spareCoils } from './hearing/hearing-table';
import { checkPart, isReadBetween, readNetwork, tellBetweenParts, tellNodes } from './network/network';
import { assignPlaces, placesSettled } from './hearing/placing';
import { assignPoles, poleAt, tellRelations } from './hearing/poles';
import { tellWhyOpen } from './telling/reasons';
import { compareSiblings, readInductances } from './telling/siblings';
import { buildPart } from './network/topology';
import { findWindings } from './windings/windings';
import { expectedCoils } from './ground/expected';
import { channelAt, vertexOf } from './ground/witness';
import {
  forgetWindings, partOf, Winding, WINDING_GUESSED, WINDING_HIDDEN, WINDING_OPPOSED, windingAt, windingCount, workspaceClear,
} from './ground/workspace';
import { ALIVE_LOG_ODDS, ALIVE_V, ALIVE_d, BARE_LEAST, BARE_SURE, GOOD_SIGN, KNOWN_SIGN, PLACE_SURE } from './ground/limits';


/** Fills RESULT from EVIDENCE. */
export function solve(): void {
  memory.fill(<usize>RESULT, 0, <usize>RESULT_bytes);
  workspaceClear();
  const mask: u32 = evidence().clipMask;
  const bareMask: u32 = evidence().bareMask;
  result().layout = LAYOUT_VERSION;
  if (evidence().liveCount > 0) {
    result().chassisMask = <u8>(bareMask & mask);
    tellLive();
    result().verdict = <u8>Verdict.fault;
    return;
  }
  const read = readNetwork();
  if (!read) addUnknown(UnknownText.noResistances, NONE, NONE, NONE, mask, 0);
  tellNodes(mask, bareMask);
  for (let part: u32 = 0; part < CLIP_COUNT; part++) {
    if (((mask >> part) & 1) == 0 || partOf(part) != part) continue;
    checkPart(part, mask);
    buildPart(part, mask);
  }
  tellBursts();
  const findings: u32 = result().findingCount;
  const unknowns: u32 = result().unknownCount;
  interpret();
  if (dropUndriven()) {
    takeBack(findings, unknowns);
    forgetWindings();
    interpret();
  }
  tellOpenVertices();
  assignPoles();
  checkCouplings();
  tellRelations(KNOWN_SIGN);
  listCoils();
  tellContacts();
  if (read) tellBetweenParts(mask, bareMask);
  placeLeaks();
  listLosses();
  judgeLosses();
  compareSiblings();
  listPairs();
  tellLinks();
  tellOpens(mask & ~bareMask, read);
  tellHidden();
  tellUnknowns(mask, bareMask);
  dropRepeats();
  result().verdict = <u8>verdict();
  nameCoils();
}

/** Edges to windings, and the touches to places and signs. */
function interpret(): void {
  findWindings();
  readInductances();
  assignPlaces();
}

function tellLive(): void {
  for (let n: u32 = 0; n < <u32>evidence().liveCount; n++) {
    const live = liveEvidence(n);
    const swap = live.volt_V < 0;
    const a: u32 = <u32>live.a - 1;
    const b: u32 = <u32>live.b - 1;
    const finding = addClipFinding(Finding.live, Severity.fault, FindingText.liveVoltage, swap ? b : a, swap ? a : b, NONE);
    finding.value = abs<f32>(live.volt_V);
  }
}

/** Broken wires: peaks without flux between clips that do not conduct, or a place whose coil is nowhere to be found. */
function tellOpens(leads: u32, read: bool): void {
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) {
    for (let c: u32 = 0; c < <u32>touchEvidence(t).channelCount; c++) {
      const channel = channelAt(t, c);
      const a: u32 = <u32>channel.plus - 1;
      const b: u32 = <u32>channel.minus - 1;
      const here = partOf(vertexOf(channel.plus));
      const there = partOf(vertexOf(channel.minus));
      // What was never read may conduct for all that is known.
      if (here == there || !isReadBetween(here, there, leads)) continue;
      const loose = u32(isolated(a)) + u32(isolated(b));
      if (((leads >> a) & 1) == 0 || ((leads >> b) & 1) == 0 || (loose == 0 && !spareCoils())) continue;
      // Two loose leads that show a touch are the ends of one broken wire: spares would show nothing. So is what lies
      // between a coil and a lead that it does not conduct to, when a coil is missing.
      const alive = channel.touchLogOdds > ALIVE_LOG_ODDS && channel.matched_d > ALIVE_d && abs<f32>(channel.peak_V) > ALIVE_V;
      const dead = (channel.flags & <u16>TouchFlag.noFlux) != 0 && loose > 0;
      if (!dead && !(alive && (loose == 2 || (spareCoils() && bareShare() > BARE_LEAST)))) continue;
      tellOpenPair(min<u32>(a, b), max<u32>(a, b), touchEvidence(t).place);
    }
  }
  if (hasFinding(Finding.open)) return;
  const loose: u32 = <u32>result().isolatedMask & leads;
  // A coil that seems to be missing may be where nobody read.
  if (loose == 0 || hasUnknown(UnknownText.pairNotRead)) return;
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) {
    const unknown = unknownResult(n);
    if (<u32>unknown.text != UnknownText.placeNoCoil) continue;
    tellOpenCoil(loose, placeShare(unknown.place, elsewhere()) > PLACE_SURE ? unknown.place : NONE);
    return;
  }
  if (windingCount > 0 && bareShare() > BARE_SURE) {
    tellOpenCoil(loose, NONE);
    return;
  }
  if (windingCount == 0 && read && popcnt<u32>(loose) >= 2 && popcnt<u32>(leads) == popcnt<u32>(loose)) tellOpenCoil(loose, NONE);
}

function isolated(clip: u32): bool { return ((<u32>result().isolatedMask >> clip) & 1) != 0; }

function tellOpenCoil(loose: u32, place: u32): void {
  const finding = addFinding(Finding.open, Severity.fault, FindingText.openNoCoil);
  finding.place = <u8>place;
  finding.value = <f32>windingCount;
  setClips(finding, loose);
}

/** The pair of a broken wire, once. */
let openTold: u32 = 0;
function tellOpenPair(a: u32, b: u32, place: u32): void {
  if (!hasFinding(Finding.open)) openTold = 0;
  const key: u32 = 1 << (a * 5 + b - 1);
  if ((openTold & key) != 0) return;
  openTold |= key;
  addClipFinding(Finding.open, Severity.fault, FindingText.openPeaks, a, b, NONE).place = <u8>place;
}

function tellHidden(): void {
  // What opposes may come over from a coil that nobody read.
  if (hasUnknown(UnknownText.pairNotRead)) return;
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    if (hidesEqualPoles(winding)) addFinding(Finding.mismatch, Severity.warning, FindingText.polesEqual).coil = winding.firstStretch;
    if ((winding.flags & <u8>WINDING_OPPOSED) == 0) continue;
    addFinding(Finding.outOfPhase, Severity.fault, FindingText.hiddenOutOfPhase).coil = winding.firstStretch;
  }
}

/** Whether two coils with a hidden junction add their strings and show one pole: then they add their hum as well. */
function hidesEqualPoles(winding: Winding): bool {
  const mask: u32 = winding.placeMask;
  if ((winding.flags & <u8>WINDING_HIDDEN) == 0 || popcnt<u32>(mask) != 2) return false;
  if (<u32>winding.upMask != mask && <u32>winding.downMask != mask) return false;
  const first = poleAt(ctz<u32>(mask));
  return first != Pole.unknown && first == poleAt(31 - clz<u32>(mask));
}

/** What could not be told of each coil and of the clips. */
function tellUnknowns(mask: u32, bareMask: u32): void {
  for (let w: u32 = 0; w < windingCount; w++) tellUnknownsOf(w, windingAt(w));
  const loose: u32 = result().isolatedMask & ~bareMask;
  if (loose != 0) addUnknown(UnknownText.isolatedClips, NONE, NONE, NONE, loose, 0);
  if ((evidence().flags & EvidenceFlag.full) != 0) addUnknown(UnknownText.evidenceFull, NONE, NONE, NONE, 0, 0);
  if ((evidence().flags & EvidenceFlag.cancelled) != 0) addUnknown(UnknownText.testCancelled, NONE, NONE, NONE, 0, 0);
}

function tellUnknownsOf(w: u32, winding: Winding): void {
  const coil: u32 = winding.firstStretch;
  const hidden = (winding.flags & <u8>WINDING_HIDDEN) != 0;
  if ((winding.flags & <u8>WINDING_GUESSED) != 0) {
    addUnknown(UnknownText.heardUnread, coil, NONE, NONE, 0, 0);
    return;
  }
  if (!isSignGiven(w) && (winding.flags & <u8>WINDING_OPPOSED) == 0) {
    if (isInner(w)) addUnknown(UnknownText.stackedInner, coil, NONE, NONE, 0, 0);
    else tellWhyOpen(w);
  }
  if (hidden) return;
  if (evidence().placeCount > 0 && isPlaceOpen(w, winding)) {
    addUnknown(UnknownText.placeUnknown, coil, NONE, NONE, 0, 0);
  }
  if (winding.pole == <u8>Pole.unknown) addUnknown(UnknownText.poleUnknown, coil, NONE, NONE, 0, 0);
  // With a pair unread the second coil may lie there, and need not lie inside this one.
  const unread = hasUnknown(UnknownText.pairNotRead) && windingCount < <u32>evidence().placeCount;
  if (windingCount == 1 && expectedCoils() != 1 && winding.place == <u8>NONE && !unread) {
    addUnknown(UnknownText.hiddenOrSingle, coil, NONE, NONE, 0, 0);
  }
}

/** Whether the only other winding lies under this one: then this is the one that can be touched, whatever the places are called. */
function isOuter(w: u32): bool { return windingCount == 2 && isInner(1 - w); }

/** Whether nobody knows which physical coil this is, of one that can be touched by itself. */
function isPlaceOpen(w: u32, winding: Winding): bool {
  return winding.place == <u8>NONE && (winding.flags & <u8>WINDING_HIDDEN) == 0 && !isInner(w) && !isOuter(w);
}

/** Good, fault or unsure, as file-formats.md defines them. */
function verdict(): u32 {
  if (hasFault()) return Verdict.fault;
  if (windingCount == 0 || !placesSettled()) return Verdict.unsure;
  if (hasFinding(Finding.contradiction) || hasFinding(Finding.intermittent) || hasFinding(Finding.weakTouch)) return Verdict.unsure;
  // Leads that leak may be wet, or the insulation hurt: dried and tested again they tell which.
  if (hasWarning(Finding.leak)) return Verdict.unsure;
  for (let w: u32 = 0; w < windingCount; w++) {
    const winding = windingAt(w);
    // An inner stacked coil cannot be touched: more is not to be had of it.
    if (probability(abs<f32>(winding.sign)) < GOOD_SIGN && !isInner(w)) return Verdict.unsure;
    if (windingCount > 1 && windingCount <= <u32>evidence().placeCount && isPlaceOpen(w, winding)) return Verdict.unsure;
  }
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) if (spoilsGood(unknownResult(n))) return Verdict.unsure;
  return Verdict.good;
}

/** Whether an unknown leaves open how the pickup is to be wired, or whether it is sound. */
function spoilsGood(unknown: UnknownResult): bool {
  switch (<u32>unknown.text) {
    case UnknownText.pairNotRead:
    case UnknownText.readingsMissing:
    case UnknownText.starOrDelta:
    case UnknownText.deltaOrStar:
    case UnknownText.bridgeOrLink:
    case UnknownText.linkOrBridge:
    case UnknownText.bridgeOrTap:
    case UnknownText.pairingUnknown:
    case UnknownText.openLimitLow:
    case UnknownText.placeNoCoil:
    case UnknownText.networkUnsolved:
    case UnknownText.noResistances:
    case UnknownText.evidenceFull:
    case UnknownText.testCancelled:
    case UnknownText.coverOrTurns:
    case UnknownText.ohmsOrKilohms:
    case UnknownText.kilohmsTaken:
    case UnknownText.readingsOdd:
    case UnknownText.oppositeSwings:
    case UnknownText.polarityOpposed:
      return true;
    default:
      return false;
  }
}
