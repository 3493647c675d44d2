/** CLOCKS, XOSC and the two PLLs, RP2040 data sheet 2.15, 2.16, 2.18. */
#pragma once
#include "register.h"

struct clock_hw { io_rw32 ctrl, div; io_ro32 selected; };
struct clocks_hw {
  struct clock_hw gpout[4];
  struct clock_hw ref, sys, peri, usb, adc, rtc;
  io_rw32 sys_resus_ctrl;
};
_Static_assert(sizeof(struct clocks_hw) == 0x7c, "CLOCKS: SYS_RESUS_CTRL is at 0x78");
#define CLOCKS ((struct clocks_hw *)0x40008000u)
#define CLOCK_ENABLE (1u << 11)
#define CLOCK_DIV_1 (1u << 8)
#define CLK_REF_SRC_XOSC 2u
#define CLK_SYS_SRC_REF 0u
#define CLK_SYS_SRC_AUX 1u                /* AUXSRC 0 = PLL_SYS */
#define CLK_PERI_AUXSRC_SYS (0u << 5)
#define CLK_USB_AUXSRC_PLL_USB (0u << 5)
#define CLK_ADC_AUXSRC_PLL_USB (0u << 5)

struct xosc_hw { io_rw32 ctrl, status, dormant, startup; };
_Static_assert(sizeof(struct xosc_hw) == 0x10, "XOSC: STARTUP is at 0x0c");
#define XOSC ((struct xosc_hw *)0x40024000u)
#define XOSC_CTRL_RANGE_1_15MHZ 0xaa0u
#define XOSC_CTRL_ENABLE (0xfabu << 12)
#define XOSC_STATUS_STABLE (1u << 31)

struct pll_hw { io_rw32 cs, pwr, fbdiv_int, prim; };
_Static_assert(sizeof(struct pll_hw) == 0x10, "PLL: PRIM is the last register, at 0x0c");
#define PLL_SYS ((struct pll_hw *)0x40028000u)
#define PLL_USB ((struct pll_hw *)0x4002c000u)
#define PLL_CS_LOCK (1u << 31)
#define PLL_PWR_PD (1u << 0)
#define PLL_PWR_POSTDIVPD (1u << 3)
#define PLL_PWR_VCOPD (1u << 5)
