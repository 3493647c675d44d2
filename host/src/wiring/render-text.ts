/** The wire map for people: plain text, 80 columns, no colour needed. */
import { printable } from '../text/printable.ts';
import { cautionLines } from '../text/cautions.ts';
import { wiringLines, type WiringLine } from '../wiring/lines.ts';
import { doubtOf, type Doubt } from '../wiremap/doubt.ts';
import { likelyCoils } from '../wiremap/likely-plus.ts';
import { HIDDEN_END, leadInWords, leadsInWords, type LeadColours } from '../wiremap/lead-words.ts';
import { percent } from '../text/percent.ts';
import { wrap } from '../text/wrap.ts';
import type { WireMap, WireMapCoil, WireMapPart, VerdictWord } from '../wiremap/wiremap.ts';

/** Width of a line, columns. */
const COLUMNS = 80;

const GOOD: Readonly<Record<Doubt, string>> = {
  '': 'GOOD: nothing speaks against fitting this pickup.',
  warning: 'GOOD, with a warning: read the findings before you fit this pickup.',
  likely: 'GOOD, but not every plus and minus is sure yet: touch again before you solder.',
};
const VERDICT: Readonly<Record<Exclude<VerdictWord, 'good'>, string>> = {
  fault: 'FAULT: do not fit this pickup as it is.',
  unsure: 'UNSURE: evidence is missing or contradicts itself; see below.',
};

/** The verdict in a sentence; a good one says what is still to be minded. */
export function verdictLine(map: WireMap): string {
  return map.verdict === 'good' ? GOOD[doubtOf(map)] : VERDICT[map.verdict];
}

/** Said in place of coils. */
export function noCoilLine({ findings }: WireMap): string {
  return findings.some(({ kind }) => kind === 'live') ? 'Nothing was measured: a voltage stands on the leads.' : 'No coil was found.';
}

/** The readable wire map.
 * @param map - what was solved
 * @param colours - of the leads, by clip
 * @param demand - how to ask for ways of wiring that are less often wanted, such as `--all-ways`; null prints them all
 * @returns lines joined by newlines, with one at the end
 */
export function renderWireMap(map: WireMap, colours: LeadColours, demand: string | null): string {
  const lines = [verdictLine(map), ''];
  for (const coil of map.coils) lines.push(...coilLines(map, coil, colours), '');
  if (map.coils.length === 0) lines.push(noCoilLine(map), '');
  if (map.chassis.length > 0) lines.push(...paragraph('Chassis: ', leadsInWords(map.chassis, colours)));
  for (const group of map.joined) lines.push(...paragraph('Joined: ', leadsInWords(group, colours)));
  if (map.chassis.length + map.joined.length > 0) lines.push('');
  lines.push(...poleLines(map));
  lines.push(
    ...section(
      'Findings',
      map.findings.map((finding) => `${finding.severity}: ${printable(finding.text)}`),
    ),
  );
  lines.push(
    ...section(
      'Not known',
      map.unknown.map((sentence) => printable(sentence)),
    ),
  );
  lines.push('Wiring', ...laid(wiringLines(map, colours, demand)), '');
  lines.push('Cautions', ...laid(cautionLines()));
  while (lines.at(-1) === '') lines.pop();
  return `${lines.join('\n')}\n`;
}

function coilLines(map: WireMap, coil: WireMapCoil, colours: LeadColours): string[] {
  const lines: string[] = [];
  const where = coil.place === null ? '' : `, ${printable(coil.place)}`;
  lines.push(...wrapped(`${coil.name}${where}`, 0));
  if (coil.plus !== null && coil.minus !== null) {
    lines.push(...paragraph('  minus       ', leadInWords(coil.minus, colours)));
    lines.push(...paragraph('  plus        ', leadInWords(coil.plus, colours)));
    if (coil.confidence !== undefined) {
      const again = likelyCoils(map).includes(coil) ? '; touch it again before you solder' : '';
      lines.push(`  sure of it  ${percent(coil.confidence)} %${again}`);
    }
  } else if (coil.ends !== null) {
    lines.push(
      ...paragraph('  ends        ', `${leadsInWords(coil.ends, colours)}; plus and minus not known`),
    );
  }
  if (coil.ohm !== null) lines.push(...paragraph('  resistance  ', resistance(coil)));
  else lines.push(...paragraph('  resistance  ', coil.hidden_end === true ? `not told: ${HIDDEN_END}` : 'none: the winding is broken'));
  if (coil.hidden_junction === true) for (const part of coil.parts ?? []) lines.push(...paragraph('  inside      ', partInWords(part, coil)));
  else lines.push(...paragraph('  pole        ', poleInWords(coil)));
  if (coil.inductance_H !== undefined)
    lines.push(`  inductance  ${coil.inductance_H.toPrecision(3)} henry`);
  lines.push(...ringLines(coil));
  if (coil.text !== undefined) lines.push(...paragraph('  note        ', printable(coil.text)));
  return lines;
}

