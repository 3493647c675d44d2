/**
 * The computed parts of the board's documents: tables between `<!-- made: NAME -->` and `<!-- /made -->`. The words around them are
 * written by hand; the decks are run for the figures, so ngspice must be there.
 */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { ALLOWED, driven, inductanceBudget, leakBudget, overload, resistanceBudget, total, withstand_V, type Budget } from '../budget/rows.ts';
import type { Coverage, CoverageFile } from '../budget/coverage.ts';
import { PRINTED } from '../netlist/controller.ts';
import type { Netlist } from '../netlist/model.ts';
import { SUPPLY_V } from '../rules.ts';
import { decks } from '../spice/decks.ts';
import { runDeck, type Found } from '../spice/run.ts';

const folder = fileURLToPath(new URL('..', import.meta.url));

export const DOCUMENTS = ['README.md', 'error-budget.md', 'assembly.md', 'safety.md'] as const;

/** A number to a person: three digits, no exponent where none is needed. */
function short(value: number): string {
  if (value === 0) return '0';
  const digits = Number(value.toPrecision(3));
  return Math.abs(digits) >= 1e-4 && Math.abs(digits) < 1e7 ? String(digits) : digits.toExponential(2);
}

const table = (head: readonly string[], rows: readonly (readonly string[])[]): string =>
  [head, head.map(() => '---'), ...rows].map((cells) => `| ${cells.join(' | ')} |`).join('\n');

/** All figures of all decks, by deck. */
export type Answers = ReadonlyMap<string, readonly Found[]>;

/** Runs every deck. @throws when ngspice is missing */
export function answers(netlist: Netlist): Answers {
  return new Map(decks(netlist).map((deck) => [deck.name, runDeck(deck, `${folder}spice/decks/${deck.name}.cir`)]));
}

function figure(all: Answers, deck: string, name: string): number {
  const found = all.get(deck)?.find((one) => one.figure.name === name);
  if (found === undefined) throw new Error(`deck ${deck} has no figure ${name}`);
  return found.values[0];
}

/** Of a resistance, an inductance and a leak. */
export function budgets(netlist: Netlist, all: Answers): Budget[] {
  const off = [100, 8000, 100000].map((ohm) => figure(all, 'four-wire', `ohm_${ohm}`) - ohm);
  const settled = Math.max(...[1, 2, 3, 4, 5].map((i) => Math.abs(figure(all, `settling-${i}`, 'left_ppm')) * 1e-6));
  const leaks = [10, 100].map((megohm) => figure(all, 'leak', `leak_${megohm}M`) - megohm * 1e6);
  return [resistanceBudget(netlist, off, settled), inductanceBudget(), leakBudget(leaks)];
}

function budgetText(budget: Budget): string {
  const { columns, nominal, rows, unit, title } = budget;
  const shown = (column: number, value: number): string => `${short(value)} (${short((value / nominal[column]) * 1e6)} ppm)`;
  const line = (name: string, common?: boolean): string[] =>
    [`**${name}**`, '', ...columns.map((_, i) => `**${shown(i, total(budget, i, common))}**`)];
  return `### ${title}\n\nIn ${unit}, k = 1; in brackets the share.\n\n${table(
    ['source', 'the same for all of a board', ...columns],
    [...rows.map(({ source, common, values }) => [source, common ? 'yes' : '', ...values.map((value, i) => shown(i, value))]),
      line('total'), line('of it, one reading against another', false)],
  )}`;
}

/** Error over uncertainty stays within 1 so often when a rectangle is all there is. */
const percent = (part: number, whole: number): string => `${((100 * part) / Math.max(1, whole)).toFixed(1)} %`;

function coverageText(file: CoverageFile): string {
  const row = ({ quantity, readings, within1, within2, rms, most }: Coverage): string[] =>
    [quantity, String(readings), percent(within1, readings), percent(within2, readings), String(rms), String(most)];
  return `${file.boards} boards, seeds from ${file.seed} on (\`npm run figures -- coverage ${file.boards} ${file.seed}\`):\n\n${table(
    ['quantity', 'readings', 'truth within u (k = 1)', 'truth within 2 u (k = 2)', 'rms of error / u', 'greatest error / u'], file.all.map(row))}`;
}

