#include "stack.h"

/** Read by tests/figures/chip.ts: what still carries it was never used. */
#define STACK_PAINT 0x5ac65ac6u
/** Words below the stack pointer that start-up itself may use while it paints. */
#define PAINT_MARGIN 64u

bool stack_was_overrun;

void stack_prepare(void) {
  uint32_t *here = (uint32_t *)__builtin_frame_address(0) - PAINT_MARGIN;
  stack_bottom[0] = STACK_GUARD;
  for (uint32_t *word = &stack_bottom[1]; word < here; word++) *word = STACK_PAINT;
}
