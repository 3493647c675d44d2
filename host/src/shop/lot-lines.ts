/** What the pickups of a lot are compared by, in lines: which differ, and pictures of their values. */
import { henryAxis, histogram, ohmAxis, scatter } from '../records/charts.ts';
import type { LotSummary } from '../records/comparing.ts';
import { median, medianDeviation } from '../records/outliers.ts';
import { printable } from '../text/printable.ts';
import { wrap } from '../text/wrap.ts';

const SCATTER_ROWS = 12;

/** Paragraphs with an empty line between them. @param columns - no line is longer */
export function lotLines({ lines, report }: LotSummary, columns: number): string[] {
  const groups = report.groups.map(({ leads, n }) => `${n} with ${leads}`).join('; ');
  const told = report.outliers.flatMap(({ number, text }) => wrap(printable(`${number}: ${text}`), columns, 2));
  const parts = [[
    ...wrap(printable(`Compared: ${groups || 'none'}.`), columns, 2), ...(told.length === 0 ? ['None differs from the others.'] : told),
  ]];
  const ohms = lines.flatMap(({ ohm }) => (ohm === null ? [] : [ohm]));
  if (ohms.length > 1) {
    const spread = `median ${ohmAxis(median(ohms))}, MAD ${ohmAxis(medianDeviation(ohms))}, n = ${ohms.length}`;
    parts.push([`Ohms, all coils in series (${spread})`, ...histogram(ohms, columns, ohmAxis)]);
  }
  const points = lines.flatMap(({ ohm, henry }) => (ohm === null || henry === null ? [] : [{ x: ohm, y: henry }]));
  if (points.length > 1) parts.push(['Henries over ohms', ...scatter(points, columns, SCATTER_ROWS, { x: ohmAxis, y: henryAxis })]);
  return parts.flatMap((part, index) => (index === 0 ? part : ['', ...part]));
}
