/** The logic's one wake-up, and a tick of 10 ms for the panel and time-outs. */
#pragma once
#include <stdbool.h>
#include <stdint.h>
#include "now.h"

#define TICK_us 10000u

/** Starts the tick; `on_tick` runs in the interrupt. */
void timer_start(void (*on_tick)(void));

/** Asks for one EVENT_TIME in `delay_us`; replaces an earlier request, 0 cancels it. */
void timer_wake(uint32_t delay_us);

/** @returns whether this EVENT_TIME is the one last asked for, and not one that was replaced meanwhile */
bool timer_is_current(uint32_t wake_number);

/** Sleeps; interrupts are served meanwhile. For start-up and for mending a part, 100 ms at most. */
void timer_sleep_us(uint32_t delay_us);

/** Spins for a few microseconds. */
void timer_spin_us(uint32_t delay_us);
