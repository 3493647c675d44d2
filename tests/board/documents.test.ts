/** What the board's pages tell: computed anew, held to the decks, and the stated uncertainties held to boards drawn again. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { ALLOWED, driven, inductanceBudget, overload, total, withstand_V } from '../../hardware-notes/board/budget/rows.ts';
import type { Coverage, CoverageFile, Quantity } from '../../hardware-notes/board/budget/coverage.ts';
import { answers, budgets, documents } from '../../hardware-notes/board/making/documents.ts';
import { tester } from '../../hardware-notes/board/netlist/board.ts';
import { coverage, KEPT } from '../figures/coverage.ts';

const netlist = tester();
const all = answers(netlist);
const figure = (deck: string, name: string): number => all.get(deck)!.find((one) => one.figure.name === name)!.values[0];

describe("the board's pages", () => {
  it('hold the tables that netlist and decks give, to the letter', () => {
    for (const [name, text] of documents(netlist, all)) {
      const file = readFileSync(fileURLToPath(new URL(`../../hardware-notes/board/${name}`, import.meta.url)), 'utf8');
      expect(file === text, `${name} is out of date: node hardware-notes/board/make.ts documents`).toBe(true);
      expect(file).toMatch(/<!-- made: \w+ -->\n[^<]/);
    }
  });
  it('tell of 42 V and 48 V what ngspice says burns', () => {
    for (const volts of [42, 48]) {
      const { pulse_W, sense_W } = overload(volts);
      expect(pulse_W / figure('rails', `at_${volts}_W`)).toBeCloseTo(1, 1);
      expect(sense_W / figure('rails', `sense_${volts}_W`)).toBeCloseTo(1, 1);
      expect(pulse_W).toBeGreaterThan(ALLOWED.pulse_W);
    }
    expect(overload(withstand_V() + 0.1).pulse_W).toBeGreaterThan(ALLOWED.pulse_W);
    expect(overload(withstand_V() - 0.1).pulse_W).toBeLessThan(ALLOWED.pulse_W);
    expect(withstand_V()).toBeGreaterThan(15);
  });
  it("give the notes' physics its uncertainties", () => {
    const physics = readFileSync(fileURLToPath(new URL('../../hardware-notes/physics.md', import.meta.url)), 'utf8').replaceAll('\n', ' ');
    const [resistance, , leak] = budgets(netlist, all);
    const pair = [0, 1, 2].map((column) => total(resistance!, column, false));
    expect(physics).toContain(`${(1000 * pair[0]!).toFixed(0)} mΩ at 100 Ω, ${pair[1]!.toFixed(2)} Ω at 8 kΩ, ${pair[2]!.toFixed(1)} Ω at 100 kΩ`);
    const [u10, u100] = leak!.nominal.map((ohm, column) => ((100 * total(leak!, column)) / ohm).toFixed(2));
    expect(physics).toContain(`${u10} % of 10 MΩ, ${u100} % of 100 MΩ`);
    const share = resistance!.rows[0]!.values[0]! / resistance!.nominal[0]!;
    expect(physics).toContain(`uncertainty of ${(100 * share).toFixed(4)} %, common to all`);
  });
  it('tell what the tester drives at most, the same on the page of the notes', () => {
    const { source_V, source_A, ground_A, pair_A } = driven();
    // By Ohm's law from the netlist: 1.8 V over 1000 + 1000 + 220 ohm, and over the same, another clip, four switches and 2000 ohm.
    expect(ground_A).toBeCloseTo(1.8 / 2220, 9);
    expect(pair_A).toBeCloseTo(1.8 / 5450, 9);
    expect(source_A).toBeLessThan(pair_A);
    const notes = readFileSync(fileURLToPath(new URL('../../hardware-notes/README.md', import.meta.url)), 'utf8');
    expect(notes).toContain(`at most ${source_V.toFixed(1)} V and ${(1000 * ground_A).toFixed(2)} mA, through a pickup ${(1000 * pair_A).toFixed(2)} mA`);
  });
  it('give an inductance that the deck of a step confirms', () => {
    const budget = inductanceBudget();
    // Without the core, which ngspice has not: the deck's 2.3 H against what the rows say of it.
    const own = Math.hypot(...budget.rows.slice(0, -1).map(({ values }) => values[0]));
    expect(Math.abs(figure('step', 'henry') - budget.nominal[0])).toBeLessThan(2 * own);
    expect(total(budget, 0)).toBeLessThan(0.03 * budget.nominal[0]);
  });
});

/** JCGM 100:2008, table G.1 and 4.3.7: a normal error lies within u 68.27 % of the time, within 2 u 95.45 %; a rectangle 57.7 % and always. */
const NORMAL_2 = 0.9545;
const RECTANGLE_1 = 0.577;

/** Share less what chance may take from it: three standard deviations of a binomial. */
const least = (share: number, readings: number): number => share - 3 * Math.sqrt((share * (1 - share)) / readings);

function holds({ quantity, readings, within1, within2 }: Coverage): void {
  expect(within1 / readings, `${quantity}, k = 1`).toBeGreaterThan(least(RECTANGLE_1, readings));
  expect(within2 / readings, `${quantity}, k = 2`).toBeGreaterThan(least(NORMAL_2, readings));
}

describe('the stated uncertainty', () => {
  const kept = JSON.parse(readFileSync(KEPT, 'utf8')) as CoverageFile;
  const of = (name: Quantity, list: readonly Coverage[]): Coverage => list.find(({ quantity }) => quantity === name)!;

  it('covers the truth as often as it says, over the 10,000 boards that are kept', () => {
    expect(kept.boards).toBe(10_000);
    kept.all.forEach(holds);
    // No more than it says either, where nothing but the board is in it.
    for (const name of ['ohms below 1 k', 'ohms of 1 k to 16 k', 'ohms above 16 k'] as const) {
      const { rms, readings } = of(name, kept.all);
      expect(readings).toBeGreaterThan(2000);
      expect(rms).toBeGreaterThan(0.8);
      expect(rms).toBeLessThan(1.1);
    }
  });
  it('does so over boards that are drawn now, the first of those kept', async () => {
    const { again } = await coverage(kept.againBoards, kept.seed);
    again.forEach(holds);
    for (const { quantity, readings, rms } of again) {
      const before = of(quantity, kept.again);
      // A later sequence may leave out a reading of a board, or take one more.
      expect(Math.abs(readings - before.readings), quantity).toBeLessThanOrEqual(0.05 * before.readings);
      expect(Math.abs(rms - before.rms), quantity).toBeLessThan(0.1);
    }
  }, 60_000);
});
