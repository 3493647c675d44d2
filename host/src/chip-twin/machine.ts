/**
 * The whole tester: the emulated chip over its restarts, and around it the parts of the board, the simulated
 * front end and the person. Pins are the only way between them.
 */
import { GPIOPinState } from 'rp2040js';
import { RESTING_LIGHTS } from '../virtual-bench/board-twin.ts';
import { heldPage, type HeldCalibration } from '../virtual-bench/board-facts.ts';
import { FrontEnd } from '../virtual-bench/front-end.ts';
import { Person } from '../virtual-bench/person.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { RandomStream } from '../virtual-bench/random.ts';
import { CALIBRATION_SECTORS, SECTORS_bytes } from '../logic/calibration-page.ts';
import { Chip, type FlashOptions, type Observer, type StartCause } from './chip.ts';
import { ConverterModel, READY_LEAST_ns, READY_MOST_ns } from './converter-model.ts';
import type { ElfSymbol } from './elf.ts';
import type { Image } from './image.ts';
import { SwitchRegisters } from './switch-registers.ts';
import { SwitchTiming } from './switch-timing.ts';
import { UsbHost } from './usb-host.ts';

const FLASH_START = 0x10000000;
const RAM_START = 0x20000000;
/** wasm's page, of which a module's memory has whole ones. */
const PAGE_bytes = 65536;
const TIMER_PAGE = 0x40054;
const TIMER_ARMED = 0x20;
/** The logic's wake-up, and the short sleeps in which a driver waits for a part; the third one in use only ticks. */
const ALARMS_AWAITED = 0b1001;
const TICK_INTERRUPT = 1 << 1;
const ADC_START_MANY = 1 << 3;
/** firmware/drivers/pins.h */
const PIN = {
  wandPresent: 1, button: 2, green: 3, railsGood: 4, railsEnable: 5, red: 7, switchOutputEnable: 8, switchLatch: 9,
  converterSelect: 17, converterReady: 20, converterStart: 21, converterReset: 22,
} as const;
/** Where the firmware keeps what the lights show: the person reads the rhythm, we read the number. */
const LIGHT_SYMBOL = 'pattern';
const PRESS_ns = 80e6;
const LONG_PRESS_ns = 1200e6;
/** Between two presses of the same hand. */
const RELEASE_ns = 120e6;
/** WATCHDOG.REASON: the time ran out. RP2040 data sheet 4.7. */
const WATCHDOG_TIMER = 1;
const SCRATCH_REGISTERS = 8;
/** 2 ms after the enable pin the analog rails are good. */
const RAILS_UP_ns = 2e6;
/** The charge pump (LM27762, data sheet SNVSAF7) pulls its open-drain PGOOD low while both rails are good; the board's resistor pulls up. */
const PGOOD_LEVEL = { good: false, notGood: true } as const;
const BITS_PER_BYTE = 8;
/** The flash part's own number: "TWIN", 1. */
const UNIQUE_ID = Uint8Array.from([0x54, 0x57, 0x49, 0x4e, 0, 0, 0, 1]);

/** A level that a finger gives the button, and for how long. */
export type Level = { readonly pressed: boolean; readonly hold_ns: number };

export type MachineOptions = {
  readonly image: Image;
  readonly pickup: Pickup;
  readonly seed: number;
  readonly serial: string;
  readonly automatic: boolean;
  /** What the flash holds of calibration: in the first of its last two sectors, or in both; its maker's when left out. */
  readonly calibration?: HeldCalibration | readonly [Uint8Array, Uint8Array];
  /** The flash part and how its accesses are counted. */
  readonly flash?: Partial<FlashOptions>;
  /** Told when the switches, the current or the lights change or a conversion starts, with simulated seconds. */
  readonly onCommand?: (command: string, value: number, time_s: number) => void;
};

type Alarm = { schedule(nanos: number): void; cancel(): void };

