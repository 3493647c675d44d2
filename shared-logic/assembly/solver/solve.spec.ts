/** The sign conventions of file-formats.md and the verdicts, from records that a person with plain meters could write. */
import {
  ChannelEvidence, CoilFlag, CoilText, EntryKind, EVIDENCE, Evidence, EVIDENCE_bytes, EVIDENCE_TOUCHES, FindingText, Kind, NONE, Pole,
  Refusal, TOUCH_bytes, TouchEvidence, TouchFlag, UnknownText, Verdict, Winding, Witness,
} from '../layout';
import { applyEntry } from '../evidence';
import { ohmAt20C } from './telling/coils';
import {
  begin, coil, coupled, entry, finding, findingOf, henry, henryAndLoss, isUnknown, magnet, ohms, open, pair, result, saw,
} from '../record.fixture';
import { solve } from './solve';

/** Two coils on clips 1-2 and 3-4, and what a person sees of them when the to-ends are clips 2 and 4. */
function twoCoils(w1: i32, p1: i32, w2: i32, p2: i32, kind: u32): void {
  begin(4, 0, kind, 2);
  ohms(1, 2, 4100, <f32>0.5);
  ohms(3, 4, 4200, <f32>0.5);
  open(1, 3, 1e8);
  // file-formats.md: the voltage of to against from is positive for (cw, N) and (ccw, S) while steel arrives.
  for (let repeat = 0; repeat < 3; repeat++) {
    saw(0, 2, 1, w1 * p1 > 0, <f32>0.066);
    saw(0, 4, 3, w2 * p2 > 0, <f32>0.005);
    saw(1, 2, 1, w1 * p1 > 0, <f32>0.009);
    saw(1, 4, 3, w2 * p2 > 0, <f32>0.113);
  }
  henry(2, 1, <f32>2.3);
  henry(4, 3, <f32>2.4);
  // file-formats.md: M from -> to is -k sqrt(L1 L2) for equal sense, side by side.
  coupled(2, 1, 4, 3, <f32>-0.188 * <f32>w1 * <f32>w2);
}

describe('conventions', () => {
  it('file-formats.md: plus goes positive when steel arrives; cw from minus to plus exactly when the pole is N; all 16', () => {
    for (let n = 0; n < 16; n++) {
      const w1 = n & 1 ? 1 : -1;
      const p1 = n & 2 ? 1 : -1;
      const w2 = n & 4 ? 1 : -1;
      const p2 = n & 8 ? 1 : -1;
      twoCoils(w1, p1, w2, p2, Kind.sideBySide);
      magnet(0, p1 > 0 ? Pole.north : Pole.south);
      magnet(1, p2 > 0 ? Pole.north : Pole.south);
      solve();
      expect<u32>(coil(0).plus).toBe(w1 * p1 > 0 ? 2 : 1);
      expect<u32>(coil(1).plus).toBe(w2 * p2 > 0 ? 4 : 3);
      expect<u32>(coil(0).place).toBe(0);
      expect<u32>(coil(1).place).toBe(1);
      expect<u32>(coil(0).winding).toBe(p1 > 0 ? Winding.cw : Winding.ccw);
      expect<u32>(coil(1).winding).toBe(p2 > 0 ? Winding.cw : Winding.ccw);
      expect<u32>(pair(0).polesDiffer).toBe(p1 != p2 ? 1 : 2);
      expect<u32>(pair(0).witnesses).toBe(Witness.coupling | Witness.magnet);
      expect<u32>(result().verdict).toBe(Verdict.good);
      expect<bool>(findingOf(FindingText.polesEqual) >= 0).toBe(p1 == p2);
    }
  });

  it('physics.md 5: coupling and touches tell whether poles differ with no magnet read', () => {
    twoCoils(1, 1, 1, -1, Kind.unknown);
    solve();
    expect<u32>(pair(0).polesDiffer).toBe(1);
    expect<u32>(pair(0).witnesses).toBe(Witness.coupling);
    expect<u32>(coil(0).pole).toBe(Pole.unknown);
    expect<u32>(coil(0).winding).toBe(Winding.unknown);
    expect<bool>(isUnknown(UnknownText.poleUnknown)).toBe(true);
  });

  it('is a contradiction when the magnets say otherwise than the coupling, and the poles of the pair stay open; each sign is less sure', () => {
    twoCoils(1, 1, 1, -1, Kind.sideBySide);
    solve();
    const first = coil(0).confidence;
    const second = coil(1).confidence;
    magnet(0, Pole.north);
    magnet(1, Pole.north);
    solve();
    expect<u32>(pair(0).polesDiffer).toBe(0);
    expect<f32>(coil(0).confidence).toBeLessThan(first);
    expect<f32>(coil(1).confidence).toBeLessThan(second);
    expect<bool>(findingOf(FindingText.polesDisagree) >= 0).toBe(true);
    expect<u32>(result().verdict).toBe(Verdict.unsure);
  });

  it('gives a coil that nobody touched its sign by coupling and both magnets', () => {
    begin(4, 0, Kind.sideBySide, 2);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(3, 4, 4200, <f32>0.5);
    open(1, 3, 1e8);
    for (let repeat = 0; repeat < 3; repeat++) {
      saw(0, 2, 1, true, <f32>0.066);
      saw(0, 4, 3, true, <f32>0.005);
    }
    coupled(2, 1, 4, 3, <f32>0.188);
    // Both places show one pole: equal poles have M below 0 at the plus terminals, side by side.
    magnet(0, Pole.north);
    magnet(1, Pole.north);
    solve();
    expect<u32>(coil(0).plus).toBe(2);
    expect<u32>(coil(1).plus).toBe(3);
    expect<f32>(coil(1).confidence).toBeLessThan(<f32>0.99);
  });
});

