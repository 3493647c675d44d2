/** One pickup of a lot through a whole test on the board twin: button, guard, readings, hands, magnet, wire map. */
import { BenchTest, type TestOutcome } from '../../host/src/evidence/run-test.ts';
import { createLogic, type Logic } from '../../host/src/logic/module.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { inventPickup, placesInOrder, type LotOptions, type LotPickup } from './generator.ts';
import { judge, type Judgement } from './judge.ts';
import { addTo, emptyTally, type Tally } from './tally.ts';
import { truthOf, type TrueCoil, type Truth } from './truth.ts';

/** A lot of pickups. */
export interface TwinLot extends LotOptions {
  readonly seed: number;
}

/** How often the twin's clock is looked at, and how often it may stand still before a test counts as hung. */
const LOOK_ms = 1000;
const STILL_most = 20;

export interface TestedPickup {
  readonly one: LotPickup;
  readonly truth: Truth;
  readonly outcome: TestOutcome;
  readonly map: WireMap;
  readonly judged: Judgement;
  /** Simulated seconds from the press to the end. */
  readonly test_s: number;
}

/** Runs one whole test.
 * @throws Error when the twin stops before the test has ended
 */
export async function testOnTwin(
  pickup: Pickup,
  seed: number,
  logic: Logic,
): Promise<{ outcome: TestOutcome; test_s: number }> {
  const twin = new BoardTwin({ pickup, seed });
  const setup = {
    clips: pickup.leads.map(({ clip, colour }) => ({ clip, colour })),
    places: placesInOrder(pickup.coils),
  };
  const test = new BenchTest(twin, { setup, logic });
  let last_s = -1;
  let still = 0;
  let look: ReturnType<typeof setInterval> | undefined;
  const hung = new Promise<never>((_, reject) => {
    look = setInterval(() => {
      still = twin.time_s === last_s ? still + 1 : 0;
      last_s = twin.time_s;
      if (still >= STILL_most)
        reject(
          new Error(`the test stands still at ${last_s.toFixed(1)} s, in step ${test.state?.step}`),
        );
      else if (last_s > 1e4)
        reject(new Error(`the test has not ended after ${last_s.toFixed(0)} simulated seconds`));
    }, LOOK_ms);
  });
  try {
    const outcome = await Promise.race([test.run(), hung]);
    return { outcome, test_s: twin.time_s };
  } finally {
    clearInterval(look);
    await twin.close();
  }
}

/** Draws, tests and judges pickup `number`. @param signOf - stretches whose sign should be given; all when left out */
export async function testOne(
  logic: Logic,
  lot: TwinLot,
  number: number,
  signOf?: (one: LotPickup, coil: TrueCoil) => boolean,
): Promise<TestedPickup> {
  const one = inventPickup(lot.seed, number, lot);
  const truth = truthOf(one.pickup);
  const { outcome, test_s } = await testOnTwin(one.pickup, lot.seed + number, logic);
  const clean = one.slip === 'none';
  const judged = judge(one, truth, outcome.map, {
    signs: one.slip !== 'wrong place' && lot.hands !== 'faint',
    ...(signOf === undefined ? {} : { signOf: (coil) => signOf(one, coil) }),
    places: clean && (lot.hands ?? 'usual') === 'usual',
    poles: clean && one.pickup.magnet_readings,
    inductance: true,
    complete: clean && (lot.hands ?? 'usual') === 'usual' && one.pickup.magnet_readings,
  });
  return { one, truth, outcome, map: outcome.map, judged, test_s };
}

function add(tally: Tally, name: string, value: number): void {
  tally.sums[name] = (tally.sums[name] ?? 0) + value;
}

/** Tests pickups `from` to `to`, the last one not included. */
export async function tallyTwin(
  lot: TwinLot,
  from: number,
  to: number,
  each: (tested: TestedPickup, tally: Tally) => void = () => {},
  signOf?: (one: LotPickup, coil: TrueCoil) => boolean,
): Promise<Tally> {
  const tally = emptyTally();
  const logic = createLogic();
  for (let number = from; number < to; number++) {
    const tested = await testOne(logic, lot, number, signOf);
    addTo(tally, tested.one, tested.judged, '');
    add(tally, 'test_s', tested.test_s);
    add(tally, 'differences', tested.outcome.differences.length);
    if (tested.one.faults.length === 0 && tested.one.slip === 'none') {
      add(tally, 'soundTested', 1);
      add(tally, 'soundUnsure', tested.map.verdict === 'unsure' ? 1 : 0);
      add(tally, 'soundTouches', tested.outcome.collector.touchCount);
      add(tally, 'soundPlaces', placesInOrder(tested.one.pickup.coils).length);
    }
    each(tested, tally);
  }
  return tally;
}
