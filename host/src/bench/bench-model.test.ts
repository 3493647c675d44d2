import { describe, expect, it } from 'vitest';
import { Collector } from '../evidence/collect.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import { Light, Report } from '../logic/layout.generated.ts';
import { createLogic } from '../logic/module.ts';
import type { BenchView } from './view.ts';
import { decodeReport, type State } from '../transport/reports.ts';
import type { Transport } from '../transport/transport.ts';
import { BoardTwin } from '../virtual-bench/board-twin.ts';
import { demoLot } from '../virtual-bench/demo-lot.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { BenchModel, type TestToKeep } from './bench-model.ts';
import { setupOf, testerBench, virtualBench } from './bench.ts';
import { buttonWords, promptOf } from './prompts.ts';

/** A tester that keeps its power and its state while the program lets go of it, as one on a cable does.
 * @param after - told of each report once the program has heard it
 */
function onACable(twin: BoardTwin, after: (report: Uint8Array) => void = () => undefined): Transport {
  return {
    serial: twin.serial,
    set onReport(listener: (report: Uint8Array) => void) {
      twin.onReport = (report) => {
        listener(report);
        after(report);
      };
    },
    set onClosed(_: () => void) { /* nobody pulls this cable */ },
    write: (report) => twin.write(report),
    open: () => twin.open(),
    async close() {
      twin.onClosed = () => undefined;
      twin.unplug();
    },
  };
}

/** A test on the virtual bench, driven by keys; collects every view on the way. */
async function drive(pickup: Pickup): Promise<BenchView[]> {
  const views: BenchView[] = [];
  let ended = (): void => undefined;
  const done = new Promise<void>((resolve) => { ended = resolve; });
  const model = new BenchModel(virtualBench({ seed: 5, lot: [pickup], automatic: true }), {
    timeOfDay: () => '2026-01-01T00:00:00Z',
    keep: () => { ended(); return null; },
  });
  model.subscribe(() => views.push(model.view()));
  void model.button();
  await done;
  await new Promise(setImmediate);
  await model.close();
  return views;
}

describe('the bench on the way through a test', () => {
  it('never tells of more than the whole, nor of less because it waits for the program', async () => {
    const views = await drive(demoLot[0]!);
    const told = views.flatMap(({ progress }) => (progress === null ? [] : [progress]));
    expect(told.length).toBeGreaterThan(10);
    expect(Math.max(...told)).toBeLessThanOrEqual(1);
    const sending = views.flatMap(({ step }, n) => (step === 'sending' && views[n - 1]!.step !== 'sending' ? [n] : []));
    expect(sending.length).toBeGreaterThan(0);
    for (const n of sending) expect(views[n]!.progress).toBe(views[n - 1]!.progress);
  });

  it('draws after each entry what follows from it and those before, not from those before alone', async () => {
    const pickup = demoLot[0]!;
    const setup = setupOf(pickup);
    const logic = createLogic();
    const collector = new Collector(logic, setup);
    const twin = new BoardTwin({ pickup, seed: 5, automatic: true });
    let drawn = 0;
    const transport = onACable(twin, (bytes) => {
      const report = decodeReport(bytes);
      if (report.kind === 'samples') collector.samples(report);
      if (report.kind !== 'entry' || collector.entry(report) !== 'new' || report.number === 0) return;
      expect(model.view().map).toEqual(solveEvidence(logic, setup.places));
      drawn += 1;
    });
    const model: BenchModel = new BenchModel(testerBench(async () => transport, setup), { timeOfDay: () => '2026-01-01T00:00:00Z' });
    await model.button();
    await model.close();
    await twin.close();
    expect(drawn).toBeGreaterThan(20);
  });

  it('names the keys that do something now, and no other', async () => {
    const views = await drive(demoLot[0]!);
    const keysAt = (found: (view: BenchView) => boolean): string =>
      views.find(found)?.keys.map(({ key, does }) => `${key} ${does}`).join('  ') ?? 'never';
    expect(keysAt(({ prompt }) => prompt.startsWith('Touch the'))).toBe('t touch  space skip  c cancel  q quit  n next  p previous  tab panel  b bell on');
    expect(keysAt(({ prompt }) => prompt.startsWith('Hold the magnet'))).toMatch(/^g magnet  space skip  c cancel/);
    expect(keysAt(({ prompt }) => prompt.startsWith('Hands off'))).toMatch(/^c cancel  q quit  n next/);
    expect(keysAt(({ final }) => final)).toMatch(/^space test again  q quit  n next/);
    // Of two coils all ways are shown: no key has more.
    expect(views.at(-1)!.ways).toBeNull();
  });

  it('calls space what it is while it is asked whether a test is left', async () => {
    const model = new BenchModel(virtualBench({ seed: 5, lot: [demoLot[0]!] }), { timeOfDay: () => '2026-01-01T00:00:00Z' });
    void model.button();
    while (!model.view().prompt.startsWith('Touch the')) await new Promise(setImmediate);
    const space = (): string | undefined => model.view().keys.find(({ key }) => key === 'space')?.does;
    expect(space()).toBe('skip');
    await model.leave('n');
    expect(model.view().prompt).toMatch(/space goes on with it\.$/);
    expect(space()).toBe('go on');
    await model.button();
    expect(space()).toBe('skip');
    await model.close();
  });

  it('keeps each prompt for the hand in one line of 80 columns', () => {
    const state = { light: Light.touch, place: 0, ask: 0 } as State;
    for (const ask of [0, 1]) expect(promptOf({ ...state, ask }, ['upper'], true).length).toBeLessThanOrEqual(80);
    expect(buttonWords(state, false)).toBe('skip');
  });
});

