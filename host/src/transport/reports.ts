/**
 * The 64-byte reports between tester and host, taken apart and put together.
 * The one specification is hardware-notes/usb-reports.md; codes and sizes come from the generated layout.
 */
import { type BlockLayout, type FieldName, readBlock, writeBlock } from '../logic/fields.ts';
import {
  AcknowledgeReportLayout, BLOCK_bytes_max, BlockReportLayout, ButtonReportLayout, CAPTURE_WORDS,
  CalibratedReportLayout, CalibrateReportLayout, HelloReportLayout, IdentityReportLayout,
  LAYOUT_VERSION, LOG_ENTRIES, LogEntryLayout, REPORT_VERSION, REPORT_bytes, ReadReportLayout, RefusedReportLayout,
  Report, ReportHeadLayout, SAMPLES_PER_REPORT, SAMPLE_24_bytes, SamplesReportLayout, SetupReportLayout, StateReportLayout,
  SurveyReportLayout,
  TRACE_BLOCKS_max, TraceBlockLayout, TraceReportLayout,
} from '../logic/layout.generated.ts';

const HEAD = ReportHeadLayout.size;
/** A report that is its head alone. */
const NO_PAYLOAD = { size: 0 } as const;
/** A sample of a `samples` report that the converter could not take. */
const OVERRANGE_24 = -0x800000;
/** Volts per unit of a `trace` report. */
const TRACE_V = 2 ** -12;
/** Channels that a tester listens with. */
const LISTENING_CHANNELS = 2;

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
/** What has become of a calibration that was handed over whole. */
export type Stored = { readonly kind: 'calibrated'; readonly stored: boolean };
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
export type TesterReport =
  (Identity | State | Entry | Samples | Block | Stored | Refused | Trace | Unknown) & { readonly reportNumber?: number };

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
  const { version, type, number: reportNumber, test } = readBlock(view, 0, ReportHeadLayout);
  if (version !== REPORT_VERSION) {
    return { kind: 'unknown', sentence: `a report of version ${version} came, expected ${REPORT_VERSION}` };
  }
  switch (type) {
    case Report.identity: {
      const told = readBlock(view, HEAD, IdentityReportLayout);
      const serialAt = HEAD + IdentityReportLayout.serialLow.at;
      const hashAt = HEAD + IdentityReportLayout.hash0.at;
      return {
        kind: 'identity', reportNumber, layout: told.layout,
        firmware: `${told.firmwareMajor}.${told.firmwareMinor}.${told.firmwarePatch}`, resetReason: told.resetReason,
        wand: (told.flags & 1) !== 0, needsSetup: (told.flags & 2) !== 0, test: told.test,
        serial: ascii(report.subarray(serialAt, hashAt)),
        moduleHash: hex(report.subarray(hashAt, HEAD + IdentityReportLayout.size)),
      };
    }
    case Report.state: {
      const { progress_permille, touchCount, ...told } = readBlock(view, HEAD, StateReportLayout);
      return { kind: 'state', reportNumber, test, ...told, touchNumber: touchCount, progress: progress_permille / 1000 };
    }
    case Report.entry: {
      const { number } = readBlock(view, HEAD, LogEntryLayout);
      if (number >= LOG_ENTRIES) {
        return { kind: 'unknown', sentence: `an entry of number ${number} came, expected ${LOG_ENTRIES - 1} at most` };
      }
      return { kind: 'entry', reportNumber, test, number, bytes: report.slice(HEAD, HEAD + LogEntryLayout.size) };
    }
    case Report.samples: {
      const { touch, channel, offset, count } = readBlock(view, HEAD, SamplesReportLayout);
      if (count > SAMPLES_PER_REPORT) {
        return { kind: 'unknown', sentence: `a report of samples claims to hold ${count}, expected ${SAMPLES_PER_REPORT} at most` };
      }
      if (channel >= LISTENING_CHANNELS) {
        return { kind: 'unknown', sentence: `samples of channel ${channel} came, expected 0 or 1` };
      }
      if (offset + count > CAPTURE_WORDS) {
        return { kind: 'unknown', sentence: `samples up to ${offset + count} of a channel came, expected ${CAPTURE_WORDS} at most` };
      }
      const samples: (number | null)[] = [];
      for (let i = 0; i < count; i += 1) {
        const at = HEAD + SamplesReportLayout.size + SAMPLE_24_bytes * i;
        const value = ((report[at] | (report[at + 1] << 8) | (report[at + 2] << 16)) << 8) >> 8;
        samples.push(value === OVERRANGE_24 ? null : value);
      }
      return { kind: 'samples', reportNumber, touch, channel, offset, samples };
    }
    case Report.block: {
      const { region, count, offset } = readBlock(view, HEAD, BlockReportLayout);
      const at = HEAD + BlockReportLayout.size;
      if (count > REPORT_bytes - at) {
        return { kind: 'unknown', sentence: `a block of ${count} bytes came, expected ${REPORT_bytes - at} at most` };
      }
      return { kind: 'block', reportNumber, region, offset, bytes: report.slice(at, at + count) };
    }
    case Report.calibrated: {
      return { kind: 'calibrated', reportNumber, stored: readBlock(view, HEAD, CalibratedReportLayout).stored === 1 };
    }
    case Report.refused: {
      const { reason, type: refused, number } = readBlock(view, HEAD, RefusedReportLayout);
      return { kind: 'refused', reportNumber, reason, type: refused, number };
    }
    case Report.trace: {
      const { blocks, place, firstBlock } = readBlock(view, HEAD, TraceReportLayout);
      const volt = (value: number): number => (Math.abs(value) >= 0x7fff ? Math.sign(value) * Infinity : value * TRACE_V);
      const spans = Array.from({ length: Math.min(blocks, TRACE_BLOCKS_max) }, (_, i) => {
        const span = readBlock(view, HEAD + TraceReportLayout.size + i * TraceBlockLayout.size, TraceBlockLayout);
        return { lowA_V: volt(span.lowA), highA_V: volt(span.highA), lowB_V: volt(span.lowB), highB_V: volt(span.highB) };
      });
      return { kind: 'trace', reportNumber, place, firstBlock, spans };
    }
    default:
      return { kind: 'unknown', sentence: `a report of type ${type} came, which this program does not know` };
  }
}