export class Machine {
  readonly frontEnd: FrontEnd;
  readonly person: Person;
  readonly converter: ConverterModel;
  readonly switches: SwitchRegisters;
  readonly usb = new UsbHost();
  chip!: Chip;
  #observer: Observer | null = null;
  /** Starts of the chip so far. */
  starts = 0;
  #railsBroken = false;
  /** The sectors of the calibration as the last life of the chip left them. */
  #kept: Uint8Array | null = null;
  /** Complaints of all lives of the chip, and of the parts around it. */
  readonly complaints: string[] = [];
  readonly #options: MachineOptions;
  readonly #chance: RandomStream;
  #epoch_ns = 0;
  #light = 0;
  #light_address: number;
  #converterDone: Alarm | null = null;
  #converterCall: () => void = () => {};
  #handAlarm: Alarm | null = null;
  #personAlarm: Alarm | null = null;
  /** Levels that the hand is still to give the button. */
  #hand: Level[] = [];
  #handHolds = false;
  #testRuns = false;

  constructor(options: MachineOptions) {
    this.#options = options;
    this.#chance = new RandomStream(options.seed, 'chip twin');
    this.frontEnd = new FrontEnd(options.pickup, options.seed);
    this.person = new Person(this.frontEnd, new RandomStream(options.seed, 'person'), options.automatic);
    this.person.onPress = () => this.press(false);
    const flip = (bound: number): number => this.#chance.bits() % bound;
    const timing = new SwitchTiming((text) => void this.complaints.push(text));
    this.switches = new SwitchRegisters((word) => {
      this.#catchUp();
      timing.set(word, this.time_s * 1e9);
      this.frontEnd.setSwitches(word);
      this.#told('switches', word);
    }, flip);
    this.converter = new ConverterModel({
      now_ns: () => this.chip.now_ns,
      later: (delay_ns, call) => {
        this.#converterCall = call;
        if (delay_ns < 0) this.#converterDone?.cancel();
        else this.#converterDone?.schedule(delay_ns);
      },
      setCurrent: (current_nA) => {
        this.#catchUp();
        this.frontEnd.setCurrent(current_nA);
        this.#told('drive', current_nA);
      },
      convert: (input, rate) => {
        this.#catchUp();
        this.#told('convert', input | (rate << 8));
        return this.frontEnd.convert(input, rate).code;
      },
      setReady: (low) => this.#setPin(PIN.converterReady, !low),
      complain: (text) => void this.complaints.push(text),
    }, flip, new RandomStream(options.seed, 'converter start').between(READY_LEAST_ns, READY_MOST_ns));
    this.#light_address = this.symbol(LIGHT_SYMBOL).address - RAM_START;
    this.powerOn();
  }

  /** Lets somebody watch every instruction, over restarts too. */
  watch(observer: Observer | null): void {
    this.#observer = observer;
    this.chip.observer = observer;
  }