describe('people with plain meters', () => {
  it('is worth at most 0.98 for one swing, and more when it is repeated', () => {
    begin(2, 0, Kind.single, 1);
    ohms(1, 2, 8000, 0);
    saw(0, 1, 2, true, 0);
    solve();
    expect<u32>(coil(0).plus).toBe(1);
    expect<f32>(coil(0).confidence).toBeLessThan(<f32>0.9801);
    expect<f32>(coil(0).confidence).toBeGreaterThan(<f32>0.95);
    saw(0, 2, 1, false, 0);
    solve();
    expect<f32>(coil(0).confidence).toBeGreaterThan(<f32>0.99);
  });

  it('leaves plus and minus open when two swings contradict each other', () => {
    begin(2, 0, Kind.single, 1);
    ohms(1, 2, 8000, 0);
    saw(0, 1, 2, true, 0);
    saw(0, 1, 2, false, 0);
    solve();
    expect<u32>(coil(0).plus).toBe(0);
    expect<f32>(coil(0).confidence).toBe(0);
    expect<bool>(findingOf(FindingText.signsDisagree) >= 0).toBe(true);
    expect<u32>(result().verdict).toBe(Verdict.unsure);
  });

  it('never takes the sign of the share that the neighbour sees', () => {
    begin(4, 0, Kind.sideBySide, 2);
    ohms(1, 2, 4100, 0);
    ohms(3, 4, 4200, 0);
    open(1, 3, 2e7);
    saw(0, 2, 1, true, <f32>0.066);
    saw(0, 4, 3, true, <f32>0.005);
    solve();
    expect<u32>(coil(0).plus).toBe(2);
    expect<u32>(coil(1).plus).toBe(0);
    expect<bool>(isUnknown(UnknownText.polarityFaint) || isUnknown(UnknownText.polarityNoTouch)).toBe(true);
  });

  it('holds two coils with a hidden junction when both places drive it alike, and says out of phase when they do not', () => {
    begin(2, 0, Kind.sideBySide, 2);
    ohms(1, 2, 8200, 1);
    for (let repeat = 0; repeat < 2; repeat++) {
      saw(0, 2, 1, true, <f32>0.06);
      saw(1, 2, 1, true, <f32>0.07);
    }
    solve();
    expect<u32>(coil(0).plus).toBe(2);
    expect<u32>(coil(0).place).toBe(NONE);
    expect<u32>(coil(0).flags & CoilFlag.hidden).toBe(CoilFlag.hidden);
    begin(2, 0, Kind.sideBySide, 2);
    ohms(1, 2, 8200, 1);
    for (let repeat = 0; repeat < 2; repeat++) {
      saw(0, 2, 1, true, <f32>0.06);
      saw(1, 2, 1, false, <f32>0.07);
    }
    solve();
    expect<u32>(coil(0).plus).toBe(0);
    expect<bool>(findingOf(FindingText.hiddenOutOfPhase) >= 0).toBe(true);
    expect<u32>(result().verdict).toBe(Verdict.fault);
  });
});

