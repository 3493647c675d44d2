/** Published networks of resistors, put to the whole solver as coils of a few kilohms. */
import { CoilFlag, Finding, FindingText, Kind, UnknownText, Verdict } from '../../layout';
import { begin, coil, finding, findingOf, henry, coupled, isUnknown, ohms, open, result, saw } from '../../record.fixture';
import { solve } from '../solve';

const u: f32 = 0.05;

/** Sum over coils of what is read between their ends over their own resistance. */
let foster: f32 = 0;

describe('published networks', () => {
  it('Klein and Randic 1993: a complete graph of n nodes reads 2/n of its edge between any two, as a star of n arms does', () => {
    for (let n: u32 = 4; n <= 6; n++) {
      begin(n, 0, Kind.unknown, 0);
      for (let i: u32 = 1; i <= n; i++) for (let j = i + 1; j <= n; j++) ohms(i, j, <f32>12000 / <f32>n, u);
      solve();
      // Nothing tells the two apart: arms of 6000/n each are listed (of four, as two coils that touch), and both are said.
      expect<u32>(result().coilCount).toBe(n == 4 ? 2 : n);
      expect<f32>(coil(0).ohm).toBeCloseTo(n == 4 ? 3000 : <f32>6000 / <f32>n, 1);
      expect<bool>(isUnknown(n == 4 ? UnknownText.pairingUnknown : UnknownText.deltaOrStar)).toBe(true);
      expect<u32>(result().verdict).not.toBe(Verdict.good);
    }
  });

  it('Klein and Randic 1993: a path of n nodes reads |i - j| edges, and is n - 1 coils', () => {
    for (let n: u32 = 2; n <= 6; n++) {
      begin(n, 0, Kind.unknown, 0);
      for (let i: u32 = 1; i <= n; i++) for (let j = i + 1; j <= n; j++) ohms(i, j, <f32>4000 * <f32>(j - i), u);
      solve();
      expect<u32>(result().coilCount).toBe(n - 1);
      for (let c: u32 = 0; c < n - 1; c++) {
        expect<u32>(coil(c).endA).toBe(c + 1);
        expect<u32>(coil(c).endB).toBe(c + 2);
        expect<f32>(coil(c).ohm).toBe(4000);
      }
    }
  });

  it('Klein and Randic 1993: a ring of n nodes reads k(n - k)/n edges, and is n coils', () => {
    for (let n: u32 = 4; n <= 6; n++) {
      begin(n, 0, Kind.unknown, 0);
      for (let i: u32 = 1; i <= n; i++) {
        for (let j = i + 1; j <= n; j++) ohms(i, j, <f32>4000 * <f32>((j - i) * (n + i - j)) / <f32>n, u);
      }
      solve();
      expect<u32>(result().coilCount).toBe(n);
      for (let c: u32 = 0; c < n; c++) expect<f32>(coil(c).ohm).toBeCloseTo(4000, 1);
      expect<bool>(isUnknown(UnknownText.networkLoop)).toBe(true);
    }
  });

  it('any circuits text: six corners of a cube (7/12, 3/4, 5/6 of its edge), hidden corners taken out; Foster 1949: n - 1', () => {
    // Corners 0 to 5 as bit patterns; 6 and 7 are hidden. The distance is the number of bits in which they differ.
    const edge: f32 = 9000;
    begin(6, 0, Kind.unknown, 0);
    for (let i: u32 = 0; i < 6; i++) {
      for (let j = i + 1; j < 6; j++) {
        const apart = popcnt<u32>(i ^ j);
        ohms(i + 1, j + 1, edge * (apart == 1 ? <f32>7 / 12 : apart == 2 ? <f32>0.75 : <f32>5 / 6), <f32>0.005);
      }
    }
    solve();
    foster = 0;
    for (let c: u32 = 0; c < <u32>result().coilCount; c++) {
      const apart = popcnt<u32>((<u32>coil(c).endA - 1) ^ (<u32>coil(c).endB - 1));
      foster += edge * (apart == 1 ? <f32>7 / 12 : apart == 2 ? <f32>0.75 : <f32>5 / 6) / coil(c).ohm;
    }
    expect<f32>(foster).toBeCloseTo(5, 2);
    expect<i32>(findingOf(FindingText.networkImpossible)).toBe(-1);
  });

  it('Kirchhoff: the unbalanced bridge of 100, 200, 300, 400 and 50 ohm, here twenty times that', () => {
    begin(4, 0, Kind.unknown, 0);
    ohms(1, 4, <f32>208.62069 * 20, u);
    ohms(1, 2, <f32>77.586207 * 20, u);
    ohms(1, 3, <f32>98.275862 * 20, u);
    ohms(2, 3, <f32>41.37931 * 20, u);
    ohms(2, 4, <f32>137.931034 * 20, u);
    ohms(3, 4, <f32>151.724138 * 20, u);
    solve();
    expect<u32>(result().coilCount).toBe(5);
    expect<f32>(coil(0).ohm).toBeCloseTo(2000, 0);
    expect<f32>(coil(1).ohm).toBeCloseTo(6000, 0);
    expect<f32>(coil(2).ohm).toBeCloseTo(1000, 0);
    expect<f32>(coil(3).ohm).toBeCloseTo(4000, 0);
    expect<f32>(coil(4).ohm).toBeCloseTo(8000, 0);
  });

  it('Kennelly 1899: the ring of 10, 20, 30 is the star of 5, 3.3333, 10, and without a touch both are said', () => {
    begin(3, 0, Kind.unknown, 0);
    ohms(1, 2, <f32>8333.333, u);
    ohms(2, 3, <f32>13333.333, u);
    ohms(1, 3, 15000, u);
    solve();
    expect<u32>(result().coilCount).toBe(3);
    expect<f32>(coil(0).ohm).toBeCloseTo(10000, 0);
    expect<f32>(coil(1).ohm).toBeCloseTo(30000, 0);
    expect<f32>(coil(2).ohm).toBeCloseTo(20000, 0);
    expect<bool>(isUnknown(UnknownText.starOrDelta)).toBe(true);
    expect<u32>(result().verdict).toBe(Verdict.unsure);
  });

  it('arithmetic: pairs of 10, 4.3 and 6.3 are arms of 4, 6 and 0.3, here in kilohms to a frame', () => {
    begin(3, 4, Kind.unknown, 0);
    ohms(1, 2, 10000, u);
    ohms(1, 3, 4300, u);
    ohms(2, 3, 6300, u);
    solve();
    expect<u32>(result().coilCount).toBe(1);
    const bridge = finding(findingOf(FindingText.bridgeToChassis));
    expect<f32>(bridge.fraction).toBeCloseTo(0.4, 4);
    expect<f32>(bridge.value).toBeCloseTo(300, 1);
  });
});

