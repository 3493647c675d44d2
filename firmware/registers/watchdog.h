/** WATCHDOG and the chip-level reset causes, RP2040 data sheet 4.7 and 2.12.8. */
#pragma once
#include "register.h"

struct watchdog_hw { io_rw32 ctrl, load; io_ro32 reason; io_rw32 scratch[8], tick; };
_Static_assert(sizeof(struct watchdog_hw) == 0x30, "WATCHDOG: TICK is the last register, at 0x2c");
#define WATCHDOG ((struct watchdog_hw *)0x40058000u)
#define WATCHDOG_CTRL_ENABLE (1u << 30)
#define WATCHDOG_TICK_ENABLE (1u << 9)
#define WATCHDOG_COUNTS_PER_us 2u         /* falls twice per tick: erratum RP2040-E1 */

struct psm_hw { io_rw32 frce_on, frce_off, wdsel; io_ro32 done; };
_Static_assert(sizeof(struct psm_hw) == 0x10, "PSM: DONE is at 0x0c");
#define PSM ((struct psm_hw *)0x40010000u)
#define PSM_WDSEL_ALL_BUT_OSCILLATORS 0x1fffcu

struct vreg_and_chip_reset_hw { io_rw32 vreg, bod, chip_reset; };
_Static_assert(sizeof(struct vreg_and_chip_reset_hw) == 0xc, "CHIP_RESET is at 0x08");
#define VREG_AND_CHIP_RESET ((struct vreg_and_chip_reset_hw *)0x40064000u)
#define CHIP_RESET_HAD_POR (1u << 8)      /* power-on or brown-out: the part does not tell them apart */
