import { calibration } from '../blocks';
import { CAPTURE, RingWork, SAMPLE_V, SCRATCH, WORK } from '../layout';
import { fitRing, lossTime_s, naturalSquared } from './fit';
import { ringAdd, ringBegin } from './gather';
import { RING_LEAD, RING_SAMPLES } from './sizes';
import { startCapacitance } from './start';

const POINTS: u32 = CAPTURE + 4096;

function work(): RingWork { return changetype<RingWork>(<usize>WORK); }

/** As the converter tells volts: between its four wide codes the gain is 1024/1015.1. */
function told(volts: f64): i32 {
  const size = abs<f64>(volts) / SAMPLE_V / 768;
  let out = size * 1024 / 1015.1;
  for (let wide: f64 = 512; wide <= 1536; wide += 1024) {
    const start: f64 = wide == 512 ? 507.55 : 507.55 + 8.9 + 1015.1;
    if (size > start && size < start + 8.9) return <i32>((volts < 0 ? -1 : 1) * wide * 768);
    if (size >= start + 8.9) out = wide + (size - start - 8.9) * 1024 / 1015.1;
  }
  return <i32>((volts < 0 ? -1 : 1) * Math.round(out) * 768);
}

/** v of L, R_E, R and C from the equations of the circuit, Runge and Kutta in f64: 10 uA in the coil until the cut. */
function ring(ohm: f64, henry: f64, farad: f64, loss_ohm: f64): void {
  calibration().wide1 = calibration().wide2 = calibration().wide3 = calibration().wide4 = 8.9;
  ringBegin(work(), CAPTURE);
  for (let burst: u32 = 0; burst < 16; burst++) {
    let i: f64 = 10e-6;
    let v: f64 = i * ohm;
    for (let k: u32 = 0; k < RING_SAMPLES; k++) {
      // A little noise, so that the codes of 16 bursts differ.
      const noise = (<f64>((k * 7919 + burst * 104729) % 1000) / 1000 - 0.5) * 0.0015;
      store<i32>(SCRATCH + k * 4, told(v + noise));
      if (k < RING_LEAD) continue;
      for (let part = 0; part < 40; part++) {
        const h: f64 = 1.0 / 120000 / 40;
        // v = i R + u with u across L and R_E together; i = iL + u/R_E, C dv/dt = -i.
        const k1 = slope(i, v, ohm, henry, farad, loss_ohm);
        const v1 = -(i) / farad;
        const k2 = slope(i + h / 2 * k1, v + h / 2 * v1, ohm, henry, farad, loss_ohm);
        const v2 = -(i + h / 2 * k1) / farad;
        i += h * k2;
        v += h * v2;
      }
    }
    ringAdd(work(), CAPTURE, SCRATCH, RING_SAMPLES);
  }
}

/** di/dt of the coil's current: L d(i - u/R_E)/dt = u with u = v - i R. */
function slope(i: f64, v: f64, ohm: f64, henry: f64, farad: f64, loss_ohm: f64): f64 {
  const u = v - i * ohm;
  return (u / henry - i / farad / loss_ohm) / (1 + ohm / loss_ohm);
}

function near(value: f32, expected: f64, share: f64): bool { return Math.abs(<f64>value / expected - 1) <= share; }

describe('the fit of a ring', () => {
  // Formulas of the two-pole circuit: w0^2 = 1/(L C (1 + R/R_E)), T = R C + L/R_E (standard second-order network).
  it('gives natural frequency and loss of coils that swing and of coils that creep', () => {
    const coils: f64[] = [
      4100, 2.3, 365e-12, 250e3, 4200, 2.4, 365e-12, 90e3, 3600, 1.5, 335e-12, 400e3, 2000, 1, 315e-12, 500e3,
      7000, 2.8, 405e-12, 1e6, 8000, 4, 375e-12, 250e3, 2500, 10, 525e-12, 1e6, 25000, 10, 475e-12, 250e3,
      14000, 7, 455e-12, 120e3, 8500, 4.6, 395e-12, 60e3, 4000, 1.8, 325e-12, 30e3,
    ];
    for (let n = 0; n < coils.length; n += 4) {
      const ohm = coils[n];
      const henry = coils[n + 1];
      const farad = coils[n + 2];
      const loss_ohm = coils[n + 3];
      ring(ohm, henry, farad, loss_ohm);
      expect(fitRing(work(), CAPTURE, POINTS)).toBe(true, `fit of coil ${n / 4}`);
      const natural = Math.sqrt(1 / (henry * farad * (1 + ohm / loss_ohm)));
      const loss_s = ohm * farad + henry / loss_ohm;
      expect(startCapacitance(work(), CAPTURE, 1e-5, 0)).toBe(true, `start of coil ${n / 4}`);
      expect(near(sqrt<f32>(naturalSquared(work())), natural, 0.003)).toBe(true, `frequency of coil ${n / 4}`);
      expect(near(lossTime_s(work()), loss_s, 0.006)).toBe(true, `loss of coil ${n / 4}`);
      expect(near(work().total_F, farad, 0.02)).toBe(true, `capacitance of coil ${n / 4}`);
      expect(work().misfit < <f32>3e-3).toBe(true, `misfit of coil ${n / 4}`);
    }
  });
});
