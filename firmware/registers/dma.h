/** DMA, RP2040 data sheet 2.5. */
#pragma once
#include "register.h"

struct dma_channel_hw {
  io_rw32 read_addr, write_addr, trans_count, ctrl_trig;
  io_rw32 al1_ctrl, al1_read_addr, al1_write_addr, al1_trans_count_trig;
  io_rw32 al2[4], al3[4];
};
_Static_assert(sizeof(struct dma_channel_hw) == 0x40, "DMA: channels are 0x40 apart");
struct dma_hw {
  struct dma_channel_hw ch[12];
  uint32_t reserved[(0x400 - 12 * 0x40) / 4];
  io_rw32 intr, inte0, intf0, ints0;
  uint32_t reserved2;
  io_rw32 inte1, intf1, ints1;
  io_rw32 timer[4];
  io_rw32 multi_chan_trigger, sniff_ctrl, sniff_data;
  uint32_t reserved3;
  io_ro32 fifo_levels;
  io_rw32 chan_abort;
};
_Static_assert(sizeof(struct dma_hw) == 0x448, "DMA: CHAN_ABORT is at 0x444");
#define DMA ((struct dma_hw *)0x50000000u)
#define DMA_CTRL_BUSY (1u << 24)
#define DMA_CTRL_IRQ_QUIET (1u << 21)
#define DMA_CTRL_TREQ(n) ((uint32_t)(n) << 15)
#define DMA_CTRL_CHAIN_TO(n) ((uint32_t)(n) << 11)
#define DMA_CTRL_RING_WRITE(bits) ((1u << 10) | ((uint32_t)(bits) << 6))
#define DMA_CTRL_INCR_WRITE (1u << 5)
#define DMA_CTRL_SIZE_16 (1u << 2)
#define DMA_CTRL_SIZE_32 (2u << 2)
#define DMA_CTRL_HIGH_PRIORITY (1u << 1)
#define DMA_CTRL_EN (1u << 0)
#define DREQ_ADC 36u
#define DREQ_PERMANENT 63u
