/** The README's pictures are what the program shows and draws. `npm run picture` draws them again. */
import { createElement } from 'react';
import { describe, expect, it } from 'vitest';
import { BenchModel } from '../../host/src/bench/bench-model.ts';
import { virtualBench } from '../../host/src/bench/bench.ts';
import { harnessSheet } from '../../host/src/drawing/sheet.ts';
import { svgOf } from '../../host/src/drawing/svg.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { BenchView } from '../../host/src/bench/view.ts';
import { example, loadInColour } from '../harness/example-harnesses.ts';
import { terminalSvg } from './terminal-svg.ts';

const COLUMNS = 100;
/** Of the terminal while the coils are touched, and of the one at the end. */
const ROWS = [25, 20] as const;
/** Ink asks for it when it is loaded, which therefore comes later. */
process.env.FORCE_COLOR = '1';

/** What the bench shows of the first pickup of the demo lot: when it has been touched for the last time, and at the end. */
async function views(): Promise<{ touched: BenchView; last: BenchView }> {
  let ended = (): void => undefined;
  const done = new Promise<void>((resolve) => { ended = resolve; });
  const model = new BenchModel(virtualBench({ seed: 1, lot: demoLot, automatic: true }), {
    timeOfDay: () => '2026-01-01T00:00:00Z', keep: () => { ended(); return null; },
  });
  let touched = model.view();
  model.subscribe(() => {
    const view = model.view();
    if (view.prompt.startsWith('Touch')) touched = view;
  });
  void model.button();
  await done;
  await new Promise(setImmediate);
  const last = model.view();
  await model.close();
  return { touched, last };
}

describe('the picture of the screen', () => {
  it('is what the program shows', async () => {
    const { touched, last } = await views();
    expect([touched.trace.length, touched.map?.coils.length, last.final]).toEqual([2, 2, true]);
    const { renderToString } = await import('ink');
    const { BenchScreen } = await import('../../host/src/screens/bench-screen.tsx');
    const frame = (view: BenchView, rows: number, tab: 'map' | 'wiring'): string =>
      renderToString(createElement(BenchScreen, { view, columns: COLUMNS, rows, tab, scroll: 0 }), { columns: COLUMNS });
    const frames = [frame(touched, ROWS[0], 'map'), frame(last, ROWS[1], 'wiring')];
    const svg = terminalSvg(frames, COLUMNS, 'The bench screen, first while the lower of two coils is touched, then at the end of the test');
    await expect(svg).toMatchFileSnapshot('../../hardware-notes/bench-screen.svg');
  });

  it('places letters in their cells, in their style', () => {
    const svg = terminalSvg(['\x1b[1mA & B\x1b[22m   c\n\x1b[2m\x1b[33mx\x1b[39m\x1b[22m', '▄▄'], 20, 't');
    expect(svg.match(/<(text|rect) x.*/g)).toEqual([
      '<text x="16" y="29.5" textLength="42" font-weight="bold">A &amp; B</text>',
      '<text x="83.2" y="29.5" textLength="8.4">c</text>',
      '<text x="16" y="47.5" textLength="8.4" fill="#e0b354">x</text>',
      '<rect x="16" y="103" width="16.8" height="9"/>',
    ]);
    expect(() => terminalSvg(['\x1b[45mx'], 20, 't')).toThrow('the picture knows no SGR 45');
  });
});

describe('the picture to solder from', () => {
  it('is what the program draws of an example', async () => {
    const svg = svgOf(harnessSheet(loadInColour(example('two-pairs-one-split'))));
    await expect(svg).toMatchFileSnapshot('../../hardware-notes/solder-sheet.svg');
  });
});
