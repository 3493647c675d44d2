/** The wiring plan as lines to print or to show: text with its own indent, and the indent of what wraps. */
import type { LeadColours } from '../wiremap/lead-words.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { wiringPlan, type WiringPlan } from './plan.ts';
import { adriftInWords, firstInWords, groundInWords, layoutInWords, partnerInWords } from './words.ts';

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
  for (const sentence of [...firstInWords(plan, map), ...groundInWords(plan, map, colours), ...adriftInWords(plan, colours)])
    say(`  ${sentence}`, 4);
  const shown = demand === null ? plan.layouts : plan.layouts.slice(0, SHOWN_MOST);
  for (const layout of shown) {
    const words = layoutInWords(layout, map, colours);
    gap();
    say(`  ${words.title}`, 4);
    for (const step of words.steps) say(`    - ${step}`, 6);
    say(`    ${words.result}`, 4);
  }
  const more = plan.layouts.length - shown.length;
  if (more > 0) {
    gap();
    say(`  ${more} more ${more === 1 ? 'way' : 'ways'}, less often wanted: ${demand} shows ${more === 1 ? 'it' : 'them'}.`, 4);
  }
  const partner = partnerInWords(plan);
  if (partner.length > 0) gap();
  for (const sentence of partner) say(`  ${sentence}`, 4);
  if (plan.notPossible.length > 0) gap();
  for (const { what, why } of plan.notPossible) say(`  Not possible: ${what}, since ${why}.`, 4);
  return lines;
}
