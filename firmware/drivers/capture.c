/**
 * Listening.
 *
 * The ADC takes its four inputs in turn, A x1, B x1, A x8, B x8, at 48 MHz / 100 = 480 kS/s: 120 kS/s each.
 * Inputs are 2.1 us apart and stay so: x8 of a channel is 4.2 us younger than its x1, B 2.1 us younger than
 * A. For a touch (ms) that is nothing; a step's flux integral sees it as a shift of the whole curve.
 *
 * Codes to volts, exact in integers. The ADC's supply is its 3.0 V reference, the inputs rest at half of
 * it (code 2048), so one code is 3.0 V / 4096 = 768 * 2^-20 V at x1 and 96 * 2^-20 V at x8:
 *     raw        x8: (code - 2048) * 96                x1: (code - 2048) * 768
 *     of twelve  x8: (sum - 12 * 2048) * 8             x1: (sum - 12 * 2048) * 64
 * x8 is taken when all its codes (one, or the twelve) lie in 96..4000 (+-0.178 V at the input), else x1
 * when all its codes do (+-1.43 V), else the sample is OVERRANGE. host/src/virtual-bench/listening-adc.ts
 * holds the same numbers. A burst may keep x1 alone: merged with x8 its samples would not be evenly spaced.
 *
 * Data channel 0 writes the ADC's FIFO into a ring of 16 KiB (17 ms) in chunks; when a chunk is full it
 * chains to channel 1, which writes the length of the next chunk into channel 0 and so starts it again.
 * DMA_0's handler (first priority) counts chunks and latches a burst's step; the sums are made in PendSV
 * (last priority), so that USB and timers come through.
 */
#include "capture.h"
#include "converter.h"
#include "events.h"
#include "gpio.h"
#include "pins.h"
#include "switches.h"
#include "timer.h"
#include "../registers/adc.h"
#include "../registers/dma.h"
#include "../registers/nvic.h"

#define INPUTS 4u
#define DECIMATION 12u
#define RING_BITS 14u
#define RING_QUADS ((1u << RING_BITS) / 2u / INPUTS)          /* 2048 turns of the four inputs */
#define CHUNK_QUADS 300u                                      /* 2.5 ms */
#define RING_us (RING_QUADS * 1000u / 120u)
#define OVERRANGE INT32_MIN
#define MIDDLE 2048
#define CODE_LEAST 96u
#define CODE_MOST 4000u
/** A conversion takes 2 us; this is 10 us and more. */
#define STOP_ROUNDS 500u

/** One turn: two words, A in the low half and B in the high half of each. */
struct quad { uint32_t x1, x8; };

__attribute__((section(".capture_ring"), aligned(1 << RING_BITS))) static struct quad ring[RING_QUADS];
_Static_assert(sizeof ring == 1u << RING_BITS, "the DMA wraps at the ring's size");

static enum { IDLE, LISTENING, BURST } mode;
static volatile uint32_t next_chunk_samples;                  /* read by channel 1 */
static volatile uint32_t chunks_filled;                       /* quads, counted by the handler */
static uint32_t chunk_now, chunk_next;
static uint32_t quads_taken;                                  /* by PendSV, runs free */
static volatile uint32_t filled_us;
static volatile bool lost;                                    /* the FIFO or the ring ran over */

static int32_t blocks[LISTEN_BLOCKS][2][LISTEN_BLOCK];
static volatile uint32_t blocks_made, blocks_taken;           /* run free */
static uint32_t in_block;
static bool blocks_lost;

static int32_t *burst_a, *burst_b;
static uint32_t burst_count, burst_lead, burst_done;
static bool burst_x1;

/** Lengths of the chunks to come: full ones, but one ends exactly at the step of a burst and one at its end. */
static uint32_t chunk_after(uint32_t quads_before) {
  if (mode != BURST) return CHUNK_QUADS;
  const uint32_t mark = quads_before < burst_lead && burst_lead < burst_count ? burst_lead : burst_count;
  return quads_before < mark && mark - quads_before < CHUNK_QUADS ? mark - quads_before : CHUNK_QUADS;
}

static void halt(void) {
  register_clear(&ADC->cs, ADC_CS_START_MANY);
  for (uint32_t rounds = STOP_ROUNDS; rounds > 0 && !(ADC->cs & ADC_CS_READY); rounds--) {}
  DMA->inte0 = 0;                                             /* erratum RP2040-E13: an abort may raise the interrupt */
  register_clear(&DMA->ch[0].al1_ctrl, DMA_CTRL_EN);
  DMA->chan_abort = 3;
  for (uint32_t rounds = STOP_ROUNDS; rounds > 0 && ((DMA->ch[0].al1_ctrl | DMA->ch[1].al1_ctrl) & DMA_CTRL_BUSY); rounds--) {}
  DMA->ints0 = 3;
  for (uint32_t i = 0; i < 8 && (ADC->fcs & ADC_FCS_LEVEL_MASK); i++) (void)ADC->fifo;
  ADC->fcs = ADC_FCS_OVER | ADC_FCS_UNDER;
  mode = IDLE;
}

