/** What the shop's screens show and do, without a terminal. */
import { describe, expect, it } from 'vitest';
import { FOUND, METERS, recordOf, solve } from '../../../tests/papers/shop.ts';
import { keepNow } from '../../../tests/records/keep-one.ts';
import { settled, TestDesk, TestPapers } from '../../../tests/records/desk-of.ts';
import { LABEL } from '../papers/label-size.ts';
import { addEvent, addLot, keepInLot } from '../records/keeping.ts';
import { pickupNumbered, placesOfLot, search } from '../records/searching.ts';
import { SqliteStock } from '../records/sqlite-stock.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { HarnessList } from './harness-list.ts';
import { LotModel, pace_s } from './lot-model.ts';
import { PickupModel } from './pickup-model.ts';
import { paperName } from './paper-work.ts';
import { asSettings, DEFAULT_SETTINGS, settingsDocument, type Settings } from './settings.ts';
import { SettingsModel } from './settings-model.ts';
import { StockModel } from './stock-model.ts';

const MAP = solve(METERS);
const LIKELY: WireMap = { ...MAP, coils: MAP.coils.map((coil) => ({ ...coil, confidence: 0.97 })) };
const WARNED: WireMap = { ...MAP, findings: [{ kind: 'weak_touch', severity: 'warning', clips: [1, 2], text: 'A touch was weak.' }] };

function shop(count: number): TestDesk {
  const stock = new SqliteStock(':memory:');
  for (let n = 0; n < count; n += 1) keepNow(stock, { title: `pickup ${n + 1}`, record: METERS, map: MAP });
  return new TestDesk(stock);
}

function pickupMeans(desk: TestDesk) {
  const out = new TestPapers();
  return { desk, out, labelSize: () => LABEL };
}

async function opened(desk: TestDesk, withVirtual = false): Promise<StockModel> {
  const model = new StockModel(desk, withVirtual);
  model.open();
  await settled();
  return model;
}

const typed = async (model: { type(letter: string): unknown }, text: string): Promise<void> => {
  for (const letter of text) model.type(letter);
  await settled();
};

