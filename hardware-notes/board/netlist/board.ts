/** The whole board, revision A: the one truth from which everything else is made. */
import { addClips, addConverter, addPorts, addSwitches } from './front-end.ts';
import { addController } from './controller.ts';
import { addListening } from './listening.ts';
import { Netlist } from './model.ts';
import { addSupplies } from './supplies.ts';

export const BOARD = { title: 'Tapstone tester', revision: 'A', width_mm: 100, height_mm: 80 } as const;

/** The board's parts and nets. */
export function tester(): Netlist {
  const netlist = new Netlist();
  addClips(netlist);
  addSwitches(netlist);
  addPorts(netlist);
  addConverter(netlist);
  addListening(netlist);
  addSupplies(netlist);
  addController(netlist);
  return netlist;
}
