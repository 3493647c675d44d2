/**
 * How long a pair settles before it is read: coils at the ends of what physics.md 1 calls usual, read on the simulated front end as
 * soon as the sequence reads them and once more long after. What ngspice leaves of them after 10 ms is in tests/board/decks.test.ts.
 */
import { describe, expect, it } from 'vitest';
import { setupOf } from '../../host/src/bench/bench.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { ConverterInput, CONVERTER_CODE_V } from '../../host/src/virtual-bench/converter.ts';
import { FrontEnd } from '../../host/src/virtual-bench/front-end.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

const PRECISE = 0;
const QUICK = 1;
/** Current source through clips 1 and 2 and the reference, port on them: forward and with the drive turned round. */
const FORWARD = 0x88009898;
const REVERSE = 0x88009889;
/** Current off before the switches move. */
const RELEASE_s = 0.005;
/** Long after everything has settled. */
const SETTLED_s = 0.3;
/** What the converter's own noise may differ by: none is drawn twice here. */
const RESOLUTION_V = 2 * CONVERTER_CODE_V;

const coil = (ohm: number, henry: number, farad: number, loss_ohm?: number): Pickup => ({
  format: 'pickup/1',
  temperature_C: 20,
  coils: [{
    id: 'a', from: 'a0', to: 'a1', resistance_ohm_20C: ohm, inductance_H: henry, capacitance_F: farad,
    ...(loss_ohm === undefined ? {} : { loss_ohm }), winding: 'cw', pole: 'N', place: 'single',
  }],
  couplings: [],
  leads: [{ clip: 1, colour: 'BU', node: 'a0' }, { clip: 2, colour: 'YE', node: 'a1' }],
  faults: [],
  touches: [{ coil: 'a', flux_Wb: 1e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 }],
  magnet_readings: false,
  interference: { hum_Hz: 50, hum_V: 0, noise_V: 0.0003 },
});

/** Volts of a reading that starts a while after the drive was reversed. */
function reversed_V(pickup: Pickup, current_nA: number, wait_s: number, rate: number): number {
  const bench = new FrontEnd(pickup, 5);
  bench.setSwitches(FORWARD);
  bench.setCurrent(current_nA);
  bench.advance(SETTLED_s);
  bench.setCurrent(0);
  bench.advance(SETTLED_s + RELEASE_s);
  bench.setSwitches(REVERSE);
  bench.setCurrent(current_nA);
  bench.advance(SETTLED_s + RELEASE_s + wait_s);
  return bench.convert(ConverterInput.port, rate).code * CONVERTER_CODE_V;
}

/** Seconds from drive to conversion that the sequence leaves, by current and rate: the shortest seen in a test. */
async function waits(pickup: Pickup): Promise<Map<string, number>> {
  const seen = new Map<string, number>();
  let driven_s = 0;
  let current_nA = 0;
  const twin = new BoardTwin({
    pickup, seed: 1,
    onCommand: (command, value, time_s) => {
      if (command === 'drive') [driven_s, current_nA] = [time_s, value];
      if (command !== 'convert' || current_nA === 0) return;
      const key = `${current_nA} nA, rate ${value >>> 8}`;
      seen.set(key, Math.min(seen.get(key) ?? Infinity, time_s - driven_s));
    },
  });
  try {
    await new BenchTest(twin, { setup: setupOf(pickup), logic: createLogic() }).run();
  } finally {
    await twin.close();
  }
  return seen;
}

describe('a pair that is read as soon as the sequence reads it', () => {
  it.each([
    ['2.5 kilohm, 10 H', 250_000, coil(2500, 10, 250e-12)],
    ['2.5 kilohm, 10 H, eddy loss', 250_000, coil(2500, 10, 250e-12, 250e3)],
    ['4.1 kilohm, 2.3 H', 100_000, coil(4100, 2.3, 90e-12)],
    ['8 kilohm, 10 H', 100_000, coil(8000, 10, 250e-12)],
    ['8 kilohm, 4 H, eddy loss', 100_000, coil(8000, 4, 100e-12, 250e3)],
    ['25 kilohm, 10 H', 50_000, coil(25_000, 10, 200e-12)],
    ['190 kilohm', 10_000, coil(190_000, 10, 200e-12)],
  ])('of %s has settled: a precise reading is within 1e-5 of one that waits, a quick one within 1 %', async (_, current_nA, pickup) => {
    const seen = await waits(pickup);
    const precise_s = seen.get(`${current_nA} nA, rate ${PRECISE}`);
    const quick_s = seen.get(`${current_nA} nA, rate ${QUICK}`);
    expect(precise_s).toBeGreaterThan(0);
    expect(quick_s).toBeGreaterThan(0);
    const settled_V = reversed_V(pickup, current_nA, SETTLED_s, PRECISE);
    const early_V = reversed_V(pickup, current_nA, precise_s!, PRECISE);
    expect(Math.abs(early_V - settled_V)).toBeLessThan(1e-5 * Math.abs(settled_V) + RESOLUTION_V);
    const settledQuick_V = reversed_V(pickup, current_nA, SETTLED_s, QUICK);
    expect(Math.abs(reversed_V(pickup, current_nA, quick_s!, QUICK) - settledQuick_V)).toBeLessThan(0.01 * Math.abs(settledQuick_V));
  });
});
