#include "identity.h"
#include "flash.h"
#include "../registers/nvic.h"

/** A sector holds one copy and nothing else. */
union sector { struct calibration page; uint8_t bytes[FLASH_SECTOR_bytes]; };
/** Through the alias of the flash that does not cache: what was written since the start is seen (RP2040 data sheet 2.6.3.1). */
extern const union sector calibration_sectors[CALIBRATION_COPIES];

#define CALIBRATION_OFFSET ((uint32_t)calibration_sectors & 0xffffffu)

struct calibration identity;
enum calibrated identity_calibrated;
static uint32_t copy_in_use;

/** Nominal values of the parts; u of a 0.05 % resistor is 0.05 % / sqrt 3. */
static const struct calibration nominal = {
  .reference_ohm = 2000.0f, .reference_u = 0.00028867513f,
  .wand_T_per_V = 1.0f / 7.5f,
  .step_V = 1.8f,
  .code_V = 2.5f / 8388608.0f,
  .temperature_V25 = 0.75f, .temperature_V_per_K = 0.01f,
  .zero_u_ohm = 0.15f,                            /* a metre and more of lead to each clip: from memory */
  .wide_codes = { 8.9f, 8.9f, 8.9f, 8.9f },        /* as one sample had them */
};

uint32_t crc32_mpeg2(const uint8_t *bytes, uint32_t count) {
  uint32_t crc = 0xffffffffu;
  for (uint32_t i = 0; i < count; i++) {
    crc ^= (uint32_t)bytes[i] << 24;
    for (int bit = 0; bit < 8; bit++) crc = crc & 0x80000000u ? crc << 1 ^ 0x04c11db7u : crc << 1;
  }
  return crc;
}

#define COMMAND_UNIQUE_ID 0x4bu
#define ID_DUMMY_bytes 4u
#define ID_bytes 8u

/** A damaged page must not give a number that is no number. */
static bool is_sound(const struct calibration *page) {
  return page->magic == CALIBRATION_MAGIC && page->version == CALIBRATION_VERSION && page->writes != 0 &&
         crc32_mpeg2((const uint8_t *)page, sizeof *page - 4) == page->crc32;
}

/** As a sector is after it was erased: nobody has calibrated this board. */
static bool is_blank(const struct calibration *page) {
  const uint8_t *bytes = (const uint8_t *)page;
  for (uint32_t i = 0; i < sizeof *page; i++) if (bytes[i] != 0xffu) return false;
  return true;
}

/** Takes the copy that counts into `identity`. */
static void choose_copy(void) {
  identity = nominal;
  identity_calibrated = CALIBRATED_MISSING;
  copy_in_use = CALIBRATION_COPIES - 1;      /* so that the first one written is the first */
  for (uint32_t i = 0; i < CALIBRATION_COPIES; i++) {
    const struct calibration page = calibration_sectors[i].page;
    if (is_sound(&page)) {
      if (page.writes > identity.writes) {
        identity = page;
        copy_in_use = i;
      }
      identity_calibrated = CALIBRATED_GOOD;
    } else if (identity_calibrated == CALIBRATED_MISSING && !is_blank(&page)) {
      identity_calibrated = CALIBRATED_CORRUPT;
    }
  }
}

void identity_read(void) {
  choose_copy();
  if (identity.serial[0] != 0) return;
  uint8_t bytes[1 + ID_DUMMY_bytes + ID_bytes] = { COMMAND_UNIQUE_ID };
  flash_exchange(bytes, bytes, sizeof bytes);
  const uint8_t *id = &bytes[1 + ID_DUMMY_bytes];
  for (uint32_t i = 0; i < ID_bytes; i++) {
    identity.serial[2 * i] = "0123456789ABCDEF"[id[i] >> 4];
    identity.serial[2 * i + 1] = "0123456789ABCDEF"[id[i] & 15];
  }
}

bool identity_store(const struct calibration *page) {
  if (!is_sound(page) || page->writes != identity.writes + 1) return false;
  const uint32_t copy = (copy_in_use + 1) % CALIBRATION_COPIES;
  const uint32_t writes = page->writes;
  const uint32_t primask = interrupts_off();      /* the interrupt of USB tells the serial number */
  flash_write_sector(CALIBRATION_OFFSET + copy * FLASH_SECTOR_bytes, page, sizeof *page);
  identity_read();
  interrupts_restore(primask);
  return identity.writes == writes;
}
