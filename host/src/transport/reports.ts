/**
 * The 64-byte reports between tester and host, taken apart and put together.
 * The one specification is hardware-notes/usb-reports.md; codes and sizes come from the generated layout.
 */
import {
  LAYOUT_VERSION, LogEntryLayout, REPORT_VERSION, REPORT_bytes, Report, ReportHeadLayout,
} from '../logic/layout.generated.ts';

const HEAD = ReportHeadLayout.size;
const PAYLOAD = REPORT_bytes - HEAD;
/** A sample of a `samples` report that the converter could not take. */
const OVERRANGE_24 = -0x800000;
/** Volts per unit of a `trace` report. */
const TRACE_V = 2 ** -12;

export type Identity = {
  readonly kind: 'identity'; readonly layout: number; readonly firmware: string; readonly resetReason: number;
  readonly wand: boolean; readonly needsSetup: boolean; readonly test: number; readonly serial: string;
  /** SHA-256 of the tester's module, hex. */
  readonly moduleHash: string;
};
export type State = {
  readonly kind: 'state'; readonly test: number; readonly step: number; readonly light: number; readonly place: number;
  readonly ask: number; readonly clipA: number; readonly clipB: number; readonly verdict: number; readonly flags: number;
  readonly logCount: number; readonly acknowledged: number; readonly touchNumber: number; readonly refusedCount: number;
  readonly progress: number;
};
/** A log entry as its 32 bytes, ready for the module's ENTRY. */
export type Entry = { readonly kind: 'entry'; readonly test: number; readonly number: number; readonly bytes: Uint8Array };
/** Part of a capture; null is over range. Units of 2^-20 V. */
export type Samples = {
  readonly kind: 'samples'; readonly touch: number; readonly channel: number; readonly offset: number;
  readonly samples: readonly (number | null)[];
};
export type Block = {
  readonly kind: 'block'; readonly region: number; readonly offset: number; readonly bytes: Uint8Array;
};
export type Refused = { readonly kind: 'refused'; readonly reason: number; readonly type: number; readonly number: number };
/** One 10 ms block of the live picture, volts; infinite where the input was over range. */
export type TraceSpan = {
  readonly lowA_V: number; readonly highA_V: number; readonly lowB_V: number; readonly highB_V: number;
};
export type Trace = {
  readonly kind: 'trace'; readonly place: number; readonly firstBlock: number; readonly spans: readonly TraceSpan[];
};
/** A report that this host does not understand: a newer tester, or not ours. Never acted on. */
export type Unknown = { readonly kind: 'unknown'; readonly sentence: string };
export type TesterReport = (Identity | State | Entry | Samples | Block | Refused | Trace | Unknown) & { readonly reportNumber?: number };

const hex = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex');

/** ASCII up to the first zero; anything unprintable becomes `?`, since it reaches a terminal. */
function ascii(bytes: Uint8Array): string {
  const end = bytes.indexOf(0);
  return [...bytes.subarray(0, end < 0 ? bytes.length : end)]
    .map((code) => (code >= 0x20 && code < 0x7f ? String.fromCharCode(code) : '?')).join('');
}