describe('what leads look like', () => {
  it('physics.md 2: u@0.38 on the frame by 0.5 ohm reads 4132.23, 1570.75, 2562.48 ohm and comes back as that', () => {
    begin(3, 4, Kind.single, 1);
    ohms(1, 2, <f32>4132.23, <f32>0.02);
    ohms(1, 3, <f32>1570.75, <f32>0.02);
    ohms(2, 3, <f32>2562.48, <f32>0.02);
    solve();
    expect<u32>(result().coilCount).toBe(1);
    expect<f32>(coil(0).ohm).toBe(<f32>4132.23);
    const bridge = finding(findingOf(FindingText.bridgeToChassis));
    expect<u32>(bridge.clip0).toBe(3);
    expect<u32>(bridge.clip1).toBe(1);
    expect<f32>(bridge.fraction).toBeCloseTo(0.38, 3);
    expect<u32>(result().verdict).toBe(Verdict.fault);
  });

  it('is two coils and a link when the resistances add, and one tapped winding when the coupling is near 1', () => {
    begin(3, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, <f32>0.2);
    ohms(2, 3, 4200, <f32>0.2);
    ohms(1, 3, 8300, <f32>0.4);
    solve();
    expect<u32>(result().coilCount).toBe(2);
    expect<bool>(isUnknown(UnknownText.tapOrLink)).toBe(true);
    expect<u32>(coil(0).flags & CoilFlag.tapped).toBe(0);
    henry(1, 2, <f32>2.3);
    henry(2, 3, <f32>2.4);
    coupled(1, 2, 2, 3, <f32>2.3);
    solve();
    expect<u32>(result().coilCount).toBe(2);
    expect<u32>(coil(0).flags & CoilFlag.tapped).toBe(CoilFlag.tapped);
    expect<bool>(isUnknown(UnknownText.tapOrLink)).toBe(false);
  });

  it('names joined clips from below 2 ohm, and a frame that is tied to a coil end is a note', () => {
    begin(3, 4, Kind.single, 1);
    ohms(1, 2, 8000, <f32>0.5);
    ohms(2, 3, <f32>0.8, <f32>0.05);
    ohms(1, 3, <f32>8000.8, <f32>0.5);
    solve();
    expect<u32>(result().joined0).toBe(6);
    expect<u32>(result().chassisMask).toBe(6);
    expect<i32>(findingOf(FindingText.chassisTied)).not.toBe(-1);
    expect<u32>(result().coilCount).toBe(1);
    expect<u32>(coil(0).endB).toBe(2);
  });

  it('is a resistive contact, not a joint, from 2 ohm up', () => {
    begin(3, 4, Kind.single, 1);
    ohms(1, 2, 8000, <f32>0.05);
    ohms(2, 3, 3, <f32>0.05);
    ohms(1, 3, 8003, <f32>0.05);
    solve();
    expect<u32>(result().joined0).toBe(0);
    const bridge = finding(findingOf(FindingText.bridgeAtEnd));
    expect<u32>(bridge.clip0).toBe(3);
    expect<u32>(bridge.clip1).toBe(2);
    expect<f32>(bridge.value).toBe(3);
  });

  it('lists two coils that touch inside end to end, and places the bridge on both', () => {
    // 1 -(1000)- x -(3000)- 2,  3 -(2500)- y -(1500)- 4,  x - y 200 ohm.
    begin(4, 0, Kind.unknown, 0);
    ohms(1, 2, 4000, u);
    ohms(3, 4, 4000, u);
    ohms(1, 3, 3700, u);
    ohms(1, 4, 2700, u);
    ohms(2, 3, 5700, u);
    ohms(2, 4, 4700, u);
    solve();
    expect<u32>(result().coilCount).toBe(2);
    const bridge = finding(findingOf(FindingText.bridgeBetweenCoils));
    expect<f32>(bridge.value).toBeCloseTo(200, 1);
    const other: u32 = bridge.coil == 0 ? 3 : 1;
    expect<u32>(bridge.clip0).toBe(other);
    expect<f32>(bridge.fraction).toBeCloseTo(bridge.coil == 0 ? 0.25 : 0.625, 3);
    expect<f32>(bridge.value3).toBeCloseTo(bridge.coil == 0 ? 0.625 : 0.25, 3);
  });
});

