/**
 * Leads that lose contact while a touch is listened to: drawn from the description of such a burst (20 to 150 ms of hum and
 * noise 4 to 12 times those of the rest; common practice, no published source) over the waveforms of physics.md 4.
 */
import { describe, expect, it } from 'vitest';
import { TouchFlag } from '../../host/src/logic/layout.generated.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { TouchReader, type ReadTouch } from '../../host/src/evidence/touch-reader.ts';
import { confidenceOf } from '../lots/touch-reader.ts';
import { logBetween, nominalScene, type NominalOptions } from '../lots/touch-scenes.ts';

const reader = new TouchReader();
const SEED = 20261128;
const hasBurst = (touch: ReadTouch): boolean => (touch.flags & TouchFlag.burst) !== 0;

/** Channel 0 hears a burst instead of its coil from `at_s` on. */
function withBurst(
  volts_V: readonly (number | null)[], chance: RandomStream, noise_V: number, rate_Hz: number, start_s: number, at_s: number, for_s: number,
): (number | null)[] {
  const times = logBetween(chance, 4, 12);
  const from = Math.round((at_s - start_s) * rate_Hz);
  const to = from + Math.round(for_s * rate_Hz);
  const phase = chance.between(0, 2 * Math.PI);
  const hum_V = logBetween(chance, 1e-4, 8e-3);
  return volts_V.map((volt_V, i) => {
    if (i < from || i >= to) return volt_V;
    return times * (noise_V * chance.gaussian() + hum_V * Math.sin(2 * Math.PI * 50 * (i / rate_Hz) + phase));
  });
}
/** Samples rounded to a converter's step. */
const rounded = (volts_V: readonly (number | null)[], step_V: number): (number | null)[] =>
  volts_V.map((volt_V) => (volt_V === null ? null : Math.round(volt_V / step_V) * step_V));

/** What a coil that rings makes of a waveform: a pole pair behind it, of which a kink leaves an oscillation that dies. */
function ringing(volts_V: readonly (number | null)[], ring_Hz: number, dies_s: number, rate_Hz: number): (number | null)[] {
  const radius = Math.exp(-1 / (dies_s * rate_Hz));
  const [a, b] = [2 * radius * Math.cos((2 * Math.PI * ring_Hz) / rate_Hz), -radius * radius];
  let [last, before] = [0, 0];
  return volts_V.map((volt_V) => {
    const out = (1 - a - b) * (volt_V ?? 0) + a * last + b * before;
    [before, last] = [last, out];
    return volt_V === null ? null : out;
  });
}