/** Test points in the order in which they are measured, the step of soldering from whose stop on they are there, and what a wrong voltage means. */
export const POINTS: readonly (readonly [net: string, from: number | 'firmware', wrong: string])[] = [
  ['5V', 2, 'none: fuse F1, receptacle J9, CC resistors; low: a short after the fuse'],
  ['3V3', 2, 'none: U64, or a short that heats it'],
  ['1V1', 2, 'none: the RP2040 (its exposed pad, pins 44 and 45) or C near them'],
  ['3V0', 2, 'near 3.3 V: U65 turned or open; low: a short on the ADC supply'],
  ['MID', 6, 'not half of 3V0: U52, its divider, or a bridge at U51'],
  ['V_PLUS', 'firmware', 'none on both rails: no firmware, RAILS_ENABLE, U61; one rail only: its divider at U61'],
  ['V_MINUS', 'firmware', 'as V_PLUS; also the flying capacitor at U61'],
  ['CLAMP_HIGH', 'firmware', 'near V_PLUS: U62 open or turned; below 1 V: U62 shorted or a clamp turned'],
  ['CLAMP_LOW', 'firmware', 'the same with U63'],
  ['PLUS_1V8', 'firmware', 'U33 or the 10 k and 15 k before it'],
  ['MINUS_1V8', 'firmware', 'U33 or the two 10 k of its inverter'],
];

/** Figures of the deck `rails`, by net. */
const FROM_DECK: Readonly<Record<string, string>> = {
  MID: 'mid', CLAMP_HIGH: 'clamp_high', CLAMP_LOW: 'clamp_low', PLUS_1V8: 'plus_1v8', MINUS_1V8: 'minus_1v8',
};

/** What is divided from the ADC's 3.0 V may be off by that, and by two resistors of 0.1 %. */
function shareOf3V0(volts: number): [number, number] {
  const [low, high] = SUPPLY_V['3V0'];
  const off = Math.abs(volts) * ((high - low) / (high + low) + 0.002);
  return [volts - off, volts + off];
}

function pointsText(netlist: Netlist, all: Answers): string {
  const rows = POINTS.map(([net, from, wrong]) => {
    const point = netlist.parts.find(({ bought, value }) => bought.family === 'test point' && value === net)!;
    const name = FROM_DECK[net];
    const [low, high] = SUPPLY_V[net] ?? shareOf3V0(figure(all, 'rails', name));
    const expected = name === undefined ? `${((low + high) / 2).toFixed(2)}` : figure(all, 'rails', name).toFixed(3);
    return [point.ref, PRINTED[net] ?? net, net, from === 'firmware' ? 'firmware runs' : `step ${from}, 5 V in`, expected, `${low.toFixed(3)} to ${high.toFixed(3)}`, wrong, ''];
  });
  return table(['point', 'printed', 'net', 'from when on', 'expected, V', 'allowed, V', 'when it is not so', 'measured'], rows);
}

const SOURCES: readonly (readonly [string, number, number])[] = [
  ['what the label says: 15 V for long', 15, 0],
  ['a 9 V battery on the wrong leads', 9, 0],
  ['42 V, the output of a speaker amplifier (110 W into 16 ohm)', 42, 0],
  ['48 V stiff: a phantom supply without its resistors', 48, 0],
  ['48 V behind the two 6.81 kilohm of a microphone input (IEC 61938, from memory), both on one clip', 48, 3405],
];

