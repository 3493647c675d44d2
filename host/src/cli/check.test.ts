import { describe, expect, it } from 'vitest';
import {
  CALIBRATION_bytes,
  BlockReportLayout,
  Check,
  EntryKind,
  LAYOUT_VERSION,
  LogEntryLayout,
  Note,
  REPORT_VERSION,
  REPORT_bytes,
  Refusal,
  Report,
  ReportHeadLayout,
} from '../logic/layout.generated.ts';
import type { HidConnection, HidDriver, HidEntry } from '../transport/driver.ts';
import { calibrationPage, dayOf, uncalibrated } from '../logic/calibration-page.ts';
import { BOARD_FACTS } from '../virtual-bench/front-end.ts';
import { TransportError } from '../transport/transport.ts';
import { checkPc, checkText } from './check.ts';
import type { CheckLine, Pc } from './check.ts';

const HASH = 'ab'.repeat(32);
const HEAD = ReportHeadLayout.size;

type Tester = {
  layout?: number;
  hash?: string;
  /** Serial numbers on the bus. */
  bus?: HidEntry[];
  openFails?: string;
  /** What comes instead of an identity. */
  says?: Uint8Array;
  faulty?: number;
  /** The calibration that it has in use; one of 2026 when left out. */
  calibration?: Uint8Array;
  busy?: boolean;
  /** The converter does not answer. */
  silent?: boolean;
};

const entry = (serialNumber: string, product = 'Tapstone tester'): HidEntry => ({
  vendorId: 0x1209,
  productId: 1,
  path: `bus:${serialNumber}`,
  serialNumber,
  product,
  usagePage: 0xff00,
  usage: 1,
});

function report(type: number, fill: (payload: DataView) => void): Uint8Array {
  const bytes = new Uint8Array(REPORT_bytes);
  bytes[0] = REPORT_VERSION;
  bytes[1] = type;
  fill(new DataView(bytes.buffer, HEAD));
  return bytes;
}

function driverOf(tester: Tester): HidDriver {
  return {
    version: '0.15.0',
    list: async () => tester.bus ?? [entry('TS-0007')],
    async open(): Promise<HidConnection> {
      if (tester.openFails) throw tester.openFails;
      let tell: (data: Uint8Array) => void = () => undefined;
      return {
        on(event: string, listener: (value: never) => void): void {
          if (event === 'data') tell = listener as (data: Uint8Array) => void;
        },
        async write(data: Buffer): Promise<number> {
          for (const answer of answers(tester, data.subarray(1))) tell(answer);
          return data.length;
        },
        close: async () => undefined,
      };
    },
  };
}

/** All of it on the 14th of March 2026. */
const STEPS_TAKEN = { ohm: dayOf(20260314), zero: dayOf(20260314), fixture: dayOf(20260314), codes: dayOf(20260314) };
const CALIBRATION = calibrationPage({ serial: 'TS-0007', writes: 3, date: 20260314 }, { ...uncalibrated(BOARD_FACTS), days: STEPS_TAKEN });

function answers(tester: Tester, asked: Uint8Array): Uint8Array[] {
  const type = asked[1];
  if (type === Report.hello) {
    if (tester.says) return [tester.says];
    return [
      report(Report.identity, (view) => {
        [tester.layout ?? LAYOUT_VERSION, 0, 3, 1].forEach((value, i) => view.setUint8(i, value));
        Buffer.from('TS-0007').forEach((value, i) => view.setUint8(8 + i, value));
        Buffer.from(tester.hash ?? HASH, 'hex').forEach((value, i) => view.setUint8(24 + i, value));
      }),
    ];
  }
  if (type === Report.read) {
    // A block's head is as that of the read.
    const head = asked.subarray(HEAD, HEAD + BlockReportLayout.size);
    const [, count, offset] = head;
    const bytes = (tester.calibration ?? CALIBRATION).subarray(offset, offset + count);
    return [report(Report.block, (view) => [...head, ...bytes].forEach((value, i) => view.setUint8(i, value)))];
  }
  if (type !== Report.selfTest) return [];
  if (tester.busy) return [report(Report.refused, (view) => view.setUint8(0, Refusal.busy))];
  if (tester.silent) return [note(1, Note.converterFailed, 255), entryOf(1, EntryKind.end, () => undefined)];
  const checks = Object.values(Check).filter((check) => check !== Check.none);
  return [
    // An earlier self-test, still unacknowledged, which failed: it must not count.
    note(0, Note.selfTestFailed, Check.railNegative),
    entryOf(0, EntryKind.end, () => undefined),
    ...checks.map((check) => note(1, check === tester.faulty ? Note.selfTestFailed : Note.selfTestPassed, check)),
    entryOf(1, EntryKind.end, () => undefined),
  ];
}

