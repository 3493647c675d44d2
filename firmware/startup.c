/** Vectors, memory at start, and the ways out when something is broken. */
#include "failsafe.h"
#include "main.h"
#include "stack.h"
#include "registers/nvic.h"

extern uint32_t stack_top[], data_start[], data_end[], bss_start[], bss_end[];
extern const uint32_t data_load[];

_Noreturn void reset_entry(void) {
  const bool guard_lost = !stack_guard_is_whole();      /* after a power-up this is noise: watchdog.c knows */
  for (uint32_t *word = data_start, i = 0; word < data_end; word++, i++) *word = data_load[i];
  for (uint32_t *word = bss_start; word < bss_end; word++) *word = 0;
  stack_prepare();
  stack_was_overrun = guard_lost;
  main();
  failsafe_restart(RESET_HARD_FAULT, 0);
}

void hard_fault_isr(void) {
  /* An overrun of the stack comes here as well: below it there is no memory. */
  failsafe_restart(stack_guard_is_whole() ? RESET_HARD_FAULT : RESET_STACK, 0);
}

/** An interrupt that nobody enabled. */
void unexpected_isr(void) { failsafe_restart(RESET_HARD_FAULT, 1); }

void timer_0_isr(void);
void timer_1_isr(void);
void timer_3_isr(void);
void usb_isr(void);
void dma_0_isr(void);
void io_bank0_isr(void);
void pendsv_isr(void);

#define UNEXPECTED unexpected_isr

__attribute__((section(".vectors"), used)) static const void *const vectors[16 + 32] = {
  stack_top, reset_entry, UNEXPECTED, hard_fault_isr,
  UNEXPECTED, UNEXPECTED, UNEXPECTED, UNEXPECTED, UNEXPECTED, UNEXPECTED, UNEXPECTED,
  UNEXPECTED /* SVCall */, UNEXPECTED, UNEXPECTED, pendsv_isr, UNEXPECTED /* SysTick */,
  [16 + 0 ... 16 + 31] = UNEXPECTED,
  [16 + IRQ_TIMER_0] = timer_0_isr,
  [16 + IRQ_TIMER_1] = timer_1_isr,
  [16 + IRQ_TIMER_3] = timer_3_isr,
  [16 + IRQ_USBCTRL] = usb_isr,
  [16 + IRQ_DMA_0] = dma_0_isr,
  [16 + IRQ_IO_BANK0] = io_bank0_isr,
};
