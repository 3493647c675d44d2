/** The way between screens: the bench lies below, and what is opened from it lies on top of it, one over the other, until it is left. */
import { useApp } from 'ink';
import type { JSX } from 'react';
import { useEffect, useRef, useState } from 'react';
import type { BenchModel } from '../bench/bench-model.ts';
import type { Bench } from '../bench/bench.ts';
import type { LotForm } from '../bench/lot-setup.ts';
import type { Opened } from '../bench/open-bench.ts';
import type { EntrySession } from '../entry/session.ts';
import type { FittingModel } from '../fitting/fitting-model.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import type { HarnessList } from '../shop/harness-list.ts';
import type { LotModel, LotOnBench } from '../shop/lot-model.ts';
import type { PickupModel, WhichPickup } from '../shop/pickup-model.ts';
import type { SettingsModel } from '../shop/settings-model.ts';
import type { StockModel } from '../shop/stock-model.ts';
import { useAskedToEnd } from './asked-to-end.ts';
import { BenchApp } from './bench-app.tsx';
import type { HelpTopic } from './help-text.ts';
import { HomeApp } from './home-app.tsx';
import { NewLotApp } from './new-lot-app.tsx';
import type { ShopMeans } from './over-bench.ts';
import { Program } from './program.tsx';
import type { Way } from './ways.ts';

type Fitting = typeof import('./fitting-app.tsx');
/** The screens over the bench, loaded. */
type Over = typeof import('./over-bench.ts') & { readonly means: ShopMeans };

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
  /** What the screens over the bench are made from, loaded when it is first asked for. */
  readonly shop: () => Promise<ShopMeans>;
}

