/** What a tester may send, sound reports of a test with some of them spoilt, into the program: a sentence or a map, a record that can be read. */
import { setupOf } from '../../host/src/bench/bench.ts';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { solveEvidence } from '../../host/src/evidence/read-result.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import {
  BlockReportLayout, IdentityReportLayout, LAYOUT_VERSION, LogEntryLayout, REPORT_bytes, Report, ReportHeadLayout, SamplesReportLayout,
  StateReportLayout,
} from '../../host/src/logic/layout.generated.ts';
import { writeBlock, type BlockLayout } from '../../host/src/logic/fields.ts';
import { createLogic, logicModule, type Logic } from '../../host/src/logic/module.ts';
import { TransportError, type Transport } from '../../host/src/transport/transport.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { renderWireMap } from '../../host/src/wiring/render-text.ts';
import { nastyWord, pick } from './chance.ts';
import type { Fuzzer } from './fuzzer.ts';

const HEAD = ReportHeadLayout.size;
const LAYOUT_AT = HEAD + IdentityReportLayout.layout.at;
const HASH_AT = HEAD + IdentityReportLayout.hash0.at;
const HASH_bytes = 32;
const KIND_AT = HEAD + LogEntryLayout.kind.at;
const setup = setupOf(demoLot[0]!);
let sound: readonly Uint8Array[] | null = null;

/** The reports of a whole test; who the tester is stays open, so that a case outlives the module it was drawn with. */
async function soundReports(): Promise<readonly Uint8Array[]> {
  if (sound !== null) return sound;
  const reports: Uint8Array[] = [];
  const twin = new BoardTwin({ pickup: demoLot[0]!, seed: 1 });
  const wire: Transport = {
    serial: twin.serial, onReport: () => undefined, onClosed: () => undefined,
    write: (report) => twin.write(report),
    open() {
      twin.onReport = (report) => {
        reports.push(Uint8Array.from(report));
        wire.onReport(report);
      };
      return twin.open();
    },
    close: () => twin.close(),
  };
  await new BenchTest(wire, { setup, logic: createLogic() }).run();
  await wire.close();
  for (const report of reports) {
    if (report[1] === Report.identity) report.fill(0, HASH_AT, HASH_AT + HASH_bytes).fill(0, LAYOUT_AT, LAYOUT_AT + 1);
  }
  return (sound = reports);
}

/** A place in the list of reports; most of them are samples, which would take nearly every change. */
function placeOf(chance: RandomStream, reports: readonly Uint8Array[]): number {
  const type = pick(chance, [Report.identity, Report.state, Report.entry, Report.entry, Report.entry, Report.samples, Report.block]);
  const of = reports.flatMap((report, at) => (report[1] === type ? [at] : []));
  if (of.length === 0) return chance.below(reports.length);
  if (type !== Report.entry) return pick(chance, of);
  // Of the kinds of entries each is as likely as the other, however many there are of it.
  const kind = pick(chance, [...new Set(of.map((at) => reports[at]![KIND_AT]))]);
  return pick(chance, of.filter((at) => reports[at]![KIND_AT] === kind));
}

const LAYOUTS: Readonly<Record<number, BlockLayout>> = {
  [Report.identity]: IdentityReportLayout, [Report.state]: StateReportLayout, [Report.entry]: LogEntryLayout,
  [Report.samples]: SamplesReportLayout, [Report.block]: BlockReportLayout,
};

/** Another value in one field: none, small, the largest, or any; of a float also what is no number. */
function spoilField(chance: RandomStream, report: Uint8Array): void {
  const layout = LAYOUTS[report[1]!] ?? LogEntryLayout;
  const fields = Object.entries(layout).flatMap(([name, field]) => (
    typeof field === 'object' && !field.type.endsWith('64') ? [{ name, type: field.type }] : []));
  const { name, type } = pick(chance, fields);
  const small = pick(chance, [0, 0, 1, 2, 5, 6, 7, 255, nastyWord(chance)]);
  const float = pick(chance, [0, -1, 1e-38, 1e9, 3e38, NaN, Infinity, small]);
  writeBlock(new DataView(report.buffer), HEAD, layout, { [name]: type === 'f32' ? float : small });
}