static void run(void) {
  const uint32_t primask = interrupts_off();
  chunks_filled = 0;
  quads_taken = 0;
  lost = false;
  chunk_now = chunk_after(0);
  chunk_next = chunk_after(chunk_now);
  next_chunk_samples = chunk_next * INPUTS;
  filled_us = timer_now_us();

  ADC->cs = ADC_CS_EN;                                        /* AINSEL 0: the turn starts with A x1 */
  ADC->div = ADC_DIV_INT(99);                                 /* 48 MHz / (99 + 1) */
  ADC->fcs = ADC_FCS_THRESH(1) | ADC_FCS_DREQ_EN | ADC_FCS_EN | ADC_FCS_OVER | ADC_FCS_UNDER;

  DMA->ch[1].read_addr = (uint32_t)&next_chunk_samples;
  DMA->ch[1].write_addr = (uint32_t)&DMA->ch[0].al1_trans_count_trig;
  DMA->ch[1].trans_count = 1;
  DMA->ch[1].al1_ctrl = DMA_CTRL_IRQ_QUIET | DMA_CTRL_TREQ(DREQ_PERMANENT) | DMA_CTRL_CHAIN_TO(1) | DMA_CTRL_SIZE_32 | DMA_CTRL_EN;

  DMA->ch[0].read_addr = (uint32_t)&ADC->fifo;
  DMA->ch[0].write_addr = (uint32_t)ring;
  DMA->ch[0].trans_count = chunk_now * INPUTS;
  DMA->inte0 = 1;
  DMA->ch[0].ctrl_trig = DMA_CTRL_TREQ(DREQ_ADC) | DMA_CTRL_CHAIN_TO(1) | DMA_CTRL_RING_WRITE(RING_BITS) | DMA_CTRL_INCR_WRITE |
                         DMA_CTRL_SIZE_16 | DMA_CTRL_HIGH_PRIORITY | DMA_CTRL_EN;
  ADC->cs = ADC_CS_EN | ADC_CS_RROBIN(15) | ADC_CS_START_MANY;
  interrupts_restore(primask);
}

/** A chunk is full: count it, step if it was the last before the step, leave the arithmetic to PendSV. */
void dma_0_isr(void) {
  DMA->ints0 = 1;
  if (mode == IDLE) return;
  const uint32_t filled = chunks_filled + chunk_now;
  if (mode == BURST && filled == burst_lead) switches_latch();
  chunks_filled = filled;
  filled_us = timer_now_us();
  chunk_now = chunk_next;
  chunk_next = chunk_after(filled + chunk_now);
  next_chunk_samples = chunk_next * INPUTS;
  if (ADC->fcs & ADC_FCS_OVER) lost = true;
  SCB_ICSR = SCB_ICSR_PENDSVSET;
}


/** Both channels at once: sums in two halves, and in bit 15 of each half whether all codes fitted the range. */
struct sums { uint32_t sum, high_enough, too_high; };

static inline void add(struct sums *sums, uint32_t pair) {
  sums->sum += pair;
  sums->high_enough &= pair + (0x8000u - CODE_LEAST) * 0x10001u;
  sums->too_high |= pair + (0x7fffu - CODE_MOST) * 0x10001u;
}

static inline bool fits(const struct sums *sums, uint32_t half) {
  return (sums->high_enough & ~sums->too_high) >> (16u * half) & 0x8000u;
}

static inline int32_t total(const struct sums *sums, uint32_t half) { return (int32_t)(sums->sum >> (16u * half) & 0xffffu); }

/** Merges `turns` turns from the ring. Sums of 12 codes fit 16 bits, so both channels are added at once. */
static void merge(uint32_t first_quad, uint32_t turns, int32_t x8_scale, int32_t x1_scale, int32_t out[2]) {
  struct sums x8 = { 0, 0xffffffffu, 0 }, x1 = { 0, 0xffffffffu, 0 };
  for (uint32_t i = 0; i < turns; i++) add(&x8, ring[(first_quad + i) % RING_QUADS].x8);
  const bool need_x1 = !fits(&x8, 0) || !fits(&x8, 1);
  for (uint32_t i = 0; need_x1 && i < turns; i++) add(&x1, ring[(first_quad + i) % RING_QUADS].x1);
  for (uint32_t channel = 0; channel < 2; channel++) {
    const int32_t middle = MIDDLE * (int32_t)turns;
    if (fits(&x8, channel)) out[channel] = (total(&x8, channel) - middle) * x8_scale;
    else if (fits(&x1, channel)) out[channel] = (total(&x1, channel) - middle) * x1_scale;
    else out[channel] = OVERRANGE;
  }
}

