/**
 * The 24-bit converter with its current source: ADS124S08 by its data sheet's register names.
 * Results come as EVENT_CONVERTER; converter_finish() turns one into code and status.
 */
#pragma once
#include <stdbool.h>
#include <stdint.h>

/** `Status` of shared-logic/assembly/layout.ts. */
enum conversion_status { STATUS_OK, STATUS_SILENT, STATUS_BAD, STATUS_OVERRANGE, STATUS_OVERRUN };

/** `ConverterFault` of shared-logic/assembly/layout.ts: what was wrong when the part failed last. */
enum converter_fault {
  CONVERTER_WELL,
  CONVERTER_NOT_READY,      /* does not get ready after a reset: absent, without supply, or its lines are cut */
  CONVERTER_OTHER_PART,     /* another part answers */
  CONVERTER_NOT_SET,        /* registers do not hold what is written to them */
  CONVERTER_SILENT,         /* does not end a conversion */
  CONVERTER_DISTURBED,      /* its results do not fit their check byte */
};

/** What was wrong when the part failed last, CONVERTER_WELL when it never did. */
enum converter_fault converter_last_fault(void);

/** Resets and configures the part. @returns false when it does not answer as it must; the current source is off then */
bool converter_start(void);

/** @param current_nA - 0, 10000, 50000, 100000, 250000 @returns false when it could not be set; it is off then */
bool converter_drive(uint32_t current_nA);

/** What the current source was last set to, nanoamperes. */
uint32_t converter_current_nA(void);

/** Starts a conversion; a running one is given up. @param input - Input @param rate - Rate */
void converter_convert(uint32_t input, uint32_t rate);

/** Finishes EVENT_CONVERTER. @returns false when the event belongs to a conversion that was given up */
bool converter_finish(uint32_t event_value, int32_t *code, uint32_t *status);

/** From the tick: notices a converter that stays silent. */
void converter_tick(void);

/** Current off by the reset pin alone: one store, for faults. */
void converter_kill(void);
