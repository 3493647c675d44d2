/** Trying pickups in a harness: each change is what the harness file with that change gives, and undo brings all of it back. */
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { CURVE_Hz, FittingModel, type HarnessChoice, type PickupChoice } from '../../host/src/fitting/fitting-model.ts';
import { turnedFitted, turnedMap } from '../../host/src/fitting/turned-magnet.ts';
import { PlanSearch } from '../../host/src/harness/search.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { asHarness } from '../../host/src/harness/harness-file.ts';
import { withPickups } from '../../host/src/harness/load-harness.ts';
import { example, EXAMPLES, exampleNames, load, loadInColour, type PlainHarness } from './example-harnesses.ts';
import { largeHarness } from './large-harness.ts';

const choice = (name: string, plain: PlainHarness = example(name)): HarnessChoice => ({ name, loaded: loadInColour(plain) });
const pickupsOf = (name: string): PickupChoice[] =>
  loadInColour(example(name)).pickups.map(({ fitted, map, colours }) => ({ name: fitted.map!.replace('.wiremap.json', ''), map, colours }));
const model = (name: string, pickups: readonly PickupChoice[] = []): FittingModel => new FittingModel([choice(name)], pickups);

describe('a turned magnet', () => {
  it('gives with its new map and the same leads what the plan says of the old map turned over, in every example', () => {
    let turned = 0;
    for (const name of exampleNames) {
      const plain = example(name);
      const loaded = load(plain);
      const search = new PlanSearch(loaded, new Set(['magnet']));
      loaded.pickups.forEach((pickup, at) => {
        if (pickup.coils.some(({ plus }) => plus === null)) return;
        const options = loaded.pickups.map(() => 0);
        const planned = search.proposal({ options, flipped: loaded.pickups.map((_, other) => other === at) });
        const maps = plain.maps.with(at, turnedMap({ map: pickup.map, colours: new Map() }).map);
        const standing = pickup.fitted.leads === undefined ? { ...pickup.fitted, way: pickup.way! } : pickup.fitted;
        const fitted = plain.harness.fitted.with(at, turnedFitted(standing));
        const { settings } = positionsOf(load({ harness: { ...plain.harness, fitted }, maps }));
        settings.forEach((setting, index) => {
          const { sounding, hum, in_phase, ohm } = planned.settings[index]!;
          expect([setting.in_phase, setting.ohm]).toEqual([in_phase, ohm]);
          if (hum === null) expect(setting.hum).toBeNull();
          else expect(setting.hum).toBeCloseTo(hum, 9);
          setting.sounding.forEach(({ share }, coil) => expect(share).toBeCloseTo(sounding[coil]!.share, 9));
        });
        turned += 1;
      });
    }
    expect(turned).toBeGreaterThan(20);
  });
});

