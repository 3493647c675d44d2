/** The harness screen, letter by letter, at several sizes. */
import { renderToString } from 'ink';
import { describe, expect, it } from 'vitest';
import { example, loadInColour } from '../../../tests/harness/example-harnesses.ts';
import { CURVE_Hz, FittingModel } from '../fitting/fitting-model.ts';
import type { FittingView } from '../fitting/view.ts';
import { curvePlot } from './curve-plot.ts';
import { FittingScreen, type Panel } from './fitting-screen.tsx';

const RANGE = { from_Hz: CURVE_Hz[0]!, to_Hz: CURVE_Hz.at(-1)! };

/** Two settings compared after one change, with something in the line of messages. */
function changed(): FittingView {
  const model = new FittingModel([{ name: 'x', loaded: loadInColour(example('two-pairs-one-split')) }], []);
  model.moveSetting(3);
  model.compare();
  model.moveSetting(-1);
  model.turnMagnet();
  return model.view();
}

const frame = (view: FittingView, columns: number, rows: number, panel: Panel): string[] =>
  renderToString(
    <FittingScreen view={view} range={RANGE} columns={columns} rows={rows} panel={panel} scroll={0} reached="command" />, { columns }).split('\n');

describe('the harness screen', () => {
  it.each([[80, 24], [120, 40], [60, 24], [80, 16]] as const)('is drawn in %i columns and %i rows, without a word of colour', async (columns, rows) => {
    for (const panel of ['curve', 'list'] as const) {
      const lines = frame(changed(), columns, rows, panel);
      expect(lines.length).toBeLessThan(rows);
      for (const line of lines) expect(line.length).toBeLessThanOrEqual(columns);
      expect(lines.join('')).not.toContain('\x1b');
      await expect(`${lines.map((line) => line.trimEnd()).join('\n')}\n`).toMatchFileSnapshot(`frames/harness-${columns}x${rows}-${panel}.txt`);
    }
  });

  it('draws a line from edge to edge, steep flanks in one piece, two curves apart and together', () => {
    const [low, high] = [Array.from({ length: 40 }, () => 0), Array.from({ length: 40 }, (_, at) => (at < 20 ? 0 : -10))];
    expect(curvePlot([low, high], 100, 20_000, 47, 5)).toEqual([
      '  0 dB|@@@@@@@@@@@@@@@@@@@@********************',
      '      |                   o',
      '      |                   o',
      '      |                   o',
      '-10 dB|                    oooooooooooooooooooo',
      '       100  200    500  1k   2k     5k   20k Hz',
    ]);
  });
});
