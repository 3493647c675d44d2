/** The chip twin, shaped like the board twin. Loaded only when it is asked for: the emulator is large. */
import { ChipTwin, type ChipTwinOptions } from './chip-twin.ts';

export { ChipTwin };
export type { ChipTwinOptions };
export { Machine } from './machine.ts';
export { readImage } from './image.ts';

/** A new chip twin with its pickup on the clips. @throws Error with the sentence that mends it */
export function createChipTwin(options: ChipTwinOptions): ChipTwin {
  return new ChipTwin(options);
}