describe('what the bench says of a test that is over', () => {
  /** The last message of a test whose result differs by a byte or not, whose cable is pulled or not, and that is kept or not. */
  async function lastMessage({ differs = false, pulled = false, why = null as string | null, keeps = true }): Promise<string | null> {
    const pickup = demoLot[1]!;
    const twin = new BoardTwin({ pickup, seed: 5 });
    let entries = 0;
    const transport: Transport = {
      serial: twin.serial,
      onReport: () => undefined,
      onClosed: () => undefined,
      write: (report) => twin.write(report),
      open() {
        twin.onReport = (report) => {
          if (report[1] === Report.entry) entries += 1;
          if (pulled && entries === 6) transport.onClosed({ sentence: 'tester TWIN-0001 was unplugged' });
          const isResult = report[1] === Report.block && report[8] === 1 && report[10] === 0 && report[11] === 0;
          transport.onReport(differs && isResult ? report.map((byte, at) => (at === 19 ? byte ^ 1 : byte)) : report);
        };
        return twin.open();
      },
      close: () => twin.close(),
    };
    const model = new BenchModel(testerBench(async () => transport, setupOf(pickup)), {
      timeOfDay: () => '2026-01-01T00:00:00Z', ...(keeps ? { keep: () => why } : {}),
    });
    await model.button();
    const { message } = model.view();
    await model.close();
    return message;
  }
  const DIFFERS = /^Tester and program disagree: result block: .*; do not rely on either\.$/;
  const FULL = 'records.sqlite: cannot be written: the disk is full';

  it('is nothing when all is well', async () => {
    expect(await lastMessage({})).toBeNull();
  });
  it('is the warning about the result first, and that it is not kept beside it', async () => {
    expect(await lastMessage({ differs: true })).toMatch(DIFFERS);
    const both = await lastMessage({ differs: true, why: FULL });
    const [warning, rest] = [both!.slice(0, both!.indexOf(' This test')), both!.slice(both!.indexOf(' This test'))];
    expect(warning).toMatch(DIFFERS);
    expect(rest).toBe(` This test is not kept: ${FULL}.`);
    expect(await lastMessage({ why: FULL })).toBe(`This test is not kept: ${FULL}.`);
  });
  it('is "kept" of a broken-off test only when it was', async () => {
    const gone = 'tester TWIN-0001 was unplugged';
    expect(await lastMessage({ pulled: true })).toBe(`${gone}; what was measured so far is kept`);
    expect(await lastMessage({ pulled: true, why: FULL })).toBe(`${gone}; what was measured so far is not kept: ${FULL}`);
    expect(await lastMessage({ pulled: true, keeps: false })).toBe(gone);
  });
});

