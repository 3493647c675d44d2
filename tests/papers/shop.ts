/** A shop with a stock of its own, and the programs of others that read what leaves it. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { solveEvidence } from '../../host/src/evidence/read-result.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { createLogic, logicModule } from '../../host/src/logic/module.ts';
import type { TestedPickup } from '../../host/src/papers/tested-pickup.ts';
import { addLot, keepInLot } from '../../host/src/records/keeping.ts';
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { tapstone, type Run } from '../program/run-program.ts';
import { keepNow } from '../records/keep-one.ts';

const logic = createLogic();
export const solve = (record: BenchRecord): WireMap => solveEvidence(logic, loadRecord(logic, record));
const root = new URL('../../', import.meta.url);

/** A record of this repository, packed or not. */
export function recordOf(path: string): BenchRecord {
  const bytes = readFileSync(new URL(path, root));
  return asBenchRecord(JSON.parse((path.endsWith('.gz') ? gunzipSync(bytes) : bytes).toString('utf8')));
}

export const METERS = recordOf('hardware-notes/examples/plain-meters.bench.json');
/** Names of the records that once went wrong: every kind of pickup, good, faulty and unsure. */
export const FOUND = readdirSync(new URL('tests/found/', root)).filter((name) => /\.bench\.json(\.gz)?$/.test(name));

/** A pickup as papers take it. */
export function tested(record: BenchRecord, more: Partial<TestedPickup> = {}): TestedPickup {
  const colours = new Map(record.clips.map(({ clip, colour }) => [clip, colour]));
  const test = { id: 1, taken: '2026-03-14 11:22:31 +01:00', record, map: solve(record), module: logicModule().sha256, colours };
  return { number: '0001', title: 'a pickup', lot: '', state: test.map.verdict, isVirtual: false, test, ...more };
}

/** What a person may have typed: formulas, controls, a text that turns its direction, markup, letters that few fonts have. */
export const NASTY = '=1+1 \x1b]0;owned\x07\u202egood <b>*x*</b> [a](http://b) \u0416\u97f3';

export class Shop {
  readonly folder = mkdtempSync(join(tmpdir(), 'tapstone-papers-'));

  keep(act: (stock: SqliteStock) => void): void {
    mkdirSync(join(this.folder, 'tapstone'), { recursive: true });
    const stock = new SqliteStock(join(this.folder, 'tapstone', 'records.sqlite'));
    act(stock);
    stock.close();
  }

  /** A pickup of no lot. */
  one(record: BenchRecord, more: { readonly title?: string; readonly number?: string } = {}): void {
    this.keep((stock) => void keepNow(stock, { title: 'a pickup', record, map: solve(record), module: logicModule().sha256, ...more }));
  }

  lot(name: string, records: readonly BenchRecord[], title = 'boxed'): void {
    const added = '2026-03-15T08:00:00Z';
    this.keep((stock) => {
      stock.do(addLot({ uid: name, name, setup: '', size: records.length, isVirtual: false, opened: added }));
      for (const [place, record] of records.entries()) {
        const map = solve(record);
        const common = { title, isVirtual: false };
        stock.do(keepInLot(
          { ...common, uid: `${name}-test-${place}`, taken: added, record, map, isBroken: false, module: logicModule().sha256 },
          { ...common, uid: `${name}-${place}`, lot: name, place, number: null, added }));
      }
    });
  }

  run(...args: string[]): Promise<Run> {
    return tapstone(args, { environment: { XDG_DATA_HOME: this.folder, TAPSTONE_RECORDS: '', TZ: 'Asia/Kolkata' } });
  }

  path(name: string): string {
    return join(this.folder, name);
  }

  close(): void {
    rmSync(this.folder, { recursive: true, force: true });
  }
}

const read = (program: string, args: readonly string[]): string => execFileSync(program, args, { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });

/** Text of a PDF as poppler reads it. */
export function pdfText(path: string): string {
  return read('pdftotext', ['-layout', path, '-']);
}

/** Sizes of its pages, millimetres. */
export function pdfPages(path: string): [number, number][] {
  const told = read('pdfinfo', ['-l', '999', path]);
  return [...told.matchAll(/Page +\d+ size: +([\d.]+) x ([\d.]+) pts/g)].map(([, width, height]) => (
    [Math.round((Number(width) / 72) * 254) / 10, Math.round((Number(height) / 72) * 254) / 10]));
}

/** Dots of a picture that a reader is shown, per millimetre: 203 per inch, as label printers have. */
const DOTS_mm = 8;

/** The QR code on each of its pages as zbar reads it from poppler's picture, in order; '' where it reads none. */
export function pdfCodes(path: string): string[] {
  return pdfPages(path).map(([width, height], page) => codeIn(path, page + 1, [0, 0, width, height]));
}

/** The QR code in a part of a page. @param part - left, top, width and height, millimetres */
export function codeIn(path: string, page: number, part: readonly number[]): string {
  const [x, y, w, h] = part.map((length) => String(Math.round(length * DOTS_mm)));
  const picture = path.replace(/\.pdf$/, '-part');
  read('pdftoppm', [
    '-r', String(25.4 * DOTS_mm), '-gray', '-png', '-singlefile', '-f', String(page), '-x', x!, '-y', y!, '-W', w!, '-H', h!, path, picture]);
  try {
    return read('zbarimg', ['-q', '--raw', `${picture}.png`]).trimEnd();
  } catch {
    return '';
  }
}
