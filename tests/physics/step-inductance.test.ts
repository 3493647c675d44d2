/**
 * Inductance of sections, end to end: the board twin steps a tapped coil, the sequence integrates the flux. The part f of a
 * winding has f squared of its inductance, and the flux does not know the eddy loss (physics.md 5 and 9, deck D3 with ngspice).
 */
import { describe, expect, it } from 'vitest';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

const COIL_H = 2.7;

const tapped = (fraction: number, loss_ohm: number): Pickup => ({
  format: 'pickup/1',
  temperature_C: 20,
  coils: [{
    id: 'a', from: 'a0', to: 'a1', resistance_ohm_20C: 4300, inductance_H: COIL_H, capacitance_F: 9e-11, loss_ohm,
    winding: 'cw', pole: 'N', place: 'single',
  }],
  couplings: [],
  leads: [{ clip: 1, colour: 'BU', node: 'a0' }, { clip: 2, colour: 'YE', node: `a@${fraction}` }, { clip: 3, colour: 'GY', node: 'a1' }],
  faults: [],
  touches: [{ coil: 'a', flux_Wb: 1e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 }],
  magnet_readings: false,
  interference: { hum_Hz: 50, hum_V: 0.002, noise_V: 0.0003 },
});

describe('the inductance of a section', () => {
  it.each([
    [0.106, 1e5], [0.137, 2.5e5], [0.2, 7e5], [0.28, 1.8e5], [0.5, 2.5e5],
  ])('that is %f of a winding lies within two of its uncertainties of that part squared (eddy loss %f ohm)', async (fraction, loss_ohm) => {
    const twin = new BoardTwin({ pickup: tapped(fraction, loss_ohm), seed: 4 });
    const setup = { clips: [{ clip: 1 }, { clip: 2 }, { clip: 3 }], places: ['single'] };
    const { collector } = await new BenchTest(twin, { setup, logic: createLogic() }).run();
    await twin.close();
    const { inductances = [] } = collector.record('', { serial: '', firmware: '', moduleHash: '' });
    const section = inductances.find(({ plus, minus }) => plus + minus === 3);
    expect(section).toBeDefined();
    const { henry_H, u_H } = section!;
    expect(Math.abs(henry_H - fraction ** 2 * COIL_H)).toBeLessThan(2 * u_H);
    expect(u_H).toBeLessThan(0.05);
  });
});