  /** Simulated seconds since the power came on. */
  get time_s(): number {
    return (this.#epoch_ns + this.chip.now_ns) * 1e-9;
  }

  /** Pattern that the lights show. */
  get light(): number {
    return this.#light;
  }

  /** The power comes on (again): nothing survives. */
  powerOn(): void {
    this.#start({ powerOn: true });
  }

  /** The supply was away so shortly that the RAM still holds. */
  brownOut(): void {
    this.#start({ powerOn: true, ram: this.chip.mcu.sram });
  }

  /** A new image was copied to the boot drive: the boot ROM, which had the chip until now, starts it by the watchdog. */
  flashed(): void {
    this.#start({ powerOn: false, watchdog: { reason: WATCHDOG_TIMER, scratchData: new Uint32Array(SCRATCH_REGISTERS) } });
  }

  #start(cause: StartCause): void {
    const before = this.chip as Chip | undefined;
    if (before) {
      if (!cause.powerOn) before.cells.settle();
      this.#kept = before.cells.cut(CALIBRATION_SECTORS[0], SECTORS_bytes, () => this.#chance.between(0, 1));
      this.#epoch_ns += before.now_ns;
      this.complaints.push(...before.complaints);
      this.usb.detach();
      this.#releasePins();
    }
    this.starts++;
    const chip = new Chip(cause, { uniqueId: UNIQUE_ID, ...this.#options.flash });
    chip.observer = this.#observer;
    this.chip = chip;
    const { mcu } = chip;
    for (const { address, bytes } of this.#options.image.segments) mcu.flash.set(bytes, address - FLASH_START);
    if (this.#kept) mcu.flash.set(this.#kept, CALIBRATION_SECTORS[0]);
    else this.#calibrationSectors().forEach((bytes, i) => mcu.flash.set(bytes, CALIBRATION_SECTORS[i]));
    this.#wireParts();
    this.usb.attach(chip);
    chip.start();
  }

  /** What lies in the sectors of the calibration when the power comes on for the first time. */
  #calibrationSectors(): readonly Uint8Array[] {
    const { calibration = 'good', serial, seed } = this.#options;
    if (Array.isArray(calibration)) return calibration;
    const page = heldPage(calibration as HeldCalibration, serial, this.frontEnd.own, seed);
    return page === null ? [] : [page];
  }

  /** Reset makes every pin an input; the board's resistors say what the parts see. */
  #releasePins(): void {
    this.converter.setReset(true);
    this.converter.setSelect(false);
    this.converter.setStart(false);
    this.switches.setOutputEnable(false);
  }

  #wireParts(): void {
    const { mcu } = this.chip;
    const { clock } = mcu;
    this.#converterDone = clock.createAlarm(() => this.#converterCall());
    this.#handAlarm = clock.createAlarm(() => this.#moveHand());
    this.#personAlarm = clock.createAlarm(() => this.#personActs());
    const onPin = (pin: number, act: (high: boolean) => void, pulledUp: boolean): void => {
      mcu.gpio[pin].addListener((state) => {
        act(state === GPIOPinState.High || (state !== GPIOPinState.Low && pulledUp));
      });
    };
    onPin(PIN.switchOutputEnable, (high) => this.switches.setOutputEnable(!high), true);
    onPin(PIN.switchLatch, (high) => { if (high) this.switches.latch(); }, false);
    onPin(PIN.converterSelect, (high) => this.converter.setSelect(!high), true);
    onPin(PIN.converterStart, (high) => this.converter.setStart(high), false);
    onPin(PIN.converterReset, (high) => this.converter.setReset(!high), false);
    const rails = clock.createAlarm(() => this.#showRails(!this.#railsBroken));
    onPin(PIN.railsEnable, (high) => {
      if (high) rails.schedule(RAILS_UP_ns);
      else this.#showRails(false);
    }, false);
    this.#setPin(PIN.button, true);
    this.#setPin(PIN.wandPresent, false);
    this.#showRails(false);
    this.#setPin(PIN.converterReady, true);

    // Frames take their time on the wire: answered at once, the emulator's FIFOs run over.
    const wireSpi = (index: number, exchange: (value: number, bits: number) => number): void => {
      const spi = mcu.spi[index];
      let answer = 0;
      const done = clock.createAlarm(() => spi.completeTransmit(answer));
      spi.onTransmit = (value) => {
        answer = exchange(value, spi.dataBits);
        done.schedule((spi.dataBits * 1e9) / spi.clockFrequency);
      };
    };
    wireSpi(0, (value, bits) => {
      if (bits !== BITS_PER_BYTE) this.complaints.push(`the converter takes bytes, not frames of ${bits} bits`);
      return this.converter.exchange(value);
    });
    wireSpi(1, (value, bits) => this.switches.exchange(value, bits));

    let input = 0;
    let code = 0;
    const converted = clock.createAlarm(() => mcu.adc.completeADCRead(code, false));
    mcu.adc.onADCRead = (channel) => {
      input = channel;
      code = input < 4 ? this.frontEnd.sample(input, this.time_s) : 0;
      converted.schedule(mcu.adc.sampleTime * 1000);
    };
  }

  /** Breaks the analog rails, or mends them. */
  breakRails(broken: boolean): void {
    this.#railsBroken = broken;
    this.#showRails(!broken);
  }

  #showRails(good: boolean): void {
    this.#setPin(PIN.railsGood, good ? PGOOD_LEVEL.good : PGOOD_LEVEL.notGood);
  }

  /** Whether the red light is on at this moment. */
  get isRed(): boolean {
    return this.chip.mcu.gpio[PIN.red].value === GPIOPinState.High;
  }

  /** Whether the green light is on at this moment. */
  get isGreen(): boolean {
    return this.chip.mcu.gpio[PIN.green].value === GPIOPinState.High;
  }

  #setPin(pin: number, high: boolean): void {
    const gpio = this.chip.mcu.gpio[pin] as unknown as { rawInputValue: boolean; setInputValue(value: boolean): void };
    // Each call sets an edge flag, so only changes are passed on.
    if (gpio.rawInputValue !== high) gpio.setInputValue(high);
  }

