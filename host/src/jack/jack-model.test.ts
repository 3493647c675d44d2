/** A guitar read at its jack, setting by setting, on the board twin; what the screen is shown on the way. */
import { describe, expect, it } from 'vitest';
import { example, loadInColour } from '../../../tests/harness/example-harnesses.ts';
import { guitarOf } from '../bench/guitar-of.ts';
import { placeNames } from '../bench/lot-setup.ts';
import { TouchReader } from '../evidence/touch-reader.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { proofOf } from '../proof/document.ts';
import { evidenceOf } from '../proof/evidence-of.ts';
import { proofText } from '../proof/proof-text.ts';
import { wiredOf } from '../proof/wired.ts';
import type { Transport } from '../transport/transport.ts';
import { BoardTwin } from '../virtual-bench/board-twin.ts';
import { Guitar, type GuitarPlan } from '../virtual-bench/guitar.ts';
import { putFault } from '../virtual-bench/guitar-faults.ts';
import { RandomStream } from '../virtual-bench/random.ts';
import { attachedJack, simulatedJack, simulatedPlaces, type JackBench } from './jack-bench.ts';
import { JackModel, type JackModelOptions } from './jack-model.ts';
import { jackSteps, stepOf } from './jack-steps.ts';
import { potWords } from './jack-words.ts';
import { placesProblem, proposedPlaces } from './survey-places.ts';

const loaded = (name: string): LoadedHarness => loadInColour(example(name));
const sound = (known: LoadedHarness): GuitarPlan => guitarOf(wiredOf(known), new Map(), new RandomStream(1, 'guitar'));
const automatic = (plan: GuitarPlan): JackBench => simulatedJack(plan, { twin: 'board', seed: 3, automatic: true });

/** A screen with nobody before it. */
function begin(bench: JackBench, known: LoadedHarness, more: Partial<JackModelOptions> = {}): { model: JackModel; files: string[] } {
  const files: string[] = [];
  const model = new JackModel(bench, {
    loaded: known, harness: 'x.harness.json', timeOfDay: () => '2026-01-01T00:00:00Z', file: 'x.jsonl', isThere: async () => false,
    write: async (_, records) => {
      files.push(records.map((record) => JSON.stringify(record)).join('\n'));
      return null;
    },
    ...more,
  });
  return { model, files };
}

/** Waits until the view is as wanted; looks at every change, and at what no view shows. */
function until(model: JackModel, isSo: (view: ReturnType<JackModel['view']>) => boolean): Promise<void> {
  return new Promise((resolve) => {
    let isOver = false;
    const look = (): void => {
      if (isOver || !isSo(model.view())) return;
      isOver = true;
      ended();
      resolve();
    };
    const ended = model.subscribe(look);
    const lookOn = (): void => {
      look();
      if (!isOver) setImmediate(lookOn);
    };
    lookOn();
  });
}

/** A tester that keeps its power and its state while the program lets go of it, as one on a cable does. */
function onACable(twin: BoardTwin): Transport {
  return {
    serial: twin.serial,
    set onReport(listener: Transport['onReport']) { twin.onReport = listener; },
    set onClosed(listener: Transport['onClosed']) { twin.onClosed = listener; },
    write: (report) => twin.write(report),
    open: () => twin.open(),
    async close() {
      twin.onClosed = () => undefined;
      twin.unplug();
    },
  };
}

const isReady = ({ prompt }: { prompt: string }): boolean => prompt.includes('Then press the button of the tester');
const isRead = ({ prompt }: { prompt: string }): boolean => prompt.startsWith('Every setting was read');
const isAsking = ({ prompt }: { prompt: string }): boolean => /^(Touch|Once more)/.test(prompt);

/** Presses the button for one setting after the other until all are read. @returns what was said after each */
async function readAll(model: JackModel): Promise<(string | null)[]> {
  const said: (string | null)[] = [];
  void model.open();
  for (;;) {
    await until(model, (view) => isReady(view) || isRead(view));
    if (said.length > 0 || isRead(model.view())) said.push(model.view().message);
    if (isRead(model.view())) return said;
    if (said.length === 0) said.push(null);
    const { count } = model.view();
    void model.button();
    await until(model, (view) => view.count !== count);
  }
}

