/** The bench program: finds the tester, opens the shop's records, and shows the screens. Loaded only when a screen is wanted. */
import { join } from 'node:path';
import { render } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState } from 'react';
import { BenchModel, sentences } from '../bench/bench-model.ts';
import type { Bench } from '../bench/bench.ts';
import { openBench, type Opened } from '../bench/open-bench.ts';
import type { TwinKind } from '../bench/twins.ts';
import { elapsed_ms, timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { madeDataFolder } from '../edge/folders.ts';
import { freshSeed, freshUid } from '../edge/random.ts';
import { logicModule } from '../logic/module.ts';
import { Keeper } from '../records/keeper.ts';
import { RECORDS_FILE, SqliteStock } from '../records/sqlite-stock.ts';
import { BenchApp } from '../screens/bench-app.tsx';
import { useJobControl } from '../screens/job-control.ts';
import { LotApp } from '../screens/lot-app.tsx';
import { watchTesters } from '../transport/discovery.ts';
import { tell } from './errors.ts';

/** Name under which the choice among several testers is remembered. */
const TESTER_SETTING = 'tester';

/** Form first on a tester, then the bench; `s` comes back to the form. */
function Program({ opened, keeper }: { readonly opened: Opened; readonly keeper: Keeper }): JSX.Element {
  useJobControl();
  const model = (bench: Bench, notice: string | null): BenchModel => new BenchModel(bench, {
    timeOfDay, ring: () => void writeOut('\x07'),
    notice: sentences(notice, keeper.trouble === null ? null : `Tests are not kept: ${keeper.trouble}.`),
    keep: (test) => keeper.keep(test), onMove: (place) => keeper.stand(place), startsAt: putOn(keeper, bench),
  });
  const [current, setCurrent] = useState<BenchModel | null>(
    () => (opened.kind === 'virtual' ? model(opened.bench, opened.notice) : null));

  useEffect(() => {
    if (opened.kind !== 'tester' || current === null) return undefined;
    const ended = new AbortController();
    let known = true;
    void watchTesters(opened.driver, ({ testers }) => {
      const present = testers.some(({ serial }) => serial === opened.serial);
      if (present && !known) void current.plugged();
      known = present;
    }, ended.signal);
    return () => ended.abort();
  }, [opened, current]);

  if (opened.kind === 'virtual') return <BenchApp model={current as BenchModel} />;
  if (current === null) return <LotApp opened={opened} onBench={(bench) => setCurrent(model(bench, null))} />;
  return <BenchApp model={current} onLot={() => setCurrent(null)} />;
}

/** Tells the keeper which lot is on the bench: the one that was there last, when it is the same. @returns which pickup of it comes first */
function putOn(keeper: Keeper, bench: Bench): number {
  const { isVirtual, lot } = bench;
  const known = keeper.newestLot(isVirtual);
  if (known === null || lot.name === '' || known.setup !== lot.setup || known.name !== lot.name) {
    keeper.putOn({ ...lot, isVirtual, size: bench.count });
    return 0;
  }
  keeper.putOn({ ...lot, isVirtual, size: bench.count }, known);
  return bench.count > 0 ? known.standsAt % bench.count : known.standsAt;
}

/**
 * Shows the bench until the person quits.
 * @param options - `twin` and `seed` of the virtual bench, `tester` the serial number to use
 * @throws TransportError when the named tester is not there
 */
export async function runBenchScreen(options: {
  readonly twin: TwinKind; readonly seed?: number; readonly tester?: string;
}): Promise<void> {
  const keeper = new Keeper({
    open: () => new SqliteStock(join(madeDataFolder(), RECORDS_FILE)), sentence: (error) => tell(error).line,
    freshUid, timeOfDay, module: () => logicModule().sha256,
  });
  try {
    const remembered = keeper.setting(TESTER_SETTING);
    const opened = await openBench({
      seed: options.seed ?? freshSeed(), twin: options.twin, elapsed_ms,
      ...(options.tester === undefined ? {} : { wanted: options.tester }),
      ...(remembered === undefined ? {} : { remembered }),
    });
    if (opened.kind === 'tester') keeper.remember(TESTER_SETTING, opened.serial);
    // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
    const program = <Program opened={opened} keeper={keeper} />;
    const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
    await app.waitUntilExit();
  } finally {
    keeper.close();
  }
}