describe('the stock', () => {
  it('calls no pickup good of which something is still to be minded, and finds it among the good ones', async () => {
    const desk = shop(1);
    keepNow(desk.stock, { title: 'likely', record: METERS, map: LIKELY });
    keepNow(desk.stock, { title: 'warned', record: METERS, map: WARNED });
    keepNow(desk.stock, { title: 'sold', record: METERS, map: LIKELY });
    desk.stock.do(addEvent({ uid: 'e', pickup: (desk.stock.do(pickupNumbered('0004')))!.uid, at: '', kind: 'state', text: 'sold' }));
    const model = await opened(desk);
    expect(model.view().rows.map(({ state }) => state)).toEqual(['sold', 'warning', 'touch again', 'good']);
    await typed(model, 'state:good');
    expect(model.view().rows.map(({ state }) => state)).toEqual(['warning', 'touch again', 'good']);
    const pickup = new PickupModel(pickupMeans(desk), { number: '0002' });
    await pickup.open();
    expect(pickup.view().about).toMatch(/^good, touch again, likely, /);
    expect(pickup.view().history[0]).toMatch(/ test 2: good, touch again$/);
    const other = new PickupModel(pickupMeans(desk), { number: '0001' });
    await other.open();
    await other.wantPartners();
    const reason = (wanted: string): string => other.view().partners!.find(({ number }) => number === wanted)!.reason;
    expect(reason('0002')).toMatch(/; its plus is only likely: touch it again before it is wired$/);
    expect(reason('0003')).toMatch(/; a warning stands in its findings: read them first$/);
  });

  it('is searched as it is typed, and says in one sentence what it does not understand', async () => {
    const model = await opened(shop(12));
    expect(model.view()).toMatchObject({ total: 12, chosen: 0, message: null });
    expect(model.view().rows[0]!.number).toBe('0012');
    await typed(model, 'number:000');
    expect(model.view().rows).toEqual([]);
    await typed(model, '*');
    expect(model.view().rows).toHaveLength(9);
    await typed(model, ' stat:x');
    expect(model.view().message).toBe('stat: is not known; did you mean state:?');
    expect(model.clear()).toBe(true);
    await settled();
    expect(model.view()).toMatchObject({ total: 12, message: null });
    expect(model.clear()).toBe(false);
  });

  it('opens the pickup of a number that a code reader types, however fast, before any that only begins so', async () => {
    const desk = shop(12);
    keepNow(desk.stock, { title: 'later', record: METERS, map: MAP, number: '00010' });
    const model = await opened(desk);
    for (const letter of '0001') model.type(letter);
    expect((await model.pick())?.number).toBe('0001');
  });

  it('shows one state alone, and pickups of the virtual bench only when they are asked for', async () => {
    const desk = shop(3);
    keepNow(desk.stock, { title: 'invented', record: { ...METERS, tester: { serial: 'TWIN-0001' } }, map: MAP });
    desk.stock.do(addEvent({ uid: 'e', pickup: (desk.stock.do(pickupNumbered('0002')))!.uid, at: '', kind: 'state', text: 'sold' }));
    const model = await opened(desk);
    expect(model.view().total).toBe(3);
    model.turnState(-1);
    await settled();
    expect(model.view()).toMatchObject({ state: 'sold', rows: [{ number: '0002', state: 'sold' }] });
    model.turnState(1);
    model.turnVirtual();
    await settled();
    expect(model.view().rows.map(({ number, where }) => [number, where.startsWith('(virtual)')]))
      .toEqual([['V-0001', true], ['0003', false], ['0002', false], ['0001', false]]);
  });

  it('says what is hidden where nothing is shown', async () => {
    const desk = shop(0);
    keepNow(desk.stock, { title: 'invented', record: { ...METERS, tester: { serial: 'TWIN-0001' } }, map: MAP });
    expect((await opened(desk)).view().empty)
      .toBe('No pickup is in stock yet; each that is tested comes here. Tab shows 1 of the virtual bench.');
  });

  it('is scrolled through to its last pickup, page by page', async () => {
    const model = await opened(shop(250));
    for (let step = 0; step < 20; step += 1) {
      model.move(30);
      await settled();
    }
    expect(model.view()).toMatchObject({ total: 250, chosen: 249 });
    expect(model.view().rows.at(-1)!.number).toBe('0001');
  });

  it("shows another bench's test by itself, and keeps the chosen one", async () => {
    const desk = shop(3);
    const model = await opened(desk);
    model.move(1);
    expect(model.view().rows[model.view().chosen]!.number).toBe('0002');
    keepNow(desk.stock, { title: 'of another bench', record: METERS, map: MAP });
    desk.changed();
    await settled();
    expect(model.view().rows[0]!.number).toBe('0004');
    expect(model.view().rows[model.view().chosen]!.number).toBe('0002');
    model.close();
    expect(desk.watching).toBe(0);
  });
});