describe('checks that every network passes', () => {
  it('is a contradiction when the straight way is longer than the way round, and unsure at best', () => {
    begin(3, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(2, 3, 4200, <f32>0.5);
    ohms(1, 3, 8400, <f32>0.5);
    solve();
    expect<i32>(findingOf(FindingText.triangleBroken)).not.toBe(-1);
    expect<u32>(result().verdict).toBe(Verdict.unsure);
  });

  it('takes open readings inside a part only when the way round is longer than their limit', () => {
    begin(3, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(2, 3, 4200, <f32>0.5);
    open(1, 3, 1e8);
    solve();
    expect<i32>(findingOf(FindingText.openInside)).not.toBe(-1);
    begin(3, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(2, 3, 4200, <f32>0.5);
    open(1, 3, 5000);
    solve();
    expect<i32>(findingOf(FindingText.openInside)).toBe(-1);
  });

  it('says which groups nobody read against each other', () => {
    begin(4, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, <f32>0.5);
    ohms(3, 4, 4200, <f32>0.5);
    solve();
    expect<u32>(result().coilCount).toBe(2);
    expect<bool>(isUnknown(UnknownText.pairNotRead)).toBe(true);
    open(1, 4, 1e8);
    solve();
    expect<bool>(isUnknown(UnknownText.pairNotRead)).toBe(false);
  });

  it('calls clips connected to nothing, or a coil broken, only when they were read against all else', () => {
    begin(4, 0, Kind.unknown, 2);
    ohms(1, 2, 4100, <f32>0.5);
    open(1, 3, 1e8);
    open(1, 4, 1e8);
    saw(0, 1, 2, true, <f32>0.1);
    saw(1, 3, 4, true, <f32>0.1);
    solve();
    expect<u32>(result().isolatedMask).toBe(0);
    expect<i32>(findingOf(FindingText.openNoCoil)).toBe(-1);
    expect<bool>(isUnknown(UnknownText.pairNotRead)).toBe(true);
    open(3, 4, 1e8);
    solve();
    expect<u32>(result().isolatedMask).toBe(12);
    expect<bool>(isUnknown(UnknownText.pairNotRead)).toBe(false);
  });

  it('keeps readings of one pair apart beyond 5 u, and calls the lead intermittent', () => {
    begin(2, 0, Kind.unknown, 0);
    ohms(1, 2, 4100, 1);
    ohms(1, 2, 4103, 1);
    solve();
    expect<f32>(coil(0).ohm).toBeCloseTo(4101.5, 2);
    expect<i32>(findingOf(FindingText.readingsApart)).toBe(-1);
    ohms(1, 2, 4700, 1);
    solve();
    expect<u32>(finding(findingOf(FindingText.readingsApart)).kind).toBe(Finding.intermittent);
    expect<f32>(coil(0).ohm).toBeCloseTo(4101.5, 2);
  });

  it('is a leak from half a megohm up: a warning, a note from ten', () => {
    begin(3, 4, Kind.single, 1);
    ohms(1, 2, 4000, <f32>0.5);
    ohms(1, 3, 2001500, 100);
    ohms(2, 3, 2002500, 100);
    solve();
    const leak = finding(findingOf(FindingText.leakToChassis));
    expect<f32>(leak.value).toBeCloseTo(2e6, -2);
    expect<u32>(leak.severity).toBe(1);
    expect<u32>(result().coilCount).toBe(1);
  });
});

/** Two coils at places of their own whose ends meet at the bare clip 1. */
function coilsAtFrame(contact_ohm: f32): void {
  begin(3, 1, Kind.sideBySide, 2);
  ohms(1, 2, 2570 + contact_ohm, u);
  ohms(1, 3, 2940 + contact_ohm, u);
  ohms(2, 3, 5510, u);
  henry(2, 1, <f32>1.5);
  henry(3, 1, <f32>1.7);
  coupled(2, 1, 3, 1, <f32>-0.27);
  for (let repeat = 0; repeat < 3; repeat++) {
    saw(0, 2, 1, true, <f32>0.066);
    saw(0, 3, 1, false, <f32>0.007);
    saw(1, 2, 1, true, <f32>0.007);
    saw(1, 3, 1, false, <f32>0.113);
  }
  solve();
}

describe('the frame between two wires', () => {
  it('is the link of two coils that couple as coils beside each other do and are each driven from a place of their own', () => {
    // k = 0.27 / sqrt(1.5 * 1.7) = 0.17; sections of one winding couple by 0.9 and more (physics.md 1).
    coilsAtFrame(<f32>0.05);
    expect<u32>(result().coilCount).toBe(2);
    expect<bool>(isUnknown(UnknownText.linkOrBridge)).toBe(false);
    expect<u32>(coil(0).place).toBe(0);
    expect<u32>(coil(1).place).toBe(1);
    expect<u32>(result().verdict).toBe(Verdict.good);
  });

  it('is a contact when it lies further from them than a soldered joint', () => {
    coilsAtFrame(<f32>0.7);
    expect<u32>(result().coilCount).toBe(1);
    const at = findingOf(FindingText.bridgeToChassis);
    expect<bool>(at >= 0).toBe(true);
    expect<f32>(finding(at).value).toBeCloseTo(<f32>0.7, 1);
    expect<u32>(result().verdict).toBe(Verdict.fault);
  });
});

describe('readings of unequal worth', () => {
  it('make no bridge of what lies within their own uncertainty', () => {
    // Three coils from clip 4; the readings at clip 2 are known to 5 and 20 ohm only.
    begin(4, 0, Kind.three, 3);
    ohms(1, 4, <f32>5244.28, <f32>0.12);
    ohms(3, 4, <f32>5019.17, <f32>0.12);
    ohms(1, 2, <f32>10273.36, <f32>5.24);
    ohms(2, 3, <f32>10053.09, <f32>0.22);
    ohms(2, 4, <f32>5073.68, <f32>20.6);
    ohms(1, 3, <f32>10263.35, <f32>0.23);
    solve();
    expect<u32>(result().findingCount).toBe(0);
    expect<u32>(result().coilCount).toBe(3);
  });
});
