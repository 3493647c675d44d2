/** Leads that are connected to nothing inside (`"node": null`): spare conductors, drains left off, wires that came off. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { examplePickup } from '../../host/src/files/example-files.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { compareOnChip } from '../chip/compare.ts';
import { productImage } from '../chip/images.ts';
import { inventPickup } from '../lots/generator.ts';
import { truthOf } from '../lots/truth.ts';
import { tapstone } from '../program/run-program.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapstone-loose-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** The example of the formats, touched well, with leads 1 to 5 on these nodes and any number beyond. */
function pickupWith(...nodes: readonly (string | null)[]): Pickup {
  const colours = ['BU', 'YE', 'GY', 'VT', 'BARE', 'TQ'];
  const touch = (coil: string) => ({ coil, flux_Wb: 2e-3, rise_s: 0.004, hold_s: 0.35, fall_s: 0.007 });
  return {
    ...(examplePickup() as Pickup),
    leads: nodes.map((node, i) => ({ clip: i + 1, colour: colours[i]!, node })),
    faults: [],
    touches: [touch('u'), touch('l')],
  };
}

const WHOLE = pickupWith('u0', 'u1', 'l0', 'l1', 'chassis');
const SPARE = pickupWith('u0', 'u1', 'l0', 'l1', 'chassis', null);
const TORN = pickupWith('u0', 'u1', null, 'l1', 'chassis');
const DRAIN = pickupWith('u0', 'u1', 'l0', 'l1', null);
const LINK = pickupWith('u0', null, null, 'u1', 'chassis');

/** What `rehearse` says of a pickup on the board twin. */
async function rehearsed(pickup: Pickup): Promise<WireMap> {
  const path = join(folder, 'loose.pickup.json');
  writeFileSync(path, JSON.stringify(pickup));
  const { code, out, err } = await tapstone(['rehearse', path, '--seed', '7', '--json']);
  expect([code, err]).toEqual([0, '']);
  return JSON.parse(out) as WireMap;
}

describe('a whole test on the board twin', () => {
  it('tells a spare conductor as connected to nothing, and gives the coils as without it', async () => {
    const [whole, spare] = [await rehearsed(WHOLE), await rehearsed(SPARE)];
    expect(spare).toMatchObject({ verdict: 'good', isolated: [6], chassis: [5], joined: [], findings: [] });
    expect(spare.unknown).toEqual([expect.stringMatching(/^What clip 6 is: connected to nothing/)]);
    expect(whole.isolated).toBeUndefined();
    expect(spare.coils.length).toBe(2);
    spare.coils.forEach(({ ends, minus, plus, place, pole, ohm, u_ohm }, i) => {
      const without = whole.coils[i]!;
      expect({ ends, minus, plus, place, pole }).toEqual({
        ends: without.ends, minus: without.minus, plus: without.plus, place: without.place, pole: without.pole,
      });
      // Two tests of one pickup on one tester: the scale is the same, the rest is noise.
      expect(Math.abs(ohm! - without.ohm!)).toBeLessThan(4 * u_ohm!);
    });
  });

  it('tells a lead that came off a coil as an open coil, and the other coil as it is', async () => {
    const map = await rehearsed(TORN);
    expect(map).toMatchObject({ verdict: 'fault', isolated: [3, 4], chassis: [5] });
    expect(map.findings.map(({ kind, severity, clips }) => ({ kind, severity, clips })))
      .toEqual([{ kind: 'open', severity: 'fault', clips: [3, 4] }]);
    expect(map.coils).toMatchObject([{ ends: [1, 2], minus: 1, plus: 2 }]);
  });

  it('has nothing to say of a drain wire that ends in the sleeve', async () => {
    const map = await rehearsed(DRAIN);
    expect(map).toMatchObject({ verdict: 'good', chassis: [5], findings: [], unknown: [] });
    expect(map.isolated).toBeUndefined();
  });

  it('hears no contact lost on a lead that has none', async () => {
    const faults: Pickup['faults'] = [{ kind: 'intermittent', clip: 6, from_s: 0.5, to_s: 2.5 }];
    expect(await rehearsed({ ...SPARE, faults })).toMatchObject({ verdict: 'good', isolated: [6], findings: [] });
  });
});

