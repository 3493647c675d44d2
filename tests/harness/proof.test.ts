/** Guitars proved at their jack: readings from the virtual bench's own circuit, predictions from the solver of harnesses. */
import { describe, expect, it } from 'vitest';
import { guitarOf } from '../../host/src/bench/guitar-of.ts';
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { settingsOf } from '../../host/src/harness/harness.ts';
import { proofOf, type Proof } from '../../host/src/proof/document.ts';
import { evidenceOf } from '../../host/src/proof/evidence-of.ts';
import { contactFaults, jointFaults, singleFaults, type Model } from '../../host/src/proof/faults.ts';
import { placeShare } from '../../host/src/proof/likelihood.ts';
import { placesOf } from '../../host/src/proof/places.ts';
import { jackProbes } from '../../host/src/proof/prove.ts';
import { predict, wiredOf } from '../../host/src/proof/wired.ts';
import type { GuitarPlan } from '../../host/src/virtual-bench/guitar.ts';
import { GUITAR_FAULTS, putFault } from '../../host/src/virtual-bench/guitar-faults.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { example, exampleNames, load, SETS, withSet } from './example-harnesses.ts';
import { faultNames, proveOne } from './jack-lot.ts';
import { readAtJack, steadyAtJack } from './jack-meter.ts';

const reader = new TouchReader();
/** Joints of the bench's circuit are not without resistance, and it has a leak to ground where nothing is. */
const WITHIN = 0.001;
const OPEN_ohm = 1e9;

/** The guitar with every part as it is printed, at 20 degrees. */
function exactPlan(name: string): { wired: ReturnType<typeof wiredOf>; plan: GuitarPlan } {
  const wired = wiredOf(load(example(name)));
  const plan = guitarOf(wired, new Map(), new RandomStream(1, 'exact'));
  const parts = plan.parts.map((part, at) => {
    const printed = wired.harness.parts![at]!;
    return part.kind === 'pot' && printed.kind === 'pot' ? { ...part, ohm: printed.ohm } : part;
  });
  const pickups = plan.pickups.map((one, at) => ({
    ...one,
    pickup: {
      ...one.pickup, temperature_C: 20,
      coils: one.pickup.coils.map((coil, index) => ({ ...coil, resistance_ohm_20C: wired.pickups[at]!.bank.coils[index]!.ohm })),
    },
  }));
  return { wired, plan: { ...plan, parts, pickups } };
}

/** Expects a model to give, in every setting, the ohms and shares of the virtual bench's circuit. */
function expectSame(name: string, { wired, swapped }: Model, plan: GuitarPlan, what: string): void {
  const base = wiredOf(load(example(name)));
  const places = placesOf(base.pickups);
  const predicted = predict(wired, jackProbes(base), false);
  settingsOf(base.harness).forEach((positions, at) => {
    const bench = steadyAtJack(plan, positions);
    const { ohm } = predicted[at]!;
    const where = `${name}, setting ${at}: ${what}`;
    if (ohm === null) expect(bench.ohm, where).toBeGreaterThan(OPEN_ohm);
    else expect(Math.abs(ohm - bench.ohm), where).toBeLessThanOrEqual(WITHIN * ohm + 1);
    places.forEach((place, index) => {
      const { direct } = placeShare(place, places, predicted[at]!, swapped);
      // Behind a broken or absent path the bench's leaks alone are left.
      if (ohm !== null) expect(Math.abs(direct - bench.shares[index]!), `${where}, ${place.name}`).toBeLessThan(0.005);
    });
  });
}

describe('what is predicted at the jack', () => {
  it.each(exampleNames)('%s: ohms and shares are those of the virtual bench, in every setting', (name) => {
    const { wired, plan } = exactPlan(name);
    expectSame(name, { wired, swapped: null }, plan, 'as planned');
  });

  it.each(exampleNames)('%s: a fault does in the model what it does in the virtual bench', (name) => {
    const { wired, plan } = exactPlan(name);
    const random = new RandomStream(7, name);
    const singles = singleFaults(wired);
    const joints = [...jointFaults(wired), ...contactFaults(wired)];
    let compared = 0;
    for (const kind of [...GUITAR_FAULTS, ...GUITAR_FAULTS]) {
      const fault = putFault(plan, kind, random);
      if (fault === null) continue;
      const names = faultNames(fault);
      const bad = joints.find(({ id }) => names.includes(id));
      const ohm = fault.plan.parts.find(({ id }) => / (cold|worn) /.test(id));
      const model = bad !== undefined && ohm?.kind === 'resistor' ? bad.model(ohm.value) : singles.find(({ id }) => names.includes(id))?.model;
      expect(model, `${kind}: ${fault.text}`).toBeDefined();
      expectSame(name, model!, fault.plan, fault.text);
      compared++;
    }
    expect(compared).toBeGreaterThan(10);
  });
});