describe('the bench on an attached tester', () => {
  it('tests one pickup after another with one press each', async () => {
    const pickup = demoLot[1];
    const twin = new BoardTwin({ pickup, seed: 5 });
    let ended = (): void => undefined;
    const verdicts: string[] = [];
    const model = new BenchModel(testerBench(async () => onACable(twin), setupOf(pickup)), {
      timeOfDay: () => '2026-01-01T00:00:00Z',
      keep: ({ map }) => {
        verdicts.push(map.verdict);
        ended();
        return null;
      },
    });
    for (let round = 0; round < 2; round += 1) {
      const done = new Promise<void>((resolve) => { ended = resolve; });
      void model.button();
      await done;
      // The tester is let go of after the test is kept.
      await new Promise(setImmediate);
    }
    expect(verdicts).toEqual(['good', 'good']);
    await model.close();
    await twin.close();
  });

  it("goes to the next pickup by the tester's own button, tests one that was broken off again by it, and never begins one that is tested", async () => {
    const pickup = demoLot[1]!;
    const twin = new BoardTwin({ pickup, seed: 5 });
    const kept: TestToKeep[] = [];
    const moves: number[] = [];
    let known = -1;
    const model = new BenchModel(testerBench(async () => onACable(twin), setupOf(pickup), 'box', 4), {
      timeOfDay: () => '2026-01-01T00:00:00Z', keep: (test) => { kept.push(test); return null; }, onMove: (place) => moves.push(place),
      recall: (place) => (place === known ? { map: kept[0]!.map, readings: [], number: '0004' } : null),
    });
    const comes = async (is: (view: BenchView) => boolean): Promise<BenchView> => {
      while (!is(model.view())) await new Promise(setImmediate);
      return model.view();
    };
    const prompted = (words: string) => comes(({ prompt }) => prompt.includes(words));
    void model.button();
    await prompted("clip on the next pickup and press the tester's button");
    for (const place of [1, 2]) {
      twin.press();
      expect((await comes(({ final }) => !final)).title).toBe(`${place + 1} of 4: pickup ${place + 1} of this lot`);
      if (place === 2) known = 3;
      await comes(({ final }) => final);
      if (place === 1) await prompted("tester's button");
    }
    expect(kept.map(({ place, isBroken }) => [place, isBroken])).toEqual([[0, false], [1, false], [2, false]]);
    expect(moves).toEqual([1, 2]);
    // The last one is tested already: which pickup is meant only a key can tell.
    expect((await prompted('press n; space tests this one again')).prompt).not.toContain('button');
    void model.button();
    await comes(({ activePair }) => activePair !== null);
    model.cancel();
    await prompted("Broken off: the tester's button or space tests this one again; n for the next.");
    twin.press();
    await comes(({ final }) => !final);
    await comes(({ final }) => final);
    expect(kept.slice(3).map(({ place, isBroken }) => [place, isBroken])).toEqual([[2, true], [2, false]]);
    await model.close();
    await twin.close();
  });
});

