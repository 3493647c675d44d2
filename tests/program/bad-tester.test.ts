/** A tester that does not keep to the protocol: told in one sentence, within bounds of memory and time. */
import { describe, expect, it } from 'vitest';
import { Collector } from '../../host/src/evidence/collect.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import {
  CAPTURE_WORDS, EntryFlag, EntryKind, EVIDENCE, EVIDENCE_bytes, LOG_ENTRIES, LogEntryLayout, NONE, Report, Step,
} from '../../host/src/logic/layout.generated.ts';
import { writeBlock } from '../../host/src/logic/fields.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { FakeTester } from './fake-tester.ts';

const SETUP = { clips: [{ clip: 1 }, { clip: 2 }], places: ['upper'] };
const BEGIN = { kind: EntryKind.begin, a: 0b11, place: 1 };
const READING = { kind: EntryKind.resistance, a: 1, b: 2, v0: 4000, v1: 1, flags: EntryFlag.uncertaintyKnown };
const TOUCH = { kind: EntryKind.touch, a: 2, b: 1, place: 0, v0: -0.1, v1: 10_000 };

/** A test on a tester that goes on by itself once the button is pressed. */
function run(tester: FakeTester, act: () => void, press = true): Promise<unknown> {
  tester.onHeard = (type) => {
    if (type === Report.hello && tester.heard.length === 1) tester.state({ step: Step.idle });
    if (type === Report.button) {
      tester.test = 1;
      act();
    }
  };
  return new BenchTest(tester, { setup: SETUP, logic: createLogic(), press }).run();
}

describe('a tester that sends what the protocol does not allow', () => {
  const cases: [string, (tester: FakeTester) => void, string][] = [
    ['entry numbers beyond its log', (t) => t.entry(LOG_ENTRIES, READING), `an entry of number ${LOG_ENTRIES} came, expected ${LOG_ENTRIES - 1} at most`],
    ['a third channel', (t) => t.samples(0, 2, 0, 16), 'samples of channel 2 came, expected 0 or 1'],
    ['samples beyond its memory', (t) => t.samples(0, 0, CAPTURE_WORDS - 8, 16), `samples up to ${CAPTURE_WORDS + 8} of a channel came, expected ${CAPTURE_WORDS} at most`],
  ];
  it.each(cases)('%s is left with a sentence', async (_, act, sentence) => {
    const tester = new FakeTester();
    await expect(run(tester, () => act(tester))).rejects.toThrow(
      `tester TS-FAKE: ${sentence}; update tapstone or the tester's firmware`);
  });

  it('always leaves a gap is asked three times and then left', async () => {
    const tester = new FakeTester();
    const running = run(tester, () => {
      tester.entry(0, BEGIN);
      const before = tester.onHeard;
      tester.onHeard = (type, report) => {
        if (type === Report.hello) for (let n = 2; n < 20; n += 1) tester.entry(n, READING);
        else before(type, report);
      };
      for (let n = 2; n < 20; n += 1) tester.entry(n, READING);
    });
    await expect(running).rejects.toThrow(
      'tester TS-FAKE leaves out entry 1 of its test, although it was asked for it 3 times; pull it out and plug it in again');
    expect(tester.heard.filter((type) => type === Report.hello)).toHaveLength(4);
  });

  it('is asked once for a gap, however much came after it', async () => {
    const tester = new FakeTester();
    void run(tester, () => {
      tester.entry(0, BEGIN);
      for (let n = 2; n < 20; n += 1) tester.entry(n, READING);
      for (let n = 0; n < 20; n += 1) tester.entry(n, READING);
    });
    await new Promise(setImmediate);
    expect(tester.heard.filter((type) => type === Report.hello)).toHaveLength(2);
  });
});

