/**
 * Clips, switches, ports: what stands between the leads and the converters.
 *
 *   clip n -- spark gap -- 1k pulse-proof -- clamp +-2.1 V -- 220 -- F_n -- A+, A-, G1, G2      (forces)
 *                 '------- 10k ----------- clamp +-2.1 V -- S_n -- B+, B-                        (senses)
 *
 * The port's four commons go to buffers of picoamperes; filters and differences hang on the buffers, never on the port.
 */
import * as bought from './bought.ts';
import type { Netlist } from './model.ts';
import { at, TwoEnds } from './place.ts';
import { CLIPS, COMMONS, registerOutput, SWITCHES, THROWS, type SwitchName } from './pins.ts';

/** Ohms and farads of the front end; the twins are built on the same. */
export const FRONT_END = {
  protection_ohm: 1000, afterClamp_ohm: 220, sense_ohm: 10e3, grounding_ohm: 220, reference_ohm: 2000,
    leakSense_ohm: 1e6, leakSense_F: 10e-9,
  balance_F: 12e-12, bleed_ohm: 100e3, snubber_ohm: 30e3, snubber_F: 10e-9, drive_ohm: 1000, portFilter_ohm: 1000, portFilter_F: 10e-9,
} as const;

const ROWS = [14, 30, 46, 62] as const;
const LEFT = 38;
const MIDDLE = 50;
const RIGHT = 62;
/** Where each switch stands: forces in the left column, senses, drive and return in the right one. */
const SPOT: Readonly<Record<SwitchName, readonly [x: number, row: number]>> = {
  A_PLUS: [LEFT, 0], A_MINUS: [LEFT, 1], G1: [LEFT, 2], G2: [LEFT, 3], B_PLUS: [RIGHT, 0], B_MINUS: [RIGHT, 1],
    DRIVE: [RIGHT, 2], RETURN: [RIGHT, 3],
};

/** Middle line of a clip's cell. */
export const clipY = (clip: number): number => Number((10.6 * clip + 2.4).toFixed(1));

export function addClips(netlist: Netlist): void {
  for (const clip of CLIPS) {
    const y = clipY(clip);
    const ends = new TwoEnds(netlist, 'clips', 100 * clip + 1);
    netlist.add(`J${clip}`, bought.TERMINAL, 'clips', { '#1': `CLIP${clip}`, '#2': 'GND' }, at(6.6, y - 1.7, 270), { value: `clip ${clip}` });
    netlist.add(`SG${clip}`, bought.GAP, 'clips', { '#1': `CLIP${clip}`, '#2': 'GND' }, at(11.7, y + 0.1, 270), { value: '0.25 mm' });
    ends.r(FRONT_END.protection_ohm, `CLIP${clip}`, `K${clip}`, 15.3, y - 2.5, 'left', bought.R1206_PULSE);
    ends.r(FRONT_END.afterClamp_ohm, `K${clip}`, `F${clip}`, 24.6, y - 2.5);
    ends.r(FRONT_END.sense_ohm, `CLIP${clip}`, `S${clip}`, 15.3, y + 2);
    const clamp = (node: string): Record<string, string> => ({ A: 'CLAMP_LOW', K: 'CLAMP_HIGH', KA: node });
    netlist.add(`D${clip}01`, bought.CLAMP, 'clips', clamp(`K${clip}`), at(20, y - 2.5, 180));
    netlist.add(`D${clip}02`, bought.CLAMP, 'clips', clamp(`S${clip}`), at(20, y + 2, 180));
  }
}

export function addSwitches(netlist: Netlist): void {
  const ends = new TwoEnds(netlist, 'switches', 701);
  SWITCHES.forEach((name, index) => {
    const [x, row] = SPOT[name];
    const y = ROWS[row];
    const lines = Object.fromEntries(['EN', 'A0', 'A1', 'A2'].map((line) => [line, `${name}_${line}`]));
    const throws = Object.fromEntries(THROWS[name].flatMap((net, k) => (net === null ? [] : [[`S${k + 1}`, net]])));
    const open = THROWS[name].flatMap((net, k) => (net === null ? [`S${k + 1}`] : []));
    netlist.add(`U${index + 11}`, bought.SWITCH8, 'switches',
      { ...lines, ...throws, D: COMMONS[name], VDD: 'V_PLUS', VSS: 'V_MINUS', GND: 'GND' }, at(x, y), { open });
    // All four lines are held while the registers' outputs are off: disabled, and at a defined address.
    netlist.add(`RN${index + 1}`, bought.R_ARRAY, 'switches',
      { '#1': `${name}_A0`, '#2': `${name}_EN`, '#3': `${name}_A2`, '#4': `${name}_A1`, '#5': 'GND', '#6': 'GND', '#7': 'GND', '#8': 'GND' },
      at(x, y - 5.2, 90), { value: '10k', size: 10e3, tolerance: 0.05 });
    ends.c(100e-9, 'GND', 'V_MINUS', x - 5.2, y - 2.4, 'up');
    ends.c(100e-9, 'GND', 'V_PLUS', x + 5.2, y - 1.9, 'up');
  });
  for (let register = 1; register <= 4; register++) {
    const y = ROWS[register - 1];
    const outputs = Object.fromEntries(Array.from({ length: 32 }, (_, bit) => registerOutput(bit))
      .filter((one) => one.register === register).map(({ output, line }) => [output, line]));
    netlist.add(`U${20 + register}`, bought.REGISTER, 'switches', {
      ...outputs, SER: register === 1 ? 'SWITCH_MOSI' : `CHAIN${register - 1}`, "QH'": register === 4 ? 'SWITCH_READBACK' : `CHAIN${register}`,
      SRCLK: 'SWITCH_SCK', RCLK: 'SWITCH_LATCH', OE: 'SWITCH_OE', SRCLR: '3V3', VCC: '3V3', GND: 'GND',
    }, at(MIDDLE, y));
    ends.c(100e-9, 'GND', '3V3', MIDDLE + 1.2, y - 6.3);
  }
}

