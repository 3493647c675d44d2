/** SPI (PrimeCell PL022), RP2040 data sheet 4.4. */
#pragma once
#include "register.h"

struct spi_hw { io_rw32 sspcr0, sspcr1, sspdr; io_ro32 sspsr; io_rw32 sspcpsr, sspimsc; io_ro32 sspris, sspmis; io_rw32 sspicr, sspdmacr; };
_Static_assert(sizeof(struct spi_hw) == 0x28, "SPI: SSPDMACR is at 0x24");
#define SPI0 ((struct spi_hw *)0x4003c000u)
#define SPI1 ((struct spi_hw *)0x40040000u)
#define SSPCR0_SCR(divider_minus_1) ((uint32_t)(divider_minus_1) << 8)
#define SSPCR0_SPH (1u << 7)
#define SSPCR0_BITS(n) ((n) - 1u)
#define SSPCR1_SSE (1u << 1)
#define SSPSR_RNE (1u << 2)