describe('one pickup', () => {
  async function first(count = 2) {
    const desk = shop(count);
    const means = pickupMeans(desk);
    const model = new PickupModel(means, { number: '0001' });
    await model.open();
    return { desk, means, model };
  }

  it('tells map, touches, wiring and history of its test', async () => {
    const { model } = await first();
    const view = model.view();
    expect(view).toMatchObject({ number: '0001', message: null });
    expect(view.map).toEqual(MAP);
    expect(view.touches).toHaveLength(METERS.observed!.length);
    expect(view.wiring.some(({ text }) => text.includes('hot (output)'))).toBe(true);
    expect(view.history).toHaveLength(2);
  });

  it('takes a note, a state and another number, which the search finds, and refuses a number that is taken', async () => {
    const { desk, model } = await first();
    model.askNote();
    await typed(model, 'cover is dented?');
    expect(model.view().ask?.text).toBe('cover is dented?');
    model.enter();
    await settled();
    expect(model.view().message).toBe('Noted.');
    expect(desk.stock.do(search('stock', { words: ['dented'] }, 5)).map(({ number }) => number)).toEqual(['0001']);
    model.askState();
    await typed(model, 'xs');
    expect(model.view().about).toMatch(/^sold, /);
    model.askNumber();
    await typed(model, '0002');
    model.enter();
    await settled();
    expect(model.view()).toMatchObject({ number: '0001', message: "number 0002 is another pickup's" });
    model.askNumber();
    await typed(model, 'A-7');
    model.enter();
    await settled();
    expect(model.view().number).toBe('A-7');
    expect(model.view().history.length).toBe(5);
  });

  it('hands label and sheet to the printer, writes them and the offer into files named by its number, and a question can be left', async () => {
    const { means: { out }, model } = await first();
    model.askLabel();
    expect(model.view().ask).toMatchObject({ question: 'Label, 60x30 mm', text: null });
    expect(model.leave()).toBe(true);
    expect(model.leave()).toBe(false);
    for (const [ask, key] of [['askLabel', 'p'], ['askSheet', 'p'], ['askLabel', 'f'], ['askSheet', 'f'], ['askListing', 'f'], ['askListing', 'm']] as const) {
      model[ask]();
      model.type(key);
      while (model.view().message === null || model.view().message === 'Drawing.') await new Promise((resolve) => { setTimeout(resolve, 5); });
    }
    expect(out.printed.map((bytes) => Buffer.from(bytes.subarray(0, 5)).toString())).toEqual(['%PDF-', '%PDF-']);
    expect([...out.saved.keys()]).toEqual(['0001-label.pdf', '0001-sheet.pdf', '0001-offer.txt', '0001-offer.md']);
    expect(Buffer.from(out.printed[0]!).equals(Buffer.from(out.saved.get('0001-label.pdf') as Uint8Array))).toBe(true);
    expect(out.saved.get('0001-offer.txt')).toContain('Measured on');
    expect(model.view().message).toBe('Written: /papers/0001-offer.md');
  });

  it('leaves out of the name of a file what means something else in a path', () => {
    expect(paperName('../a b/c', 'label')).toBe('__a_b_c-label.pdf');
    expect(paperName('-rf', 'sheet')).toBe('_rf-sheet.pdf');
  });

  it('lists partners with the reason, and tells which is chosen', async () => {
    const { model } = await first(3);
    await model.wantPartners();
    expect(model.view().partners?.map(({ number }) => number).sort()).toEqual(['0002', '0003']);
    model.move(1);
    expect(model.partner()).toBe(model.view().partners![1]!.number);
  });

  it('says what cannot be done without a test', async () => {
    const desk = new TestDesk(new SqliteStock(':memory:'));
    keepNow(desk.stock, { title: 'broken off', record: METERS, map: MAP, isBroken: true });
    const model = new PickupModel(pickupMeans(desk), { number: '0001' });
    await model.open();
    expect(model.view()).toMatchObject({ map: null, about: 'waiting for a test, broken off' });
    model.askSheet();
    model.type('f');
    await settled();
    expect(model.view().message).toBe('It has no whole test to tell of; test it first.');
    await model.wantPartners();
    expect(model.view().noPartners).toMatch(/no whole test/);
  });

  it('is shown as another bench changes it', async () => {
    const { desk, model } = await first();
    desk.stock.do(addEvent({ uid: 'far', pickup: desk.stock.do(pickupNumbered('0001'))!.uid, at: '', kind: 'state', text: 'aside' }));
    desk.changed();
    await settled();
    expect(model.view().about).toMatch(/^set aside, /);
  });
});

