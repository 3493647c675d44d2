/** What the soldering list says of leads that are joined to no other. */
import { describe, expect, it } from 'vitest';
import type { Fitted } from '../../host/src/harness/harness.ts';
import { solderingList } from '../../host/src/harness/soldering.ts';
import { example, load, type PlainHarness, type PlainMap } from './example-harnesses.ts';

const FREE = 'it is insulated, so that the frame hangs free: better put it to ground';

/** Texts by clip of a pickup of two coils, on clips 1 to 4, with its frame on clip 5. */
function texts(leads: Fitted['leads'], change: (map: PlainMap) => void = () => {}): Map<number, string> {
  const plain = structuredClone(example('one-pickup')) as PlainHarness;
  const { slot, map } = plain.harness.fitted[0]!;
  const coil = plain.maps[0]!.coils[0];
  Object.assign(plain.maps[0]!, {
    coils: [[1, 2], [3, 4]].map(([minus, plus], at) => ({ ...coil, name: `coil ${at + 1}`, minus, plus, ends: [minus, plus] })),
    chassis: [5], joined: [], pairs: [],
  });
  change(plain.maps[0]!);
  const { hot, ground } = plain.harness.slots[0]!;
  const put = Object.fromEntries(Object.entries(leads!).map(([clip, node]) => [clip, node === 'H' ? hot : node === 'G' ? ground : node]));
  const joints = solderingList(load({ ...plain, harness: { ...plain.harness, fitted: [{ slot, map: map!, leads: put }] } }));
  return new Map(joints.map(({ clip, text }) => [clip, text]));
}

describe('a lead by itself', () => {
  it('of a frame is said to leave it free, on a name of its own as without one', () => {
    expect(texts({ 1: 'G', 2: 'H', 5: 'shield' }).get(5)).toBe(FREE);
    expect(texts({ 1: 'G', 2: 'H' }).get(5)).toBe(FREE);
  });

  it('of a frame that is tied to a lead inside is not sent to ground, which that lead may not be on', () => {
    const tied = (map: PlainMap): void => void Object.assign(map, { joined: [[2, 5]], chassis: [2, 5] });
    expect(texts({ 1: 'G', 2: 'H', 5: 'shield' }, tied).get(5)).toBe('insulate it (inside, it is joined to clip 2)');
  });

  it('of one coil is a free end, and of two their link', () => {
    expect(texts({ 1: 'G', 2: 'H', 3: 'spare', 5: 'G' }).get(3)).toBe('insulate it, it is a free end');
    const linked = (map: PlainMap): void => void Object.assign(map.coils[1], { minus: 2, ends: [2, 4] });
    expect(texts({ 1: 'G', 2: 'middle', 4: 'H', 5: 'G' }, linked).get(2)).toBe('insulate it, it is the link between two coils');
  });

  it('between two sections of one winding is the tap, also where a lead of its own is joined to it inside', () => {
    const tapped = (map: PlainMap): void => void Object.assign(map, { pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: false, witnesses: ['one_winding'] }] });
    expect(texts({ 1: 'G', 2: 'middle', 4: 'H', 5: 'G' }, (map) => { tapped(map); Object.assign(map.coils[1], { minus: 2, ends: [2, 4] }); }).get(2))
      .toBe('insulate it, it is the tap');
    expect(texts({ 1: 'G', 2: 'middle', 4: 'H', 5: 'G' }, (map) => { tapped(map); map.joined = [[2, 3]]; }).get(2)).toBe('insulate it, it is the tap');
  });
});