describe('a lot of guitars', () => {
  const many = (count: number, isSound: boolean) => Array.from({ length: count }, (_, number) => proveOne(101, number, isSound, reader));

  it('with one fault each has the true cause first in at least nine of ten', () => {
    const shown = many(40, false).filter(({ isShown }) => isShown);
    expect(shown.length).toBeGreaterThan(20);
    const missed = shown.filter(({ outcome }) => outcome !== 'first').map(({ name, number, fault }) => `${number} ${name}: ${fault!.text}`);
    expect(missed.length, missed.join('; ')).toBeLessThanOrEqual(shown.length * 0.1);
  });

  it('that are sound has none accused', () => {
    expect(many(40, true).filter(({ outcome }) => outcome !== 'sound').map(({ name, number }) => `${number} ${name}`)).toEqual([]);
  });

  it.each(exampleNames)('%s: soldered as planned, nobody is accused with any other set of wire maps', (name) => {
    for (const set of Object.keys(SETS)) {
      const wired = wiredOf(load(withSet(example(name), set)));
      const random = new RandomStream(5, name + set);
      const plan = guitarOf(wired, new Map(), random);
      const records = settingsOf(wired.harness).map((positions, at) => ({ source: `setting ${at}`, record: readAtJack(plan, positions, at, random) }));
      const { verdict, causes } = proofOf(wired, evidenceOf(wired, records, reader));
      expect(['as_planned', 'unsure'], `${set}: ${causes[0]?.faults[0]?.text}`).toContain(verdict);
    }
  });

  it('with a worn contact of the selector: the switch, the position and about its ohms', () => {
    const wired = wiredOf(load(example('two-singles')));
    const random = new RandomStream(21, 'worn');
    const sound = guitarOf(wired, new Map(), random);
    const faults = Array.from({ length: 40 }, () => putFault(sound, 'contact bad', random)!);
    const sizeOf = ({ text }: { text: string }): number => Number(/(\d+) ohm/.exec(text)![1]);
    const fault = faults.find((one) => one.at[1] === 'rear.hot' && one.at[2] === 'both' && sizeOf(one) > 3000)!;
    const [{ plan }, ohm] = [fault, sizeOf(fault)];
    const records = settingsOf(wired.harness).map((positions, at) => ({ source: `setting ${at}`, record: readAtJack(plan, positions, at, random) }));
    const { verdict, causes } = proofOf(wired, evidenceOf(wired, records, reader));
    expect(verdict).toBe('fault');
    const found = /bad contact to rear\.hot in position both: about ([\d,]+) ohm/.exec(causes[0]!.faults[0]!.text)![1]!;
    expect(Math.abs(Math.log(Number(found.replaceAll(',', '')) / ohm))).toBeLessThan(0.5);
  });

  it('tells a way to part faults that every setting shows alike, or that there is none', () => {
    const { wired, evidence } = proveOne(1, 2, false, reader);
    const [cause] = proofOf(wired, evidence).causes;
    expect(cause!.faults.length).toBeGreaterThan(1);
    expect(cause!.tell).toMatch(/^(Lift|Read) .* if it is a/);
  });
});

/** Records as a person types them: ohms of a hand-held meter and the swings seen on it. */
function typed(setting: Record<string, string>, ohm: number | null, swings: Record<string, 'positive' | 'negative' | 'none'>, more = {}) {
  return asBenchRecord({
    format: 'bench/1', clips: [{ clip: 1 }, { clip: 2 }], setting,
    resistances: [{ a: 1, b: 2, ohm, ...(ohm === null ? { above_ohm: 2e7 } : {}) }],
    observed: Object.entries(swings).map(([at, swing]) => ({ at, plus: 1, minus: 2, swing })),
    ...more,
  });
}

function prove(name: string, records: ReturnType<typeof typed>[]): Proof {
  const wired = wiredOf(load(example(name)));
  return proofOf(wired, evidenceOf(wired, records.map((record, at) => ({ source: `record ${at}`, record })), reader));
}

