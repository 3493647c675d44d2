/** The ways out when something is broken. Callable from everywhere, interrupts too. */
#pragma once
#include <stdint.h>
#include "drivers/watchdog.h"

/** Current off, switches off, fault light. */
void failsafe_off(void);

/** The same, and a restart with the reason told. */
_Noreturn void failsafe_restart(enum reset_reason reason, uint32_t detail);
