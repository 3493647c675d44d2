/**
 * The way from the bus to the serial flash: cache, its control registers (XIP_CTRL), the SSI and the chip select's pin.
 * What an access costs follows from the registers that the second stage has set, as RP2040 data sheet 4.10.13 lays
 * them out; an access that the flash would not understand is a fault. Beside it the register that says why the chip
 * started.
 */
import { BasePeripheral, type RP2040 } from 'rp2040js';
import { FlashCache, type CachePolicy } from './flash-cache.ts';
import { CLOCK_MOST_Hz, PLAIN_MOST_Hz, QUAD_DUMMY_clocks, READ_PLAIN, type SerialFlash } from './serial-flash.ts';

const SSI_PAGE = 0x18000;
const XIP_CTRL_PAGE = 0x14000;
const IO_QSPI_PAGE = 0x40018;
const VREG_AND_CHIP_RESET_PAGE = 0x40064;
/** Offsets of the SSI. */
const SSI = {
  ctrlr0: 0x00, ctrlr1: 0x04, ssienr: 0x08, ser: 0x10, baudr: 0x14, sr: 0x28, dr0: 0x60, rxSampleDelay: 0xf0, spiCtrlr0: 0xf4,
} as const;
const REMEMBERED: ReadonlySet<number> = new Set([
  SSI.ctrlr0, SSI.ctrlr1, SSI.ssienr, SSI.ser, SSI.baudr, SSI.rxSampleDelay, SSI.spiCtrlr0,
]);
const SR_TFNF = 1 << 1;
const SR_TFE = 1 << 2;
const SR_RFNE = 1 << 3;
const TMOD_EEPROM_READ = 3;
const FORMAT_QUAD = 2;
const ADDRESS_bits = 24;
/** Offsets of XIP_CTRL; CTRL is 3 after a reset: enabled, bad writes fault. */
const XIP = { ctrl: 0x00, flush: 0x04, stat: 0x08, hits: 0x0c, accesses: 0x10 } as const;
const XIP_ENABLED = 1;
const XIP_AFTER_RESET = 3;
const FIFO_EMPTY = 1 << 1;
const FLUSH_READY = 1 << 0;
/** One cycle for each set's tags. */
const FLUSH_cycles = 1024;
const QSPI_SS_CTRL = 0x0c;
const OUTOVER_LOW = 2;
const CHIP_RESET = 0x08;
const HAD_POR = 1 << 8;

/**
 * Cycles of an access beside the serial clocks: bus, cache and SSI hand over to each other, chip select falls and
 * rises. No figure of the maker's; 10 is what is left beside the 20 serial clocks of two cycles each where a quad read takes 50: the
 * 400 ns a load, uncached, that the flash page of the project Oberon RTK found (about; at the chip's usual 125 MHz, which is assumed).
 */
export const HAND_OVER_cycles = 10;

/** What the SSI's registers make of an access to the flash. */
export type AccessForm = {
  readonly command: number | undefined;
  readonly mode: number;
  readonly isQuad: boolean;
  readonly dummy_clocks: number;
  readonly address_bits: number;
  /** Serial clocks of one access. */
  readonly clocks: number;
};

/**
 * @param ctrlr0 - CTRLR0: TMOD 9:8, DFS_32 20:16, SPI_FRF 22:21
 * @param spiCtrlr0 - SPI_CTRLR0: TRANS_TYPE 1:0, ADDR_L 5:2, INST_L 9:8, WAIT_CYCLES 15:11, XIP_CMD 31:24
 */
export function accessForm(ctrlr0: number, spiCtrlr0: number): AccessForm {
  const lanes = 1 << ((ctrlr0 >>> 21) & 3);
  const transfer = spiCtrlr0 & 3;
  const command_bits = [0, 4, 8, 16][(spiCtrlr0 >>> 8) & 3]!;
  const address_bits = 4 * ((spiCtrlr0 >>> 2) & 15);
  const dummy_clocks = lanes === 1 ? 0 : (spiCtrlr0 >>> 11) & 31;
  const data_bits = ((ctrlr0 >>> 16) & 31) + 1;
  const xipCommand = spiCtrlr0 >>> 24;
  return {
    command: command_bits === 0 ? undefined : xipCommand,
    mode: command_bits === 0 ? xipCommand : 0,
    isQuad: ((ctrlr0 >>> 21) & 3) === FORMAT_QUAD,
    dummy_clocks, address_bits,
    clocks: command_bits / (transfer === 2 ? lanes : 1) + address_bits / (transfer === 0 ? 1 : lanes) + dummy_clocks + data_bits / lanes,
  };
}