/** Puts reports to the tester together and numbers them. One encoder per connection. */
export class ReportEncoder {
  #number = 0;

  #report<T extends BlockLayout>(type: number, layout: T, values: Partial<Record<FieldName<T>, number>>): Uint8Array {
    const report = new Uint8Array(REPORT_bytes);
    const view = new DataView(report.buffer);
    writeBlock(view, 0, ReportHeadLayout, { version: REPORT_VERSION, type, number: this.#number & 0xffff });
    this.#number += 1;
    writeBlock(view, HEAD, layout, values);
    return report;
  }

  /** Opens a session: numbering starts again, the tester answers with identity, state and all that is unacknowledged. */
  hello(): Uint8Array {
    this.#number = 0;
    return this.#report(Report.hello, HelloReportLayout, { layout: LAYOUT_VERSION });
  }

  /**
   * What lies on the bench.
   * @param setup - `clipMask` and `bareMask` with bit 0 for clip 1; `kind` from `Kind`; `cover` from `Cover`; `placeCount` 1 to 8;
   * `withLeads` tells ohms with the tester's own leads; `today` is the day as a calibration counts it, 0 when not known
   */
  setup(setup: {
    readonly clipMask: number; readonly bareMask: number; readonly kind: number; readonly placeCount: number;
    readonly skipMagnets?: boolean; readonly temperature_C?: number; readonly cover?: number; readonly withLeads?: boolean;
    readonly today?: number;
  }): Uint8Array {
    return this.#report(Report.setup, SetupReportLayout, {
      clipMask: setup.clipMask,
      bareMask: setup.bareMask,
      kind: setup.kind,
      placeCount: setup.placeCount,
      flags: (setup.skipMagnets ? 1 : 0) | (setup.temperature_C === undefined ? 0 : 2) | (setup.withLeads ? 4 : 0),
      temperature_C: setup.temperature_C ?? 0,
      cover: setup.cover ?? 0,
      today: setup.today ?? 0,
    });
  }

  /** Presses the tester's button from afar. @param kind - `Button` */
  button(kind: number): Uint8Array {
    return this.#report(Report.button, ButtonReportLayout, { kind });
  }

  /** Tells that the first `count` entries of a test are safely here. */
  acknowledge(test: number, count: number): Uint8Array {
    return this.#report(Report.acknowledge, AcknowledgeReportLayout, { test, count });
  }

  /** Asks for bytes of the evidence (region 0), the result block (1), the calibration in use (2) or what a survey left (3), 48 at most. */
  read(region: number, offset: number, count: number): Uint8Array {
    return this.#report(Report.read, ReadReportLayout, { region, count, offset });
  }

  /** Asks the board to test itself. */
  selfTest(): Uint8Array {
    return this.#report(Report.selfTest, NO_PAYLOAD, {});
  }

  /** Asks for a raw look for a calibration. @param what - `Survey` @param clip - 1 to 6 */
  survey(what: number, clip: number): Uint8Array {
    return this.#report(Report.survey, SurveyReportLayout, { what, clip });
  }

  /** Hands a calibration over, in parts; the tester writes it when the last one is there. */
  calibrate(page: Uint8Array): Uint8Array[] {
    const parts: Uint8Array[] = [];
    for (let offset = 0; offset < page.length; offset += BLOCK_bytes_max) {
      const bytes = page.subarray(offset, offset + BLOCK_bytes_max);
      const report = this.#report(Report.calibrate, CalibrateReportLayout, { offset, count: bytes.length });
      report.set(bytes, HEAD + CalibrateReportLayout.size);
      parts.push(report);
    }
    return parts;
  }
}
