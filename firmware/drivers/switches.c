#include "switches.h"
#include "gpio.h"
#include "pins.h"
#include "spi.h"
#include "timer.h"

#define TRIES 3
/** Opening time of an 8:1 switch is below 100 ns; 2 us also lets a slow edge through. */
#define BREAK_us 2u

static volatile uint32_t shown, loaded;

static bool shift(uint32_t word, uint32_t *came_out) {
  const uint16_t out[2] = { (uint16_t)(word >> 16), (uint16_t)word };      /* M8's nibble first: it travels farthest */
  uint16_t in[2];
  if (!spi_exchange(SPI1, out, in, 2)) return false;
  *came_out = (uint32_t)in[0] << 16 | in[1];
  return true;
}

bool switches_load(uint32_t word) {
  for (int attempt = 0; attempt < TRIES; attempt++) {
    uint32_t came_out;
    /* The second pass pushes the first one out of the last register: what comes back is what lay there. */
    if (shift(word, &came_out) && shift(word, &came_out) && came_out == word) {
      loaded = word;
      return true;
    }
  }
  return false;
}

void switches_latch(void) {
  SIO->gpio_out_set = 1u << PIN_SWITCH_LATCH;
  shown = loaded;
  SIO->gpio_out_clr = 1u << PIN_SWITCH_LATCH;
}

void switches_kill(void) {
  gpio_write(PIN_SWITCH_OE, true);
  shown = 0;
}

uint32_t switches_word(void) { return shown; }

/** Nibbles that stay as they are; a switch that changes address is off in between. */
static uint32_t unchanged(uint32_t before, uint32_t after) {
  uint32_t kept = 0;
  for (uint32_t shift_bits = 0; shift_bits < 32; shift_bits += 4) {
    const uint32_t nibble = 15u << shift_bits;
    if ((before & nibble) == (after & nibble)) kept |= after & nibble;
  }
  return kept;
}

bool switches_set(uint32_t word) {
  const uint32_t between = unchanged(shown, word);
  if (between != shown) {
    if (!switches_load(between)) return switches_kill(), false;
    switches_latch();
    timer_spin_us(BREAK_us);
  }
  if (word != between) {
    if (!switches_load(word)) return switches_kill(), false;
    switches_latch();
  }
  gpio_write(PIN_SWITCH_OE, false);
  return true;
}

bool switches_start(void) {
  gpio_output(PIN_SWITCH_OE, true);
  gpio_output(PIN_SWITCH_LATCH, false);
  gpio_function(PIN_SWITCH_SCK, GPIO_FUNC_SPI, PAD_DRIVE_4MA);
  gpio_function(PIN_SWITCH_MOSI, GPIO_FUNC_SPI, PAD_DRIVE_4MA);
  gpio_function(PIN_SWITCH_READBACK, GPIO_FUNC_SPI, PAD_INPUT_ENABLE | PAD_SCHMITT | PAD_PULL_DOWN);
  spi_start(SPI1, 7, 16, false);      /* 8.9 MHz; 74HC595 at 3.3 V takes 20 and more */
  /* A word with both levels in every register: a line that is stuck cannot give it back. */
  if (!switches_load(0x5aa5c33cu) || !switches_load(0)) return false;
  switches_latch();
  gpio_write(PIN_SWITCH_OE, false);
  return true;
}
