/**
 * Both signs of a step that is sensed in another coil lie a whole number of periods of 50 and 60 Hz apart, on either twin: only
 * then does hum drop out of their difference (physics.md 5: step both ways and subtract).
 */
import { afterEach, describe, expect, it } from 'vitest';
import { setupOf } from '../../host/src/bench/bench.ts';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { Transport } from '../../host/src/transport/transport.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { productImage } from '../chip/images.ts';

/** Nibbles of the switch word: sensing port's plus, drive, return; and what they are set to. */
const nibble = (word: number, at: number): number => (word >>> (4 * at)) & 15;
const [SENSE, DRIVE, RETURN] = [2, 6, 7];
const SENSE_REFERENCE = 14;
const DRIVE_ZERO = 11;
const RETURN_REFERENCE = 8;
const RETURN_BLEED = 11;
/** Five periods of 50 Hz, six of 60 Hz. */
const APART_s = 0.1;
/** A shift of 1 ms leaves sin(pi 60 Hz 1 ms) = 19 % of the hum. */
const SHIFT_most_s = 0.001;

const [pickup] = demoLot;
let twin: Transport | null = null;

afterEach(async () => {
  await twin?.close();
  twin = null;
});

/** Seconds between the two signs of the first sensed step. */
function spacing(make: (onCommand: (command: string, value: number, time_s: number) => void) => Transport): Promise<number> {
  return new Promise((resolve, reject) => {
    const seen = new Map<number, number>();
    let looked = false;
    twin = make((command, word, time_s) => {
      if (command !== 'switches' || nibble(word, DRIVE) !== DRIVE_ZERO) return;
      if (nibble(word, RETURN) === RETURN_BLEED) looked = true;
      if (!looked || nibble(word, RETURN) !== RETURN_REFERENCE || nibble(word, SENSE) === SENSE_REFERENCE) return;
      // From the look on to the rest from which a step starts.
      looked = false;
      const first_s = seen.get(word);
      if (first_s === undefined) seen.set(word, time_s);
      else resolve(time_s - first_s);
    });
    new BenchTest(twin, { setup: setupOf(pickup), logic: createLogic() }).run().then(
      () => reject(new Error('the test ended without a sensed step')), reject);
  });
}

describe('the two signs of a sensed step', () => {
  it('come 100 ms apart on the board twin', async () => {
    const apart_s = await spacing((onCommand) => new BoardTwin({ pickup, seed: 3, onCommand }));
    expect(Math.abs(apart_s - APART_s)).toBeLessThan(SHIFT_most_s);
  });
  it('and on the chip, which has to compute in between', async () => {
    const apart_s = await spacing((onCommand) => new ChipTwin({ pickup, seed: 3, image: productImage(), onCommand }));
    expect(Math.abs(apart_s - APART_s)).toBeLessThan(SHIFT_most_s);
  }, 60_000);
});
