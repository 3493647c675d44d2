/** A worker thread that tests a share of a lot on the board twin, or solves it from records. */
import { parentPort } from 'node:worker_threads';
import { createLogic } from '../../host/src/logic/module.ts';
import type { Share } from '../lots/pool.ts';
import { judge } from '../lots/judge.ts';
import { solveOne } from '../lots/record-lot.ts';
import { addTo, emptyTally, type Tally } from '../lots/tally.ts';
import { tallyTwin, type TwinLot } from '../lots/twin-lot.ts';
import type { LotPickup } from '../lots/generator.ts';
import type { TrueCoil } from '../lots/truth.ts';
import { keepFailure } from './keep.ts';
import { addLimits, emptyLimits, matchedD, ownTouch } from './limits.ts';

/** A lot and how it is run. */
export interface FigureLot extends TwinLot {
  readonly way: 'twin' | 'records';
  /** Write what fails under tests/found/. */
  readonly keep: boolean;
}

/** Faintest touch of which a sign is expected. */
const GIVEN_FROM_d = 8;

const logic = createLogic();

/** Whether a stretch's own touch has a matched-filter d of 8 or more. */
function strongEnough(one: LotPickup, coil: TrueCoil): boolean {
  const own = ownTouch(one, coil);
  return (
    own !== null &&
    matchedD(own.flux_Wb, own.touch.rise_s, one.pickup.interference.noise_V) >= GIVEN_FROM_d
  );
}

function addSums(tally: Tally, sums: Readonly<Record<string, number>>): void {
  for (const [name, value] of Object.entries(sums))
    tally.sums[name] = (tally.sums[name] ?? 0) + value;
}

async function tallyShare(lot: FigureLot, from: number, to: number): Promise<Tally> {
  const hands = lot.hands ?? 'usual';
  const signOf = hands === 'usual' ? undefined : strongEnough;
  if (lot.way === 'twin') {
    return tallyTwin(
      lot,
      from,
      to,
      (tested, tally) => {
        const limits = emptyLimits();
        addLimits(limits, tested.one, tested.truth, lot.seed);
        addSums(tally, { ...limits });
        if (lot.keep && tested.judged.disagreements.length > 0)
          keepFailure(tested.one, lot.seed, tested.judged);
      },
      signOf,
    );
  }
  const tally = emptyTally();
  for (let number = from; number < to; number++) {
    const solved = solveOne(logic, { ...lot, style: 'full', asks: 1 }, number);
    const { one, truth, map, expected } = solved;
    const judged =
      signOf === undefined
        ? solved.judged
        : judge(one, truth, map, {
            ...expected,
            signs: hands === 'barely',
            signOf: (coil) => signOf(one, coil),
          });
    addTo(tally, one, judged, 'record');
    const limits = emptyLimits();
    addLimits(limits, one, truth, lot.seed);
    addSums(tally, { ...limits });
  }
  return tally;
}

parentPort!.on('message', ({ lot, from, to }: Share<FigureLot>) => {
  void tallyShare(lot, from, to).then((tally) => parentPort!.postMessage(tally));
});
