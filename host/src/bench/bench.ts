/** Where pickups come from: an attached tester, or the virtual bench with a lot. The screen sees this and no more. */
import type { BenchSetup } from '../evidence/collect.ts';
import type { Transport, VirtualHands } from '../transport/transport.ts';
import { demoLot } from '../virtual-bench/demo-lot.ts';
import { placesOf } from '../virtual-bench/person.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { makeTwin, type TwinKind } from './twins.ts';

/** A pickup on the clips, ready for the button. */
export type BenchItem = {
  readonly title: string;
  readonly setup: BenchSetup;
  /** A connection for one test, not yet opened. */
  connect(): Promise<Transport & Partial<VirtualHands>>;
};

export type Bench = {
  /** `virtual bench` or `tester`, for the head of the screen. */
  readonly source: string;
  readonly isVirtual: boolean;
  /** Pickups in the lot; 0 when nobody knows. */
  readonly count: number;
  /** There is none behind the last: on the virtual bench; whoever counts pickups on a table may miscount. */
  readonly isClosed: boolean;
  /** By what the lot is known again after a restart: its name, and what the person said of it. */
  readonly lot: { readonly name: string; readonly setup: string };
  item(index: number): BenchItem;
};

/** What a person sees of a pickup's leads, and what its places are called. */
export function setupOf(pickup: Pickup): BenchSetup {
  return { clips: pickup.leads.map(({ clip, colour }) => ({ clip, colour })), places: placesOf(pickup) };
}

/**
 * The virtual bench with a lot of pickups.
 * @param seed - decides noise and hands; the pickup's number in the lot is added
 * @param elapsed_ms - real clock that paces the bench; left out: as fast as it goes
 * @param automatic - the simulated person acts by itself; otherwise keys stand for the hand
 */
export function virtualBench(options: {
  readonly seed: number; readonly twin?: TwinKind; readonly elapsed_ms?: () => number;
  readonly automatic?: boolean; readonly lot?: readonly Pickup[];
}): Bench {
  const lot = options.lot ?? demoLot;
  return {
    source: 'virtual bench',
    isVirtual: true,
    count: lot.length,
    isClosed: true,
    lot: { name: 'invented lot', setup: JSON.stringify(lot.map(({ title }) => title ?? '')) },
    item(index) {
      const pickup = lot[index % lot.length];
      return {
        title: pickup.title ?? `pickup ${index + 1}`,
        setup: setupOf(pickup),
        connect: () => makeTwin(options.twin ?? 'board', {
          pickup, seed: options.seed + index, automatic: options.automatic ?? false,
          ...(options.elapsed_ms === undefined ? {} : { elapsed_ms: options.elapsed_ms }),
        }),
      };
    },
  };
}

/** An attached tester; every pickup of the lot has the same set-up. @param count - how many there are, 0 when nobody has counted */
export function testerBench(connect: () => Promise<Transport>, setup: BenchSetup, name = '', count = 0): Bench {
  return {
    lot: { name, setup: JSON.stringify(setup) },
    source: 'tester',
    isVirtual: false,
    count,
    isClosed: false,
    item: (index) => ({ title: `pickup ${index + 1} of this lot`, setup, connect }),
  };
}
