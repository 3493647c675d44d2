/** One pickup of a lot through a record that no tester took. */
import type { Logic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { inventPickup, type LotOptions, type LotPickup } from './generator.ts';
import { judge, type Judgement } from './judge.ts';
import { solveRecord } from './solve-record.ts';
import { STYLES, writeRecord, type Style, type SyntheticRecord } from './synthetic-record.ts';
import { addTo, emptyTally, type Tally } from './tally.ts';
import { truthOf, type Truth } from './truth.ts';

/** A lot of records. */
export interface RecordLot extends LotOptions {
  readonly seed: number;
  /** Of all records; when left out each style in turn. */
  readonly style?: Style;
  /** Touches for each place. */
  readonly asks?: number;
}

export interface SolvedRecord extends SyntheticRecord {
  readonly one: LotPickup;
  readonly truth: Truth;
  readonly style: Style;
  readonly map: WireMap;
  readonly judged: Judgement;
}

/** Draws, notes down and solves pickup `number`. */
export function solveOne(logic: Logic, lot: RecordLot, number: number): SolvedRecord {
  const one = inventPickup(lot.seed, number, lot);
  const truth = truthOf(one.pickup);
  const style = lot.style ?? STYLES[number % STYLES.length]!;
  const written = writeRecord(one, truth, style, lot.seed, lot.asks);
  const map = solveRecord(logic, written.record);
  return { ...written, one, truth, style, map, judged: judge(one, truth, map, written.expected) };
}

/** Solves pickups `from` to `to`, the last one not included. */
export function tallyRecords(logic: Logic, lot: RecordLot, from: number, to: number): Tally {
  const tally = emptyTally();
  for (let number = from; number < to; number++) {
    const { one, judged, style } = solveOne(logic, lot, number);
    addTo(tally, one, judged, style);
  }
  return tally;
}
