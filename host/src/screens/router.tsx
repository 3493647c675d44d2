/** The way between screens: the bench lies below, and what is opened from it lies on top of it, one over the other, until it is left. */
import { useApp } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState } from 'react';
import type { BenchModel } from '../bench/bench-model.ts';
import type { Bench } from '../bench/bench.ts';
import type { EntrySession } from '../entry/session.ts';
import type { LotForm } from '../bench/lot-setup.ts';
import type { Opened } from '../bench/open-bench.ts';
import type { FittingModel } from '../fitting/fitting-model.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import { HarnessList, type HarnessMeans } from '../shop/harness-list.ts';
import { LotModel, type LotOnBench } from '../shop/lot-model.ts';
import { PickupModel, type PickupMeans, type WhichPickup } from '../shop/pickup-model.ts';
import { SettingsModel, type SettingsMeans } from '../shop/settings-model.ts';
import { StockModel } from '../shop/stock-model.ts';
import { BenchApp } from './bench-app.tsx';
import { EntryApp } from './entry-app.tsx';
import { HarnessListApp } from './harness-list-app.tsx';
import type { HelpTopic } from './help-text.ts';
import { HomeApp } from './home-app.tsx';
import { LotApp } from './lot-app.tsx';
import { NewLotApp } from './new-lot-app.tsx';
import { PickupApp } from './pickup-app.tsx';
import { Program } from './program.tsx';
import { SettingsApp } from './settings-app.tsx';
import { StockApp } from './stock-app.tsx';
import type { Way } from './ways.ts';

type Fitting = typeof import('./fitting-app.tsx');

/** A screen over the bench, with what it shows. */
type Place =
  | { readonly at: 'new lot' }
  | { readonly at: 'lot'; readonly model: LotModel }
  | { readonly at: 'stock'; readonly model: StockModel }
  | { readonly at: 'pickup'; readonly model: PickupModel }
  | { readonly at: 'entry'; readonly session: EntrySession }
  | { readonly at: 'harnesses'; readonly model: HarnessList }
  | { readonly at: 'harness'; readonly model: FittingModel; readonly app: Fitting }
  | { readonly at: 'settings'; readonly model: SettingsModel };

/** A bench with its lot. */
export interface OnBench {
  readonly model: BenchModel;
  readonly lot: LotOnBench;
}

/** All that the screens are made from. */
export interface Means {
  readonly opened: Opened;
  /** Puts a lot on the bench. */
  readonly lay: (bench: Bench, notice: string | null) => OnBench;
  /** The form of the next lot, as it was filled in for the last. */
  readonly form: () => LotForm;
  /** Tells a bench what happens beside it, as long as it is there. @returns a function that ends it */
  readonly follow: (model: BenchModel) => () => void;
  readonly pickup: PickupMeans;
  readonly settings: SettingsMeans;
  readonly harnesses: HarnessMeans;
  readonly entry: EntryMeans;
}

/** A pickup entered by meters of the person's own. */
export interface EntryMeans {
  readonly begin: () => EntrySession;
  /** Keeps what was read. @param isBroken - the person quit in the middle @returns the pickup's own name */
  readonly keep: (session: EntrySession, isBroken: boolean) => Promise<string>;
}

