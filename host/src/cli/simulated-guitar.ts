/** The guitar on the virtual bench that a harness and the options of a command make, for `rehearse` and `proof`. */
import { guitarOf } from '../bench/guitar-of.ts';
import { describe } from '../files/field-walk.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { asPickup } from '../pickup/pickup-file.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { wiredOf } from '../proof/wired.ts';
import { printable } from '../text/printable.ts';
import type { GuitarPlan } from '../virtual-bench/guitar.ts';
import { GUITAR_FAULTS, putFault } from '../virtual-bench/guitar-faults.ts';
import { RandomStream } from '../virtual-bench/random.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import type { OptionSpec } from './options.ts';
import { readOne } from './read-one.ts';

/** What is said of the guitar. */
export const GUITAR_SPECS: readonly OptionSpec[] = [{ name: '--pickup', value: 'SLOT=FILE.pickup.json', repeats: true }, { name: '--fault' }, { name: '--blind' }];

/** How a guitar is simulated. */
export interface GuitarOptions {
  readonly seed: number;
  /** `SLOT=FILE` of pickups that stand in for those that the wire maps make up. */
  readonly pickups: readonly string[];
  /** Whether one thing is to be soldered wrong. */
  readonly withFault: boolean;
  /** Whether it is told as if nobody knew what is fitted. */
  readonly isBlind: boolean;
}

export interface SimulatedGuitar {
  readonly plan: GuitarPlan;
  /** What is known of it: the harness, as if nothing were fitted where it is told so. */
  readonly known: LoadedHarness;
  /** What was soldered wrong, in words; null for nothing. */
  readonly fault: string | null;
}

/** @param command - for messages @param path - of the harness @throws UserError in one sentence */
export async function simulatedGuitar(
  command: string, loaded: LoadedHarness, path: string, options: GuitarOptions,
): Promise<SimulatedGuitar> {
  const { seed, pickups, withFault, isBlind } = options;
  const behind = await pickupsBehind(command, loaded, pickups);
  if (loaded.pickups.length === 0)
    throw new UserError(`${printable(path)}: fitted: an empty list; expected at least one pickup to rehearse`, EXIT.badContent);
  const sound = guitarOf(wiredOf(loaded), behind, new RandomStream(seed, 'guitar'));
  const fault = withFault ? drawFault(sound, seed) : null;
  const known = isBlind ? { harness: { ...loaded.harness, fitted: [] }, pickups: [] } : loaded;
  return { plan: fault?.plan ?? sound, known, fault: fault === null ? null : printable(fault.text) };
}

/** Pickups by slot, read from their files. @throws UserError (64) for a slot that is not fitted, or is named twice */
async function pickupsBehind(command: string, { pickups }: LoadedHarness, named: readonly string[]): Promise<Map<string, Pickup>> {
  const slots = pickups.map(({ slot }) => slot.slot);
  const behind = new Map<string, Pickup>();
  for (const text of named) {
    const slot = slots.find((one) => text.startsWith(`${one}=`));
    if (slot === undefined)
      throw new UserError(`${command}: --pickup ${describe(text)} names no fitted slot; expected SLOT=FILE with one of ${slots.join(', ')}`, EXIT.usage);
    if (behind.has(slot)) throw new UserError(`${command}: --pickup names ${printable(slot)} twice; expected one pickup in each slot`, EXIT.usage);
    const file = text.slice(slot.length + 1);
    if (file === '') throw new UserError(`${command}: --pickup ${describe(text)} names no file; expected SLOT=FILE`, EXIT.usage);
    behind.set(slot, await readOne(file, (document) => asPickup(document, () => {})));
  }
  return behind;
}

function drawFault(plan: GuitarPlan, seed: number) {
  const random = new RandomStream(seed, 'fault');
  for (;;) {
    const fault = putFault(plan, GUITAR_FAULTS[random.below(GUITAR_FAULTS.length)]!, random);
    if (fault !== null) return fault;
  }
}
