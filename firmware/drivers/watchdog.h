/** Watchdog, and what is told across a restart. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

/** Why the board started; the numbers of `Board.resetReason` in shared-logic/assembly/layout.ts. */
enum reset_reason { RESET_POWER, RESET_WATCHDOG, RESET_TRAP, RESET_HARD_FAULT, RESET_STACK, RESET_BROWN_OUT };

/** Longest time that one event of the logic may take: the analysis of a long touch on six leads has taken 1.6 s. */
#define WATCHDOG_PERIOD_us 4000000u

/** Decides why we started; once, before anything else is written. @param stack_was_overrun - by the last run */
enum reset_reason watchdog_read_reason(bool stack_was_overrun);

/** Starts the 1 us tick (the timer needs it too) and the watchdog. */
void watchdog_start(void);

/** Called by the main loop, and by nothing else. */
void watchdog_feed(void);

/** Leaves a reason for the next start, then restarts after `delay_us`. Never returns. */
_Noreturn void watchdog_restart(enum reset_reason reason, uint32_t detail, uint32_t delay_us);