/** The program, from its start until the person quits. */
export function Router({ means }: { readonly means: Means }): JSX.Element {
  const { opened } = means;
  const isVirtual = opened.kind === 'virtual';
  const { exit } = useApp();
  const [bench, setBench] = useState<OnBench | null>(() => (opened.kind === 'virtual' ? means.lay(opened.bench, opened.notice) : null));
  const [trail, setTrail] = useState<readonly Place[]>(isVirtual ? [] : [{ at: 'new lot' }]);
  const top = trail.at(-1);

  useEffect(() => {
    if (bench === null) return undefined;
    const ended = means.follow(bench.model);
    void bench.model.open();
    return () => {
      ended();
      void bench.model.close();
    };
  }, [means, bench]);
  useEffect(() => (top?.at === 'lot' && bench !== null ? lookAtEnds(bench.model, top.model) : undefined), [bench, top]);

  const push = (place: Place): void => setTrail((now) => [...now, place]);
  const back = (): void => setTrail((now) => now.slice(0, -1));
  const toBench = (): void => setTrail([]);
  const open = (which: WhichPickup): void => push({ at: 'pickup', model: new PickupModel(means.pickup, which) });
  const harnesses = (pickup: TestedPickup | null): void =>
    push({ at: 'harnesses', model: new HarnessList(means.harnesses, pickup, pickup?.isVirtual ?? isVirtual) });
  const takeBack = (): void => {
    toBench();
    void bench?.model.undo();
  };
  /** Leaves the bench for good, once the test that may be under way is asked about there. */
  const leave = async (key: 'q' | 's', then: () => void): Promise<void> => {
    toBench();
    if (bench !== null && !(await bench.model.leave(key))) return;
    await bench?.model.close();
    then();
  };
  const quit = (): void => {
    if (top?.at !== 'entry' || top.session.isEmpty) return void leave('q', exit);
    // Readings that somebody took are not thrown away by a key; where they cannot be kept the screen stays, and q there says why.
    void means.entry.keep(top.session, !top.session.isDone).then(() => leave('q', exit), () => undefined);
  };
  /** What was read is kept, and shown as it is kept. @returns why it could not be */
  const endEntry = async (session: EntrySession): Promise<string | null> => {
    try {
      if (!session.isEmpty) {
        const model = new PickupModel(means.pickup, { uid: await means.entry.keep(session, false) });
        setTrail((now) => [...now.slice(0, -1), { at: 'pickup', model }]);
      } else back();
      return null;
    } catch (error) {
      return means.pickup.desk.sentence(error);
    }
  };
  const newLot = (): void => void leave('s', () => {
    setBench(null);
    setTrail([{ at: 'new lot' }]);
  });
  const go = (way: Way): void => {
    switch (way) {
      case 'new lot': return newLot();
      case 'lot': return bench === null ? undefined : push({ at: 'lot', model: new LotModel(means.pickup, bench.lot, takeBack) });
      case 'stock': return push({ at: 'stock', model: new StockModel(means.pickup.desk, isVirtual) });
      case 'entry': return push({ at: 'entry', session: means.entry.begin() });
      case 'harnesses': return harnesses(null);
      case 'settings': return push({ at: 'settings', model: new SettingsModel(means.settings) });
      case 'pickup': {
        const kept = bench?.lot.places().find(({ place }) => place === bench.lot.standsAt());
        if (kept === undefined) bench?.model.tell('Nothing is kept of this pickup yet: test it first.');
        else open({ uid: kept.uid });
      }
    }
  };

  const screen = (help: (topic: HelpTopic) => void): JSX.Element => {
    switch (top?.at) {
      case undefined:
        return bench === null
          ? <HomeApp serial={opened.kind === 'tester' ? opened.serial : ''} onGo={go} onQuit={quit} onHelp={() => help('bench')} />
          : <BenchApp model={bench.model} ways={isVirtual ? VIRTUAL_WAYS : TESTER_WAYS} onGo={go} onQuit={quit} onHelp={() => help('bench')} />;
      case 'new lot': {
        if (opened.kind === 'virtual') throw new Error('the virtual bench has its lot');
        const lay = (fresh: Bench): void => {
          setBench(means.lay(fresh, null));
          toBench();
        };
        return <NewLotApp opened={opened} start={means.form()} onBench={lay} onBack={toBench} onHelp={() => help('new lot')} />;
      }
      case 'lot': {
        const { model } = top;
        const lay = (place: number): void => void bench?.model.lay(place).then((lies) => (lies ? toBench() : model.tellUnderWay()));
        return <LotApp model={model} onLay={lay} onOpen={open} onBack={back} onHelp={() => help('lot')} />;
      }
      case 'stock':
        return <StockApp model={top.model} onOpen={open} onBack={back} onHelp={() => help('stock')} />;
      case 'pickup': {
        const { model } = top;
        const fit = (): void => harnesses(model.tested());
        return <PickupApp key={trail.length} model={model} onOpen={open} onHarness={fit} onBack={back} onHelp={() => help('pickup')} />;
      }
      case 'entry': {
        const { session } = top;
        return <EntryApp session={session} onEnd={() => endEntry(session)} onHelp={() => help('entry')} />;
      }
      case 'harnesses': {
        const fit = async (model: FittingModel): Promise<void> => push({ at: 'harness', model, app: await import('./fitting-app.tsx') });
        return <HarnessListApp model={top.model} onOpen={(model) => void fit(model)} onBack={back} onHelp={() => help('harnesses')} />;
      }
      case 'harness': {
        const { FittingApp } = top.app;
        return <FittingApp model={top.model} onBack={back} onHelp={() => help('harness')} />;
      }
      case 'settings':
        return <SettingsApp model={top.model} onBack={back} onHelp={() => help('settings')} />;
    }
  };
  return <Program onQuit={quit}>{screen}</Program>;
}

const VIRTUAL_WAYS: readonly Way[] = ['lot', 'stock', 'pickup', 'entry', 'harnesses', 'settings'];
const TESTER_WAYS: readonly Way[] = ['new lot', ...VIRTUAL_WAYS];

/** The lot is looked at again whenever a test on the bench has ended, which it may while the lot is shown. */
function lookAtEnds(bench: BenchModel, lot: LotModel): () => void {
  lot.look();
  let { final } = bench.view();
  return bench.subscribe(() => {
    const now = bench.view().final;
    if (now !== final) lot.look();
    final = now;
  });
}
