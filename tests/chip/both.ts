/** One evidence block, solved on the emulated chip and in Node.js; a trap must be one on both. */
import { EVIDENCE, RESULT, RESULT_bytes } from '../../host/src/logic/layout.generated.ts';
import type { Machine } from '../../host/src/chip-twin/machine.ts';
import type { Logic } from '../../host/src/logic/module.ts';
import { solveOnChip } from './call.ts';

export function solveBoth(machine: Machine, logic: Logic, evidence: Uint8Array): { chip: Buffer; host: Buffer; cycles: number } {
  const { memory } = machine;
  const onChip = new Uint8Array(memory.buffer, memory.byteOffset, memory.byteLength);
  // Whatever was there before must not matter: each side starts from other rubbish.
  onChip.fill(0x5a, RESULT, RESULT + RESULT_bytes);
  logic.bytes.fill(0xa5, RESULT, RESULT + RESULT_bytes);
  onChip.set(evidence, EVIDENCE);
  logic.bytes.set(evidence, EVIDENCE);
  const { cycles, trapped } = solveOnChip(machine);
  let hostTrapped = false;
  try {
    logic.calls.solve();
  } catch (trap) {
    if (!(trap instanceof WebAssembly.RuntimeError)) throw trap;
    hostTrapped = true;
  }
  const part = (bytes: Uint8Array, trap: boolean): Buffer => {
    return trap ? Buffer.from('trap') : Buffer.from(bytes.subarray(RESULT, RESULT + RESULT_bytes));
  };
  return { chip: part(onChip, trapped), host: part(logic.bytes, hostTrapped), cycles };
}
