/** The wiring plan as lines to print or to show: text with its own indent, and the indent of what wraps. */
import type { LeadColours } from '../wiremap/lead-words.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { wiringPlan, type WiringPlan } from './plan.ts';
import { planInWords } from './words.ts';

export type WiringLine = { readonly text: string; readonly indent: number };

/** Ways that are shown unless all are asked for. */
const SHOWN_MOST = 7;

/** What a key that shows all ways, or only those that are wanted most, does now; null where there are no more than are shown anyway. */
export type WaysKey = 'all ways' | 'fewer ways' | null;

/** The same for a screen. @param all - every way is wanted @param key - that shows them, or fewer again */
export function wiringPanel(
  map: WireMap, colours: LeadColours, all: boolean, key: string,
): { readonly lines: WiringLine[]; readonly ways: WaysKey } {
  const plan = wiringPlan(map);
  const ways = plan.layouts.length <= SHOWN_MOST ? null : all ? 'fewer ways' : 'all ways';
  return { lines: planLines(plan, map, colours, all ? null : key), ways };
}

/** @param colours - of the leads, by clip
 * @param demand - how to ask for the rest, such as `--all-ways`; null shows all
 */
export function wiringLines(map: WireMap, colours: LeadColours, demand: string | null): WiringLine[] {
  return planLines(wiringPlan(map), map, colours, demand);
}

function planLines(plan: WiringPlan, map: WireMap, colours: LeadColours, demand: string | null): WiringLine[] {
  const lines: WiringLine[] = [];
  const say = (text: string, indent: number): void => void lines.push({ text, indent });
  const gap = (): void => say('', 0);
  const { first, always, ways, partner, notPossible } = planInWords(plan, map, colours);
  for (const sentence of [...first, ...always]) say(`  ${sentence}`, 4);
  const shown = demand === null ? ways : ways.slice(0, SHOWN_MOST);
  for (const { title, steps, result } of shown) {
    gap();
    say(`  ${title}`, 4);
    for (const step of steps) say(`    - ${step}`, 6);
    say(`    ${result}`, 4);
  }
  const more = ways.length - shown.length;
  if (more > 0) {
    gap();
    say(`  ${more} more ${more === 1 ? 'way' : 'ways'}, less often wanted: ${demand} shows ${more === 1 ? 'it' : 'them'}.`, 4);
  }
  if (partner.length > 0) gap();
  for (const sentence of partner) say(`  ${sentence}`, 4);
  if (notPossible.length > 0) gap();
  for (const sentence of notPossible) say(`  ${sentence}`, 4);
  return lines;
}
