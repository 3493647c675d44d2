/** The wire map as lines for the lower panel: the same facts as the printed map, shorter. */
import { doubtOf } from '../wiremap/doubt.ts';
import type { WireMap, WireMapCoil, WireMapPair } from '../wiremap/wiremap.ts';
import type { ClipLabel } from '../bench/view.ts';
import { shortOhms } from '../bench/view.ts';
import { percent } from '../text/percent.ts';
import { noCoilLine } from '../wiring/render-text.ts';

/** A space at which a line is not broken; printed as a space. */
export const KEPT = '\u00a0';

/** A clip with its colour code: `2 YE`; a null clip is `?`. */
function clipWords(clip: number | null, clips: readonly ClipLabel[]): string {
  if (clip === null) return '?';
  const colour = clips.find((one) => one.clip === clip)?.colour;
  return colour ? `${clip} ${colour}` : String(clip);
}

/** One coil in one line. */
export function coilLine(coil: WireMapCoil, clips: readonly ClipLabel[]): string {
  const parts: string[] = [coil.name];
  if (coil.minus !== null || coil.plus !== null) {
    parts.push(`minus ${clipWords(coil.minus, clips)}, plus ${clipWords(coil.plus, clips)}`);
  } else if (coil.ends) {
    parts.push(`between ${coil.ends.map((end) => clipWords(end, clips)).join(' and ')}`);
  }
  if (coil.ohm === null) {
    parts.push('open');
  } else {
    const uncertainty = coil.u_ohm === undefined ? '' : ` ±${shortOhms(coil.u_ohm)}`;
    parts.push(`${coil.ohm.toFixed(coil.ohm < 10_000 ? 1 : 0)}${uncertainty} ohm`);
  }
  if (coil.ohm !== null && coil.ohm_20C !== undefined) parts.push(`${coil.ohm_20C.toFixed(coil.ohm_20C < 10_000 ? 1 : 0)} at 20 C`);
  if (coil.inductance_H !== undefined) parts.push(`${coil.inductance_H.toPrecision(3)} H`);
  if (coil.place !== null) parts.push(coil.place);
  if (coil.pole !== null) parts.push(`pole ${coil.pole}`);
  if (coil.confidence !== undefined) parts.push(`plus is sure to ${percent(coil.confidence)} %`);
  return parts.map((part) => part.replaceAll(' ', KEPT)).join('  ');
}

/** What its ring says of a coil, '' when it was not heard. */
function ringWords(coil: WireMapCoil): string {
  const parts: string[] = [];
  if (coil.capacitance_F !== undefined) parts.push(`${(coil.capacitance_F * 1e12).toFixed(0)} pF`);
  if (coil.loss_ohm !== undefined) parts.push(`core loss as ${shortOhms(coil.loss_ohm)} ohm`);
  if (coil.resonance_Hz !== undefined && coil.q !== undefined)
    parts.push(coil.q < 0.5 ? 'no resonance' : `${(coil.resonance_Hz / 1e3).toPrecision(3)} kHz, Q ${coil.q.toPrecision(2)}`);
  return parts.map((part) => part.replaceAll(' ', KEPT)).join('  ');
}

/** Whether the poles of two coils differ, in one line. */
function pairLine({ a, b, poles_differ }: WireMapPair): string {
  const words = poles_differ === null ? 'not known whether their poles differ' : poles_differ ? 'poles differ' : 'poles are equal';
  return `${a} and ${b}  ${words}`.replaceAll(' ', KEPT).replaceAll(`${KEPT}${KEPT}`, '  ');
}

/** Everything the map tab shows. @param final - before the end, what is not known yet says nothing */
export function mapLines(map: WireMap, clips: readonly ClipLabel[], final: boolean): string[] {
  const lines: string[] = [];
  for (const coil of map.coils) {
    lines.push(coilLine(coil, clips));
    const ring = ringWords(coil);
    if (ring !== '') lines.push(`  ${ring}`);
    if (coil.text) lines.push(`  ${coil.text}`);
  }
  for (const pair of map.pairs) lines.push(pairLine(pair));
  if (map.coils.length === 0) lines.push(final ? noCoilLine(map) : 'No coil found yet.');
  if (map.chassis.length > 0) {
    lines.push(`chassis  ${map.chassis.map((clip) => clipWords(clip, clips)).join(', ')}`);
  }
  for (const group of map.joined) {
    lines.push(`joined  ${group.map((clip) => clipWords(clip, clips)).join(' with ')}`);
  }
  if (final) for (const text of map.unknown) lines.push(`? ${text}`);
  return lines;
}

/** Everything the findings tab shows, the worst first. */
export function findingLines(map: WireMap): string[] {
  if (map.findings.length === 0) {
    return [map.verdict === 'good' && doubtOf(map) === ''
      ? 'Nothing found against this pickup.' : 'Nothing found in what was measured; what is not known stands in the map.'];
  }
  const order = { fault: 0, warning: 1, note: 2 };
  return [...map.findings]
    .sort((one, other) => order[one.severity] - order[other.severity])
    .map(({ severity, text }) => `${severity.toUpperCase()}  ${text}`);
}
