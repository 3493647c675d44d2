/**
 * The fit of a ring, in f32 on the chip's own code, against scipy's least squares in double precision on the same bursts, and
 * against the circuit that ngspice was given.
 */
import { describe, expect, it } from 'vitest';
import { OVERRANGE } from '../../host/src/logic/layout.generated.ts';
import { simulate } from '../reference/ngspice.ts';
import { askPython, pythonObstacle } from '../reference/python.ts';
import { CURRENT_A, cuts, fitOf, LEAD, SAMPLES } from '../lots/ring-bench.ts';
import { ringPickup, type RingCoil } from '../lots/ring-pickup.ts';

const COILS: readonly RingCoil[] = [
  { ohm: 4100, henry: 2.3, picofarad: 90, loss_ohm: 250e3 },
  { ohm: 4200, henry: 2.4, picofarad: 90, loss_ohm: 90e3 },
  { ohm: 2000, henry: 1, picofarad: 40, loss_ohm: 500e3 },
  { ohm: 2500, henry: 10, picofarad: 250, loss_ohm: 1e6 },
  { ohm: 25000, henry: 10, picofarad: 200, loss_ohm: 250e3 },
  { ohm: 8500, henry: 4.6, picofarad: 120, loss_ohm: 60e3 },
  { ohm: 4000, henry: 1.8, picofarad: 50, loss_ohm: 30e3 },
];
/** Clip 2 on A+, clip 1 on A-, drive and 0 V. */
const THROWS = [2, 1, 0, 0, 0, 0, 1, 3];

const obstacle = pythonObstacle();

describe.skipIf(obstacle !== null)('the fit in f32', () => {
  it('is scipy least squares: natural frequency within 2e-4, loss within 1e-3 (1e-2 where it creeps)', () => {
    const bursts = COILS.map((coil, i) => cuts(ringPickup([coil]), 11 + i, THROWS));
    const input = bursts.map((all) => all.map((burst) => [...burst]));
    const theirs = askPython<{ natural_Hz: number; loss_s: number; misfit: number }[]>('ring_fit.py', input);
    bursts.forEach((all, i) => {
      const ours = fitOf(all)!;
      const creeps = COILS[i]!.loss_ohm! < 70e3;
      expect(Math.abs(ours.natural_Hz / theirs[i]!.natural_Hz - 1)).toBeLessThan(creeps ? 2e-3 : 2e-4);
      expect(Math.abs(ours.loss_s / theirs[i]!.loss_s - 1)).toBeLessThan(creeps ? 1e-2 : 1e-3);
      expect(ours.misfit / theirs[i]!.misfit).toBeLessThan(1.2);
    });
  }, 120_000);
});

/** The converter as it is told to be: 0.73 mV codes, four of them 8.9 codes wide. */
function coded(volts: number): number {
  const size = Math.abs(volts) / (768 / 2 ** 20);
  let out = (size * 1024) / 1015.1;
  if (size > 507.55) out = size < 516.45 ? 512 : 512 + ((size - 516.45) * 1024) / 1015.1;
  if (size > 1531.55) out = size < 1540.45 ? 1536 : 1536 + ((size - 1540.45) * 1024) / 1015.1;
  return out > 1950 ? OVERRANGE : Math.sign(volts) * Math.round(out) * 768;
}

/** A coil with the fixture's 275 pF and the path's 1.2 kilohm in ngspice, sampled sixteen times with the dither of noise. */
function sampled({ ohm, henry, picofarad, loss_ohm }: RingCoil): Int32Array[] {
  const { time_s, values } = simulate(
    `I1 0 ap PULSE(10u 0 5m 10n 10n 1 2)
R1 c2 m ${ohm}
L1 m c1 ${henry}
RE m c1 ${loss_ohm}
CW c2 c1 ${picofarad}p
C1 c1 0 139p
C2 c2 0 139p
C12 c1 c2 40p
RP2 c2 ap 1222.5
CA ap 0 95p
RP1 c1 am 1222.5
RZ am 0 2.5`,
    '0.2u 8.3m 4.4m 0.2u',
    ['v(ap,am)'],
  );
  return Array.from({ length: 16 }, (_, burst) => {
    let at = 0;
    return Int32Array.from({ length: SAMPLES }, (_unused, k) => {
      // The latch comes 0.2 us after the last sample before it.
      const when_s = 5e-3 - 0.2e-6 + (k - LEAD) / 120_000;
      while (time_s[at + 1]! < when_s) at++;
      const share = (when_s - time_s[at]!) / (time_s[at + 1]! - time_s[at]!);
      const volts = values[0]![at]! + share * (values[0]![at + 1]! - values[0]![at]!);
      return coded(volts + ((burst - 7.5) / 16) * (768 / 2 ** 20));
    });
  });
}

describe('the fit of what ngspice gives', () => {
  it.each(COILS.map((coil) => [coil.ohm, coil] as const))('finds capacitance, inductance and loss of the coil of %f ohm', (_, coil) => {
    const fit = fitOf(sampled(coil), CURRENT_A, 1222.5)!;
    const creeps = coil.loss_ohm! < 70e3;
    const total_F = (139 + 40 + 95 + coil.picofarad) * 1e-12;
    expect(Math.abs(fit.total_F! - total_F)).toBeLessThan(creeps ? 2 * fit.u_F : 5e-12);
    // Formulas of the two-pole network; the fixture's part charges through the path.
    const whole_ohm = coil.ohm + 1222.5 * (274e-12 / fit.total_F!) ** 2;
    const tau_s = fit.loss_s - whole_ohm * fit.total_F!;
    const henry = 1 / ((2 * Math.PI * fit.natural_Hz) ** 2 * fit.total_F!) - whole_ohm * tau_s;
    expect(Math.abs(henry / coil.henry - 1)).toBeLessThan(creeps ? 0.06 : 0.02);
    expect(Math.abs(henry / tau_s / coil.loss_ohm! - 1)).toBeLessThan(creeps ? 0.06 : 0.03);
    expect(fit.misfit).toBeLessThan(3e-3);
  });
});