function overloadText(): string {
  const mark = (value: number, allowed: number, factor: number, unit: string): string =>
    `${short(value * factor)} ${unit} (${short(value / allowed)} of what is allowed)`;
  const rows = SOURCES.map(([name, volts, ohm]) => {
    const { pulse_W, sense_W, clamp_A, shunt_A } = overload(volts, ohm);
    const over = [
      pulse_W > ALLOWED.pulse_W && 'the 1 kilohm', sense_W > ALLOWED.sense_W && 'the 10 kilohm',
      clamp_A > ALLOWED.clamp_A && 'the clamp', shunt_A > ALLOWED.shunt_A && 'the shunt',
    ].filter((one) => one !== false);
    return [name, mark(pulse_W, ALLOWED.pulse_W, 1, 'W'), mark(sense_W, ALLOWED.sense_W, 1, 'W'), mark(clamp_A, ALLOWED.clamp_A, 1000, 'mA'),
      mark(shunt_A, ALLOWED.shunt_A, 1000, 'mA'), over.length === 0 ? 'nothing' : over.join(' and ')];
  });
  return `${table(['on one clip against ground', '1 kilohm at the clip', '10 kilohm at the clip', 'clamp', 'shunt', 'beyond its rating'], rows)}\n\n` +
    `The first resistor reaches its rating at ${withstand_V().toFixed(1)} V. The shunt is shared: with two clips at the same voltage it takes twice as much.`;
}

function drivenText(): string {
  const { source_V, source_A, step_V, pair_ohm, pair_A, ground_ohm, ground_A } = driven();
  const mA = (amperes: number): string => `${(1000 * amperes).toFixed(2)} mA`;
  return `At most ${source_V.toFixed(1)} V and ${mA(ground_A)}:\n\n${table(['drive', 'volts', 'greatest current', 'limited by'], [
    ['current source', `up to ${source_V.toFixed(1)}, on an open clip`, mA(source_A), "itself: 250 uA and its sheet's 3 %; it stops 0.4 V below its rail"],
    ['step and leak, through two clips', `${step_V}`, mA(pair_A), `${pair_ohm} ohm in the drive and the clips, 2000 ohm of the reference`],
    ['the same, a clip that lies on ground', `${step_V}`, mA(ground_A), `${ground_ohm} ohm in the drive and that clip`],
  ])}`;
}

function summaryText(netlist: Netlist, all: Answers): string {
  // Figures of what is to burn have no room to lose.
  const worst = [...all].flatMap(([deck, found]) => found.map((one) => ({ deck, ...one })))
    .filter(({ figure: { what } }) => !/burns|at 4[28] V/.test(what))
    .sort((a, b) => a.margin - b.margin).slice(0, 5);
  const bought = netlist.parts.filter(({ bought: kind }) => kind.notBought !== true).length;
  const rows = worst.map(({ deck, figure: { name, what, low, high }, values, margin }) => {
    const found = values.reduce((a, b) => (Math.abs(b) > Math.abs(a) ? b : a));
    const allowed = !Number.isFinite(low) ? `${short(high)} at most` : !Number.isFinite(high) ? `${short(low)} or more` : `${short(low)} to ${short(high)}`;
    return [deck, `\`${name}\`: ${what}`, short(found), allowed, `${(100 * margin).toFixed(0)} %`];
  });
  return `${netlist.parts.length} parts (${bought} of them bought), ${netlist.nets().size} nets, ${all.size} decks. The figures of the decks with least ` +
    `room:\n\n${table(['deck', 'figure', 'found', 'allowed', 'room left'], rows)}`;
}

/** The documents with their tables made anew, by name. */
export function documents(netlist: Netlist, all: Answers): Map<string, string> {
  const coverage = JSON.parse(readFileSync(`${folder}budget/coverage.json`, 'utf8')) as CoverageFile;
  const made: Readonly<Record<string, () => string>> = {
    budget: () => budgets(netlist, all).map(budgetText).join('\n\n'), coverage: () => coverageText(coverage),
    points: () => pointsText(netlist, all), overload: overloadText, driven: drivenText, summary: () => summaryText(netlist, all),
  };
  return new Map(DOCUMENTS.map((name) => [name, filled(readFileSync(`${folder}${name}`, 'utf8'), made)]));
}

function filled(text: string, made: Readonly<Record<string, () => string>>): string {
  return text.replace(/<!-- made: (\w+) -->\n[^]*?<!-- \/made -->/g, (_, name: string) => {
    const make = made[name];
    if (make === undefined) throw new Error(`nobody makes a table "${name}"`);
    return `<!-- made: ${name} -->\n${make()}\n<!-- /made -->`;
  });
}
