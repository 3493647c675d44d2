/** Pickups that no bench will see, and that a file may hold all the same. */
import { describe, expect, it } from 'vitest';
import {
  FARAD_MOST,
  HENRY_MOST,
  OHM_MOST,
  RATE_Hz_MOST,
  TEMPERATURE_C_LEAST,
  TEMPERATURE_C_MOST,
  VOLT_MOST,
  WEBER_MOST,
} from '../../host/src/files/limits.ts';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { FrontEnd } from '../../host/src/virtual-bench/front-end.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';

const LOT_SEED = 0x5eed;
const LOT = 24;

/** One number in five from the whole range that the reader takes, the others as coils have them. */
function oddNumber(
  random: RandomStream,
  usual: readonly [number, number],
  all: readonly [number, number],
): number {
  const [low, high] = random.below(5) === 0 ? all : usual;
  return random.betweenLog(low, high);
}

/** A pickup of up to twelve coils with joined ends and piled-up faults. */
function extremePickup(random: RandomStream): unknown {
  const count = 1 + random.below(random.below(5) === 0 ? 12 : 4);
  const nodes = ['chassis'];
  const coils = Array.from({ length: count }, (_, i) => {
    const isJoined = i > 0 && random.below(4) === 0;
    const from = isJoined ? nodes[random.below(nodes.length)] : `c${i}a`;
    const to = `c${i}b`;
    nodes.push(from, to);
    return {
      id: `c${i}`,
      from,
      to,
      resistance_ohm_20C: oddNumber(random, [100, 3e4], [1e-9, OHM_MOST]),
      inductance_H: oddNumber(random, [0.5, 10], [1e-9, HENRY_MOST]),
      capacitance_F: random.below(4) === 0 ? 0 : oddNumber(random, [4e-11, 3e-10], [1e-18, FARAD_MOST]),
      ...(random.below(3) > 0 ? { loss_ohm: oddNumber(random, [3e4, 1e6], [1e-6, OHM_MOST]) } : {}),
      winding: random.below(2) === 0 ? 'cw' : 'ccw',
      pole: random.below(2) === 0 ? 'N' : 'S',
      place: `place ${random.below(3)}`,
    };
  });
  const couplings: unknown[] = [];
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      // Within 1/count each, they are possible together.
      const k = random.between(-0.99, 0.99) / Math.max(1, count - 1);
      if (random.below(2) === 0) couplings.push({ a: `c${i}`, b: `c${j}`, k });
    }
  }
  const coil = (): string => `c${random.below(count)}`;
  const node = (): string =>
    random.below(3) === 0
      ? `${coil()}@${random.between(0.01, 0.99).toFixed(3)}`
      : nodes[random.below(nodes.length)];
  const faults = [
    {
      kind: 'bridge',
      a: coils[0].from,
      b: `${coil()}@0.37`,
      ohm: random.below(3) === 0 ? 0 : random.betweenLog(1e-9, OHM_MOST),
    },
    { kind: 'open', coil: coil() },
    { kind: 'shorted_turns', coil: coil(), fraction: random.between(0.0001, 0.9999) },
    { kind: 'live', between: ['chassis', coils[0].to], volt_V: random.between(-VOLT_MOST, VOLT_MOST) },
  ].filter(() => random.below(3) === 0);
  return {
    format: 'pickup/1',
    temperature_C: random.between(TEMPERATURE_C_LEAST, TEMPERATURE_C_MOST),
    coils,
    couplings,
    leads: Array.from({ length: 1 + random.below(6) }, (_, i) => {
      return { clip: i + 1, colour: 'GY', node: random.below(8) === 0 ? null : node() };
    }),
    faults,
    touches: [
      {
        coil: coil(),
        flux_Wb: random.betweenLog(1e-6, WEBER_MOST),
        rise_s: random.below(4) === 0 ? 0 : random.betweenLog(1e-3, 0.03),
        hold_s: random.between(0, 0.1),
        fall_s: random.below(4) === 0 ? 0 : random.betweenLog(1e-3, 0.03),
        bounces: random.below(20),
      },
    ],
    magnet_readings: true,
    interference: {
      hum_Hz: random.below(4) === 0 ? random.between(0, RATE_Hz_MOST) : 50,
      hum_V: oddNumber(random, [1e-4, 1e-2], [1e-6, VOLT_MOST]),
      noise_V: random.betweenLog(1e-6, 1),
    },
  };
}

/** Codes of conversions in four states of the switches, then of a touch. */
function codesOf(pickup: Pickup, seed: number): number[] {
  const frontEnd = new FrontEnd(pickup, seed);
  const codes: number[] = [];
  // Ohms forward and reverse, leak, guard; then listening.
  for (const word of [0x8800_9898, 0x8800_9889, 0x9900_ff98, 0xbb00_9898]) {
    frontEnd.setSwitches(word);
    frontEnd.setCurrent(50_000);
    frontEnd.advance(frontEnd.time_s + 0.015);
    codes.push(frontEnd.convert(0, 0).code, frontEnd.convert(0, 1).code);
    frontEnd.setCurrent(0);
    frontEnd.advance(frontEnd.time_s + 0.005);
  }
  frontEnd.setSwitches(0xa000_ba98);
  frontEnd.playTouch(pickup.touches[0], frontEnd.time_s + 0.02);
  const raw = Array.from({ length: 4 }, () => new Uint16Array(12_000));
  frontEnd.capture(12_000, raw);
  return [...codes, ...raw.map((row) => row.reduce((most, code) => Math.max(most, code), 0))];
}

describe(`lot seed 0x${LOT_SEED.toString(16)}, ${LOT} extreme pickups`, () => {
  it('gives numbers within the range of the converters for each of them', () => {
    for (let i = 0; i < LOT; i++) {
      const pickup = asPickup(extremePickup(new RandomStream(LOT_SEED + i, 'extreme')));
      for (const code of codesOf(pickup, i)) {
        expect(Number.isInteger(code), `pickup ${i}`).toBe(true);
        expect(Math.abs(code), `pickup ${i}`).toBeLessThanOrEqual(2 ** 23);
      }
    }
  });
});
