/** Touches as they were heard, drawn: a plot for each listening channel over time. */
import type { BenchChannel, BenchTouch } from '../files/bench-record.ts';
import { niceScale } from '../text/nice-scale.ts';
import { fitted } from '../drawing/letters.ts';
import { at, box, FAINT, INK, line, SOFT, text, type Block, type Point, type Shape } from '../drawing/scene.ts';

const HEIGHT = 46;
const SIZE = 6.8;
const LABEL_width = 96;
/** Points along a trace; what lies between them is kept by its lowest and highest value. */
const COLUMNS = 300;

/** One plot. @param heading - what stands to its left, a line each @param scale_V - its upper edge */
export function tracePlot(
  { volts_V }: BenchChannel, { rate_Hz, start_s }: BenchTouch, heading: readonly string[], scale_V: number, left: number, width: number,
): Block {
  const plotLeft = left + LABEL_width;
  const plotWidth = width - LABEL_width;
  const [top, bottom] = [3, HEIGHT - 12];
  const yOf = (volt_V: number): number => top + ((scale_V - volt_V) / (2 * scale_V)) * (bottom - top);
  const end_s = start_s + volts_V.length / rate_Hz;
  const lost = volts_V.filter((volt_V) => volt_V === null).length;
  const shapes: Shape[] = [
    ...heading.map((words, row) => {
      const [bold, colour] = row === 0 ? [true, INK] : [false, SOFT];
      return text(at(left, top + 7 + row * 8.4), fitted(words, SIZE, LABEL_width - 34, bold), SIZE, { bold, colour });
    }),
    box(at(plotLeft, top), plotWidth, bottom - top, { colour: FAINT, width: 0.6 }),
    line(at(plotLeft, yOf(0)), at(plotLeft + plotWidth, yOf(0)), 0.4, FAINT),
    text(at(plotLeft - 3, top + 5), `+${millivolts(scale_V)}`, SIZE, { anchor: 'end', colour: SOFT }),
    text(at(plotLeft - 3, bottom), `\u2013${millivolts(scale_V)}`, SIZE, { anchor: 'end', colour: SOFT }),
    text(at(plotLeft, HEIGHT - 4), `${start_s.toFixed(2)} s`, SIZE, { colour: SOFT }),
    text(at(plotLeft + plotWidth, HEIGHT - 4), `${end_s.toFixed(2)} s`, SIZE, { anchor: 'end', colour: SOFT }),
  ];
  if (lost > 0) {
    const words = `${lost} of ${volts_V.length} values over range`;
    shapes.push(text(at(plotLeft + plotWidth / 2, HEIGHT - 4), words, SIZE, { anchor: 'middle' }));
  }
  for (const points of curves(volts_V, plotLeft, plotWidth, yOf)) shapes.push({ kind: 'line', points, colour: INK, width: 0.5 });
  return { height: HEIGHT, shapes };
}

/** The scale that holds all channels of a touch, so that they can be compared by eye. */
export function touchScale_V({ channels }: BenchTouch): number {
  const largest = (volts_V: BenchChannel['volts_V'], most: number): number =>
    volts_V.reduce<number>((so, volt_V) => Math.max(so, Math.abs(volt_V ?? 0)), most);
  return niceScale(channels.reduce((most, { volts_V }) => largest(volts_V, most), 0));
}

function millivolts(volt_V: number): string {
  return volt_V < 1 ? `${Number((volt_V * 1e3).toPrecision(3))} mV` : `${volt_V} V`;
}

/** Lines that pass through the lowest and the highest value of each column; where nothing is known the line ends. */
function curves(volts_V: BenchChannel['volts_V'], left: number, width: number, yOf: (volt_V: number) => number): Point[][] {
  const found: Point[][] = [[]];
  const columns = Math.min(COLUMNS, volts_V.length);
  for (let column = 0; column < columns; column += 1) {
    const [from, to] = [column, column + 1].map((edge) => Math.floor((edge * volts_V.length) / columns));
    const known = volts_V.slice(from, to).filter((volt_V) => volt_V !== null);
    const x = left + ((column + 0.5) / columns) * width;
    if (known.length === 0) {
      if (found.at(-1)!.length > 0) found.push([]);
      continue;
    }
    const [low, high] = [Math.min(...known), Math.max(...known)];
    found.at(-1)!.push(at(x, yOf(high)), ...(low === high ? [] : [at(x, yOf(low))]));
  }
  return found.filter((points) => points.length > 1);
}
