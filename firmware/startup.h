/** What start-up found, and how the stack is watched. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

/** Whether the stack's guard word was gone when we started; means something only after a restart. */
extern bool startup_stack_was_overrun;

bool stack_guard_is_whole(void);