  /** Brings the analog world to now. */
  #catchUp(): void {
    this.frontEnd.advance(this.time_s);
  }

  #told(command: string, value: number): void {
    this.#options.onCommand?.(command, value, this.time_s);
  }

  /** Presses the button for as long as a finger does; presses queue up. */
  press(long: boolean): void {
    this.hold(long ? LONG_PRESS_ns : PRESS_ns);
  }

  /** Presses the button for a while, or for ever (Infinity). */
  hold(duration_ns: number): void {
    this.move({ pressed: true, hold_ns: duration_ns }, { pressed: false, hold_ns: RELEASE_ns });
  }

  /** Moves the finger through levels, each held for its time: a bouncing contact is such a list. */
  move(...levels: readonly Level[]): void {
    this.#hand.push(...levels);
    if (!this.#handHolds) this.#moveHand();
  }

  /** Takes the next level; called again when its time is over. */
  #moveHand(): void {
    const next = this.#hand.shift();
    this.#handHolds = next !== undefined;
    if (!next) return;
    if (next.pressed && !this.#testRuns) {
      this.#testRuns = true;
      this.frontEnd.testBegins(this.time_s);
    }
    this.#setPin(PIN.button, !next.pressed);
    if (next.hold_ns < Infinity) this.#handAlarm!.schedule(next.hold_ns);
  }

  /** The host's button report starts a test as the button does. */
  hostPressed(): void {
    if (!this.#testRuns) this.frontEnd.testBegins(this.time_s);
    this.#testRuns = true;
  }

  #personActs(): void {
    this.#catchUp();
    this.person.act();
  }

  /** Whether nothing but ticks would come if time went on: everything waits for the host or for a hand. */
  get isIdle(): boolean {
    const { mcu } = this.chip;
    const { core } = mcu;
    const alarmIsAwaited = (mcu.peripherals[TIMER_PAGE].readUint32(TIMER_ARMED) & ALARMS_AWAITED) !== 0;
    const listens = ((mcu.adc as unknown as { cs: number }).cs & ADC_START_MANY) !== 0;
    // A firmware without its tick has given up and waits for the watchdog.
    const ticks = (core.enabledInterrupts & TICK_INTERRUPT) !== 0;
    return ticks && core.waiting && !alarmIsAwaited && !listens && !this.converter.isConverting && !this.usb.isBusy &&
      !this.#handHolds && this.person.nextAction_s === Infinity && !this.chip.lockedUp;
  }

  /** The module's memory on the chip, without the pad behind it. */
  get memory(): DataView {
    const at = this.symbol('module_memory');
    return new DataView(this.chip.mcu.sram.buffer, at.address - RAM_START, Math.floor(at.size / PAGE_bytes) * PAGE_bytes);
  }

  /** Where something of the firmware lies. */
  symbol(name: string): ElfSymbol {
    const at = this.#options.image.symbols.get(name);
    if (!at) throw new Error(`the firmware image has no symbol ${name}`);
    return at;
  }

  /** A 32-bit word of the firmware's data. */
  word(name: string, index = 0): number {
    return this.chip.mcu.sramView.getUint32(this.symbol(name).address - RAM_START + 4 * index, true);
  }

  /** What the person sees, looked at whenever the chip goes to sleep. */
  look(): void {
    const { mcu } = this.chip;
    const light = mcu.sramView.getUint32(this.#light_address, true);
    if (light !== this.#light) {
      this.#light = light;
      this.#told('light', light);
      if (RESTING_LIGHTS.has(light & 255)) this.#testRuns = false;
      this.person.sees(light, this.time_s);
    }
    const next_s = this.person.nextAction_s;
    if (next_s !== Infinity) this.#personAlarm!.schedule(Math.max(0, next_s * 1e9 - this.#epoch_ns - this.chip.now_ns));
  }

  /** Runs for a while of simulated time; restarts the chip when its watchdog bites. */
  run(duration_ns: number): void {
    const until_ns = this.#epoch_ns + this.chip.now_ns + duration_ns;
    for (;;) {
      this.chip.runUntil(until_ns - this.#epoch_ns, () => this.look());
      if (!this.chip.bitten) return;
      const { mcu, watchdog } = this.chip;
      this.#start({ powerOn: false, ram: mcu.sram, watchdog });
    }
  }
}
