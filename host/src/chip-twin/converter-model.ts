/**
 * Register-level model of the 24-bit converter, ADS124S08 (data sheet SBAS660C): commands, registers with
 * their reset values, first-conversion latency, ready line, current source, status and check byte, reset pin.
 * What it measures comes from the simulated front end.
 */
import { conversion_s } from '../virtual-bench/converter.ts';

/** What the converter sees of the world. */
export interface ConverterWorld {
  now_ns(): number;
  /** Calls back once, `delay_ns` from now; a later call replaces an earlier one, a negative delay cancels. */
  later(delay_ns: number, call: () => void): void;
  setCurrent(current_nA: number): void;
  /** Code of a conversion that starts now, at gain 1. @param input - Input @param rate - Rate */
  convert(input: number, rate: number): number;
  setReady(low: boolean): void;
  complain(text: string): void;
}

/** How the part can be broken. */
export interface ConverterFaults {
  /** Never gets ready. */
  silent: boolean;
  /** Gets ready, but its status says that it is not. */
  stuckBusy: boolean;
  /** The line to us is stuck high. */
  allOnes: boolean;
  /** The line to us is stuck low. */
  allZeros: boolean;
  /** Has reset itself: the power-on flag is set. */
  badStatus: boolean;
  /** One bit in so many, each way, is wrong; 0 = none. */
  bitFlipOneIn: number;
}

export const NO_CONVERTER_FAULTS: ConverterFaults = {
  silent: false, stuckBusy: false, allOnes: false, allZeros: false, badStatus: false, bitFlipOneIn: 0,
};

const REGISTER_COUNT = 18;
const ID = 0;
const STATUS = 1;
const INPMUX = 2;
const PGA = 3;
const DATARATE = 4;
const REF = 5;
const IDACMAG = 6;
const IDACMUX = 7;
const SYS = 9;
/** Data sheet 9.6.1, in the order of addresses. */
const RESET_VALUES = [0x00, 0x80, 0x01, 0x00, 0x14, 0x10, 0x00, 0xff, 0x00, 0x10, 0, 0, 0, 0, 0, 0x40, 0, 0];
const READ_ONLY = new Set([ID]);
const CURRENTS_nA = [0, 10e3, 50e3, 100e3, 250e3, 500e3, 750e3, 1000e3, 1500e3, 2000e3];
/** Data rate code to what the front end can simulate: rate and latency of the first result. */
const RATES: Readonly<Record<number, { rate: number; latency_ns: number }>> = {
  4: { rate: 0, latency_ns: conversion_s(0) * 1e9 },
  9: { rate: 1, latency_ns: conversion_s(1) * 1e9 },
};
/** INPMUX to the inputs that the board has wired (firmware/drivers/pins.h). */
const INPUTS: Readonly<Record<number, number>> = { 0x12: 0, 0x37: 1, 0x4c: 2, 0x5c: 3, 0x6c: 4 };
/** 4096 periods of 4.096 MHz: nothing is heard and nothing told before. */
const DEAF_ns = 1e6;
/** From a reset to the ready bit: parts differ; 2.2 ms is the longest that the data sheet allows after the supply came. */
export const READY_LEAST_ns = 1.05e6;
export const READY_MOST_ns = 2.2e6;
/** Ready bit of STATUS: 1 = not ready yet. */
const NOT_READY = 0x40;
const CODE_MOST = 2 ** 23 - 1;

/** CRC-8, polynomial x^8 + x^2 + x + 1, start 0: table-free, one bit at a time. */
export function crc8(bytes: readonly number[]): number {
  let remainder = 0;
  for (const byte of bytes) {
    for (let bit = 7; bit >= 0; bit--) {
      const feedback = (remainder >> 7) ^ ((byte >> bit) & 1);
      remainder = ((remainder << 1) & 0xff) ^ (feedback ? 0x07 : 0);
    }
  }
  return remainder;
}

export class ConverterModel {
  faults: ConverterFaults = { ...NO_CONVERTER_FAULTS };
  readonly registers = Uint8Array.from(RESET_VALUES);
  readonly #world: ConverterWorld;
  readonly #flip: () => number;
  #selected = false;
  #inReset = true;
  #reset_ns = 0;
  /** From a reset to the ready bit, nanoseconds. */
  readyAfter_ns: number;
  /** Period of the part's own clock over its nominal one; the data sheet allows 1.5 % either way. */
  clockRatio = 1;
  readonly #floats: () => number;
  #startPin = false;
  #converting = false;
  #code = 0;
  #isNew = false;
  /** Bytes received since chip select fell, and what is to be sent next. */
  #received: number[] = [];
  #answer: number[] = [];

  /**
   * @param flip - a random whole number below its argument's bound; decides which bits flip
   * @param ready_ns - from a reset to the ready bit
   */
  constructor(world: ConverterWorld, flip: (bound: number) => number, ready_ns = READY_MOST_ns) {
    this.#world = world;
    this.readyAfter_ns = ready_ns;
    this.#floats = () => (flip(2) === 0 ? 0 : 0xff);
    this.#flip = () => (this.faults.bitFlipOneIn > 0 && flip(this.faults.bitFlipOneIn) === 0 ? 1 : 0);
  }

  /** Current that the part drives now, nanoamperes. */
  get current_nA(): number {
    const referenceOn = (this.registers[REF] & 3) !== 0;
    const toPin0 = (this.registers[IDACMUX] & 15) === 0;
    return referenceOn && toPin0 ? (CURRENTS_nA[this.registers[IDACMAG] & 15] ?? 0) : 0;
  }

