/**
 * The microcontroller: rp2040js with the bus of the real chip. What silicon answers with a fault (a misaligned
 * access, an address where nothing is, a write to an uncached alias of the flash, an undefined instruction) is a fault
 * here too, and what it waits for, it waits for here: instructions and data that are not in the flash cache.
 */
import { RP2040 } from 'rp2040js';
import type { CachePolicy } from './flash-cache.ts';
import { FlashCells, type WriteTimes } from './flash-cells.ts';
import { FlashInterface } from './flash-interface.ts';
import { patchAdcRoundRobin } from './patches/adc-round-robin.ts';
import { patchUsbAbort } from './patches/usb-abort.ts';
import { patchUsbInWaits, type HeldBuffers } from './patches/usb-in-waits.ts';
import { patchUsbStall, type Stalls } from './patches/usb-stall.ts';
import { patchUsbSuspend, type BusPower } from './patches/usb-suspend.ts';
import { patchWatchdogStops, type WatchdogState } from './patches/watchdog-stops.ts';
import { wakeIfOwed } from './patches/sleep-wakes.ts';
import { SerialFlash } from './serial-flash.ts';

const FLASH_START = 0x10000000;
const FLASH_WINDOW_bytes = 0x1000000;
const RAM_START = 0x20000000;
const RAM_bytes = 264 * 1024;
/** Where the boot ROM copies the second stage to, and its size: data sheet 2.8.1.3. */
const SECOND_STAGE = 0x20041f00;
const SECOND_STAGE_bytes = 256;
const LR = 14;
const HARD_FAULT = 3;
/** One turn of the ADC at 480 kS/s; the emulator's own figure of 2 us needs a second alarm for the rest. */
const ADC_TURN_us = 100 / 48;

/** An access that silicon answers with a hard fault. */
export class BusFault extends Error {
  override name = 'BusFault';
}

class Bus extends RP2040 {
  /** Set by the chip before anything runs. */
  flashInterface!: FlashInterface;
  readonly #ram16 = new Uint16Array(this.sram.buffer);
  readonly #ram32 = new Uint32Array(this.sram.buffer);
  readonly #flash32 = new Uint32Array(this.flash.buffer);

  #refuse(what: string, address: number): never {
    throw new BusFault(`${what} at 0x${(address >>> 0).toString(16)}`);
  }

  override readUint16(address: number): number {
    const inFlash = address - FLASH_START;
    if (address & 1) this.#refuse('misaligned 16-bit read', address);
    if (inFlash >= 0 && inFlash < FLASH_WINDOW_bytes) {
      const obstacle = this.flashInterface.fetch(inFlash);
      if (obstacle !== '') this.#refuse(`${obstacle}: read`, address);
      return this.flash16[inFlash >> 1];
    }
    const inRam = address - RAM_START;
    if (inRam >= 0 && inRam < RAM_bytes) return this.#ram16[inRam >> 1];
    return super.readUint16(address);
  }

  override readUint32(address: number): number {
    address = address >>> 0;
    if (address & 3) this.#refuse('misaligned 32-bit read', address);
    const inRam = address - RAM_START;
    if (inRam >= 0 && inRam < RAM_bytes) return this.#ram32[inRam >> 2];
    if (address >>> 26 === FLASH_START >>> 26) {
      const inFlash = address & (FLASH_WINDOW_bytes - 1);
      const obstacle = this.flashInterface.access(inFlash, (address >>> 24) & 3);
      if (obstacle !== '') this.#refuse(`${obstacle}: read`, address);
      return this.#flash32[inFlash >> 2];
    }
    if (!isMapped(address)) this.#refuse('read where nothing is', address);
    return super.readUint32(address);
  }

  override readUint8(address: number): number {
    const inRam = address - RAM_START;
    if (inRam >= 0 && inRam < RAM_bytes) return this.sram[inRam];
    // The bus of the flash is 32 bits wide: the whole word comes.
    if (address >>> 26 === FLASH_START >>> 26) return (this.readUint32(address & ~3) >>> (8 * (address & 3))) & 0xff;
    return super.readUint8(address);
  }

  override writeUint32(address: number, value: number): void {
    address = address >>> 0;
    if (address & 3) this.#refuse('misaligned 32-bit write', address);
    const inRam = address - RAM_START;
    if (inRam >= 0 && inRam < RAM_bytes) {
      this.#ram32[inRam >> 2] = value;
      return;
    }
    if (address >>> 26 === FLASH_START >>> 26) {
      if (!this.flashInterface.write(address & (FLASH_WINDOW_bytes - 1), (address >>> 24) & 3)) {
        this.#refuse('write to an alias of the flash that does not cache', address);
      }
      return;
    }
    if (address < FLASH_START || !isMapped(address)) this.#refuse('write where nothing can be written', address);
    super.writeUint32(address, value);
  }

  override writeUint16(address: number, value: number): void {
    const inRam = address - RAM_START;
    if (address & 1) this.#refuse('misaligned 16-bit write', address);
    if (inRam >= 0 && inRam < RAM_bytes) this.#ram16[inRam >> 1] = value;
    else if (address >>> 26 === FLASH_START >>> 26) this.writeUint32(address & ~3, 0);
    else super.writeUint16(address, value);
  }

  override writeUint8(address: number, value: number): void {
    const inRam = address - RAM_START;
    if (inRam >= 0 && inRam < RAM_bytes) this.sram[inRam] = value;
    else if (address >>> 26 === FLASH_START >>> 26) this.writeUint32(address & ~3, 0);
    else super.writeUint8(address, value);
  }
}