function entryOf(test: number, kind: number, fill: (view: DataView) => void): Uint8Array {
  const bytes = report(Report.entry, (view) => {
    view.setUint8(LogEntryLayout.kind.at, kind);
    fill(view);
  });
  new DataView(bytes.buffer).setUint16(ReportHeadLayout.test.at, test, true);
  return bytes;
}

function note(test: number, what: number, check: number): Uint8Array {
  return entryOf(test, EntryKind.note, (view) => {
    view.setUint8(LogEntryLayout.a.at, what);
    view.setUint8(LogEntryLayout.b.at, check);
    view.setFloat32(LogEntryLayout.v0.at, 1.5, true);
    view.setFloat32(LogEntryLayout.v1.at, 1.8, true);
  });
}

const RULE = 'KERNEL=="hidraw*", ATTRS{idVendor}=="1209", ATTRS{idProduct}=="0001", TAG+="uaccess"';

function pc(tester: Tester, change: Partial<Pc> = {}): Pc {
  return {
    platform: 'linux',
    moduleHash: HASH,
    today: '2026-11-29T10:22:31Z',
    load: async () => driverOf(tester),
    rules: async () => [RULE],
    mayAll: false,
    ...change,
  };
}

const states = (lines: readonly CheckLine[]): string => lines.map(({ what, state }) => `${what} ${state}`).join(', ');
const said = (lines: readonly CheckLine[], what: string): string =>
  lines.filter((line) => line.what === what).map((line) => line.said).join('; ');

