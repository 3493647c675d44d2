/** What a simulated board writes about itself into the module's memory: before `start()`, and when it is calibrated. */
import { calibrationPage, dayOf, isSoundPage, readCalibrationPage, uncalibrated, type BoardConstants } from '../logic/calibration-page.ts';
import * as layout from '../logic/layout.generated.ts';
import { BOARD_FACTS, type OwnErrors } from './front-end.ts';
import { RandomStream } from './random.ts';

const SERIAL_bytes = 16;
const VERSION = [0, 1, 0] as const;
const MODULE_HASH_bytes = 32;
/** When the twin's maker calibrated it. */
const FACTORY_DATE = 20260101;
/** How well the maker reads a lead and the width of a code. */
const MAKER_LEAD_U_ohm = 0.003;
const MAKER_CODE_U = 0.03;
/** Of the reference. */
const DAMAGED_BYTE = 34;

/** What a simulated tester's flash holds: its maker's calibration (whole or damaged), none, or the one that a calibration wrote. */
export type HeldCalibration = 'good' | 'missing' | 'corrupt' | Uint8Array;

/**
 * The page in a simulated tester's flash, null where there is none. The maker has read leads and codes, within what a maker can; the
 * scale of ohms rests on the reference as it is bought, and each clip's capacitance on what the tester sees itself.
 */
export function heldPage(held: HeldCalibration, serial: string, own: OwnErrors, seed: number): Uint8Array | null {
  if (held === 'missing') return null;
  if (typeof held !== 'string') return held;
  const random = new RandomStream(seed, 'maker');
  const read = (values: readonly number[], u: number): number[] => values.map((value) => value + u * random.gaussian());
  const day = dayOf(FACTORY_DATE);
  const page = calibrationPage({ serial, writes: 1, date: FACTORY_DATE }, {
    ...uncalibrated(BOARD_FACTS), zero_ohm: read(own.leads_ohm, MAKER_LEAD_U_ohm), zero_u_ohm: 2 * MAKER_LEAD_U_ohm,
    wideCodes: read(own.wideCodes, MAKER_CODE_U), days: { ohm: day, zero: day, fixture: 0, codes: day },
  });
  if (held === 'corrupt') page[DAMAGED_BYTE]! ^= 1;
  return page;
}

const calibrationIn = (memory: DataView, at: number): Uint8Array =>
  new Uint8Array(memory.buffer, memory.byteOffset + at, layout.CALIBRATION_bytes);

/** Fills the `Board` block and the calibration in use.
 * @param serial - ASCII, 16 characters or fewer; that of the calibration counts where there is one
 * @param sha256 - of the module, hex
 * @param page - what the flash holds, null for nothing
 */
export function writeBoardFacts(memory: DataView, serial: string, sha256: string, page: Uint8Array | null): void {
  const fields = layout.BoardLayout;
  if (page !== null && isSoundPage(page)) useCalibration(memory, page);
  else useNominal(memory, serial, page === null ? layout.Calibrated.missing : layout.Calibrated.corrupt);
  memory.setUint8(layout.BOARD + fields.resetReason.at, 0);
  [fields.firmwareMajor, fields.firmwareMinor, fields.firmwarePatch].forEach((field, i) =>
    memory.setUint8(layout.BOARD + field.at, VERSION[i]),
  );
  for (let i = 0; i < MODULE_HASH_bytes; i++) {
    const byte = Number.parseInt(sha256.slice(2 * i, 2 * i + 2), 16);
    memory.setUint8(layout.BOARD + fields.hash0.at + i, byte);
  }
}

/** Takes the calibration that was handed over, on the terms of the firmware. @returns whether it is in use now */
export function storeCalibration(memory: DataView): boolean {
  const page = calibrationIn(memory, layout.CALIBRATION_NEW).slice();
  const used = readCalibrationPage(calibrationIn(memory, layout.CALIBRATION));
  if (!isSoundPage(page) || readCalibrationPage(page)!.head.writes !== (used?.head.writes ?? 0) + 1) return false;
  useCalibration(memory, page);
  return true;
}

function useCalibration(memory: DataView, page: Uint8Array): void {
  const { head, values } = readCalibrationPage(page)!;
  calibrationIn(memory, layout.CALIBRATION).set(page);
  tell(memory, values, head.serial, layout.Calibrated.good);
}

/** The values of the parts as they are bought, without the magic that makes a page of them. */
function useNominal(memory: DataView, serial: string, state: number): void {
  const page = calibrationPage({ serial, writes: 0, date: 0 }, uncalibrated(BOARD_FACTS));
  const bare = layout.CalibrationLayout;
  page.fill(0, bare.magic.at, bare.serialLow.at);
  page.fill(0, bare.crc32.at);
  calibrationIn(memory, layout.CALIBRATION).set(page);
  tell(memory, BOARD_FACTS, serial, state);
}

function tell(memory: DataView, values: BoardConstants, serial: string, state: number): void {
  const fields = layout.BoardLayout;
  for (const name of FLOATS) memory.setFloat32(layout.BOARD + fields[name].at, values[name], true);
  memory.setUint8(layout.BOARD_STATE + layout.BoardStateLayout.calibrated.at, state);
  for (let i = 0; i < SERIAL_bytes; i++) {
    const code = i < serial.length ? serial.charCodeAt(i) & 127 : 0;
    memory.setUint8(layout.BOARD + fields.serialLow.at + i, code);
  }
}

/** What the `Board` block takes from the calibration. */
const FLOATS = [
  'reference_ohm', 'reference_u', 'wand_T_per_V', 'step_V', 'code_V', 'temperature_V25', 'temperature_V_per_K',
] as const satisfies readonly (keyof BoardConstants)[];