/** The program, from its start until the person quits. @param asked - tells that it is to end at once: its terminal is gone, or somebody ends it */
export function Router({ means, asked }: { readonly means: Means; readonly asked: AbortSignal }): JSX.Element {
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

  const [over, setOver] = useState<Over | null>(null);
  const isAtBench = trail.length === 0;
  useEffect(() => {
    if (isAtBench && bench !== null && over !== null) void lookAtNumber(bench, over);
  }, [isAtBench, bench, over]);
  const isOpening = useRef(false);
  const load = async (): Promise<Over> => {
    const [screens, shop] = await Promise.all([import('./over-bench.ts'), means.shop()]);
    return { ...screens, means: shop };
  };
  useEffect(() => void load().then(setOver), [means]);
  /** Opens a screen as soon as it is loaded, which a person hardly ever meets; a key pressed meanwhile opens no second one. */
  const push = (place: (over: Over) => Place | Promise<Place>): void => {
    if (isOpening.current) return;
    isOpening.current = true;
    void (over === null ? load() : Promise.resolve(over)).then(async (loaded) => {
      const next = await place(loaded);
      setOver(loaded);
      setTrail((now) => [...now, next]);
    }).finally(() => {
      isOpening.current = false;
    });
  };
  const back = (): void => setTrail((now) => now.slice(0, -1));
  const toBench = (): void => setTrail([]);
  const open = (which: WhichPickup): void => push((to) => ({ at: 'pickup', model: new to.PickupModel(to.means.pickup, which) }));
  const harnesses = (pickup: TestedPickup | null): void =>
    push((to) => ({ at: 'harnesses', model: new to.HarnessList(to.means.harnesses, pickup, pickup?.isVirtual ?? isVirtual) }));
  const enterByMeters = (): void => push(async (to) => ({ at: 'entry', session: await to.means.entry.begin() }));
  /** What was read is kept, and shown as it is kept. @returns why it could not be */
  const endEntry = async ({ PickupModel, means: { entry, pickup } }: Over, session: EntrySession): Promise<string | null> => {
    try {
      if (session.isEmpty) back();
      else {
        const model = new PickupModel(pickup, { uid: await entry.keep(session, false) });
        setTrail((now) => [...now.slice(0, -1), { at: 'pickup', model }]);
      }
      return null;
    } catch (error) {
      return pickup.desk.sentence(error);
    }
  };
  const takeBack = (): void => {
    toBench();
    void bench?.model.undo();
  };
  /** Leaves the bench for good, once the test that may be under way is asked about there.
   * @param isAsked - somebody is there to answer; else what is under way is broken off and kept
   */
  const leave = async (key: 'q' | 's', isAsked: boolean, then: () => void): Promise<void> => {
    toBench();
    // The same key again is the answer that keeps it.
    const isLeft = bench === null || await bench.model.leave(key) || (!isAsked && await bench.model.leave(key));
    if (!isLeft && isAsked) return;
    await bench?.model.close();
    then();
  };
  /** Readings that somebody took are not thrown away. @returns whether none of an entry would be lost now */
  const keepEntry = async (): Promise<boolean> => {
    if (top?.at !== 'entry' || top.session.isEmpty || over === null) return true;
    return over.means.entry.keep(top.session, !top.session.isDone).then(() => true, () => false);
  };
  /** Keeps what was entered and ends. @param isAsked - somebody is there */
  const end = async (isAsked: boolean): Promise<void> => {
    // Where it cannot be kept the screen stays, and q there says why.
    if (!(await keepEntry()) && isAsked) return;
    await leave('q', isAsked, exit);
  };
  const quit = (): void => {
    if (top?.at === 'harness' && !top.model.mayLeave(top.app.howToKeep({ canSave: true }))) return;
    void end(true);
  };
  const endNow = async (): Promise<void> => {
    if (top?.at === 'harness' && top.model.isUnsaved) await over?.means.harnesses.save(top.model).catch(() => undefined);
    await end(false);
  };
  useAskedToEnd(asked, () => void endNow());
  const newLot = (): void => void leave('s', true, () => {
    setBench(null);
    setTrail([{ at: 'new lot' }]);
  });
  const go = (way: Way): void => {
    switch (way) {
      case 'new lot': return newLot();
      case 'lot':
        return bench === null ? undefined : push((to) => ({ at: 'lot', model: new to.LotModel(to.means.pickup, bench.lot, takeBack) }));
      case 'stock': return push((to) => ({ at: 'stock', model: new to.StockModel(to.means.pickup.desk, isVirtual) }));
      case 'entry': return enterByMeters();
      case 'harnesses': return harnesses(null);
      case 'settings': return push((to) => ({ at: 'settings', model: new to.SettingsModel(to.means.settings) }));
      case 'pickup': {
        const kept = bench?.lot.places().find(({ place }) => place === bench.lot.standsAt());
        if (kept === undefined) bench?.model.tell('Nothing is kept of this pickup yet: test it first.');
        else open({ uid: kept.uid });
      }
    }
  };

  const screen = (help: (topic: HelpTopic) => void): JSX.Element => {
    if (top?.at === 'new lot' && opened.kind === 'tester') {
      const lay = (fresh: Bench): void => {
        setBench(means.lay(fresh, null));
        toBench();
      };
      return <NewLotApp opened={opened} start={means.form()} onBench={lay} onBack={toBench} onHelp={() => help('new lot')} />;
    }
    if (top !== undefined && top.at !== 'new lot' && over !== null) return overBench(over, top, help);
    return bench === null
      ? <HomeApp serial={opened.kind === 'tester' ? opened.serial : ''} onGo={go} onQuit={quit} onHelp={() => help('bench')} />
      : <BenchApp model={bench.model} ways={isVirtual ? VIRTUAL_WAYS : TESTER_WAYS} onGo={go} onQuit={quit} onHelp={() => help('bench')} />;
  };
  const overBench = (
    to: Over, place: Exclude<Place, { at: 'new lot' }>, help: (topic: HelpTopic) => void,
  ): JSX.Element => {
    const { StockApp, LotApp, PickupApp, EntryApp, HarnessListApp, SettingsApp } = to;
    switch (place.at) {
      case 'lot': {
        const { model } = place;
        const lay = (at: number): void => void bench?.model.lay(at).then((lies) => (lies ? toBench() : model.tellUnderWay()));
        return <LotApp model={model} onLay={lay} onOpen={open} onBack={back} onHelp={() => help('lot')} />;
      }
      case 'stock':
        return <StockApp model={place.model} onOpen={open} onBack={back} onHelp={() => help('stock')} />;
      case 'pickup': {
        const { model } = place;
        const fit = (): void => harnesses(model.tested());
        return <PickupApp key={trail.length} model={model} onOpen={open} onHarness={fit} onBack={back} onHelp={() => help('pickup')} />;
      }
      case 'entry':
        return <EntryApp session={place.session} onEnd={() => endEntry(to, place.session)} onHelp={() => help('entry')} />;
      case 'harnesses': {
        const fit = async (model: FittingModel): Promise<void> => {
          const app = await import('./fitting-app.tsx');
          push(() => ({ at: 'harness', model, app }));
        };
        return <HarnessListApp model={place.model} onOpen={(model) => void fit(model)} onBack={back} onHelp={() => help('harnesses')} />;
      }
      case 'harness': {
        const { FittingApp } = place.app;
        const saving = { canSave: true, save: () => to.means.harnesses.save(place.model) };
        return <FittingApp model={place.model} saving={saving} onBack={back} onHelp={() => help('harness')} />;
      }
      case 'settings':
        return <SettingsApp model={place.model} onBack={back} onHelp={() => help('settings')} />;
    }
  };
  return <Program onQuit={quit}>{screen}</Program>;
}

const VIRTUAL_WAYS: readonly Way[] = ['lot', 'stock', 'pickup', 'entry', 'harnesses', 'settings'];
const TESTER_WAYS: readonly Way[] = ['new lot', ...VIRTUAL_WAYS];

/** A pickup that lies on the bench may have got another number on a screen over it. What cannot be read keeps the one that was shown. */
async function lookAtNumber({ model, lot }: OnBench, { numberNow, means: { pickup: { desk } } }: Over): Promise<void> {
  const place = lot.standsAt();
  const kept = lot.places().find((one) => one.place === place);
  if (kept === undefined) return;
  const number = await numberNow([desk, desk.own], kept.uid).catch(() => null);
  if (number !== null) model.renumber(place, number);
}

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
