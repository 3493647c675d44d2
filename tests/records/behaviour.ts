/** What every stock does, whatever holds it: the same tests for a file and for a server. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { searchWords } from '../../host/src/records/facts.ts';
import { addEvent, addLot, addPickup, keepInLot, moveLot, remember, undoLast, type NewPickup } from '../../host/src/records/keeping.ts';
import { PATTERN_SETTING } from '../../host/src/records/numbers.ts';
import {
  countOf, evidenceOf, lotNamed, lots, mapsOf, nearestByOhm, newestLot, pickupNumbered, placesOfLot, search, type Filter,
} from '../../host/src/records/searching.ts';
import type { Stock } from '../../host/src/records/work.ts';
import type { WireMap, WireMapCoil } from '../../host/src/wiremap/wiremap.ts';
import { keepOne } from './keep-one.ts';

export const RECORD: BenchRecord = asBenchRecord({ ...exampleRecord(), tester: { serial: 'TS-1' }, taken: '2026-03-14T10:22:31Z' });

type Coil = { readonly ohm: number | null; readonly pole: 'N' | 'S' | null; readonly henry?: number };
/** A map of coils of these ohms and poles. */
export function mapOf(coils: readonly Coil[], more: Partial<WireMap> = {}): WireMap {
  return {
    format: 'wiremap/1', verdict: 'good', pairs: [], chassis: [], joined: [], findings: [], unknown: [],
    coils: coils.map(({ ohm, pole, henry }, index): WireMapCoil => ({
      name: `coil ${index + 1}`, minus: 2 * index + 1, plus: 2 * index + 2, ends: ohm === null ? null : [2 * index + 1, 2 * index + 2],
      ohm, place: null, pole, ...(henry === undefined ? {} : { inductance_H: henry }),
    })),
    ...more,
  };
}

const PAIR = mapOf([{ ohm: 4100, pole: 'N' }, { ohm: 4200, pole: 'S' }]);
/** What papers call UNSURE and WARNING, though its verdict is good. */
export const LIKELY: WireMap = { ...PAIR, coils: PAIR.coils.map((coil) => ({ ...coil, confidence: 0.97 })) };
export const WARNED: WireMap = { ...PAIR, findings: [{ kind: 'weak_touch', severity: 'warning', clips: [1, 2], text: 'A touch was weak.' }] };
const HIDDEN: WireMap = { ...PAIR, coils: [{ ...mapOf([{ ohm: 8300, pole: null }]).coils[0]!, hidden_junction: true, parts: [
  { place: 'upper', pole: 'N', sense: 1 }, { place: 'lower', pole: 'S', sense: 1 },
] }] };
const kept = (uid: string, map: WireMap = PAIR, isBroken = false) => ({
  uid, taken: '2026-03-14T10:22:31Z', title: 'a pair', record: RECORD, map, isBroken, isVirtual: false, module: 'aa',
});
const fresh = (uid: string, place: number, number: string | null = null): NewPickup & { lot: string; place: number } => ({
  uid, lot: 'lot', place, number, title: 'a pair', isVirtual: false, added: '2026-03-14T10:22:31Z',
});
const LOT = { uid: 'lot', name: 'box 3', setup: '{"places":[]}', size: 5, isVirtual: false, opened: '2026-03-14T10:00:00Z' };
const AT = '2026-03-14T11:00:00Z';

