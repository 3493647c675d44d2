/** Keeps a machine going in slices that let the process breathe, and lets it rest when nothing is to come. */
import type { Machine } from './machine.ts';

const SLICE_ns = 2e6;

/** Paces simulated time: milliseconds of real time that have passed. */
export type Pace = (() => number) | undefined;

export class Runner {
  readonly machine: Machine;
  /** Called when the emulation itself has failed. */
  onFailure: (sentence: string) => void = () => {};
  readonly #elapsed_ms: Pace;
  #on = false;
  #running = false;

  constructor(machine: Machine, elapsed_ms?: Pace) {
    this.machine = machine;
    this.#elapsed_ms = elapsed_ms;
    machine.usb.onWork = () => this.wake();
  }

  switchOn(): void {
    this.#on = true;
    this.wake();
  }

  switchOff(): void {
    this.#on = false;
  }

  /** Something is to be done: runs on if it rested. */
  wake(): void {
    if (this.#running || !this.#on) return;
    this.#running = true;
    this.#run().then(
      () => { this.#running = false; },
      (failure: unknown) => {
        this.#running = false;
        this.#on = false;
        this.onFailure(`the emulated chip has stopped: ${failure instanceof Error ? failure.message : String(failure)}`);
      },
    );
  }

  async #run(): Promise<void> {
    const { machine } = this;
    const startReal_ms = this.#elapsed_ms?.() ?? 0;
    const start_s = machine.time_s;
    // One turn first, so that whoever asked gets its promise before anything answers.
    await new Promise(setImmediate);
    while (this.#on) {
      machine.run(SLICE_ns);
      if (this.#elapsed_ms) {
        const ahead_ms = (machine.time_s - start_s) * 1000 - (this.#elapsed_ms() - startReal_ms);
        await new Promise((resolve) => setTimeout(resolve, Math.max(0, ahead_ms)));
      } else {
        await new Promise(setImmediate);
        if (machine.isIdle) return;
      }
    }
  }
}
