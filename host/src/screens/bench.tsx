/** The bench program on a terminal: keys in, screens out. Loaded only when a screen is wanted. */
import { join } from 'node:path';
import { render, useApp, useInput, useStdin, useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import { BenchModel, sentences } from '../bench/bench-model.ts';
import type { Bench } from '../bench/bench.ts';
import { editForm, emptyForm, readForm, type LotForm } from '../bench/lot-setup.ts';
import { openBench, type Opened } from '../bench/open-bench.ts';
import type { TwinKind } from '../bench/twins.ts';
import { elapsed_ms, timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { tell } from '../cli/errors.ts';
import { madeDataFolder } from '../edge/folders.ts';
import { freshSeed, freshUid } from '../edge/random.ts';
import { logicModule } from '../logic/module.ts';
import { Keeper } from '../records/keeper.ts';
import { RECORDS_FILE, SqliteStock } from '../records/sqlite-stock.ts';
import { watchTesters } from '../transport/discovery.ts';
import { BenchScreen, scrollRange, TABS } from './bench-screen.tsx';
import { useJobControl } from './job-control.ts';
import { LotScreen } from './lot-screen.tsx';

/** Name under which the choice among several testers is remembered. */
const TESTER_SETTING = 'tester';

/** Sends keys to the model and draws its view. @param onLot - asks for another lot; absent on the virtual bench */
export function BenchApp(
  { model, onLot }: { readonly model: BenchModel; readonly onLot?: () => void },
): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const { isRawModeSupported } = useStdin();
  const { exit } = useApp();
  const [tabIndex, setTab] = useState(0);
  const [scroll, setScroll] = useState(0);
  const tab = TABS[tabIndex];

  useEffect(() => {
    void model.connect();
    return () => void model.close();
  }, [model]);
  useEffect(() => setScroll(0), [view.title, tab, view.final]);

  const press = (letter: string): void => {
    if (letter === 'q') void model.close().then(() => exit());
    else if (letter === ' ' || letter === '\r') void model.button();
    else if (letter === 't') model.touch();
    else if (letter === 'g') model.holdMagnet();
    else if (letter === 'c') model.cancel();
    else if (letter === 'n') void model.move(1);
    else if (letter === 'p') void model.move(-1);
    else if (letter === 'b') model.toggleBell();
    else if (letter === 's' && onLot) void model.close().then(onLot);
    else if (letter === '\t') setTab((now) => (now + 1) % TABS.length);
  };
  useInput((input, key) => {
    const { most, page } = scrollRange(view, columns, rows, tab);
    // From where the panel stands: a terminal that grew may show less of it scrolled than was asked for.
    const move = (by: number): void => setScroll((now) => Math.max(0, Math.min(most, Math.min(now, most) + by)));
    if (key.ctrl && input === 'c') press('q');
    else if (key.return) press('\r');
    else if (key.tab) setTab((now) => (now + (key.shift ? TABS.length - 1 : 1)) % TABS.length);
    else if (key.downArrow) move(1);
    else if (key.upArrow) move(-1);
    else if (key.pageDown) move(page);
    else if (key.pageUp) move(-page);
    // Keys that are typed fast arrive together.
    else if (!key.ctrl && !key.meta) for (const letter of input) press(letter);
  }, { isActive: isRawModeSupported });

  return <BenchScreen view={view} columns={columns} rows={rows} tab={tab} scroll={scroll} />;
}

/** The lot's form; hands the finished set-up on. */
function LotApp({ opened, onBench }: {
  readonly opened: Extract<Opened, { kind: 'tester' }>; readonly onBench: (bench: Bench) => void;
}): JSX.Element {
  const { columns } = useWindowSize();
  const { isRawModeSupported } = useStdin();
  const { exit } = useApp();
  const [form, setForm] = useState<LotForm>(emptyForm);
  const [wrong, setWrong] = useState<string | null>(null);
  useInput((input, key) => {
    if (key.ctrl && input === 'c') exit();
    else if (key.return) {
      const read = readForm(form);
      if ('wrong' in read) setWrong(read.wrong);
      else onBench(opened.bench(read));
    } else if (key.upArrow) setForm(editForm(form, { type: 'move', by: -1 }));
    else if (key.downArrow || key.tab) setForm(editForm(form, { type: 'move', by: 1 }));
    else if (key.leftArrow) setForm(editForm(form, { type: 'choose', by: -1 }));
    else if (key.rightArrow) setForm(editForm(form, { type: 'choose', by: 1 }));
    else if (key.backspace || key.delete) setForm(editForm(form, { type: 'erase' }));
    else if (input !== '' && !key.ctrl && !key.meta) setForm(editForm(form, { type: 'text', text: input }));
  }, { isActive: isRawModeSupported });
  return <LotScreen form={form} wrong={wrong} columns={columns} serial={opened.serial} />;
}

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