describe('a guitar at its jack', () => {
  it('is read setting by setting: each line at once, each place touched once, each reading written at once, and proved in the words of `proof`', async () => {
    const known = loaded('two-singles');
    const { model, files } = begin(automatic(sound(known)), known);
    expect(model.proof()).toEqual(['Known when a setting has been read.']);
    expect((await readAll(model)).slice(1)).toEqual([
      'selector front: as planned.', 'selector both: as planned.', 'selector rear: as planned.']);
    expect(model.view().rows.map(({ cells: [setting, , , sounds] }) => [setting, sounds])).toEqual([
      ['front', 'front single +'], ['both', 'front single +; rear single +'], ['rear', 'rear single +']]);
    expect(model.view().rows.some(({ differs }) => differs)).toBe(false);
    await model.close();
    expect(files.map((text) => text.split('\n').length)).toEqual([1, 2, 3]);
    const records = files.at(-1)!.split('\n').map((line) => asBenchRecord(JSON.parse(line)));
    expect(records.map(({ touches = [] }) => touches.map(({ at }) => at))).toEqual(Array(3).fill(['front single', 'rear single']));
    expect(records.map(({ magnets, harness }) => [magnets, harness])).toEqual(Array(3).fill([undefined, 'x.harness.json']));
    const wired = wiredOf(known);
    const proof = proofOf(wired, evidenceOf(wired, records.map((record) => ({ source: '', record })), new TouchReader()));
    expect(proof.verdict).toBe('as_planned');
    expect(model.proofText()).toBe(proofText(wired, proof));
  });

  it('with the leads of one pickup exchanged says so at its line, tells signs against each other, and names the cause', async () => {
    const known = loaded('two-singles');
    const plan = sound(known);
    const faults = Array.from({ length: 20 }, (_, at) => putFault(plan, 'leads exchanged', new RandomStream(at, 'fault'))!);
    const fault = faults.find(({ at }) => at[0] === 'rear')!;
    const { model } = begin(automatic(fault.plan), known);
    const said = await readAll(model);
    expect(said[2]).toBe('selector both: rear single swings negative, not positive.');
    model.move(-1);
    await until(model, isReady);
    expect(model.view().detail.map(({ text }) => text)).toContain('Sounds: front single (+) against rear single (-).');
    expect(model.view().rows.map(({ differs }) => differs)).toEqual([false, true, true]);
    expect(model.proof().join(' ').replace(/\s+/g, ' ')).toMatch(/Likely cause.*two leads of rear are exchanged/);
    await model.close();
  });

  it('of which nobody knows the pickups asks what can be touched, says what is wrong with that, and surveys', async () => {
    const plan = sound(loaded('two-pairs'));
    const { harness } = loaded('two-pairs');
    const { model } = begin(automatic(plan), { harness: { ...harness, fitted: [] }, pickups: [] });
    void model.open();
    expect(model.view().ask?.text).toBe('front, rear');
    for (let n = 0; n < 100; n++) model.erase();
    model.type('front upper, bridge');
    model.enter();
    expect(model.view().ask?.question)
      .toMatch(/^"bridge" is no place; expected SLOT PLACE, with a slot of front, rear\. Places that can be touched/);
    for (let n = 0; n < 100; n++) model.erase();
    model.type(simulatedPlaces(plan).join(', '));
    model.enter();
    expect((await readAll(model)).length).toBeGreaterThan(2);
    const { rows, titles } = model.view();
    expect(titles[2]).toBe('pickups alone');
    // Its planned ohms at 20 degrees are 8.0 k; the room's copper and the pots are in what is left.
    expect(rows[0]!.cells[2]).toMatch(/^[78]\.\d+ k \+- \d+ ohm$/);
    expect(rows[0]!.cells[3]).toBe('front upper +; front lower +');
    expect(model.proof().join(' ').replace(/\s+/g, ' ')).toContain('What cannot be known so, and how to learn it');
    await model.close();
  });

  it('that is left in the middle asks first; what was read of the setting is kept, and gone on with from the file', async () => {
    const known = loaded('two-singles');
    const plan = sound(known);
    const { model, files } = begin(simulatedJack(plan, { twin: 'board', seed: 3, automatic: false }), known);
    void model.open();
    await until(model, isReady);
    void model.button();
    await until(model, isAsking);
    model.touch();
    await until(model, ({ prompt }) => prompt.includes('rear single'));
    let isEnded = false;
    model.quit(() => { isEnded = true; });
    expect([isEnded, model.view().ask?.question]).toEqual([false, 'selector front is not read to its end. End all the same?']);
    model.leave();
    expect(isAsking(model.view())).toBe(true);
    model.quit(() => { isEnded = true; });
    model.type('y');
    await until(model, () => isEnded);
    await model.close();
    const [line] = files.at(-1)!.split('\n');
    const kept = asBenchRecord(JSON.parse(line!));
    expect([kept.touches?.map(({ at }) => at), kept.setting, kept.resistances.length > 0]).toEqual([['front single'], { selector: 'front' }, true]);
    expect(model.view().rows[0]!.cells[3]).toBe('front single +, in part');

    const again = begin(automatic(plan), known, { records: [kept] });
    expect([again.model.view().count, again.model.isEmpty]).toEqual(['0 of 3 settings read', false]);
    await readAll(again.model);
    expect(again.model.records.map(({ setting }) => setting!.selector)).toEqual(['front', 'front', 'both', 'rear']);
    await again.model.close();
  });

  it('whose tester is pulled out keeps what it has, says so, waits, and goes on with the same reading', async () => {
    const known = loaded('two-singles');
    const twin = new BoardTwin({ pickup: new Guitar(sound(known), [0]), seed: 3, automatic: false });
    const { model, files } = begin(attachedJack(async () => onACable(twin)), known);
    void model.open();
    await until(model, isReady);
    void model.button();
    await until(model, isAsking);
    twin.touch();
    await until(model, ({ prompt }) => prompt.includes('rear single'));
    twin.unplug();
    await until(model, ({ message }) => message !== null);
    expect(model.view().message).toBe(`tester ${twin.serial} was unplugged; what was read so far stays. Plug it in again, and the reading goes on.`);
    expect(model.view().rows[0]!.cells[3]).toBe('front single +, in part');
    void model.plugged();
    await until(model, isAsking);
    expect(model.view().prompt).toContain('rear single');
    twin.touch();
    await until(model, ({ prompt }) => isAsking({ prompt }) && !prompt.includes('s left'));
    twin.press();
    await until(model, ({ count }) => count.startsWith('1'));
    expect(model.records).toHaveLength(1);
    expect(model.records[0]!.touches?.map(({ at }) => at)).toEqual(['front single', 'rear single']);
    await model.close();
    expect(files.at(-1)!.split('\n')).toHaveLength(1);
  });

  it('is read by one tester whose own button begins each setting, with no key at all', async () => {
    const known = loaded('two-singles');
    // Nobody moves the selector here: what is read of the others is of this setting too, and is told so.
    const twin = new BoardTwin({ pickup: new Guitar(sound(known), [0]), seed: 3, automatic: true });
    const { model } = begin(attachedJack(async () => onACable(twin)), known);
    void model.open();
    for (const count of [1, 2, 3]) {
      await until(model, isReady);
      twin.press();
      await until(model, (view) => view.count.startsWith(String(count)));
    }
    expect(model.records.map(({ setting, tester }) => [setting!.selector, tester!.serial])).toEqual([
      ['front', twin.serial], ['both', twin.serial], ['rear', twin.serial]]);
    expect(model.view().rows.map(({ differs }) => differs)).toEqual([false, true, true]);
    await model.close();
  });

  it('can have a setting read again, which adds, and dropped, after a question', async () => {
    const known = loaded('one-pickup');
    const { model, files } = begin(automatic(sound(known)), known);
    await readAll(model);
    void model.button();
    await until(model, () => model.records.length === 2);
    await until(model, isRead);
    expect(model.view().detail.map(({ text }) => text)).toEqual(expect.arrayContaining(['Reading 1', 'Reading 2']));
    model.drop();
    expect(model.view().ask?.question).toBe('Drop all 2 readings of the only setting?');
    model.type('y');
    expect([model.isEmpty, model.view().count]).toEqual([true, '0 of 1 settings read']);
    await model.close();
    expect(files.at(-1)).toBe('');
  }, 60_000);

  it('says why readings could not be written, and asks before they are lost that stand in no file', async () => {
    const known = loaded('one-pickup');
    const full = begin(automatic(sound(known)), known, { write: async () => 'x.jsonl cannot be written (ENOSPC)' });
    await readAll(full.model);
    await until(full.model, ({ message }) => message?.startsWith('Not written') === true);
    expect(full.model.view().message)
      .toBe('Not written: x.jsonl cannot be written (ENOSPC). The readings stand here only; k keeps them in another file.');
    full.model.quit(() => undefined);
    expect(full.model.view().ask?.question).toBe('One reading stands in no file. The proof is printed in any case.');
    await full.model.close();

    const none = begin(automatic(sound(known)), known, { file: null, isThere: async (file) => file === 'old' });
    await readAll(none.model);
    let isEnded = false;
    none.model.quit(() => { isEnded = true; });
    expect([isEnded, none.model.view().ask?.question]).toEqual([false, 'One reading stands in no file. The proof is printed in any case.']);
    none.model.type('k');
    expect(none.model.view().ask?.text).toBe('x-jack.bench.jsonl');
    none.model.enter();
    await until(none.model, () => isEnded);
    await none.model.close();
    expect(none.files).toHaveLength(1);
  });

  it('is proved sound in every one of five positions by hands that touch each place once', async () => {
    const known = loaded('three-singles');
    const { model } = begin(automatic(sound(known)), known);
    await readAll(model);
    expect(model.proofText()).toContain('AS PLANNED');
    await model.close();
  }, 120_000);
});