/** Flash, its cache's registers, SSI, peripherals, DMA, USB, SIO and the core's own: RP2040 data sheet 2.2. RAM is served before. */
function isMapped(address: number): boolean {
  switch (address >>> 28) {
    case 0: return address < 0x4000;
    case 1: return address < 0x14000020 || (address >= 0x18000000 && address < 0x18004000);
    case 4: return address < 0x40070000;
    case 5: return address < 0x50500000;
    case 13: return address < 0xd0000200;
    case 14: return address >>> 12 === 0xe000e;
    default: return false;
  }
}

/** What the emulator's own clock offers and its published type leaves out. */
export type SimulatedClock = {
  readonly nanos: number;
  readonly nanosToNextAlarm: number;
  tick(delta_ns: number): void;
};

/** Causes of a start that the chip tells its firmware. */
export type StartCause = {
  /** Contents of the RAM that survived; left out when the power was gone. */
  readonly ram?: Uint8Array;
  /** The watchdog's registers that survive its bite. */
  readonly watchdog?: WatchdogState;
  /** Whether CHIP_RESET says that the supply was away. */
  readonly powerOn: boolean;
};

/** What is soldered beside the chip, and how its accesses are counted. */
export type FlashOptions = {
  /** 8 bytes. */
  readonly uniqueId: Uint8Array;
  /** As the part left its factory; enabled when left out. */
  readonly quadEnabled?: boolean;
  readonly policy?: CachePolicy;
  /** Whether accesses that miss the cache take their time; true when left out. */
  readonly counts?: boolean;
  /** How long an erase and a program take; as a rule when left out. */
  readonly times?: WriteTimes;
};

/** Told of every instruction: where it lies, what it took, and how much of that it waited for the flash. */
export type Observer = (address: number, cycles: number, stall_cycles: number) => void;

/** One life of the chip, from reset to reset. */
export class Chip {
  readonly mcu: RP2040;
  readonly clock: SimulatedClock;
  readonly held: HeldBuffers;
  readonly stalls: Stalls;
  readonly busPower: BusPower;
  readonly watchdog: WatchdogState;
  readonly flash: FlashInterface;
  readonly cells: FlashCells;
  /** What no firmware of ours does: unknown registers, faults. Empty in a healthy run. */
  readonly complaints: string[] = [];
  /** Nanoseconds spent asleep. */
  slept_ns = 0;
  /** Cycles that instructions took, waiting for the flash included. */
  cycles = 0;
  /** Cycles of them that were waited. */
  stall_cycles = 0;
  observer: Observer | null = null;
  /** Stopped for good: a fault inside the fault handler. Only the watchdog helps. */
  lockedUp = false;
  bitten = false;