function spoil(chance: RandomStream, reports: Uint8Array[]): void {
  const at = placeOf(chance, reports);
  const report = Uint8Array.from(reports[at]!);
  const change = chance.below(9);
  if (change === 0) report[chance.below(48)]! ^= 1 << chance.below(8);
  else if (change <= 4) spoilField(chance, report);
  if (change <= 4) reports[at] = report;
  else if (change === 5) reports.splice(at, 1);
  else if (change === 6) {
    const into = chance.below(reports.length);
    reports.splice(into, 0, ...Array.from({ length: pick(chance, [1, 1, 2, 500]) }, () => report));
  } else if (change === 7) reports.splice(at, 0, ...reports.splice(chance.below(reports.length), 1 + chance.below(20)));
  else {
    const made = Uint8Array.from({ length: REPORT_bytes }, () => chance.below(256));
    made.set([1, chance.below(9)]);
    reports.splice(at, 0, made);
  }
}

/** Plays a case to whoever opens it, and takes whatever is sent. */
class Player implements Transport {
  readonly serial = 'TS-CASE';
  onReport: (report: Uint8Array) => void = () => undefined;
  onClosed: () => void = () => undefined;
  written = 0;
  readonly #bytes: Uint8Array;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
  }

  async open(): Promise<void> {}
  async close(): Promise<void> {}

  async write(): Promise<void> {
    this.written += 1;
    if (this.written > 1) return;
    const hash = Buffer.from(logicModule().sha256, 'hex');
    for (let at = 0; at + REPORT_bytes <= this.#bytes.length; at += REPORT_bytes) {
      const report = this.#bytes.slice(at, at + REPORT_bytes);
      const isOpen = report[1] === Report.identity && report.subarray(HASH_AT, HASH_AT + HASH_bytes).every((byte) => byte === 0);
      if (isOpen) report.set(hash, HASH_AT);
      if (isOpen && report[LAYOUT_AT] === 0) report[LAYOUT_AT] = LAYOUT_VERSION;
      this.onReport(report);
      // What the program sends leaves between two reports, as on a cable.
      if (at % (64 * REPORT_bytes) === 0) await Promise.resolve();
    }
  }
}

export const reportFuzzer: Fuzzer = {
  what: 'reports',
  step_bytes: REPORT_bytes,
  ending: '.reports',
  async draw(chance) {
    const reports = [...(await soundReports())];
    for (let left = chance.below(8); left >= 0; left -= 1) spoil(chance, reports);
    return Buffer.concat(reports);
  },
  async feed(bytes) {
    const player = new Player(bytes);
    const logic = createLogic();
    const test = new BenchTest(player, { setup, logic });
    let ended: unknown = null;
    test.run().then(() => undefined, (error: unknown) => (ended = error));
    // The player has played all of it when nothing is left to be done at once.
    for (let turn = 0; turn < 3; turn += 1) await new Promise(setImmediate);
    if (ended !== null && !(ended instanceof TransportError)) throw ended;
    if (player.written > 10 + bytes.length / REPORT_bytes) throw new Error(`${player.written} reports were sent for ${bytes.length / REPORT_bytes}`);
    if (test.collector.problems.some((problem) => /[\p{Cc}\p{Cf}]/u.test(problem))) throw new Error('a sentence that a terminal must not be shown');
    const text = JSON.stringify(test.collector.record('2026-03-14T10:22:31Z', { serial: 'TS-CASE', firmware: '0', moduleHash: '00' }));
    checkMap(logic, setup.places);
    const again = createLogic();
    checkMap(again, loadRecord(again, asBenchRecord(JSON.parse(text))));
  },
};

/** What is known so far is solved, whatever it is: into a map without a gap. */
function checkMap(logic: Logic, places: readonly string[]): void {
  const map = solveEvidence(logic, places);
  if (/NaN|undefined|Infinity/.test(renderWireMap(map, new Map(), null))) throw new Error('a map with a gap');
}