/** Capacitance, loss and resonance of the coil with nothing on it. */
function ringLines(coil: WireMapCoil): string[] {
  const lines: string[] = [];
  if (coil.capacitance_F !== undefined && coil.u_capacitance_F !== undefined)
    lines.push(
      `  capacitance ${(coil.capacitance_F * 1e12).toFixed(0)} pF, uncertainty ${Number((coil.u_capacitance_F * 1e12).toPrecision(1))} pF (k = 1)`,
    );
  if (coil.loss_ohm !== undefined)
    lines.push(`  core loss   as ${(coil.loss_ohm / 1e3).toPrecision(3)} kilohm across it`);
  if (coil.resonance_Hz !== undefined && coil.q !== undefined)
    lines.push(
      coil.q < 0.5
        ? '  resonance   none: its losses do not let it swing'
        : `  resonance   ${(coil.resonance_Hz / 1e3).toPrecision(3)} kHz with nothing on it, Q ${coil.q.toPrecision(2)}`,
    );
  return lines;
}

function resistance(coil: WireMapCoil): string {
  const ohm = coil.ohm as number;
  const digits =
    coil.u_ohm === undefined ? 1 : Math.max(0, Math.min(2, Math.ceil(1 - Math.log10(coil.u_ohm))));
  const spread =
    coil.u_ohm === undefined ? '' : `, uncertainty ${coil.u_ohm.toPrecision(2)} ohm (k = 1)`;
  const at20 = coil.ohm_20C === undefined ? '' : `; ${coil.ohm_20C.toFixed(digits)} ohm at 20 C`;
  return `${ohm.toFixed(digits)} ohm${spread}${at20}`;
}

/** One of the coils inside a stretch: what its magnet and its touches said. */
function partInWords({ place, pole, sense }: WireMapPart, { plus, ends }: WireMapCoil): string {
  const shown = pole === null ? 'pole not known' : pole === 'N' ? 'north (N)' : 'south (S)';
  const end = plus === null && ends !== null ? `clip ${ends[1]}` : 'plus';
  const touched = sense === null ? 'which way a touch there moves it is not known' : `a touch there ${sense > 0 ? 'lifts' : 'lowers'} ${end}`;
  return `${printable(place)}: ${shown}; ${touched}`;
}

function poleInWords(coil: WireMapCoil): string {
  if (coil.pole === null) return 'not known';
  const pole = coil.pole === 'N' ? 'north (N)' : 'south (S)';
  if (coil.winding === undefined) return pole;
  const sense = coil.winding === 'cw' ? 'clockwise' : 'counterclockwise';
  return `${pole}; from minus to plus the wire runs ${sense}, seen from the strings`;
}

function poleLines(map: WireMap): string[] {
  const lines = map.pairs.flatMap((pair) => {
    if (pair.poles_differ === null) return [];
    const by = pair.witnesses.length === 0 ? '' : ` (shown by ${pair.witnesses.join(' and ')})`;
    return wrapped(
      `The poles of ${pair.a} and ${pair.b} ${pair.poles_differ ? 'differ' : 'are equal'}${by}.`,
      0,
    );
  });
  return lines.length === 0 ? [] : [...lines, ''];
}

function laid(lines: readonly WiringLine[]): string[] {
  return lines.flatMap(({ text, indent }) => wrapped(text, indent));
}

function section(title: string, sentences: readonly string[]): string[] {
  if (sentences.length === 0) return [];
  return [title, ...sentences.flatMap((sentence) => wrapped(`  - ${sentence}`, 4)), ''];
}

/** A label and a text that goes on below itself. */
function paragraph(label: string, text: string): string[] {
  return wrapped(`${label}${text}`, label.length);
}

/** Lines for the width of a printed map. */
function wrapped(text: string, indent: number): string[] {
  return wrap(text, COLUMNS, indent);
}
