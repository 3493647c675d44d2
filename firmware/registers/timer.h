/** TIMER, RP2040 data sheet 4.6. */
#pragma once
#include "register.h"

struct timer_hw {
  io_rw32 timehw, timelw;
  io_ro32 timehr, timelr;
  io_rw32 alarm[4];
  io_rw32 armed;
  io_ro32 timerawh, timerawl;
  io_rw32 dbgpause, pause, intr, inte, intf;
  io_ro32 ints;
};
_Static_assert(sizeof(struct timer_hw) == 0x44, "TIMER: INTS is at 0x40");
#define TIMER ((struct timer_hw *)0x40054000u)
