/**
 * The calibration of a tester as it lies in its flash, in two copies: 128 bytes at the start of each of the last two sectors
 * (firmware/drivers/identity.h says what is what).
 */
const MAGIC = 0x43505354;
const VERSION = 2;
export const PAGE_bytes = 128;
const SERIAL_bytes = 16;
const FLOATS = 20;
const AT = { magic: 0, version: 4, writes: 8, date: 12, serial: 16, floats: 32, crc32: PAGE_bytes - 4 } as const;
/** Offsets of the two sectors from the start of the flash. */
export const CALIBRATION_SECTORS = [0x1fe000, 0x1ff000] as const;
/** Of both together. */
export const CALIBRATION_bytes = 2 * 4096;
/** Widths over the other codes of a part that nobody has measured: codes 512, 1536, 2560 and 3584 (erratum RP2040-E11). */
export const NOMINAL_WIDE_CODES = [8.9, 8.9, 8.9, 8.9] as const;

/** Constants of one board; units in their names. */
export type Calibration = {
  readonly reference_ohm: number;
  readonly reference_u: number;
  /** What joined clips read, and its uncertainty. */
  readonly zero_ohm?: number;
  readonly zero_u_ohm?: number;
  readonly wand_T_per_V: number;
  readonly step_V: number;
  readonly code_V: number;
  readonly temperature_V25: number;
  readonly temperature_V_per_K: number;
  /** Of clips 1 to 6; all 0 where nobody has measured them. */
  readonly fixture_F?: readonly number[];
  readonly fixture_u_F?: number;
  /** How much wider than the others the ADC's codes 512, 1536, 2560 and 3584 are, in codes. */
  readonly wideCodes?: readonly number[];
};

/** Whose calibration it is, and which one. */
export type CalibrationHead = {
  /** Printable ASCII, 16 characters at most; empty: the flash's own number is used. */
  readonly serial: string;
  /** How often the board was calibrated, this time included; from 1. */
  readonly writes: number;
  /** 20261129 is the 29th of November 2026. */
  readonly date: number;
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

/** The float fields in their order. */
function floatsOf(values: Calibration): number[] {
  const { fixture_F = [0, 0, 0, 0, 0, 0], wideCodes = NOMINAL_WIDE_CODES } = values;
  return [
    values.reference_ohm, values.reference_u, values.zero_ohm ?? 0, values.zero_u_ohm ?? 0, values.wand_T_per_V, values.step_V,
    values.code_V, values.temperature_V25, values.temperature_V_per_K, ...fixture_F, values.fixture_u_F ?? 0, ...wideCodes,
  ];
}

/**
 * Takes a page apart, as the tester hands over the one in use.
 * @returns null where there is none: its magic or its format is another
 */
export function readCalibrationPage(page: Uint8Array): { readonly head: CalibrationHead; readonly values: Required<Calibration> } | null {
  const view = new DataView(page.buffer, page.byteOffset, page.byteLength);
  if (page.length !== PAGE_bytes || view.getUint32(AT.magic, true) !== MAGIC || view.getUint32(AT.version, true) !== VERSION) return null;
  const serial = Buffer.from(page.subarray(AT.serial, AT.serial + SERIAL_bytes)).toString('latin1').replace(/\0.*$/s, '');
  const floats = Array.from({ length: FLOATS }, (_, i) => view.getFloat32(AT.floats + 4 * i, true));
  const [reference_ohm, reference_u, zero_ohm, zero_u_ohm, wand_T_per_V, step_V, code_V, temperature_V25, temperature_V_per_K] =
    floats as [number, number, number, number, number, number, number, number, number];
  return {
    head: { serial, writes: view.getUint32(AT.writes, true), date: view.getUint32(AT.date, true) },
    values: {
      reference_ohm, reference_u, zero_ohm, zero_u_ohm, wand_T_per_V, step_V, code_V, temperature_V25, temperature_V_per_K,
      fixture_F: floats.slice(9, 15), fixture_u_F: floats[15]!, wideCodes: floats.slice(16),
    },
  };
}

/** Whether a page is whole and of this format: what the firmware asks of it as well. */
export function isSoundPage(page: Uint8Array): boolean {
  const { head } = readCalibrationPage(page) ?? {};
  const check = new DataView(page.buffer, page.byteOffset, page.byteLength).getUint32(AT.crc32, true);
  return head !== undefined && head.writes !== 0 && crc32Mpeg2(page.subarray(0, AT.crc32)) === check;
}

/** The bytes of one copy. */
export function calibrationPage({ serial, writes, date }: CalibrationHead, values: Calibration): Uint8Array {
  const page = new Uint8Array(PAGE_bytes);
  const view = new DataView(page.buffer);
  view.setUint32(AT.magic, MAGIC, true);
  view.setUint32(AT.version, VERSION, true);
  view.setUint32(AT.writes, writes, true);
  view.setUint32(AT.date, date, true);
  for (let i = 0; i < Math.min(serial.length, SERIAL_bytes); i++) page[AT.serial + i] = serial.charCodeAt(i) & 127;
  floatsOf(values).forEach((value, i) => view.setFloat32(AT.floats + 4 * i, value, true));
  view.setUint32(AT.crc32, crc32Mpeg2(page.subarray(0, AT.crc32)), true);
  return page;
}