describe('the harness screen', () => {
  it('takes over the best plan, and takes it back', () => {
    const one = model('two-pairs-one-split');
    const before = one.result().positions;
    one.takeBest(new Set());
    const plan = planOf(load(example('two-pairs-one-split')), new Set());
    expect(one.result().positions.settings).toEqual(plan.document.proposals[0]!.settings);
    expect(one.view().message).toMatch(/^Taken over: rear: wire the coils in another order/);
    expect(one.view().count).toBe(
      '6 of 6 settings that sound, 6 in phase, 4 with hum cancelled; in the file 6 of 6 settings that sound, 6 in phase, 3 with hum cancelled.');
    one.takeBest(new Set());
    expect(one.view().message).toBe('Nothing that is allowed makes it better.');
    one.undo();
    expect(one.result().positions).toEqual(before);
    one.undo();
    expect(one.view().message).toBe('Nothing to take back.');
  });

  it('looks for a long plan part by part, tells how far it is, and can be stopped with nothing changed', () => {
    const one = new FittingModel([choice('large', largeHarness(false))], []);
    const before = one.result().positions;
    one.takeBest(new Set());
    expect([one.isSearching, one.said]).toEqual([true, expect.stringMatching(/^Tried 3000 of \d+ combinations; any key stops\.$/)]);
    one.goOn();
    expect(one.said).toMatch(/^Tried 7000 of/);
    one.stop();
    one.goOn();
    expect([one.isSearching, one.said, one.result().positions === before]).toEqual([false, 'Stopped: nothing was changed.', true]);
    one.takeBest(new Set());
    while (one.isSearching) one.goOn();
    expect(one.said).toMatch(/^(Taken over: |Nothing that is allowed)/);
  });

  it.each(exampleNames)('%s with the best plan is written as a file that gives the same settings', async (name) => {
    const path = `${EXAMPLES}${name}.harness.json`;
    const one = new FittingModel([{ ...choice(name), path }], []);
    one.takeBest(new Set());
    const harness = one.asFile(`${EXAMPLES}written.harness.json`)!;
    expect(harness.fitted.map(({ map }) => map)).toEqual(example(name).harness.fitted.map(({ map }) => map));
    const again = await withPickups(asHarness(harness), path);
    expect(positionsOf(again)).toEqual(one.result().positions);
    expect(one.asFile(`${EXAMPLES}../written.harness.json`)!.fitted[0]!.map).toBe(`harness/${harness.fitted[0]!.map}`);
  });

  it('writes a turned magnet in the words of the wire map that is still that of before', () => {
    const one = new FittingModel([{ ...choice('two-pairs'), path: `${EXAMPLES}two-pairs.harness.json` }], []);
    const before = one.asFile(`${EXAMPLES}written.harness.json`);
    one.turnMagnet();
    const { way } = one.asFile(`${EXAMPLES}written.harness.json`)!.fitted[0]!;
    expect({ ...way, turned: way!.turned ?? false }).toEqual({ ...before!.fitted[0]!.way, turned: false });
    expect(new FittingModel([choice('two-pairs')], []).asFile('x')).toBeNull();
  });

  it('writes a pickup that no file holds with a wire map beside it, as it was before its magnet was turned here', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'tapstone-harness-'));
    const one = new FittingModel([{ ...choice('two-pairs'), path: `${EXAMPLES}two-pairs.harness.json` }], pickupsOf('two-pairs-one-split'));
    one.nextPickup();
    one.turnMagnet();
    const path = join(folder, 'own.harness.json');
    const { harness, maps } = one.asFiles(path, (slot) => join(folder, `${slot}.wiremap.json`));
    expect(maps.map((map) => [map.path, map.map.coils.map(({ pole }) => pole)])).toEqual(
      [[join(folder, 'front.wiremap.json'), pickupsOf('two-pairs-one-split')[1]!.map.coils.map(({ pole }) => pole)]]);
    for (const { path: file, map } of maps) writeFileSync(file, JSON.stringify(map));
    const again = await withPickups(asHarness(JSON.parse(JSON.stringify(harness))), path);
    one.turnMagnet();
    const told = ({ settings }: ReturnType<typeof positionsOf>): unknown[] => settings.map(({ ohm, in_phase }) => [ohm, in_phase]);
    expect(told(positionsOf(again))).toEqual(told(one.result().positions));
    expect([...again.pickups[0]!.colours]).toEqual([...pickupsOf('two-pairs-one-split')[1]!.colours]);
  });

  it('asks before work is left that no file holds, once, and no more when it was written or taken back', () => {
    const one = model('two-pairs-one-split');
    const told: string[] = [];
    one.subscribe(() => told.push(one.said));
    expect(one.mayLeave('s saves it')).toBe(true);
    one.exchange();
    expect(one.mayLeave('s saves it')).toBe(false);
    expect(told).toEqual(['What was changed here is in no file: s saves it; the same key again leaves it.']);
    one.moveSetting(1);
    expect(one.mayLeave('s saves it')).toBe(false);
    expect(one.mayLeave('s saves it')).toBe(true);
    one.isKept();
    one.tell('Written.');
    expect(one.mayLeave('s saves it')).toBe(true);
    one.exchange();
    expect(one.mayLeave('s saves it')).toBe(false);
    one.undo();
    expect(one.mayLeave('s saves it')).toBe(true);
  });

  it('warns of a pickup that must not be fitted when it opens, in its slot and above the list', () => {
    const [first, second] = pickupsOf('two-pairs');
    const findings = [{ kind: 'shorted_turns', severity: 'fault', clips: [1, 2], text: 'Turns of coil 1 are shorted.' }] as const;
    const one = model('two-pairs-one-split', [{ ...first!, name: 'number 0007', map: { ...first!.map, verdict: 'fault', findings } }, second!]);
    expect(one.view().message).toBe('number 0007: FAULT: do not fit.');
    expect(one.view().list.map(({ text }) => text).join()).not.toContain('FAULT');
    one.nextPickup();
    expect(one.view().message).toBe('front: number 0007, FAULT: do not fit.');
    expect(one.view().slots[0]!.text).toMatch(/^front: number 0007, FAULT: do not fit, /);
    expect(one.view().list[0]!.text).toBe('front, number 0007: FAULT: do not fit. Turns of coil 1 are shorted.');
    expect(model('two-pairs-one-split', [second!]).view().message).toBe('');
  });

  it('takes over a plan that turns a magnet, as what is then in the guitar', () => {
    const one = model('two-singles-phase');
    one.takeBest(new Set(['magnet']));
    const [best] = planOf(load(example('two-singles-phase')), new Set(['magnet'])).document.proposals;
    const { turned, positions } = one.result();
    expect(turned).toEqual(best!.work.filter(({ change }) => change === 'flip magnet').map(({ slot }) => slot));
    expect(positions.settings.map(({ in_phase }) => in_phase)).toEqual(best!.settings.map(({ in_phase }) => in_phase));
    positions.settings.forEach(({ hum }, at) => expect(hum).toBeCloseTo(best!.settings[at]!.hum!, 9));
  });

  it('exchanges, orders and rewires one pickup, each taken back step by step', () => {
    const one = model('two-pairs');
    const steps = [
      () => one.exchange(), () => one.nextOrder(), () => one.nextOfAll(), () => one.turnMagnet(),
      () => one.moveSlot(1), () => one.exchange(),
    ];
    const seen = steps.map((step) => {
      const { positions } = one.result();
      step();
      return positions;
    });
    expect(new Set(seen.map((positions) => JSON.stringify(positions.settings))).size).toBeGreaterThan(3);
    for (const before of [...seen.slice(0, 4), seen[5]!].reverse()) {
      one.undo();
      expect(one.result().positions).toEqual(before);
    }
  });

  it('refuses to put a tied frame at hot, and says so', () => {
    const plain = structuredClone(example('two-singles')) as PlainHarness;
    const map = plain.maps[0]!;
    Object.assign(map, { chassis: [map.coils[0].minus], joined: [] });
    const one = new FittingModel([choice('tied', plain)], []);
    one.exchange();
    expect(one.view().message).toBe('front: cannot be exchanged, an end that is tied to its frame would leave ground.');
    one.undo();
    expect(one.view().message).toBe('Nothing to take back.');
  });

  it('puts other pickups into a slot, into an empty one too, and another harness in place of this one', () => {
    const plain = example('two-singles');
    const empty = { harness: { ...plain.harness, fitted: [] }, maps: [] };
    const one = new FittingModel([choice('empty', empty), choice('two-pairs')], pickupsOf('two-singles'));
    expect(one.view().slots.map(({ text }) => text)).toEqual(['front: empty', 'rear: empty']);
    one.exchange();
    expect(one.view().message).toBe('front is empty.');
    one.nextPickup();
    one.moveSlot(1);
    one.nextPickup();
    one.nextPickup();
    expect(one.view().slots.map(({ text }) => text)).toEqual(pickupsOf('two-singles').map(({ name }, at) => `${['front', 'rear'][at]}: ${name}, coil 1 alone`));
    const fitted = plain.harness.fitted.map(({ slot, map }) => ({ slot, map: map! }));
    const asInFile = positionsOf(loadInColour({ ...plain, harness: { ...plain.harness, fitted } }));
    expect(one.result().positions.settings).toEqual(asInFile.settings);
    one.nextHarness();
    expect(one.view().title).toBe(example('two-pairs').harness.title);
    one.undo();
    expect(one.result().positions.settings).toEqual(asInFile.settings);
  });

  it('draws the response whose highest point the table tells, of two settings where one was kept', () => {
    for (const name of exampleNames) {
      const one = model(name);
      one.result().positions.settings.forEach(({ resonance_Hz, resonance_dB }) => {
        const { decibels } = one.view().curves[0]!;
        if (resonance_Hz !== null) {
          const highest = Math.max(...decibels!);
          expect(Math.abs(Math.log2(CURVE_Hz[decibels!.indexOf(highest)]! / resonance_Hz))).toBeLessThan(0.11);
          expect(highest - decibels![0]!).toBeCloseTo(resonance_dB!, 0);
        }
        one.moveSetting(1);
      });
    }
    const one = model('two-pairs');
    one.compare();
    expect(one.view().curves).toHaveLength(1);
    one.moveSetting(1);
    expect(one.view().curves.map(({ label }) => label)).toEqual(['selector both', 'selector front']);
  });
});
