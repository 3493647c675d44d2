/** Quality of the reading of a touch on small seeded sets; `node tests/figures/touch.ts` prints the large ones. */
import { describe, expect, it } from 'vitest';
import { TouchFlag } from '../../host/src/logic/layout.generated.ts';
import { lowerTail, RandomStream } from '../../host/src/virtual-bench/random.ts';
import { TouchReader, type ReadChannel } from '../../host/src/evidence/touch-reader.ts';
import { confidenceOf } from '../lots/touch-reader.ts';
import { emptyScene, faintScene, logBetween, nominalScene } from '../lots/touch-scenes.ts';
import { drawHum, fluxOf_d, matched_d, soundOf, type FluxStep, type StepShape } from '../lots/waveform.ts';

const reader = new TouchReader();
const SEED = 20260314;

/** A quiet capture at 10 kHz of these steps, 0.3 mV of noise, 4 mV of hum, channel 1 with 8 %. */
function read(steps: readonly FluxStep[], options: { start_s?: number; count?: number; open_s?: number } = {}) {
  const chance = new RandomStream(SEED, 'fixed');
  const hum = drawHum(chance, 50.03, 4e-3);
  const start_s = options.start_s ?? -0.1;
  const open = options.open_s === undefined ? {} : { open_s: options.open_s };
  const volts_V = [1, 0.08].map((gain) =>
    soundOf({ steps, gain, noise_V: 3e-4, hum, ...open }, chance, options.count ?? 8000, 1e4, start_s));
  return reader.read(volts_V, 1e4, start_s);
}

describe('waveforms of touches', () => {
  it('physics.md 4: 0.6 mWb at 0.3 mV noise has d = 4967, 3512, 2221, 1571 for 2, 4, 10, 20 ms', () => {
    const ds = [0.002, 0.004, 0.01, 0.02].map((rise_s) => Math.round(matched_d(6e-4, rise_s, 1e4, 3e-4)));
    expect(ds).toEqual([4967, 3512, 2221, 1571]);
    expect(matched_d(fluxOf_d(3, 0.007, 1e4, 5e-4), 0.007, 1e4, 5e-4)).toBeCloseTo(3, 9);
  });
});

describe('what is no touch', () => {
  it('believes no less noise than a coarse converter rounds away: most samples on one of its steps are no silence', () => {
    const chance = new RandomStream(SEED, 'coarse');
    const step_V = 1.2e-3;
    for (const noise_V of [3.6e-4, 7.2e-4, 3e-3]) {
      const volts_V = soundOf({ steps: [], gain: 1, noise_V }, chance, 2000, 1e3, -0.2)
        .map((volt_V) => step_V * Math.round(volt_V! / step_V));
      // A rounding error is spread evenly over the step: its deviation is step / sqrt 12, and adds to the noise.
      const expected_V = Math.hypot(noise_V, step_V / Math.sqrt(12));
      const { noise_V: told_V } = reader.read([volts_V], 1e3, -0.2).channels[0]!;
      expect(told_V / expected_V).toBeGreaterThan(0.6);
      expect(told_V / expected_V).toBeLessThan(1.1);
    }
  });
});

