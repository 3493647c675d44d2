/** Every pair of leads against each other, as it was read. */
import type { BenchRecord, BenchResistance } from '../files/bench-record.ts';
import { at, box, FAINT, SOFT, text, together, type Block, type Shape } from '../drawing/scene.ts';
import type { LeadColours } from '../wiremap/lead-words.ts';
import { shortOhms } from './ohms.ts';

const ROW = 22;
const SIZE = 8;
const HEAD_width = 60;

/** The table: in each cell the reading, and twice its standard uncertainty below it. */
export function matrixTable({ clips, resistances }: BenchRecord, colours: LeadColours, left: number, width: number): Block[] {
  const cell = (width - HEAD_width) / Math.max(1, clips.length - 1);
  const name = (clip: number): string => [`clip ${clip}`, colours.get(clip) ?? ''].filter((part) => part !== '').join(' ');
  const rows = clips.slice(0, -1).map(({ clip }, row): Block => {
    const shapes: Shape[] = [text(at(left, 13), name(clip), SIZE, { bold: true })];
    clips.slice(row + 1).forEach(({ clip: other }, below) => {
      const x = left + HEAD_width + (row + below) * cell;
      // The newest reading of a pair is what it is now.
      const reading = resistances.findLast(({ a, b }) => (a === clip && b === other) || (a === other && b === clip));
      shapes.push(box(at(x, 0), cell, ROW, { colour: FAINT, width: 0.5 }));
      const [first, second] = inCell(reading);
      shapes.push(text(at(x + cell / 2, 9.5), first!, SIZE, { anchor: 'middle' }));
      if (second !== undefined) shapes.push(text(at(x + cell / 2, 18.5), second, 6.6, { anchor: 'middle', colour: SOFT }));
    });
    return { height: ROW, shapes };
  });
  const head = clips.slice(1).map(({ clip }, column) => (
    text(at(left + HEAD_width + (column + 0.5) * cell, 9), name(clip), SIZE, { bold: true, anchor: 'middle' })));
  return together([{ height: 14, shapes: head }, ...rows, { height: 6, shapes: [] }]);
}

function inCell(reading: BenchResistance | undefined): string[] {
  if (reading === undefined) return ['not read'];
  const { ohm, above_ohm, u_ohm } = reading;
  if (ohm === null) return ['open', ...(above_ohm === undefined ? [] : [`above ${limit(above_ohm)}`])];
  const shown = ohm < 999.5 ? shortOhms(ohm) : `${(ohm / 1e3).toFixed(3)} kilohm`;
  return [shown, ...(u_ohm === undefined ? [] : [`\u00b1 ${Number((2 * u_ohm).toPrecision(2))} ohm`])];
}

function limit(ohm: number): string {
  const [share, unit] = ohm >= 1e6 ? [1e6, 'megohm'] as const : ohm >= 1e3 ? [1e3, 'kilohm'] as const : [1, 'ohm'] as const;
  return `${Number((ohm / share).toPrecision(3))} ${unit}`;
}