export function addPorts(netlist: Netlist): void {
  const ends = new TwoEnds(netlist, 'ports', 751);
  const dual = (ref: string, x: number, y: number, plusA: string, minusA: string, outA: string, plusB: string,
    minusB: string, outB: string): void => {
    netlist.add(ref, bought.DUAL_BUFFER, 'ports',
      { '+A': plusA, '-A': minusA, OUTA: outA, '+B': plusB, '-B': minusB, OUTB: outB, 'V+': 'V_PLUS', 'V-': 'V_MINUS' }, at(x, y));
    ends.c(100e-9, 'GND', 'V_MINUS', x - 5, y + 1.2, 'up');
    ends.c(100e-9, 'V_PLUS', 'GND', x + 4.5, y - 1.2, 'up');
  };
  dual('U31', LEFT, 20.2, 'A_PLUS', 'BUF_A_PLUS', 'BUF_A_PLUS', 'A_MINUS', 'BUF_A_MINUS', 'BUF_A_MINUS');
  dual('U32', RIGHT, 20.2, 'B_PLUS', 'BUF_B_PLUS', 'BUF_B_PLUS', 'B_MINUS', 'BUF_B_MINUS', 'BUF_B_MINUS');
  // The snubber stands before the drive switch: with the drive off it is out of circuit (leaks, rings).
  ends.r(FRONT_END.snubber_ohm, 'SOURCE', 'SNUBBER', 56.2, 36.2);
  ends.c(FRONT_END.snubber_F, 'SNUBBER', 'GND', 56.2, 37.9, 'left', bought.C0603_C0G);
  ends.r(FRONT_END.grounding_ohm, 'G1', 'GND', 36, 50.8);
  ends.r(FRONT_END.grounding_ohm, 'G2', 'GND', 36, 66.8);
  // +-1.8 V of the leak and step drives, a fixed share of the listening ADC's own 3.0 V: a step is a ratio of codes.
  ends.r(10e3, '3V0', 'V1V8', 60.0, 36.2, 'left', bought.R0603_FINE);
  ends.r(15e3, 'V1V8', 'GND', 60.0, 37.9, 'left', bought.R0603_FINE);
  ends.c(1e-6, 'V1V8', 'GND', 64.0, 37.9);
  dual('U33', 63.2, 52, 'V1V8', 'PLUS_1V8', 'PLUS_1V8', 'GND', 'INVERT', 'MINUS_1V8');
  ends.r(10e3, 'PLUS_1V8', 'INVERT', 64.0, 36.2, 'left', bought.R0603_FINE);
  ends.r(10e3, 'INVERT', 'MINUS_1V8', 64.0, 34.5, 'left', bought.R0603_FINE);
  ends.r(FRONT_END.drive_ohm, 'PLUS_1V8', 'DRIVE_UP', 55.4, 52.6);
  ends.r(FRONT_END.drive_ohm, 'MINUS_1V8', 'DRIVE_DOWN', 55.4, 54.3);
  // Reference with its foot read on its own line; the link below it carries the current to ground.
  ends.r(FRONT_END.reference_ohm, 'REFERENCE', 'REFERENCE_FOOT', 57, 66.8, 'left', bought.R0805_REFERENCE);
  ends.r(0, 'REFERENCE_FOOT', 'GND', 61, 66.8);
  ends.r(FRONT_END.leakSense_ohm, 'LEAK_SENSE', 'GND', 57, 69.1, 'left', bought.R0603_FINE);
  ends.c(FRONT_END.leakSense_F, 'LEAK_SENSE', 'GND', 61, 69.1, 'left', bought.C0603_C0G);
  ends.r(FRONT_END.bleed_ohm, 'BLEED', 'GND', 65, 69.1);
  // A- carries one throw of the B+ switch (7 pF) and some 40 mm of track (0.1 pF/mm) more than A+; the ring wants both alike to 3 pF.
  ends.c(FRONT_END.balance_F, 'A_PLUS', 'GND', 33, 17.9, 'up', bought.C0603_C0G);
}

