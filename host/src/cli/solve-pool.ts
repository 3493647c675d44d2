/** Spreads batches over worker threads and hands results back in order; a small input never starts one. */
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { records, type Batch } from '../files/json-source.ts';
import type { Logic } from '../logic/module.ts';
import {
  recordName,
  refusedRecord,
  solveBatch,
  type Solved,
  type SolveStyle,
} from './solve-batch.ts';
import type { Answer, Task } from './solve-worker.ts';

/** Input that is solved on the main thread before the first worker is started, bytes: starting one costs as much. */
const ALONE_bytes = 4 << 20;
/** Bytes that may be on their way at a time, beside one batch for each worker. */
const ON_THE_WAY_bytes = 32 << 20;
/** Memory of one worker, MiB: a record at the limit of size fits, one made to burst it is refused. */
const WORKER_HEAP_MiB = 2048;

/** Where the worker's code lies: beside this file, as source or as part of the bundle. */
const WORKER = new URL(
  import.meta.url.endsWith('.ts') ? './solve-worker.ts' : './solve-worker.js',
  import.meta.url,
);

const TOO_MUCH = 'reading this takes more memory than there is; expected a record';

interface Seat {
  readonly worker: Worker;
  answer: ((answer: Answer | 'lost') => void) | null;
}

function sum(a: Solved, b: Solved): Solved {
  return {
    out: a.out + b.out, err: a.err + b.err,
    solved: a.solved + b.solved, refused: a.refused + b.refused, faults: a.faults + b.faults,
  };
}

export class SolvePool {
  private readonly logic: Logic;
  private readonly style: SolveStyle;
  private readonly size: number;
  private readonly seats: Seat[] = [];
  private readonly idle: Seat[] = [];
  private readonly waiting: ((seat: Seat) => void)[] = [];
  private seen_bytes = 0;
  private onTheWay_bytes = 0;
  private drained: (() => void) | null = null;

  /** @param logic - for what is solved on this thread @param size - workers at most; all cores when left out */
  constructor(logic: Logic, style: SolveStyle, size = availableParallelism()) {
    this.logic = logic;
    this.style = style;
    this.size = Math.max(1, size);
  }

  /** Solves a batch, now or later.
   * @returns a promise of its result, to be awaited in order; the call itself waits while too much is on its way
   */
  async take(source: string, batch: Batch): Promise<{ result: Promise<Solved> }> {
    this.seen_bytes += batch.bytes.length;
    if (this.seen_bytes <= ALONE_bytes) {
      return { result: Promise.resolve(solveBatch(this.logic, source, batch, this.style)) };
    }
    while (this.onTheWay_bytes > ON_THE_WAY_bytes)
      await new Promise<void>((resolve) => (this.drained = resolve));
    this.onTheWay_bytes += batch.bytes.length;
    return { result: this.away(source, batch) };
  }

  private async away(source: string, batch: Batch): Promise<Solved> {
    try {
      return (await this.inWorker(source, batch)) ?? (await this.oneByOne(source, batch));
    } finally {
      this.onTheWay_bytes -= batch.bytes.length;
      this.drained?.();
    }
  }

  /** @returns null when the worker ran out of memory and is gone */
  private async inWorker(source: string, batch: Batch): Promise<Solved | null> {
    const seat = await this.seat();
    const answer = await this.ask(seat, source, batch);
    if (answer === 'lost') {
      this.seats.splice(this.seats.indexOf(seat), 1);
      this.waiting.shift()?.(this.hire());
      return null;
    }
    this.free(seat);
    if ('fault' in answer) throw new Error(answer.fault);
    return answer.solved;
  }

  /** A batch that was too much for a worker: only the record that is too much by itself is refused. */
  private async oneByOne(source: string, batch: Batch): Promise<Solved> {
    const all = [...records(batch)];
    let total: Solved = { out: '', err: '', solved: 0, refused: 0, faults: 0 };
    for (const { bytes, line } of all) {
      const alone = all.length > 1 ? await this.inWorker(source, { kind: 'batch', bytes, firstLine: line }) : null;
      total = sum(total, alone ?? refusedRecord(recordName(source, line), TOO_MUCH, this.style));
    }
    return total;
  }

  private ask(seat: Seat, source: string, batch: Batch): Promise<Answer | 'lost'> {
    // A copy with a buffer of its own, which changes hands without another copy (a Buffer's slice would be a view).
    const bytes = new Uint8Array(batch.bytes);
    const task: Task = { source, bytes, firstLine: batch.firstLine, style: this.style };
    return new Promise((resolve) => {
      seat.answer = resolve;
      seat.worker.postMessage(task, [bytes.buffer]);
    });
  }

  private seat(): Promise<Seat> {
    const free = this.idle.pop();
    if (free !== undefined) return Promise.resolve(free);
    if (this.seats.length < this.size) return Promise.resolve(this.hire());
    return new Promise((resolve) => this.waiting.push(resolve));
  }

  private hire(): Seat {
    const worker = new Worker(WORKER, {
      resourceLimits: { maxOldGenerationSizeMb: WORKER_HEAP_MiB },
    });
    const seat: Seat = { worker, answer: null };
    worker.on('message', (answer: Answer) => seat.answer?.(answer));
    worker.on('error', (error: NodeJS.ErrnoException) => {
      seat.answer?.(
        error.code === 'ERR_WORKER_OUT_OF_MEMORY'
          ? 'lost'
          : { fault: `${error.name}: ${error.message}` },
      );
    });
    this.seats.push(seat);
    return seat;
  }

  private free(seat: Seat): void {
    const next = this.waiting.shift();
    if (next === undefined) this.idle.push(seat);
    else next(seat);
  }

  /** Ends all workers. */
  async close(): Promise<void> {
    await Promise.all(this.seats.map(({ worker }) => worker.terminate()));
  }
}