describe('a lot on the bench', () => {
  const LOT = demoLot.slice(0, 2);
  /** The bench by keys, with what it keeps; the person does not act by itself. */
  function bench(more: Partial<ConstructorParameters<typeof BenchModel>[1]> = {}) {
    const kept: TestToKeep[] = [];
    const model = new BenchModel(virtualBench({ seed: 5, lot: LOT }), {
      timeOfDay: () => '2026-01-01T00:00:00Z', keep: (test) => { kept.push(test); return null; },
      recall: (place) => {
        const found = kept.findLast((test) => test.place === place && !test.isBroken);
        return found === undefined ? null : { map: found.map, readings: found.record.resistances, number: `000${place + 1}` };
      },
      numberKept: () => '0001', ...more,
    });
    const comes = async (is: (view: BenchView) => boolean): Promise<void> => {
      while (!is(model.view())) await new Promise(setImmediate);
    };
    return { model, kept, comes, asks: () => comes(({ keys }) => keys.some(({ key }) => key === 't' || key === 'g')) };
  }

  it('asks before it leaves a test that is not over, goes on with it by another key, and keeps what was left as broken off', async () => {
    const { model, kept, asks, comes } = bench();
    void model.button();
    await asks();
    expect(await model.leave('q')).toBe(false);
    expect(model.view().prompt).toBe('This test is not over: q again keeps it as broken off and quits; space goes on with it.');
    await model.button();
    expect(model.view().prompt).not.toContain('not over');
    expect(model.view().keys).toContainEqual({ key: 't', does: 'touch' });
    await model.move(1);
    expect([kept.length, model.view().title]).toEqual([0, expect.stringMatching(/^1 of 2/)]);
    void model.move(1);
    await comes(({ title }) => title.startsWith('2 of 2'));
    expect(kept.map(({ isBroken, place, record }) => [isBroken, place, record.notes])).toEqual([[true, 0, ['cancelled']]]);
    expect(kept[0]!.map.unknown[0]).toMatch(/^Everything after the moment at which the test was broken off/);
    await model.close();
  });

  it('keeps a test that was cancelled as broken off, and says so', async () => {
    const { model, kept, asks, comes } = bench();
    void model.button();
    await asks();
    model.cancel();
    await comes(({ final }) => final);
    await comes(({ prompt }) => prompt.startsWith('Broken off, number 0001:'));
    expect(kept.map(({ isBroken }) => isBroken)).toEqual([true]);
    await model.close();
  });

  it('shows a finished pickup again when the person comes back to it, and does not begin the lot anew after its last', async () => {
    const { model, kept, asks, comes } = bench({ startsAt: 1 });
    void model.open();
    await model.move(1);
    expect(model.view().title).toMatch(/^2 of 2/);
    expect(model.view().message).toMatch(/^This is the last pickup of the lot/);
    void model.button();
    while (kept.length === 0) {
      await Promise.race([asks(), comes(({ final }) => final)]);
      model.touch();
      model.holdMagnet();
      await new Promise(setImmediate);
    }
    await comes(({ final, prompt }) => final && prompt.startsWith('Done'));
    const { map } = model.view();
    void model.move(-1);
    await comes(({ title }) => title.startsWith('1 of 2'));
    expect(model.view()).toMatchObject({ final: false, map: null });
    await model.move(1);
    expect(model.view()).toMatchObject({ final: true, map, prompt: expect.stringMatching(/^Done, number 0002:/) });
    expect(model.view().readings.size).toBeGreaterThan(0);
    await model.close();
  });

  it('waits a minute and more, sleeps, and is woken by the key of the hand', async () => {
    const { model, asks, comes } = bench();
    void model.button();
    await asks();
    await comes(({ step }) => step === 'asleep, current off');
    expect(model.view().prompt)
      .toMatch(/^The tester sleeps, its current off; press the button \(space\), and it asks again for steel at the upper coil/);
    model.touch();
    await comes(({ step }) => step === 'listening');
    expect(model.view().prompt).toMatch(/^Touch the upper coil/);
    await model.close();
  });

  it('takes the last test back and stands at its pickup', async () => {
    const { model, comes } = bench({ startsAt: 1, undo: () => 0 });
    void model.undo();
    await comes(({ title }) => title.startsWith('1 of 2'));
    expect(model.view()).toMatchObject({ message: expect.stringMatching(/taken back; it stays in the records as withdrawn/) });
    await model.close();
  });

  it('tells in the map what was asked for and did not come: nobody touched, a magnet was skipped', async () => {
    const { model, kept, comes } = bench();
    void model.button();
    while (kept.length === 0) {
      await comes(({ final, keys }) => final || keys.some(({ does }) => does === 'skip'));
      if (!model.view().final) void model.button();
      await new Promise(setImmediate);
    }
    const { unknown } = kept[0]!.map;
    expect(unknown.filter((text) => text.includes('nobody touched there'))).toHaveLength(2);
    expect(unknown.filter((text) => text.includes('the wait for the probe was skipped'))).toHaveLength(2);
    expect(unknown.join(' ')).not.toMatch(/larger piece/);
    await model.close();
  });
});

describe('a second pickup with the colours of the first', () => {
  const turned: Pickup = {
    ...demoLot[0]!, title: 'its twin',
    coils: demoLot[0]!.coils.map((coil) => ({ ...coil, winding: coil.winding === 'cw' ? 'ccw' : 'cw' })),
  };
  it.each([['wired the other way', turned, true], ['of the same kind', { ...demoLot[0]!, title: 'its twin' }, false]] as const)(
    'is pointed out as soon as it is measured where it is %s', async (_, second, isTold) => {
      const first = demoLot[0]!;
      let ended = (): void => undefined;
      const model = new BenchModel(virtualBench({ seed: 5, lot: [first, second], automatic: true }), {
        timeOfDay: () => '2026-01-01T00:00:00Z', keep: () => { ended(); return null; },
      });
      const test = async (): Promise<BenchView> => {
        const done = new Promise<void>((resolve) => { ended = resolve; });
        void model.button();
        await done;
        await new Promise(setImmediate);
        return model.view();
      };
      const before = await test();
      void model.move(1);
      while (model.view().final || model.view().step === 'connecting') await new Promise(setImmediate);
      const after = await test();
      await model.close();
      expect(before.message).toBeNull();
      expect(after.message).toBe(isTold ? `It looks like ${first.title}, but is not: see its wiring.` : null);
      const told = after.wiring.filter(({ text }) => text.includes('look alike'));
      expect(told).toHaveLength(isTold ? 1 : 0);
      if (isTold) expect(told[0]!.text).toMatch(/plus is .* in .* and .* in its twin/);
    });
});