describe('samples of a touch that were lost on the way', () => {
  /** A touch of 40 samples whose second report comes only at the given hello, counted from 1. */
  const lossy = (at: number): FakeTester => {
    const tester = new FakeTester();
    void run(tester, () => {
      let hellos = 0;
      const tell = (): void => {
        tester.samples(0, 0, 0, 16);
        if (hellos >= at) tester.samples(0, 0, 16, 16);
        tester.samples(0, 0, 32, 8);
        tester.entry(1, { ...TOUCH, count: 40 });
      };
      const before = tester.onHeard;
      tester.onHeard = (type, report) => {
        before(type, report);
        if (type !== Report.hello) return;
        hellos += 1;
        tell();
      };
      tester.entry(0, BEGIN);
      tell();
    });
    return tester;
  };
  const acknowledged = (tester: FakeTester): number =>
    tester.heard.filter((type) => type === Report.acknowledge).length;
  const hellos = (tester: FakeTester): number => tester.heard.filter((type) => type === Report.hello).length;

  it('are asked for, and the touch is taken when they are there', async () => {
    const tester = lossy(1);
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(hellos(tester)).toBe(2);
    expect(acknowledged(tester)).toBe(1);
  });
  it('are asked for twice, and the touch is then taken without them', async () => {
    const tester = lossy(99);
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(hellos(tester)).toBe(3);
    expect(acknowledged(tester)).toBe(1);
  });
});

describe('last words that were lost, so that tester and program wait for each other', () => {
  const SOON_ms = 200;
  const after = (time_ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, time_ms));

  it('come again when the program says hello, without a new test and without a failure', async () => {
    const tester = new FakeTester(SOON_ms);
    let failed: unknown = null;
    run(tester, () => {
      const before = tester.onHeard;
      tester.onHeard = (type, report) => {
        before(type, report);
        if (type === Report.hello) for (let n = 0; n < 8; n += 1) tester.entry(n, n === 0 ? BEGIN : READING);
      };
      tester.state({ step: Step.waitHost });
    }).catch((error: unknown) => { failed = error; });
    await after(3 * SOON_ms);
    expect(failed).toBe(null);
    expect(tester.heard.filter((type) => type === Report.acknowledge)).toHaveLength(1);
    expect(tester.heard.filter((type) => type === Report.button)).toHaveLength(1);
  });
  it('are asked for once more when they were the answer to a read', async () => {
    const tester = new FakeTester(SOON_ms);
    const running = run(tester, () => {
      tester.entry(0, BEGIN);
      tester.entry(1, { kind: EntryKind.end });
    });
    running.catch(() => undefined);
    await after(0.6 * SOON_ms);
    const asked = tester.heard.slice(tester.heard.indexOf(Report.read));
    expect(asked.slice(0, 3)).toEqual([Report.read, Report.hello, Report.read]);
    await expect(running).rejects.toThrow('does not tell its result');
  });
});

describe('a tester that falls silent', () => {
  const SOON_ms = 30;
  const silence = (owed: string): string => `tester TS-FAKE does not tell ${owed}; pull it out and plug it in again`;

  it('before it says who it is', async () => {
    const tester = new FakeTester(SOON_ms);
    tester.sayWho = () => undefined;
    await expect(run(tester, () => undefined)).rejects.toThrow(silence('who it is'));
  });
  it('after the button was pressed from here', async () => {
    await expect(run(new FakeTester(SOON_ms), () => undefined)).rejects.toThrow(silence('that its test begins'));
  });
  it('in the middle of what it measures', async () => {
    const tester = new FakeTester(SOON_ms);
    const running = run(tester, () => {
      tester.entry(0, BEGIN);
      tester.state({ step: Step.resistance });
    });
    await expect(running).rejects.toThrow(silence('what it measures'));
  });
  it('instead of telling its result', async () => {
    const tester = new FakeTester(SOON_ms);
    const running = run(tester, () => {
      tester.entry(0, BEGIN);
      tester.entry(1, { kind: EntryKind.end });
    });
    await expect(running).rejects.toThrow(silence('its result'));
  });
  it('is waited for while it waits for a hand or for the button', async () => {
    const tester = new FakeTester(SOON_ms);
    let over = false;
    const end = (): void => { over = true; };
    void run(tester, () => {
      tester.entry(0, BEGIN);
      tester.state({ step: Step.askTouch });
    }).then(end, end);
    const idle = new FakeTester(SOON_ms);
    void run(idle, () => undefined, false).then(end, end);
    await new Promise((resolve) => setTimeout(resolve, 6 * SOON_ms));
    expect(over).toBe(false);
  });
});

