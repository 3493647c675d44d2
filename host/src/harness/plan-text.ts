/** A plan for people. */
import { findingsOf } from './findings.ts';
import type { Setting } from './harness.ts';
import type { LoadedHarness } from './load-harness.ts';
import { effortOfAll, type Allowance } from './options.ts';
import type { PlanResult } from './plan.ts';
import { countOf, type Count, type Proposal } from './search.ts';
import { findingLines, lookAlikeLines, settingTable, solderingLines, titleLines, cautionTail } from './positions-text.ts';
import { positionsOf } from './positions.ts';
import { settingsInWords } from './settings-in-words.ts';
import { paragraph } from './table.ts';

/** Other proposals that are shown; the rest are for `--json`. */
const OTHERS_MOST = 3;

/** What to do, what it gives, what it cannot give and why, and where every lead then goes. */
export function planText(loaded: LoadedHarness, result: PlanResult, allowed: ReadonlySet<Allowance>): string {
  const { proposals, missing } = result.document;
  const [best, ...others] = proposals as [Proposal, ...Proposal[]];
  const lines = titleLines(result.document.title);
  const also = allowed.size === 0 ? '' : ` (${[...allowed].join(' and ')} allowed)`;
  const tried = result.tried === 1 ? 'There is nothing to choose' : `${result.tried} combinations of changes were tried`;
  lines.push(...paragraph(`${tried}${also}.`), '');
  if (best.work.length === 0) lines.push(...paragraph('Leave it as it stands: nothing that is allowed makes it better.'));
  else lines.push('Work', ...best.work.flatMap(({ text }, at) => paragraph(`  ${at + 1}. ${text}`, 5)));
  lines.push('', ...paragraph(`It gives ${countInWords(best.count)}.`));
  if (best.work.length > 0) lines.push(...paragraph(`As it stands: ${countInWords(countOf(positionsOf(loaded).settings))}.`));
  lines.push('', ...settingTable(loaded, best.settings), '');
  if (missing.length > 0) lines.push('What cannot be had', ...missingLines(loaded, missing), '');
  lines.push(...otherLines(best, others));
  const combination = result.combinations[0]!;
  const pickups = loaded.pickups.map((pickup, at) => ({ ...pickup, ...result.search.options[at]![combination.options[at]!]! }));
  const planned = { harness: { ...loaded.harness, fitted: best.fitted }, pickups };
  lines.push(...findingLines(findingsOf(planned, best.settings, result.search.solver, combination.flipped)));
  lines.push(...lookAlikeLines(planned), ...solderingLines(planned), ...cautionTail());
  return `${lines.join('\n')}\n`;
}

/** How many settings do what they should: `6 of 6 settings that sound, 6 in phase, 4 with hum cancelled`. */
export function countInWords({ settings, sounds, in_phase, out_of_phase, hum_cancelled }: Count): string {
  const open = sounds - in_phase - out_of_phase;
  return [
    `${sounds} of ${settings} settings that sound`,
    `${in_phase} in phase`,
    ...(out_of_phase > 0 ? [`${out_of_phase} out of phase`] : []),
    ...(open > 0 ? [`${open} of which that is not known`] : []),
    `${hum_cancelled} with hum cancelled`,
  ].join(', ');
}

/** Settings with the same reason stand together. */
function missingLines({ harness }: LoadedHarness, missing: PlanResult['document']['missing']): string[] {
  const byText = new Map<string, Setting[]>();
  for (const { setting, text } of missing) byText.set(text, [...(byText.get(text) ?? []), setting]);
  return [...byText].flatMap(([text, settings]) => paragraph(`  - ${settingsInWords(harness, settings)}: ${text}`, 4));
}

/** What else can be had for as much work or less. */
function otherLines(best: Proposal, others: readonly Proposal[]): string[] {
  const worth = others.filter(({ work }) => effortOfAll(work) <= effortOfAll(best.work)).slice(0, OTHERS_MOST);
  if (worth.length === 0) return [];
  return [
    'Other ways',
    ...worth.flatMap(({ work, count }) => {
      const what = work.length === 0 ? 'as it stands' : work.map(({ text }) => text).join('; ');
      return paragraph(`  - ${what}: ${countInWords(count)}`, 4);
    }),
    '',
  ];
}
