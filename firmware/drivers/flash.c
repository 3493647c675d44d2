#include "flash.h"
#include "../registers/nvic.h"
#include "../registers/ssi.h"

#define SECOND_STAGE_words 64u
/** The boot ROM's own copy lies where other things lie by now. */
#define SECOND_STAGE ((const uint32_t *)0x10000000u)
/** Any byte with IO0 high in its seventh clock, where mode bit 4 goes, ends the continuous reads. */
#define LEAVE_CONTINUOUS 0xffu
/** A byte takes 16 cycles of clk_sys; a round of the loop is about as long. */
#define WAIT_ROUNDS_PER_BYTE 1000u
#define FIFO_bytes 8u

RAM_CODE static void select_and_exchange(const uint8_t *sent, uint8_t *received, uint32_t count) {
  uint32_t rounds = WAIT_ROUNDS_PER_BYTE * count;
  IO_QSPI_SS_CTRL = IO_QSPI_OUTOVER_LOW;
  for (uint32_t out = 0, in = 0; in < count && rounds > 0; rounds--) {
    if (out < count && out - in < FIFO_bytes && (SSI->sr & SSI_SR_TFNF)) SSI->dr0 = sent[out++];
    if (in < out && (SSI->sr & SSI_SR_RFNE)) received[in++] = (uint8_t)SSI->dr0;
  }
  IO_QSPI_SS_CTRL = IO_QSPI_OUTOVER_HIGH;
}

/** Nothing here may lie in flash, until the second stage has set it up again. */
RAM_CODE static void exchange_from_ram(const uint8_t *sent, uint8_t *received, uint32_t count, const uint32_t *second_stage) {
  uint8_t leave = LEAVE_CONTINUOUS;
  SSI->ssienr = 0;
  SSI->ctrlr0 = SSI_CTRLR0_DFS_32_8BIT | SSI_CTRLR0_TMOD_TX_AND_RX;
  SSI->ser = 1;
  SSI->ssienr = 1;
  select_and_exchange(&leave, &leave, 1);
  select_and_exchange(sent, received, count);
  IO_QSPI_SS_CTRL = 0;
  ((void (*)(void))((uint32_t)second_stage | 1u))();
}

void flash_exchange(const uint8_t *sent, uint8_t *received, uint32_t count) {
  uint32_t second_stage[SECOND_STAGE_words];
  for (uint32_t i = 0; i < SECOND_STAGE_words; i++) second_stage[i] = SECOND_STAGE[i];
  const uint32_t primask = interrupts_off();
  exchange_from_ram(sent, received, count, second_stage);
  interrupts_restore(primask);
}
