/**
 * The two listening channels: plus less minus of ports A and B, times 1 and times 8, about 1.5 V, into the RP2040's ADC.
 * Resistors of 0.1 % keep the hum that both ends share 54 dB down at x1 and 60 dB at x8, referred to the input.
 */
import * as bought from './bought.ts';
import type { Netlist } from './model.ts';
import { at, TwoEnds } from './place.ts';

/** Ohms before and around each amplifier: gain = after / before, exactly 1 and 8 in stocked values. */
export const LISTENING = { x1_before_ohm: 20e3, x1_after_ohm: 20e3, x8_before_ohm: 15e3, x8_after_ohm: 120e3,
  x1_F: 10e-12, x8_F: 4.7e-12, out_ohm: 470, out_F: 1e-9 } as const;

export function addListening(netlist: Netlist): void {
  const ends = new TwoEnds(netlist, 'listening', 901);
  const x = 75;
  const y = 47.6;
  netlist.add('U51', bought.QUAD, 'listening', {
    '+A': 'A1_PLUS', '-A': 'A1_MINUS', OUTA: 'A1_OUT', '+B': 'A8_PLUS', '-B': 'A8_MINUS', OUTB: 'A8_OUT',
    '+C': 'B8_PLUS', '-C': 'B8_MINUS', OUTC: 'B8_OUT', '+D': 'B1_PLUS', '-D': 'B1_MINUS', OUTD: 'B1_OUT', 'V+': '3V3A', 'V-': 'GND',
  }, at(x, y));
  ends.c(100e-9, '3V3A', 'GND', 70.2, 47.6, 'up');
  const spots = [
    ['A1', 'A', 'LISTEN_A_X1', 70.5, 36.2], ['B1', 'B', 'LISTEN_B_X1', 76.9, 36.2],
    ['A8', 'A', 'LISTEN_A_X8', 70.5, 52.1], ['B8', 'B', 'LISTEN_B_X8', 76.9, 52.1],
  ] as const;
  for (const [name, port, out, left, top] of spots) {
    const gain8 = name.endsWith('8');
    const before = gain8 ? LISTENING.x8_before_ohm : LISTENING.x1_before_ohm;
    const after = gain8 ? LISTENING.x8_after_ohm : LISTENING.x1_after_ohm;
    const fine = bought.R0603_FINE;
    const step = (k: number): [number, number] => [left, top + 1.7 * k];
    ends.r(before, `BUF_${port}_PLUS`, `${name}_PLUS`, ...step(0), 'left', fine);
    ends.r(after, `${name}_PLUS`, 'MID', ...step(1), 'left', fine);
    ends.r(before, `BUF_${port}_MINUS`, `${name}_MINUS`, ...step(2), 'left', fine);
    ends.r(after, `${name}_MINUS`, `${name}_OUT`, ...step(3), 'left', fine);
    ends.c(gain8 ? LISTENING.x8_F : LISTENING.x1_F, `${name}_MINUS`, `${name}_OUT`, ...step(4), 'left', bought.C0603_C0G);
    const outY = top + (gain8 ? 1.7 : 5.1);
    ends.r(LISTENING.out_ohm, `${name}_OUT`, out, left + 3.3, outY);
    ends.c(LISTENING.out_F, out, 'GND', left + 3.3, gain8 ? outY + 1.7 : outY - 1.7, 'left', bought.C0603_C0G);
  }
  // Half of the ADC's supply, buffered: code 2048.
  netlist.add('U52', bought.SINGLE, 'listening', { '+': 'MID_DIVIDED', '-': 'MID', OUT: 'MID', 'V+': '3V3A', 'V-': 'GND' }, at(75, 64.2));
  ends.r(10e3, '3V0', 'MID_DIVIDED', 71, 62.6, 'left', bought.R0603_FINE);
  ends.r(10e3, 'MID_DIVIDED', 'GND', 71, 64.3, 'left', bought.R0603_FINE);
  ends.c(1e-6, 'MID_DIVIDED', 'GND', 71, 66);
  ends.c(100e-9, '3V3A', 'GND', 79, 63.2);
  ends.other('L', bought.BEAD, '3V3', '3V3A', 79, 67);
  ends.c(1e-6, '3V3A', 'GND', 79, 64.9);
}
