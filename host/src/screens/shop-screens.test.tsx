/** The shop's screens, letter by letter, at several sizes. */
import { readFileSync } from 'node:fs';
import { renderToString } from 'ink';
import { describe, expect, it } from 'vitest';
import { METERS, NASTY, recordOf, solve } from '../../../tests/papers/shop.ts';
import { settled, TestDesk, TestPapers } from '../../../tests/records/desk-of.ts';
import { keepNow } from '../../../tests/records/keep-one.ts';
import { LABEL } from '../papers/label-size.ts';
import { addLot, keepInLot } from '../records/keeping.ts';
import { placesOfLot } from '../records/searching.ts';
import { SqliteStock } from '../records/sqlite-stock.ts';
import { HarnessList } from '../shop/harness-list.ts';
import { LotModel } from '../shop/lot-model.ts';
import { PickupModel, type PickupView } from '../shop/pickup-model.ts';
import { DEFAULT_SETTINGS } from '../shop/settings.ts';
import { SettingsModel } from '../shop/settings-model.ts';
import { StockModel } from '../shop/stock-model.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { homeLines } from './home-app.tsx';
import { newLotLines } from './new-lot-screen.tsx';
import { COUNT_AT, emptyForm } from '../bench/lot-setup.ts';
import { harnessListLines } from './harness-list-app.tsx';
import { helpPage } from './help-app.tsx';
import { helpLines, SIGN_LINES, type HelpTopic } from './help-text.ts';
import { LOT_PANELS, lotLinesOf } from './lot-screen.tsx';
import { Page, panelTitle, type PageLine } from './page.tsx';
import { PICKUP_PANELS, pickupLines } from './pickup-screen.tsx';
import { settingsLines } from './settings-screen.tsx';
import { stockLines } from './stock-screen.tsx';

const SIZES = [[80, 24], [120, 40], [44, 20]] as const;
const TOUCHED = recordOf('tests/found/coils-joined-through-36-kohm.bench.json.gz');

/** As a touch that was not clear enough leaves it, and a finding that is to be read first: the verdict of both is good. */
const LIKELY: WireMap = { ...solve(METERS), coils: solve(METERS).coils.map((coil) => ({ ...coil, confidence: 0.97 })) };
const WARNED: WireMap = { ...solve(METERS), findings: [
  { kind: 'weak_touch', severity: 'warning', clips: [1, 2], text: 'A touch was heard weakly.' },
] };

/** A lot of five, one of them touched, one to touch again and one with a warning, and another of the virtual bench. */
function shop(): TestDesk {
  const stock = new SqliteStock(':memory:');
  stock.do(addLot({ uid: 'lot', name: 'box 3', setup: '', size: 7, isVirtual: false, opened: '2026-03-15T08:00:00Z' }));
  const maps = [solve(METERS), LIKELY, solve(TOUCHED), WARNED, solve(METERS)];
  for (const [place, record] of [METERS, METERS, TOUCHED, METERS, METERS].entries()) {
    const taken = `2026-03-15T08:0${place}:30Z`;
    stock.do(keepInLot(
      { uid: `t${place}`, taken, title: `pickup ${place + 1} of this lot`, record, map: maps[place]!, isBroken: false, isVirtual: false, module: 'aa' },
      { uid: `p${place}`, lot: 'lot', place, number: null, title: `pickup ${place + 1} of this lot`, isVirtual: false, added: taken }));
  }
  keepNow(stock, { title: 'two coils, invented', record: { ...METERS, tester: { serial: 'TWIN-0001' } }, map: solve(METERS) });
  return new TestDesk(stock);
}

async function opened(number: string): Promise<PickupView> {
  const model = new PickupModel(means(shop()), { number });
  await model.open();
  return model.view();
}

const means = (desk: TestDesk) => ({ desk, out: new TestPapers(), labelSize: () => LABEL });
const frame = (lines: readonly PageLine[], columns: number): string[] =>
  renderToString(<Page lines={lines} columns={columns} />, { columns }).split('\n');

