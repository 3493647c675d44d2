/** The two listening channels: four ADC inputs in turn, by DMA into a ring, to samples of 2^-20 V. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

/** Samples per channel in one block of listening, and blocks that wait for a busy main loop (160 ms). */
#define LISTEN_BLOCK 100u
#define LISTEN_BLOCKS 16u

void capture_start(void);

/** Starts listening at 10 kHz; EVENT_SAMPLES comes for each block. Stops a burst. */
void capture_listen(void);

/**
 * Captures raw at 120 kS/s; EVENT_BURST comes when done.
 * @param a,b - where the samples of the channels go @param count - samples per channel
 * @param lead - samples before switches_latch() is called; `count` for no step
 * @param x1 - of the x1 inputs alone, so that samples are evenly spaced
 */
void capture_burst(int32_t *a, int32_t *b, uint32_t count, uint32_t lead, bool x1);

/** Stops whatever runs; nothing is owed afterwards. */
void capture_stop(void);

/** Copies the oldest block, channel A then channel B. @returns its Status, or STATUS_OVERRUN when blocks were lost */
uint32_t capture_take_block(int32_t *target);
