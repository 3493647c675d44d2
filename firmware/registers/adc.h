/** ADC, RP2040 data sheet 4.9. */
#pragma once
#include "register.h"

struct adc_hw { io_rw32 cs; io_ro32 result; io_rw32 fcs; io_ro32 fifo; io_rw32 div; io_ro32 intr; io_rw32 inte, intf; io_ro32 ints; };
_Static_assert(sizeof(struct adc_hw) == 0x24, "ADC: INTS is at 0x20");
#define ADC ((struct adc_hw *)0x4004c000u)
#define ADC_CS_RROBIN(mask) ((uint32_t)(mask) << 16)
#define ADC_CS_READY (1u << 8)
#define ADC_CS_START_MANY (1u << 3)
#define ADC_CS_EN (1u << 0)
#define ADC_FCS_THRESH(level) ((uint32_t)(level) << 24)
#define ADC_FCS_LEVEL_MASK (15u << 16)
#define ADC_FCS_OVER (1u << 11)
#define ADC_FCS_UNDER (1u << 10)
#define ADC_FCS_DREQ_EN (1u << 3)
#define ADC_FCS_EN (1u << 0)
#define ADC_DIV_INT(n) ((uint32_t)(n) << 8)