/** Takes a report apart. Never throws: what cannot be understood is `unknown` with a sentence. */
export function decodeReport(report: Uint8Array): TesterReport {
  if (report.length !== REPORT_bytes) {
    return { kind: 'unknown', sentence: `a report of ${report.length} bytes came, expected ${REPORT_bytes}` };
  }
  const view = new DataView(report.buffer, report.byteOffset, report.byteLength);
  if (report[0] !== REPORT_VERSION) {
    return { kind: 'unknown', sentence: `a report of version ${report[0]} came, expected ${REPORT_VERSION}` };
  }
  const u8 = (at: number): number => report[HEAD + at];
  const u16 = (at: number): number => view.getUint16(HEAD + at, true);
  const test = view.getUint16(ReportHeadLayout.test.at, true);
  const reportNumber = view.getUint16(ReportHeadLayout.number.at, true);
  switch (report[1]) {
    case Report.identity:
      return {
        kind: 'identity', reportNumber, layout: u8(0), firmware: `${u8(1)}.${u8(2)}.${u8(3)}`, resetReason: u8(4),
        wand: (u8(5) & 1) !== 0, needsSetup: (u8(5) & 2) !== 0, test: u16(6),
        serial: ascii(report.subarray(HEAD + 8, HEAD + 24)), moduleHash: hex(report.subarray(HEAD + 24, HEAD + 56)),
      };
    case Report.state:
      return {
        kind: 'state', reportNumber, test, step: u8(0), light: u8(1), place: u8(2), ask: u8(3), clipA: u8(4), clipB: u8(5),
        verdict: u8(6), flags: u8(7), logCount: u16(8), acknowledged: u16(10), touchNumber: u8(12),
        refusedCount: u8(13), progress: u16(14) / 1000,
      };
    case Report.entry:
      return {
        kind: 'entry', reportNumber, test, number: u16(LogEntryLayout.number.at),
        bytes: report.slice(HEAD, HEAD + LogEntryLayout.size),
      };
    case Report.samples: {
      const count = u8(4);
      if (count > (PAYLOAD - 8) / 3) {
        return { kind: 'unknown', sentence: `a report of samples claims to hold ${count}, expected 16 at most` };
      }
      const samples: (number | null)[] = [];
      for (let i = 0; i < count; i += 1) {
        const at = HEAD + 8 + 3 * i;
        const value = ((report[at] | (report[at + 1] << 8) | (report[at + 2] << 16)) << 8) >> 8;
        samples.push(value === OVERRANGE_24 ? null : value);
      }
      return { kind: 'samples', reportNumber, touch: u8(0), channel: u8(1), offset: u16(2), samples };
    }
    case Report.block: {
      const count = u8(1);
      if (count > PAYLOAD - 4) {
        return { kind: 'unknown', sentence: `a block of ${count} bytes came, expected ${PAYLOAD - 4} at most` };
      }
      return { kind: 'block', reportNumber, region: u8(0), offset: u16(2), bytes: report.slice(HEAD + 4, HEAD + 4 + count) };
    }
    case Report.refused:
      return { kind: 'refused', reportNumber, reason: u8(0), type: u8(1), number: u16(2) };
    case Report.trace: {
      const count = Math.min(u8(0), 6);
      const volt = (at: number): number => {
        const value = view.getInt16(HEAD + at, true);
        return Math.abs(value) >= 0x7fff ? Math.sign(value) * Infinity : value * TRACE_V;
      };
      const spans = Array.from({ length: count }, (_, i) => ({
        lowA_V: volt(4 + 8 * i), highA_V: volt(6 + 8 * i), lowB_V: volt(8 + 8 * i), highB_V: volt(10 + 8 * i),
      }));
      return { kind: 'trace', reportNumber, place: u8(1), firstBlock: u16(2), spans };
    }
    default:
      return { kind: 'unknown', sentence: `a report of type ${report[1]} came, which this program does not know` };
  }
}

/** Puts reports to the tester together and numbers them. One encoder per connection. */
export class ReportEncoder {
  #number = 0;

  #report(type: number, fill: (view: DataView) => void): Uint8Array {
    const report = new Uint8Array(REPORT_bytes);
    const view = new DataView(report.buffer);
    report[0] = REPORT_VERSION;
    report[1] = type;
    view.setUint16(ReportHeadLayout.number.at, this.#number & 0xffff, true);
    this.#number += 1;
    fill(new DataView(report.buffer, HEAD));
    return report;
  }

  /** Opens a session: numbering starts again, the tester answers with identity, state and all that is unacknowledged. */
  hello(): Uint8Array {
    this.#number = 0;
    return this.#report(Report.hello, (view) => view.setUint8(0, LAYOUT_VERSION));
  }

  /**
   * What lies on the bench.
   * @param setup - `clipMask` and `bareMask` with bit 0 for clip 1; `kind` from `Kind`; `cover` from `Cover`; `placeCount` 1 to 6
   */
  setup(setup: {
    readonly clipMask: number; readonly bareMask: number; readonly kind: number; readonly placeCount: number;
    readonly skipMagnets?: boolean; readonly temperature_C?: number; readonly cover?: number;
  }): Uint8Array {
    return this.#report(Report.setup, (view) => {
      view.setUint8(0, setup.clipMask);
      view.setUint8(1, setup.bareMask);
      view.setUint8(2, setup.kind);
      view.setUint8(3, setup.placeCount);
      view.setUint8(4, (setup.skipMagnets ? 1 : 0) | (setup.temperature_C === undefined ? 0 : 2));
      view.setUint8(5, setup.cover ?? 0);
      view.setFloat32(8, setup.temperature_C ?? 0, true);
    });
  }

  /** Presses the tester's button from afar. @param kind - `Button` */
  button(kind: number): Uint8Array {
    return this.#report(Report.button, (view) => view.setUint8(0, kind));
  }

  /** Tells that the first `count` entries of a test are safely here. */
  acknowledge(test: number, count: number): Uint8Array {
    return this.#report(Report.acknowledge, (view) => {
      view.setUint16(0, test, true);
      view.setUint16(2, count, true);
    });
  }

  /** Asks for bytes of the evidence (region 0) or result block (region 1), 48 at most. */
  read(region: number, offset: number, count: number): Uint8Array {
    return this.#report(Report.read, (view) => {
      view.setUint8(0, region);
      view.setUint8(1, count);
      view.setUint16(2, offset, true);
    });
  }

  /** Asks the board to test itself. */
  selfTest(): Uint8Array {
    return this.#report(Report.selfTest, () => {});
  }
}
