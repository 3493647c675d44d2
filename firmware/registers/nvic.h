/** NVIC and system control block of the Cortex-M0+, and the RP2040's interrupt numbers (data sheet 2.3.2). */
#pragma once
#include "register.h"

#define NVIC_ISER (*(io_rw32 *)0xe000e100u)
#define NVIC_ICER (*(io_rw32 *)0xe000e180u)
#define NVIC_ICPR (*(io_rw32 *)0xe000e280u)
#define NVIC_IPR ((io_rw32 *)0xe000e400u)
#define SCB_ICSR (*(io_rw32 *)0xe000ed04u)
#define SCB_ICSR_PENDSVSET (1u << 28)
#define SCB_SHPR3 (*(io_rw32 *)0xe000ed20u)

enum {
  IRQ_TIMER_0 = 0, IRQ_TIMER_1 = 1, IRQ_TIMER_3 = 3, IRQ_USBCTRL = 5, IRQ_DMA_0 = 11, IRQ_IO_BANK0 = 13,
  IRQ_COUNT = 26,
};

/** @param priority - 0 (first) to 3 (last) */
static inline void nvic_enable(uint32_t irq, uint32_t priority) {
  io_rw32 *ipr = &NVIC_IPR[irq / 4u];
  const uint32_t shift = 8u * (irq % 4u) + 6u;
  *ipr = (*ipr & ~(3u << shift)) | (priority << shift);
  NVIC_ICPR = 1u << irq;
  NVIC_ISER = 1u << irq;
}

static inline uint32_t interrupts_off(void) {
  uint32_t primask;
  __asm volatile("mrs %0, primask\n\tcpsid i" : "=r"(primask) : : "memory");
  return primask;
}

static inline void interrupts_restore(uint32_t primask) {
  __asm volatile("msr primask, %0" : : "r"(primask) : "memory");
}
