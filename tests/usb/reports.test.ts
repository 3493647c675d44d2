/** hardware-notes/usb-reports.md against the layout of the module, and its examples against a tester. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import * as layout from '../../host/src/logic/layout.generated.ts';
import { calibrationPage, readCalibrationPage } from '../../host/src/logic/calibration-page.ts';
import { Interview } from '../../host/src/transport/interview.ts';
import { decodeReport, ReportEncoder } from '../../host/src/transport/reports.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';

const text = readFileSync(new URL('../../hardware-notes/usb-reports.md', import.meta.url), 'utf8');

type Table = { readonly heading: string; readonly columns: string[]; readonly rows: string[][] };

/** Every table of the document with the heading above it. */
function tablesOf(markdown: string): Table[] {
  const tables: Table[] = [];
  let heading = '';
  let current: Table | undefined;
  for (const line of markdown.split('\n')) {
    if (line.startsWith('#')) heading = line.replace(/^#+ /, '');
    const cells = line.startsWith('|') ? line.split('|').slice(1, -1).map((cell) => cell.trim()) : undefined;
    if (cells === undefined) current = undefined;
    else if (current === undefined) tables.push((current = { heading, columns: cells, rows: [] }));
    else if (!cells.every((cell) => /^-+$/.test(cell))) current.rows.push(cells);
  }
  return tables;
}

const tables = tablesOf(text);
const fieldTables = tables.filter(({ columns }) => columns[2] === 'field');

type Field = { readonly at: number; readonly type: string };
const named = layout as unknown as Record<string, Record<string, number | Field>>;

/** The generated structure that a heading's table describes. */
function structureOf(heading: string): Record<string, number | Field> {
  if (heading === 'Head') return named.ReportHeadLayout;
  if (heading === 'entry') return named.LogEntryLayout;
  return named[`${heading[0].toUpperCase()}${heading.slice(1)}ReportLayout`];
}

const size: Record<string, number> = { u8: 1, u16: 2, u32: 4, f32: 4, u64: 8 };

describe('the tables of hardware-notes/usb-reports.md', () => {
  it('describe every payload that the layout declares', () => {
    const described = fieldTables.map(({ heading }) => heading).filter((heading) => heading !== 'Head');
    const payloads = Object.keys(layout.Report).filter((name) => name !== 'none' && name !== 'selfTest');
    expect(described.toSorted()).toEqual(payloads.toSorted());
  });

  it.each(fieldTables.map((table) => [table.heading, table] as const))(
    'give each field of %s the place and type that the module uses', (heading, { rows }) => {
      const { size: total, ...fields } = structureOf(heading);
      const documented = Object.fromEntries(rows.map(([at, type, field]) => [field, { at: Number(at), type }]));
      expect(documented).toEqual(fields);
      let end = 0;
      for (const [at, type] of rows) {
        expect(Number(at), 'no gap before it').toBe(end);
        expect(Number(at) % size[type], 'natural alignment').toBe(0);
        end += size[type];
      }
      expect(Math.ceil(end / 4) * 4).toBe(total);
    });

  it.each([
    ['Types', 'Report'], ['Refusals', 'Refusal'], ['entry', 'EntryKind'],
  ])('list under %s every code of %s', (heading, enumeration) => {
    const table = tables.find((one) => one.heading === heading && one.columns[0] === 'code')!;
    const documented = Object.fromEntries(table.rows.map(([code, name]) => [name, Number(code)]));
    expect({ none: 0, ...documented }).toEqual(named[enumeration]);
  });

  const codes = tables.filter(({ heading }) => heading === 'Codes');
  it.each(codes.map((table) => [table.columns[0], table] as const))('list every code of %s', (name, { rows }) => {
    expect(Object.fromEntries(rows.map(([code, word]) => [word, Number(code)]))).toEqual(named[name]);
  });

  it('name the direction by the code: below 128 to the host', () => {
    const { rows } = tables.find(({ heading }) => heading === 'Types')!;
    for (const [code, , direction] of rows) expect(direction).toBe(Number(code) < 128 ? 'to host' : 'to tester');
  });

  it('state the limits that the layout declares', () => {
    expect(text).toContain(`| 4 | u8 | count | 1 to ${layout.SAMPLES_PER_REPORT} |`);
    expect(text).toContain(`| 1 | u8 | count | 1 to ${layout.BLOCK_bytes_max} |`);
    expect(text).toContain(`| 0 | u8 | blocks | 1 to ${layout.TRACE_BLOCKS_max} |`);
    expect(text).toContain(`| 3 | u8 | placeCount | 1 to ${layout.MAX_PLACES} |`);
    expect(text).toContain(`of this document's head and rules: ${layout.REPORT_VERSION} |`);
    expect(text).toContain(`version of the memory layout, ${layout.LAYOUT_VERSION} |`);
  });
});

/** The examples: what is said above each, and its bytes. */
const examples = [...text.slice(text.indexOf('## Examples')).matchAll(/^([a-z].*)\n((?:[0-9a-f]{2}[ \n]+)+)/gm)]
  .map(([, title, hex]) => {
    const report = new Uint8Array(layout.REPORT_bytes);
    report.set(hex.trim().split(/\s+/).map((byte) => Number.parseInt(byte, 16)));
    return { title, report };
  });

/** A tester on the virtual bench; collects what it sends. */
async function attached(): Promise<{ twin: BoardTwin; told: (kind: string, count?: number) => Promise<any[]> }> {
  const twin = new BoardTwin({ pickup: demoLot[1], seed: 5, automatic: false });
  const all: any[] = [];
  let wake = (): void => {};
  twin.onReport = (report) => {
    all.push(decodeReport(report));
    wake();
  };
  await twin.open();
  const told = async (kind: string, count = 1): Promise<any[]> => {
    for (;;) {
      const found = all.filter((report) => report.kind === kind);
      if (found.length >= count) return found;
      await new Promise<void>((resolve) => { wake = resolve; });
    }
  };
  return { twin, told };
}

describe('the examples of hardware-notes/usb-reports.md', () => {
  it('are what the host sends', () => {
    const host = new ReportEncoder();
    const sent = [
      host.hello(),
      host.setup({ clipMask: 0x1f, bareMask: 0x10, kind: layout.Kind.sideBySide, placeCount: 2, temperature_C: 22 }),
      host.button(layout.Button.press),
      host.acknowledge(1, 3),
      host.read(0, 0, 32),
    ];
    expect(examples.map(({ report }) => report)).toEqual(sent);
  });

  it('are understood: the hello is answered by identity and state, the setup taken, the read by a block', async () => {
    const { twin, told } = await attached();
    const [hello, setup, , , read] = examples.map(({ report }) => report);
    await twin.write(hello);
    const [identity] = await told('identity');
    expect(identity).toMatchObject({ layout: layout.LAYOUT_VERSION, needsSetup: true, serial: twin.serial, reportNumber: 0 });
    await twin.write(setup);
    await told('state', 2);
    const inOrder = Uint8Array.from(read);
    inOrder[2] = 2;
    await twin.write(inOrder);
    const [block] = await told('block');
    expect(block.bytes).toHaveLength(32);
    expect(block.bytes).toEqual(new Uint8Array(twin.memory.buffer, layout.EVIDENCE, 32));
    await twin.close();
  });
});

describe('a calibration on the board twin', () => {
  it('is read, handed over, in use, and refused when it is not the next', async () => {
    const interview = new Interview(new BoardTwin({ pickup: demoLot[1], seed: 5, automatic: false }));
    await interview.open();
    await interview.identify();
    const { head, values } = readCalibrationPage(await interview.calibration())!;
    const next = calibrationPage({ ...head, writes: head.writes + 1, serial: 'TWIN-0002' }, { ...values, zero_u_ohm: 0.125 });
    expect(await interview.store(next)).toBe(true);
    expect(await interview.calibration()).toEqual(next);
    expect((await interview.identify()).serial).toBe('TWIN-0002');
    expect(await interview.store(next)).toBe(false);
    await interview.end();
  });
});

describe('a report that is not understood', () => {
  const cases: [string, (report: Uint8Array) => Uint8Array, number][] = [
    ['of another version', (r) => { r[0] = 2; return r; }, layout.Refusal.version],
    ['of an unknown type', (r) => { r[1] = 200; return r; }, layout.Refusal.type],
    ['that is too short', (r) => r.slice(0, 12), layout.Refusal.length],
    ['that repeats a number', (r) => { r[2] = 0; return r; }, layout.Refusal.order],
    ['that skips a number', (r) => { r[2] = 7; return r; }, layout.Refusal.order],
    ['with a reserved byte set', (r) => { r[63] = 1; return r; }, layout.Refusal.content],
    ['with a button that does not exist', (r) => { r[8] = 9; return r; }, layout.Refusal.content],
  ];
  it.each(cases)('%s is refused with the reason and not acted on', async (_, spoil, reason) => {
    const { twin, told } = await attached();
    const host = new ReportEncoder();
    await twin.write(host.hello());
    await told('identity');
    await twin.write(spoil(host.button(layout.Button.press)));
    const [refused] = await told('refused');
    expect(refused.reason).toBe(reason);
    // The next in order is taken: one test runs, not two.
    await twin.write(new ReportEncoder().hello());
    await told('identity', 2);
    const state = (await told('state')).at(-1);
    expect(state.test).toBe(0);
    await twin.close();
  });

  it('before any hello is refused as out of order', async () => {
    const { twin, told } = await attached();
    await twin.write(new ReportEncoder().button(layout.Button.press));
    const [refused] = await told('refused');
    expect(refused.reason).toBe(layout.Refusal.order);
    await twin.close();
  });
});