/** What the analysis of a capture would have left: two channels, their flux, ln odds of sign and of touch. */
function heard(place: u32, plus: u32, minus: u32, flux_Wb: f32, sign: f32, touch: f32, d: f32): void {
  const count: u32 = load<u8>(EVIDENCE + offsetof<Evidence>('touchCount'));
  const at = EVIDENCE_TOUCHES + count * TOUCH_bytes;
  memory.fill(at, 0, TOUCH_bytes);
  const head = changetype<TouchEvidence>(<usize>at);
  head.place = <u8>place;
  head.channelCount = 1;
  const channel = changetype<ChannelEvidence>(<usize>(at + offsetof<TouchEvidence>()));
  channel.plus = <u8>plus;
  channel.minus = <u8>minus;
  channel.flux_Wb = flux_Wb;
  channel.u_flux_Wb = <f32>2e-7;
  channel.signLogOdds = sign;
  channel.touchLogOdds = touch;
  channel.matched_d = d;
  changetype<Evidence>(<usize>EVIDENCE).touchCount = <u8>(count + 1);
}

/** One more channel of the touch heard last, and all of them near the noise. */
function alsoHeard(plus: u32, minus: u32, flux_Wb: f32, sign: f32, touch: f32, d: f32): void {
  const count: u32 = load<u8>(EVIDENCE + offsetof<Evidence>('touchCount'));
  heard(0, plus, minus, flux_Wb, sign, touch, d);
  const last = EVIDENCE_TOUCHES + count * TOUCH_bytes;
  const head = changetype<TouchEvidence>(<usize>(last - TOUCH_bytes));
  memory.copy(last - TOUCH_bytes + offsetof<TouchEvidence>() + <u32>head.channelCount * offsetof<ChannelEvidence>(),
    last + offsetof<TouchEvidence>(), offsetof<ChannelEvidence>());
  head.channelCount++;
  head.flags = head.flags | <u16>TouchFlag.weak;
  changetype<Evidence>(<usize>EVIDENCE).touchCount = <u8>count;
}

describe('a faint hand', () => {
  it('is heard on both pieces of a tapped winding, though neither is sure of it alone', () => {
    for (let both = 0; both < 2; both++) {
      begin(3, 0, Kind.unknown, 1);
      ohms(2, 3, 11700, <f32>1.2);
      ohms(1, 3, 13300, <f32>1.3);
      ohms(1, 2, 25000, <f32>2.5);
      henry(2, 3, <f32>3.2);
      henry(3, 1, <f32>4.1);
      coupled(2, 3, 3, 1, <f32>3.4);
      heard(0, 2, 3, <f32>2.2e-6, <f32>2.6, <f32>2.9, <f32>7.4);
      if (both != 0) alsoHeard(3, 1, <f32>2.7e-6, <f32>3.9, <f32>3.3, <f32>5.9);
      solve();
      expect<u32>(result().verdict).toBe(both != 0 ? Verdict.good : Verdict.unsure);
    }
    expect<u32>(coil(0).plus).toBe(3);
    expect<u32>(coil(1).plus).toBe(2);
  });
  it('is heard on its own coil, and its share of the other drowns in the noise: the sign is given all the same', () => {
    begin(4, 0, Kind.unknown, 2);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(3, 4, 4200, <f32>0.5);
    open(1, 3, 1e8);
    // One touch after another, each listened to on one coil only.
    heard(0, 2, 1, <f32>3.4e-6, <f32>9.2, <f32>9.2, <f32>7);
    heard(0, 4, 3, <f32>7e-7, <f32>0.4, <f32>-2.5, <f32>3.4);
    heard(1, 2, 1, <f32>7e-7, <f32>-0.3, <f32>-2.5, <f32>3.4);
    heard(1, 4, 3, <f32>8e-7, <f32>0.3, <f32>-2.5, <f32>3.4);
    solve();
    expect<u32>(coil(0).plus).toBe(2);
    expect<u32>(coil(1).plus).toBe(0);
  });
});

/** The touch heard last stands clear of the noise, its first channel perhaps over range. */
function clearly(over: bool): void {
  const head = changetype<TouchEvidence>(<usize>(EVIDENCE_TOUCHES + (changetype<Evidence>(<usize>EVIDENCE).touchCount - 1) * TOUCH_bytes));
  head.flags = <u16>(TouchFlag.noDeparture | TouchFlag.stays | (over ? TouchFlag.overrange : 0));
  changetype<ChannelEvidence>(changetype<usize>(head) + offsetof<TouchEvidence>()).flags = <u16>(over ? TouchFlag.overrange : 0);
}

/** Whether one of so many coils is said to lie under another. */
function isSomeInner(coils: u32): bool {
  for (let n: u32 = 0; n < coils; n++) if (<u32>coil(n).text == CoilText.stackedInner) return true;
  return false;
}

