/**
 * The host's end of the emulated chip's USB port: bus reset, address, control transfers one at a time, one
 * report each way per frame of 1 ms. It serves our own transport and, through `UsbDevice`, a kernel.
 */
import { STALL, type Answer } from './usb-transfer.ts';
import type { Chip } from './chip.ts';

const FRAME_ns = 1e6;
const PACKET_bytes = 64;
const ADDRESS = 1;
const SIE_CTRL = 0x4c;
const PULL_UP = 1 << 16;
const ADDR_ENDP = 0x00;
/** How long a stall may need to show after the firmware was asked, and how often to look. */
const LOOK_ns = 20e3;
/** After the status stage of SET_ADDRESS a device has this long to take its address: USB 2.0, 9.2.6.3. */
const ADDRESS_RECOVERY_ns = 2e6;

type Settle = { resolve(answer: Answer): void; reject(reason: unknown): void };
type ControlRequest = Settle & { setup: Uint8Array; data: Uint8Array; signal?: AbortSignal };
type ControlRun = ControlRequest & {
  isIn: boolean;
  wanted: number;
  received: number[];
  sent: number;
  /** Bytes the device has room for in its OUT buffer, or -1 when none is armed. */
  outArmed: number;
  dataDone: boolean;
};
type OutRequest = Settle & { endpoint: number; data: Uint8Array };
type InRequest = Settle & { endpoint: number };

const setAddress = Uint8Array.of(0x00, 5, ADDRESS, 0, 0, 0, 0, 0);

export class UsbHost {
  #chip: Chip | null = null;
  #connected = false;
  #plugged: Settle | null = null;
  #addressed = false;
  /** Between SET_ADDRESS and the end of the device's time to take it. */
  #recovering = false;
  #controls: ControlRequest[] = [];
  #control: ControlRun | null = null;
  #outs: OutRequest[] = [];
  #ins: InRequest[] = [];
  /** Endpoints whose OUT buffer is armed and not used yet. */
  readonly #outArmed = new Set<number>();
  readonly #released = new Set<number>();
  #look: { schedule(nanos: number): void; cancel(): void } | null = null;
  #frame: { schedule(nanos: number): void; cancel(): void } | null = null;
  #recovery: { schedule(nanos: number): void; cancel(): void } | null = null;
  #lookWanted = false;
  #frameWanted = false;
  /** When the cable last carried something, in the chip's time. */
  #lastWork_ns = 0;
  /** Called for every report that the device hands over unasked for, when no IN request waits. */
  onReport: ((report: Uint8Array) => void) | null = null;
  /** Called when something new waits to be done, so that a paused chip runs on. */
  onWork: () => void = () => {};
  /** Called when the device has gone away (restart) or is there to be plugged in. */
  onDeviceLost: () => void = () => {};

