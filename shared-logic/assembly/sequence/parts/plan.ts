/** What to ask the person next: decided from the evidence so far and what the solver makes of it. */
import {
  CLIP_COUNT, CoilResult, CoilText, EVIDENCE, EVIDENCE_TOUCHES, Evidence, ChannelEvidence, MAX_PLACES, NONE, PAIR_COUNT, RESULT,
  RESULT_COILS, Result, TOUCH_bytes, TouchEvidence, TouchFlag, WORK_ASKS,
} from '../../layout';
import { pairHigh, pairLow } from '../../clip-pairs';
import { PairState, groupOf, pairWork } from '../ground/pairs';
import { bareMask, placeCount } from '../ground/setup';

/** Asks of one place beyond the first. */
const REPEATS: u32 = 3;
/** Bit of a place's count of asks: the newest one was void. */
const VOID: u32 = 0x80;
/** A coil whose plus is at least this sure needs no further touch. */
const SURE: f32 = 0.98;
/**
 * Volts of the scan's 1.8 that a winding's own capacitance, 40 pF and more (physics.md 1), leaves on the 10 nF of the leak
 * path, seen 2 to 5 ms later.
 */
const BROKEN_V: f32 = 0.004;
/** Bits of CoilResult.flags. */
const HIDDEN_JUNCTION: u32 = 1;
const OPEN: u32 = 2;

/** The next place and the clips to listen to; `plusB` is 0 for one channel. */
export let place: u32 = 0;
export let plusA: u32 = 0;
export let minusA: u32 = 0;
export let plusB: u32 = 0;
export let minusB: u32 = 0;

function coil(index: u32): CoilResult { return changetype<CoilResult>(<usize>(RESULT_COILS + index * offsetof<CoilResult>())); }
function coils(): u32 { return changetype<Result>(<usize>RESULT).coilCount; }
function touch(index: u32): TouchEvidence { return changetype<TouchEvidence>(<usize>(EVIDENCE_TOUCHES + index * TOUCH_bytes)); }
function touches(): u32 { return changetype<Evidence>(<usize>EVIDENCE).touchCount; }

/** How often a place was asked for. */
export function asks(at: u32): u32 { return load<u8>(WORK_ASKS + at) & ~VOID; }

/**
 * Counts an ask.
 * @param isVoid - it came to nothing for a reason that lies with the leads and not with the person: a lead without
 *   contact, or a touch of which only one end came through
 */
export function countAsk(at: u32, isVoid: bool): void {
  assert(at < MAX_PLACES);
  store<u8>(WORK_ASKS + at, <u8>(asks(at) + 1 | (isVoid ? VOID : 0)));
}

/** Whether a coil can be listened to at all. */
function listens(index: u32): bool {
  const c = coil(index);
  return c.endA != 0 && c.endB != 0 && c.endA != c.endB && (c.flags & OPEN) == 0;
}

/** Whether nothing more can be wanted of a coil. */
function resolved(index: u32): bool {
  const c = coil(index);
  const text = <u32>c.text;
  if (!listens(index) || text == CoilText.stackedInner || text == CoilText.hiddenOutOfPhase) return true;
  if ((c.flags & HIDDEN_JUNCTION) != 0) return c.plus != 0;
  return c.plus != 0 && c.confidence >= SURE && (<u32>c.place != NONE || c.placeMask != 0);
}

function allResolved(): bool {
  for (let i: u32 = 0; i < coils(); i++) if (!resolved(i)) return false;
  return true;
}

/** Flags of the last touch asked for at a place; `none` when there was not any. */
function lastFlags(at: u32): u32 {
  for (let i = touches(); i > 0; i--) {
    if (<u32>touch(i - 1).place == at) return touch(i - 1).flags;
  }
  return TouchFlag.none;
}

/** Whether a coil says that this place drives it. */
function claimed(at: u32): bool {
  for (let i: u32 = 0; i < coils(); i++) {
    if (<u32>coil(i).place == at || ((coil(i).placeMask >> at) & 1) != 0) return true;
  }
  return false;
}

function allClaimed(): bool {
  for (let at: u32 = 0; at < placeCount; at++) if (!claimed(at)) return false;
  return true;
}

/** Whether a coil that more is wanted of lies at a place, or may: where no other does, or beside one of the same winding. */
function mayAnswer(at: u32): bool {
  for (let i: u32 = 0; i < coils(); i++) {
    if (resolved(i)) continue;
    const c = coil(i);
    const nowhere = <u32>c.place == NONE && c.placeMask == 0;
    if (nowhere ? !claimed(at) || allClaimed() : <u32>c.place == at || ((c.placeMask >> at) & 1) != 0) return true;
  }
  return false;
}

/** A clip's bit when it hangs on another part than the coil that is listened to. */
@inline function apart(clip: u32): u32 { return groupOf(clip) == groupOf(minusA) ? 0 : 1 << (clip - 1); }

/**
 * Leads at which the wire of a broken coil may end, a bit each: open to the coil that is listened to, yet with the
 * capacitance of a winding to some other lead. Those that hang loose before all others.
 */