describe('a coil that was not touched', () => {
  it('is not said to lie under the one that was, of which the tester saw only a part', () => {
    for (let over = 0; over < 2; over++) {
      begin(4, 0, Kind.unknown, 1);
      ohms(1, 3, 4553, <f32>0.5);
      ohms(2, 4, 8139, <f32>0.8);
      open(1, 2, 1e8);
      coupled(2, 4, 1, 3, <f32>0.84);
      heard(0, 2, 4, <f32>1e-3, <f32>6, <f32>9.2, 1600);
      alsoHeard(1, 3, <f32>-4.2e-4, <f32>-6, <f32>9.2, 370);
      clearly(over != 0);
      solve();
      expect<bool>(isSomeInner(2)).toBe(over == 0);
    }
  });
  it('is not said to lie under another because a third one\'s touch shows in both alike', () => {
    for (let third = 0; third < 2; third++) {
      begin(6, 0, Kind.unknown, 3);
      ohms(1, 2, 2570, <f32>0.3);
      ohms(3, 4, 2590, <f32>0.3);
      ohms(5, 6, 2470, <f32>0.3);
      open(1, 3, 1e8);
      open(3, 5, 1e8);
      open(1, 5, 1e8);
      coupled(3, 4, 5, 6, <f32>0.43);
      heard(0, 2, 1, <f32>(third != 0 ? 1.5e-3 : 1e-6), <f32>9, <f32>9.2, 1000);
      alsoHeard(4, 3, <f32>1.4e-4, <f32>9, <f32>9.2, 340);
      alsoHeard(6, 5, <f32>1.3e-4, <f32>9, <f32>9.2, 310);
      clearly(false);
      heard(1, 4, 3, <f32>1.6e-3, <f32>9, <f32>9.2, 1000);
      solve();
      expect<bool>(isSomeInner(3)).toBe(third == 0);
    }
  });
});

describe('findings', () => {
  it('tells shorted turns when loss and inductance both show it, a mismatch otherwise', () => {
    begin(4, 0, Kind.sideBySide, 2);
    // file-formats.md: a tenth of the turns shorted leaves 0.9 R, 0.81 L and a load of R 0.81/0.1.
    ohms(1, 2, 3690, <f32>0.5);
    ohms(3, 4, 4100, <f32>0.5);
    open(1, 3, 1e8);
    henryAndLoss(1, 2, <f32>1.863, 29300);
    henryAndLoss(3, 4, <f32>2.3, 250000);
    solve();
    const shorted = finding(findingOf(FindingText.shortedTurns));
    expect<u32>(shorted.coil).toBe(0);
    expect<f32>(shorted.value).toBeCloseTo(0.1, 2);
    expect<u32>(result().verdict).toBe(Verdict.fault);
    begin(4, 0, Kind.sideBySide, 2);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(3, 4, 5200, <f32>0.5);
    open(1, 3, 1e8);
    solve();
    expect<f32>(finding(findingOf(FindingText.resistanceDiffers)).value).toBeCloseTo(<f32>5200 / 4100, 3);
    expect<i32>(findingOf(FindingText.shortedTurns)).toBe(-1);
  });

  it('lists no coils when a voltage was on the leads, and the verdict is fault', () => {
    begin(2, 0, Kind.single, 1);
    const e = entry(EntryKind.live);
    e.a = 1;
    e.b = 2;
    e.v0 = <f32>-0.39;
    applyEntry();
    solve();
    expect<u32>(result().coilCount).toBe(0);
    expect<u32>(result().verdict).toBe(Verdict.fault);
    const live = finding(0);
    expect<u32>(live.clip0).toBe(2);
    expect<f32>(live.value).toBe(<f32>0.39);
  });

  it('places a leak by the potential of the floating frame (physics.md 2: 0.37624 of the drive)', () => {
    begin(3, 4, Kind.single, 1);
    ohms(1, 2, <f32>4132, <f32>0.5);
    ohms(1, 3, <f32>9001570, 9000);
    ohms(2, 3, <f32>9002562, 9000);
    const e = entry(EntryKind.potential);
    e.a = 2;
    e.b = 1;
    e.c = 3;
    e.v0 = <f32>0.37624;
    e.v1 = <f32>0.002;
    applyEntry();
    solve();
    const leak = finding(findingOf(FindingText.leakToChassis));
    expect<u32>(leak.coil).toBe(0);
    expect<u32>(leak.clip1).toBe(1);
    expect<f32>(leak.fraction).toBeCloseTo(0.376, 3);
  });

  it('is unsure of a record without touches and names what is open', () => {
    begin(4, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, 0);
    ohms(3, 4, 4200, 0);
    open(1, 3, 1e8);
    solve();
    expect<u32>(result().coilCount).toBe(2);
    expect<u32>(result().verdict).toBe(Verdict.unsure);
    expect<bool>(isUnknown(UnknownText.polarityNoTouch)).toBe(true);
    expect<bool>(isUnknown(UnknownText.polesDiffer)).toBe(true);
  });

  it('is a broken coil when nothing conducts', () => {
    begin(3, 4, Kind.single, 1);
    open(1, 2, 1e8);
    open(1, 3, 1e8);
    open(2, 3, 1e8);
    solve();
    expect<bool>(findingOf(FindingText.openNoCoil) >= 0).toBe(true);
    expect<u32>(result().verdict).toBe(Verdict.fault);
    expect<u32>(result().chassisMask).toBe(4);
  });
});