describe('a lead that loses contact during a touch', () => {
  for (const [rate_Hz, step_V] of [[10_000, 0], [10_000, 5e-4], [44_100, 0], [100_000, 2e-4], [6_000, 0]] as const) {
    it(`is told at ${rate_Hz} Hz${step_V > 0 ? `, in steps of ${step_V * 1e3} mV` : ''}`, () => {
      const chance = new RandomStream(SEED, `burst ${rate_Hz} ${step_V}`);
      let told = 0;
      for (let i = 0; i < 40; i++) {
        const scene = nominalScene(chance, { rate_Hz });
        const noise_V = Math.max(scene.noise_V * Math.sqrt(rate_Hz / 1e4), step_V / 2);
        const end_s = scene.start_s + scene.volts_V[0]!.length / rate_Hz;
        const for_s = Math.min(logBetween(chance, 0.02, 0.15), 0.35 * (end_s - scene.start_s));
        const at_s = chance.between(scene.start_s, end_s - for_s);
        const lost = withBurst(scene.volts_V[0]!, chance, noise_V, rate_Hz, scene.start_s, at_s, for_s);
        const [first, second] = [lost, scene.volts_V[1]!].map((volts_V) => (step_V > 0 ? rounded(volts_V, step_V) : volts_V));
        const touch = reader.read([first!, second!], rate_Hz, scene.start_s);
        if (hasBurst(touch)) told++;
        expect(touch.channels[1]!.flags & TouchFlag.burst).toBe(0);
      }
      expect(told).toBeGreaterThanOrEqual(38);
    });
  }

  it.each([4000, 5000])('is mostly told at %i Hz though it lasts 25 to 60 ms only: the channel jumps as contact comes', (rate_Hz) => {
    const chance = new RandomStream(SEED, `short ${rate_Hz}`);
    let told = 0;
    for (let i = 0; i < 80; i++) {
      const scene = nominalScene(chance, { rate_Hz });
      const end_s = scene.start_s + scene.volts_V[0]!.length / rate_Hz;
      const for_s = chance.between(0.025, 0.06);
      const lost = withBurst(scene.volts_V[0]!, chance, scene.noise_V, rate_Hz, scene.start_s, chance.between(0.06, end_s - for_s), for_s);
      if (hasBurst(reader.read([lost, scene.volts_V[1]!], rate_Hz, scene.start_s))) told++;
    }
    expect(told).toBeGreaterThanOrEqual(72);
  });

  it('is told beside a coil that moves far more, where the burst is noise by itself', () => {
    const chance = new RandomStream(SEED, 'beside');
    let told = 0;
    for (let i = 0; i < 40; i++) {
      const scene = nominalScene(chance, { rate_Hz: 10_000, flux_Wb: [4e-3, 8e-3], handHum: false });
      const quiet = scene.volts_V[0]!.map(() => scene.noise_V * chance.gaussian());
      const first = Math.round((-0.015 - scene.start_s) * 10_000);
      const lost = quiet.map((volt_V, k) => (k >= first && k < first + 400 ? 8 * volt_V : volt_V));
      if (hasBurst(reader.read([scene.volts_V[0]!, lost], 10_000, scene.start_s))) told++;
    }
    expect(told).toBeGreaterThanOrEqual(38);
  });

  it('is told at 1000 Hz by its hum alone, and hum that a hand makes larger or smaller is not', () => {
    const chance = new RandomStream(SEED, 'hum alone');
    let told = 0;
    for (let i = 0; i < 60; i++) {
      const scene = nominalScene(chance, { rate_Hz: 1000, hum_V: logBetween(chance, 5e-4, 5e-3), mains_Hz: [49.9, 50.1] });
      expect(hasBurst(reader.read(scene.volts_V, 1000, scene.start_s))).toBe(false);
      const end_s = scene.start_s + scene.volts_V[0]!.length / 1000;
      const for_s = Math.min(chance.between(0.07, 0.15), 0.3 * (end_s - scene.start_s));
      const at_s = chance.between(scene.start_s + 0.03, end_s - for_s - 0.03);
      const [hum_V, phase] = [chance.between(4, 12) * 4e-3, chance.between(0, 2 * Math.PI)];
      const lost = scene.volts_V[0]!.map((volt_V, k) => {
        const t = scene.start_s + k / 1000;
        return t < at_s || t >= at_s + for_s ? volt_V : hum_V * Math.sin(2 * Math.PI * 50 * t + phase) + scene.noise_V * chance.gaussian();
      });
      if (hasBurst(reader.read([lost, scene.volts_V[1]!], 1000, scene.start_s))) told++;
    }
    expect(told).toBeGreaterThanOrEqual(54);
  });

  it('is not seen in touches, bounces and peaks over range at any rate', () => {
    const chance = new RandomStream(SEED, 'no burst');
    const kinds: readonly NominalOptions[] = [
      {}, { rate_Hz: 1000 }, { rate_Hz: 2500 }, { rate_Hz: 5000 }, { rate_Hz: 44_100 }, { rate_Hz: 100_000 }, { hum_V: 2e-2 },
      { shape: 'tail' }, { shape: 'triangle', rate_Hz: 2500 }, { flux_Wb: [5e-3, 3e-2] }, { rate_Hz: 4000 }, { shape: 'triangle', rate_Hz: 4000 },
    ];
    for (const options of kinds) {
      for (let i = 0; i < 40; i++) {
        const scene = nominalScene(chance, options);
        expect(hasBurst(reader.read(scene.volts_V, scene.rate_Hz, scene.start_s))).toBe(false);
      }
    }
  });

  it('is not seen in the ring of a clack, 200 to 900 Hz that dies in a few milliseconds', () => {
    const chance = new RandomStream(SEED, 'clack');
    for (const rate_Hz of [2500, 5000, 10_000, 44_100, 4000]) {
      for (let i = 0; i < 40; i++) {
        const scene = nominalScene(chance, { rate_Hz, flux_Wb: [2e-4, 4e-3] });
        const ring_V = logBetween(chance, 3e-3, 0.3);
        const ring_Hz = logBetween(chance, 200, 900);
        const dies_s = logBetween(chance, 0.002, 0.008);
        const volts_V = scene.volts_V.map((channel_V) => channel_V.map((volt_V, k) => {
          const t = scene.start_s + k / rate_Hz - scene.hand.rise_s;
          return volt_V === null || t < 0 ? volt_V : volt_V + ring_V * Math.exp(-t / dies_s) * Math.sin(2 * Math.PI * ring_Hz * t);
        }));
        expect(hasBurst(reader.read(volts_V, rate_Hz, scene.start_s))).toBe(false);
      }
    }
  });

  it('is not seen in bounces whose kinks make the coil ring at 3.5 to 4.9 kHz', () => {
    const chance = new RandomStream(SEED, 'kinks');
    let seen = 0;
    for (let i = 0; i < 300; i++) {
      const scene = nominalScene(chance, { flux_Wb: [2e-4, 4e-3] });
      const ring_Hz = chance.between(3500, 4900);
      const dies_s = logBetween(chance, 3e-4, 1e-3);
      const volts_V = scene.volts_V.map((channel_V) => ringing(channel_V, ring_Hz, dies_s, scene.rate_Hz));
      if (hasBurst(reader.read(volts_V, scene.rate_Hz, scene.start_s))) seen++;
    }
    expect(seen).toBeLessThanOrEqual(1);
  });

  it('harms no sign of a late arrival that a channel without one hears too', () => {
    const chance = new RandomStream(SEED, 'followed');
    const followed = { given: 0, wrong: 0 };
    for (let i = 0; i < 60; i++) {
      const scene = nominalScene(chance, { flux_Wb: [1e-3, 4e-3], handHum: false, before_s: 0.3 });
      const start_s = scene.start_s + 0.2;
      const lost = withBurst(scene.volts_V[0]!, chance, scene.noise_V, scene.rate_Hz, start_s, chance.between(-0.04, 0), 0.08);
      const { channels, flags } = reader.read([lost, scene.volts_V[1]!], scene.rate_Hz, start_s);
      expect(flags & TouchFlag.burst).toBe(TouchFlag.burst);
      if (channels[0]!.signLogOdds * scene.sign > 3) followed.given++;
      if (channels[0]!.signLogOdds * scene.sign < -1) followed.wrong++;
    }
    expect(followed.wrong).toBe(0);
    expect(followed.given).toBeGreaterThan(45);
  });

  it('leaves the sign open when the arrival lies in it, and does no harm to it anywhere else', () => {
    const chance = new RandomStream(SEED, 'sign');
    const apart = { count: 0, given: 0, wrong: 0 };
    for (let i = 0; i < 80; i++) {
      const scene = nominalScene(chance, { flux_Wb: [3e-4, 4e-3], handHum: false });
      const end_s = scene.start_s + scene.volts_V[0]!.length / scene.rate_Hz;
      const inside = i % 2 === 0;
      const at_s = inside ? chance.between(-0.03, -0.005) : chance.between(0.06, Math.max(0.07, end_s - 0.06));
      const for_s = inside ? 0.08 : 0.05;
      const lost = withBurst(scene.volts_V[0]!, chance, scene.noise_V, scene.rate_Hz, scene.start_s, at_s, for_s);
      const touch = reader.read([lost], scene.rate_Hz, scene.start_s);
      const channel = touch.channels[0]!;
      expect(touch.burst_ms).toBeGreaterThan(for_s * 1e3 - 8);
      if (inside) {
        expect(confidenceOf(channel)).toBeLessThan(0.6);
      } else {
        apart.count++;
        if (channel.signLogOdds * scene.sign > 4) apart.given++;
        if (channel.signLogOdds * scene.sign < 0) apart.wrong++;
      }
    }
    expect(apart.wrong).toBe(0);
    expect(apart.given).toBeGreaterThan(0.9 * apart.count);
  });

  it('says nothing of what was touched where the touch may lie in it, neither that nothing moved nor that an open coil did', () => {
    const chance = new RandomStream(SEED, 'in the burst');
    for (let i = 0; i < 20; i++) {
      const scene = nominalScene(chance, { rate_Hz: 10_000 });
      // Nothing but the burst is left of the capture.
      const quiet = scene.volts_V[0]!.map(() => scene.noise_V * chance.gaussian());
      const volts_V = withBurst(quiet, chance, scene.noise_V, 10_000, scene.start_s, -0.02, 0.1);
      const touch = reader.read([volts_V], 10_000, scene.start_s);
      expect(hasBurst(touch)).toBe(true);
      expect(touch.channels[0]!.signLogOdds).toBe(0);
      expect(touch.channels[0]!.touchLogOdds).toBeGreaterThanOrEqual(0);
      expect(touch.channels[0]!.flags & TouchFlag.noFlux).toBe(0);
    }
  });

  it('floats at the end of the range, until contact comes and rings: no touch, and none of its sign', () => {
    const chance = new RandomStream(SEED, 'floats');
    for (let i = 0; i < 20; i++) {
      const rate_Hz = i % 2 === 0 ? 10_000 : 5000;
      const back_s = chance.between(-0.08, 0.02);
      const ring_V = chance.between(0.3, 1) * (chance.unit() < 0.5 ? -1 : 1);
      const count = Math.round(0.8 * rate_Hz);
      const volts_V = Array.from({ length: count }, (_, k) => {
        const since_s = -0.2 + k / rate_Hz - back_s;
        if (since_s < 0) return null;
        return ring_V * Math.exp(-since_s / 0.001) * Math.cos(2 * Math.PI * 900 * since_s) + 2e-4 * chance.gaussian();
      });
      const touch = reader.read([volts_V], rate_Hz, -0.2);
      expect(touch.flags & (TouchFlag.burst | TouchFlag.overrange)).toBe(TouchFlag.burst);
      expect(confidenceOf(touch.channels[0]!)).toBeLessThan(0.9);
    }
  });
});