/** Why an access would bring nothing, or an empty string. */
function obstacle(registers: ReadonlyMap<number, number>, form: AccessForm, flash: SerialFlash): string {
  const ctrlr0 = registers.get(SSI.ctrlr0) ?? 0;
  if (!registers.get(SSI.ssienr)) return 'the SSI is off';
  if (((ctrlr0 >>> 8) & 3) !== TMOD_EEPROM_READ) return 'the SSI is not set to send, then receive';
  if (!registers.get(SSI.baudr)) return 'the SSI has no clock';
  if (form.isQuad) {
    const fits = form.address_bits === ADDRESS_bits + 8 && form.dummy_clocks === QUAD_DUMMY_clocks;
    return fits && form.command === undefined && flash.continuous && flash.quadEnabled ? '' : 'the flash does not take this quad read';
  }
  const fits = form.command === READ_PLAIN && form.address_bits === ADDRESS_bits && form.dummy_clocks === 0;
  return fits && !flash.continuous ? '' : 'the flash does not take this read';
}

export class FlashInterface {
  readonly #mcu: RP2040;
  readonly #flash: SerialFlash;
  readonly #cache: FlashCache;
  readonly #complain: (text: string) => void;
  readonly #ssi = new Map<number, number>();
  #answers: number[] = [];
  #words: number[] = [];
  #heldLow = false;
  #selectedBySsi = false;
  #control = XIP_AFTER_RESET;
  #word_cycles = 0;
  #obstacle = 'the SSI is off';
  #stall_cycles = 0;
  /** The word that the core's prefetch holds: fetched from again, it is no access. */
  #fetched = -1;
  /** Whether accesses take their time; without, all is as if every access hit. */
  counts = true;
  hits = 0;
  accesses = 0;

  constructor(mcu: RP2040, flash: SerialFlash, complain: (text: string) => void, powerOn: boolean, policy?: CachePolicy) {
    this.#mcu = mcu;
    this.#flash = flash;
    this.#cache = new FlashCache(policy);
    this.#complain = complain;
    this.#wireSsi();
    this.#wireControl();
    this.#wireSelect();
    const chipReset = mcu.peripherals[VREG_AND_CHIP_RESET_PAGE]!;
    chipReset.readUint32 = (offset) => (offset === CHIP_RESET && powerOn ? HAD_POR : 0);
  }

  /** Cycles that one word costs when it is not in the cache. */
  get word_cycles(): number {
    return this.#word_cycles;
  }

  /** Cycles that accesses have waited since this was asked last. */
  takeStall(): number {
    const stall = this.#stall_cycles;
    this.#stall_cycles = 0;
    return stall;
  }

