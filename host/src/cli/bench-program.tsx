/** The bench program: finds the tester, opens the shop's records, and shows the screens. Loaded only when a screen is wanted. */
import { render } from 'ink';
import { BenchModel, sentences, type Tested } from '../bench/bench-model.ts';
import type { Bench } from '../bench/bench.ts';
import { openBench, type Opened } from '../bench/open-bench.ts';
import type { TwinKind } from '../bench/twins.ts';
import { formOf } from '../bench/lot-setup.ts';
import { elapsed_ms, localTime, pause, timeOfDay } from '../edge/clock.ts';
import { endBy, untilAskedToEnd, writeOut } from '../edge/environment.ts';
import { freshSeed, freshUid } from '../edge/random.ts';
import { logicModule } from '../logic/module.ts';
import { Keeper } from '../records/keeper.ts';
import type { SqliteStock } from '../records/sqlite-stock.ts';
import { Router, type Means, type OnBench } from '../screens/router.tsx';
import { whenBack } from '../transport/discovery.ts';
import { tell, UserError } from './errors.ts';
import type { ReadSettings } from './settings-access.ts';
import type { LoadedShop } from './shop-means.ts';
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

/** This computer's file, opened when it is first wanted and tried again as long as it cannot be had. */
class OwnFile {
  #stock: SqliteStock | null = null;

  readonly open = (): SqliteStock => (this.#stock ??= ownFile());

  close(): void {
    this.#stock?.close();
    this.#stock = null;
  }
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
  return bench.isClosed ? Math.min(known.standsAt, bench.count - 1) : known.standsAt;
}

/** A lot on the bench, and what is kept of it. */
function lay(keeper: Keeper, bench: Bench, notice: string | null): OnBench {
  const model = new BenchModel(bench, {
    timeOfDay, ring: () => void writeOut('\x07'),
    notice: sentences(notice, keeper.trouble === null ? null : `Tests are not kept: ${keeper.trouble}.`),
    keep: (test) => keeper.keep(test), onMove: (place) => keeper.stand(place), startsAt: putOn(keeper, bench),
    numberKept: () => keeper.last?.number ?? null, recall: (place) => recall(keeper, place), undo: () => keeper.undo(),
  });
  const { isVirtual, count, lot: { name } } = bench;
  return { model, lot: { name, isVirtual, size: count, standsAt: () => model.place, places: () => keeper.places() } };
}

/** Tells a bench of its server, and of its tester when that is plugged in again. */
function followed(model: BenchModel, opened: Opened, news: ServerNews): () => void {
  news.tell = (sentence) => model.tell(sentence);
  if (news.last !== null) news.tell(news.last);
  return opened.kind === 'tester' ? whenBack(opened.driver, opened.serial, () => void model.plugged()) : () => undefined;
}

/**
 * Shows the bench until the person quits.
 * @param options - `twin` and `seed` of the virtual bench, `tester` the serial number to use, `read` what the file of the settings held
 * @throws TransportError when the named tester is not there
 */
export async function runBenchScreen(options: {
  readonly twin: TwinKind; readonly seed?: number; readonly tester?: string; readonly read: ReadSettings;
}): Promise<void> {
  const own = new OwnFile();
  const keeper = new Keeper({
    open: own.open, sentence: (error) => tell(error).line,
    freshUid, timeOfDay, module: () => logicModule().sha256,
  });
  const ended = new AbortController();
  const news: ServerNews = { last: null, tell: () => undefined };
  const handedOver = handOver(own, ended.signal, news);
  let loaded: Promise<LoadedShop> | null = null;
  let endedBy: NodeJS.Signals | null = null;
  try {
    const remembered = keeper.setting(TESTER_SETTING);
    const opened = await openBench({
      seed: options.seed ?? freshSeed(), twin: options.twin, elapsed_ms,
      ...(options.tester === undefined ? {} : { wanted: options.tester }),
      ...(remembered === undefined ? {} : { remembered }),
    });
    if (opened.kind === 'tester') keeper.remember(TESTER_SETTING, opened.serial);
    // What lies over the bench is loaded beside its first screen, not before it.
    const shop = (): Promise<LoadedShop> => (loaded ??= import('./shop-means.ts').then(({ shopMeans }) => shopMeans(opened, options.read)));
    const means = meansOf(keeper, opened, news, options.read, shop);
    ({ endedBy } = await untilAskedToEnd(async (asked) => {
      // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
      const app = render(<Router means={means} asked={asked} />, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
      await app.waitUntilExit();
    }));
  } finally {
    ended.abort();
    await handedOver;
    await (await (loaded as Promise<LoadedShop> | null))?.close();
    own.close();
  }
  if (endedBy !== null) endBy(endedBy);
}

function meansOf(keeper: Keeper, opened: Opened, news: ServerNews, read: ReadSettings, shop: () => Promise<LoadedShop>): Means {
  return {
    opened, shop,
    lay: (bench, notice) => lay(keeper, bench, sentences(notice, read.problem === null ? null : `Settings: ${read.problem}.`)),
    form: () => {
      const last = keeper.newestLot(false);
      return formOf(last?.name ?? '', last?.setup ?? '', last?.size ?? 0, `lot of ${localTime(timeOfDay()).slice(0, 10)}`);
    },
    follow: (model) => followed(model, opened, news),
  };
}

/** Takes what is kept over to the server, as long as one is named; without it, or while it is away, tests stay in this computer's file. */
async function handOver(own: OwnFile, ended: AbortSignal, news: ServerNews): Promise<void> {
  const say = (sentence: string): void => {
    // Only what has changed is news.
    if (sentence === news.last) return;
    news.last = sentence;
    news.tell(sentence);
  };
  let courier: Awaited<ReturnType<typeof courierOf>>;
  try {
    courier = await courierOf(own.open());
  } catch (error) {
    // Why this computer's file cannot be had the keeper has told.
    if (error instanceof UserError) say(`${error.message}. Tests are kept on this computer only.`);
    return;
  }
  while (courier !== null && !ended.aborted) {
    const trouble = await courier.round().then(() => null, (error: unknown) => tell(error).line);
    if (trouble !== null) say(`${trouble}. Tests are kept here and handed over later.`);
    // That all is well from the start is no news.
    else if (news.last !== null) say('The server of the records is there again and has every test.');
    await pause(trouble === null ? ROUND_ms : AWAY_ms, ended);
  }
  await courier?.close();
}
