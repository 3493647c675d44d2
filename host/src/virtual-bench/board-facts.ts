/** What a simulated board writes about itself into the module's memory before `start()`. */
import * as layout from '../logic/layout.generated.ts';
import { BOARD_FACTS } from './front-end.ts';

const SERIAL_bytes = 16;
const VERSION = [0, 1, 0] as const;
const MODULE_HASH_bytes = 32;

/** Fills the `Board` block.
 * @param serial - ASCII, 16 characters or fewer
 * @param sha256 - of the module, hex
 */
export function writeBoardFacts(memory: DataView, serial: string, sha256: string): void {
  const fields = layout.BoardLayout;
  const float = (field: { readonly at: number }, value: number): void =>
    memory.setFloat32(layout.BOARD + field.at, value, true);
  float(fields.reference_ohm, BOARD_FACTS.reference_ohm);
  float(fields.reference_u, BOARD_FACTS.reference_u);
  float(fields.wand_T_per_V, BOARD_FACTS.wand_T_per_V);
  float(fields.step_V, BOARD_FACTS.step_V);
  float(fields.code_V, BOARD_FACTS.code_V);
  float(fields.temperature_V25, BOARD_FACTS.temperature_V25);
  float(fields.temperature_V_per_K, BOARD_FACTS.temperature_V_per_K);
  memory.setUint8(layout.BOARD_STATE + layout.BoardStateLayout.calibrated.at, layout.Calibrated.good);
  memory.setUint8(layout.BOARD + fields.resetReason.at, 0);
  [fields.firmwareMajor, fields.firmwareMinor, fields.firmwarePatch].forEach((field, i) =>
    memory.setUint8(layout.BOARD + field.at, VERSION[i]),
  );
  for (let i = 0; i < SERIAL_bytes; i++) {
    const code = i < serial.length ? serial.charCodeAt(i) & 127 : 0;
    memory.setUint8(layout.BOARD + fields.serialLow.at + i, code);
  }
  for (let i = 0; i < MODULE_HASH_bytes; i++) {
    const byte = Number.parseInt(sha256.slice(2 * i, 2 * i + 2), 16);
    memory.setUint8(layout.BOARD + fields.hash0.at + i, byte);
  }
}
