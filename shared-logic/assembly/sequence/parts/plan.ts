/** What to ask the person next: decided from the evidence so far and what the solver makes of it. */
import { Ask, CoilFlag, CoilText, MAX_PLACES, NONE, PAIR_COUNT, WORK_ASKS } from '../../layout';
import { channelOf, coilResult, evidence, pairWork, result, touchEvidence } from '../../blocks';
import { pairHigh, pairLow } from '../../clip-pairs';
import { PairState, groupOf } from '../ground/pairs';
import { bareMask, placeCount } from '../ground/setup';
import { worthOfTouch } from '../../solver/hearing/assignment';

/** Asks of one place beyond the first. */
const REPEATS: u32 = 3;
/** Bit of a place's count of asks: the newest one was void. */
const VOID: u32 = 0x80;
/** A coil whose plus is at least this sure needs no further touch: the verdict asks for no more. */
const SURE: f32 = 0.95;
/** Less than this is not worth a person's touch, nats: 0.99 against 0.01. */
const WORTH_least: f32 = 0.05;
/** Which coil and which way round, all open. */
const WORTH_all: f32 = 1.4;
/**
 * Volts of the scan's 1.8 that a winding's own capacitance, 40 pF and more (physics.md 1), leaves on the 10 nF of the leak
 * path, seen 2 to 5 ms later.
 */
const BROKEN_V: f32 = 0.004;

function coils(): u32 { return result().coilCount; }
function touches(): u32 { return evidence().touchCount; }

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
  const c = coilResult(index);
  return c.endA != 0 && c.endB != 0 && c.endA != c.endB;
}

/** Whether nothing more can be wanted of a coil. */
function resolved(index: u32): bool {
  const c = coilResult(index);
  const text = <u32>c.text;
  if (!listens(index) || text == CoilText.stackedInner || text == CoilText.hiddenOutOfPhase) return true;
  if ((c.flags & CoilFlag.hidden) != 0) return c.plus != 0 && c.confidence >= SURE;
  return c.plus != 0 && c.confidence >= SURE && (<u32>c.place != NONE || c.placeMask != 0);
}

function allResolved(): bool {
  for (let i: u32 = 0; i < coils(); i++) if (!resolved(i)) return false;
  return true;
}

/** Whether a coil says that this place drives it. */
function claimed(at: u32): bool {
  for (let i: u32 = 0; i < coils(); i++) {
    if (<u32>coilResult(i).place == at || ((coilResult(i).placeMask >> at) & 1) != 0) return true;
  }
  return false;
}

/** A clip's bit when it hangs on another part than the coil that is listened to. @param end - a clip of that coil */
@inline function apart(clip: u32, end: u32): u32 { return groupOf(clip) == groupOf(end) ? 0 : 1 << (clip - 1); }

/**
 * Leads at which the wire of a broken coil may end, a bit each: open to the coil that is listened to, yet with the
 * capacitance of a winding to some other lead. Those that hang loose before all others.
 * @param end - a clip of the coil that is listened to
 */
function brokenEnds(end: u32): u32 {
  let leads: u32 = 0;
  for (let pair: u32 = 0; pair < PAIR_COUNT; pair++) {
    const work = pairWork(pair);
    const ends = apart(pairLow(pair), end) | apart(pairHigh(pair), end);
    if (<u32>work.state == PairState.open && work.span_V > BROKEN_V && (ends & bareMask) == 0) leads |= ends;
  }
  const loose = leads & <u32>result().isolatedMask;
  return loose != 0 ? loose : leads;
}

/**
 * Whether a broken coil may lie at a place: steel there moved no coil that is known, or one that another place moves too.
 * Then it is asked a second time, with an ear on where the wire may end: a break shows short peaks (physics.md 4).
 * @param end - a clip of the coil that is listened to
 */
function mayBeBroken(at: u32, end: u32): bool {
  if (asks(at) != 1 || coils() >= placeCount || brokenEnds(end) == 0) return false;
  return !claimed(at) || (coilResult(0).flags & CoilFlag.hidden) != 0;
}

/** What another touch at a place may tell, nats; what went wrong for the leads' sake is worth all of it. */
function worth(at: u32): f32 {
  return (load<u8>(WORK_ASKS + at) & VOID) != 0 ? WORTH_all : worthOfTouch(at);
}

