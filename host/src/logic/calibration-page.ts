/**
 * The calibration of a tester as it lies in its flash, in two copies: one at the start of each of the last two sectors
 * (`Calibration` in shared-logic/assembly/layout.ts says what is what).
 */
import { readBlock, writeBlock } from './fields.ts';
import { CALIBRATION_bytes as PAGE_bytes, CalibrationLayout as FIELDS } from './layout.generated.ts';

const MAGIC = 0x43505354;
const VERSION = 3;
const SERIAL_bytes = 16;
/** Offsets of the two sectors from the start of the flash. */
export const CALIBRATION_SECTORS = [0x1fe000, 0x1ff000] as const;
/** Of both together. */
export const SECTORS_bytes = 2 * 4096;
/** Widths over the other codes of a part that nobody has measured: codes 512, 1536, 2560 and 3584 (erratum RP2040-E11). */
export const NOMINAL_WIDE_CODES: readonly number[] = [8.9, 8.9, 8.9, 8.9];
/** Two leads of a metre and more, where nobody has read them: from memory. */
export const NOMINAL_ZERO_U_ohm = 0.15;
const NOT_READ: readonly number[] = [0, 0, 0, 0, 0, 0];

/** What a calibration is made of. */
export const CALIBRATION_STEPS = ['ohm', 'zero', 'fixture', 'codes'] as const;
export type CalibrationStep = (typeof CALIBRATION_STEPS)[number];
/** When each step was taken: days, 1 is the 1st of January 2020; 0 is never. */
export type StepDays = Readonly<Record<CalibrationStep, number>>;

/** What is the same of every board until somebody has measured it; units in their names. */
export type BoardConstants = {
  readonly reference_ohm: number;
  /** Relative standard uncertainty. */
  readonly reference_u: number;
  readonly wand_T_per_V: number;
  readonly step_V: number;
  readonly code_V: number;
  readonly temperature_V25: number;
  readonly temperature_V_per_K: number;
};

/** Constants of one board. */
export type Calibration = BoardConstants & {
  /** Ohms of the lead of clips 1 to 6, from the terminal to the clip, and the standard uncertainty of two of them together. */
  readonly zero_ohm: readonly number[];
  readonly zero_u_ohm: number;
  /** Of clips 1 to 6, open, on the A+ common, with the wires beside them at 0 V; 0 where nobody has measured it. */
  readonly fixture_F: readonly number[];
  readonly fixture_u_F: number;
  /** How much wider than the others the ADC's codes 512, 1536, 2560 and 3584 are, in codes. */
  readonly wideCodes: readonly number[];
  readonly days: StepDays;
};

/** Whose calibration it is, and which one. */
export type CalibrationHead = {
  /** Printable ASCII, 16 characters at most; empty: the flash's own number is used. */
  readonly serial: string;
  /** How often the board was calibrated, this time included; from 1. */
  readonly writes: number;
  /** Of the last write: 20261129 is the 29th of November 2026. */
  readonly date: number;
};

/** The calibration of a board that nobody has measured. */
export function uncalibrated(constants: BoardConstants): Calibration {
  return {
    ...constants, zero_ohm: NOT_READ, zero_u_ohm: NOMINAL_ZERO_U_ohm, fixture_F: NOT_READ, fixture_u_F: 0, wideCodes: NOMINAL_WIDE_CODES,
    days: { ohm: 0, zero: 0, fixture: 0, codes: 0 },
  };
}

/** The date of a time of day. @param timeOfDay - as 2026-11-29T12:00:00Z @returns 20261129 */
export const dateNumber = (timeOfDay: string): number => Number(timeOfDay.slice(0, 10).replaceAll('-', ''));

const DAY_ms = 86_400_000;
const DAY_0_ms = Date.UTC(2019, 11, 31);

/** Days as a calibration counts them. @param date - 20261129 is the 29th of November 2026 @returns 1 for the 1st of January 2020, 0 before it */
export function dayOf(date: number): number {
  const day = (Date.UTC(Math.floor(date / 10_000), Math.floor(date / 100) % 100 - 1, date % 100) - DAY_0_ms) / DAY_ms;
  return day >= 1 && day <= 0xffff ? day : 0;
}

