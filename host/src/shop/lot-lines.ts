/** What the pickups of a lot are compared by, in lines: which differ, and pictures of their values. */
import { henryAxis, histogram, ohmAxis, scatter } from '../records/charts.ts';
import type { LotSummary } from '../records/comparing.ts';
import { median, medianDeviation, N_LEAST, SENSES_LEAST, type ComparedGroup } from '../records/outliers.ts';
import { printable } from '../text/printable.ts';
import { wrap } from '../text/wrap.ts';

const SCATTER_ROWS = 12;

/** What of a group was not compared, and why; '' where all of it was. */
function leftOut({ n, senses, values }: ComparedGroup): string {
  if (senses === 'too few' && values === 'too few') return n < SENSES_LEAST ? ' (too few)' : ' (too little is known)';
  return [
    senses === 'split' ? 'two ways round, neither that of most' : '',
    senses === 'too few' ? 'which way round not: plus and pole of too few are known' : '',
    values === 'too few' ? `too few${n < N_LEAST ? '' : ' are known'} for values` : '',
  ].filter((part) => part !== '').map((part) => ` (${part})`).join('');
}

/** What it means that none was told of. */
function noneApart(groups: readonly ComparedGroup[]): string {
  if (groups.every(({ senses, values }) => senses === 'too few' && values === 'too few')) {
    return `Too few to compare: ${SENSES_LEAST} look-alikes show which of them is reversed, ${N_LEAST} whose values are apart.`;
  }
  return groups.every((group) => leftOut(group) === '') ? 'None differs from the others.' : 'In what was compared none differs from the others.';
}

/** Paragraphs with an empty line between them. @param columns - no line is longer */
export function lotLines({ lines, report }: LotSummary, columns: number): string[] {
  const groups = report.groups.map((group) => `${group.n} with ${group.leads}${leftOut(group)}`).join('; ');
  const told = report.outliers.flatMap(({ number, text }) => wrap(printable(`${number}: ${text}`), columns, 2));
  const parts = [[
    ...wrap(printable(`Compared: ${groups || 'none'}.`), columns, 2),
    ...(told.length === 0 ? wrap(noneApart(report.groups), columns, 2) : told),
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