describe('what is read at a jack', () => {
  it('goes through every setting, with at most eight places in one test', () => {
    const { harness } = loaded('two-singles');
    const places = Array.from({ length: 10 }, (_, at) => `front ${at}`);
    const steps = jackSteps(harness, places);
    expect(steps.map(({ names, places: some, part }) => [names.selector, some.length, part?.at])).toEqual([
      ['front', 8, 1], ['front', 2, 2], ['both', 8, 1], ['both', 2, 2], ['rear', 8, 1], ['rear', 2, 2]]);
    const record = { format: 'bench/1', clips: [], resistances: [], setting: { selector: 'both' } } as BenchRecord;
    expect(stepOf({ ...record, places: ['front 9'] }, steps)).toBe(3);
    expect(stepOf(record, steps)).toBe(2);
    expect(stepOf({ ...record, lifted: ['front clip 1'] }, steps)).toBe(-1);
  });

  it('tells where pots are to stand by what the plan reckons with', () => {
    expect(potWords(loaded('two-singles').harness)).toBe('Turn volume and tone fully up.');
    expect(potWords(loaded('bass-blend').harness)).toMatch(/fully up.*blend rear at 98 % of its way\.$/);
    expect(potWords({ ...loaded('two-singles').harness, parts: [] })).toBe('');
  });

  it('proposes places by what the slots are for, and takes a list with commas', () => {
    const { slots } = loaded('two-pairs-one-split').harness;
    expect(proposedPlaces(slots)).toBe('front upper, front lower, rear upper, rear lower');
    expect(proposedPlaces(loaded('two-singles').harness.slots)).toBe('front, rear');
    expect(placeNames(' front upper ,, rear,rear ')).toEqual(['front upper', 'rear']);
    expect(placesProblem([], slots)).toBe('0 places; expected 1 to 24.');
    expect(placesProblem(['front upper', 'rear'], slots)).toBeNull();
    expect(placesProblem(['anything'], [])).toBeNull();
    expect(placesProblem([`front ${'x'.repeat(200)}`], slots)).toMatch(/is too long; expected 100 letters at most\.$/);
  });
});
