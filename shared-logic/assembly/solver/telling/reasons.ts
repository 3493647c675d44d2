/** Why plus and minus of a coil are open, and the one reading that would settle it. */
import { Finding, FindingText, NONE, UnknownText } from '../../layout';
import { evidence, findingResult, result, touchEvidence, unknownResult } from '../../blocks';
import { addUnknown } from '../ground/findings';
import { CLIPS, Winding, WINDING_HIDDEN, windingAt, windingCount } from '../ground/workspace';
import { fillShown, heardMost, heardPlace, heardTouch, hearObserved, hearTouch, weigh, Weighed } from '../hearing/hearing';
import { HEARD_SIGN, SAYS } from '../ground/limits';

/** Clips at the ends of a winding, bit per clip index. */
function endMask(winding: Winding): u32 {
  let mask: u32 = 0;
  if (<u32>winding.i < CLIPS) mask |= 1 << winding.i;
  if (<u32>winding.j < CLIPS) mask |= 1 << winding.j;
  return mask;
}

/** Says why the sign of a winding is not given. @param w - its number */
export function tellWhyOpen(w: u32): void {
  const winding = windingAt(w);
  const coil: u32 = winding.firstStretch;
  if (isToldOpposite(coil)) return;
  const unread = unreadClips() & ~endMask(winding);
  listen(w);
  let text: u32 = UnknownText.polarityOpposed;
  let clips: u32 = 0;
  if (disagrees(coil)) {
    text = UnknownText.polarityDisagrees;
    clips = endMask(winding);
  } else if ((winding.flags & <u8>WINDING_HIDDEN) == 0 || upAt == 0 || downAt == 0) {
    if (unread != 0 && swungAt != 0 && windingCount < <u32>evidence().placeCount) {
      text = UnknownText.polarityUnread;
      clips = unread;
    } else {
      if (tellUnlistened(winding) || tellOthers(w, coil)) return;
      const heard = winding.placeMask != 0 || swungAt != 0 || abs<f32>(winding.sign) > HEARD_SIGN;
      text = heard ? UnknownText.polarityFaint : UnknownText.polarityNoTouch;
    }
  }
  addUnknown(text, coil, NONE, NONE, clips, 0);
}

/** Whether swings on both sides of one of its ends were told to go opposite ways. */
function isToldOpposite(coil: u32): bool {
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) {
    const unknown = unknownResult(n);
    if (<u32>unknown.text == UnknownText.oppositeSwings && (unknown.coil == <u8>coil || unknown.otherCoil == <u8>coil)) return true;
  }
  return false;
}

/** Whether its touches were told to contradict each other, or one of them to belong elsewhere. */
function disagrees(coil: u32): bool {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    const finding = findingResult(n);
    if (<u32>finding.text == FindingText.signsDisagree && finding.coil == <u8>coil) return true;
  }
  return false;
}

/** Clips between which nothing was read although they may be a coil. */
function unreadClips(): u32 {
  let mask: u32 = 0;
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) {
    const unknown = unknownResult(n);
    if (<u32>unknown.text == UnknownText.pairNotRead) mask |= unknown.clipMask | unknown.clipMask2;
  }
  return mask;
}

/** Places at which a winding was listened to, at which it moved, and all that were listened to at all; a bit each. */
let heardAt: u32 = 0;
let swungAt: u32 = 0;
let askedAt: u32 = 0;
/** Places at which its end i rose, and fell. */
let upAt: u32 = 0;
let downAt: u32 = 0;
/** Places at which some channel that it moved has a size. */
let sizedAt: u32 = 0;

function listen(w: u32): void {
  heardAt = swungAt = upAt = downAt = askedAt = sizedAt = 0;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) if (hearTouch(t)) noteHearing(w);
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) if (hearObserved(n)) noteHearing(w);
}

const WEIGHED: Weighed = changetype<Weighed>(memory.data(offsetof<Weighed>()));
function noteHearing(w: u32): void {
  if (heardPlace >= 32) return;
  fillShown();
  weigh(w, WEIGHED);
  const place: u32 = 1 << heardPlace;
  askedAt |= place;
  if (!WEIGHED.isHeard) return;
  heardAt |= place;
  // What was no touch moved nothing.
  if (heardTouch() < SAYS) return;
  if (WEIGHED.sign != 0) swungAt |= place;
  if (WEIGHED.sign > 0) upAt |= place;
  if (WEIGHED.sign < 0) downAt |= place;
  if (heardMost > 0) sizedAt |= place;
}

/** A coil on which nothing moved, and a place at which nobody looked at it. */
function tellUnlistened(winding: Winding): bool {
  const missed = askedAt & ~heardAt;
  if (swungAt != 0 || missed == 0) return false;
  addUnknown(UnknownText.polarityUnlistened, winding.firstStretch, NONE, ctz<u32>(missed), endMask(winding), 0);
  return true;
}

/**
 * A place at which it moved and another coil was not looked at, or moved as well with no size noted: whose touch it was
 * nobody knows, and a share has no sign that counts.
 */
function tellOthers(w: u32, coil: u32): bool {
  const own = swungAt;
  const sized = sizedAt;
  for (let v: u32 = 0; v < windingCount; v++) {
    if (v == w) continue;
    listen(v);
    const unheard = own & ~heardAt;
    const shared = own & swungAt & ~sized;
    if ((unheard | shared) == 0) continue;
    const other = windingAt(v);
    const text = unheard != 0 ? UnknownText.polarityNeighbour : UnknownText.polarityShared;
    addUnknown(text, coil, other.firstStretch, ctz<u32>(unheard != 0 ? unheard : shared), unheard != 0 ? endMask(other) : 0, 0);
    return true;
  }
  return false;
}
