/** Wire, noise, thermal voltages and the 12-bit converter: published values against the virtual bench and its pickups. */
import { describe, expect, it } from 'vitest';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { examplePickup } from '../../host/src/files/example-files.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { conversion_s, CONVERTER_CODE_V, ConverterInput, FILTERS, weightsOf } from '../../host/src/virtual-bench/converter.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { FrontEnd } from '../../host/src/virtual-bench/front-end.ts';
import { drawWideCodes, decimated, ListeningAdc } from '../../host/src/virtual-bench/listening-adc.ts';
import type { Pickup, PickupCoil } from '../../host/src/pickup/pickup.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { inventPickup } from '../lots/generator.ts';
import { testOnTwin } from '../lots/twin-lot.ts';
import { quietPickup } from './quiet-pickup.ts';

const EXAMPLE = asPickup(examplePickup());
const COIL: PickupCoil = { ...EXAMPLE.coils[0]!, place: 'single' };

const rootMeanSquare = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
const deviation = (values: readonly number[]): number => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return rootMeanSquare(values.map((value) => value - mean));
};

describe('wire', () => {
  /** Ohms per 1000 ft at 20 C of gauge 41 and 44. @see NBS Handbook 100, Copper Wire Tables (1966), from memory */
  const [THICK_ohm_m, THIN_ohm_m] = [1323 / 304.8, 2593 / 304.8];

  it('NBS Handbook 100: every invented coil can be wound with 4000 to 12500 turns of gauge 41 to 44', () => {
    const lot = Array.from({ length: 500 }, (_, number) => inventPickup(4711, number).pickup);
    const coils = [...lot, ...demoLot, EXAMPLE].flatMap((pickup) => pickup.coils);
    expect(coils.length).toBeGreaterThan(700);
    // A turn is 0.10 to 0.16 m long: common practice, no published source.
    for (const { resistance_ohm_20C } of coils) {
      expect(resistance_ohm_20C / (THIN_ohm_m * 0.16)).toBeLessThan(12500);
      expect(resistance_ohm_20C / (THICK_ohm_m * 0.1)).toBeGreaterThan(4000);
    }
  });
});

/** A front end whose sensing port and listening channel B lie across a pair of clips, nothing driven. */
function listening(pickup: Pickup, seed: number, plus: number, minus: number): FrontEnd {
  const frontEnd = new FrontEnd(pickup, seed);
  sense(frontEnd, plus, minus);
  return frontEnd;
}

function sense(frontEnd: FrontEnd, plus: number, minus: number): void {
  // B+, B- on the clips; the lower one on G1, so that the pair does not float.
  frontEnd.setSwitches((((7 + plus) << 8) | ((7 + minus) << 12) | ((7 + minus) << 16)) >>> 0);
  frontEnd.advance(frontEnd.time_s + 0.02);
}

function portVolts(frontEnd: FrontEnd, rate: number): number {
  const { code } = frontEnd.convert(ConverterInput.port, rate);
  frontEnd.advance(frontEnd.time_s + conversion_s(rate));
  return code * CONVERTER_CODE_V;
}

describe('noise', () => {
  /** Johnson noise of 1 kohm at 300 K, V/sqrt(Hz). @see SI 2019 (Boltzmann's constant); Nyquist 1928; from memory */
  const JOHNSON_1k = 4.07e-9;
  const LARGEST: PickupCoil = { ...COIL, resistance_ohm_20C: 25e3, inductance_H: 10 };
  /** With the 10 kohm in each of the two sense paths. */
  const johnson = (bandwidth_Hz: number): number => JOHNSON_1k * Math.sqrt(45 * bandwidth_Hz);

  /** Noise of a reading is never below Johnson's, and so far above it that the bench may leave that out. */
  const drowns = (noise_V: number, johnson_V: number): void => {
    expect(noise_V).toBeGreaterThan(johnson_V);
    expect((johnson_V / noise_V) ** 2).toBeLessThan(0.01);
  };

  it('Nyquist 1928, SI 2019: a conversion drowns the Johnson noise of 25 kohm and its sense path', () => {
    FILTERS.forEach((filter, rate) => {
      const weights = weightsOf(filter);
      const spacing_s = 2 ** filter.ticksLog2 / 2 ** 30;
      const bandwidth_Hz = weights.reduce((sum, weight) => sum + weight * weight, 0) / spacing_s / 2;
      const frontEnd = listening(quietPickup([LARGEST]), 91, 2, 1);
      const volts = Array.from({ length: 400 }, () => portVolts(frontEnd, rate));
      drowns(deviation(volts), johnson(bandwidth_Hz));
    });
  });

  it('Nyquist 1928, SI 2019: a sample of a touch drowns that Johnson noise in 5 kHz', () => {
    const frontEnd = listening(quietPickup([LARGEST]), 92, 2, 1);
    const codes = Array.from({ length: 4 }, () => new Uint16Array(12000));
    frontEnd.capture(12000, codes);
    const volts = Array.from({ length: 1000 }, (_, k) => decimated(codes[1]!, codes[3]!, 12 * k) / 2 ** 20);
    drowns(deviation(volts), johnson(5000));
  });
});

