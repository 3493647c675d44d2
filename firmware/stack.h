/** The stack, and how it is watched: nothing lies below it but the end of memory. */
#pragma once
#include <stdbool.h>

/** Whether the stack's guard word was gone when we started; means something only after a restart. */
extern bool stack_was_overrun;

/** Whether the stack's lowest word is as `stack_prepare` left it. */
bool stack_guard_is_whole(void);

/** Lays the guard word and paints what lies between it and the caller. */
void stack_prepare(void);