  /**
   * The core fetches an instruction from the caching alias, or a half-word of data.
   * @returns why nothing comes, or an empty string
   */
  fetch(offset: number): string {
    const word = offset >>> 2;
    if (word === this.#fetched) return '';
    this.#fetched = word;
    return this.access(offset, 0);
  }

  /**
   * A read through one of the aliases.
   * @param alias - bits 25:24 of the address: bit 0 set does not store, bit 1 set does not look
   * @returns why nothing comes, or an empty string
   */
  access(offset: number, alias: number): string {
    this.accesses++;
    let words = 1;
    if ((this.#control & XIP_ENABLED) === 0) alias = 3;
    switch (alias) {
      case 0: words = this.#cache.read(offset); break;
      case 1: words = this.#cache.holds(offset) ? 0 : 1; break;
      case 2: words = this.#cache.store(offset); break;
      default: break;
    }
    if (words === 0) {
      this.hits++;
      return '';
    }
    if (this.#obstacle !== '') return this.#obstacle;
    if (this.counts) this.#stall_cycles += words * this.#word_cycles;
    return '';
  }

  /** A write to an alias: the caching one drops the line, the others fault. @returns whether the bus takes it */
  write(offset: number, alias: number): boolean {
    this.#fetched = -1;
    this.#cache.drop(offset);
    return alias === 0;
  }

  #wireControl(): void {
    const owner = this;
    class XipControl extends BasePeripheral {
      override readUint32(offset: number): number {
        switch (offset) {
          case XIP.ctrl: return owner.#control;
          case XIP.flush: return 0;
          case XIP.stat: return FIFO_EMPTY | FLUSH_READY;
          case XIP.hits: return owner.hits >>> 0;
          case XIP.accesses: return owner.accesses >>> 0;
          default: return super.readUint32(offset);
        }
      }

      override writeUint32(offset: number, value: number): void {
        switch (offset) {
          case XIP.ctrl: owner.#control = value & 0b1011; break;
          case XIP.flush: if (value & 1) owner.#flush(); break;
          case XIP.hits: owner.hits = 0; break;
          case XIP.accesses: owner.accesses = 0; break;
          default: super.writeUint32(offset, value);
        }
      }
    }
    this.#mcu.peripherals[XIP_CTRL_PAGE] = new XipControl(this.#mcu, 'XIP_CTRL');
  }

  /** Whoever reads flash meanwhile waits until it is over: taken as the one core that there is, at once. */
  #flush(): void {
    this.#cache.flush();
    this.#fetched = -1;
    if (this.counts) this.#stall_cycles += FLUSH_cycles;
  }

  #wireSsi(): void {
    const ssi = this.#mcu.peripherals[SSI_PAGE]!;
    const read = ssi.readUint32.bind(ssi);
    const write = ssi.writeUint32.bind(ssi);
    ssi.readUint32 = (offset) => {
      if (offset === SSI.sr) {
        // Bytes written one after the other are one transfer; who asks has let it end.
        this.#deselectBySsi();
        return SR_TFE | SR_TFNF | (this.#answers.length > 0 ? SR_RFNE : 0);
      }
      if (offset === SSI.dr0) return this.#answers.shift() ?? 0;
      return REMEMBERED.has(offset) ? (this.#ssi.get(offset) ?? 0) : read(offset);
    };
    ssi.writeUint32 = (offset, value) => {
      if (offset === SSI.dr0) {
        this.#send(value >>> 0);
      } else if (REMEMBERED.has(offset)) {
        this.#ssi.set(offset, value >>> 0);
        if (offset === SSI.ssienr) {
          this.#deselectBySsi();
          this.#answers = [];
          this.#words = [];
        }
        this.#settle();
      } else {
        write(offset, value);
      }
    };
  }

  /** Takes in what the registers and the flash now are. */
  #settle(): void {
    const form = accessForm(this.#ssi.get(SSI.ctrlr0) ?? 0, this.#ssi.get(SSI.spiCtrlr0) ?? 0);
    const divider = this.#ssi.get(SSI.baudr) ?? 0;
    this.#obstacle = obstacle(this.#ssi, form, this.#flash);
    this.#word_cycles = form.clocks * divider + HAND_OVER_cycles;
    if (this.#obstacle !== '') return;
    const clock_Hz = this.#mcu.clkSys / divider;
    const most_Hz = form.isQuad ? CLOCK_MOST_Hz : PLAIN_MOST_Hz;
    if (clock_Hz > most_Hz) this.#complain(`the flash takes ${most_Hz / 1e6} MHz in this read, not ${clock_Hz / 1e6}`);
  }

  #send(value: number): void {
    if (!this.#ssi.get(SSI.ssienr)) return;
    const form = accessForm(this.#ssi.get(SSI.ctrlr0) ?? 0, this.#ssi.get(SSI.spiCtrlr0) ?? 0);
    if (form.isQuad) {
      this.#words.push(value);
      const expected = form.command === undefined ? 1 : 2;
      if (this.#words.length < expected) return;
      const command = form.command === undefined ? undefined : this.#words[0];
      if (!this.#flash.readQuad(command, value & 0xff)) this.#complain('the flash does not understand this quad read');
      this.#words = [];
      this.#answers.push(0xffffffff);
      this.#settle();
      return;
    }
    if (!this.#heldLow && !this.#selectedBySsi && this.#ssi.get(SSI.ser)) {
      this.#selectedBySsi = true;
      this.#flash.select();
    }
    this.#answers.push(this.#heldLow || this.#selectedBySsi ? this.#flash.exchange(value & 0xff) : 0xff);
  }

  #deselectBySsi(): void {
    if (!this.#selectedBySsi) return;
    this.#selectedBySsi = false;
    this.#flash.deselect();
  }

  /** Chip select, overridden at the pin. */
  #wireSelect(): void {
    let control = 0;
    const qspi = this.#mcu.peripherals[IO_QSPI_PAGE]!;
    qspi.readUint32 = (offset) => (offset === QSPI_SS_CTRL ? control : 0);
    qspi.writeUint32 = (offset, value) => {
      if (offset !== QSPI_SS_CTRL) return;
      control = value;
      const low = ((value >>> 8) & 3) === OUTOVER_LOW;
      if (low && !this.#heldLow) this.#flash.select();
      if (!low && this.#heldLow) this.#flash.deselect();
      this.#heldLow = low;
    };
  }
}
