#include "clocks.h"
#include "../registers/clocks.h"
#include "../registers/resets.h"

/** At the ring oscillator's 6.5 MHz (12 at most) one round is over 0.3 us: 30 ms at least, the crystal needs 1. */
#define WAIT_ROUNDS 100000u

static bool wait_for(io_ro32 *reg, uint32_t bits) {
  for (uint32_t rounds = WAIT_ROUNDS; rounds > 0; rounds--) {
    if ((*reg & bits) == bits) return true;
  }
  return false;
}

static bool unreset(uint32_t bits) {
  register_clear(&RESETS->reset, bits);
  return wait_for(&RESETS->reset_done, bits);
}

/** VCO = 12 MHz * feedback (750 to 1600 MHz), output = VCO / div1 / div2. */
static bool pll_start(struct pll_hw *pll, uint32_t feedback, uint32_t div1, uint32_t div2) {
  pll->cs = 1;                                      /* reference divider 1 */
  pll->fbdiv_int = feedback;
  register_clear(&pll->pwr, PLL_PWR_PD | PLL_PWR_VCOPD);
  if (!wait_for((io_ro32 *)&pll->cs, PLL_CS_LOCK)) return false;
  pll->prim = div1 << 16 | div2 << 12;
  register_clear(&pll->pwr, PLL_PWR_POSTDIVPD);
  return true;
}

bool clocks_start(void) {
  XOSC->ctrl = XOSC_CTRL_RANGE_1_15MHZ;
  XOSC->startup = 47;                               /* 47 * 256 / 12 MHz = 1 ms */
  register_set(&XOSC->ctrl, XOSC_CTRL_ENABLE);
  if (!wait_for((io_ro32 *)&XOSC->status, XOSC_STATUS_STABLE)) return false;

  /* clk_sys must not run from a PLL that is being reset: after a watchdog restart it may. */
  register_clear(&CLOCKS->sys.ctrl, 1);
  if (!wait_for(&CLOCKS->sys.selected, 1u << CLK_SYS_SRC_REF)) return false;
  CLOCKS->ref.ctrl = CLK_REF_SRC_XOSC;
  if (!wait_for(&CLOCKS->ref.selected, 1u << CLK_REF_SRC_XOSC)) return false;
  CLOCKS->ref.div = CLOCK_DIV_1;

  RESETS->reset |= RESETS_PLL_SYS | RESETS_PLL_USB;
  if (!unreset(RESETS_PLL_SYS | RESETS_PLL_USB)) return false;
  if (!pll_start(PLL_SYS, 125, 6, 2)) return false;   /* 1500 / 12 = 125 MHz */
  if (!pll_start(PLL_USB, 100, 5, 5)) return false;   /* 1200 / 25 = 48 MHz */

  CLOCKS->sys.div = CLOCK_DIV_1;
  CLOCKS->sys.ctrl = CLK_SYS_SRC_AUX;                 /* AUXSRC 0 = PLL_SYS */
  if (!wait_for(&CLOCKS->sys.selected, 1u << CLK_SYS_SRC_AUX)) return false;
  CLOCKS->peri.ctrl = CLOCK_ENABLE | CLK_PERI_AUXSRC_SYS;
  CLOCKS->usb.div = CLOCK_DIV_1;
  CLOCKS->usb.ctrl = CLOCK_ENABLE | CLK_USB_AUXSRC_PLL_USB;
  CLOCKS->adc.div = CLOCK_DIV_1;
  CLOCKS->adc.ctrl = CLOCK_ENABLE | CLK_ADC_AUXSRC_PLL_USB;

  return unreset(RESETS_IO_BANK0 | RESETS_PADS_BANK0 | RESETS_TIMER | RESETS_DMA | RESETS_ADC | RESETS_SPI0 |
                 RESETS_SPI1 | RESETS_USBCTRL);
}
