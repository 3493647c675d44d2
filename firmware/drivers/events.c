#include "events.h"
#include "now.h"
#include "../registers/nvic.h"

/**
 * How many events of a kind may wait; of one too many the oldest goes, so that no kind can crowd out another, whatever a host or a
 * finger does while the logic computes. `merges`: only the last one counts, so nothing is lost then; of the others no driver ever has
 * more under way (one conversion, one burst, one report each way, LISTEN_BLOCKS blocks and the word that some were lost).
 */
static const struct { uint8_t most; bool merges; } allowed[EVENT_KINDS] = {
  [EVENT_BUTTON] = { 8, true }, [EVENT_CONVERTER] = { 2, false }, [EVENT_BURST] = { 2, false }, [EVENT_SAMPLES] = { 17, false },
  [EVENT_TIME] = { 1, true }, [EVENT_REPORT] = { 2, false }, [EVENT_REPORT_SENT] = { 2, false }, [EVENT_LINK] = { 1, true },
};
/** At least the sum of the above. */
#define EVENTS_SIZE 64u

static struct event queue[EVENTS_SIZE];
static volatile uint32_t head, tail;      /* run free: full and empty differ */
uint32_t events_dropped;

/** Takes out the oldest `surplus` events of a kind. */
static void take_out(enum event_kind kind, uint32_t surplus) {
  uint32_t kept = tail;
  for (uint32_t i = tail; i != head; i++) {
    const struct event event = queue[i % EVENTS_SIZE];
    if (event.kind == kind && surplus > 0) surplus--;
    else queue[kept++ % EVENTS_SIZE] = event;
  }
  head = kept;
}

void events_push(enum event_kind kind, uint32_t value) {
  const uint32_t primask = interrupts_off();
  uint32_t waiting = 0;
  for (uint32_t i = tail; i != head; i++) waiting += queue[i % EVENTS_SIZE].kind == kind;
  if (waiting >= allowed[kind].most) {
    take_out(kind, waiting + 1u - allowed[kind].most);
    if (!allowed[kind].merges) events_dropped++;
  }
  struct event *event = &queue[head % EVENTS_SIZE];
  event->kind = kind;
  event->value = value;
  event->queued_us = timer_now_us();
  head++;
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
  take_out(kind, EVENTS_SIZE);
  interrupts_restore(primask);
}
