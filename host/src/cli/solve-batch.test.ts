import { describe, expect, it } from 'vitest';
import { createLogic, type Logic } from '../logic/module.ts';
import { solveBatch } from './solve-batch.ts';

const GOOD =
  '{"format":"bench/1","clips":[{"clip":1},{"clip":2}],"resistances":[{"a":1,"b":2,"ohm":5000}]}';

/** The module, but its solver stops at the second record. */
function stopping(): Logic {
  const logic = createLogic();
  let solves = 0;
  const solve = (): void => {
    solves += 1;
    if (solves === 2) throw new WebAssembly.RuntimeError('unreachable');
    logic.calls.solve();
  };
  return { ...logic, calls: { ...logic.calls, solve } };
}

describe('a solver that stops at a record', () => {
  it('is told as a fault of the program, and the other records are solved', () => {
    const bytes = Buffer.from(`${GOOD}\n${GOOD}\n${GOOD}\n`);
    const style = { json: true, titled: false };
    const solved = solveBatch(stopping(), 'x.jsonl', { kind: 'batch', bytes, firstLine: 1 }, style);
    expect(solved).toMatchObject({ solved: 2, refused: 0, faults: 1 });
    expect(solved.err).toBe(
      'x.jsonl:2: the solver stopped at this record (unreachable); this is a fault of the program, please report it with the record\n',
    );
    expect(solved.out.split('\n').map((line) => line.slice(10, 19))).toEqual([
      '"wiremap/',
      '"error/1"',
      '"wiremap/',
      '',
    ]);
  });
});
