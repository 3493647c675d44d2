/** RESETS, RP2040 data sheet 2.14. */
#pragma once
#include "register.h"

struct resets_hw { io_rw32 reset, wdsel; io_ro32 reset_done; };
_Static_assert(sizeof(struct resets_hw) == 0xc, "RESETS: RESET_DONE is the last register, at 0x08");
#define RESETS ((struct resets_hw *)0x4000c000u)

#define RESETS_ADC (1u << 0)
#define RESETS_DMA (1u << 2)
#define RESETS_IO_BANK0 (1u << 5)
#define RESETS_PADS_BANK0 (1u << 8)
#define RESETS_PLL_SYS (1u << 12)
#define RESETS_PLL_USB (1u << 13)
#define RESETS_SPI0 (1u << 16)
#define RESETS_SPI1 (1u << 17)
#define RESETS_TIMER (1u << 21)
#define RESETS_USBCTRL (1u << 24)
