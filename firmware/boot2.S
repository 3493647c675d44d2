/*
 * Second stage for a 25-series serial flash: plain reads (03h), one bit wide, clk_sys/4.
 *
 * The boot ROM copies these 256 bytes to the top of SRAM and jumps there, provided the last four are the
 * CRC-32 of the first 252 (RP2040 data sheet 2.8.1.3.1; build.mjs puts it in). At start clk_sys is the
 * ring oscillator (about 6 MHz), later 125 MHz: /4 keeps 03h reads below 33 MHz in either case.
 *
 *   1. SSI off, standard SPI frames, 32 clocks of data after 8 of command and 24 of address
 *   2. SSI on: flash appears at 0x10000000
 *   3. vector table at 0x10000100: VTOR, stack pointer, entry
 */
  .syntax unified
  .cpu cortex-m0plus
  .thumb
  .section .boot2, "ax"
  .global boot2_entry
  .thumb_func
boot2_entry:
  ldr r3, =0x18000000       /* SSI */
  movs r1, #0
  str r1, [r3, #0x08]       /* SSIENR: off */
  movs r1, #4
  str r1, [r3, #0x14]       /* BAUDR: clk_sys / 4 */
  ldr r1, =0x001f0300       /* CTRLR0: DFS_32 = 31 (32 bits), TMOD = 3 (EEPROM read) */
  str r1, [r3, #0x00]
  ldr r1, =0x03000218       /* SPI_CTRLR0: XIP command 03h, INST_L = 2 (8 bits), ADDR_L = 6 (24 bits) */
  movs r0, #0xf4
  str r1, [r3, r0]
  movs r1, #0
  str r1, [r3, #0x04]       /* CTRLR1: one frame */
  movs r1, #1
  str r1, [r3, #0x08]       /* SSIENR: on */

  ldr r0, =0x10000100
  ldr r1, =0xe000ed08       /* VTOR */
  str r0, [r1]
  ldmia r0!, {r1, r2}
  msr msp, r1
  bx r2
  .ltorg
  .balign 4
  .org 252
  .word 0                   /* CRC-32, set by build.mjs */
