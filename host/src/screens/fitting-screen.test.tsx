/** The harness screen, letter by letter, at several sizes. */
import { renderToString } from 'ink';
import { describe, expect, it } from 'vitest';
import { example, loadInColour } from '../../../tests/harness/example-harnesses.ts';
import { CURVE_Hz, FittingModel } from '../fitting/fitting-model.ts';
import type { FittingView } from '../fitting/view.ts';
import { curvePlot } from './curve-plot.ts';
import { FittingScreen, type Panel, type Reached } from './fitting-screen.tsx';

const COMMAND: Reached = { isCommand: true, canSave: true };
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

const frame = (view: FittingView, columns: number, rows: number, panel: Panel, reached = COMMAND): string[] => {
  const screen = <FittingScreen view={view} range={RANGE} columns={columns} rows={rows} panel={panel} scroll={0} reached={reached} />;
  return renderToString(screen, { columns }).split('\n');
};

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

  const small = [[60, 20], [80, 24], [60, 24], [80, 16]] as const;
  it.each(small)('keeps the list in sight in %i columns and %i rows, under a long message too', (columns, rows) => {
    const view = { ...changed(), message: 'Taken over: this and that is to be done to this pickup and to the other one; '.repeat(3) };
    const lines = frame(view, columns, rows, 'list');
    expect(lines.length).toBeLessThan(rows);
    const at = lines.findIndex((line) => /of \d+, page/.test(line));
    expect(at).toBeGreaterThan(0);
    expect(lines[at + 1]).toMatch(/^warning: Coils work/);
    expect(lines.join(' ')).toMatch(/tab curve .*q quit .*\? help/);
    expect(lines.some((line) => line.startsWith('> both'))).toBe(true);
  });

  it('names no key that could only refuse', () => {
    const keys = (more: Partial<FittingView>, reached: Reached): string =>
      frame({ ...changed(), ...more }, 120, 40, 'curve', reached).slice(-2).join('  ');
    expect(keys({}, { isCommand: false, canSave: true })).toMatch(/c compare {2}s save {2}tab list {2}esc back {2}\? help$/);
    expect(keys({}, { isCommand: true, canSave: false }))
      .toMatch(/c compare {2}j read at the jack {2}e end and print {2}tab list {2}q quit/);
    expect(keys({}, COMMAND)).not.toMatch(/p pickup|h harness/);
    expect(keys({ hasOthers: true, hasPickups: true }, COMMAND)).toMatch(/p pickup[\s\S]*h harness/);
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
