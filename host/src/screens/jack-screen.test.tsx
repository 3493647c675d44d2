/** The screen at a guitar's jack, letter by letter, at several sizes. */
import { renderToString } from 'ink';
import { beforeAll, describe, expect, it } from 'vitest';
import { example, loadInColour } from '../../../tests/harness/example-harnesses.ts';
import { guitarOf } from '../bench/guitar-of.ts';
import { JackModel } from '../jack/jack-model.ts';
import { simulatedJack } from '../jack/jack-bench.ts';
import type { JackView } from '../jack/view.ts';
import { wiredOf } from '../proof/wired.ts';
import { putFault } from '../virtual-bench/guitar-faults.ts';
import { RandomStream } from '../virtual-bench/random.ts';
import { JackScreen, jackScrollRange, type JackPanel } from './jack-screen.tsx';

const SIZES = [[80, 24], [120, 40], [60, 24], [80, 16], [40, 12]] as const;
const known = loadInColour(example('two-pairs-one-split'));
const views = new Map<string, { readonly view: JackView; readonly proof: readonly string[] }>();

/** A guitar with a fault, read in its first three settings; looked at on the way. */
beforeAll(async () => {
  const sound = guitarOf(wiredOf(known), new Map(), new RandomStream(1, 'guitar'));
  const faults = Array.from({ length: 20 }, (_, at) => putFault(sound, 'coils exchanged', new RandomStream(at, 'fault'))!);
  const { plan } = faults.find(({ at }) => at[0] === 'front')!;
  const model = new JackModel(simulatedJack(plan, { twin: 'board', seed: 3, automatic: true }), {
    loaded: known, harness: 'duo.harness.json', timeOfDay: () => '2026-01-01T00:00:00Z', file: null,
    isThere: async () => false, write: async () => null,
  });
  const take = (name: string): void => void views.set(name, { view: model.view(), proof: model.proof() });
  await new Promise<void>((resolve) => {
    let presses = 0;
    model.subscribe(() => {
      const { prompt, trace } = model.view();
      const isReady = prompt.includes('Then press the button');
      if (isReady && presses === 0) take('start');
      if (trace.length > 0 && prompt.includes('rear upper')) take('asking');
      if (!isReady || views.has('read')) return;
      if (presses === 3) {
        take('read');
        model.move(-1);
        take('again');
        model.quit(() => undefined);
        take('question');
        resolve();
      } else if (model.records.length === presses) {
        presses += 1;
        void model.button();
      }
    });
    void model.open();
  });
  await model.close();
}, 120_000);

const frame = (name: string, columns: number, rows: number, panel: JackPanel, scroll = 0): string[] =>
  renderToString(<JackScreen {...views.get(name)!} columns={columns} rows={rows} panel={panel} scroll={scroll} />, { columns }).split('\n');

describe('the screen at the jack', () => {
  it.each(SIZES)('is drawn in %i columns and %i rows, without a word of colour', async (columns, rows) => {
    const shown = ['start', 'asking', 'read', 'again', 'question'].map((name) => [name, 'setting'] as const);
    for (const [name, panel] of [...shown, ['read', 'proof'] as const]) {
      const lines = frame(name, columns, rows, panel);
      expect(lines.length, `${name} ${panel}`).toBeLessThan(rows);
      for (const line of lines) expect(line.length).toBeLessThanOrEqual(columns);
      expect(lines.join('')).not.toContain('\x1b');
      await expect(`${lines.map((line) => line.trimEnd()).join('\n')}\n`)
        .toMatchFileSnapshot(`frames/jack-${columns}x${rows}-${panel === 'proof' ? 'proof' : name}.txt`);
    }
  });

  it('scrolls the proof to its last line', () => {
    const shown = { ...views.get('read')!, columns: 80, rows: 24, panel: 'proof' } as const;
    const { most } = jackScrollRange(shown);
    expect(most).toBeGreaterThan(0);
    expect(frame('read', 80, 24, 'proof', most).join('\n')).toContain(shown.proof.at(-1)!.trim());
  });
});
