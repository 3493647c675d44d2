/** Words over an SPI, full duplex, every wait bounded. */
#pragma once
#include <stdbool.h>
#include <stdint.h>
#include "../registers/spi.h"

/**
 * Sets an SPI up as master.
 * @param divider - clk_peri (125 MHz) is divided by twice this, 1 to 256 @param bits - of a frame, 4 to 16
 * @param second_edge - data are taken at the second clock edge (mode 1), else at the first (mode 0)
 */
void spi_start(struct spi_hw *spi, uint32_t divider, uint32_t bits, bool second_edge);

/** Exchanges up to 8 frames. @returns false when the SPI did not finish in time */
bool spi_exchange(struct spi_hw *spi, const uint16_t *out, uint16_t *in, uint32_t count);
