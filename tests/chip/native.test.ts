/** The module once more, as C by the machine's own gcc: its solve() gives the bytes that V8 gives, so that neither compiler is trusted alone. */
import { expect, it } from 'vitest';
import { EVIDENCE_bytes } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { solveInNode, solveNatively } from '../figures/native-solve.ts';
import { randomEvidence } from './random-evidence.ts';

const BLOCKS = 60;

it('solves random evidence to the same bytes as gcc -O3 and as V8', { timeout: 120_000 }, () => {
  const logic = createLogic();
  const chance = new RandomStream(20, 'native');
  const blocks = new Uint8Array(BLOCKS * EVIDENCE_bytes);
  for (let i = 0; i < BLOCKS; i++) blocks.set(randomEvidence(logic, chance, i), i * EVIDENCE_bytes);
  const one = blocks.subarray(0, EVIDENCE_bytes);
  const [here, native] = [solveInNode(blocks), solveNatively(blocks)];
  expect(native.hash.toString(16)).toBe(here.hash.toString(16));
  expect(solveInNode(one).hash, 'a hash that all blocks share tells nothing').not.toBe(here.hash);
});
