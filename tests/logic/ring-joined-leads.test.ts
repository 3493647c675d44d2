/**
 * The capacitance of a coil by its ring, in whole tests on the virtual bench, with more than one clip on the node that rings: each brings
 * its own lead's capacitance, which is the tester's and not the coil's.
 */
import { describe, expect, it } from 'vitest';
import { createLogic } from '../../host/src/logic/module.ts';
import type { Pickup, PickupFault } from '../../host/src/pickup/pickup.ts';
import type { WireMapCoil } from '../../host/src/wiremap/wiremap.ts';
import { ringPickup } from '../lots/ring-pickup.ts';
import { testOnTwin } from '../lots/twin-lot.ts';

const COIL = { ohm: 4100, henry: 2.3, picofarad: 90, loss_ohm: 250e3 };
const COVERED = { ohm: 8500, henry: 4.6, picofarad: 120, loss_ohm: 60e3 };
/** 1/(2 pi sqrt(L C (1 + R/R_E))) of the first coil with nothing on it. */
const RESONANCE_Hz = 1 / (2 * Math.PI * Math.sqrt(2.3 * 90e-12 * (1 + 4100 / 250e3)));
const COLOURS = ['BU', 'YE', 'GY', 'VT', 'PK', 'TQ'];
const SEEDS = [3, 4, 5];
const logic = createLogic();

type Node = string | null | { readonly node: string; readonly ohm?: number; readonly bare?: boolean };

/** Leads of clips 1, 2 ... by the node each hangs on. */
function leads(...nodes: readonly Node[]): Pickup['leads'] {
  return nodes.map((at, i) => {
    const { node, ohm, bare = false } = typeof at === 'object' && at !== null ? at : { node: at, ohm: undefined };
    return { clip: i + 1, colour: bare ? 'BARE' : COLOURS[i]!, node, ...(ohm === undefined ? {} : { ohm }) };
  });
}

/** The first coil's clips 1 and 2, by the map of a whole test. */
async function coilOf(pickup: Pickup, seed: number): Promise<WireMapCoil> {
  const { outcome } = await testOnTwin(pickup, seed, logic);
  expect(outcome.differences).toEqual([]);
  return outcome.map.coils[0]!;
}

const pair = (on: Pickup['leads'], faults: readonly PickupFault[] = [], coil = COIL): Pickup =>
  ringPickup([coil, { ...coil, ohm: 1.02 * coil.ohm }], 0.1, { leads: on, faults });

describe('a ring with another clip on the node that rings', () => {
  it.each([
    ['no other', leads('c0a', 'c0b', 'c1a', 'c1b')],
    ['one that is not beside it', leads('c0a', 'c0b', 'c1a', 'c1b', 'c0b')],
    ['one beside it', leads('c0a', 'c0b', 'c0b', 'c1a', 'c1b')],
    ['the frame', leads('c0a', 'c0b', 'c1a', 'c1b', { node: 'c0b', bare: true })],
    ['one at the other end, beside it', leads('c0a', 'c0b', 'c0a', 'c1a', 'c1b')],
    ['one on either side of a clip at 0 V', leads('c0a', 'c0b', 'c1a', 'c0b', 'c1b')],
  ])('tells the coil\'s own capacitance, resonance and loss: %s', async (_, on) => {
    for (const seed of SEEDS) {
      const coil = await coilOf(pair(on), seed);
      expect(Math.abs(coil.capacitance_F! - 90e-12)).toBeLessThan(coil.u_capacitance_F!);
      expect(coil.u_capacitance_F!).toBeLessThan(20e-12);
      // Of C half of what it is off by; and L is good to 2 %.
      expect(Math.abs(coil.resonance_Hz! / RESONANCE_Hz - 1)).toBeLessThan(coil.u_capacitance_F! / 90e-12 / 2 + 0.02);
      expect(Math.abs(coil.loss_ohm! - 250e3)).toBeLessThan(2 * coil.u_loss_ohm!);
    }
  });

  it('does so under a cover, and with all clips on one coil', async () => {
    const covered = await coilOf(pair(leads('c0a', 'c0b', 'c1a', 'c1b', 'c0b'), [], COVERED), 3);
    expect(Math.abs(covered.capacitance_F! - 120e-12)).toBeLessThan(covered.u_capacitance_F!);
    const crowded = await coilOf(ringPickup([COIL], 0, { leads: leads('c0a', 'c0b', 'c0b', 'c0b', 'c0b', 'c0b') }), 3);
    expect(Math.abs(crowded.capacitance_F! - 90e-12)).toBeLessThan(crowded.u_capacitance_F!);
  });

  const far: PickupFault[] = [{ kind: 'bridge', a: 'c0b', b: 'frame', ohm: 5000 }];
  const middle: PickupFault[] = [{ kind: 'bridge', a: 'c0@0.5', b: 'frame', ohm: 5000 }];
  it.each([
    ['a contact of 10 ohm', leads('c0a', 'c0b', 'c1a', 'c1b', { node: 'c0b', ohm: 10 }), []],
    ['5 kilohm to the frame', leads('c0a', 'c0b', 'c1a', 'c1b', { node: 'frame', bare: true }), far],
    ['5 kilohm from its middle to the frame', leads('c0a', 'c0b', 'c1a', 'c1b', { node: 'frame', bare: true }), middle],
  ])('says nothing of the capacitance where a clip hangs there by something else: %s', async (_, on, faults) => {
    const coil = await coilOf(pair(on, faults), 3);
    expect(coil.capacitance_F).toBeUndefined();
    expect(coil.resonance_Hz).toBeUndefined();
  });

  it('takes what it does not know of the fixture into the loss\'s uncertainty', async () => {
    const coil = await coilOf(pair(leads('c0a', 'c0b', 'c1a', 'c1b', { node: 'c0b', ohm: 10 })), 3);
    expect(Math.abs(coil.loss_ohm! - 250e3)).toBeLessThan(coil.u_loss_ohm!);
  });

  it('tells it where a clip hangs on the end at 0 V by whatever it may be', async () => {
    const near: PickupFault[] = [{ kind: 'bridge', a: 'c0a', b: 'frame', ohm: 5000 }];
    const coil = await coilOf(pair(leads('c0a', 'c0b', 'c1a', 'c1b', { node: 'frame', bare: true }), near), 3);
    expect(Math.abs(coil.capacitance_F! - 90e-12)).toBeLessThan(coil.u_capacitance_F!);
  });
});