  /** Whether running the chip on brings something over the cable: asked for, under way, or just arrived. */
  get isBusy(): boolean {
    if (!this.#connected || !this.#chip) return false;
    const asked = this.#plugged !== null || this.#control !== null || this.#controls.length > 0 || this.#outs.length > 0;
    const underWay = this.#frameWanted || this.#lookWanted || this.#released.size > 0;
    return asked || underWay || this.#chip.now_ns - this.#lastWork_ns < FRAME_ns;
  }

  /** A chip has started: its port is new. */
  attach(chip: Chip): void {
    this.#chip = chip;
    this.#addressed = false;
    this.#outArmed.clear();
    this.#released.clear();
    this.#look = chip.mcu.clock.createAlarm(() => this.#onLook());
    this.#frame = chip.mcu.clock.createAlarm(() => this.#onFrame());
    this.#recovery = chip.mcu.clock.createAlarm(() => this.#onRecovered());
    this.#lookWanted = this.#frameWanted = this.#recovering = false;
    this.#lastWork_ns = 0;
    const { usbCtrl } = chip.mcu;
    usbCtrl.onResetReceived = () => this.#onResetReceived();
    usbCtrl.onEndpointWrite = (endpoint, bytes) => this.#onIn(endpoint, bytes);
    usbCtrl.onEndpointRead = (endpoint, bytes) => this.#onOutArmed(endpoint, bytes);
    chip.held.onHeld = () => this.#wantFrame();
    if (this.#connected) this.#wantLook();
  }

  /** The chip restarts: whatever was under way is lost, the cable is still in. */
  detach(): void {
    const lost = this.#addressed;
    this.#chip = null;
    this.#drop(new Error('the tester restarted'));
    if (lost) this.onDeviceLost();
  }

  /** The cable goes in. Resolves when the device has its address. */
  plugIn(): Promise<void> {
    this.#connected = true;
    this.#addressed = false;
    const plugged = new Promise<void>((resolve, reject) => {
      this.#plugged = { resolve: () => resolve(), reject };
    });
    if (this.#chip) this.#wantLook();
    this.onWork();
    return plugged;
  }

  /** The cable comes out; with a bus reset pending the device is told nothing, as on silicon without VBUS sensing. */
  pullOut(): void {
    this.#connected = false;
    this.#addressed = false;
    this.#drop(new Error('the cable was pulled out'));
  }

  /** A bus reset in the middle; the device must be configured anew. */
  resetBus(): Promise<void> {
    this.#drop(new Error('the bus was reset'));
    return this.plugIn();
  }

  suspend(): void {
    this.#chip?.busPower.suspend();
    this.onWork();
  }

  resume(): void {
    this.#chip?.busPower.resume();
    this.onWork();
  }

  control(setup: Uint8Array, data: Uint8Array = new Uint8Array(0), signal?: AbortSignal): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const request: ControlRequest = { setup: Uint8Array.from(setup), data: Uint8Array.from(data), resolve, reject, signal };
      this.#whenAborted(signal, () => {
        if (this.#control?.resolve === resolve) this.#control = null;
        this.#controls = this.#controls.filter((one) => one !== request);
        this.#nextControl();
      }, reject);
      this.#controls.push(request);
      this.#nextControl();
      this.onWork();
    });
  }

  interruptOut(endpoint: number, data: Uint8Array, signal?: AbortSignal): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const request: OutRequest = { endpoint, data: Uint8Array.from(data), resolve, reject };
      this.#whenAborted(signal, () => { this.#outs = this.#outs.filter((one) => one !== request); }, reject);
      this.#outs.push(request);
      this.#wantFrame();
      this.onWork();
    });
  }

  interruptIn(endpoint: number, signal?: AbortSignal): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const request: InRequest = { endpoint, resolve, reject };
      this.#whenAborted(signal, () => { this.#ins = this.#ins.filter((one) => one !== request); }, reject);
      this.#ins.push(request);
      this.#wantFrame();
      this.onWork();
    });
  }

  #whenAborted(signal: AbortSignal | undefined, forget: () => void, reject: (reason: unknown) => void): void {
    signal?.addEventListener('abort', () => {
      forget();
      reject(signal.reason);
    }, { once: true });
  }

  #drop(reason: Error): void {
    const waiting: Settle[] = [...this.#controls, ...this.#outs, ...this.#ins];
    if (this.#control) waiting.push(this.#control);
    if (this.#plugged) waiting.push(this.#plugged);
    this.#controls = [];
    this.#control = null;
    this.#outs = [];
    this.#ins = [];
    this.#plugged = null;
    this.#recovering = false;
    this.#recovery?.cancel();
    this.#outArmed.clear();
    this.#released.clear();
    for (const one of waiting) one.reject(reason);
  }

  #wantLook(): void {
    if (this.#lookWanted || !this.#look) return;
    this.#lookWanted = true;
    this.#look.schedule(LOOK_ns);
  }

  #wantFrame(): void {
    if (this.#frameWanted || !this.#frame || !this.#chip) return;
    this.#frameWanted = true;
    this.#frame.schedule(FRAME_ns - (this.#chip.now_ns % FRAME_ns));
  }

  /** Looks at what nothing calls back about: the pull-up of a device that arrives, and stalls. */
  #onLook(): void {
    this.#lookWanted = false;
    const chip = this.#chip!;
    if (this.#connected && !this.#addressed && this.#plugged && !this.#control && !this.#recovering) {
      if ((chip.mcu.usbCtrl.readUint32(SIE_CTRL) & PULL_UP) === 0) {
        this.#wantLook();
        return;
      }
      chip.mcu.usbCtrl.resetDevice();
      return;
    }
    const run = this.#control;
    if (run) {
      if (chip.stalls.control(run.isIn) || chip.stalls.control(!run.isIn)) this.#finishControl(STALL);
      else this.#wantLook();
    }
  }

  #onResetReceived(): void {
    this.#outArmed.clear();
    this.#released.clear();
    this.#recovery!.cancel();
    this.#recovering = false;
    if (!this.#plugged) return;
    const plugged = this.#plugged;
    this.#controls.unshift({
      setup: setAddress, data: new Uint8Array(0),
      resolve: (answer) => {
        this.#recovering = answer !== STALL;
        if (this.#recovering) this.#recovery?.schedule(ADDRESS_RECOVERY_ns);
        else this.#refused();
      },
      reject: plugged.reject,
    });
    this.#nextControl();
  }

  #onRecovered(): void {
    this.#recovering = false;
    const plugged = this.#plugged;
    if (!plugged) return;
    const address = this.#chip!.mcu.usbCtrl.readUint32(ADDR_ENDP) & 0x7f;
    if (address !== ADDRESS) {
      this.#refused();
      return;
    }
    this.#plugged = null;
    this.#addressed = true;
    plugged.resolve(new Uint8Array(0));
    this.#nextControl();
  }

  #refused(): void {
    const plugged = this.#plugged;
    this.#plugged = null;
    plugged?.reject(new Error('the device did not take its address'));
  }

  #nextControl(): void {
    if (this.#control || !this.#chip || !this.#connected) return;
    const request = this.#controls[0];
    // The address comes first: the kernel's requests wait until the device has it.
    if (!request || (!this.#addressed && request.setup !== setAddress)) return;
    this.#controls.shift();
    const { setup } = request;
    this.#control = {
      ...request, isIn: (setup[0] & 0x80) !== 0, wanted: setup[6] | (setup[7] << 8),
      received: [], sent: 0, outArmed: -1, dataDone: false,
    };
    this.#chip.mcu.usbCtrl.sendSetupPacket(setup);
    this.#wantLook();
  }

  #finishControl(answer: Answer): void {
    const run = this.#control!;
    this.#control = null;
    run.resolve(answer);
    this.#nextControl();
  }

  #onIn(endpoint: number, bytes: Uint8Array): void {
    if (endpoint !== 0) {
      this.#released.delete(endpoint);
      const index = this.#ins.findIndex((one) => one.endpoint === endpoint);
      if (index >= 0) this.#ins.splice(index, 1)[0].resolve(Uint8Array.from(bytes));
      else this.onReport?.(Uint8Array.from(bytes));
      return;
    }
    const run = this.#control;
    if (!run) return;
    if (!run.isIn) {
      this.#finishControl(new Uint8Array(0));
      return;
    }
    if (run.dataDone) return;
    run.received.push(...bytes);
    if (run.received.length >= run.wanted || bytes.length < PACKET_bytes) {
      run.dataDone = true;
      this.#statusOut();
    }
  }

  /** The status stage of an IN transfer; the device may have armed it before or after its last packet. */
  #statusOut(): void {
    const run = this.#control!;
    if (!run.dataDone || run.outArmed < 0) return;
    this.#chip!.mcu.usbCtrl.endpointReadDone(0, new Uint8Array(0));
    this.#finishControl(Uint8Array.from(run.received.slice(0, run.wanted)));
  }

  #onOutArmed(endpoint: number, bytes: number): void {
    if (endpoint !== 0) {
      this.#outArmed.add(endpoint);
      if (this.#outs.length > 0) this.#wantFrame();
      return;
    }
    const run = this.#control;
    if (!run) return;
    run.outArmed = bytes;
    if (run.isIn) {
      this.#statusOut();
    } else {
      const packet = run.data.subarray(run.sent, run.sent + Math.min(bytes, PACKET_bytes));
      run.sent += packet.length;
      this.#chip!.mcu.usbCtrl.endpointReadDone(0, packet);
    }
  }

  /** One frame: at most one packet each way and endpoint. */
  #onFrame(): void {
    this.#frameWanted = false;
    const chip = this.#chip!;
    this.#lastWork_ns = chip.now_ns;
    if (!this.#connected || !this.#addressed) return;
    for (const endpoint of new Set(this.#outs.map((one) => one.endpoint))) this.#sendOut(chip, endpoint);
    const asked = new Set(this.#ins.map((one) => one.endpoint));
    if (this.onReport) asked.add(1);
    for (const endpoint of asked) {
      if (this.#released.has(endpoint)) continue;
      if (chip.held.release(endpoint)) this.#released.add(endpoint);
      else if (chip.stalls.endpoint(endpoint, true)) this.#stallIn(endpoint);
    }
    if (this.#outs.some((one) => this.#outArmed.has(one.endpoint))) this.#wantFrame();
  }

  #sendOut(chip: Chip, endpoint: number): void {
    const index = this.#outs.findIndex((one) => one.endpoint === endpoint);
    if (chip.stalls.endpoint(endpoint, false)) {
      this.#outs.splice(index, 1)[0].resolve(STALL);
    } else if (this.#outArmed.delete(endpoint)) {
      const [request] = this.#outs.splice(index, 1);
      chip.mcu.usbCtrl.endpointReadDone(endpoint, request.data);
      request.resolve(new Uint8Array(0));
    }
  }

  #stallIn(endpoint: number): void {
    const index = this.#ins.findIndex((one) => one.endpoint === endpoint);
    if (index >= 0) this.#ins.splice(index, 1)[0].resolve(STALL);
  }
}
