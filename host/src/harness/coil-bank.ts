/** The coils of one pickup as a block of admittances at one frequency. */
import { factor, solve } from './complex-matrix.ts';

/** A coil from plus to minus: resistance, then its emf in series with the inductance; loss across both; capacitance across the whole. */
export interface BankCoil {
  readonly ohm: number;
  /** 0 where it is not known. */
  readonly henry_H: number;
  readonly farad_F: number;
  /** Infinity for none. */
  readonly loss_ohm: number;
}

/** The coils of a pickup and what they share. */
export interface CoilBank {
  readonly coils: readonly BankCoil[];
  /** Mutual inductance, taken at both coils' plus; henries, by coil and coil, 0 on the diagonal. */
  readonly mutual_H: readonly (readonly number[])[];
}

/** Currents into the coils' plus, complex and interleaved. */
export interface BankBlock {
  /** Siemens: by the voltage of each coil, plus against minus. */
  readonly admittance: Float64Array;
  /** Siemens: what one volt of emf in each coil, lifting its plus, drives out of each coil's plus when all ends are held. */
  readonly source: Float64Array;
}

/**
 * A bank at one angular frequency.
 *
 * I is the current of the inductance, e the emf that lifts plus, and W = jwL I + jwM I' + e stands across both, so that the
 * current into plus is I + W/loss and V = R (I + W/loss) + W. With D = 1 + R/loss that is Z I = V - D e, Z = R + D jw(L, M),
 * and the current into plus is I/D + V/(R + loss).
 *
 * @param omega - radians per second; 0 leaves the resistances alone
 */
export function bankAt({ coils, mutual_H }: CoilBank, omega: number): BankBlock {
  const size = coils.length;
  const z = new Float64Array(2 * size * size);
  const rows = new Float64Array(2 * size * size * 2);
  const share = coils.map(({ ohm, loss_ohm }) => (loss_ohm === Infinity ? 1 : loss_ohm / (ohm + loss_ohm)));
  coils.forEach((coil, i) => {
    for (let j = 0; j < size; j++)
      z[2 * (i * size + j) + 1] = (omega * (i === j ? coil.henry_H : mutual_H[i]![j]!)) / share[i]!;
    z[2 * (i * size + i)] = coil.ohm;
    // Right sides: the unit voltages, then the unit emfs.
    rows[2 * (i * 2 * size + i)] = 1;
    rows[2 * (i * 2 * size + size + i)] = 1 / share[i]!;
  });
  const pivots = new Int32Array(size);
  factor(z, size, pivots);
  solve(z, size, pivots, rows, 2 * size);
  const admittance = new Float64Array(2 * size * size);
  const source = new Float64Array(2 * size * size);
  for (let i = 0; i < size; i++) {
    const { ohm, farad_F, loss_ohm } = coils[i]!;
    for (let j = 0; j < 2 * size; j += 1) {
      const from = 2 * (i * 2 * size + j);
      const [to, at] = j < size ? [admittance, 2 * (i * size + j)] : [source, 2 * (i * size + j - size)];
      to[at] = share[i]! * rows[from]!;
      to[at + 1] = share[i]! * rows[from + 1]!;
    }
    const own = 2 * (i * size + i);
    if (loss_ohm !== Infinity) admittance[own]! += 1 / (ohm + loss_ohm);
    admittance[own + 1]! += omega * farad_F;
  }
  return { admittance, source };
}