const both = { 'front single': 'positive', 'rear single': 'positive' } as const;
const front = { 'front single': 'positive', 'rear single': 'none' } as const;
const rear = { 'front single': 'none', 'rear single': 'positive' } as const;

describe('a guitar that a person reads with a meter', () => {
  it('is as planned', () => {
    const proof = prove('two-singles', [
      typed({ selector: 'front' }, 5930, front), typed({ selector: 'both' }, 3240, both), typed({ selector: 'rear' }, 6830, rear)]);
    expect([proof.verdict, proof.causes, proof.unread]).toEqual(['as_planned', [], []]);
  });

  it('has the leads of one pickup exchanged: told together with a magnet turned, which looks the same', () => {
    const over = { ...both, 'rear single': 'negative' } as const;
    const alone = { ...rear, 'rear single': 'negative' } as const;
    const proof = prove('two-singles', [
      typed({ selector: 'front' }, 5930, front), typed({ selector: 'both' }, 3240, over), typed({ selector: 'rear' }, 6830, alone),
      typed({ selector: 'rear' }, 6830, alone)]);
    expect(proof.verdict).toBe('fault');
    expect(new Set(proof.causes[0]!.faults.map(({ kind }) => kind))).toEqual(new Set(['leads_exchanged', 'turned_over', 'other_way']));
  });

  it('accuses nobody for one swing that was seen the wrong way round', () => {
    const slip = { ...rear, 'rear single': 'negative' } as const;
    const proof = prove('two-singles', [
      typed({ selector: 'front' }, 5930, front), typed({ selector: 'both' }, 3240, both), typed({ selector: 'rear' }, 6830, slip)]);
    expect(proof.verdict).not.toBe('fault');
    expect(proof.settings[2]!.text).toBe('rear single swings negative, not positive.');
  });

  it('is read at a lifted lead as well: hot of the front pickup off its joint leaves that of the rear', () => {
    const lifted = { lifted: ['front clip 2'] };
    const proof = prove('two-singles', [
      typed({ selector: 'both' }, 6830, rear, lifted),
      typed({ selector: 'front' }, 6070, front, { ...lifted, between: { plus: 'front clip 2', minus: 'gnd' } })]);
    expect(proof.settings.map(({ ohm_agrees }) => ohm_agrees)).toEqual([true, true]);
    expect(proof.unread).toHaveLength(3);
  });
});

describe('a record that does not fit its harness', () => {
  const refusal = (name: string, record: object): string => {
    try {
      prove(name, [asBenchRecord({ format: 'bench/1', clips: [{ clip: 1 }, { clip: 2 }], resistances: [], setting: { selector: 'both' }, ...record })]);
      return 'taken';
    } catch (error) {
      return (error as Error).message;
    }
  };
  const seen = (at: string) => ({ observed: [{ at, plus: 1, minus: 2, swing: 'none' }] });

  it.each([
    ['no setting', { setting: undefined }, 'setting: missing; expected the position of each switch, such as { "selector": "front" }'],
    ['an unknown switch', { setting: { split: 'on' } }, 'setting: "split" is not a switch of this harness; expected one of selector'],
    ['a switch left out', { setting: {} }, 'setting: switch "selector" is missing; expected one of front, both, rear'],
    ['an unknown position', { setting: { selector: 'middle' } }, 'setting: "middle" is not a position of selector; expected one of front, both, rear'],
    ['an unknown place', seen('front upper'), 'observed[0].at: "front upper" is no place of this harness; expected SLOT PLACE, one of front single, rear single'],
    ['one clip', { clips: [{ clip: 1 }] }, 'clips: 1 clips; expected two clips, the first at hot of the output and the second at its ground'],
    ['a lead that is none', { lifted: ['front clip 6'] }, 'lifted[0]: "front clip 6" is no lead of a fitted pickup; expected a lead such as "front clip 1"'],
    ['a node that is none', { between: { plus: 'hot', minus: 'gnd' } }, /^between.plus: "hot" is neither a node nor a lifted lead; expected one of front.hot, /],
    ['a position that is no text', { setting: { selector: 3 } }, 'setting.selector: 3 is not a text; expected the name of a position'],
    ['a name that breaks a terminal', { setting: { selector: 'both\u001b[2J' } }, /holds characters that cannot be seen/],
  ])('%s', (_, record, sentence) => {
    const said = refusal('two-singles', record);
    if (typeof sentence === 'string') expect(said).toBe(sentence);
    else expect(said).toMatch(sentence);
  });
});