/** The date of a day. @param day - 1 is the 1st of January 2020 @returns as 2026-11-29 */
export function dateOfDay(day: number): string {
  return new Date(DAY_0_ms + day * DAY_ms).toISOString().slice(0, 10);
}

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

const viewOf = (page: Uint8Array): DataView => new DataView(page.buffer, page.byteOffset, page.byteLength);

/**
 * The values of a page, as the tester hands over the one in use; of a tester without one the nominal values of its parts.
 * @param page - 144 bytes
 */
export function calibrationValues(page: Uint8Array): Calibration {
  const told = readBlock(viewOf(page), 0, FIELDS);
  const { reference_ohm, reference_u, wand_T_per_V, step_V, code_V, temperature_V25, temperature_V_per_K, zero_u_ohm, fixture_u_F } = told;
  return {
    reference_ohm, reference_u, wand_T_per_V, step_V, code_V, temperature_V25, temperature_V_per_K, zero_u_ohm, fixture_u_F,
    zero_ohm: [told.zero1_ohm, told.zero2_ohm, told.zero3_ohm, told.zero4_ohm, told.zero5_ohm, told.zero6_ohm],
    fixture_F: [told.fixture1_F, told.fixture2_F, told.fixture3_F, told.fixture4_F, told.fixture5_F, told.fixture6_F],
    wideCodes: [told.wide1, told.wide2, told.wide3, told.wide4],
    days: { ohm: told.ohmDay, zero: told.zeroDay, fixture: told.fixtureDay, codes: told.codesDay },
  };
}

/**
 * Takes a page apart, as the tester hands over the one in use.
 * @returns null where there is none: its magic or its format is another
 */
export function readCalibrationPage(page: Uint8Array): { readonly head: CalibrationHead; readonly values: Calibration } | null {
  if (page.length !== PAGE_bytes) return null;
  const { magic, version, writes, date } = readBlock(viewOf(page), 0, FIELDS);
  if (magic !== MAGIC || version !== VERSION) return null;
  const at = FIELDS.serialLow.at;
  const serial = Buffer.from(page.subarray(at, at + SERIAL_bytes)).toString('latin1').replace(/\0.*$/s, '');
  return { head: { serial, writes, date }, values: calibrationValues(page) };
}

/** Whether a page is whole and of this format: what the firmware asks of it as well. */
export function isSoundPage(page: Uint8Array): boolean {
  const { head } = readCalibrationPage(page) ?? {};
  const at = FIELDS.crc32.at;
  return head !== undefined && head.writes !== 0 && crc32Mpeg2(page.subarray(0, at)) === viewOf(page).getUint32(at, true);
}

/** The bytes of one copy. */
export function calibrationPage({ serial, writes, date }: CalibrationHead, values: Calibration): Uint8Array {
  const page = new Uint8Array(PAGE_bytes);
  const { zero_ohm: zero, fixture_F: fixture, wideCodes: wide, days, ...rest } = values;
  writeBlock(viewOf(page), 0, FIELDS, {
    ...rest, magic: MAGIC, version: VERSION, writes, date,
    zero1_ohm: zero[0], zero2_ohm: zero[1], zero3_ohm: zero[2], zero4_ohm: zero[3], zero5_ohm: zero[4], zero6_ohm: zero[5],
    fixture1_F: fixture[0], fixture2_F: fixture[1], fixture3_F: fixture[2], fixture4_F: fixture[3], fixture5_F: fixture[4],
    fixture6_F: fixture[5],
    wide1: wide[0], wide2: wide[1], wide3: wide[2], wide4: wide[3],
    ohmDay: days.ohm, zeroDay: days.zero, fixtureDay: days.fixture, codesDay: days.codes,
  });
  for (let i = 0; i < Math.min(serial.length, SERIAL_bytes); i++) page[FIELDS.serialLow.at + i] = serial.charCodeAt(i) & 127;
  const at = FIELDS.crc32.at;
  viewOf(page).setUint32(at, crc32Mpeg2(page.subarray(0, at)), true);
  return page;
}
