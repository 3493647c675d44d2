/** IO_BANK0, PADS_BANK0 and the SIO's GPIO half, RP2040 data sheet 2.19 and 2.3.1.7. */
#pragma once
#include "register.h"

struct io_bank0_hw {
  struct { io_ro32 status; io_rw32 ctrl; } gpio[30];
  io_rw32 intr[4];
  io_rw32 proc0_inte[4];
  io_rw32 proc0_intf[4];
  io_ro32 proc0_ints[4];
};
_Static_assert(sizeof(struct io_bank0_hw) == 0x130, "IO_BANK0: PROC0_INTS3 is at 0x12c");
#define IO_BANK0 ((struct io_bank0_hw *)0x40014000u)
#define GPIO_FUNC_SPI 1u
#define GPIO_FUNC_SIO 5u
#define GPIO_FUNC_NULL 31u
/** Four interrupt bits a pin: level low, level high, edge low, edge high. */
#define GPIO_INT_EDGE_LOW(pin) (1u << (4u * ((pin) & 7u) + 2u))

struct pads_bank0_hw { io_rw32 voltage_select; io_rw32 gpio[30]; };
_Static_assert(sizeof(struct pads_bank0_hw) == 0x7c, "PADS_BANK0: GPIO29 is at 0x78");
#define PADS_BANK0 ((struct pads_bank0_hw *)0x4001c000u)
#define PAD_OUTPUT_DISABLE (1u << 7)
#define PAD_INPUT_ENABLE (1u << 6)
#define PAD_DRIVE_4MA (1u << 4)
#define PAD_PULL_UP (1u << 3)
#define PAD_PULL_DOWN (1u << 2)
#define PAD_SCHMITT (1u << 1)

struct sio_gpio_hw {
  io_ro32 cpuid, gpio_in, gpio_hi_in;
  uint32_t reserved;
  io_rw32 gpio_out, gpio_out_set, gpio_out_clr, gpio_out_xor;
  io_rw32 gpio_oe, gpio_oe_set, gpio_oe_clr, gpio_oe_xor;
};
_Static_assert(sizeof(struct sio_gpio_hw) == 0x30, "SIO: GPIO_OE_XOR is at 0x2c");
#define SIO ((struct sio_gpio_hw *)0xd0000000u)