/**
 * Chooses the next ask from EVIDENCE and what the solver has just made of it: each place once, then, while the verdict lacks
 * something, the place where a touch tells most; a place whose coil may be broken is listened to otherwise.
 * @param ask - filled unless false is returned
 * @returns false when nothing more is to be asked
 */
export function planTouch(ask: Ask): bool {
  if (!chooseChannels(0, ask)) return false;
  for (let at: u32 = 0; at < placeCount; at++) {
    if (asks(at) == 0 && !isOutOfReach(at)) return choose(at, ask);
  }
  const end = <u32>ask.minusA;
  for (let at: u32 = 0; at < placeCount; at++) if (mayBeBroken(at, end)) return choose(at, ask);
  if (allResolved()) return false;
  let best: u32 = NONE;
  let most = WORTH_least;
  for (let at: u32 = 0; at < placeCount; at++) {
    if (asks(at) > REPEATS || asks(at) == 0) continue;
    // A touch that told nothing so far is the likelier to tell nothing again.
    const expected = worth(at) / <f32>asks(at);
    if (expected <= most) continue;
    most = expected;
    best = at;
  }
  return best != NONE && choose(best, ask);
}

/** Whether no steel reaches a place: its coil lies under another one, as the touch of that has shown. */
function isOutOfReach(at: u32): bool {
  if (!allResolved()) return false;
  for (let i: u32 = 0; i < coils(); i++) if (<u32>coilResult(i).text == CoilText.stackedInner) return !claimed(at);
  return false;
}

/** Whether asks ran out with something still wanted. */
export function asksExhausted(): bool { return coils() > 0 && !allResolved(); }

function choose(at: u32, ask: Ask): bool {
  ask.place = <u8>at;
  return chooseChannels(at, ask);
}

/** Whether a touch at this place was heard on this coil. */
function heard(at: u32, index: u32): bool {
  const c = coilResult(index);
  for (let i: u32 = 0; i < touches(); i++) {
    const t = touchEvidence(i);
    if (<u32>t.place != at) continue;
    for (let n: u32 = 0; n < t.channelCount; n++) {
      const channel = channelOf(t, n);
      if ((channel.plus == c.endA && channel.minus == c.endB) || (channel.plus == c.endB && channel.minus == c.endA)) return true;
    }
  }
  return false;
}

/**
 * The two coils that have most to say: not heard at this place yet, not known yet, in their order. A coil that is still
 * wanted is set beside the one that the place is known to drive: two sections of one winding show so.
 */
function chooseChannels(at: u32, ask: Ask): bool {
  const first = bestCoil(at, NONE);
  if (first == NONE) return false;
  const second = bestCoil(at, first);
  ask.plusA = coilResult(first).endB;
  ask.minusA = coilResult(first).endA;
  ask.plusB = 0;
  ask.minusB = 0;
  if (mayBeBroken(at, ask.minusA)) {
    const leads = brokenEnds(ask.minusA);
    ask.plusB = <u8>(ctz<u32>(leads) + 1);
    // Both ends of one broken wire hang loose; otherwise the wire begins at the coil.
    const rest = leads & (leads - 1) & <u32>result().isolatedMask;
    ask.minusB = rest != 0 ? <u8>(ctz<u32>(rest) + 1) : ask.minusA;
  } else if (second != NONE) {
    ask.plusB = coilResult(second).endB;
    ask.minusB = coilResult(second).endA;
    shareMinus(ask);
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
  if (first != NONE && !resolved(first) && resolved(index) && <u32>coilResult(index).place == at) return 1;
  return (heard(at, index) ? 4 : 0) + (resolved(index) ? 2 : 0);
}

/** Coils that share a clip have it as the minus end of both channels: it is the one that lies at 0 V. */
function shareMinus(ask: Ask): void {
  if (ask.plusA == ask.plusB || ask.plusA == ask.minusB) {
    const swap = ask.plusA;
    ask.plusA = ask.minusA;
    ask.minusA = swap;
  }
  if (ask.plusB == ask.minusA) {
    ask.plusB = ask.minusB;
    ask.minusB = ask.minusA;
  }
}
