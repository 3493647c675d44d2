#include "events.h"
#include "now.h"
#include "../registers/nvic.h"

/** Every producer has few events under way (one conversion, one report each way, 16 blocks): 64 is never reached. */
#define EVENTS_SIZE 64u

static struct event queue[EVENTS_SIZE];
static volatile uint32_t head, tail;      /* run free: full and empty differ */
uint32_t events_dropped;

void events_push(enum event_kind kind, uint32_t value) {
  const uint32_t primask = interrupts_off();
  if (head - tail == EVENTS_SIZE) {
    events_dropped++;
  } else {
    struct event *event = &queue[head % EVENTS_SIZE];
    event->kind = kind;
    event->value = value;
    event->queued_us = timer_now_us();
    head++;
  }
  interrupts_restore(primask);
}

bool events_take(struct event *event) {
  const uint32_t primask = interrupts_off();
  const bool any = head != tail;
  if (any) {
    *event = queue[tail % EVENTS_SIZE];
    tail++;
  }
  interrupts_restore(primask);
  return any;
}

void events_forget(enum event_kind kind) {
  const uint32_t primask = interrupts_off();
  uint32_t kept = tail;
  for (uint32_t i = tail; i != head; i++) {
    if (queue[i % EVENTS_SIZE].kind != kind) queue[kept++ % EVENTS_SIZE] = queue[i % EVENTS_SIZE];
  }
  head = kept;
  interrupts_restore(primask);
}
