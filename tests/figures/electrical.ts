/** Simulated time of the electrical part of a test, against the sum of the converter's own conversion times. */
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { Light, Rate } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { conversion_s } from '../../host/src/virtual-bench/converter.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { inventPickup, placesInOrder, type Family } from '../lots/generator.ts';

/** What is clipped on for each number of clips. */
const FAMILIES: readonly Family[] = [
  'single',
  'pair, link brought out',
  'pair, four leads',
  'pair, one tap',
  'three coils, six leads',
];

/** From the press until listening for steel begins, and what the converter itself needs of that. */
export interface ElectricalTime {
  readonly clips: number;
  readonly total_s: number;
  readonly floor_s: number;
  readonly conversions: number;
}

/** Times the electrical part on the board twin. */
export async function electricalTime(pickup: Pickup, seed: number): Promise<ElectricalTime> {
  let begun_s = 0;
  let asked_s = Number.NaN;
  let floor_s = 0;
  let conversions = 0;
  const twin = new BoardTwin({
    pickup,
    seed,
    onCommand: (command, value, time_s) => {
      if (!Number.isNaN(asked_s)) return;
      if (command === 'light' && conversions === 0) begun_s = time_s;
      if (command === 'convert') {
        conversions += 1;
        floor_s += conversion_s(value >>> 8);
      } else if (command === 'listen' || (command === 'light' && conversions > 0 && ENDS.has(value & 255))) {
        asked_s = time_s;
      }
    },
  });
  const setup = {
    clips: pickup.leads.map(({ clip, colour }) => ({ clip, colour })),
    places: placesInOrder(pickup.coils),
  };
  try {
    await new BenchTest(twin, { setup, logic: createLogic() }).run();
  } finally {
    await twin.close();
  }
  return { clips: pickup.leads.length, total_s: asked_s - begun_s, floor_s, conversions };
}

/** Lights that end the electrical part where nothing is listened to. */
const ENDS: ReadonlySet<number> = new Set([
  Light.magnet,
  Light.good,
  Light.fault,
  Light.unsure,
]);

/** A sound pickup with exactly this many leads, each of them connected: the first of a lot that fits. */
export function soundWith(clips: number, seed: number): Pickup {
  for (let number = 0; ; number++) {
    const { family, pickup } = inventPickup(seed, number, { health: 'sound' });
    if (family === FAMILIES[clips - 2] && pickup.leads.length === clips && pickup.leads.every(({ node }) => node !== null)) return pickup;
  }
}

/** Prints a line for 2 to 6 clips. */
export async function print(): Promise<void> {
  process.stdout.write(
    `electrical part on the board twin, a precise conversion takes ${conversion_s(Rate.precise) * 1000} ms (aim: at most 1.5 times the floor)\n`,
  );
  for (let clips = 2; clips <= 6; clips++) {
    const { total_s, floor_s, conversions } = await electricalTime(soundWith(clips, 1), 1);
    process.stdout.write(
      `  ${clips} clips: ${total_s.toFixed(2)} s, ${conversions} conversions, floor ${floor_s.toFixed(2)} s, ratio ${(total_s / floor_s).toFixed(2)}\n`,
    );
  }
}
