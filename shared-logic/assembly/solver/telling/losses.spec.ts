import {
  begin, coil, entry, finding, findingOf, henry, isUnknown, ohms, open, result,
} from '../../record.fixture';
import { applyEntry } from '../../evidence';
import { Cover, EntryFlag, EntryKind, Finding, FindingText, Kind, Severity, UnknownText } from '../../layout';
import { solve } from '../solve';

const FIXTURE_F: f64 = 275e-12;
const SERIES_ohm: f64 = 1225;
/** Whether the tester knows its own part. */
let fixtureTold: bool = true;
/** What nothing was said of. */
const SIMPLE: f32 = 6e-4;

/** A coil's ring by the formulas of the two-pole network, w0^2 = 1/(LC(1 + R/R_E)), T = R'C + L/R_E. @param total - 0: not seen */
function ring(
  plus: u32, minus: u32, ohm: f64, henry_H: f64, winding_F: f64, loss_ohm: f64, misfit: f32, total: f64 = 1, grounded: u32 = 0,
): void {
  const farad = winding_F + FIXTURE_F;
  const whole = ohm + SERIES_ohm * (FIXTURE_F / farad) * (FIXTURE_F / farad);
  const tau = henry_H / loss_ohm;
  const natural = 1 / Math.sqrt(farad * (henry_H + whole * tau));
  const e = entry(EntryKind.ring);
  e.a = <u8>plus;
  e.b = <u8>minus;
  e.c = <u8>grounded;
  e.v0 = <f32>(natural / 6.283185307179586);
  e.v1 = <f32>1;
  e.v2 = <f32>(whole * farad + tau);
  e.v3 = <f32>3e-8;
  e.extra = misfit;
  applyEntry();
  const c = entry(EntryKind.ringCapacitance);
  c.a = <u8>plus;
  c.b = <u8>minus;
  if (total != 0) {
    c.flags = <u8>EntryFlag.totalKnown;
    c.v0 = <f32>farad;
    c.v1 = <f32>2e-12;
  }
  c.v2 = fixtureTold ? <f32>FIXTURE_F : 0;
  c.v3 = <f32>4e-12;
  c.extra = <f32>SERIES_ohm;
  applyEntry();
}

/** Two coils on four leads; of the first a fraction f of the turns is shorted on itself. */
function pair(f: f64, loss_ohm: f64): void {
  begin(4, 0, Kind.sideBySide, 2);
  const ohm = 4100 * (1 - f);
  const henry_H = 2.3 * (1 - f) * (1 - f);
  ohms(1, 2, <f32>ohm, 0.5);
  ohms(3, 4, 4150, 0.5);
  for (let a: u32 = 1; a <= 2; a++) for (let b: u32 = 3; b <= 4; b++) open(a, b, 1e8);
  henry(2, 1, <f32>henry_H);
  henry(4, 3, 2.32);
  // Shorted turns load what is left by R (1-f)^2 / f (formats of the pickup file); the core's own loss shrinks as L does.
  const turns = f > 0 ? f / (4100 * (1 - f) * (1 - f)) : 0;
  ring(2, 1, ohm, henry_H, 90e-12, 1 / (1 / (loss_ohm * (1 - f) * (1 - f)) + turns), SIMPLE);
  ring(4, 3, 4150, 2.32, 92e-12, loss_ohm, SIMPLE);
  solve();
}

/** The uncertainty of the first loss of a pair whose second coil was held at 0 V or not. */
function lossBeside(grounded: u32): f32 {
  begin(4, 0, Kind.sideBySide, 2);
  ohms(1, 2, 4100, 0.5);
  ohms(3, 4, 4150, 0.5);
  for (let a: u32 = 1; a <= 2; a++) for (let b: u32 = 3; b <= 4; b++) open(a, b, 1e8);
  ring(2, 1, 4100, 2.3, 90e-12, 250000, SIMPLE, 1, grounded);
  solve();
  return coil(0).u_loss_s / coil(0).loss_s;
}

/** One coil on two leads. */
function single(loss_ohm: f64, cover: u32): void {
  begin(2, 0, Kind.single, 1);
  const e = entry(EntryKind.begin);
  e.a = 3;
  e.c = <u8>Kind.single;
  e.d = <u8>cover;
  e.place = 1;
  applyEntry();
  ohms(1, 2, 4100, 0.5);
  ring(2, 1, 4100, 2.3, 90e-12, loss_ohm, SIMPLE);
  solve();
}

function near(value: f32, expected: f32, share: f32): bool { return abs<f32>(value / expected - 1) <= share; }