describe('the lot on the bench', () => {
  const UNSURE = FOUND.map((name) => recordOf(`tests/found/${name}`)).find((record) => solve(record).verdict === 'unsure')!;

  function lot(records: readonly (typeof METERS)[], size: number, maps = records.map(solve)) {
    const desk = new TestDesk(new SqliteStock(':memory:'));
    desk.stock.do(addLot({ uid: 'lot', name: 'box 3', setup: '', size, isVirtual: false, opened: '2026-03-15T08:00:00Z' }));
    for (const [place, record] of records.entries()) {
      const taken = `2026-03-15T08:0${place * 2}:00Z`;
      desk.stock.do(keepInLot(
        { uid: `t${place}`, taken, title: 'boxed', record, map: maps[place]!, isBroken: false, isVirtual: false, module: 'aa' },
        { uid: `p${place}`, lot: 'lot', place, number: null, title: 'boxed', isVirtual: false, added: taken }));
    }
    const undone: string[] = [];
    const means = pickupMeans(desk);
    const model = new LotModel(means, {
      name: 'box 3', isVirtual: false, size, standsAt: () => 1, places: () => desk.stock.do(placesOfLot('lot')),
    }, () => undone.push('undone'));
    return { desk, means, model, undone };
  }

  it('counts what is tested and left, and tells how long the rest takes', () => {
    const { model } = lot([METERS, UNSURE, METERS], 10);
    expect(model.view()).toMatchObject({
      progress: '3 of 10 tested, 7 left', counts: '2 good, 0 fault, 1 unsure', pace: 'about 14 min left, at 2.0 min each', chosen: 1,
    });
    expect(model.view().rows).toHaveLength(10);
    expect(model.view().rows.slice(1, 4)).toMatchObject([
      { number: '0002', state: 'unsure', isHere: true }, { number: '0003', state: 'good' }, { number: '-', state: 'not tested' }]);
    expect(lot([METERS], 1).model.view()).toMatchObject({ progress: '1 of 1 tested, none left', pace: 'all are tested' });
    expect(lot([METERS], 0).model.view()).toMatchObject({ progress: '1 tested', pace: 'how long it takes is known after two tests' });
    expect(lot([METERS, METERS], 0).model.view().pace).toBe('2.0 min each');
  });

  it('calls none good of which something is still to be minded, and counts those', () => {
    const view = lot([METERS, METERS, METERS], 3, [MAP, LIKELY, WARNED]).model.view();
    expect(view.rows.map(({ state }) => state)).toEqual(['good', 'touch again', 'warning']);
    expect(view.counts).toBe('3 good (2 in doubt), 0 fault, 0 unsure');
  });

  it('takes the middle time from test to test, without breaks', () => {
    const at = (...minutes: number[]): string[] => minutes.map((minute) => new Date(Date.UTC(2026, 2, 15, 8, minute)).toISOString());
    expect(pace_s(at(0, 1, 3, 120, 122))).toBe(120);
    expect(pace_s([...at(4), null])).toBeNull();
    expect(pace_s(['no time', 'nor this'])).toBeNull();
  });

  it('jumps to the next one that is unsure, round the end', () => {
    const { model } = lot([METERS, UNSURE, METERS, UNSURE], 5);
    const jumps = [0, 1, 2].map(() => {
      model.nextUnsure();
      return model.chosen;
    });
    expect(jumps).toEqual([3, 1, 3]);
    expect(model.pickup()).toBe('p3');
    // Its paper says UNSURE as well.
    const { model: likely } = lot([METERS, METERS], 5, [MAP, LIKELY]);
    likely.move(-1);
    likely.nextUnsure();
    expect(likely.chosen).toBe(1);
    const { model: sound } = lot([METERS], 5);
    sound.nextUnsure();
    expect(sound.view().message).toBe('No pickup of this lot is unsure.');
    sound.move(1);
    expect([sound.pickup(), sound.view().message]).toEqual([null, null]);
  });

  it('asks before the last test is taken back', () => {
    const { model, undone } = lot([METERS, UNSURE], 5);
    model.askUndo();
    expect(model.view().ask?.question).toBe('Take back the last test, of 0002? It stays in the records as withdrawn.');
    model.type('u');
    expect(undone).toEqual([]);
    model.type('y');
    expect(undone).toEqual(['undone']);
  });

  it('prints the labels of all, tells how far it is, and can be stopped with nothing printed', async () => {
    const { means, model } = lot([METERS, METERS, METERS], 3);
    const said: (string | null)[] = [];
    model.subscribe(() => said.push(model.view().message));
    model.askLabels();
    expect(model.view().ask?.question).toBe('Labels of 3 pickups, 60x30 mm, on A4');
    model.type('p');
    while (said.at(-1)?.startsWith('Handed') !== true) await new Promise((resolve) => { setTimeout(resolve, 5); });
    expect(said).toContain('Reading 2 of 3; esc stops.');
    expect(said.at(-1)).toBe('Handed to the printer: 3 labels.');
    model.askLabels();
    model.type('p');
    expect(model.stop()).toBe(true);
    while (said.at(-1)?.startsWith('Stopped') !== true) await new Promise((resolve) => { setTimeout(resolve, 5); });
    expect(means.out.printed).toHaveLength(1);
    expect(model.stop()).toBe(false);
  });

  it('compares its pickups', async () => {
    const { model } = lot([METERS, METERS, UNSURE], 3);
    await model.wantReport();
    expect(model.view().report!(80)[0]).toMatch(/^Compared: /);
    for (const line of model.view().report!(60)) expect(line.length).toBeLessThanOrEqual(60);
  });
});

