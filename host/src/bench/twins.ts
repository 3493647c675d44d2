/** The two testers that are simulated, by the names that a user gives them. */
import { TransportError, type Transport, type VirtualHands } from '../transport/transport.ts';
import { BoardTwin, type BoardTwinOptions } from '../virtual-bench/board-twin.ts';

export const TWINS = ['board', 'chip'] as const;
export type TwinKind = (typeof TWINS)[number];

/**
 * A twin with its pickup on the clips, not yet opened.
 * @throws TransportError when the firmware image is not there
 */
export async function makeTwin(
  kind: TwinKind, options: Pick<BoardTwinOptions, 'pickup' | 'seed' | 'automatic' | 'elapsed_ms' | 'calibration'>,
): Promise<Transport & VirtualHands> {
  if (kind === 'board') return new BoardTwin(options);
  // Loaded only when asked for: the emulator is large, and an installation without the firmware image works on.
  const { createChipTwin } = await import('../chip-twin/index.ts');
  try {
    return createChipTwin(options);
  } catch (error) {
    throw new TransportError(`--twin chip: ${error instanceof Error ? error.message : String(error)}`);
  }
}
