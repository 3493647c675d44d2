/** A tester that says what a test makes it say: reports put together by hand, sound or not. */
import { writeBlock, type BlockLayout, type FieldName } from '../../host/src/logic/fields.ts';
import {
  IdentityReportLayout, LAYOUT_VERSION, LogEntryLayout, REPORT_VERSION, REPORT_bytes, Report, ReportHeadLayout,
  SamplesReportLayout, StateReportLayout,
} from '../../host/src/logic/layout.generated.ts';
import { logicModule } from '../../host/src/logic/module.ts';
import type { Transport, TransportClosed } from '../../host/src/transport/transport.ts';

type Values<T> = { readonly [name in FieldName<T>]?: number };
const HEAD = ReportHeadLayout.size;

/** Answers a hello with who it is; everything else is said by the test. */
export class FakeTester implements Transport {
  readonly serial = 'TS-FAKE';
  readonly answersWithin_ms?: number;
  onReport: (report: Uint8Array) => void = () => undefined;
  onClosed: (closed: TransportClosed) => void = () => undefined;
  /** Types of the reports that came, in order. */
  readonly heard: number[] = [];
  /** Told of each report that comes, after a hello was answered. */
  onHeard: (type: number, report: Uint8Array) => void = () => undefined;
  test = 0;

  /** @param answersWithin_ms - how long a program may wait for it; left out: for ever */
  constructor(answersWithin_ms?: number) {
    if (answersWithin_ms !== undefined) this.answersWithin_ms = answersWithin_ms;
  }

  async open(): Promise<void> {}
  async close(): Promise<void> {}

  async write(report: Uint8Array): Promise<void> {
    const type = report[1] as number;
    this.heard.push(type);
    if (type === Report.hello) this.sayWho();
    this.onHeard(type, report);
  }

  /** Any report of the protocol's form. @param more - bytes after the layout */
  say<T extends BlockLayout>(type: number, layout: T, values: Values<T>, more: Uint8Array = new Uint8Array(0)): void {
    const report = new Uint8Array(REPORT_bytes);
    const view = new DataView(report.buffer);
    writeBlock(view, 0, ReportHeadLayout, { version: REPORT_VERSION, type, test: this.test });
    writeBlock(view, HEAD, layout, values);
    report.set(more, HEAD + layout.size);
    this.onReport(report);
  }

  sayWho(): void {
    const hash = Buffer.from(logicModule().sha256, 'hex');
    const name = Buffer.from(this.serial.padEnd(16, '\0'));
    const before = IdentityReportLayout.serialLow.at;
    const report = new Uint8Array(REPORT_bytes);
    const view = new DataView(report.buffer);
    writeBlock(view, 0, ReportHeadLayout, { version: REPORT_VERSION, type: Report.identity, test: this.test });
    writeBlock(view, HEAD, IdentityReportLayout, { layout: LAYOUT_VERSION, test: this.test });
    report.set(name, HEAD + before);
    report.set(hash, HEAD + IdentityReportLayout.hash0.at);
    this.onReport(report);
  }

  state(values: Values<typeof StateReportLayout>): void {
    this.say(Report.state, StateReportLayout, values);
  }

  entry(number: number, values: Values<typeof LogEntryLayout>): void {
    this.say(Report.entry, LogEntryLayout, { ...values, number });
  }

  /** Samples of one value. */
  samples(touch: number, channel: number, offset: number, count: number): void {
    this.say(Report.samples, SamplesReportLayout, { touch, channel, offset, count }, new Uint8Array(48).fill(1));
  }
}
