/** Pickups that are still in the guitar, for people. */
import { cautionTail, titleLines, whichCell } from '../harness/positions-text.ts';
import { paragraph, tableLines, type Column } from '../harness/table.ts';
import { ohmInWords } from './differences.ts';
import type { Survey, SurveyedSetting } from './survey.ts';

const TABLE: readonly Column[] = [
  { title: 'setting', width: 22 },
  { title: 'at the jack', width: 11, isNumber: true },
  { title: 'pickups alone', width: 16, isNumber: true },
  { title: 'sounds', width: 24 },
];

/** All that `proof` prints where no pickup is named. */
export function surveyText(survey: Survey): string {
  const { settings, findings, unknown } = survey;
  const lines = [...titleLines(survey.title), ...tableLines(TABLE, settings.map(rowOf)), '', ...paragraph(LEGEND), ''];
  if (findings.length > 0)
    lines.push('Findings', ...findings.flatMap(({ severity, text }) => paragraph(`  - ${severity}: ${text}`, 4)), '');
  lines.push('What cannot be known so, and how to learn it', ...unknown.flatMap((text) => paragraph(`  - ${text}`, 4)), '');
  lines.push(...cautionTail());
  return `${lines.join('\n')}\n`;
}

const LEGEND =
  'at the jack: ohms, controls included. pickups alone: the pots, which may be 20 % off, taken away by the circuit, with the standard ' +
  'uncertainty that is left. sounds: which way hot swings as steel arrives, + or -; coils of like sign add.';

function rowOf({ setting, ohm, pickups_ohm, u_pickups_ohm, sounding }: SurveyedSetting): string[] {
  const alone = pickups_ohm === null || u_pickups_ohm === null ? '?' : `${ohmInWords(pickups_ohm)} +- ${ohmInWords(u_pickups_ohm)}`;
  return [whichCell(setting), ohm === null ? 'no path' : ohmInWords(ohm), alone, heardCell(sounding)];
}

/** What is heard, and which way round. */
export function heardCell(sounding: SurveyedSetting['sounding']): string {
  return sounding.map(({ at, swing }) => `${at} ${swing === null ? '?' : swing === 'positive' ? '+' : '-'}`).join('; ') || 'nothing';
}