describe('a check of the computer', () => {
  it('finds everything right', async () => {
    const lines = await checkPc(pc({}));
    expect(states(lines)).toBe(
      'driver right, udev rule right, tester right, permission right, firmware right, calibration right, board right',
    );
    expect(said(lines, 'firmware')).toBe("0.3.1, with this program's measuring logic");
    expect(checkText(lines)).toBe(
      [
        'driver       right  node-hid loads (hidapi 0.15.0)',
        'udev rule    right  is in place',
        'tester       right  TS-0007 is plugged in',
        'permission   right  TS-0007 opens',
        "firmware     right  0.3.1, with this program's measuring logic",
        'calibration  right  number 3: ohms of 2026-03-14, leads of 2026-03-14, clips of 2026-03-14, codes of 2026-03-14',
        'board        right  its self-test passed (7 checks)',
        'Everything is right.',
        '',
      ].join('\n'),
    );
  });

  it('tells a calibration that is a year old, of some steps only, or not there', async () => {
    const all = 'number 3: ohms of 2026-03-14, leads of 2026-03-14, clips of 2026-03-14, codes of 2026-03-14';
    const old = await checkPc(pc({}, { today: '2027-03-16T08:00:00Z' }));
    expect(said(old, 'calibration')).toBe(`${all} (more than a year is old); tapstone calibrate gives it new ones`);
    expect(states(old)).toContain('calibration wrong');
    expect(said(await checkPc(pc({}, { today: '2027-03-15T08:00:00Z' })), 'calibration')).toBe(all);
    const some = calibrationPage({ serial: 'TS-0007', writes: 1, date: 20260314 }, {
      ...uncalibrated(BOARD_FACTS), days: { ...STEPS_TAKEN, fixture: 0 },
    });
    const partly = await checkPc(pc({ calibration: some }));
    expect(said(partly, 'calibration'))
      .toBe('number 1: ohms of 2026-03-14, leads of 2026-03-14, clips never, codes of 2026-03-14; tapstone calibrate --step open gives it new clips');
    expect(states(partly)).toContain('calibration right');
    const none = await checkPc(pc({ calibration: new Uint8Array(CALIBRATION_bytes) }));
    expect(states(none)).toContain('calibration wrong, board right');
    expect(said(none, 'calibration')).toContain('give it one with tapstone calibrate');
  });

  it('without the driver says how to mend it and goes on with what needs none', async () => {
    const load = () => Promise.reject(new TransportError('the USB driver cannot load: libudev.so.1 is missing'));
    const lines = await checkPc(pc({}, { load }));
    expect(states(lines)).toBe(
      'driver wrong, udev rule right, tester open, permission open, firmware open, calibration open, board open',
    );
    expect(checkText(lines)).toContain('1 to mend; the virtual bench works without a tester all the same.');
  });

  it('gives the one command that puts the udev rule into place', async () => {
    const lines = await checkPc(pc({}, { rules: async () => [`# ${RULE}`, 'SUBSYSTEM=="usb"'] }));
    expect(states(lines)).toContain('udev rule wrong');
    expect(said(lines, 'udev rule')).toMatch(/^is missing: sudo cp \S+70-tapstone\.rules \/etc\/udev\/rules\.d\/ && sudo udevadm control/);
  });

  it('does not count the missing rule against root, nor on Windows and macOS', async () => {
    const none = { rules: async () => [] };
    expect(states(await checkPc(pc({}, { ...none, mayAll: true })))).toContain('udev rule right');
    expect(said(await checkPc(pc({}, { ...none, platform: 'win32' })), 'udev rule')).toMatch(/^not needed: Windows/);
    expect(said(await checkPc(pc({}, { ...none, platform: 'darwin' })), 'udev rule')).toMatch(/^not needed: macOS/);
  });

  it('without a tester says what to look at', async () => {
    const lines = await checkPc(pc({ bus: [] }));
    expect(states(lines)).toContain('tester wrong, permission open');
    expect(said(lines, 'tester')).toContain('a cable that carries data');
  });

  it('names a foreign device with the test identity and leaves it alone', async () => {
    const lines = await checkPc(pc({ bus: [entry('1', 'Blinker'), entry('TS-0007')] }));
    expect(said(lines, 'other device')).toContain('calls itself "Blinker" and is no Tapstone tester');
    expect(states(lines)).toContain('board right');
  });

  it('asks which of several testers is meant, and takes the one that is named', async () => {
    const bus = [entry('TS-0007'), entry('TS-0008')];
    expect(said(await checkPc(pc({ bus })), 'tester')).toBe(
      '2 testers are plugged in: TS-0007, TS-0008; choose one with --tester TS-0007',
    );
    expect(said(await checkPc(pc({ bus }), 'TS-0008'), 'permission')).toBe('TS-0008 opens');
  });

  it('says that the tester does not open', async () => {
    const lines = await checkPc(pc({ openFails: 'cannot open device with path x: Permission denied' }));
    expect(states(lines)).toContain('permission wrong, firmware open, calibration open, board open');
    expect(said(lines, 'permission')).toContain('may not be opened by this user');
  });

  it.each([
    ['newer firmware', { layout: LAYOUT_VERSION + 1 }, new RegExp(`newer than this program's ${LAYOUT_VERSION}; update tapstone \\(nothing was driven\\)`)],
    ['older firmware', { layout: LAYOUT_VERSION - 1 }, new RegExp(`older than this program's ${LAYOUT_VERSION}; write this program's firmware`)],
    ['another module', { hash: 'cd'.repeat(32) }, /another measuring logic \(sha256 cdcdcdcd\) than this program's \(sha256 abababab\)/],
    ['a device that talks otherwise', { says: new Uint8Array(64).fill(9) }, /does not talk as a tester does \(a report of version 9 came/],
  ])('drives nothing with %s', async (_, tester, sentence) => {
    const lines = await checkPc(pc(tester));
    expect(states(lines)).toContain('permission right, firmware wrong, calibration open, board open');
    expect(said(lines, 'firmware')).toMatch(sentence);
  });

  it('names what the self-test found, with the figure and what was expected', async () => {
    const lines = await checkPc(pc({ faulty: Check.railPositive }));
    expect(states(lines)).toContain('firmware right, calibration right, board wrong');
    expect(said(lines, 'board')).toMatch(/^the positive rail is 1\.5 V, expected 1\.8 V: take the clips off/);
  });

  it('says that the converter does not answer', async () => {
    const lines = await checkPc(pc({ silent: true }));
    expect(said(lines, 'board')).toMatch(/^the converter does not answer/);
  });

  it('says that a tester in the middle of a test has no time for a self-test', async () => {
    const lines = await checkPc(pc({ busy: true }));
    expect(said(lines, 'board')).toContain('is busy with a test');
  });
});
