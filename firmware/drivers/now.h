/** The time: microseconds since the start, modulo 2^32. */
#pragma once
#include <stdint.h>
#include "../registers/timer.h"

/** Microseconds since the start, modulo 2^32: compare by difference only. */
static inline uint32_t timer_now_us(void) { return TIMER->timerawl; }
