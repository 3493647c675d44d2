/**
 * USB 5 V by fuse to 3.3 V (digital) and by bead to the charge pump's +-2.5 V (analog); the clamps' shunt rails +-2.1 V;
 * the listening ADC's 3.0 V. A clamp needs a rail that sinks: the shunts take what a fault pushes in, powered or not.
 */
import * as bought from './bought.ts';
import type { Netlist } from './model.ts';
import { at, TwoEnds } from './place.ts';

/** Dividers of the supplies. The charge pump compares with +1.2 V and -1.22 V (its data sheet, from memory), the shunts with 1.24 V. */
export const SUPPLIES = {
  // The positive rail stands a little higher: room for the current source at 250 uA.
  plus_V: 2.55, minus_V: 2.5, clamp_V: 2.083,
  plusTop_ohm: 118e3, plusFoot_ohm: 105e3, minusTop_ohm: 127e3, minusFoot_ohm: 121e3, shuntTop_ohm: 6800,
    shuntFoot_ohm: 10e3, shuntFeed_ohm: 1000,
  adcFeed_ohm: 390, shuntReference_V: 1.24, plusReference_V: 1.2, minusReference_V: 1.22,
} as const;

export function addSupplies(netlist: Netlist): void {
  const ends = new TwoEnds(netlist, 'supplies', 851);
  const big = bought.C0805;
  netlist.add('U61', bought.RAILS, 'supplies', {
    VIN: '5V_PUMP', PGOOD: 'RAILS_GOOD', 'EN-': 'RAILS_ENABLE', 'EN+': 'RAILS_ENABLE', 'C+': 'PUMP_PLUS', 'C-': 'PUMP_MINUS', GND: 'GND', PAD: 'GND',
    'OUT+': 'V_PLUS', 'FB+': 'FEEDBACK_PLUS', 'FB-': 'FEEDBACK_MINUS', 'OUT-': 'V_MINUS', CP: 'PUMP_OUT',
  }, at(45, 74.5));
  ends.c(4.7e-6, '5V_PUMP', 'GND', 40, 74.5, 'down', big);
  ends.c(4.7e-6, 'PUMP_OUT', 'GND', 40.4, 78.2, 'right', big);
  ends.c(1e-6, 'PUMP_PLUS', 'PUMP_MINUS', 49.6, 75.1, 'up', big);
  ends.c(4.7e-6, 'V_PLUS', 'GND', 48.4, 71.3, 'left', big);
  ends.c(4.7e-6, 'V_MINUS', 'GND', 44.9, 78.2, 'right', big);
  ends.r(SUPPLIES.plusTop_ohm, 'V_PLUS', 'FEEDBACK_PLUS', 44.4, 71.3);
  ends.r(SUPPLIES.plusFoot_ohm, 'FEEDBACK_PLUS', 'GND', 40.8, 71.3);
  ends.r(SUPPLIES.minusTop_ohm, 'V_MINUS', 'FEEDBACK_MINUS', 49.2, 78.2, 'right');
  ends.r(SUPPLIES.minusFoot_ohm, 'FEEDBACK_MINUS', 'GND', 52.6, 78.2);
  // Both rails good pulls this low; off, or the pump unpowered, it is pulled up: the safe reading.
  ends.r(10e3, '3V3', 'RAILS_GOOD', 36.6, 73.5, 'right');
  ends.r(10e3, 'RAILS_ENABLE', 'GND', 36.6, 75.5);
  ends.other('L', bought.BEAD, '5V', '5V_PUMP', 36.4, 78.2);
  const shunt = (ref: string, y: number, cathode: string, anode: string, net: string): void => {
    netlist.add(ref, bought.SHUNT, 'supplies', { REF: net, K: cathode, A: anode }, at(17.6, y));
    ends.r(SUPPLIES.shuntTop_ohm, cathode, net, 13.4, y - 0.9);
    ends.r(SUPPLIES.shuntFoot_ohm, net, anode, 13.4, y + 0.9);
  };
  shunt('U62', 72.6, 'CLAMP_HIGH', 'GND', 'SHUNT_HIGH');
  shunt('U63', 77.0, 'GND', 'CLAMP_LOW', 'SHUNT_LOW');
  ends.r(SUPPLIES.shuntFeed_ohm, 'V_PLUS', 'CLAMP_HIGH', 22, 71.7);
  ends.c(1e-6, 'CLAMP_HIGH', 'GND', 22, 73.5);
  ends.r(SUPPLIES.shuntFeed_ohm, 'CLAMP_LOW', 'V_MINUS', 22, 77.9);
  ends.c(1e-6, 'GND', 'CLAMP_LOW', 22, 76.1);

  netlist.add('J9', bought.RECEPTACLE, 'supplies', { GND: 'GND', VBUS: 'VBUS', CC1: 'CC1', CC2: 'CC2', 'D+': 'USB_PLUS_IN', 'D-': 'USB_MINUS_IN', SHIELD: 'GND' },
    at(86.8, 76.3), { open: ['SBU1', 'SBU2'], value: 'USB' });
  ends.r(5100, 'CC1', 'GND', 93.8, 70.3);
  ends.r(5100, 'CC2', 'GND', 93.8, 68.5);
  netlist.add('F1', bought.FUSE, 'supplies', { '#1': 'VBUS', '#2': '5V' }, at(78.5, 71.5, 180), { value: '0.5 A' });
  netlist.add('U64', bought.LDO, 'supplies', { VIN: '5V', EN: '5V', GND: 'GND', VOUT: '3V3' }, at(83, 64.6), { open: ['NC'] });
  ends.c(10e-6, '5V', 'GND', 83, 67.8, 'left', big);
  ends.c(10e-6, '3V3', 'GND', 83, 61.6, 'left', big);
  netlist.add('U65', bought.REFERENCE3, 'supplies', { K: '3V0', A: 'GND' }, at(84, 56.6), { open: ['NC'] });
  ends.r(SUPPLIES.adcFeed_ohm, '3V3', '3V0', 84.2, 53.2);
  ends.c(10e-6, '3V0', 'GND', 83.4, 59.4, 'left', big);
}