describe('the chip twin', () => {
  let image: string;
  beforeAll(() => { image = productImage(); });
  it('has the same bytes as the host of a pickup with a spare and a lead that came off', async () => {
    expect(await compareOnChip(pickupWith('u0', 'u1', 'l0', null, 'chassis', null), 3, image)).toEqual([]);
  });
});

describe('the truth that maps are held against', () => {
  it('lists a spare as isolated and calls the pickup sound', () => {
    expect(truthOf(SPARE)).toMatchObject({ isolated: [6], chassis: [5], faults: [], coils: [{ own: [0] }, { own: [1] }] });
  });
  it('counts a bare wire to the chassis, whatever it hangs on', () => {
    expect(truthOf(DRAIN)).toMatchObject({ isolated: [], chassis: [5], faults: [] });
  });
  it('calls a coil open that a lead came off, and its other lead isolated too', () => {
    const truth = truthOf(TORN);
    expect(truth.coils).toMatchObject([{ ends: [1, 2], own: [0], place: 'upper' }]);
    expect(truth).toMatchObject({ isolated: [3, 4], faults: [{ kind: 'open', visible: true }] });
  });
  it('asks for an open coil only where each place had its own touch', () => {
    const slipped = { ...TORN, touches: [TORN.touches[0]!, { ...TORN.touches[1]!, coil: null }] };
    expect(truthOf(slipped).faults).toMatchObject([{ kind: 'open', visible: false }]);
  });
  it('sees no open coil where both leads of a pair inside came off', () => {
    const coils = LINK.coils.map((coil) => (coil.id === 'l' ? { ...coil, from: 'u0', to: 'u1' } : coil));
    expect(truthOf({ ...LINK, coils })).toMatchObject({ isolated: [2, 3], faults: [], coils: [{ ends: [1, 4], own: [0, 1] }] });
  });
});

describe('a lot', () => {
  const drawn = Array.from({ length: 2000 }, (_, number) => inventPickup(0x100e, number));
  const sound = Array.from({ length: 1000 }, (_, number) => inventPickup(0x100e, number, { health: 'sound' }));
  const isLoose = ({ pickup }: { pickup: Pickup }): boolean => pickup.leads.some(({ node }) => node === null);

  it('draws spares, drains that are left off and leads that came off', () => {
    const loose = drawn.filter(isLoose);
    expect(loose.length / drawn.length).toBeGreaterThan(0.06);
    expect(loose.length / drawn.length).toBeLessThan(0.14);
    const torn = loose.filter(({ faults }) => faults.includes('torn lead'));
    expect(torn.length).toBeGreaterThan(30);
    expect(torn.some(({ pickup }) => truthOf(pickup).faults.length > 0)).toBe(true);
    expect(torn.some(({ pickup }) => truthOf(pickup).faults.length === 0)).toBe(true);
    const spare = loose.filter(({ faults }) => !faults.includes('torn lead'));
    const bare = spare.filter(({ pickup }) => pickup.leads.some(({ colour, node }) => colour === 'BARE' && node === null));
    expect(spare.length).toBeGreaterThan(50);
    expect(bare.length).toBeGreaterThan(5);
  });

  it('of sound pickups holds spares alone, and they take nothing from the truth', () => {
    const loose = sound.filter(isLoose);
    expect(loose.length).toBeGreaterThan(30);
    for (const { pickup, faults } of loose) {
      const without = { ...pickup, leads: pickup.leads.filter(({ node }) => node !== null) };
      expect(faults).toEqual([]);
      expect(truthOf(pickup).coils).toEqual(truthOf(without).coils);
      expect(truthOf(pickup).faults).toEqual([]);
    }
  });
});
