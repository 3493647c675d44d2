/*
 * Second stage for a W25Q16JV: quad reads without a command, at clk_sys / 2.
 *
 * The boot ROM copies these 256 bytes to the top of SRAM and jumps there with LR = 0, provided the last four are the
 * CRC-32 of the first 252 (RP2040 data sheet 2.8.1.3.1; build.mjs puts it in). drivers/flash.c calls a copy of its own,
 * with LR set, after it has talked to the flash itself. Either way the flash takes plain commands at the start.
 *
 * The part reads by EBh at up to 133 MHz from 3.0 V on; clk_sys / 2 is the most that the SSI can do, 62.5 MHz here. A
 * word then takes 6 clocks of address, 2 of mode, 4 of nothing and 8 of data: 40 cycles of clk_sys, where a plain read
 * (03h, 50 MHz at most) takes 64 clocks, 256 cycles.
 *
 *   1. pads: the clock with 8 mA and steep edges, the data inputs without hysteresis, for the least delay
 *   2. IO2 and IO3 as data lines, should the part not have left its factory so: volatile, nothing wears
 *   3. one quad read with command and mode bits A0h: from then on the part expects an address at once
 *   4. SSI: address and mode bits on four lines, then 32 bits; flash appears at 0x10000000
 *   5. back to the caller, or through the vector table at 0x10000100: VTOR, stack pointer, entry
 */
  .syntax unified
  .cpu cortex-m0plus
  .thumb
  .equ PADS_SCLK, 0x04
  .equ PADS_SD0, 0x08
  .equ CTRLR0, 0x00
  .equ CTRLR1, 0x04
  .equ SSIENR, 0x08
  .equ SER, 0x10
  .equ BAUDR, 0x14
  .equ SR, 0x28
  .equ DR0, 0x60
  .equ RX_SAMPLE_DLY, 0xf0
  .equ SPI_CTRLR0, 0xf4
  .equ MODE_CONTINUE, 0xa0
  .section .boot2, "ax"
  .global boot2_entry
  .thumb_func
boot2_entry:
  push {r4, lr}
  ldr r3, =0x40020000       /* PADS_QSPI */
  movs r0, #0x21            /* DRIVE = 2 (8 mA), SLEWFAST */
  str r0, [r3, #PADS_SCLK]
  ldr r0, [r3, #PADS_SD0]
  movs r1, #2               /* SCHMITT */
  bics r0, r1
  str r0, [r3, #PADS_SD0]
  str r0, [r3, #PADS_SD0 + 4]
  str r0, [r3, #PADS_SD0 + 8]
  str r0, [r3, #PADS_SD0 + 12]

  ldr r3, =0x18000000       /* SSI */
  movs r4, #1
  movs r1, #0
  str r1, [r3, #SSIENR]
  str r4, [r3, #SER]
  movs r1, #2
  str r1, [r3, #BAUDR]
  movs r2, #RX_SAMPLE_DLY   /* one cycle later: at clk_sys / 2 the flash's answer is half a clock old by then */
  str r4, [r3, r2]

  ldr r1, =0x00070000       /* CTRLR0: DFS_32 = 7 (8 bits), TMOD = 0 (send and receive), one line */
  str r1, [r3, #CTRLR0]
  str r4, [r3, #SSIENR]
  movs r0, #0x35            /* read status register 2 */
  str r0, [r3, #DR0]
  str r0, [r3, #DR0]
  bl wait_until_sent
  ldr r0, [r3, #DR0]
  ldr r0, [r3, #DR0]
  movs r2, #2               /* QE */
  tst r0, r2
  bne enter
  orrs r2, r0
  movs r0, #0x50            /* write enable for volatile bits */
  str r0, [r3, #DR0]
  bl wait_until_sent
  movs r0, #0x31            /* write status register 2 */
  str r0, [r3, #DR0]
  str r2, [r3, #DR0]
  bl wait_until_sent

enter:
  movs r1, #0
  str r1, [r3, #SSIENR]     /* empties the FIFOs too */
  str r1, [r3, #CTRLR1]     /* one word */
  ldr r1, =0x005f0300       /* CTRLR0: SPI_FRF = 2 (quad), DFS_32 = 31, TMOD = 3 (send, then receive) */
  str r1, [r3, #CTRLR0]
  ldr r1, =0x00002221       /* WAIT_CYCLES = 4, INST_L = 2 (8 bits), ADDR_L = 8 (32 bits), command on one line */
  movs r2, #SPI_CTRLR0
  str r1, [r3, r2]
  str r4, [r3, #SSIENR]
  movs r0, #0xeb
  str r0, [r3, #DR0]
  movs r0, #MODE_CONTINUE   /* address 0 and the mode bits */
  str r0, [r3, #DR0]
  bl wait_until_sent
  movs r1, #0
  str r1, [r3, #SSIENR]
  ldr r1, =0xa0002022       /* XIP_CMD = mode bits, WAIT_CYCLES = 4, INST_L = 0, ADDR_L = 8, all on four lines */
  str r1, [r3, r2]
  str r4, [r3, #SSIENR]

  pop {r4}
  pop {r0}
  cmp r0, #0
  bne back
  ldr r0, =0x10000100
  ldr r1, =0xe000ed08       /* VTOR */
  str r0, [r1]
  ldmia r0!, {r1, r2}
  msr msp, r1
  bx r2
back:
  bx r0

/* Until the FIFO is empty (TFE) and the last bit is out (not BUSY). */
wait_until_sent:
  ldr r1, [r3, #SR]
  lsrs r0, r1, #3           /* carry: bit 2, TFE */
  bcc wait_until_sent
  lsrs r1, r1, #1           /* carry: bit 0, BUSY */
  bcs wait_until_sent
  bx lr
  .ltorg
  .balign 4
  .org 252
  .word 0                   /* CRC-32, set by build.mjs */
