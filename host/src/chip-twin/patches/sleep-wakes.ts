/**
 * rp2040js 1.4.1: an interrupt that was pending before WFE or WFI, but not yet taken, does not end the
 * sleep. The run loop asks here each time the core sleeps.
 */
import type { RP2040 } from 'rp2040js';

/** Ends a sleep that an interrupt is owed for. @returns whether the core goes on */
export function wakeIfOwed(chip: RP2040): boolean {
  const { core } = chip;
  const pending = core.pendingInterrupts & core.enabledInterrupts;
  if (pending === 0 && !core.pendingPendSV && !core.pendingSystick) return false;
  core.interruptsUpdated = true;
  core.waiting = false;
  return true;
}
