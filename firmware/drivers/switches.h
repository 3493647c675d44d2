/** The eight clip switches behind four shift registers. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

/** All off, registers cleared, outputs enabled. @returns false when the read-back is wrong */
bool switches_start(void);

/**
 * Goes to a word, break before make; the caller has switched the current off.
 * @param word - 8 nibbles of EN A2 A1 A0
 * @returns false when the read-back was wrong three times; then everything is off
 */
bool switches_set(uint32_t word);

/** The word that the switches show. */
uint32_t switches_word(void);

/** Shifts a word in without showing it. @returns false when the read-back was wrong three times */
bool switches_load(uint32_t word);

/** Shows the loaded word at once; callable from an interrupt, a few cycles. */
void switches_latch(void);

/** Off by the output enable alone: two stores, for faults. */
void switches_kill(void);
