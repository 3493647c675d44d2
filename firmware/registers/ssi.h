/** SSI (the flash interface) and the QSPI pins, RP2040 data sheet 4.10.13 and 2.19.6.2. */
#pragma once
#include "register.h"

struct ssi_hw {
  io_rw32 ctrlr0, ctrlr1, ssienr, mwcr, ser, baudr, txftlr, rxftlr;
  io_ro32 txflr, rxflr, sr;
  io_ro32 imr, isr, risr, txoicr, rxoicr, rxuicr, msticr, icr, dmacr, dmatdlr, dmardlr, idr, version_id;
  io_rw32 dr0;
};
_Static_assert(sizeof(struct ssi_hw) == 0x64, "SSI: DR0 is at 0x60");
#define SSI ((struct ssi_hw *)0x18000000u)
#define SSI_CTRLR0_DFS_32_8BIT (7u << 16)
#define SSI_CTRLR0_TMOD_TX_AND_RX (0u << 8)
#define SSI_SR_TFNF (1u << 1)
#define SSI_SR_RFNE (1u << 3)

/** GPIO_QSPI_SS_CTRL: bits 9:8 override the chip select, 2 = low, 3 = high, 0 = the SSI's own. */
#define IO_QSPI_SS_CTRL (*(io_rw32 *)0x4001800cu)
#define IO_QSPI_OUTOVER_LOW (2u << 8)
#define IO_QSPI_OUTOVER_HIGH (3u << 8)
