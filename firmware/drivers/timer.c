#include "timer.h"
#include "events.h"
#include "../registers/nvic.h"
#include "../registers/timer.h"
#include "../registers/watchdog.h"

#define ALARM_WAKE 0u
#define ALARM_TICK 1u
#define ALARM_SLEEP 3u

static volatile uint32_t wake_number;      /* 0 = nothing asked for */
static volatile uint32_t wake_target_us, tick_target_us;
static void (*tick_handler)(void);

static bool reached(uint32_t target_us) { return (int32_t)(timer_now_us() - target_us) >= 0; }

/** The alarm compares for equality: a target that passes while it is written would be met 71 minutes later. */
static void arm(uint32_t alarm, uint32_t target_us) {
  TIMER->alarm[alarm] = target_us;
  if (reached(target_us) && (TIMER->armed & 1u << alarm)) {
    TIMER->armed = 1u << alarm;
    register_set(&TIMER->intf, 1u << alarm);
  }
}

/** @returns whether the target is reached; an alarm that came early (seen in the emulator) is armed again */
static bool acknowledge(uint32_t alarm, uint32_t target_us) {
  TIMER->intr = 1u << alarm;
  register_clear(&TIMER->intf, 1u << alarm);
  if (reached(target_us)) return true;
  arm(alarm, target_us);
  return false;
}

void timer_0_isr(void) {
  if (acknowledge(ALARM_WAKE, wake_target_us) && wake_number != 0) events_push(EVENT_TIME, wake_number);
}

void timer_1_isr(void) {
  if (!acknowledge(ALARM_TICK, tick_target_us)) return;
  tick_target_us += TICK_us;
  if (reached(tick_target_us)) tick_target_us = timer_now_us() + TICK_us;      /* ticks that were missed stay missed */
  arm(ALARM_TICK, tick_target_us);
  tick_handler();
}

void timer_3_isr(void) {
  TIMER->intr = 1u << ALARM_SLEEP;
  register_clear(&TIMER->intf, 1u << ALARM_SLEEP);
}

void timer_start(void (*on_tick)(void)) {
  tick_handler = on_tick;
  TIMER->inte = 1u << ALARM_WAKE | 1u << ALARM_TICK | 1u << ALARM_SLEEP;
  nvic_enable(IRQ_TIMER_0, 1);
  nvic_enable(IRQ_TIMER_1, 2);
  nvic_enable(IRQ_TIMER_3, 2);
  tick_target_us = timer_now_us() + TICK_us;
  arm(ALARM_TICK, tick_target_us);
}

void timer_wake(uint32_t delay_us) {
  const uint32_t primask = interrupts_off();
  TIMER->armed = 1u << ALARM_WAKE;
  TIMER->intr = 1u << ALARM_WAKE;
  register_clear(&TIMER->intf, 1u << ALARM_WAKE);
  events_forget(EVENT_TIME);
  if (delay_us == 0) {
    wake_number = 0;
  } else {
    static uint32_t last_number;
    last_number = last_number == UINT32_MAX ? 1 : last_number + 1;
    wake_number = last_number;
    wake_target_us = timer_now_us() + delay_us;
    arm(ALARM_WAKE, wake_target_us);
  }
  interrupts_restore(primask);
}

bool timer_is_current(uint32_t number) {
  if (number != wake_number) return false;
  wake_number = 0;
  return true;
}

void timer_sleep_us(uint32_t delay_us) {
  const uint32_t target_us = timer_now_us() + delay_us;
  while (!reached(target_us)) {
    arm(ALARM_SLEEP, target_us);
    /* An interrupt between the test and here leaves its event registered: WFE then returns at once. */
    if (!reached(target_us)) __asm volatile("wfe");
  }
}

void timer_spin_us(uint32_t delay_us) {
  const uint32_t start_us = timer_now_us();
  while (timer_now_us() - start_us <= delay_us) {}
}
