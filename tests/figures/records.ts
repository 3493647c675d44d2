/** The stock with many tests: its size, and how long lists, searches and the first frame of the screen take. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { searchWords } from '../../host/src/records/facts.ts';
import { addLot, addPickup, addTest, packedTest } from '../../host/src/records/keeping.ts';
import { countOf, evidenceOf, lots, newestLot, pickupNumbered, placesOfLot, search, type Filter } from '../../host/src/records/searching.ts';
import { findPartners } from '../../host/src/records/comparing.ts';
import { RECORDS_FILE, SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { testOnTwin } from '../lots/twin-lot.ts';
import { firstFrame_ms } from './start.ts';

const LOT_SIZE = 200;
const ROUNDS = 9;
/** Tests that are kept in one transaction while the file is filled. */
const AT_ONCE = 500;

const out = (text: string): void => void process.stdout.write(`${text}\n`);

/** Milliseconds, the median of some rounds. */
async function time_ms(act: () => unknown): Promise<number> {
  const taken: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const start = performance.now();
    await act();
    taken.push(performance.now() - start);
  }
  return taken.sort((a, b) => a - b)[ROUNDS >> 1]!;
}

/** Whole tests on the virtual bench, as of a tester of the shop's own. */
async function wholeTests(): Promise<{ readonly record: BenchRecord; readonly map: WireMap }[]> {
  const tests = [];
  for (const pickup of demoLot.slice(0, 3)) {
    const { outcome: { collector, identity, map } } = await testOnTwin(pickup, 1, createLogic());
    const { firmware, moduleHash } = identity;
    tests.push({ record: collector.record('2026-03-14T10:22:31Z', { serial: 'TS-1', firmware, moduleHash }), map });
  }
  return tests;
}

/** A map like another, its ohms spread. */
function spread(map: WireMap, chance: RandomStream): WireMap {
  return { ...map, coils: map.coils.map((coil) => (coil.ohm === null ? coil : { ...coil, ohm: coil.ohm * chance.between(0.8, 1.2) })) };
}

/** @param args - how many tests (100,000); with `small` their evidence holds no touches, which fills the file sooner */
export async function print([many = '100000', what = 'whole']: readonly string[]): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-figures-'));
  try {
    mkdirSync(join(folder, 'tapstone'));
    const path = join(folder, 'tapstone', RECORDS_FILE);
    const whole = await wholeTests();
    const short = asBenchRecord({ ...exampleRecord(), tester: { serial: 'TS-1' } });
    const stock = new SqliteStock(path);
    const size = (): number => ['', '-wal'].reduce((sum, end) => sum + (statSync(path + end, { throwIfNoEntry: false })?.size ?? 0), 0);
    const chance = new RandomStream(1, 'figures of records');
    fill(stock, 0, 90, (n) => whole[n % whole.length]!, chance);
    stock.copyTo(`${path}.whole`);
    out(`a whole test with its evidence takes ${(statSync(`${path}.whole`).size / 90 / 1024).toFixed(1)} KiB`);
    const count = Number(many);
    fill(stock, 90, count, (n) => {
      const { record, map } = whole[n % whole.length]!;
      return { record: what === 'whole' ? record : short, map };
    }, chance);
    out(`${count} tests (${what === 'whole' ? 'whole' : 'evidence without touches'}): ${(size() / 2 ** 20).toFixed(0)} MiB`);
    await printTimes(stock, count);
    stock.close();
    await printStart(folder);
    const command = spawnSync(process.execPath, ['--version'], { encoding: 'utf8' });
    out(`on Node.js ${command.stdout.trim()}`);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

type Kept = { readonly record: BenchRecord; readonly map: WireMap };
function fill(stock: SqliteStock, from: number, to: number, of: (n: number) => Kept, chance: RandomStream): void {
  for (let n = from; n < to; n += AT_ONCE) {
    stock.do({
      use: 'keep',
      *steps(dialect) {
        for (let at = n; at < Math.min(to, n + AT_ONCE); at += 1) {
          const lot = `lot ${Math.floor(at / LOT_SIZE)}`;
          const { record, map } = of(at);
          const [taken, title] = ['2026-03-14T10:22:31Z', `pickup ${at}`];
          yield* addLot({ uid: lot, name: lot, setup: '', size: LOT_SIZE, isVirtual: false, opened: taken }).steps(dialect);
          yield* addPickup({
            uid: `p${at}`, lot, place: at % LOT_SIZE, number: null, title, isVirtual: false, added: taken,
          }).steps(dialect);
          const packed = packedTest(
            { uid: `t${at}`, taken, title, record, map: spread(map, chance), isBroken: false, isVirtual: false, module: 'aa' }, `p${at}`);
          yield* addTest(packed.test, packed.evidence).steps(dialect);
        }
      },
    });
  }
}

async function printTimes(stock: SqliteStock, count: number): Promise<void> {
  const middle = String(count >> 1).padStart(4, '0');
  const filters: Readonly<Record<string, Filter>> = {
    'the newest 500': {}, 'a number': { number: middle }, 'numbers that begin so': { number: `${middle.slice(0, 3)}*` },
    'a lot': { lot: `lot ${Math.floor(count / 2 / LOT_SIZE)}` }, 'a state': { state: 'fault' }, 'a verdict': { verdict: 'unsure' },
    'a range of ohms': { ohmLeast: 8000, ohmMost: 8010 }, leads: { leads: 2 }, colours: { colours: ['BU'] }, poles: { poles: ['N', 'S'] },
    words: { words: searchWords(`pickup ${count >> 1}`) }, 'a word of all': { words: searchWords('pickup') }, 'nothing there': { words: searchWords('nowhere') },
  };
  for (const sort of ['tests', 'stock'] as const) {
    for (const [name, filter] of Object.entries(filters)) {
      const found = stock.do(search(sort, filter, 500)).length;
      out(`${sort}, ${name}: ${(await time_ms(() => stock.do(search(sort, filter, 500)))).toFixed(1)} ms, ${found} lines`);
    }
    out(`${sort}, how many: ${(await time_ms(() => stock.do(countOf(sort, {})))).toFixed(1)} ms`);
  }
  const { line } = stock.do(pickupNumbered(middle))!;
  out(`one pickup: ${(await time_ms(() => stock.do(pickupNumbered(middle)))).toFixed(1)} ms`);
  out(`the evidence of a test: ${(await time_ms(() => stock.do(evidenceOf(line.test!)))).toFixed(1)} ms`);
  out(`lots: ${(await time_ms(() => stock.do(lots(false, 500)))).toFixed(1)} ms`);
  out(`partners of one: ${(await time_ms(() => findPartners(stock, line))).toFixed(1)} ms`);
  const start = await time_ms(() => {
    const newest = stock.do(newestLot(false))!;
    stock.do(placesOfLot(newest.uid));
  });
  out(`what the bench asks at its start: ${start.toFixed(1)} ms`);
}

/** The screen beside this stock and beside none. */
async function printStart(folder: string): Promise<void> {
  const without = mkdtempSync(join(tmpdir(), 'tapstone-figures-'));
  const [full_ms, none_ms] = [await firstFrame_ms(folder), await firstFrame_ms(without)];
  rmSync(without, { recursive: true });
  out(`first frame: ${full_ms.toFixed(0)} ms beside this stock, ${none_ms.toFixed(0)} ms beside none, ratio ${(full_ms / none_ms).toFixed(2)}`);
}
