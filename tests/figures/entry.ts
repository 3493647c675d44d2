/** How many readings a pickup takes that is entered by meters, beside every reading that there is, and how right both maps are. */
import { ENTRY_SLIPS, enterBoth, enterWithSlip, pickupsToEnter } from '../entry/entered.ts';
import { lookAheadOhms, lookAheadSwings, type LookAhead } from '../entry/look-ahead.ts';
import { createLogic } from '../../host/src/logic/module.ts';

const out = (line: string): void => void process.stdout.write(`${line}\n`);
/** Pickups that are entered once with each slip. */
const SLIPPED_most = 150;
/** Processor time: what else runs on the machine is nobody's concern here. */
const processor_ms = (): number => process.cpuUsage().user / 1000;
const percent = (part: number, whole: number): string => `${((100 * part) / whole).toFixed(1)} %`;

/** @param args - [N, 500] [SEED, 1] */
export function print(args: readonly string[]): void {
  const [count, seed] = [Number(args[0] ?? 500), Number(args[1] ?? 1)];
  if (!(Number.isInteger(count) && count > 0 && Number.isInteger(seed) && seed >= 0))
    throw new RangeError('figures entry: expected a number of pickups and a whole seed, 0 or more');
  const logic = createLogic();
  const plans_ms: number[] = [];
  const byLeads = new Map<number, { pickups: number; planned: number; every: number; ohms: number }>();
  const sum = { planned: 0, every: 0, plannedWrong: 0, everyWrong: 0, plannedDecided: 0, everyDecided: 0, asked: 0 };
  const wrong: string[] = [];
  for (const one of pickupsToEnter(seed, count)) {
    const both = enterBoth(logic, one, seed, processor_ms);
    const { planned, every } = both;
    plans_ms.push(...both.plans_ms);
    const leads = one.pickup.leads.length;
    const row = byLeads.get(leads) ?? { pickups: 0, planned: 0, every: 0, ohms: 0 };
    byLeads.set(leads, row);
    row.pickups++;
    row.planned += planned.answers.length;
    row.every += every.answers.length;
    row.ohms += planned.answers.filter(({ ask }) => ask.kind === 'ohms').length;
    sum.planned += planned.answers.length;
    sum.every += every.answers.length;
    sum.asked += both.askedBack.length;
    if (planned.wrong.length > 0) sum.plannedWrong++;
    if (every.wrong.length > 0) sum.everyWrong++;
    if (planned.map.verdict !== 'unsure') sum.plannedDecided++;
    if (every.map.verdict !== 'unsure') sum.everyDecided++;
    const told = (name: string, list: readonly string[]): string => `${name}: ${list.join('; ') || 'right'}`;
    if (planned.wrong.length + every.wrong.length > 0)
      wrong.push(`  - pickup ${one.number}, ${one.family}, ${one.faults.join() || 'sound'}: ${told('asked for', planned.wrong)}; ${told('all', every.wrong)}`);
  }
  out(`seed ${seed}, ${count} pickups`);
  out('  leads  pickups  readings asked for  of them ohms  all pairs  all readings');
  for (const [leads, { pickups, planned, every, ohms }] of [...byLeads].sort(([a], [b]) => a - b)) {
    const mean = (value: number): string => (value / pickups).toFixed(2);
    out(`  ${leads}      ${String(pickups).padStart(7)}  ${mean(planned).padStart(18)}  ${mean(ohms).padStart(12)}  ${String((leads * (leads - 1)) / 2).padStart(9)}  ${mean(every).padStart(12)}`);
  }
  out(`  all    ${String(count).padStart(7)}  ${(sum.planned / count).toFixed(2).padStart(18)}  ${''.padStart(23)}  ${(sum.every / count).toFixed(2).padStart(12)}`);
  out('                        readings asked for   all readings');
  const pair = (title: string, planned: number, every: number): void =>
    out(`  ${title.padEnd(22)}${`${count - planned} of ${count}, ${percent(count - planned, count)}`.padStart(18)}${`${count - every} of ${count}, ${percent(count - every, count)}`.padStart(24)}`);
  pair('right maps', sum.plannedWrong, sum.everyWrong);
  pair('decided', count - sum.plannedDecided, count - sum.everyDecided);
  for (const line of wrong) out(line);
  out(`  right readings that were asked back: ${sum.asked} of ${sum.planned}`);
  plans_ms.sort((a, b) => a - b);
  const at = (share: number): string => plans_ms[Math.min(plans_ms.length - 1, Math.floor(share * plans_ms.length))]!.toFixed(1);
  out(`  a plan takes ${at(0.5)} ms of processor time (median), ${at(0.95)} ms (95 %), ${at(0.99)} ms (99 %), ${at(1)} ms at most`);
  out(`one slip of the fingers in each of ${Math.min(count, SLIPPED_most)} pickups`);
  out('  slip                  made  asked back  not: map right  unsure or fault  good and wrong');
  for (const slip of ENTRY_SLIPS) {
    const made = [...pickupsToEnter(seed, Math.min(count, SLIPPED_most))].flatMap((one) => enterWithSlip(logic, one, seed, slip) ?? []);
    const silent = made.filter(({ isAskedBack }) => !isAskedBack);
    const right = silent.filter(({ wrong: no }) => no.length === 0);
    const told = silent.filter(({ wrong: no, map }) => no.length > 0 && map.verdict !== 'good');
    const numbers = [made.length, made.length - silent.length, right.length, told.length, silent.length - right.length - told.length];
    out(`  ${slip.padEnd(20)}${numbers.map((number, index) => String(number).padStart([6, 12, 16, 17, 16][index]!)).join('')}`);
  }
  out('readings until the map is settled, over all cases by how likely they are; the best is of somebody who never slips');
  out('  leads                             cases  planner  best by looking ahead  all readings');
  const line = (title: string, { cases, all, planner, best }: LookAhead): void =>
    out(`  ${title.padEnd(34)}${String(cases).padStart(5)}  ${planner.toFixed(3).padStart(7)}  ${best.toFixed(3).padStart(21)}  ${String(all).padStart(12)}`);
  for (const [title, bare] of [
    ['2', [false, false]], ['2 and a bare wire', [false, false, true]], ['3', [false, false, false]],
    ['3 and a bare wire', [false, false, false, true]], ['4', [false, false, false, false]],
    ['4 and a bare wire', [false, false, false, false, true]],
  ] as const) line(`ohms: ${title}`, lookAheadOhms(logic, bare, ['a', 'b']));
  for (const [title, ends, places] of [
    ['one coil', [[1, 2]], ['a']], ['two coils in one', [[1, 2]], ['a', 'b']], ['two coils', [[1, 2], [3, 4]], ['a', 'b']],
  ] as const) line(`steel and compass: ${title}`, lookAheadSwings(logic, ends, places));
}
