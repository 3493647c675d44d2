/** Inductances that the tester reads through pots and tone capacitor, against the circuit of the harness, on the board twin. */
import { describe, expect, it } from 'vitest';
import { guitarOf } from '../../host/src/bench/guitar-of.ts';
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';
import { simulatedJack, simulatedPlaces } from '../../host/src/jack/jack-bench.ts';
import { JackResults } from '../../host/src/jack/jack-results.ts';
import { jackSteps } from '../../host/src/jack/jack-steps.ts';
import { JackTest } from '../../host/src/jack/jack-test.ts';
import { proofOf, type Proof } from '../../host/src/proof/document.ts';
import { evidenceOf } from '../../host/src/proof/evidence-of.ts';
import { wiredOf } from '../../host/src/proof/wired.ts';
import type { GuitarPlan } from '../../host/src/virtual-bench/guitar.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { example, exampleNames, load } from './example-harnesses.ts';

const SLOW_ms = 180_000;
const reader = new TouchReader();

/** Reads some settings of a guitar. @param most - settings, spread over all */
async function readings(known: LoadedHarness, plan: GuitarPlan, seed: number, most: number): Promise<BenchRecord[]> {
  const results = new JackResults(known);
  const bench = simulatedJack(plan, { twin: 'board', seed, automatic: true });
  const all = jackSteps(known.harness, simulatedPlaces(plan));
  const steps = all.filter((_, at) => at % Math.ceil(all.length / most) === 0);
  const records: BenchRecord[] = [];
  for (const step of steps) {
    const transport = await bench.connect(step, 0);
    const test = new JackTest(transport, {
      places: step.places, timeOfDay: () => '2026-01-01T00:00:00Z',
      swings: (record) => results.swings({ ...record, setting: step.names }),
      isExpected: (place) => results.planned(step.setting)?.sounding.includes(place) ?? null,
    });
    await test.run();
    await transport.close();
    records.push({ ...test.record(), setting: step.names });
  }
  return records;
}

function prove(known: LoadedHarness, records: readonly BenchRecord[]): Proof {
  const wired = wiredOf(known);
  return proofOf(wired, evidenceOf(wired, records.map((record) => ({ source: '', record })), reader));
}

const sound = (known: LoadedHarness, seed: number): GuitarPlan => guitarOf(wiredOf(known), new Map(), new RandomStream(seed, 'guitar'));

/** A guitar whose tone pot has its outer lugs exchanged: turned up, it lays its capacitor across the output. */
function toneBackwards(plan: GuitarPlan): GuitarPlan {
  const parts = plan.parts.map((part) => (part.kind === 'pot' && part.id === 'tone' ? { ...part, a: part.b, b: part.a } : part));
  return { ...plan, parts };
}

describe('an inductance at the jack', () => {
  it.each(exampleNames)('%s, sound: is within a tenth of the circuit in every setting that is read, and nobody is accused', async (name) => {
    const known = load(example(name));
    const proof = prove(known, await readings(known, sound(known, 11), 11, 3));
    expect(proof.verdict).toBe('as_planned');
    const read = proof.settings.flatMap(({ inductance }) => (inductance === null ? [] : [inductance]));
    expect(read.length).toBeGreaterThan(0);
    for (const { henry, expected_henry, agrees } of read) {
      expect(Math.abs(henry / expected_henry - 1)).toBeLessThan(0.1);
      expect(agrees).toBe(true);
    }
  }, SLOW_ms);

  it('finds a tone pot with its outer lugs exchanged, which neither ohms nor touches show', async () => {
    const known = load(example('one-pickup'));
    const records = await readings(known, toneBackwards(sound(known, 12)), 12, 1);
    const proof = prove(known, records);
    expect(proof.verdict).toBe('fault');
    expect(proof.causes[0]!.faults.map(({ text }) => text)).toContain('the two outer lugs of tone are exchanged, so that it works backwards');
    expect(proof.settings[0]!.text).toMatch(/^2\.\d henry at the clips, where 4\.\d should be\.$/);
    const blind = prove(known, records.map(({ inductances: _, ...record }) => record));
    expect([blind.verdict, blind.settings[0]!.inductance]).toEqual(['as_planned', null]);
  }, SLOW_ms);

  it('says nothing where a wire map has none to compare with', async () => {
    const plain = example('one-pickup');
    const known = load(plain);
    const records = await readings(known, sound(known, 13), 13, 1);
    const without = ({ inductance_H: _, ...coil }: Record<string, unknown>): object => coil;
    const blank = { ...plain, maps: plain.maps.map((map) => ({ ...map, coils: map.coils.map(without) })) };
    expect(prove(load(blank), records).settings[0]!.inductance).toBeNull();
  }, SLOW_ms);
});
