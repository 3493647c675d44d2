#include "flash.h"
#include <string.h>
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
/** W25Q16JV data sheet 8.2: the number of the command, for cells 24 bits of address, for a program the data. */
#define COMMAND_WRITE_ENABLE 0x06u
#define COMMAND_READ_STATUS 0x05u
#define COMMAND_ERASE_SECTOR 0x20u
#define COMMAND_PROGRAM_PAGE 0x02u
#define COMMAND_bytes 4u
#define STATUS_BUSY 1u

RAM_CODE static void select_and_exchange(const uint8_t *sent, uint8_t *received, uint32_t count) {
  uint32_t rounds = WAIT_ROUNDS_PER_BYTE * count;
  IO_QSPI_SS_CTRL = IO_QSPI_OUTOVER_LOW;
  for (uint32_t out = 0, in = 0; in < count && rounds > 0; rounds--) {
    if (out < count && out - in < FIFO_bytes && (SSI->sr & SSI_SR_TFNF)) SSI->dr0 = sent[out++];
    if (in < out && (SSI->sr & SSI_SR_RFNE)) received[in++] = (uint8_t)SSI->dr0;
  }
  IO_QSPI_SS_CTRL = IO_QSPI_OUTOVER_HIGH;
}

/** From here on nothing may lie in flash, until the second stage has set it up again. */
RAM_CODE static void to_commands(void) {
  uint8_t leave = LEAVE_CONTINUOUS;
  SSI->ssienr = 0;
  SSI->ctrlr0 = SSI_CTRLR0_DFS_32_8BIT | SSI_CTRLR0_TMOD_TX_AND_RX;
  SSI->ser = 1;
  SSI->ssienr = 1;
  select_and_exchange(&leave, &leave, 1);
}

RAM_CODE static void to_reads(const uint32_t *second_stage) {
  IO_QSPI_SS_CTRL = 0;
  ((void (*)(void))((uint32_t)second_stage | 1u))();
}

RAM_CODE static void exchange_from_ram(const uint8_t *sent, uint8_t *received, uint32_t count, const uint32_t *second_stage) {
  to_commands();
  select_and_exchange(sent, received, count);
  to_reads(second_stage);
}

/** Without a limit: nothing can be fetched before, and for a part that never comes back the watchdog is the only help. */
RAM_CODE static void change_cells(uint8_t *command, uint32_t count) {
  uint8_t answer[2] = { COMMAND_WRITE_ENABLE, 0 };
  select_and_exchange(answer, answer, 1);
  select_and_exchange(command, command, count);
  do {
    answer[0] = COMMAND_READ_STATUS;
    answer[1] = STATUS_BUSY;
    select_and_exchange(answer, answer, sizeof answer);
  } while (answer[1] & STATUS_BUSY);
}

RAM_CODE static void write_from_ram(uint8_t *erase, uint8_t *program, uint32_t count, const uint32_t *second_stage) {
  to_commands();
  change_cells(erase, COMMAND_bytes);
  change_cells(program, COMMAND_bytes + count);
  to_reads(second_stage);
}

static void copy_second_stage(uint32_t *to) {
  for (uint32_t i = 0; i < SECOND_STAGE_words; i++) to[i] = SECOND_STAGE[i];
}

void flash_exchange(const uint8_t *sent, uint8_t *received, uint32_t count) {
  uint32_t second_stage[SECOND_STAGE_words];
  copy_second_stage(second_stage);
  const uint32_t primask = interrupts_off();
  exchange_from_ram(sent, received, count, second_stage);
  interrupts_restore(primask);
}

static void put_command(uint8_t *to, uint8_t command, uint32_t offset) {
  to[0] = command;
  to[1] = (uint8_t)(offset >> 16);
  to[2] = (uint8_t)(offset >> 8);
  to[3] = (uint8_t)offset;
}

void flash_write_sector(uint32_t offset, const void *bytes, uint32_t count) {
  uint32_t second_stage[SECOND_STAGE_words];
  uint8_t erase[COMMAND_bytes], program[COMMAND_bytes + FLASH_WRITE_most_bytes];
  if (count > FLASH_WRITE_most_bytes) return;
  copy_second_stage(second_stage);
  put_command(erase, COMMAND_ERASE_SECTOR, offset);
  put_command(program, COMMAND_PROGRAM_PAGE, offset);
  memcpy(program + COMMAND_bytes, bytes, count);
  const uint32_t primask = interrupts_off();
  write_from_ram(erase, program, count, second_stage);
  interrupts_restore(primask);
}
