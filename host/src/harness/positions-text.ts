/** Settings of a harness and where its leads go, for people. */
import { cautionLines } from '../text/cautions.ts';
import { fittedLookAlikes, type HarnessFinding } from './findings.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import type { Setting } from './harness.ts';
import type { LoadedHarness } from './load-harness.ts';
import type { Positions } from './positions.ts';
import type { SettingResult } from './setting-result.ts';
import { mergedSettings } from './settings-in-words.ts';
import { solderingList } from './soldering.ts';
import { paragraph, tableLines, type Column } from './table.ts';
import { wayInWords } from './ways.ts';

const TABLE: readonly Column[] = [
  { title: 'setting', width: 17 },
  { title: 'sounds', width: 24 },
  { title: 'phase', width: 5 },
  { title: 'hum', width: 5, isNumber: true },
  { title: 'at the jack', width: 11, isNumber: true },
  { title: 'peak', width: 8, isNumber: true },
];

/** The table, what was found, and the soldering list. */
export function positionsText(loaded: LoadedHarness, positions: Positions): string {
  const lines = titleLines(positions.title);
  lines.push(...settingTable(loaded, positions.settings), '');
  lines.push(...findingLines(positions.findings), ...lookAlikeLines(loaded), ...solderingLines(loaded), ...cautionTail());
  return `${lines.join('\n')}\n`;
}

/** What was found, if anything. */
export function findingLines(findings: readonly HarnessFinding[]): string[] {
  if (findings.length === 0) return [];
  return ['Findings', ...findings.flatMap(({ severity, text }) => paragraph(`  - ${severity}: ${text}`, 4)), ''];
}

/** Pickups that their colours do not tell apart, if there are any. */
export function lookAlikeLines({ pickups }: LoadedHarness): string[] {
  const found = fittedLookAlikes(pickups);
  return found.length === 0 ? [] : ['Look-alikes', ...found.flatMap(({ text }) => paragraph(`  - ${text}`, 4)), ''];
}

/** A harness's title and the line below it. */
export function titleLines(title: string | undefined): string[] {
  return title === undefined ? [] : [...paragraph(title), ''];
}

/** The cautions that end every output on wiring. */
export function cautionTail(): string[] {
  return ['Cautions', ...cautionLines().flatMap(({ text, indent }) => paragraph(text, indent))];
}

/** A row for what each setting does, those that do the same in one, and what the columns mean. */
export function settingTable({ harness, pickups }: LoadedHarness, settings: readonly SettingResult[]): string[] {
  const rows = new Map<string, { readonly cells: readonly string[]; readonly settings: Setting[] }>();
  for (const result of settings) {
    const cells = cellsOf(result, pickups);
    const key = JSON.stringify(cells);
    if (!rows.has(key)) rows.set(key, { cells, settings: [] });
    rows.get(key)!.settings.push(result.setting);
  }
  const table = [...rows.values()].flatMap((row) =>
    mergedSettings(harness, row.settings).map((setting) => [whichCell(setting), ...row.cells]));
  const isMerged = table.length < settings.length;
  return [
    ...tableLines(TABLE, table),
    '',
    ...paragraph(
      `${isMerged ? 'A switch that is not named may stand anywhere. ' : ''}` +
        'sounds: share of each coil that reaches the jack, minus when it is turned over. ' +
        'hum: how much is left, 100 % as of a single coil. at the jack: ohms without a cable, controls included. peak: resonance with the load attached.',
    ),
  ];
}

/** One position a line. */
export function whichCell(setting: Setting): string {
  return Object.entries(setting).map(([id, name]) => `${id} ${name}`).join('; ') || 'any';
}

/** What a setting does: what sounds, phase, hum, ohms at the jack, peak. */
export function cellsOf(result: SettingResult, pickups: readonly FittedPickup[]): string[] {
  return [
    soundsInWords(result, pickups),
    phaseInWords(result),
    result.state !== 'sounds' ? '-' : result.hum === null ? '?' : `${Math.round(100 * result.hum)} %`,
    result.ohm === null ? 'no path' : ohmInWords(result.ohm),
    result.resonance_Hz === null ? '-' : `${(result.resonance_Hz / 1000).toPrecision(3)} kHz`,
  ];
}

function soundsInWords({ sounding, state }: SettingResult, pickups: readonly FittedPickup[]): string {
  if (state !== 'sounds') return state === 'shorted' ? 'nothing: shorted' : 'nothing';
  return sounding
    .map(({ slot, coil, share }) => {
      const pickup = pickups.find((one) => one.slot.slot === slot)!;
      const place = pickup.coils.find(({ name }) => name === coil)?.place ?? null;
      const which = pickup.coils.length === 1 ? '' : ` ${place ?? coil}`;
      return `${slot}${which} ${Math.round(100 * share)} %`;
    })
    .join('; ');
}

function phaseInWords({ state, in_phase, sounding }: SettingResult): string {
  if (state !== 'sounds') return '-';
  if (in_phase === null) return '?';
  if (!in_phase) return 'OUT';
  return sounding.length > 1 ? 'in' : '-';
}

/** Ohms as a meter shows them: three digits after the point of kilohms. */
function ohmInWords(ohm: number): string {
  if (ohm < 1) return `${ohm.toPrecision(1)} ohm`;
  if (ohm < 1000) return `${ohm.toFixed(0)} ohm`;
  return ohm < 1e6 ? `${(ohm / 1000).toFixed(2)} k` : `${(ohm / 1e6).toFixed(3)} M`;
}

/** Where every lead of every pickup goes, lead by lead, numbered through. */
export function solderingLines(loaded: LoadedHarness): string[] {
  const { pickups } = loaded;
  if (pickups.length === 0) return [];
  const joints = solderingList(loaded);
  const lines = ['Soldering list'];
  pickups.forEach(({ slot, way, coils }, at) => {
    lines.push(...paragraph(`  ${slot.slot}${way === null ? '' : `: ${wayInWords(way, coils)}`}`, 4));
    for (const { number, lead, text } of joints.filter(({ pickup }) => pickup === at))
      lines.push(...paragraph(`  ${String(number).padStart(2)}. ${lead}: ${text}`, 6));
  });
  return [...lines, ''];
}