function brokenEnds(): u32 {
  let leads: u32 = 0;
  for (let pair: u32 = 0; pair < PAIR_COUNT; pair++) {
    const work = pairWork(pair);
    const ends = apart(pairLow(pair)) | apart(pairHigh(pair));
    if (<u32>work.state == PairState.open && work.span_V > BROKEN_V && (ends & bareMask) == 0) leads |= ends;
  }
  const loose = leads & <u32>changetype<Result>(<usize>RESULT).isolatedMask;
  return loose != 0 ? loose : leads;
}

/**
 * Whether a broken coil may lie at a place: steel there moved no coil that is known, or one that another place moves too.
 * Then it is asked a second time, with an ear on where the wire may end: a break shows short peaks (physics.md 4).
 */
function mayBeBroken(at: u32): bool {
  if (asks(at) != 1 || coils() >= placeCount || brokenEnds() == 0) return false;
  return !claimed(at) || (coil(0).flags & HIDDEN_JUNCTION) != 0;
}

/** Whether a place's last touch, or a coil there, is reason to ask for it again. */
function wanted(at: u32, complete: bool): bool {
  if ((load<u8>(WORK_ASKS + at) & VOID) != 0 || mayBeBroken(at)) return true;
  const flags = lastFlags(at);
  const poor = (flags & (TouchFlag.weak | TouchFlag.overrange | TouchFlag.contradictory)) != 0;
  // Nothing heard where every coil is known already: that place has no coil here, or an open one.
  if (complete) return poor && (flags & (TouchFlag.none | TouchFlag.noFlux)) == 0 && claimed(at);
  return poor || mayAnswer(at);
}

/**
 * Chooses the next ask from EVIDENCE and RESULT.
 * @returns false when nothing more is to be asked
 */
export function planTouch(): bool {
  if (!chooseChannels(0)) return false;
  for (let at: u32 = 0; at < placeCount; at++) {
    if (asks(at) == 0) return choose(at);
  }
  const complete = allResolved();
  // The place asked least often comes first, so that rounds go through the places in their order.
  for (let round: u32 = 1; round <= REPEATS; round++) {
    for (let at: u32 = 0; at < placeCount; at++) {
      if (asks(at) == round && wanted(at, complete)) return choose(at);
    }
  }
  if (complete) return false;
  for (let at: u32 = 0; at < placeCount; at++) if (asks(at) == 1) return choose(at);
  return false;
}

/** Whether asks ran out with something still wanted. */
export function asksExhausted(): bool { return coils() > 0 && !allResolved(); }

function choose(at: u32): bool {
  place = at;
  return chooseChannels(at);
}

/** Whether a touch at this place was heard on this coil. */
function heard(at: u32, index: u32): bool {
  const c = coil(index);
  for (let i: u32 = 0; i < touches(); i++) {
    const t = touch(i);
    if (<u32>t.place != at) continue;
    for (let n: u32 = 0; n < t.channelCount; n++) {
      const channel = changetype<ChannelEvidence>(
        changetype<usize>(t) + offsetof<TouchEvidence>() + n * offsetof<ChannelEvidence>());
      if ((channel.plus == c.endA && channel.minus == c.endB) || (channel.plus == c.endB && channel.minus == c.endA)) return true;
    }
  }
  return false;
}

/**
 * The two coils that have most to say: not heard at this place yet, not known yet, in their order. A coil that is still
 * wanted is set beside the one that the place is known to drive: two sections of one winding show so.
 */
function chooseChannels(at: u32): bool {
  const first = bestCoil(at, NONE);
  if (first == NONE) return false;
  const second = bestCoil(at, first);
  plusA = coil(first).endB;
  minusA = coil(first).endA;
  plusB = 0;
  minusB = 0;
  if (mayBeBroken(at)) {
    const leads = brokenEnds();
    plusB = ctz<u32>(leads) + 1;
    // Both ends of one broken wire hang loose; otherwise the wire begins at the coil.
    const rest = leads & (leads - 1) & <u32>changetype<Result>(<usize>RESULT).isolatedMask;
    minusB = rest != 0 ? ctz<u32>(rest) + 1 : minusA;
  } else if (second != NONE) {
    plusB = coil(second).endB;
    minusB = coil(second).endA;
    shareMinus();
  }
  return true;
}

function bestCoil(at: u32, first: u32): u32 {
  let best: u32 = NONE;
  let least: u32 = u32.MAX_VALUE;
  for (let i: u32 = 0; i < coils(); i++) {
    if (i == first || !listens(i)) continue;
    const cost = costOf(at, i, first);
    if (cost < least) {
      least = cost;
      best = i;
    }
  }
  return best;
}

/** How little there is to learn from a coil at a place. @param first - the coil already chosen, or NONE */
function costOf(at: u32, index: u32, first: u32): u32 {
  if (first != NONE && !resolved(first) && resolved(index) && <u32>coil(index).place == at) return 1;
  return (heard(at, index) ? 4 : 0) + (resolved(index) ? 2 : 0);
}

/** Coils that share a clip have it as the minus end of both channels: it is the one that lies at 0 V. */
function shareMinus(): void {
  if (plusA == plusB || plusA == minusB) {
    const swap = plusA;
    plusA = minusA;
    minusA = swap;
  }
  if (plusB == minusA) {
    plusB = minusB;
    minusB = minusA;
  }
}
