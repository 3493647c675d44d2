/** The stack, and how it is watched: nothing lies below it but the end of memory. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

extern uint32_t stack_bottom[];

#define STACK_GUARD 0x57a4c0deu

/** Whether the stack's guard word was gone when we started; means something only after a restart. */
extern bool stack_was_overrun;

/**
 * Whether the stack's lowest word is as `stack_prepare` left it. No function of its own: start-up asks before what runs from RAM
 * has been copied there, and `in-ram.txt` might name it.
 */
static inline __attribute__((always_inline)) bool stack_guard_is_whole(void) { return stack_bottom[0] == STACK_GUARD; }

/** Lays the guard word and paints what lies between it and the caller. */
void stack_prepare(void);
