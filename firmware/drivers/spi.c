#include "spi.h"

#define FIFO_DEPTH 8u
/** 8 frames of 16 bits at 4.8 MHz take 27 us; a round takes at least 5 cycles of 8 ns. */
#define WAIT_ROUNDS 10000u

void spi_start(struct spi_hw *spi, uint32_t divider, uint32_t bits, bool second_edge) {
  spi->sspcr1 = 0;
  spi->sspcpsr = 2;
  spi->sspcr0 = SSPCR0_SCR(divider - 1) | (second_edge ? SSPCR0_SPH : 0) | SSPCR0_BITS(bits);
  spi->sspcr1 = SSPCR1_SSE;
}

bool spi_exchange(struct spi_hw *spi, const uint16_t *out, uint16_t *in, uint32_t count) {
  uint32_t rounds = WAIT_ROUNDS;
  for (uint32_t i = 0; i < FIFO_DEPTH && (spi->sspsr & SSPSR_RNE); i++) (void)spi->sspdr;      /* left over from a failure */
  for (uint32_t i = 0; i < count; i++) spi->sspdr = out[i];
  for (uint32_t i = 0; i < count; i++) {
    while (!(spi->sspsr & SSPSR_RNE)) {
      if (--rounds == 0) return false;
    }
    in[i] = (uint16_t)spi->sspdr;
  }
  return true;
}
