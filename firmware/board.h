/** The board: the module's commands and its events. */
#pragma once
#include <stdbool.h>
#include <stdint.h>
#include "drivers/events.h"
#include "drivers/watchdog.h"

/** Starts the parts and the module. @param reason - why we started, told in the identity report */
void board_start(enum reset_reason reason);

/** Hands one event to the module. */
void board_event(const struct event *event);

/** From the tick: rails, converter, panel, and a main loop that has stopped. */
void board_tick(void);

/** The main loop went round; the tick sees when it does not. */
void board_alive(void);