/** The 24-bit converter with its filters, the halved rails, the temperature and the wand. */
export function addConverter(netlist: Netlist): void {
  const ends = new TwoEnds(netlist, 'ports', 801);
  const x = 74.6;
  const y = 20;
  netlist.add('U41', bought.CONVERTER, 'ports', {
    AINCOM: 'GND', AIN0: 'SOURCE', AIN1: 'PORT_PLUS', AIN2: 'PORT_MINUS', AIN3: 'WAND', AIN4: 'TEMPERATURE', AIN5: 'RAIL_POSITIVE_HALF',
    AIN6: 'RAIL_NEGATIVE_HALF', AIN7: 'WAND_HALF', START: 'CONVERTER_START', CS: 'CONVERTER_CS', DIN: 'CONVERTER_MOSI', SCLK: 'CONVERTER_SCK',
    DOUT: 'CONVERTER_MISO', DRDY: 'CONVERTER_DRDY', DGND: 'GND', IOVDD: '3V3', DVDD: '3V3', CLK: 'GND', RESET: 'CONVERTER_RESET',
    REFOUT: 'REFOUT', REFCOM: 'V_MINUS', AVDD: 'V_PLUS', AVSS: 'V_MINUS', 'AVSS-SW': 'V_MINUS',
  }, at(x, y), { open: ['AIN8', 'AIN9', 'AIN10', 'AIN11', 'REFN0', 'REFP0', 'NC'] });
  const { portFilter_ohm, portFilter_F } = FRONT_END;
  ends.r(portFilter_ohm, 'BUF_B_PLUS', 'PORT_PLUS', 68.9, 17.4);
  ends.r(portFilter_ohm, 'BUF_B_MINUS', 'PORT_MINUS', 69.6, 15.7);
  ends.c(portFilter_F, 'PORT_PLUS', 'GND', 69.6, 10.6, 'left', bought.C0603_C0G);
  ends.c(portFilter_F, 'PORT_MINUS', 'GND', 69.6, 12.3, 'left', bought.C0603_C0G);
  ends.c(portFilter_F, 'PORT_PLUS', 'PORT_MINUS', 69.6, 14.0, 'left', bought.C0603_C0G);
  ends.c(1e-6, 'V_PLUS', 'V_MINUS', 75.4, 14.6, 'right');
  ends.c(100e-9, 'V_PLUS', 'GND', 75.4, 12.9, 'right');
  ends.c(100e-9, 'GND', 'V_MINUS', 79.4, 14.6);
  ends.c(1e-6, 'REFOUT', 'V_MINUS', 80.4, 18.2, 'down');
  ends.c(100e-9, '3V3', 'GND', 76.4, 26.2, 'up');
  ends.c(100e-9, '3V3', 'GND', 78.2, 26.2, 'up');
  // Halved rails, sources of 5 k with a capacitor for the converter's sampling.
  ends.r(10e3, 'V_PLUS', 'RAIL_POSITIVE_HALF', 74.2, 11.2, 'left', bought.R0603_FINE);
  ends.r(10e3, 'RAIL_POSITIVE_HALF', 'GND', 74.2, 9.5, 'left', bought.R0603_FINE);
  ends.c(100e-9, 'RAIL_POSITIVE_HALF', 'GND', 74.2, 7.8);
  ends.r(10e3, 'V_MINUS', 'RAIL_NEGATIVE_HALF', 78.2, 11.2, 'left', bought.R0603_FINE);
  ends.r(10e3, 'RAIL_NEGATIVE_HALF', 'GND', 78.2, 9.5, 'left', bought.R0603_FINE);
  ends.c(100e-9, 'RAIL_NEGATIVE_HALF', 'GND', 78.2, 7.8);
  netlist.add('U42', bought.THERMOMETER, 'ports', { VDD: '3V3', VOUT: 'TEMPERATURE', GND: 'GND' }, at(70.4, 29.4));
  ends.c(100e-9, '3V3', 'GND', 70.4, 26.8);
  // The wand's sensor reaches 3 V and the converter's supply is 2.5 V: 4.7 k keeps that current below 0.6 mA with the rails off.
  ends.r(4700, 'WAND_SIGNAL', 'WAND', 74.2, 29.2);
  ends.c(100e-9, 'WAND', 'GND', 74.2, 30.9);
  ends.r(10e3, 'WAND_3V3', 'WAND_HALF', 78.2, 29.2, 'left', bought.R0603_FINE);
  ends.r(10e3, 'WAND_HALF', 'GND', 78.2, 30.9, 'left', bought.R0603_FINE);
  ends.c(100e-9, 'WAND_HALF', 'GND', 78.2, 32.6);
}
