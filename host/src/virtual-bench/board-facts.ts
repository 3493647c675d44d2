/** What a simulated board writes about itself into the module's memory: before `start()`, and when it is calibrated. */
import { calibrationPage, isSoundPage, readCalibrationPage, type Calibration } from '../logic/calibration-page.ts';
import * as layout from '../logic/layout.generated.ts';
import { BOARD_FACTS } from './front-end.ts';

const SERIAL_bytes = 16;
const VERSION = [0, 1, 0] as const;
const MODULE_HASH_bytes = 32;
/** When the twin's maker calibrated it. */
const FACTORY_DATE = 20260101;

const calibrationIn = (memory: DataView, at: number): Uint8Array =>
  new Uint8Array(memory.buffer, memory.byteOffset + at, layout.CALIBRATION_bytes);

/** Fills the `Board` block and the calibration in use.
 * @param serial - ASCII, 16 characters or fewer
 * @param sha256 - of the module, hex
 */
export function writeBoardFacts(memory: DataView, serial: string, sha256: string): void {
  const fields = layout.BoardLayout;
  useCalibration(memory, calibrationPage({ serial, writes: 1, date: FACTORY_DATE }, BOARD_FACTS));
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
  const fields = layout.BoardLayout;
  calibrationIn(memory, layout.CALIBRATION).set(page);
  for (const name of FLOATS) memory.setFloat32(layout.BOARD + fields[name].at, values[name], true);
  memory.setUint8(layout.BOARD_STATE + layout.BoardStateLayout.calibrated.at, layout.Calibrated.good);
  for (let i = 0; i < SERIAL_bytes; i++) {
    const code = i < head.serial.length ? head.serial.charCodeAt(i) & 127 : 0;
    memory.setUint8(layout.BOARD + fields.serialLow.at + i, code);
  }
}

/** What the `Board` block takes from the calibration. */
const FLOATS = [
  'reference_ohm', 'reference_u', 'wand_T_per_V', 'step_V', 'code_V', 'temperature_V25', 'temperature_V_per_K',
] as const satisfies readonly (keyof Calibration)[];
