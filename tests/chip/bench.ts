/** A machine on the bench of a test: runs it by hand, asks it things, reads what it notes. */
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine, type MachineOptions } from '../../host/src/chip-twin/machine.ts';
import type { Answer } from '../../host/src/chip-twin/usb-transfer.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { probeImage } from './images.ts';

const SLICE_ns = 1e6;
const NOTES = 60000;

/** Commands of the probe module (firmware/probe/index.ts). */
export const Command = {
  switches: 1, drive: 2, convert: 3, burst: 4, listen: 5, wake: 6, light: 7, hang: 8, trap: 9, load: 10, recurse: 11, send: 12,
  misalign: 13, wand: 14, busy: 15,
} as const;

/** Where the probe notes what came. */
export const Note = {
  starts: 0, buttons: 1, conversions: 2, bursts: 3, samples: 4, times: 5, reports: 6, sent: 7, links: 8, refused: 9,
  button: 16, code: 17, conversionStatus: 18, burstStatus: 19, samplesStatus: 20, length: 21, link: 22, wand: 23, worstSamples: 24,
} as const;

/** Runs the machine until a promise settles. @throws what it throws, or when it does not settle in `limit_s` simulated */
export async function until<T>(machine: Machine, promise: Promise<T>, limit_s = 5): Promise<T> {
  let settled: { value: T } | { error: unknown } | null = null;
  promise.then((value) => { settled = { value }; }, (error: unknown) => { settled = { error }; });
  const end_s = machine.time_s + limit_s;
  for (;;) {
    await new Promise(setImmediate);
    const now = settled as { value: T } | { error: unknown } | null;
    if (now && 'value' in now) return now.value;
    if (now) throw now.error;
    if (machine.time_s > end_s) throw new Error(`nothing came within ${limit_s} simulated seconds`);
    machine.run(SLICE_ns);
  }
}

export function runFor(machine: Machine, duration_s: number): void {
  machine.run(duration_s * 1e9);
}

/** A machine with the probe module; `plug` puts the cable in. */
export class ProbeBench {
  readonly machine: Machine;

  constructor(options: Partial<MachineOptions> = {}) {
    this.machine = new Machine({
      image: readImage(probeImage()), pickup: demoLot[0], seed: 1, serial: 'TWIN-PROBE', automatic: false, ...options,
    });
  }

  async plug(): Promise<void> {
    const { machine } = this;
    await until(machine, machine.usb.plugIn());
    await this.control(0x00, 9, 1, 0, 0, 0, 0, 0);
  }

  /** A control transfer without data to the device, by the eight bytes of its SETUP. */
  control(...setup: readonly number[]): Promise<Answer> {
    return until(this.machine, this.machine.usb.control(Uint8Array.from(setup)));
  }

  note(index: number): number {
    return this.machine.memory.getInt32(NOTES + 4 * index, true);
  }

  /** Sends a command and waits until the module has had it. */
  async command(command: number, a = 0, b = 0, c = 0): Promise<void> {
    const before = this.note(Note.reports);
    await until(this.machine, this.machine.usb.interruptOut(1, reportOf(command, a, b, c)));
    this.runUntil(() => this.note(Note.reports) !== before, 'the report arrives');
  }

  /** Runs in steps of 0.1 ms until something is so. */
  runUntil(isSo: () => boolean, what: string, limit_s = 3): void {
    const end_s = this.machine.time_s + limit_s;
    while (!isSo()) {
      if (this.machine.time_s > end_s) throw new Error(`waited ${limit_s} simulated seconds in vain: ${what}`);
      this.machine.run(1e5);
    }
  }
}

export function reportOf(command: number, a = 0, b = 0, c = 0): Uint8Array {
  const report = new Uint8Array(64);
  const view = new DataView(report.buffer);
  report[1] = command;
  view.setUint32(4, a, true);
  view.setUint32(8, b, true);
  view.setUint32(12, c, true);
  return report;
}

/** All complaints of a machine so far, from the chip's present life and the ones before. */
export function complaintsOf(machine: Machine): string[] {
  return [...machine.complaints, ...machine.chip.complaints];
}