describe('the ring in the wire map', () => {
  it('gives capacitance, loss and resonance of the winding alone', () => {
    pair(0, 250000);
    expect<bool>(near(coil(0).capacitance_F, 90e-12, 0.02)).toBe(true);
    expect<bool>(near(coil(0).loss_ohm, 250000, 0.01)).toBe(true);
    expect<bool>(near(coil(0).loss_s, 9.2e-6, 0.01)).toBe(true);
    // 2.3 H, 90 pF: 1/(2 pi sqrt(L C (1 + R/R_E))) = 10.97 kHz.
    expect<bool>(near(coil(0).resonance_Hz, 10972, 0.02)).toBe(true);
    expect<bool>(coil(0).q > <f32>1.4 && coil(0).q < <f32>1.6).toBe(true);
    expect<u32>(result().findingCount).toBe(0);
  });
  it('gives no capacitance where the start was over range, and says nothing false', () => {
    begin(2, 0, Kind.single, 1);
    ohms(1, 2, 2500, 0.5);
    ring(2, 1, 2500, 10, 250e-12, 1e6, SIMPLE, 0);
    solve();
    expect<f32>(coil(0).u_capacitance_F).toBe(0);
    expect<f32>(coil(0).loss_s).toBe(0);
    expect<u32>(result().findingCount).toBe(0);
  });
  it('gives no capacitance where the fixture is not known, and a loss that allows for it', () => {
    pair(0, 250000);
    const known = coil(0).u_loss_s;
    fixtureTold = false;
    pair(0, 250000);
    fixtureTold = true;
    expect<f32>(coil(0).u_capacitance_F).toBe(0);
    expect<f32>(coil(0).resonance_Hz).toBe(0);
    expect<bool>(near(coil(0).loss_s, 9.2e-6, 0.01)).toBe(true);
    // 1225 ohm and 365 pF are 0.45 us, a loss of which anything between none and all may be: 0.13 us.
    expect<bool>(near(coil(0).u_loss_s, Mathf.sqrt(known * known + 1.3e-7 * 1.3e-7), 0.05)).toBe(true);
  });
  it('is less sure of its loss where the other coil was left open, at one end or at both', () => {
    const held = lossBeside(0b1100);
    // 2.7 k^2 at the usual 0.1 for a coupling that nobody read (limits.ts).
    const open = Mathf.sqrt(held * held + 0.027 * 0.027);
    expect<bool>(held > 0 && held < 0.02).toBe(true);
    expect<bool>(near(lossBeside(0), open, 0.02)).toBe(true);
    expect<bool>(near(lossBeside(0b0100), open, 0.02)).toBe(true);
  });
  it('tells a ring that is not that of one loss, and gives none where nothing rings', () => {
    begin(2, 0, Kind.single, 1);
    ohms(1, 2, 4100, 0.5);
    ring(2, 1, 4100, 2.3, 90e-12, 250000, <f32>6e-3);
    solve();
    expect<bool>(isUnknown(UnknownText.ringNotSimple)).toBe(true);
    expect<bool>(coil(0).u_capacitance_F > <f32>20e-12).toBe(true);
    begin(2, 0, Kind.single, 1);
    ohms(1, 2, 4100, 0.5);
    ring(2, 1, 4100, 2.3, 90e-12, 250000, <f32>2e-2);
    solve();
    expect<bool>(isUnknown(UnknownText.ringHeavy)).toBe(true);
    expect<f32>(coil(0).u_capacitance_F).toBe(0);
  });
});

describe('shorted turns by the ring', () => {
  it('are told beside a sibling from 2 % on at R/R_E of 0.016, with their share', () => {
    pair(0.02, 250000);
    const at = findingOf(FindingText.shortedTurns);
    expect<bool>(at >= 0).toBe(true);
    expect<bool>(near(finding(at).value, 0.02, 0.1)).toBe(true);
    expect<u32>(finding(at).severity).toBe(Severity.fault);
  });
  it('of 1 % are not told where the core loses ten times as much', () => {
    pair(0.01, 60000);
    expect<i32>(findingOf(FindingText.shortedTurns)).toBe(-1);
    expect<i32>(findingOf(FindingText.lossDiffers)).toBe(-1);
  });
  it('are told beside a coil that loses nothing that can be read', () => {
    pair(0.1, 1e9);
    expect<bool>(findingOf(FindingText.shortedTurns) >= 0).toBe(true);
    pair(0, 1e9);
    expect<u32>(result().findingCount).toBe(0);
  });
  it('are not told of a coil that only loses 25 % more', () => {
    pair(0, 250000);
    ring(2, 1, 4100, 2.3, 90e-12, 190000, <f32>5e-4);
    solve();
    expect<u32>(result().findingCount).toBe(0);
  });
  it('alone are a fault without a cover, a warning where nobody said, and never told under one', () => {
    single(60000, Cover.none);
    expect<u32>(finding(findingOf(FindingText.lossAlone)).severity).toBe(Severity.fault);
    expect<u32>(finding(0).kind).toBe(Finding.shortedTurns);
    single(60000, Cover.unknown);
    expect<u32>(finding(findingOf(FindingText.lossAlone)).severity).toBe(Severity.warning);
    expect<bool>(isUnknown(UnknownText.coverOrTurns)).toBe(true);
    single(60000, Cover.metal);
    expect<u32>(result().findingCount).toBe(0);
    expect<bool>(isUnknown(UnknownText.turnsUnderCover)).toBe(true);
    single(250000, Cover.unknown);
    expect<u32>(result().findingCount).toBe(0);
  });
});
