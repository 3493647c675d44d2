/**
 * Calls one function of the very image that is flashed, on the emulated chip, while the rest of the chip stands
 * still: no interrupt, no clock. So the module's functions are tested with the objects that ship.
 */
import type { Machine } from '../../host/src/chip-twin/machine.ts';

/** Where the call returns to: the vector table, where no code is ever executed. */
const RETURN_ADDRESS = 0x10000100;
const LR = 14;
const PC = 15;
const CYCLES_MOST = 2e8;

/** What a call gave: r0, the cycles that its instructions took, and whether the module trapped. */
export type Called = { readonly r0: number; readonly cycles: number; readonly trapped: boolean };

/** @param args - the first four go into registers */
export function callOnChip(machine: Machine, symbol: string, ...args: readonly number[]): Called {
  return call(machine, symbol, args, () => {});
}

/** The same with the clock going on: timer and flash see time pass, interrupts stay away. @param onStep - after each instruction */
export function callInTime(machine: Machine, symbol: string, args: readonly number[], onStep: () => void = () => {}): Called {
  const cycle_ns = 1e9 / machine.chip.mcu.clkSys;
  return call(machine, symbol, args, (cycles) => {
    machine.chip.clock.tick(cycles * cycle_ns);
    onStep();
  });
}

function call(machine: Machine, symbol: string, args: readonly number[], onStep: (cycles: number) => void): Called {
  const target = machine.symbol(symbol).address;
  const trap = machine.symbol('wasm_rt_trap').address & ~1;
  const { core } = machine.chip.mcu;
  const before = Uint32Array.from(core.registers);
  const { N, Z, C, V, PM, waiting } = core;
  args.forEach((value, i) => { core.registers[i] = value >>> 0; });
  core.registers[LR] = RETURN_ADDRESS | 1;
  core.registers[PC] = target & ~1;
  core.PM = true;
  core.waiting = false;
  let cycles = 0;
  while (core.registers[PC] !== RETURN_ADDRESS && core.registers[PC] !== trap) {
    const taken = machine.chip.step();
    cycles += taken;
    onStep(taken);
    if (cycles > CYCLES_MOST) throw new Error(`${symbol} does not return`);
  }
  const r0 = core.registers[0];
  const trapped = core.registers[PC] === trap;
  core.registers.set(before);
  Object.assign(core, { N, Z, C, V, PM, waiting });
  return { r0, cycles, trapped };
}

/** Solves the evidence that lies in the chip's memory. */
export function solveOnChip(machine: Machine): Called {
  return callOnChip(machine, 'w2c_logic_solve', machine.symbol('logic').address);
}
