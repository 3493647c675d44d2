/** The screen of the entry by meters, letter by letter, at several sizes. */
import { renderToString } from 'ink';
import { describe, expect, it } from 'vitest';
import { loadRecord } from '../evidence/load-record.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import { EntrySession } from '../entry/session.ts';
import { entryView, type EntryPanel, type EntryView } from '../entry/view.ts';
import { createLogic } from '../logic/module.ts';
import { entryPanelLines, EntryScreen, entryScrollRange } from './entry-screen.tsx';

const logic = createLogic();
const OHMS: Readonly<Record<string, string>> = { '1-3': '4.1k', '2-4': '4k25' };

/** A session that has come so far: its first readings, all ohms, or its end. */
function session(stop: 'first' | 'ohms' | 'swing' | 'done'): EntrySession {
  const made = new EntrySession((record) => solveEvidence(logic, loadRecord(logic, record)));
  made.type('PK OG VT TQ BARE');
  made.type('upper, lower');
  for (let n = 0; made.prompt.kind === 'reading' && !(stop === 'first' && n === 2); n++) {
    const { ask } = made.prompt;
    if (stop === 'swing' && ask.kind === 'swing') break;
    if (ask.kind === 'ohms') made.type(OHMS[`${ask.a}-${ask.b}`] ?? 'OL');
    else if (ask.kind === 'compass') made.type(ask.at === 'upper' ? 's' : 'n');
    else made.type((ask.at === 'upper') === (ask.plus === 3) ? '-60' : '0');
  }
  return made;
}

function doubted(): EntryView {
  const made = session('first');
  made.type('16');
  return entryView(made, '', null, 'readings');
}
const refused = (): EntryView => {
  const made = session('first');
  return entryView(made, '', made.type('4.1x').wrong, 'how');
};
const of = (stop: 'first' | 'swing' | 'done', panel: EntryPanel, typed = ''): EntryView => entryView(session(stop), typed, null, panel);
const empty = (): EntryView => entryView(new EntrySession(() => { throw new Error('nothing to solve'); }), '', null, 'how');

const VIEWS: readonly (readonly [string, () => EntryView])[] = [
  ['start', empty], ['ohms', () => of('first', 'how', '4.1')], ['doubt', doubted], ['refused', refused],
  ['swing', () => of('swing', 'how')], ['done', () => of('done', 'map')], ['readings', () => of('done', 'readings')],
];

describe('the screen of the entry', () => {
  it.each([[80, 24], [120, 40], [60, 24], [40, 24], [80, 16]] as const)('is drawn in %i columns and %i rows, without a word of colour', async (columns, rows) => {
    for (const [name, view] of VIEWS) {
      const drawn = renderToString(<EntryScreen view={view()} columns={columns} rows={rows} scroll={0} />, { columns });
      const lines = drawn.split('\n');
      expect(lines.length, name).toBeLessThan(rows);
      for (const line of lines) expect(line.length, name).toBeLessThanOrEqual(columns);
      expect(drawn).not.toContain('\x1b');
      // The line that is typed and the keys are there at every size.
      expect(drawn).toContain('\n> ');
      expect(drawn).toMatch(/q end/);
      await expect(`${lines.map((line) => line.trimEnd()).join('\n')}\n`).toMatchFileSnapshot(`frames/entry-${columns}x${rows}-${name}.txt`);
    }
  });
  it('says behind a good verdict that a plus is only likely', () => {
    const view = of('done', 'map');
    const map = { ...view.map!, verdict: 'good' as const, findings: [], coils: view.map!.coils.map((coil) => ({ ...coil, confidence: 0.97 })) };
    expect(entryPanelLines({ ...view, map }, 80)[0]).toBe('verdict  good, touch again');
  });

  it('scrolls what does not fit', () => {
    const view = of('done', 'readings');
    const { most, page } = entryScrollRange(view, 80, 20);
    expect(most).toBeGreaterThan(0);
    expect(page).toBeGreaterThan(2);
    expect(entryScrollRange(view, 80, 60)).toMatchObject({ most: 0 });
    const last = renderToString(<EntryScreen view={view} columns={80} rows={20} scroll={most} />, { columns: 80 });
    expect(last).toContain(view.readings.at(-1)!);
  });
});
