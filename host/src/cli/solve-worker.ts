/** A worker thread that solves batches. */
import { parentPort } from 'node:worker_threads';
import { createLogic } from '../logic/module.ts';
import { solveBatch, type Solved, type SolveStyle } from './solve-batch.ts';

/** A batch on its way to a worker. */
export interface Task {
  readonly source: string;
  readonly bytes: Uint8Array;
  readonly firstLine: number | null;
  readonly style: SolveStyle;
}

/** What comes back: the result, or the message of a fault of the program. */
export type Answer = { readonly solved: Solved } | { readonly fault: string };

const logic = createLogic();
parentPort?.on('message', ({ source, bytes, firstLine, style }: Task) => {
  let answer: Answer;
  try {
    answer = { solved: solveBatch(logic, source, { kind: 'batch', bytes, firstLine }, style) };
  } catch (error) {
    answer = { fault: error instanceof Error ? `${error.name}: ${error.message}` : String(error) };
  }
  parentPort?.postMessage(answer);
});