  /** Whether a conversion was started and has not ended. */
  get isConverting(): boolean {
    return this.#converting;
  }

  setReset(low: boolean): void {
    if (low === this.#inReset) return;
    this.#inReset = low;
    if (low) this.#reset();
    else this.#reset_ns = this.#world.now_ns();
  }

  setSelect(low: boolean): void {
    this.#selected = low;
    this.#received = [];
    this.#answer = [];
  }

  setStart(high: boolean): void {
    const rises = high && !this.#startPin;
    this.#startPin = high;
    if (rises && !this.#inReset) this.#begin();
  }

  /** Exchanges one byte. @returns what the part sends at the same time */
  exchange(byte: number): number {
    if (!this.#selected || this.#inReset) return 0;
    // A part that does not listen drives nothing: what is read is chance.
    if (this.#world.now_ns() < this.#reset_ns + DEAF_ns) return this.#floats();
    let out = this.#answer.shift() ?? 0;
    this.#take(this.#disturb(byte));
    if (this.faults.allOnes) out = 0xff;
    if (this.faults.allZeros) out = 0;
    return this.#disturb(out);
  }

  get #isReady(): boolean {
    return this.#world.now_ns() >= this.#reset_ns + this.readyAfter_ns;
  }

  #disturb(byte: number): number {
    if (this.faults.bitFlipOneIn === 0) return byte;
    let disturbed = byte;
    for (let bit = 0; bit < 8; bit++) disturbed ^= this.#flip() << bit;
    return disturbed;
  }

  #reset(): void {
    this.registers.set(RESET_VALUES);
    this.#converting = false;
    this.#isNew = false;
    this.#world.later(-1, () => {});
    this.#world.setReady(false);
    this.#world.setCurrent(0);
  }

  #take(byte: number): void {
    const received = this.#received;
    received.push(byte);
    const command = received[0];
    if (command >= 0x20 && command < 0x40) {
      if (received.length === 2) this.#readRegisters(command & 31, (byte & 31) + 1);
    } else if (command >= 0x40 && command < 0x60) {
      if (received.length > 2 && received.length <= (received[1] & 31) + 3) {
        this.#writeRegister((command & 31) + received.length - 3, byte);
      }
      if (received.length === (received[1] & 31) + 3) this.#received = [];
    } else {
      this.#received = [];
      this.#command(command);
    }
  }

  #command(command: number): void {
    switch (command) {
      case 0x00: case 0x01: case 0x02: case 0x03: return;      // NOP, WAKEUP
      case 0x06: case 0x07:
        this.#reset();
        this.#reset_ns = this.#world.now_ns();
        return;
      case 0x08: case 0x09: this.#begin(); return;
      case 0x0a: case 0x0b:
        this.#converting = false;
        this.#world.later(-1, () => {});
        return;
      case 0x12: case 0x13: this.#readData(); return;
      default:
        this.#world.complain(`the converter has no command 0x${command.toString(16)}`);
    }
  }

  #readRegisters(address: number, count: number): void {
    const notReady = this.#isReady ? 0 : NOT_READY;
    for (let i = 0; i < count; i++) {
      this.#answer.push((this.registers[address + i] ?? 0) | (address + i === STATUS ? notReady : 0));
    }
    this.#received = [];
    // Bytes clocked out are NOPs to us: they must not be taken for commands of their own.
  }

  #writeRegister(address: number, value: number): void {
    if (address >= REGISTER_COUNT || READ_ONLY.has(address)) return;
    // Before the part is ready its own start overwrites what is written.
    if (!this.#isReady) return;
    const before_nA = this.current_nA;
    this.registers[address] = value;
    if (this.current_nA !== before_nA) this.#world.setCurrent(this.current_nA);
  }

  #readData(): void {
    const status = (this.registers[STATUS] & 0x80) | (this.faults.badStatus ? 0x80 : 0) |
      (this.#isNew && !this.faults.stuckBusy ? 0 : 0x40);
    const code = this.#code & 0xffffff;
    const bytes = [code >> 16, (code >> 8) & 255, code & 255];
    if (this.registers[SYS] & 1) bytes.unshift(status);
    if (this.registers[SYS] & 2) bytes.push(crc8(bytes));
    this.#answer.push(...bytes);
    this.#world.setReady(false);
  }

  #begin(): void {
    const { registers } = this;
    const input = INPUTS[registers[INPMUX]];
    const rate = (registers[DATARATE] & 0x10) !== 0 ? RATES[registers[DATARATE] & 15] : undefined;
    this.#world.setReady(false);
    this.#isNew = false;
    this.#converting = true;
    if (input === undefined) this.#world.complain(`nothing is wired to INPMUX 0x${registers[INPMUX].toString(16)}`);
    if (rate === undefined) this.#world.complain(`data rate 0x${registers[DATARATE].toString(16)} is not simulated`);
    if ((registers[REF] & 0x0f) !== 0x0a) this.#world.complain(`REF 0x${registers[REF].toString(16)} is not the internal reference`);
    if (input === undefined || rate === undefined) return;
    if (this.faults.silent) return;
    const gain = (registers[PGA] & 0x18) === 0x08 ? 2 ** (registers[PGA] & 7) : 1;
    const code = Math.round(this.#world.convert(input, rate.rate) * gain);
    this.#world.later(rate.latency_ns * this.clockRatio, () => {
      if (!this.#converting) return;
      this.#converting = false;
      this.#code = Math.max(-CODE_MOST - 1, Math.min(CODE_MOST, code));
      this.#isNew = true;
      this.#world.setReady(true);
      if ((registers[DATARATE] & 0x20) === 0 && this.#startPin) this.#begin();
    });
  }
}
