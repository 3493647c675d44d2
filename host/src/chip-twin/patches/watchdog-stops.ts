/**
 * rp2040js 1.4.1: the watchdog's alarm fires again and again at the same moment unless its handler stops
 * it, so that the clock never moves on. On silicon the chip is in reset by then.
 */
import type { RP2040 } from 'rp2040js';

export const WATCHDOG_PAGE = 0x40058;

/** What the restart hands over: the cause and the scratch registers. */
export type WatchdogState = { reason: number; scratchData: Uint32Array };
type Insides = WatchdogState & { onWatchdogTrigger: () => void; alarm: { enable: boolean } };

export function patchWatchdogStops(chip: RP2040, onBite: () => void): WatchdogState {
  const watchdog = chip.peripherals[WATCHDOG_PAGE] as unknown as Insides;
  watchdog.onWatchdogTrigger = () => {
    watchdog.alarm.enable = false;
    onBite();
  };
  return watchdog;
}
