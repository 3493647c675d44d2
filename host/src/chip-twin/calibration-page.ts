/** The calibration page that a bench writes into the last 4 KiB of flash (firmware/drivers/identity.h). */

export const CALIBRATION_PAGE = 0x101ff000;
const MAGIC = 0x43505354;
const VERSION = 1;
const PAGE_bytes = 56;
const SERIAL_bytes = 16;

/** Constants of one board; units in their names. */
export type Calibration = {
  readonly reference_ohm: number;
  readonly reference_u: number;
  readonly wand_T_per_V: number;
  readonly step_V: number;
  readonly code_V: number;
  readonly temperature_V25: number;
  readonly temperature_V_per_K: number;
};

/** CRC-32, polynomial 0x04c11db7, start 0xffffffff, not reflected, no final xor (CRC-32/MPEG-2).
 * @see RP2040 data sheet 2.8.1.3.1, where the second stage uses the same */
export function crc32Mpeg2(bytes: Uint8Array): number {
  let crc = 0xffffffff | 0;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = crc < 0 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  return crc >>> 0;
}

/** The page's bytes. @param serial - printable ASCII, 16 characters at most */
export function calibrationPage(serial: string, values: Calibration): Uint8Array {
  const page = new Uint8Array(PAGE_bytes);
  const view = new DataView(page.buffer);
  view.setUint32(0, MAGIC, true);
  view.setUint32(4, VERSION, true);
  for (let i = 0; i < Math.min(serial.length, SERIAL_bytes); i++) page[8 + i] = serial.charCodeAt(i) & 127;
  const floats = [
    values.reference_ohm, values.reference_u, values.wand_T_per_V, values.step_V, values.code_V,
    values.temperature_V25, values.temperature_V_per_K,
  ];
  floats.forEach((value, i) => view.setFloat32(24 + 4 * i, value, true));
  view.setUint32(PAGE_bytes - 4, crc32Mpeg2(page.subarray(0, PAGE_bytes - 4)), true);
  return page;
}
