/** What the program itself does at a step of the schema, in both databases. */
import { tellDoubts } from './doubts.ts';
import { takeOlderTests } from './older-tests.ts';
import type { Move } from './schema.ts';
import type { Dialect, Steps } from './work.ts';

const MOVES: Readonly<Record<Move, (dialect: Dialect) => Steps<void>>> = { 'older tests': takeOlderTests, doubts: tellDoubts };

/** All that these steps ask for. It is written for the newest tables, so the statements of every step come before it. */
export function* moveAll(steps: readonly { readonly moves?: Move }[], dialect: Dialect): Steps<void> {
  for (const { moves } of steps) if (moves !== undefined) yield* MOVES[moves](dialect);
}