describe('the mains', () => {
  it('finds the mains of a channel that shows nothing else beside one that moves all along', () => {
    let clean = 0;
    for (let k = 0; k < 12; k++) {
      const chance = new RandomStream(SEED, `mains ${k}`);
      const hum = drawHum(chance, 49.98, 3e-4);
      const steps = Array.from({ length: 5 }, (_, i) =>
        ({ at_s: -0.05 + i * 0.08, for_s: chance.between(0.06, 0.07), flux_Wb: (i % 2 === 0 ? 1 : -1) * 2e-3 }));
      const [moving, still] = [{ steps, gain: 1 }, { steps: [], gain: 0 }]
        .map((sound) => soundOf({ ...sound, noise_V: 1e-4, hum }, chance, 4000, 1e4, -0.05));
      // Four samples of white noise averaged into one: half its deviation.
      if (reader.read([moving!, still!], 1e4, -0.05).channels[1]!.noise_V < 1.3 * 0.5e-4) clean++;
    }
    expect(clean).toBeGreaterThanOrEqual(9);
  });

  it('is taken out of a quiet capture as far off its nominal frequency as 4 %, be it a third of a second or longer (EN 50160, 4.2.1)', () => {
    for (const [index, hum_Hz] of [48, 48.5, 49.5, 50, 50.5, 51, 52, 57.6, 59.4, 60, 60.6, 62.4].entries()) {
      const chance = new RandomStream(SEED, `mains of ${hum_Hz} Hz`);
      const count = index % 2 === 0 ? 3300 : 16000;
      const volts_V = soundOf({ steps: [], gain: 1, noise_V: 1e-4, hum: drawHum(chance, hum_Hz, 3e-3) }, chance, count, 1e4, -0.05);
      const [channel] = reader.read([volts_V], 1e4, -0.05).channels;
      expect(channel!.noise_V, `${hum_Hz} Hz`).toBeLessThan(1.3 * 0.5e-4);
      expect(channel!.hum_V, `${hum_Hz} Hz`).toBeCloseTo(3e-3, 4);
    }
  });
});

