/** The bench program: finds the tester, opens the shop's records, and shows the screens. Loaded only when a screen is wanted. */
import { render } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState } from 'react';
import { BenchModel, sentences, type Tested } from '../bench/bench-model.ts';
import type { Bench } from '../bench/bench.ts';
import { openBench, type Opened } from '../bench/open-bench.ts';
import type { TwinKind } from '../bench/twins.ts';
import { formOf } from '../bench/lot-setup.ts';
import { elapsed_ms, localTime, pause, timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { freshSeed, freshUid } from '../edge/random.ts';
import { logicModule } from '../logic/module.ts';
import { Keeper } from '../records/keeper.ts';
import type { SqliteStock } from '../records/sqlite-stock.ts';
import { BenchApp } from '../screens/bench-app.tsx';
import { useJobControl } from '../screens/job-control.ts';
import { LotApp } from '../screens/lot-app.tsx';
import { watchTesters } from '../transport/discovery.ts';
import { tell } from './errors.ts';
import { courierOf, ownFile } from './stock-access.ts';

/** Between two looks for what is to be handed over, and before a server that is away is tried again, milliseconds. */
const [ROUND_ms, AWAY_ms] = [300, 3000];

/** Name under which the choice among several testers is remembered. */
const TESTER_SETTING = 'tester';

/** What was said last of the server, and whoever shows it. */
interface ServerNews {
  last: string | null;
  tell: (sentence: string) => void;
}

/** Form first on a tester, then the bench; `s` comes back to the form. */
function Program(
  { opened, keeper, news }: { readonly opened: Opened; readonly keeper: Keeper; readonly news: ServerNews },
): JSX.Element {
  useJobControl();
  const model = (bench: Bench, notice: string | null): BenchModel => new BenchModel(bench, {
    timeOfDay, ring: () => void writeOut('\x07'),
    notice: sentences(notice, keeper.trouble === null ? null : `Tests are not kept: ${keeper.trouble}.`),
    keep: (test) => keeper.keep(test), onMove: (place) => keeper.stand(place), startsAt: putOn(keeper, bench),
    numberKept: () => keeper.last?.number ?? null, recall: (place) => recall(keeper, place), undo: () => keeper.undo(),
  });
  const [current, setCurrent] = useState<BenchModel | null>(
    () => (opened.kind === 'virtual' ? model(opened.bench, opened.notice) : null));

  useEffect(() => {
    news.tell = (sentence) => current?.tell(sentence);
    if (news.last !== null) news.tell(news.last);
  }, [news, current]);
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
  if (current === null) {
    const last = keeper.newestLot(false);
    const form = formOf(last?.name ?? '', last?.setup ?? '', `lot of ${localTime(timeOfDay()).slice(0, 10)}`);
    return <LotApp opened={opened} start={form} onBench={(bench) => setCurrent(model(bench, null))} />;
  }
  return <BenchApp model={current} onLot={() => setCurrent(null)} />;
}

function recall(keeper: Keeper, place: number): Tested | null {
  const found = keeper.recall(place);
  return found === null ? null : { map: found.map, readings: found.record.resistances, number: found.number };
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
  return bench.count > 0 ? Math.min(known.standsAt, bench.count - 1) : known.standsAt;
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
    open: ownFile, sentence: (error) => tell(error).line,
    freshUid, timeOfDay, module: () => logicModule().sha256,
  });
  const ended = new AbortController();
  const news: ServerNews = { last: null, tell: () => undefined };
  const handedOver = handOver(ended.signal, news);
  try {
    const remembered = keeper.setting(TESTER_SETTING);
    const opened = await openBench({
      seed: options.seed ?? freshSeed(), twin: options.twin, elapsed_ms,
      ...(options.tester === undefined ? {} : { wanted: options.tester }),
      ...(remembered === undefined ? {} : { remembered }),
    });
    if (opened.kind === 'tester') keeper.remember(TESTER_SETTING, opened.serial);
    // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
    const program = <Program opened={opened} keeper={keeper} news={news} />;
    const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
    await app.waitUntilExit();
  } finally {
    ended.abort();
    await handedOver;
    keeper.close();
  }
}

/** Takes what is kept over to the server, as long as one is named; without it, or while it is away, tests stay in this computer's file. */
async function handOver(ended: AbortSignal, news: ServerNews): Promise<void> {
  let own: SqliteStock;
  try {
    own = ownFile();
  } catch {
    // The keeper has told why.
    return;
  }
  const courier = await courierOf(own);
  while (courier !== null && !ended.aborted) {
    const trouble = await courier.round().then(() => null, (error: unknown) => tell(error).line);
    const sentence = trouble === null
      ? 'The server of the records is there again and has every test.' : `${trouble}. Tests are kept here and handed over later.`;
    // Only what has changed is news, and that all is well from the start is none.
    if (sentence !== news.last && (trouble !== null || news.last !== null)) {
      news.last = sentence;
      news.tell(sentence);
    }
    await pause(trouble === null ? ROUND_ms : AWAY_ms, ended);
  }
  await courier?.close();
  own.close();
}
