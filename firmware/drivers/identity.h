/** Who this board is and what its bench calibration said. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

#define CALIBRATION_CLIPS 6u
#define CALIBRATION_CODES 4u
#define CALIBRATION_STEPS 4u
#define CALIBRATION_COPIES 2u

/**
 * The calibration, 144 bytes, in two copies: at the start of each of the last two sectors of the flash. A new one goes to the
 * copy that is not in use, so the one in use is whole until the new one is. The copy in use is the one whose check fits; of
 * two, the one that was written later. Without any, the nominal values of identity.c are used.
 * `Calibration` in shared-logic/assembly/layout.ts has the same.
 */
struct calibration {
  uint32_t magic;                    /* CALIBRATION_MAGIC */
  uint32_t version;                  /* CALIBRATION_VERSION */
  uint32_t writes;                   /* how often this board was calibrated, this time included; from 1 */
  uint32_t date;                     /* year * 10000 + month * 100 + day, as the host had it */
  char serial[16];                   /* printable ASCII, zero-filled; all zero: the flash's own number is used */
  float reference_ohm, reference_u;  /* with the factor that the known resistor gave; u is relative */
  float wand_T_per_V;
  float step_V;
  float code_V;
  float temperature_V25, temperature_V_per_K;
  float zero_ohm[CALIBRATION_CLIPS]; /* of each clip's lead */
  float zero_u_ohm;                  /* of two of them together */
  float fixture_F[CALIBRATION_CLIPS];
  float fixture_u_F;
  float wide_codes[CALIBRATION_CODES]; /* how much wider than the others codes 512, 1536, 2560, 3584 of the ADC are, in codes */
  uint16_t days[CALIBRATION_STEPS];  /* when ohms, zeros, fixture and codes were read, from 1 for the 1st of January 2020; 0 never */
  uint32_t crc32;                    /* CRC-32 as the second stage's, over all before it */
};
#define CALIBRATION_MAGIC 0x43505354u    /* "TSPC" */
#define CALIBRATION_VERSION 3u

/** Reads calibration and serial number; before interrupts, the flash is off the bus for some microseconds. */
void identity_read(void);

/**
 * Writes a calibration over the copy that is not in use, then uses it: what flash_write_sector() says of time holds. When the power
 * goes meanwhile, the copy in use is the old one or the new one.
 * @param page whole, with its check, numbered one more than the one in use
 * @returns whether it is in use now; false too when it was not taken, and nothing was written
 */
bool identity_store(const struct calibration *page);

extern struct calibration identity;

/** `Calibrated` of shared-logic/assembly/layout.ts: what the copies held. */
enum calibrated { CALIBRATED_UNTOLD, CALIBRATED_GOOD, CALIBRATED_MISSING, CALIBRATED_CORRUPT };
extern enum calibrated identity_calibrated;

/** CRC-32 with polynomial 0x04c11db7, start 0xffffffff, not reflected, no final xor. */
uint32_t crc32_mpeg2(const uint8_t *bytes, uint32_t count);
