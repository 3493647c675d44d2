/** Pickups that are still in a guitar and of which nothing is known, read at the jack in the virtual bench's own circuit. */
import { describe, expect, it } from 'vitest';
import { guitarOf } from '../../host/src/bench/guitar-of.ts';
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { settingsOf, type Harness } from '../../host/src/harness/harness.ts';
import { surveyOf, type Survey } from '../../host/src/proof/survey.ts';
import { wiredOf } from '../../host/src/proof/wired.ts';
import type { GuitarPlan } from '../../host/src/virtual-bench/guitar.ts';
import { putFault, type GuitarFaultKind } from '../../host/src/virtual-bench/guitar-faults.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { example, load } from './example-harnesses.ts';
import { readAtJack } from './jack-meter.ts';

const reader = new TouchReader();

function blind(name: string, seed: number, kind?: GuitarFaultKind): { survey: Survey; plan: GuitarPlan; at: readonly (string | number)[] } {
  const loaded = load(example(name));
  const wired = wiredOf(loaded);
  const random = new RandomStream(seed, 'survey');
  const sound = guitarOf(wired, new Map(), random);
  const fault = kind === undefined ? null : putFault(sound, kind, random);
  const plan = fault?.plan ?? sound;
  const records = settingsOf(wired.harness).map((positions, at) => ({ source: `setting ${at}`, record: readAtJack(plan, positions, at, random) }));
  const unknown = wiredOf({ harness: { ...loaded.harness, fitted: [] }, pickups: [] });
  return { survey: surveyOf(unknown, records, reader), plan, at: fault?.at ?? [] };
}

/** Ohms of a pickup's coils in series, as warm as the guitar is. */
function ohmsOf({ pickups }: GuitarPlan, slot: string): number {
  const { coils, temperature_C } = pickups.find((one) => one.slot === slot)!.pickup;
  return coils.reduce((sum, { resistance_ohm_20C }) => sum + resistance_ohm_20C, 0) * (1 + 0.00393 * (temperature_C - 20));
}

describe('behind the controls', () => {
  it.each([1, 2, 3, 4, 5])('the ohms of each pickup alone are found within three uncertainties, seed %i', (seed) => {
    const { survey, plan } = blind('three-singles', seed);
    const found = survey.settings.filter(({ sounding }) => sounding.length === 1);
    expect(found.map(({ sounding }) => sounding[0]!.at)).toEqual(['front single', 'middle single', 'rear single']);
    for (const { sounding, pickups_ohm, u_pickups_ohm } of found) {
      expect(Math.abs(pickups_ohm! - ohmsOf(plan, sounding[0]!.at.split(' ')[0]!))).toBeLessThan(3 * u_pickups_ohm!);
      expect(u_pickups_ohm! / pickups_ohm!).toBeLessThan(0.01);
    }
    expect(survey.findings).toEqual([]);
  });

  it('a split tells the ohms of the coil that stays on, and no lead is to be lifted', () => {
    const { survey } = blind('two-pairs-one-split', 1);
    expect(survey.settings.map(({ sounding }) => sounding.length)).toEqual([2, 1, 4, 2, 2, 1]);
    expect(survey.unknown.filter((text) => text.includes('Lift'))).toEqual([]);
  });

  it('without a split the joint inside a pickup is to be lifted; with two volumes the hot leads are', () => {
    expect(blind('one-pickup', 1).survey.unknown[0]).toMatch(/^The ohms of each coil of only: .* Lift one lead of the joint where they meet/);
    expect(blind('bass-two-volumes', 1).survey.unknown.slice(0, 2).map((text) => text.split('. Lift ')[1])).toEqual([
      'its lead at front.hot and read between it and gnd.', 'its lead at rear.hot and read between it and gnd.']);
  });

  it('pickups one after the other are not given the ohms of one', () => {
    const { survey } = blind('two-pairs-joined', 4);
    const series = survey.settings.find(({ setting }) => setting.selector === 'series')!;
    expect([series.ohm! > 15_000, series.pickups_ohm]).toEqual([true, null]);
  });
});

describe('what is wrong', () => {
  it.each([1, 2, 3])('a pickup that is the other way round is told with those that it works against, seed %i', (seed) => {
    const { survey, at } = blind('three-singles', seed, 'magnet turned');
    const against = survey.findings.filter(({ kind }) => kind === 'out_of_phase');
    expect(against).toHaveLength(at[0] === 'middle' ? 2 : 1);
    for (const { text } of against) expect(text).toContain(String(at[0]));
  });

  it.each([1, 2, 3])('a broken winding is silent, and its setting has no winding, seed %i', (seed) => {
    const { survey, at } = blind('two-singles', seed, 'coil broken');
    expect(survey.findings.map(({ kind }) => kind).sort()).toEqual(['open', 'silent']);
    for (const { text } of survey.findings) expect(text).toContain(String(at[0]));
  });

  it('two coils of one pickup that work against each other are told as such', () => {
    const opposed = blind('two-pairs', 2);
    const turned = opposed.plan.pickups.map((one) => ({
      ...one,
      pickup: {
        ...one.pickup,
        coils: one.pickup.coils.map((coil, at) => (at === 0 ? { ...coil, pole: coil.pole === 'N' ? 'S' as const : 'N' as const } : coil)),
      },
    }));
    const harness = example('two-pairs').harness;
    const random = new RandomStream(1, 'opposed');
    const records = [readAtJack({ ...opposed.plan, pickups: turned }, [0], 0, random)].map((record) => ({ source: 'x', record }));
    const { findings } = surveyOf(wiredOf({ harness: { ...harness, fitted: [] }, pickups: [] }), records, reader);
    expect(findings.find(({ kind }) => kind === 'out_of_phase')!.text).toContain('the coils of front work against each other inside');
  });
});

describe('with pots and a switch named alone', () => {
  const controls: Harness = {
    format: 'harness/1', slots: [], fitted: [],
    parts: [{ id: 'volume', kind: 'pot', a: 'out', wiper: 'out', b: 'gnd', ohm: 500000 }],
    switches: [{ id: 'selector', positions: [{ name: 'one' }, { name: 'two' }] }],
    output: { hot: 'out', ground: 'gnd' },
  };
  const typed = (selector: string, ohm: number, at: string) => asBenchRecord({
    format: 'bench/1', clips: [{ clip: 3 }, { clip: 5 }], setting: { selector },
    resistances: [{ a: 3, b: 5, ohm }], observed: [{ at, plus: 5, minus: 3, swing: 'negative' }],
  });

  it('the pot is taken away all the same, and a meter held the other way round is understood', () => {
    const records = [typed('one', 7874, 'neck'), typed('two', 9000, 'bridge')].map((record) => ({ source: 'typed', record }));
    const { settings, unknown } = surveyOf(wiredOf({ harness: controls, pickups: [] }), records, reader);
    // 8000 ohm beside 500 kilohm, by hand.
    expect(Math.abs(settings[0]!.pickups_ohm! - 8000)).toBeLessThan(1);
    expect(settings.map(({ sounding }) => sounding)).toEqual([[{ at: 'neck', swing: 'positive' }], [{ at: 'bridge', swing: 'positive' }]]);
    expect(unknown.some((text) => text.includes('were not read'))).toBe(false);
  });
});
