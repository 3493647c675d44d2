/** A whole test of a pickup on the chip twin, and what differs between the chip and the host afterwards. */
import { setupOf } from '../../host/src/bench/bench.ts';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { EVIDENCE, EVIDENCE_bytes, RESULT, RESULT_bytes } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

/** @returns one line for each difference; none when all bytes are equal and the chip had nothing to complain of */
export async function compareOnChip(pickup: Pickup, seed: number, image: string): Promise<string[]> {
  const twin = new ChipTwin({ pickup, seed, image });
  const logic = createLogic();
  try {
    const outcome = await new BenchTest(twin, { setup: setupOf(pickup), logic }).run();
    const lines = [...outcome.differences, ...twin.machine.complaints, ...twin.machine.chip.complaints];
    const { memory } = twin;
    const compare = (what: string, at: number, bytes: number): void => {
      for (let i = 0; i < bytes; i++) {
        const [chip, host] = [memory.getUint8(at + i), logic.bytes[at + i]];
        if (chip === host) continue;
        lines.push(`${what} differs from byte ${i} on: ${chip} on the chip, ${host} in the host`);
        return;
      }
    };
    compare('evidence', EVIDENCE, EVIDENCE_bytes);
    compare('result', RESULT, RESULT_bytes);
    return lines;
  } finally {
    await twin.close();
  }
}
