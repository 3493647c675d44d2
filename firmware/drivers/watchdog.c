#include "watchdog.h"
#include "../registers/nvic.h"
#include "../registers/watchdog.h"

#define SCRATCH_MAGIC 0
#define SCRATCH_REASON 1
#define SCRATCH_DETAIL 2
/** Says that the watchdog was ours: the boot ROM starts a new image by the watchdog as well. It uses scratch 4 to 7. */
#define SCRATCH_OURS 3
#define REASON_MAGIC 0x7a9e0001u
#define OURS_MAGIC 0x57ad0600u

/** Lies in RAM that no start-up code clears: whole after a restart, noise after the power was really gone. */
#define RUNNING_MAGIC 0x52554e21u
__attribute__((section(".kept"))) static uint32_t running[2];

#define XTAL_CYCLES_PER_us 12u

enum reset_reason watchdog_read_reason(bool stack_was_overrun) {
  const bool ram_was_kept = running[0] == RUNNING_MAGIC && running[1] == ~RUNNING_MAGIC;
  running[0] = RUNNING_MAGIC;
  running[1] = ~RUNNING_MAGIC;
  const uint32_t reason = WATCHDOG->reason;
  if (reason == 0) {
    if ((VREG_AND_CHIP_RESET->chip_reset & CHIP_RESET_HAD_POR) && ram_was_kept) return RESET_BROWN_OUT;
    return RESET_POWER;
  }
  const bool ours = WATCHDOG->scratch[SCRATCH_OURS] == OURS_MAGIC;
  const bool told = WATCHDOG->scratch[SCRATCH_MAGIC] == REASON_MAGIC;
  WATCHDOG->scratch[SCRATCH_OURS] = 0;
  WATCHDOG->scratch[SCRATCH_MAGIC] = 0;
  if (!ours) return RESET_POWER;      /* a UF2 was written, or a debugger started us: nothing of ours has failed */
  if (told) return (enum reset_reason)WATCHDOG->scratch[SCRATCH_REASON];
  if (stack_was_overrun && ram_was_kept) return RESET_STACK;
  return RESET_WATCHDOG;
}

void watchdog_start(void) {
  WATCHDOG->tick = WATCHDOG_TICK_ENABLE | XTAL_CYCLES_PER_us;
  PSM->wdsel = PSM_WDSEL_ALL_BUT_OSCILLATORS;
  WATCHDOG->scratch[SCRATCH_OURS] = OURS_MAGIC;
  WATCHDOG->load = WATCHDOG_PERIOD_us * WATCHDOG_COUNTS_PER_us;
  WATCHDOG->ctrl = WATCHDOG_CTRL_ENABLE;
}

void watchdog_feed(void) { WATCHDOG->load = WATCHDOG_PERIOD_us * WATCHDOG_COUNTS_PER_us; }

_Noreturn void watchdog_restart(enum reset_reason reason, uint32_t detail, uint32_t delay_us) {
  (void)interrupts_off();
  NVIC_ICER = 0xffffffffu;
  WATCHDOG->scratch[SCRATCH_REASON] = reason;
  WATCHDOG->scratch[SCRATCH_DETAIL] = detail;
  WATCHDOG->scratch[SCRATCH_MAGIC] = REASON_MAGIC;
  WATCHDOG->scratch[SCRATCH_OURS] = OURS_MAGIC;
  WATCHDOG->tick = WATCHDOG_TICK_ENABLE | XTAL_CYCLES_PER_us;      /* the fault may come before watchdog_start */
  PSM->wdsel = PSM_WDSEL_ALL_BUT_OSCILLATORS;
  WATCHDOG->load = delay_us * WATCHDOG_COUNTS_PER_us;
  WATCHDOG->ctrl = WATCHDOG_CTRL_ENABLE;
  for (;;) __asm volatile("wfe");
}
