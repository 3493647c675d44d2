// Made from hardware-notes/board/netlist by `node hardware-notes/board/make.ts files`. Do not edit.

/** Ohms and farads of the front end. */
export const FRONT_END = {
  protection_ohm: 1000,
  afterClamp_ohm: 220,
  sense_ohm: 10000,
  grounding_ohm: 220,
  reference_ohm: 2000,
  leakSense_ohm: 1000000,
  leakSense_F: 1e-8,
  balance_F: 1.2e-11,
  bleed_ohm: 100000,
  snubber_ohm: 30000,
  snubber_F: 1e-8,
  drive_ohm: 1000,
  portFilter_ohm: 1000,
  portFilter_F: 1e-8,
} as const;

/** The analog rails and the rails of the clamps, volts from 0 V. */
export const RAILS = { plus_V: 2.55, minus_V: 2.5, clamp_V: 2.083 } as const;

/** Node of each switch's common; the switches in the order of the word, lowest nibble first. */
export const COMMONS = ['A_PLUS', 'A_MINUS', 'B_PLUS', 'B_MINUS', 'G1', 'G2', 'A_PLUS', 'A_MINUS'] as const;

/** Node at each of the eight throws of each switch; null where nothing is wired. */
export const THROWS: readonly (readonly (string | null)[])[] = [
  ['F1', 'F2', 'F3', 'F4', 'F5', 'F6', null, null],
  ['F1', 'F2', 'F3', 'F4', 'F5', 'F6', null, null],
  ['S1', 'S2', 'S3', 'S4', 'S5', 'S6', 'REFERENCE', 'A_MINUS'],
  ['S1', 'S2', 'S3', 'S4', 'S5', 'S6', 'REFERENCE_FOOT', '0'],
  ['F1', 'F2', 'F3', 'F4', 'F5', 'F6', null, null],
  ['F1', 'F2', 'F3', 'F4', 'F5', 'F6', null, null],
  ['SOURCE', 'DRIVE_UP', 'DRIVE_DOWN', '0', null, null, null, null],
  ['REFERENCE', 'LEAK_SENSE', '0', 'BLEED', null, null, null, null],
];
