/** Register types: `volatile` is part of them, and single bits change through the atomic aliases only. */
#pragma once
#include <stdint.h>

typedef volatile uint32_t io_rw32;
typedef const volatile uint32_t io_ro32;

/** RP2040 data sheet 2.1.2: writes at +0x2000 set bits, at +0x3000 clear them, in one bus cycle. */
#define ATOMIC_SET_OFFSET 0x2000u
#define ATOMIC_CLEAR_OFFSET 0x3000u

static inline void register_set(io_rw32 *reg, uint32_t bits) {
  *(io_rw32 *)((uintptr_t)reg | ATOMIC_SET_OFFSET) = bits;
}

static inline void register_clear(io_rw32 *reg, uint32_t bits) {
  *(io_rw32 *)((uintptr_t)reg | ATOMIC_CLEAR_OFFSET) = bits;
}
