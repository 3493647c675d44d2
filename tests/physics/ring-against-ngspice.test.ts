/**
 * A coil's ring on the whole front end against ngspice: the current source cut off by the drive switch, protection, clamps,
 * switches, commons and a metre of screened lead in between. The deck is drawn by hand beside the board's netlist; the
 * capacitances are from memory of data sheets, those of the deck the mean of ours.
 */
import { describe, expect, it } from 'vitest';
import { addAnalogBoard } from '../../host/src/virtual-bench/analog-board.ts';
import { Circuit } from '../../host/src/virtual-bench/circuit.ts';
import { addPickup } from '../../host/src/virtual-bench/pickup-circuit.ts';
import type { PickupCoil } from '../../host/src/pickup/pickup.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { Transient } from '../../host/src/virtual-bench/transient.ts';
import { simulate } from '../reference/ngspice.ts';
import { quietPickup } from './quiet-pickup.ts';

const [M1, M2, DRV, RET] = [0, 1, 6, 7];
const CURRENT_A = 10e-6;

/** A stream that draws the middle of everything: the board as it is drawn. */
const MIDDLE = { gaussian: () => 0, between: (low: number, high: number) => (low + high) / 2 } as unknown as RandomStream;

function coil(ohm: number, henry: number, farad: number, loss_ohm: number): PickupCoil {
  return {
    id: 'u', from: 'u0', to: 'u1', resistance_ohm_20C: ohm, inductance_H: henry, capacitance_F: farad, loss_ohm,
    winding: 'cw', pole: 'N', place: 'upper',
  };
}

/** Our channel A every half microsecond from the cut on. */
function ours(one: PickupCoil, shorted: number): Float64Array {
  const circuit = new Circuit();
  addPickup(circuit, quietPickup([one], shorted > 0 ? { faults: [{ kind: 'shorted_turns', coil: 'u', fraction: shorted }] } : {}));
  const board = addAnalogBoard(circuit, MIDDLE, MIDDLE);
  const transient = new Transient(circuit);
  transient.setInput(board.driveInput, CURRENT_A);
  transient.setSwitch(board.switches[M1][1], true);
  transient.setSwitch(board.switches[M2][0], true);
  transient.setSwitch(board.switches[DRV][0], true);
  transient.setSwitch(board.switches[RET][2], true);
  transient.settle();
  transient.setSwitch(board.switches[DRV][0], false);
  const volts = new Float64Array(2400);
  transient.run(0.5e-6, volts.length, [board.channelA], [volts]);
  return volts;
}

/** Clip 1 to 0 V, clip 2 on A+, the free lead of clip 3 beside it (those behind it add 0.3 pF and are left out). */
function deck(one: PickupCoil, shorted: number): string {
  const { resistance_ohm_20C: ohm, inductance_H: henry, capacitance_F: farad, loss_ohm } = one;
  const left = 1 - shorted;
  const turns =
    shorted > 0
      ? `L2 sh 0 ${henry * shorted ** 2}\nRS sh 0 ${ohm * shorted}\nRES sh 0 ${loss_ohm! * shorted * left}\nK1 L1 L2 0.9998`
      : '';
  return `
I1 0 ap PULSE(10u 0 5m 10n 10n 1 2)
R1 c2 m ${ohm * left + 0.05}
L1 m c1 ${henry * left ** 2}
RE m c1 ${loss_ohm! * left * left}
CW c2 c1 ${farad}
${turns}
CL2 c2 0 139p
CL1 c1 0 139p
C12 c1 c2 20p
C23 c2 c3 20p
CL3 c3 0 139p
RP2 c2 k2 1k
RF2 k2 ap 222.5
DP k2 vp DCL
DN vn k2 DCL
VP vp 0 2.1
VN vn 0 -2.1
.model DCL D(IS=1e-13 N=1.5)
CA ap 0 95p
RP1 c1 k1 1k
RF1 k1 am 222.5
CM am 0 95p
RZ am 0 2.5
`;
}

/** ngspice's channel A on the same times. */
function theirs(one: PickupCoil, shorted: number): Float64Array {
  const { time_s, values } = simulate(deck(one, shorted), '0.1u 6.25m 4.99m 0.1u', ['v(ap,am)']);
  const out = new Float64Array(2400);
  let at = 0;
  for (let k = 0; k < out.length; k++) {
    const when_s = 5e-3 + (k + 1) * 0.5e-6;
    while (time_s[at + 1]! < when_s) at++;
    const share = (when_s - time_s[at]!) / (time_s[at + 1]! - time_s[at]!);
    out[k] = values[0]![at]! + share * (values[0]![at + 1]! - values[0]![at]!);
  }
  return out;
}

function worst(one: PickupCoil, shorted = 0): { share: number; peak_V: number } {
  const a = ours(one, shorted);
  const b = theirs(one, shorted);
  const peak_V = Math.max(...b.map(Math.abs));
  let off = 0;
  a.forEach((value, k) => (off = Math.max(off, Math.abs(value - b[k]!))));
  return { share: off / peak_V, peak_V };
}

describe('the ring of a coil', () => {
  for (const [name, one, shorted] of [
    ['4.1 kilohm, 2.3 H, 90 pF, 250 kilohm', coil(4100, 2.3, 90e-12, 250e3), 0],
    ['2.5 kilohm, 10 H, 250 pF, 1 megohm', coil(2500, 10, 250e-12, 1e6), 0],
    ['2 kilohm, 1 H, 40 pF, 500 kilohm', coil(2000, 1, 40e-12, 500e3), 0],
    ['4 kilohm, 1.8 H, 50 pF under a cover, 30 kilohm', coil(4000, 1.8, 50e-12, 30e3), 0],
    ['the first with 3 % of its turns shorted', coil(4100, 2.3, 90e-12, 250e3), 0.03],
  ] as const) {
    it(`is ngspice's within 0.5 % of the peak: ${name}`, () => {
      const { share, peak_V } = worst(one, shorted);
      expect(peak_V).toBeGreaterThan(0.1);
      expect(share).toBeLessThan(0.005);
    });
  }
});
