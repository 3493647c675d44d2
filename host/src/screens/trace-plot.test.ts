import { describe, expect, it } from 'vitest';
import { niceScale } from '../text/nice-scale.ts';
import { plot, squeeze, usual, voltWords } from './trace-plot.ts';

describe('live trace', () => {
  it('takes the next of 1, 2 and 5 as full scale, and never less than 5 mV', () => {
    expect([0.0001, 0.005, 0.006, 0.07, 0.2, 0.21, 1.3].map((v) => niceScale(v)))
      .toEqual([0.005, 0.005, 0.01, 0.1, 0.2, 0.5, 2]);
  });

  it('draws an arrival above the zero line and a departure below it', () => {
    const spans = [
      { low_V: 0, high_V: 0 }, { low_V: 0, high_V: 0.1 }, { low_V: 0, high_V: 0 },
      { low_V: -0.05, high_V: 0 },
    ];
    const { rows, fullScale_V } = plot(spans, 6, 3);
    expect(fullScale_V).toBe(0.1);
    expect(rows).toEqual([
      ' █    ',
      '━█━▄──',
      '   ▀  ',
    ]);
  });

  it('keeps a short peak visible when a long trace is squeezed', () => {
    const spans = Array.from({ length: 200 }, (_, i) => ({ low_V: 0, high_V: i === 77 ? 1 : 0 }));
    const narrow = squeeze(spans, 20);
    expect(narrow).toHaveLength(20);
    expect(narrow.filter(({ high_V }) => high_V === 1)).toHaveLength(1);
  });

  it('draws an input that is over range to the edge, and does not scale by it', () => {
    const { rows, fullScale_V } = plot([{ low_V: -Infinity, high_V: Infinity }, { low_V: 0, high_V: 0.04 }], 2, 3);
    expect(fullScale_V).toBe(0.05);
    expect(rows.map((row) => row[0])).toEqual(['█', '█', '█']);
  });

  it('says volts in the unit that reads best', () => {
    expect([0.2, 0.005, 2].map(voltWords)).toEqual(['200 mV', '5 mV', '2 V']);
  });

  it('knows what a trace usually stays within, whatever one touch does', () => {
    const noise = Array.from({ length: 9 }, () => ({ low_V: -0.004, high_V: 0.003 }));
    expect(usual([...noise, { low_V: -1, high_V: 2 }])).toBe(0.004);
    expect(usual([])).toBe(0);
  });
});
