/** Who this board is and what its bench calibration said. */
#pragma once
#include <stdint.h>

/**
 * The calibration page, the last 4 KiB of flash, written once on the bench.
 * A page whose check does not fit is not used: the values below are then the nominal ones.
 */
struct calibration {
  uint32_t magic;                    /* CALIBRATION_MAGIC */
  uint32_t version;                  /* 1 */
  char serial[16];                   /* printable ASCII, zero-filled; all zero: the flash's own number is used */
  float reference_ohm, reference_u;
  float wand_T_per_V;
  float step_V;
  float code_V;
  float temperature_V25, temperature_V_per_K;
  uint32_t crc32;                    /* CRC-32 as the second stage's, over all before it */
};
_Static_assert(sizeof(struct calibration) == 56, "calibration page, version 1");
#define CALIBRATION_MAGIC 0x43505354u    /* "TSPC" */

/** Reads calibration and serial number; before interrupts, the flash is off the bus for some microseconds. */
void identity_read(void);

extern struct calibration identity;

/** `Calibrated` of shared-logic/assembly/layout.ts: what the page held. */
enum calibrated { CALIBRATED_UNTOLD, CALIBRATED_GOOD, CALIBRATED_MISSING, CALIBRATED_CORRUPT };
extern enum calibrated identity_calibrated;

/** CRC-32 with polynomial 0x04c11db7, start 0xffffffff, not reflected, no final xor. */
uint32_t crc32_mpeg2(const uint8_t *bytes, uint32_t count);
