/** The loop: take an event, hand it to the module, feed the watchdog, sleep. */
#include "main.h"
#include "board.h"
#include "failsafe.h"
#include "stack.h"
#include "drivers/clocks.h"
#include "drivers/timer.h"
#include "drivers/watchdog.h"

/** Read by the chip twin for `npm run figures -- chip`; nothing here depends on it. */
struct figures {
  uint32_t longest_wait_us;                   /* from an interrupt to its event */
  uint32_t longest_event_us[EVENT_KINDS];     /* spent in the module */
};
struct figures figures;

void converter_drdy_isr(void);

/** GPIO interrupts: the converter's ready line is the only one that is enabled. */
void io_bank0_isr(void) { converter_drdy_isr(); }

void main(void) {
  const enum reset_reason reason = watchdog_read_reason(stack_was_overrun);
  if (!clocks_start()) failsafe_restart(RESET_HARD_FAULT, 2);
  watchdog_start();
  board_start(reason);
  for (;;) {
    struct event event;
    while (events_take(&event)) {
      const uint32_t wait_us = timer_now_us() - event.queued_us;
      if (wait_us > figures.longest_wait_us) figures.longest_wait_us = wait_us;
      watchdog_feed();
      board_alive();
      const uint32_t start_us = timer_now_us();
      board_event(&event);
      const uint32_t took_us = timer_now_us() - start_us;
      if (took_us > figures.longest_event_us[event.kind]) figures.longest_event_us[event.kind] = took_us;
    }
    watchdog_feed();
    board_alive();
    /* An interrupt between the last look and here leaves its event registered: WFE then returns at once. */
    __asm volatile("wfe");
  }
}