describe('settings', () => {
  it('are read from a document, and written back with fields that nobody knows', () => {
    const { settings, warnings } = asSettings({ format: 'settings/1', label: '80x40', colour: false, printr: 'x' });
    expect(settings).toEqual({ ...DEFAULT_SETTINGS, label: { width_mm: 80, height_mm: 40 }, colour: false });
    expect(warnings).toEqual(['printr: no such field, so it is ignored; did you mean printer?']);
    const written = JSON.parse(settingsDocument(settings, { printr: 'x', label: 'a6' })) as object;
    expect(written).toEqual({ format: 'settings/1', label: '80x40', printer: '', papers: '', harnesses: '', colour: false, printr: 'x' });
    expect(asSettings(written).settings).toEqual(settings);
  });

  it.each([
    [[], 'a list of 0 where a record was to be'], [{}, 'format: missing; expected "settings/1"'],
    [{ format: 'settings/1', label: '6x' }, 'label: "6x"; expected a6, or width and height of 10 to 300 mm, such as 60x30'],
    [{ format: 'settings/1', colour: 'no' }, 'colour: "no"; expected true or false'],
    [{ format: 'settings/1', printer: 'a\x1b[2J' }, 'printer: "a\\x1b[2J"; expected a name of at most 200 visible characters'],
  ])('refuse %j in one sentence', (document, sentence) => {
    expect(() => asSettings(document)).toThrow(sentence.startsWith('a list') ? /an empty list/ : sentence);
  });

  it('are changed line by line; the shop\'s numbers are kept in the stock', async () => {
    const desk = shop(0);
    let settings: Settings = DEFAULT_SETTINGS;
    const model = new SettingsModel({
      desk, settings: () => settings, path: '/config/settings.json', tester: '', records: { where: '/data/records.sqlite', how: 'how' },
      write: async (changed) => { settings = changed; },
    });
    await model.open();
    const answer = async (text: string): Promise<string | null> => {
      model.change();
      for (let n = 0; n < 40; n += 1) model.erase();
      await typed(model, text);
      model.enter();
      await settled();
      return model.view().message;
    };
    expect(await answer('P-####')).toBe('Kept: the next new pickup is numbered so.');
    keepNow(desk.stock, { title: 'new', record: METERS, map: MAP });
    expect(desk.stock.do(search('stock', {}, 1))[0]!.number).toBe('P-0001');
    expect(await answer('none')).toMatch(/"none" is no pattern of numbers; expected/);
    model.move(1);
    expect(await answer('6')).toBe('"6" is no size; expected a6, or width and height of 10 to 300 mm, such as 60x30.');
    expect(await answer('a6')).toBe('Kept.');
    model.move(1);
    expect(await answer('by the door')).toBe('Kept.');
    model.move(3);
    model.change();
    await settled();
    expect(settings).toMatchObject({ label: { width_mm: 105, height_mm: 148 }, printer: 'by the door', colour: false });
    model.move(1);
    model.change();
    expect(model.view().message).toBe('records is shown only; below stands how it is set.');
  });
});

describe('the harnesses', () => {
  it('are opened with the pickup that was asked for and its partners, or with the newest good ones', async () => {
    const desk = shop(3);
    const pickup = new PickupModel(pickupMeans(desk), { number: '0002' });
    await pickup.open();
    const given: string[][] = [];
    const means = {
      desk, files: async () => [{ path: '/a', name: 'a' }, { path: '/b', name: 'b' }],
      open: async (path: string, pickups: readonly { readonly number: string }[]) => {
        given.push([path, ...pickups.map(({ number }) => number)]);
        throw new Error('it is damaged');
      },
      save: async () => '',
    };
    const list = new HarnessList(means, pickup.tested(), false);
    await list.open();
    expect(list.view()).toMatchObject({ files: ['a', 'b'], about: 'for pickup 0002 and its partners: there p puts one after the other into a slot' });
    const tested = pickup.tested()!;
    const faulty = new HarnessList(means, { ...tested, test: { ...tested.test!, map: { ...MAP, verdict: 'fault' } } }, false);
    expect(faulty.view().about).toMatch(/^for pickup 0002 \(FAULT: do not fit\) and its partners/);
    list.move(1);
    expect(await list.take()).toBeNull();
    expect(list.view().message).toBe('it is damaged');
    await new HarnessList(means, null, false).take();
    const others = new HarnessList(means, null, false);
    await others.open();
    await others.take();
    expect(given).toEqual([['/b', '0002', '0001', '0003'], ['/a', '0003', '0002', '0001']]);
  });
});