async function kept(
  name: string, lines: (columns: number, rows: number) => readonly PageLine[], sizes: readonly (readonly [number, number])[] = SIZES,
): Promise<void> {
  for (const [columns, rows] of sizes) {
    const drawn = frame(lines(columns, rows), columns);
    expect(drawn.length).toBe(rows - 1);
    for (const line of drawn) expect(line.length).toBeLessThanOrEqual(columns);
    expect(drawn.join('')).not.toContain('\x1b');
    // One that was looked at; `npx vitest run host/src/screens --update` writes them anew.
    await expect(`${drawn.map((line) => line.trimEnd()).join('\n')}\n`).toMatchFileSnapshot(`frames/${name}-${columns}x${rows}.txt`);
  }
}

describe('the frames of', () => {
  it('the stock: all of it, a search, and a word that is not understood', async () => {
    const model = new StockModel(shop(), true);
    model.open();
    await settled();
    model.move(2);
    await kept('stock', (columns, rows) => stockLines(model.view(), columns, rows));
    for (const letter of 'box 7k..10k') model.type(letter);
    await settled();
    await kept('stock-search', (columns, rows) => stockLines(model.view(), columns, rows), [[80, 24]]);
    for (const letter of ' stat:good') model.type(letter);
    await settled();
    await kept('stock-wrong', (columns, rows) => stockLines(model.view(), columns, rows), [[80, 24]]);
  });

  it.each(PICKUP_PANELS)('one pickup: %s', async (panel) => {
    const model = new PickupModel(means(shop()), { number: panel === 'partners' ? '0001' : '0003' });
    await model.open();
    await model.wantPartners();
    await kept(`pickup-${panel}`, (columns, rows) => pickupLines(model.view(), columns, rows, panel, 0), panel === 'map' ? SIZES : [[80, 24], [120, 40]]);
  });

  it('one pickup that is to be touched again, which no line calls good and done', async () => {
    const model = new PickupModel(means(shop()), { number: '0002' });
    await model.open();
    for (const panel of ['map', 'findings', 'history'] as const)
      await kept(`pickup-doubt-${panel}`, (columns, rows) => pickupLines(model.view(), columns, rows, panel, 0), [[80, 24]]);
    const look = (number: string): Promise<PageLine | undefined> => opened(number).then((view) =>
      pickupLines(view, 80, 24, 'map', 0).find(({ text }) => text.startsWith('GOOD')));
    expect([(await look('0001'))?.look, (await look('0002'))?.look, (await look('0004'))?.look]).toEqual(['good', 'warn', 'warn']);
  });

  it('questions of one pickup', async () => {
    const model = new PickupModel(means(shop()), { number: '0003' });
    await model.open();
    model.askState();
    await kept('pickup-state', (columns, rows) => pickupLines(model.view(), columns, rows, 'map', 0), [[80, 24]]);
    model.askNote();
    for (const letter of 'its cover is dented at one corner, and the frame was soldered to it once') model.type(letter);
    await kept('pickup-note', (columns, rows) => pickupLines(model.view(), columns, rows, 'map', 0), [[80, 24], [44, 20]]);
    model.askLabel();
    await kept('pickup-label', (columns, rows) => pickupLines(model.view(), columns, rows, 'map', 0), [[80, 24]]);
  });

  it.each(LOT_PANELS)('the lot: %s', async (panel) => {
    const desk = shop();
    const model = new LotModel(means(desk), {
      name: 'box 3', isVirtual: false, size: 7, standsAt: () => 5, places: () => desk.stock.do(placesOfLot('lot')),
    }, () => undefined);
    await model.wantReport();
    await kept(`lot-${panel}`, (columns, rows) => lotLinesOf(model.view(), columns, rows, panel, 0));
  });

  it('the settings', async () => {
    const model = new SettingsModel({
      desk: shop(), settings: () => DEFAULT_SETTINGS, path: '/home/shop/.config/tapstone/settings.json', tester: 'TS-0007', write: async () => undefined,
      records: { where: '/home/shop/.local/share/tapstone/records.sqlite', how: 'How it is set.' },
    });
    await model.open();
    await kept('settings', (columns, rows) => settingsLines(model.view(), columns, rows));
  });

  it('titles of panels tell where the list stands, whatever else has no room', () => {
    const title = (columns: number): string => panelTitle(PICKUP_PANELS, 'map', 0, 11, 15, columns);
    expect(title(100)).toBe('[map]  findings   touches   wiring   history   partners   lines 1-11 of 15, up and down keys');
    expect(title(60)).toBe('[map]  panel 1 of 6   lines 1-11 of 15, up and down keys');
    expect(title(40)).toBe('[map]  panel 1 of 6 1-11 of 15');
    expect(title(20)).toBe('[map] 1-11 of 15');
    for (let columns = 16; columns < 120; columns += 1) {
      expect(title(columns)).toContain('1-11 of 15');
      expect(title(columns).length).toBeLessThanOrEqual(columns);
    }
  });

  it('the harnesses', async () => {
    const desk = shop();
    const list = new HarnessList({
      desk, files: async () => ['two-pairs', 'one-split'].map((name) => ({ path: name, name })), open: async () => { throw new Error('none'); }, save: async () => '',
    }, null, false);
    await list.open();
    await kept('harnesses', (columns, rows) => harnessListLines(list.view(), columns, rows), [[80, 24]]);
  });

  it.each(['bench', 'new lot', 'lot', 'stock', 'pickup', 'harnesses', 'harness', 'jack', 'settings'] as const)('help of the %s', async (topic: HelpTopic) => {
    await kept(`help-${topic.replace(' ', '-')}`, (columns, rows) => helpPage(topic, columns, rows, 0), [[80, 24], [120, 40]]);
    const text = helpLines(topic).map((line) => line.text.trim());
    for (const line of SIGN_LINES) expect(text).toContain(line);
    expect(text.join(' ')).toMatch(/Magnets are strong/);
  });

  it('help of the harness tells every key that its screen takes', () => {
    const app = readFileSync(new URL('fitting-app.tsx', import.meta.url), 'utf8');
    const letters = [...app.matchAll(/letter === '(\w)'/g)].map(([, letter]) => letter!);
    const told = helpLines('harness').map(({ text }) => text);
    expect(letters.length).toBeGreaterThan(12);
    for (const letter of letters) expect(told.some((text) => new RegExp(`^(\\w+, )?${letter}\\b`).test(text)), letter).toBe(true);
    if (app.includes("case 'pagedown'")) expect(told.join(' ')).toContain('page keys');
  });

  it('a new lot, and the bench without one', async () => {
    await kept('home', (columns, rows) => homeLines('TS-0007', columns, rows));
    const form = { ...emptyForm('box 3'), count: '12', leads: ['BU', 'YE', 'GY', 'VT', '-', '-'], field: COUNT_AT };
    const wrong = 'Clip 1: "BLUE" is no colour code; expected one like BU, RDBU or BARE, nothing, or - for no lead.';
    await kept('new-lot', (columns, rows) => newLotLines(form, null, 'TS-0007', columns, rows));
    await kept('new-lot-wrong', (columns, rows) => newLotLines(form, wrong, 'TS-0007', columns, rows), [[80, 24], [44, 20]]);
  });

  it('whatever a person typed, without a control or a hidden letter', async () => {
    const stock = new SqliteStock(':memory:');
    keepNow(stock, { title: NASTY, record: METERS, map: solve(METERS), number: '=1+1' });
    const desk = new TestDesk(stock);
    const list = new StockModel(desk, false);
    list.open();
    await settled();
    const one = new PickupModel(means(desk), { number: '=1+1' });
    await one.open();
    for (const lines of [stockLines(list.view(), 120, 30), ...PICKUP_PANELS.map((panel) => pickupLines(one.view(), 120, 30, panel, 0))]) {
      const text = lines.map((line) => line.text).join('\n');
      expect(text).toContain('=1+1');
      expect(text).not.toMatch(/[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]/);
    }
  });
});