describe('what a tester sends and nobody can use', () => {
  const bytesOf = (number: number, values: object): Uint8Array => {
    const bytes = new Uint8Array(LogEntryLayout.size);
    writeBlock(new DataView(bytes.buffer), 0, LogEntryLayout, { ...values, number });
    return bytes;
  };
  const collect = (...entries: object[]): { collector: Collector; evidence: Uint8Array } => {
    const logic = createLogic();
    const collector = new Collector(logic, SETUP);
    entries.forEach((values, number) => {
      collector.samples({ kind: 'samples', touch: collector.touchCount, channel: 0, offset: 0, samples: [1, 2, 3] });
      collector.entry({ kind: 'entry', test: 1, number, bytes: bytesOf(number, values) });
    });
    return { collector, evidence: logic.bytes.slice(EVIDENCE, EVIDENCE + EVIDENCE_bytes) };
  };
  const BY = { serial: 'TS-FAKE', firmware: '0', moduleHash: '' };

  const cases: [string, object, string][] = [
    ['a touch of no sample', { ...TOUCH, count: 0 }, `a touch of 0 samples a channel; expected 1 to ${CAPTURE_WORDS}`],
    ['a touch beyond its memory', { ...TOUCH, c: 1, d: 2, count: CAPTURE_WORDS / 2 + 1 }, `a touch of ${CAPTURE_WORDS / 2 + 1} samples a channel; expected 1 to ${CAPTURE_WORDS / 2}`],
    ['a touch of no channel', { ...TOUCH, a: 0, b: 0, count: 3 }, 'a touch of no channel; expected one or two'],
    ['a touch at a rate of nothing', { ...TOUCH, count: 3, v1: 0 }, 'touches[0].rate_Hz: 0 is not above 0; expected hertz, 1000 to 100000'],
    ['a touch between clips that are not there', { ...TOUCH, a: 5, count: 3 }, 'touches[0].channels[0].plus: 5 is not a clip in use; expected a clip that "clips" lists (1, 2)'],
    ['a touch at a place that cannot be', { ...TOUCH, place: 77, count: 3 }, "this program's solver refuses it (refusal 5)"],
    ['a resistance beyond all meters', { ...READING, v0: 1e14 }, 'resistances[0].ohm: 100000000000000 is more than 1000000000000; expected ohms, 0 to 1000000000000, or null'],
    ['a second beginning', BEGIN, 'a test begins once, with its first entry'],
    ['a pole that is none', { kind: EntryKind.magnet, a: 0, place: 0 }, 'a pole of code 0; expected 1 or 2'],
    ['what only a person sees', { kind: EntryKind.observed, a: 1, b: 2, c: 1, place: NONE }, 'an entry of a kind that no tester sends'],
  ];
  it.each(cases)('%s is told, and is neither in the evidence nor in the record', (_, values, sentence) => {
    const { collector, evidence } = collect(BEGIN, READING, values);
    expect(collector.problems).toEqual([`entry 2 of the tester (kind ${(values as { kind: number }).kind}) is not taken: ${sentence}`]);
    expect(evidence).toEqual(collect(BEGIN, READING).evidence);
    const record = collector.record('2026-03-14T10:22:31Z', BY);
    expect({ ...record, resistances: 1 }).toEqual({ ...collect(BEGIN).collector.record('2026-03-14T10:22:31Z', BY), resistances: 1 });
    expect(record.resistances).toHaveLength(1);
    expect(asBenchRecord(JSON.parse(JSON.stringify(record)))).toEqual(record);
  });

  it('is told in a few sentences when there is much of it', () => {
    const many = Array.from({ length: 30 }, () => ({ ...TOUCH, count: 0 }));
    const { collector } = collect(BEGIN, ...many);
    expect(collector.problems).toHaveLength(5);
    expect(collector.problems.at(-1)).toBe('and 26 more of the kind');
  });

  it('the samples of a touch that is not the next one are let go', () => {
    const logic = createLogic();
    const collector = new Collector(logic, SETUP);
    const samples = { kind: 'samples', channel: 0, offset: 0, samples: [9, 9] } as const;
    collector.samples({ ...samples, touch: 1 });
    collector.entry({ kind: 'entry', test: 1, number: 0, bytes: bytesOf(0, BEGIN) });
    const touch = { kind: 'entry', test: 1, number: 1, bytes: bytesOf(1, { ...TOUCH, count: 2 }) } as const;
    expect(collector.entry(touch)).toBe('incomplete');
    expect(collector.problems).toEqual([]);
    expect(collector.entry(touch, true)).toBe('new');
    expect(collector.problems).toEqual(['touch 1: no samples of channel 1 arrived']);
    expect(collector.record('', BY).touches?.[0]?.channels[0]?.volts_V).toEqual([null, null]);
  });
});
