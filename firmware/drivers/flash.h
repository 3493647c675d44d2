#pragma once
#include <stdint.h>

/** Marks code that runs from RAM; memory.ld copies the section with the start values of data. */
#define RAM_CODE __attribute__((section(".ram_code"), noinline))

/** What is erased at once. */
#define FLASH_SECTOR_bytes 4096u

/**
 * Sends bytes to the serial flash and takes as many back, one line each way, chip select low throughout. Meanwhile
 * nothing can be fetched from flash: interrupts are off, and for 13 bytes it takes some 10 us.
 * @param received what came back, `count` bytes; may be `sent`
 */
void flash_exchange(const uint8_t *sent, uint8_t *received, uint32_t count);
