/** Draws a signal as rows of half-block characters: no colour, no cursor tricks, so it can be tested as text. */
import type { Span } from '../bench/view.ts';
import { niceScale } from '../text/nice-scale.ts';

/** The rows of a plot and the value of its upper edge. */
export type Plot = { readonly rows: readonly string[]; readonly fullScale_V: number };

/** Merges neighbouring spans so that at most `width` are left; all time stays visible. */
export function squeeze(spans: readonly Span[], width: number): Span[] {
  if (spans.length <= width) return [...spans];
  const out: Span[] = [];
  for (let column = 0; column < width; column += 1) {
    const from = Math.floor((column * spans.length) / width);
    const to = Math.max(from + 1, Math.floor(((column + 1) * spans.length) / width));
    let low_V = Infinity;
    let high_V = -Infinity;
    for (let i = from; i < to; i += 1) {
      low_V = Math.min(low_V, spans[i].low_V);
      high_V = Math.max(high_V, spans[i].high_V);
    }
    out.push({ low_V, high_V });
  }
  return out;
}

/** Largest magnitude in a trace that was not over range, volts; 0 when there is none. */
export function largest(spans: readonly Span[]): number {
  const finite = (volt_V: number): number => (Number.isFinite(volt_V) ? Math.abs(volt_V) : 0);
  return spans.reduce((most, { low_V, high_V }) => Math.max(most, finite(low_V), finite(high_V)), 0);
}

/** What most of a trace stays within, volts: the median of the magnitudes of its spans; 0 when there is none. */
export function usual(spans: readonly Span[]): number {
  const sizes = spans.map((span) => largest([span])).sort((one, other) => one - other);
  return sizes[sizes.length >> 1] ?? 0;
}

/**
 * A plot around zero. Each cell holds two values, upper and lower half.
 * @param spans - in time order @param width - columns @param height - rows, an odd number keeps zero on a row
 * @param atLeast_V - what the scale must hold besides, so that traces side by side can be compared by eye
 */
export function plot(spans: readonly Span[], width: number, height: number, atLeast_V = 0): Plot {
  const columns = squeeze(spans, width);
  const fullScale_V = niceScale(Math.max(largest(columns), atLeast_V));
  const halves = height * 2;
  const half = (volt_V: number): number => {
    const position = ((fullScale_V - volt_V) / (2 * fullScale_V)) * halves;
    return Math.min(halves - 1, Math.max(0, Math.floor(position)));
  };
  const middle = Math.floor(height / 2);
  const rows: string[] = [];
  for (let row = 0; row < height; row += 1) {
    let text = '';
    for (let column = 0; column < width; column += 1) {
      const blank = row === middle ? '─' : ' ';
      const span = columns[column];
      if (!span) {
        text += blank;
        continue;
      }
      const top = half(span.high_V);
      const bottom = half(span.low_V);
      if (row === middle && top >= row * 2 && bottom <= row * 2 + 1) {
        // What stays within the middle row is a thin line, so that a touch stands out as soon as it comes.
        text += '━';
        continue;
      }
      const upper = row * 2 >= top && row * 2 <= bottom;
      const lower = row * 2 + 1 >= top && row * 2 + 1 <= bottom;
      text += upper && lower ? '█' : upper ? '▀' : lower ? '▄' : blank;
    }
    rows.push(text);
  }
  return { rows, fullScale_V };
}

/** A voltage for a label: `200 mV`, `1.5 V`. */
export function voltWords(volt_V: number): string {
  return Math.abs(volt_V) < 1 ? `${Number((volt_V * 1000).toPrecision(3))} mV` : `${volt_V} V`;
}
