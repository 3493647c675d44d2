/** Single pins. */
#pragma once
#include <stdbool.h>
#include <stdint.h>
#include "../registers/gpio.h"

static inline void gpio_write(uint32_t pin, bool high) {
  if (high) SIO->gpio_out_set = 1u << pin;
  else SIO->gpio_out_clr = 1u << pin;
}

static inline bool gpio_read(uint32_t pin) { return (SIO->gpio_in >> pin & 1u) != 0; }

/** Makes a pin an output that starts at a level without a glitch. */
static inline void gpio_output(uint32_t pin, bool high) {
  gpio_write(pin, high);
  SIO->gpio_oe_set = 1u << pin;
  PADS_BANK0->gpio[pin] = PAD_INPUT_ENABLE | PAD_DRIVE_4MA | PAD_SCHMITT;
  IO_BANK0->gpio[pin].ctrl = GPIO_FUNC_SIO;
}

/** @param pull - PAD_PULL_UP, PAD_PULL_DOWN or 0 */
static inline void gpio_input(uint32_t pin, uint32_t pull) {
  SIO->gpio_oe_clr = 1u << pin;
  PADS_BANK0->gpio[pin] = PAD_INPUT_ENABLE | PAD_SCHMITT | pull;
  IO_BANK0->gpio[pin].ctrl = GPIO_FUNC_SIO;
}

/** Gives a pin to a peripheral. */
static inline void gpio_function(uint32_t pin, uint32_t function, uint32_t pad) {
  PADS_BANK0->gpio[pin] = pad;
  IO_BANK0->gpio[pin].ctrl = function;
}
