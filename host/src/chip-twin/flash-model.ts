/**
 * The serial flash as far as firmware talks to it by itself: the unique number (command 4Bh, four dummy bytes,
 * eight bytes of number) through the SSI, with the chip select overridden at the pin. Reading code and data
 * (XIP) is the emulator's own. Beside it the register that says why the chip started.
 */
import type { RP2040 } from 'rp2040js';

const SSI_PAGE = 0x18000;
const IO_QSPI_PAGE = 0x40018;
const VREG_AND_CHIP_RESET_PAGE = 0x40064;
const SSI_SR = 0x28;
const SSI_SER = 0x10;
const SSI_DR0 = 0x60;
const SSI_SPI_CTRLR0 = 0xf4;
const QSPI_SS_CTRL = 0x0c;
const OUTOVER_LOW = 2;
const SR_TFNF = 1 << 1;
const SR_TFE = 1 << 2;
const SR_RFNE = 1 << 3;
const CHIP_RESET = 0x08;
const HAD_POR = 1 << 8;
const COMMAND_UNIQUE_ID = 0x4b;
const DUMMY_bytes = 4;

/** @param uniqueId - the flash's own number, 8 bytes @param powerOn - whether the supply was away */
export function wireFlash(mcu: RP2040, uniqueId: Uint8Array, powerOn: boolean): void {
  const ssi = mcu.peripherals[SSI_PAGE];
  const read = ssi.readUint32.bind(ssi);
  const write = ssi.writeUint32.bind(ssi);
  let selected = false;
  let ser = 0;
  let sent: number[] = [];
  let answers: number[] = [];
  ssi.readUint32 = (offset) => {
    if (offset === SSI_SR) return SR_TFE | SR_TFNF | (answers.length > 0 ? SR_RFNE : 0);
    if (offset === SSI_DR0) return answers.shift() ?? 0;
    if (offset === SSI_SER) return ser;
    return read(offset);
  };
  ssi.writeUint32 = (offset, value) => {
    if (offset === SSI_SER) {
      ser = value;
    } else if (offset === SSI_DR0) {
      const index = sent.length - 1 - DUMMY_bytes;
      answers.push(selected && sent[0] === COMMAND_UNIQUE_ID && index >= 0 ? (uniqueId[index] ?? 0xff) : 0xff);
      sent.push(value & 0xff);
    } else if (offset !== SSI_SPI_CTRLR0) {
      write(offset, value);
    }
  };
  let ssCtrl = 0;
  const qspi = mcu.peripherals[IO_QSPI_PAGE];
  qspi.readUint32 = (offset) => (offset === QSPI_SS_CTRL ? ssCtrl : 0);
  qspi.writeUint32 = (offset, value) => {
    if (offset !== QSPI_SS_CTRL) return;
    ssCtrl = value;
    selected = ((value >> 8) & 3) === OUTOVER_LOW;
    sent = [];
    answers = [];
  };
  const chipReset = mcu.peripherals[VREG_AND_CHIP_RESET_PAGE];
  chipReset.readUint32 = (offset) => (offset === CHIP_RESET && powerOn ? HAD_POR : 0);
}
