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

/** Less than a page: what is written stays within one. */
#define FLASH_WRITE_most_bytes 192u

/**
 * Erases a sector and writes to its start. Interrupts are off and nothing can be fetched from flash for 45 ms as a rule, 400 ms at
 * most: the current must be off, and nobody may wait for us. Interrupts that come meanwhile are served afterwards; the USB
 * controller answers "not now" (NAK) by itself. Whether it went well is seen by reading.
 * @param offset from the start of the flash, of a sector @param count `FLASH_WRITE_most_bytes` at most
 */
void flash_write_sector(uint32_t offset, const void *bytes, uint32_t count);
