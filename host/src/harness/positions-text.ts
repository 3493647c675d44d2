/** Settings of a harness and where its leads go, for people. */
import { printable } from '../text/printable.ts';
import { colourInWords } from '../wiremap/colours.ts';
import { cautionLines } from '../wiring/lines.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import type { Setting } from './harness.ts';
import type { LoadedHarness } from './load-harness.ts';
import { NodeNames } from './node-names.ts';
import type { HarnessFinding, Positions, SettingResult } from './positions.ts';
import { mergedSettings } from './settings-in-words.ts';
import { paragraph, tableLines, type Column } from './table.ts';
import { groupOf, wayInWords } from './ways.ts';

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
  lines.push(...findingLines(positions.findings), ...solderingLines(loaded), ...cautionTail());
  return `${lines.join('\n')}\n`;
}

/** What was found, if anything. */
export function findingLines(findings: readonly HarnessFinding[]): string[] {
  if (findings.length === 0) return [];
  return ['Findings', ...findings.flatMap(({ severity, text }) => paragraph(`  - ${severity}: ${text}`, 4)), ''];
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
function whichCell(setting: Setting): string {
  return Object.entries(setting).map(([id, name]) => `${id} ${name}`).join('; ') || 'any';
}

function cellsOf(result: SettingResult, pickups: readonly FittedPickup[]): string[] {
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
export function solderingLines({ harness, pickups }: LoadedHarness): string[] {
  if (pickups.length === 0) return [];
  const names = new NodeNames(harness);
  const lines = ['Soldering list'];
  let number = 0;
  for (const pickup of pickups) {
    lines.push(...paragraph(`  ${pickup.slot.slot}${pickup.way === null ? '' : `: ${wayInWords(pickup.way)}`}`, 4));
    for (const clip of pickup.leads.clips)
      lines.push(...paragraph(`  ${String(++number).padStart(2)}. ${leadInWords(clip, pickup.colours)}: ${placeInWords(pickup, clip, names)}`, 6));
  }
  return [...lines, ''];
}

/** A lead as a person finds it. */
function leadInWords(clip: number, colours: ReadonlyMap<number, string | undefined>): string {
  const colour = colours.get(clip);
  return colour === undefined ? `clip ${clip}` : `clip ${clip}, ${colourInWords(colour)}`;
}

/** Where a lead goes: nodes of the harness, other leads, or nowhere. */
function placeInWords({ slot, leads, placement, colours }: FittedPickup, clip: number, names: NodeNames): string {
  const isPrivate = (node: string): boolean => names.isPrivate(node, slot.slot);
  const nodes = placement.get(clip) ?? [];
  if (nodes.length === 0) {
    const others = leads.clips.filter((other) =>
      other !== clip && groupOf(leads, other) === groupOf(leads, clip) && (placement.get(other) ?? []).length > 0);
    return others.length === 0 ? 'insulate it, each such lead by itself' : `insulate it (inside, it is joined to clip ${others.join(', ')})`;
  }
  return nodes.map((node) => (isPrivate(node) ? joinedTo(node) : nodeInWords(node))).join(', and ');

  function joinedTo(node: string): string {
    const others = leads.clips.filter((other) => other !== clip && (placement.get(other) ?? []).includes(node));
    return others.length === 0
      ? 'insulate it, it is the link between two coils'
      : `join it to ${others.map((other) => leadInWords(other, colours)).join(' and ')}, and insulate the joint`;
  }

  function nodeInWords(node: string): string {
    const roles = (['hot', 'link', 'ground', 'frame'] as const).filter((role) => slot[role] === node);
    const role = roles[0] === 'ground' && roles.includes('frame') ? 'ground' : roles[0];
    return role === undefined || role === node ? `to ${printable(node)}` : `to ${role} (${printable(node)})`;
  }
}
