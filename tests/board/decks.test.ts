/** The front end in ngspice, out of the netlist; and the twin's readings against the decks' answers. */
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { tester } from '../../hardware-notes/board/netlist/board.ts';
import { decks, type Deck } from '../../hardware-notes/board/spice/decks.ts';
import { runDeck } from '../../hardware-notes/board/spice/run.ts';
import { CONVERTER_CODE_V, ConverterInput } from '../../host/src/virtual-bench/converter.ts';
import { FrontEnd } from '../../host/src/virtual-bench/front-end.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

const all = decks(tester());
const path = (deck: Deck): string => fileURLToPath(new URL(`../../hardware-notes/board/spice/decks/${deck.name}.cir`, import.meta.url));
const answer = (name: string, figure: string): number => {
  const deck = all.find((one) => one.name === name)!;
  return runDeck(deck, path(deck)).find((found) => found.figure.name === figure)!.values[0];
};

describe('the front end in ngspice', () => {
  it.each(all.map((deck) => [deck.name, deck] as const))('%s stays within its limits', (_, deck) => {
    for (const { figure, values } of runDeck(deck, path(deck))) {
      for (const value of values) {
        expect(value, `${figure.name}: ${figure.what}`).toBeGreaterThanOrEqual(figure.low);
        expect(value, `${figure.name}: ${figure.what}`).toBeLessThanOrEqual(figure.high);
      }
    }
  });
});

const PRECISE = 0;
const coil = (ohm: number): Pickup => ({
  format: 'pickup/1', temperature_C: 20,
  coils: [{ id: 'a', from: 'a0', to: 'a1', resistance_ohm_20C: ohm, inductance_H: 1, capacitance_F: 90e-12, winding: 'cw', pole: 'N', place: 'single' }],
  couplings: [], leads: [{ clip: 1, colour: 'BU', node: 'a0' }, { clip: 2, colour: 'YE', node: 'a1' }], faults: [],
  touches: [{ coil: 'a', flux_Wb: 1e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 }], magnet_readings: false,
  interference: { hum_Hz: 50, hum_V: 0, noise_V: 0.0003 },
});

/** A settled reading of the twin's port, volts. */
function read_V(bench: FrontEnd, word: number, current_nA: number): number {
  bench.setCurrent(0);
  bench.advance(bench.time_s + 0.005);
  bench.setSwitches(word);
  bench.setCurrent(current_nA);
  bench.advance(bench.time_s + 0.2);
  const { code } = bench.convert(ConverterInput.port, PRECISE);
  bench.advance(bench.time_s + 0.06);
  return code * CONVERTER_CODE_V;
}

describe("the twin's readings and the decks'", () => {
  it.each([[100, 250_000], [8000, 100_000], [100_000, 10_000]])('of %d ohm agree within the tolerance of the reference and a contact', (ohm, current_nA) => {
    const bench = new FrontEnd(coil(ohm), 7);
    const zero = read_V(bench, 0x8000ee88, 0);
    const reference = read_V(bench, 0x8800ee98, current_nA) - zero;
    const forward = read_V(bench, 0x88009898, current_nA);
    const back = read_V(bench, 0x88009889, current_nA);
    // The deck has no leads; the tester's own come on top of the coil, as a calibration finds them.
    const twin = (2000 * (forward - back)) / 2 / reference - bench.own.leads_ohm[0]! - bench.own.leads_ohm[1]!;
    const deck = answer('four-wire', `ohm_${ohm}`);
    // 0.05 % of the reference is drawn for each tester; 0.04 ohm are the noise and thermal voltages of a contact at 250 uA.
    expect(Math.abs(twin - deck)).toBeLessThan(5e-4 * ohm + 0.04 + (ohm * 4 * 1.5e-6) / (2000 * current_nA * 1e-9));
  });
  it('of the rails are those of the dividers', () => {
    const bench = new FrontEnd(coil(4000), 3);
    const rail_V = (input: number): number => 2 * bench.convert(input, PRECISE).code * CONVERTER_CODE_V;
    expect(Math.abs(rail_V(ConverterInput.railPositive) - 2.55)).toBeLessThan(0.05);
    expect(Math.abs(rail_V(ConverterInput.railNegative) + 2.5)).toBeLessThan(0.05);
  });
  it('of a leak of 10 megohm agree within 1 %', () => {
    const leaky: Pickup = { ...coil(4000), leads: [...coil(4000).leads, { clip: 3, colour: 'GN', node: 'frame' }],
      faults: [{ kind: 'bridge', a: 'a0', b: 'frame', ohm: 10e6 }] };
    const bench = new FrontEnd(leaky, 11);
    // DRV up or down, RET megohm, port from the A- common to 0 V; clips 1 and 3.
    const up = read_V(bench, 0x9900ffa8, 0);
    const down = read_V(bench, 0x9a00ffa8, 0);
    const twin = 1e6 * (3.6 / (up - down) - 1);
    expect(Math.abs(twin / answer('leak', 'leak_10M') - 1)).toBeLessThan(0.01);
  });
});