describe('resistance at 20 C', () => {
  it('IEC 60028: 100 ohm of copper at 20 C is 103.93 ohm at 30 C', () => {
    expect<f32>(ohmAt20C(<f32>103.93, 30)).toBeCloseTo(100, 3);
  });
});

describe('entries', () => {
  it('are refused without a change when they name a clip that is not in use, or no number', () => {
    begin(3, 0, Kind.unknown, 0);
    ohms(1, 2, 4000, 1);
    let sum: u32 = 0;
    for (let at: u32 = 0; at < EVIDENCE_bytes; at++) sum = sum * 31 + load<u8>(<usize>(EVIDENCE + at));
    expect<u32>(ohms(1, 4, 4000, 1)).toBe(Refusal.content);
    expect<u32>(ohms(2, 2, 4000, 1)).toBe(Refusal.content);
    expect<u32>(ohms(1, 2, -1, 1)).toBe(Refusal.content);
    expect<u32>(ohms(1, 2, f32.NaN, 1)).toBe(Refusal.content);
    expect<u32>(ohms(1, 2, f32.POSITIVE_INFINITY, 1)).toBe(Refusal.content);
    entry(99);
    expect<u32>(applyEntry()).toBe(Refusal.content);
    let after: u32 = 0;
    for (let at: u32 = 0; at < EVIDENCE_bytes; at++) after = after * 31 + load<u8>(<usize>(EVIDENCE + at));
    expect<u32>(after).toBe(sum);
  });
});

describe('what the other place may hold', () => {
  it('keeps the one place that was heard from being given to a winding that may hide a second coil', () => {
    begin(2, 0, Kind.unknown, 2);
    ohms(1, 2, 1800, <f32>0.5);
    for (let repeat = 0; repeat < 3; repeat++) saw(0, 2, 1, true, <f32>0.066);
    solve();
    expect<u32>(coil(0).place).toBe(NONE);
    // Its plus is the pair's only as far as the two work together.
    expect<f32>(coil(0).confidence).toBeLessThan(<f32>0.95);
    expect<u32>(result().verdict).not.toBe(Verdict.good);
    expect<bool>(isUnknown(UnknownText.hiddenOrSingle)).toBe(true);
  });
});

describe('two places that drive one winding opposite ways', () => {
  it('are worth no sure plus, though the second one may be the share of a touch elsewhere', () => {
    begin(2, 0, Kind.unknown, 2);
    ohms(1, 2, 6200, <f32>0.5);
    for (let repeat = 0; repeat < 3; repeat++) saw(0, 2, 1, true, <f32>0.113);
    for (let repeat = 0; repeat < 2; repeat++) saw(1, 2, 1, false, <f32>0.012);
    solve();
    // Added up as if both were touches of one coil, the larger one's plus would be sure to 0.996.
    expect<f32>(coil(0).confidence).toBeLessThan(<f32>0.95);
    expect<u32>(result().verdict).not.toBe(Verdict.good);
  });
});

describe('shorted turns', () => {
  it('show against a tapped sibling of which only the sections were read', () => {
    begin(5, 0, Kind.sideBySide, 2);
    ohms(1, 2, 1000, <f32>0.1);
    ohms(2, 3, 4000, <f32>0.1);
    ohms(1, 3, 5000, <f32>0.1);
    ohms(4, 5, 4300, <f32>0.1);
    // 0.8 of the turns: 0.64 of L and of the loss resistance. 14 % shorted: L falls to 0.74, the loss to about 21 kilohm.
    henryAndLoss(2, 3, <f32>0.64 * 2, <f32>0.64 * 220000);
    henryAndLoss(4, 5, <f32>0.74 * 2, 21000);
    henry(1, 2, <f32>0.04 * 2);
    coupled(1, 2, 2, 3, <f32>0.16 * 2);
    solve();
    expect<bool>(findingOf(FindingText.shortedTurns) >= 0).toBe(true);
  });
});