describe('reading a touch', () => {
  it('takes the times of a faint touch from the channel that shows most, whichever comes first', () => {
    for (let k = 0; k < 12; k++) {
      const chance = new RandomStream(SEED, `order ${k}`);
      const steps = [{ at_s: 0, for_s: 0.008, flux_Wb: 5e-6 }, { at_s: 0.25, for_s: 0.03, flux_Wb: -5e-6 }];
      const [less, more] = [0.55, 1].map((gain) => soundOf({ steps, gain, noise_V: 3e-4 }, chance, 6000, 1e4, -0.1));
      const times = [[less!, more!], [more!, less!]].map((volts_V) => {
        const { arrival_s, departure_s } = reader.read(volts_V, 1e4, -0.1);
        return { arrival_s, departure_s };
      });
      expect(times[1]).toEqual(times[0]);
      expect(Math.abs(times[0]!.departure_s - 0.265)).toBeLessThan(0.01);
    }
  });

  it('gives flux, sign and both times of a touch of 0.6 mWb under 4 mV of hum', () => {
    for (const sign of [1, -1]) {
      const touch = read([{ at_s: 0, for_s: 0.004, flux_Wb: sign * 6e-4 }, { at_s: 0.35, for_s: 0.007, flux_Wb: -sign * 6e-4 }]);
      const [own, other] = touch.channels;
      expect(Math.abs(own!.flux_Wb - sign * 6e-4)).toBeLessThan(3 * own!.u_flux_Wb);
      expect(own!.signLogOdds * sign).toBeGreaterThan(6.9);
      expect(Math.abs(other!.flux_Wb - sign * 4.8e-5)).toBeLessThan(4 * other!.u_flux_Wb);
      expect(Math.abs(touch.arrival_s - 0.002)).toBeLessThan(0.002);
      expect(Math.abs(touch.departure_s - 0.3535)).toBeLessThan(0.002);
      expect(touch.contacts).toBe(1);
      expect(own!.hum_V).toBeCloseTo(4e-3, 4);
    }
  });

  it('takes no sign from the larger lobe: a slow arrival, a fast pull-away', () => {
    const touch = read([
      { at_s: -0.06, for_s: 0.06, flux_Wb: 3e-4 }, { at_s: 0, for_s: 0.02, flux_Wb: 7e-4 }, { at_s: 0.3, for_s: 0.002, flux_Wb: -1e-3 },
    ]);
    expect(touch.channels[0]!.signLogOdds).toBeGreaterThan(4.6);
  });

  it('does not take the late lift of the last touch for this arrival', () => {
    const touch = read([
      { at_s: -0.09, for_s: 0.007, flux_Wb: -8e-4 }, { at_s: 0, for_s: 0.005, flux_Wb: 6e-4 }, { at_s: 0.4, for_s: 0.007, flux_Wb: -6e-4 },
    ]);
    expect(touch.channels[0]!.signLogOdds).toBeGreaterThan(4.6);
    expect(touch.flags & TouchFlag.lateLift).toBe(TouchFlag.lateLift);
  });

  it('reads the departure alone as one when the capture began after the arrival', () => {
    const touch = read([{ at_s: 0.4, for_s: 0.007, flux_Wb: -6e-4 }], { start_s: 0.05, count: 6000 });
    expect(touch.channels[0]!.signLogOdds).toBeGreaterThan(0);
    expect(confidenceOf(touch.channels[0]!)).toBeLessThan(0.999);
  });

  it('does not call the peaks of an open coil, which leave no flux, a touch', () => {
    const touch = read(
      [{ at_s: 0, for_s: 0.004, flux_Wb: 6e-4 }, { at_s: 0.35, for_s: 0.007, flux_Wb: -6e-4 }], { open_s: 5e-4 });
    expect(touch.channels[0]!.flags & TouchFlag.noFlux).toBe(TouchFlag.noFlux);
    expect(touch.channels[0]!.signLogOdds).toBe(0);
    expect(touch.channels[0]!.touchLogOdds).toBeLessThan(0);
  });

  it('gives the sign of 120 ordinary touches over hum, hands, bounces, noise and drift', () => {
    const chance = new RandomStream(SEED, 'nominal');
    let wrong = 0;
    let given = 0;
    for (let i = 0; i < 120; i++) {
      const scene = nominalScene(chance, { flux_Wb: [2e-4, 4e-3] });
      const channel = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels[0]!;
      if (channel.signLogOdds * scene.sign < 0) wrong++;
      if (confidenceOf(channel) >= 0.98) given++;
    }
    expect(wrong).toBe(0);
    expect(given).toBeGreaterThanOrEqual(118);
  });

  for (const arrives of ['near', 'anywhere'] as const) {
    it(`states of faint touches what is true, from d of 1 to 8, in every tenth, where the steel arrives ${arrives}`, () => {
      const chance = new RandomStream(SEED, `calibration ${arrives}`);
      const tenths = Array.from({ length: 5 }, () => ({ count: 0, stated: 0, right: 0, variance: 0 }));
      const all = { count: 0, right: 0, ideal: 0 };
      for (let i = 0; i < 500; i++) {
        const d = chance.between(1, 8);
        const scene = faintScene(chance, d, { arrives, rate_Hz: 2500, hum_V: i % 2 === 0 ? 0 : 2e-3 });
        const channel = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels[0]!;
        const stated = confidenceOf(channel);
        const right = Number(channel.signLogOdds * scene.sign > 0);
        const tenth = tenths[Math.min(4, Math.floor((stated - 0.5) * 10))]!;
        tenth.count++;
        tenth.stated += stated;
        tenth.right += right;
        tenth.variance += stated * (1 - stated);
        all.count++;
        all.right += right;
        all.ideal += 1 - lowerTail(-d);
      }
      // The tenths alone, and the middle ones together: 3 points (the aim) and three deviations of that many draws.
      const middle = tenths.slice(1, 4).reduce((a, b) => ({
        count: a.count + b.count, stated: a.stated + b.stated, right: a.right + b.right, variance: a.variance + b.variance,
      }));
      for (const { count, stated, right, variance } of [...tenths, middle]) {
        expect(count).toBeGreaterThan(15);
        expect(Math.abs(stated - right)).toBeLessThan(0.03 * count + 3 * Math.sqrt(variance));
      }
      // No detector beats the filter that knows shape and time (Neyman and Pearson; physics.md 4).
      expect(all.right).toBeLessThanOrEqual(all.ideal + 1);
    });
  }

  it('tells the uncertainty of a flux: over draws of noise and hands it is off by about that much', () => {
    for (const d of [8, 15, 30, 60, 200]) {
      const chance = new RandomStream(SEED, `uncertainty ${d}`);
      let off = 0;
      let stated = 0;
      for (let i = 0; i < 60; i++) {
        const { volts_V, rate_Hz, start_s, hand } = faintScene(chance, d, { rate_Hz: 2500 });
        const channel = reader.read(volts_V, rate_Hz, start_s).channels[0]!;
        off += (Math.abs(channel.flux_Wb / hand.flux_Wb) - 1) ** 2;
        stated += (channel.u_flux_Wb / hand.flux_Wb) ** 2;
      }
      // The mean square of 60 normal deviates is 1 within 0.55 (three deviations of chi square).
      expect(off / stated).toBeLessThan(1.55);
      expect(off / stated).toBeGreaterThan(0.45);
    }
  });

  it('takes the flux of a slow touch well above the noise from the filter of its shape', () => {
    // The noise of the long filters was raised by the touch itself, and a short one chosen, which saw half the flux.
    const chance = new RandomStream(78, 'slow');
    const off: number[] = [];
    while (off.length < 60) {
      const { volts_V, rate_Hz, start_s, hand } = faintScene(chance, 45, { rate_Hz: 2500 });
      if (hand.rise_s < 0.01) continue;
      const channel = reader.read(volts_V, rate_Hz, start_s).channels[0]!;
      off.push(Math.abs(Math.abs(channel.flux_Wb / hand.flux_Wb) - 1));
    }
    expect(off.filter((share) => share > 0.25).length).toBeLessThanOrEqual(1);
  });

  it('gives a sign to at least 95 of 100 faint touches with d = 9', () => {
    const chance = new RandomStream(SEED, 'd9');
    let given = 0;
    for (let i = 0; i < 100; i++) {
      const scene = faintScene(chance, 9, { rate_Hz: 2500 });
      const channel = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels[0]!;
      if (channel.signLogOdds * scene.sign > 2.94) given++;
    }
    expect(given).toBeGreaterThanOrEqual(95);
  });

  it('gives the sign all the way from the noise to far above it, where one way of weighing passes into the other', () => {
    const chance = new RandomStream(SEED, 'crossing');
    for (const d of [12, 14, 16, 22, 30, 38, 42, 60, 120, 300]) {
      let given = 0;
      let wrong = 0;
      for (let i = 0; i < 40; i++) {
        const scene = faintScene(chance, d, { rate_Hz: 2500 });
        const channel = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels[0]!;
        if (channel.signLogOdds * scene.sign > 4.6) given++;
        if (channel.signLogOdds * scene.sign < 0) wrong++;
      }
      expect(wrong).toBe(0);
      expect(given).toBeGreaterThanOrEqual(38);
    }
  });

  it('hardly ever takes hum that steps as a hand comes near for a touch', () => {
    const chance = new RandomStream(SEED, 'empty');
    let touched = 0;
    for (let i = 0; i < 100; i++) {
      const scene = emptyScene(chance);
      const { channels } = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s);
      if (channels.some((channel) => channel.touchLogOdds > 3 && confidenceOf(channel) > 0.95)) touched++;
    }
    expect(touched).toBeLessThanOrEqual(5);
  });

  /** Steps of one touch up to its arrival, and the ranges that differ between the tests of slow steel. */
  interface SlowSteel {
    readonly count: number;
    readonly rise_s: readonly [number, number];
    readonly leaves: number;
    readonly stays_s: readonly [number, number];
    readonly rest_s: readonly [number, number];
    readonly steps: (chance: RandomStream, flux_Wb: number, rise_s: number, shape: StepShape) => FluxStep[];
  }

  /** Signs given at 0.9 or more, wrong ones, and how many of them their confidence expects. */
  interface Found { given: number; wrong: number; expected: number }
  /** Counts a channel's sign beside the true one. */
  function count(found: Found, channel: ReadChannel, sign: number): void {
    if (confidenceOf(channel) < 0.9) return;
    found.given++;
    found.expected += 1 - confidenceOf(channel);
    if (channel.signLogOdds * sign < 0) found.wrong++;
  }

  /** Reads touches of slow steel. */
  function readSlow(name: string, steel: SlowSteel): Found {
    const chance = new RandomStream(SEED, name);
    const shapes: readonly StepShape[] = ['cosine', 'gaussian', 'triangle', 'tail', 'skewed'];
    const found = { given: 0, wrong: 0, expected: 0 };
    for (let i = 0; i < steel.count; i++) {
      const sign = chance.unit() < 0.5 ? 1 : -1;
      const flux_Wb = sign * logBetween(chance, 3e-4, 1e-2);
      const rise_s = logBetween(chance, ...steel.rise_s);
      const steps = steel.steps(chance, flux_Wb, rise_s, shapes[chance.bits() % shapes.length]!);
      const leaves_s = rise_s + chance.between(...steel.stays_s);
      if (chance.unit() < steel.leaves) steps.push({ at_s: leaves_s, for_s: logBetween(chance, 0.002, 0.1), flux_Wb: -flux_Wb });
      const hum = drawHum(chance, chance.unit() < 0.5 ? 50.1 : 59.9, logBetween(chance, 1e-4, 8e-3));
      const sound = { steps, gain: 1, noise_V: logBetween(chance, 1e-5, 1e-3), hum };
      const rate_Hz = 5000;
      const length_s = 0.1 + leaves_s + chance.between(...steel.rest_s);
      const volts_V = soundOf(sound, chance, Math.round(length_s * rate_Hz), rate_Hz, -0.1);
      count(found, reader.read([volts_V], rate_Hz, -0.1).channels[0]!, sign);
    }
    return found;
  }

  it('takes no fast departure for the arrival of steel that comes slowly, up to half a second', () => {
    const { given, wrong, expected } = readSlow('slow', {
      count: 200, rise_s: [0.08, 0.5], leaves: 0.8, stays_s: [0.02, 0.2], rest_s: [0.05, 0.3],
      steps: (_, flux_Wb, rise_s, shape) => [{ at_s: -0.1 * rise_s, for_s: rise_s, flux_Wb, shape }],
    });
    expect(given).toBeGreaterThan(100);
    // Four deviations of a count of rare things.
    expect(wrong).toBeLessThanOrEqual(expected + 4 * Math.sqrt(expected));
  });

  /** Through a first-order high-pass (RC network: each step of the input falls by exp(-t / tau)); none with `tau_s` infinite. */
  function coupled(volts_V: readonly (number | null)[], rate_Hz: number, tau_s: number): number[] {
    const keeps = Math.exp(-1 / (rate_Hz * tau_s));
    let [out, last] = [0, volts_V[0]!];
    return volts_V.map((volt_V) => {
      out = keeps * (out + volt_V! - last);
      last = volt_V!;
      return out;
    });
  }

  it('hears steel that comes for a third of a second to nearly one and stays, coupled through a capacitor or not', () => {
    const chance = new RandomStream(SEED, 'third');
    const shapes: readonly StepShape[] = ['cosine', 'gaussian', 'triangle'];
    const found = { given: 0, wrong: 0, expected: 0 };
    for (let i = 0; i < 120; i++) {
      const sign = i % 2 === 0 ? 1 : -1;
      const for_s = chance.between(0.3, 0.8);
      const steps = [{ at_s: -chance.between(0, 0.1), for_s, flux_Wb: sign * logBetween(chance, 5e-4, 5e-3), shape: shapes[i % 3]! }];
      const hum = drawHum(chance, chance.unit() < 0.5 ? 50.1 : 59.9, logBetween(chance, 1e-4, 4e-3));
      const sound = { steps, gain: 1, noise_V: logBetween(chance, 1e-5, 5e-4), hum, drift_V_s: chance.between(-1e-3, 1e-3) };
      const volts_V = soundOf(sound, chance, Math.round((0.3 + for_s) * 5000), 5000, -0.1);
      const tau_s = i % 4 < 2 ? Infinity : 1 / (2 * Math.PI * chance.between(0.3, 2));
      const channel = reader.read([coupled(volts_V, 5000, tau_s)], 5000, -0.1).channels[0]!;
      count(found, channel, sign);
    }
    expect(found.given).toBeGreaterThanOrEqual(100);
    expect(found.wrong).toBeLessThanOrEqual(2);
  });

  it('takes no fast departure through a capacitor for the arrival of steel that came too slowly to get through', () => {
    const chance = new RandomStream(SEED, 'gone');
    const found = { given: 0, wrong: 0, expected: 0 };
    for (let i = 0; i < 120; i++) {
      const sign = i % 2 === 0 ? 1 : -1;
      const flux_Wb = sign * logBetween(chance, 1e-3, 5e-3);
      const rise_s = chance.between(0.3, 0.7);
      const leaves_s = rise_s + chance.between(0.05, 0.2);
      const steps: FluxStep[] = [
        { at_s: 0, for_s: rise_s, flux_Wb }, { at_s: leaves_s, for_s: logBetween(chance, 0.005, 0.03), flux_Wb: -flux_Wb },
      ];
      const hum = drawHum(chance, i % 4 < 2 ? 50.1 : 59.9, logBetween(chance, 1e-4, 2e-3));
      const sound = { steps, gain: 1, noise_V: logBetween(chance, 1e-5, 5e-4), hum };
      const volts_V = soundOf(sound, chance, Math.round((leaves_s + 0.8) * 4000), 4000, -0.1);
      const channel = reader.read([coupled(volts_V, 4000, chance.between(0.1, 0.4))], 4000, -0.1).channels[0]!;
      count(found, channel, sign);
    }
    expect(found.given).toBeGreaterThanOrEqual(105);
    expect(found.wrong).toBeLessThanOrEqual(10);
  });

  it('is not sure of what stands alone near the noise long after the trigger: the end of an arrival too slow to be seen', () => {
    const chance = new RandomStream(SEED, 'faint end');
    let given = 0;
    for (let i = 0; i < 200; i++) {
      const sign = i % 2 === 0 ? 1 : -1;
      const rise_s = chance.between(0.006, 0.02);
      const flux_Wb = sign * fluxOf_d(chance.between(8, 14), rise_s, 5000, 5e-4);
      // In one of four it is the arrival itself.
      const steps = i % 4 === 0
        ? [{ at_s: chance.between(0.2, 0.3), for_s: rise_s, flux_Wb }]
        : [{ at_s: -0.05, for_s: 0.35, flux_Wb }, { at_s: chance.between(0.2, 0.3), for_s: rise_s, flux_Wb: -flux_Wb }];
      const volts_V = soundOf({ steps, gain: 1, noise_V: 5e-4 }, chance, 3000, 5000, -0.1);
      if (confidenceOf(reader.read([volts_V], 5000, -0.1).channels[0]!) >= 0.95) given++;
    }
    expect(given).toBeLessThanOrEqual(10);
  });

  it('believes a channel that heard all of its arrival before one that heard less, though its departure went over range', () => {
    const chance = new RandomStream(SEED, 'over at the end');
    // Steel slides over the neighbour's pole, comes to rest on this coil's, and is pulled off.
    const passes: FluxStep[] = [{ at_s: 0, for_s: 0.05, flux_Wb: 6e-4 }, { at_s: 0.05, for_s: 0.05, flux_Wb: -6e-4 }];
    const comes: FluxStep[] = [{ at_s: 0.04, for_s: 0.09, flux_Wb: 2.5e-3 }, { at_s: 0.232, for_s: 0.005, flux_Wb: -2.5e-3 }];
    const volts_V = [comes, passes].map((steps) => soundOf({ steps, gain: 1, noise_V: 3e-4, range_V: 0.3 }, chance, 5000, 1e4, -0.1));
    expect(volts_V[0]).toContain(null);
    expect(reader.read(volts_V, 1e4, -0.1).channels[0]!.signLogOdds).toBeGreaterThan(4);
  });

  it('hears steel that swings over the pole for a third of a short capture, under hum with many harmonics', () => {
    const chance = new RandomStream(SEED, 'swings');
    for (let i = 0; i < 60; i++) {
      const sign = i % 2 === 0 ? 1 : -1;
      const flux_Wb = sign * logBetween(chance, 2e-3, 8e-3);
      const swing_s = chance.between(0.07, 0.09);
      const steps = [0.65, -0.4, 0.75].map((share, k) => ({ at_s: 0.02 + k * swing_s, for_s: swing_s, flux_Wb: share * flux_Wb }));
      // A flat top: odd harmonics far beyond those that are always fitted.
      const odd = Array.from({ length: 15 }, (_, k) => (k % 2 === 0 ? 4e-3 / (k + 1) : 0));
      const hum = { hum_Hz: i % 4 < 2 ? 50.1 : 59.9, amplitudes_V: odd, phases: odd.map(() => -Math.PI / 2) };
      const volts_V = soundOf({ steps, gain: 1, noise_V: 3e-5, hum }, chance, 1450, 2500, -0.1);
      expect(reader.read([volts_V], 2500, -0.1).channels[0]!.signLogOdds * sign).toBeGreaterThan(4);
    }
  });

  it('takes no bounces that come a period of the hum apart for hum that a hand changes', () => {
    const chance = new RandomStream(SEED, 'periods');
    for (let i = 0; i < 200; i++) {
      const sign = i % 2 === 0 ? 1 : -1;
      const hum_Hz = i % 4 < 2 ? 50 : 60;
      const flux_Wb = sign * logBetween(chance, 1e-3, 5e-3);
      const rise_s = chance.between(0.004, 0.01);
      const steps: FluxStep[] = [{ at_s: 0.004, for_s: rise_s, flux_Wb }];
      let at_s = 0.004 + rise_s + chance.between(0.003, 0.008);
      for (let bounce = 0; bounce < 2; bounce++) {
        const away_s = chance.between(0.0035, 0.005);
        const left_Wb = flux_Wb * chance.between(0.25, 0.6);
        steps.push({ at_s, for_s: away_s, flux_Wb: -left_Wb }, { at_s: at_s + away_s, for_s: away_s, flux_Wb: left_Wb });
        at_s += chance.between(0.8, 1.1) / hum_Hz;
      }
      steps.push({ at_s: chance.between(0.25, 0.3), for_s: chance.between(0.004, 0.015), flux_Wb: -flux_Wb });
      const hum = drawHum(chance, hum_Hz, 1e-4);
      const volts_V = [1, 0.55].map((gain) => soundOf({ steps, gain, noise_V: 9e-4, hum }, chance, 5300, 1e4, -0.2));
      for (const [c, { signLogOdds, flux_Wb: read_Wb }] of reader.read(volts_V, 1e4, -0.2).channels.entries()) {
        expect(signLogOdds * sign).toBeGreaterThan(4);
        expect(read_Wb / flux_Wb / (c === 0 ? 1 : 0.55)).toBeCloseTo(1, 1);
      }
    }
  });

  it('does not take the lift of steel that rested there for the arrival, however slowly the next one comes', () => {
    const { given, wrong, expected } = readSlow('rested', {
      count: 300, rise_s: [0.002, 0.5], leaves: 0.6, stays_s: [0.02, 0.3], rest_s: [-0.02, 0.3],
      steps: (chance, flux_Wb, rise_s, shape) => [
        { at_s: chance.between(-0.09, -0.05), for_s: logBetween(chance, 0.002, 0.05), flux_Wb: -flux_Wb * chance.between(0.6, 1.2) },
        { at_s: chance.between(-0.2, 0.1) * Math.min(rise_s, 0.1), for_s: rise_s, flux_Wb, shape },
      ],
    });
    expect(given).toBeGreaterThan(150);
    // Four deviations of a count of rare things.
    expect(wrong).toBeLessThanOrEqual(expected + 4 * Math.sqrt(expected));
  });
});
