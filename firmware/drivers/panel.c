/**
 * Lights are told apart by rhythm, not by colour (G green, R red, one letter 10 ms times 10):
 *
 *   ready     G.................... one flash every 2 s
 *   busy      GG..GG..              even, 2.5 times a second
 *   touch n   n+1 flashes, a pause: G..G..........   (place 0: one flash, place 1: two, ...)
 *   lift      G.G.G.                flicker, 5 times a second
 *   magnet n  n+1 long marks with the red light between: GGGGR.GGGGR..........
 *   good      GGGG                  steady green
 *   fault     RR.RR.RR........      three red, a pause
 *   unsure    GGGGGRRRRR            both in turn, once a second
 *   trap      RRRR                  steady red
 *   waiting   GGGGGGGGGGGGGGGGGGG.  steady with a short gap every 2 s
 */
#include "panel.h"
#include "events.h"
#include "gpio.h"
#include "pins.h"
#include "timer.h"

enum { DARK, GREEN, RED };

#define DEBOUNCE_ticks 3u                 /* 30 ms of one level */
#define LONG_PRESS_ticks 100u             /* 1 s */
#define STEP_ticks 10u                    /* lights change in steps of 100 ms */

static volatile uint32_t pattern;
static volatile uint32_t pattern_ticks;
static uint32_t level_ticks, held_ticks;
static bool pressed, level, long_told;

/** Light at step `t` of a pattern that shows `marks` marks of `on` steps, `gap` apart, then `pause`. */
static uint32_t marks(uint32_t t, uint32_t count, uint32_t on, uint32_t gap, uint32_t between, uint32_t pause) {
  const uint32_t mark = on + gap;
  const uint32_t at = t % (count * mark + pause);
  if (at >= count * mark) return DARK;
  if (at % mark < on) return GREEN;
  return at % mark == on ? between : DARK;
}

static uint32_t light_at(uint32_t shown, uint32_t t) {
  const uint32_t place = shown >> 8 & 0xffu;
  switch (shown & 0xffu) {
    case LIGHT_READY: return t % 20 == 0 ? GREEN : DARK;
    case LIGHT_BUSY: return t % 4 < 2 ? GREEN : DARK;
    case LIGHT_TOUCH: return marks(t, place + 1, 1, 2, DARK, 9);
    case LIGHT_LIFT: return t % 2 == 0 ? GREEN : DARK;
    case LIGHT_MAGNET: return marks(t, place + 1, 4, 2, RED, 9);
    case LIGHT_GOOD: return GREEN;
    case LIGHT_FAULT: return t % 17 < 9 && t % 3 < 2 ? RED : DARK;
    case LIGHT_UNSURE: return t % 10 < 5 ? GREEN : RED;
    case LIGHT_TRAP: return RED;
    case LIGHT_WAITING: return t % 20 < 19 ? GREEN : DARK;
    default: return DARK;
  }
}

static void show(uint32_t light) {
  gpio_write(PIN_LIGHT_GREEN, light == GREEN);
  gpio_write(PIN_LIGHT_RED, light == RED);
}

void panel_start(void) {
  gpio_output(PIN_LIGHT_GREEN, false);
  gpio_output(PIN_LIGHT_RED, false);
  gpio_input(PIN_BUTTON, PAD_PULL_UP);
  gpio_input(PIN_WAND_PRESENT, PAD_PULL_UP);
  gpio_input(PIN_RAILS_GOOD, 0);
  gpio_output(PIN_RAILS_ENABLE, true);
}

void panel_light(uint32_t wanted) {
  /* The ask number in the upper bits does not change what is seen. */
  const uint32_t shown = wanted & 0xffffu;
  if (shown == pattern) return;
  pattern = shown;
  pattern_ticks = 0;
  show(light_at(shown, 0));
}

void panel_fault_light(void) {
  pattern = LIGHT_TRAP;
  show(RED);
}

static void button_tick(void) {
  const bool now = !gpio_read(PIN_BUTTON);
  if (now != level) {
    level = now;
    level_ticks = 0;
  } else if (level_ticks < DEBOUNCE_ticks) {
    level_ticks++;
  }
  if (level_ticks == DEBOUNCE_ticks && pressed != level) {
    pressed = level;
    if (pressed) {
      held_ticks = 0;
      long_told = false;
    } else if (!long_told) {
      events_push(EVENT_BUTTON, BUTTON_PRESS);
    }
  }
  if (pressed && !long_told && ++held_ticks == LONG_PRESS_ticks) {
    long_told = true;                     /* a button held for ever is one long press */
    events_push(EVENT_BUTTON, BUTTON_LONG);
  }
}

void panel_tick(void) {
  button_tick();
  pattern_ticks++;
  if (pattern_ticks % STEP_ticks == 0) show(light_at(pattern, pattern_ticks / STEP_ticks));
}

bool panel_wand_present(void) { return !gpio_read(PIN_WAND_PRESENT); }
bool panel_rails_good(void) { return gpio_read(PIN_RAILS_GOOD) == RAILS_GOOD_LEVEL; }