/** One turn of the x1 inputs alone. */
static void take_x1(uint32_t quad, int32_t out[2]) {
  struct sums x1 = { 0, 0xffffffffu, 0 };
  add(&x1, ring[quad % RING_QUADS].x1);
  for (uint32_t channel = 0; channel < 2; channel++) {
    out[channel] = fits(&x1, channel) ? (total(&x1, channel) - MIDDLE) * 768 : OVERRANGE;
  }
}

static void decimate(void) {
  while (chunks_filled - quads_taken >= DECIMATION) {
    int32_t sample[2];
    merge(quads_taken, DECIMATION, 8, 64, sample);
    quads_taken += DECIMATION;
    if (blocks_made - blocks_taken == LISTEN_BLOCKS) {        /* the main loop was away for 160 ms */
      blocks_lost = true;
      in_block = 0;
      continue;
    }
    int32_t (*block)[LISTEN_BLOCK] = blocks[blocks_made % LISTEN_BLOCKS];
    block[0][in_block] = sample[0];
    block[1][in_block] = sample[1];
    if (++in_block == LISTEN_BLOCK) {
      in_block = 0;
      blocks_made++;
      events_push(EVENT_SAMPLES, STATUS_OK);
    }
  }
}

static void unpack(void) {
  while (chunks_filled != quads_taken && burst_done < burst_count) {
    int32_t sample[2];
    if (burst_x1) take_x1(quads_taken, sample);
    else merge(quads_taken, 1, 96, 768, sample);
    quads_taken++;
    burst_a[burst_done] = sample[0];
    burst_b[burst_done] = sample[1];
    burst_done++;
  }
  if (burst_done == burst_count) {
    const uint32_t primask = interrupts_off();
    halt();
    interrupts_restore(primask);
    events_push(EVENT_BURST, STATUS_OK);
  }
}

void pendsv_isr(void) {
  if (mode == IDLE) return;
  if (lost || chunks_filled - quads_taken > RING_QUADS - CHUNK_QUADS || timer_now_us() - filled_us > RING_us / 2) {
    const bool listening = mode == LISTENING;
    const uint32_t primask = interrupts_off();
    halt();
    interrupts_restore(primask);
    if (!listening) {
      events_push(EVENT_BURST, STATUS_OVERRUN);
      return;
    }
    /* The turn may have slipped: begin anew with A x1. What waits is from before the gap. */
    events_forget(EVENT_SAMPLES);
    blocks_taken = blocks_made;
    in_block = 0;
    events_push(EVENT_SAMPLES, STATUS_OVERRUN);
    mode = LISTENING;
    run();
    return;
  }
  if (mode == LISTENING) decimate();
  else unpack();
}

void capture_start(void) {
  for (uint32_t pin = PIN_LISTEN_A_X1; pin <= PIN_LISTEN_B_X8; pin++) {
    gpio_function(pin, GPIO_FUNC_NULL, PAD_OUTPUT_DISABLE);
  }
  SCB_SHPR3 = 3u << 22;                                       /* PendSV last */
  nvic_enable(IRQ_DMA_0, 0);
  ADC->cs = ADC_CS_EN;
}

void capture_stop(void) {
  const uint32_t primask = interrupts_off();
  halt();
  interrupts_restore(primask);
  events_forget(EVENT_SAMPLES);
  events_forget(EVENT_BURST);
}

void capture_listen(void) {
  capture_stop();
  blocks_made = blocks_taken = in_block = 0;
  blocks_lost = false;
  mode = LISTENING;
  run();
}

void capture_burst(int32_t *a, int32_t *b, uint32_t count, uint32_t lead, bool x1) {
  capture_stop();
  burst_a = a;
  burst_b = b;
  burst_count = count;
  burst_lead = lead;
  burst_x1 = x1;
  burst_done = 0;
  mode = BURST;
  if (lead == 0) switches_latch();
  run();
}

uint32_t capture_take_block(int32_t *target) {
  const uint32_t primask = interrupts_off();
  const bool lost_some = blocks_lost;
  blocks_lost = false;
  interrupts_restore(primask);
  if (blocks_made == blocks_taken) return STATUS_OVERRUN;
  const int32_t *block = &blocks[blocks_taken % LISTEN_BLOCKS][0][0];
  for (uint32_t i = 0; i < 2 * LISTEN_BLOCK; i++) target[i] = block[i];
  blocks_taken++;
  return lost_some ? STATUS_OVERRUN : STATUS_OK;
}
