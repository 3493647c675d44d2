#include "failsafe.h"
#include "drivers/converter.h"
#include "drivers/panel.h"
#include "drivers/switches.h"

/** How long the fault light shows before the restart. */
#define FAULT_LIGHT_us 1500000u

void failsafe_off(void) {
  converter_kill();
  switches_kill();
  panel_fault_light();
}

_Noreturn void failsafe_restart(enum reset_reason reason, uint32_t detail) {
  failsafe_off();
  watchdog_restart(reason, detail, FAULT_LIGHT_us);
}