/** Thermal emf against copper, volts per kelvin. @see measurement tutorial of a nanovolt meter's manual, "Thermal EMF Errors" */
const THERMAL_V_per_K = { copper: 0.3e-6, brass: 3e-6, solder: 5e-6, kovar: 40e-6, oxide: 1000e-6 };

describe('thermal voltages', () => {
  it("tutorial on thermal emf: the bench's clips differ as brass or solder does by half a kelvin, more than copper does", () => {
    const shorted = quietPickup([COIL], {
      leads: [1, 2, 3, 4, 5, 6].map((clip) => ({ clip, colour: 'BU', node: 'u0' })),
    });
    const found: number[] = [];
    for (let seed = 1; seed <= 12; seed++) {
      const frontEnd = new FrontEnd(shorted, seed);
      for (const [a, b] of [[1, 2], [3, 4], [5, 6]] as const) {
        // The port's own offset is equal both ways round.
        const [forward, back] = [[a, b], [b, a]].map(([plus, minus]) => {
          sense(frontEnd, plus!, minus!);
          return Array.from({ length: 16 }, () => portVolts(frontEnd, 0)).reduce((sum, volts) => sum + volts / 16, 0);
        });
        found.push((forward! - back!) / 2);
      }
    }
    const clip_V = rootMeanSquare(found) / Math.SQRT2;
    expect(clip_V).toBeGreaterThan(THERMAL_V_per_K.copper * 0.5);
    expect(clip_V).toBeLessThan(THERMAL_V_per_K.solder * 0.5);
  });

  /** The wire map of a coil with a source of a few microvolts to millivolts in one of its leads. */
  async function mapWith(lead_V: number): Promise<WireMap> {
    const pickup = quietPickup([COIL], {
      leads: [{ clip: 1, colour: 'BU', node: 'u0' }, { clip: 2, colour: 'YE', node: 'lead' }],
      faults: [{ kind: 'live', between: ['lead', 'u1'], volt_V: lead_V, source_ohm: 0.01 }],
      touches: [{ coil: 'u', flux_Wb: 2e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 }],
    });
    return (await testOnTwin(pickup, 93, createLogic())).outcome.map;
  }

  it('tutorial on thermal emf: a steady junction 10 K warmer drops out of a resistance with the reversal of the current', async () => {
    const even = await mapWith(0);
    // 30 uV of brass are 0.6 ohm at 50 uA, 10 mV of oxide 200 ohm.
    for (const V_per_K of [THERMAL_V_per_K.brass, THERMAL_V_per_K.kovar, THERMAL_V_per_K.oxide]) {
      const warm = await mapWith(V_per_K * 10);
      expect(Math.abs(warm.coils[0]!.ohm! - even.coils[0]!.ohm!)).toBeLessThan(0.1);
      expect(warm).toMatchObject({ verdict: 'good', findings: [] });
    }
  });

  it('tutorial on thermal emf: what no joint on a bench can give is a live lead', async () => {
    const { findings, verdict } = await mapWith(THERMAL_V_per_K.oxide * 25);
    expect(findings.map(({ kind }) => kind)).toEqual(['live']);
    expect(verdict).toBe('fault');
  });
});

describe('the 12-bit converter', () => {
  /** Signal over noise and distortion of a sine near full scale, dB: three-parameter sine fit over whole periods. */
  function sinad_dB(adc: ListeningAdc, input: number): number {
    const [count, periods] = [8192, 127];
    const phases = Array.from({ length: count }, (_, k) => (2 * Math.PI * periods * k) / count);
    const codes = phases.map((phase) => adc.sample(input, 1.48 * Math.sin(phase)));
    const mean = (weight: (phase: number) => number): number =>
      codes.reduce((sum, code, k) => sum + code * weight(phases[k]!), 0) / count;
    const [offset, cosine, sine] = [mean(() => 1), 2 * mean(Math.cos), 2 * mean(Math.sin)];
    const rest = codes.map((code, k) => code - offset - cosine * Math.cos(phases[k]!) - sine * Math.sin(phases[k]!));
    return 20 * Math.log10(Math.hypot(cosine, sine) / Math.SQRT2 / rootMeanSquare(rest));
  }

  it('IEEE 1241, 6.02 N + 1.76 dB: of the 12 bits 7.9 to 8.9 are effective, as in a published study (the data sheet says 8.7)', () => {
    for (let seed = 1; seed <= 5; seed++) {
      const adc = new ListeningAdc(0, new RandomStream(seed, 'board'), new RandomStream(seed, 'listening noise'), drawWideCodes(new RandomStream(seed, 'wide codes')));
      const bits = (sinad_dB(adc, 0) - 1.76) / 6.02;
      expect(bits).toBeGreaterThan(7.9);
      expect(bits).toBeLessThan(8.9);
    }
  });
});
