/** The proof of a harness, for people. */
import { settingsInWords } from '../harness/settings-in-words.ts';
import { cautionTail, titleLines, whichCell } from '../harness/positions-text.ts';
import { paragraph, tableLines, type Column } from '../harness/table.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { ohmInWords, type TouchResult } from './differences.ts';
import { letterOf, type Proof, type ProvedCause, type ProvedSetting } from './document.ts';

const TABLE: readonly Column[] = [
  { title: 'setting', width: 19 },
  { title: 'read', width: 9, isNumber: true },
  { title: 'planned', width: 9, isNumber: true },
  { title: 'touches', width: 37 },
];
/** Faults of one group that are told one by one. */
const TOLD_most = 6;
/** What cannot be known that is told one by one. */
const UNKNOWN_most = 4;
/** Differences that are told in words; the table has them all. */
const DIFFERENCES_most = 8;

/** All that `proof` prints. */
export function proofText({ harness }: LoadedHarness, proof: Proof): string {
  const { settings, causes, unread, unseen, verdict, tried } = proof;
  const lines = [...titleLines(proof.title), ...paragraph(HEADS[verdict](tried)), ''];
  if (causes.length > 0) {
    const what = verdict === 'unsure' ? 'What it may be' : causes.length === 1 ? 'Likely cause' : 'Likely causes';
    lines.push(causes.length === 1 ? what : `${what}, the likeliest first`);
    causes.forEach((cause, at) => lines.push(...causeLines(cause, at)));
    lines.push('');
  }
  lines.push(...tableLines(TABLE, settings.map(rowOf)), '', ...paragraph(LEGEND), '', ...differenceLines(harness, settings));
  const rest: string[] = [];
  if (unread.length > 0) rest.push(`Not read: ${settingsInWords(harness, unread)}.`);
  const elsewhere = unseen.filter((one) => one.shows_elsewhere);
  const nowhere = unseen.filter((one) => !one.shows_elsewhere);
  if (elsewhere.length > 0) {
    rest.push(`Not ruled out by what was read${unread.length > 0 ? ', more settings would show it' : ''}: ${listed(elsewhere)}.`);
  }
  if (nowhere.length > 0) rest.push(`Cannot be known at the jack in any setting: whether ${listed(nowhere, UNKNOWN_most)}.`);
  if (rest.length > 0) lines.push('What is not known', ...rest.flatMap((text) => paragraph(`  - ${text}`, 4)), '');
  lines.push(...cautionTail());
  return `${lines.join('\n')}\n`;
}

const HEADS: Readonly<Record<Proof['verdict'], (tried: number) => string>> = {
  as_planned: () => 'AS PLANNED: nothing that was read speaks against this wiring.',
  fault: (tried) => `NOT AS PLANNED: of ${tried} single faults that were tried, those below explain what was read.`,
  unsure: () => 'NOT SURE: something differs, and what was read cannot tell a fault from a slip of the hand. Read again where it differs.',
  unexplained: (tried) => `NOT AS PLANNED: none of ${tried} single faults that were tried explains what was read. Read again; there may be two faults.`,
};

const LEGEND =
  'read, planned: ohms at the two clips; ! beyond what pots of 20 % and the room may do. touches: which way hot swings as steel arrives, ' +
  '+ or -, 0 for not; a place that is not named does not swing, and should not.';

/** What differs, settings of which the same is to be said in one. */
function differenceLines(harness: LoadedHarness['harness'], settings: readonly ProvedSetting[]): string[] {
  const alike = new Map<string, ProvedSetting[]>();
  for (const one of settings) if (one.text !== null) alike.set(one.text, [...(alike.get(one.text) ?? []), one]);
  if (alike.size === 0) return [];
  const said = [...alike].map(([text, some]) => `${settingsInWords(harness, some.map(({ setting }) => setting))}: ${text}`);
  const left = said.length - DIFFERENCES_most;
  const lines = ['Differences', ...said.slice(0, DIFFERENCES_most).flatMap((text) => paragraph(`  - ${text}`, 4))];
  return [...lines, ...(left > 0 ? [`  - and ${left} more, as the table has them`] : []), ''];
}

function rowOf({ setting, ohm, expected_ohm, ohm_agrees, touches }: ProvedSetting): string[] {
  const read = ohm === null ? (ohm_agrees === null ? '-' : 'no path') : ohmInWords(ohm);
  const planned = expected_ohm === null ? 'no path' : ohmInWords(expected_ohm);
  return [whichCell(setting), ohm_agrees === false ? `! ${read}` : read, planned, touchesCell(touches)];
}

const SIGNS = { positive: '+', negative: '-', none: '0' } as const;

/** What swings, and what should and does not. */
export function touchesCell(touches: readonly TouchResult[]): string {
  if (touches.length === 0) return '-';
  const told = touches.filter(({ swing, agrees }) => swing !== 'none' || agrees === false);
  return told.length === 0 ? 'none swings' : [...new Set(told.map(touchCell))].join('; ');
}

function touchCell({ at, swing, expected, agrees }: TouchResult): string {
  const should = expected === null ? 'a swing' : SIGNS[expected];
  return `${at} ${SIGNS[swing]}${agrees === false ? `, should be ${should}` : ''}`;
}

function causeLines({ faults, confidence, tell }: ProvedCause, at: number): string[] {
  const share = confidence > 0.995 ? 'above 99 %' : `${Math.max(1, Math.round(100 * confidence))} %`;
  const [first] = faults;
  const said = faults.length === 1
    ? `${first!.text}. What to do: ${first!.cure}.`
    : `One of these, which every setting at the jack shows alike: ${listed(faults.map(({ text }, index) => ({ text: `(${letterOf(index)}) ${text}` })))}.`;
  const lines = paragraph(`  ${at + 1}. (${share}) ${said}`, 5);
  return tell === null ? lines : [...lines, ...paragraph(`     ${tell}`, 5)];
}

function listed(faults: readonly { readonly text: string }[], most = TOLD_most): string {
  const told = faults.slice(0, most).map(({ text }) => text).join('; ');
  const left = faults.length - most;
  return left > 0 ? `${told}; and ${left} more, which --json tells` : told;
}