/** @param open - an empty stock @param close - called after each test */
export function describeStock(name: string, open: () => Promise<Stock>, close: () => Promise<void> = async () => {}): void {
  describe(`the stock ${name}`, () => {
    let stock: Stock;
    beforeEach(async () => { stock = await open(); });
    afterEach(async () => {
      await stock.close();
      await close();
    });

    it('gives numbers by the pattern that the shop set, none twice, and a scanned one to one pickup only', async () => {
      await stock.do(addLot(LOT));
      expect((await stock.do(keepInLot(kept('t1'), fresh('p1', 0)))).number).toBe('0001');
      await stock.do(remember(PATTERN_SETTING, 'P-###'));
      expect((await stock.do(keepInLot(kept('t2'), fresh('p2', 1, 'P-003')))).number).toBe('P-003');
      // Two is next, then three, which was scanned.
      expect((await stock.do(keepInLot(kept('t3'), fresh('p3', 2)))).number).toBe('P-002');
      expect((await stock.do(keepInLot(kept('t4'), fresh('p4', 3)))).number).toBe('P-004');
      await expect((async () => stock.do(addPickup(fresh('p5', 4, 'P-003'))))()).rejects.toMatchObject({ name: 'NumberTaken' });
      await expect((async () => stock.do(addEvent({ uid: 'e', pickup: 'p1', at: AT, kind: 'number', text: 'P-004' })))())
        .rejects.toMatchObject({ name: 'NumberTaken' });
      await stock.do(addEvent({ uid: 'e', pickup: 'p1', at: AT, kind: 'number', text: 'A7' }));
      expect((await stock.do(search('stock', {}, 9))).map(({ number }) => number)).toEqual(['P-004', 'P-002', 'P-003', 'A7']);
    });

    it('takes nothing twice, however often it is told', async () => {
      for (let times = 0; times < 2; times += 1) {
        await stock.do(addLot(LOT));
        await stock.do(keepInLot(kept('t1'), fresh('p1', 0)));
        await stock.do(addEvent({ uid: 'e1', pickup: 'p1', at: AT, kind: 'note', text: 'scratched' }));
      }
      expect([await stock.do(countOf('tests', {})), await stock.do(countOf('stock', {})), (await stock.do(lots(false, 9))).length])
        .toEqual([1, 1, 1]);
      expect((await stock.do(pickupNumbered('0001')))!.events).toEqual([{ at: AT, kind: 'note', text: 'scratched' }]);
    });

    it('lets the newest whole test speak for a pickup, and a person above it', async () => {
      await stock.do(addLot(LOT));
      const state = async (): Promise<string> => (await stock.do(pickupNumbered('0001')))!.line.state;
      await stock.do(keepInLot(kept('t1', PAIR, true), fresh('p1', 0)));
      expect(await state()).toBe('waiting');
      await stock.do(keepInLot(kept('t2'), fresh('p1', 0)));
      expect(await state()).toBe('good');
      await stock.do(keepInLot(kept('t3', { ...PAIR, verdict: 'fault' }), fresh('p1', 0)));
      expect(await state()).toBe('fault');
      await stock.do(keepInLot(kept('t4', PAIR, true), fresh('p1', 0)));
      expect(await state()).toBe('fault');
      await stock.do(addEvent({ uid: 'e1', pickup: 'p1', at: AT, kind: 'state', text: 'sold' }));
      await stock.do(keepInLot(kept('t5'), fresh('p1', 0)));
      expect(await state()).toBe('sold');
      const detail = (await stock.do(pickupNumbered('0001')))!;
      expect(detail.tests.map(({ verdict, isBroken }) => [verdict, isBroken])).toEqual(
        [['good', false], ['good', true], ['fault', false], ['good', false], ['good', true]]);
      expect(detail.line.verdict).toBe('good');
    });

    it('knows where a lot stands, counts it, and takes the last test back without losing it', async () => {
      await stock.do(addLot(LOT));
      await stock.do(keepInLot(kept('t1'), fresh('p1', 0)));
      await stock.do(keepInLot(kept('t2', { ...PAIR, verdict: 'unsure' }), fresh('p2', 1)));
      await stock.do(moveLot('lot', 2));
      expect(await stock.do(newestLot(false))).toMatchObject(
        { name: 'box 3', size: 5, standsAt: 2, tested: 2, states: { good: 1, unsure: 1 }, setup: LOT.setup });
      expect(await stock.do(undoLast('lot', 'u1', AT))).toBe(1);
      expect(await stock.do(lotNamed('box 3'))).toMatchObject({ standsAt: 1, tested: 1, states: { good: 1, waiting: 1 } });
      expect((await stock.do(search('tests', {}, 9))).map(({ isWithdrawn }) => isWithdrawn)).toEqual([true, false]);
      expect((await stock.do(placesOfLot('lot'))).map(({ place, state, taken }) => [place, state, taken]))
        .toEqual([[0, 'good', RECORD.taken], [1, 'waiting', null]]);
      expect(await stock.do(undoLast('lot', 'u2', AT))).toBe(0);
      expect(await stock.do(undoLast('lot', 'u3', AT))).toBeNull();
    });

    it('tells beside a good verdict what is still to be minded, in every list', async () => {
      await stock.do(addLot(LOT));
      for (const [place, map] of [PAIR, LIKELY, WARNED, { ...LIKELY, verdict: 'unsure' as const }].entries())
        await stock.do(keepInLot(kept(`t${place}`, map), fresh(`p${place}`, place)));
      await stock.do(addPickup({ ...fresh('p4', 4), number: null }));
      const doubts = ['', 'likely', 'warning', ''];
      expect((await stock.do(search('tests', {}, 9))).map(({ doubt }) => doubt).reverse()).toEqual(doubts);
      expect((await stock.do(search('stock', {}, 9))).map(({ doubt }) => doubt).reverse()).toEqual([...doubts, '']);
      expect((await stock.do(placesOfLot('lot'))).map(({ doubt }) => doubt)).toEqual([...doubts, '']);
      // What the verdict finds stays what it was.
      expect((await stock.do(search('stock', { verdict: 'good' }, 9))).map(({ doubt }) => doubt)).toEqual(['warning', 'likely', '']);
      expect((await stock.do(pickupNumbered('0002')))!.tests[0]).toMatchObject({ verdict: 'good', doubt: 'likely' });
      const counted = { tested: 4, states: { good: 3, unsure: 1, waiting: 1 }, doubtful: 2 };
      expect([await stock.do(newestLot(false)), ...(await stock.do(lots(false, 9)))]).toMatchObject([counted, counted]);
      // A pickup that was sold is not among the good ones any more.
      await stock.do(addEvent({ uid: 'e1', pickup: 'p1', at: AT, kind: 'state', text: 'sold' }));
      expect(await stock.do(lotNamed('box 3'))).toMatchObject({ doubtful: 1 });
    });

    it('hands the evidence out as it was put in, to the value', async () => {
      const record = asBenchRecord({
        ...RECORD, mine: { kept: [1, 'as it is'] },
        touches: [{
          at: 'upper', rate_Hz: 10_000, start_s: -0.1, channels: [
            { plus: 2, minus: 1, volts_V: [0, 0.0000019, null, -0.0000029, 1.2] },
            { plus: 4, minus: 3, volts_V: [0.1234567891, 1e-9, null, 0.3, -0.25] }],
        }],
      });
      const id = await keepOne(stock, { title: 'x', record, map: PAIR });
      const read = (await stock.do(evidenceOf(id))) as { record: unknown; map: string };
      expect(JSON.stringify(read.record)).toBe(JSON.stringify(record));
      expect(read.map).toBe(JSON.stringify(PAIR));
      expect([...(await stock.do(mapsOf([id, 99])))]).toEqual([[id, JSON.stringify(PAIR)]]);
    });

    it('finds by number, lot, state, verdict, ohms, leads, pole and words, in both lists, the newest first', async () => {
      await stock.do(addLot(LOT));
      await stock.do(keepInLot(kept('t1'), { ...fresh('p1', 0), title: 'Étude' }));
      const single = mapOf([{ ohm: 6000, pole: 'S' }], {
        verdict: 'fault', findings: [{ kind: 'shorted_turns', severity: 'fault', clips: [1, 2], text: 'Turns are shorted.' }] });
      const two = asBenchRecord({
        format: 'bench/1', tester: { serial: 'TS-1' }, clips: [{ clip: 1, colour: 'TQ' }, { clip: 2, colour: 'BU' }], resistances: [],
      });
      await keepOne(stock, { title: 'one coil', record: two, map: single, number: 'Z9' });
      await keepOne(stock, { title: 'invented', record: asBenchRecord({ ...two, tester: { serial: 'TWIN-1' } }), map: single });
      await stock.do(addEvent({ uid: 'n1', pickup: 'p1', at: AT, kind: 'note', text: 'cover is dented' }));
      const found = async (filter: Filter): Promise<string[]> => {
        const [stocked, tested] = [await stock.do(search('stock', filter, 9)), await stock.do(search('tests', filter, 9))];
        expect(tested.map(({ number }) => number)).toEqual(stocked.map(({ number }) => number));
        expect(await stock.do(countOf('stock', filter))).toBe(stocked.length);
        return stocked.map(({ number }) => number!);
      };
      expect(await found({})).toEqual(['Z9', '0001']);
      expect(await found({ withVirtual: true })).toEqual(['V-0001', 'Z9', '0001']);
      expect(await found({ number: 'Z9' })).toEqual(['Z9']);
      expect(await found({ number: '00*' })).toEqual(['0001']);
      expect(await found({ lot: 'box 3' })).toEqual(['0001']);
      expect(await found({ state: 'fault' })).toEqual(['Z9']);
      expect(await found({ verdict: 'good' })).toEqual(['0001']);
      expect(await found({ ohmLeast: 8200, ohmMost: 8400 })).toEqual(['0001']);
      expect(await found({ ohmMost: 8000 })).toEqual(['Z9']);
      expect(await found({ leads: 2 })).toEqual(['Z9']);
      expect(await found({ colours: ['BU', 'TQ'] })).toEqual(['Z9']);
      expect(await found({ colours: ['BU', 'YE'] })).toEqual(['0001']);
      expect(await found({ poles: ['S'] })).toEqual(['Z9', '0001']);
      expect(await found({ poles: ['N', 'S'] })).toEqual(['0001']);
      expect(await found({ words: searchWords('etu') })).toEqual(['0001']);
      expect(await found({ words: searchWords('SHORTED turn') })).toEqual(['Z9']);
      expect(await found({ words: searchWords('dent cov') })).toEqual(['0001']);
      expect(await found({ words: searchWords('box') })).toEqual(['0001']);
      expect(await found({ words: searchWords('nowhere') })).toEqual([]);
      expect((await stock.do(search('stock', {}, 1, 2))).map(({ number }) => number)).toEqual(['0001']);
      expect((await stock.do(nearestByOhm(8000, 0.1, false, 9))).map(({ number }) => number)).toEqual(['0001']);
      // The poles behind a junction that no lead reaches are poles as well.
      await stock.do(keepInLot(kept('t3', HIDDEN), fresh('p3', 2, 'H1')));
      expect(await found({ poles: ['N', 'S'] })).toEqual(['H1', '0001']);
    });

    it('takes what is hostile in a word as a word', async () => {
      const nasty = "'; DROP TABLE tests; -- \" * NEAR( & | ! <-> :* ?";
      await keepOne(stock, { title: nasty, record: RECORD, map: PAIR, number: "x'?" });
      expect((await stock.do(search('stock', { number: "x'?" }, 9)))[0]!.title).toBe(nasty);
      expect(await stock.do(search('stock', { words: searchWords(nasty) }, 9))).toHaveLength(1);
      expect(await stock.do(search('stock', { lot: nasty, state: nasty, verdict: nasty, colours: [nasty] }, 9))).toEqual([]);
    });
  });
}
