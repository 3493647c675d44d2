/** A worker thread that solves a share of a lot of records. */
import { parentPort } from 'node:worker_threads';
import { createLogic } from '../../host/src/logic/module.ts';
import type { Share } from './pool.ts';
import { tallyRecords, type RecordLot } from './record-lot.ts';

const logic = createLogic();
parentPort!.on('message', ({ lot, from, to }: Share<RecordLot>) => {
  parentPort!.postMessage(tallyRecords(logic, lot, from, to));
});