  constructor(cause: StartCause, flash: FlashOptions) {
    const mcu = new Bus();
    this.mcu = mcu;
    this.clock = mcu.clock as unknown as SimulatedClock;
    this.cells = new FlashCells(mcu.flash, () => this.clock.nanos, flash.times);
    const part = new SerialFlash(flash.uniqueId, flash.quadEnabled ?? true, this.cells);
    this.flash = new FlashInterface(mcu, part, (text) => void this.complaints.push(text), cause.powerOn, flash.policy);
    this.flash.counts = flash.counts ?? true;
    mcu.flashInterface = this.flash;
    mcu.logger = {
      debug() {}, info() {},
      warn: (part, text) => void this.complaints.push(`${part}: ${text}`),
      error: (part, text) => void this.complaints.push(`${part}: ${text}`),
    };
    patchAdcRoundRobin(mcu);
    Object.assign(mcu.adc, { sampleTime: ADC_TURN_us });
    this.held = patchUsbInWaits(mcu);
    patchUsbAbort(mcu, this.held, (text) => void this.complaints.push(text));
    this.stalls = patchUsbStall(mcu);
    this.busPower = patchUsbSuspend(mcu);
    this.watchdog = patchWatchdogStops(mcu, () => { this.bitten = true; });
    mcu.onBreak = (code) => {
      throw new BusFault(`undefined or break instruction ${code}`);
    };
    if (cause.ram) mcu.sram.set(cause.ram);
    if (cause.watchdog) {
      this.watchdog.reason = cause.watchdog.reason;
      this.watchdog.scratchData.set(cause.watchdog.scratchData);
    }
  }

  /** Starts the second stage from RAM, as the boot ROM does, which has talked the flash into plain commands before. */
  start(): void {
    const { core, flash, sram } = this.mcu;
    sram.set(flash.subarray(0, SECOND_STAGE_bytes), SECOND_STAGE - RAM_START);
    core.SP = SECOND_STAGE;
    core.registers[LR] = 0;
    core.PC = SECOND_STAGE;
  }

  /** One instruction, and what it waited for. @returns cycles */
  step(): number {
    const { core } = this.mcu;
    const address = core.PC;
    const taken = core.executeInstruction();
    const stall = this.flash.takeStall();
    const cycles = taken + stall;
    this.cycles += cycles;
    this.stall_cycles += stall;
    if (this.observer !== null) this.observer(address, cycles, stall);
    return cycles;
  }

  get now_ns(): number {
    return this.clock.nanos;
  }

  /** Runs until a moment, or until the watchdog bites. */
  runUntil(until_ns: number, onSleep: () => void): void {
    const { mcu, clock } = this;
    const { core } = mcu;
    while (clock.nanos < until_ns && !this.bitten) {
      try {
        if (core.waiting || this.lockedUp) {
          if (!this.lockedUp && wakeIfOwed(mcu)) continue;
          onSleep();
          const left_ns = until_ns - clock.nanos;
          const sleep_ns = Math.min(clock.nanosToNextAlarm || left_ns, left_ns);
          this.slept_ns += sleep_ns;
          clock.tick(sleep_ns);
        } else {
          this.#execute(until_ns);
        }
      } catch (fault) {
        if (!(fault instanceof BusFault)) throw fault;
        this.#hardFault(fault);
      }
    }
  }

  /** Instructions up to the next sleep. */
  #execute(until_ns: number): void {
    const { mcu, clock } = this;
    const { core } = mcu;
    let cycle_ns = 1e9 / mcu.clkSys;
    let instructions = 0;
    while (!core.waiting && clock.nanos < until_ns && !this.bitten) {
      clock.tick(this.step() * cycle_ns);
      if ((++instructions & 1023) === 0) cycle_ns = 1e9 / mcu.clkSys;
    }
  }

  #hardFault(fault: BusFault): void {
    const { core } = this.mcu;
    this.complaints.push(`hard fault: ${fault.message}, pc 0x${(core.PC >>> 0).toString(16)}`);
    if (core.IPSR === HARD_FAULT) {
      this.lockedUp = true;
      return;
    }
    try {
      core.waiting = false;
      core.exceptionEntry(HARD_FAULT);
    } catch {
      this.lockedUp = true;
    }
  }
}
