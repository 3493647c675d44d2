/** What the virtual bench needs of the board: values of the front end and the nets of the switch matrix, as a file of its own. */
import { FRONT_END } from '../netlist/front-end.ts';
import { SUPPLIES } from '../netlist/supplies.ts';
import { COMMONS, SWITCHES, THROWS } from '../netlist/pins.ts';

/** Where the twin's file lies, from the board's folder. */
export const TWIN_FILE = '../../host/src/virtual-bench/board-values.generated.ts';

const grounded = (net: string | null): string | null => (net === 'GND' ? '0' : net);

/** The file's text. */
export function twinValues(): string {
  const values = Object.entries(FRONT_END).map(([name, value]) => `  ${name}: ${value},`);
  const throws = SWITCHES.map((name) => `  [${THROWS[name].map((net) => (net === null ? 'null' : `'${grounded(net)}'`)).join(', ')}],`);
  return `// Made from hardware-notes/board/netlist by \`node hardware-notes/board/make.ts files\`. Do not edit.

/** Ohms and farads of the front end. */
export const FRONT_END = {
${values.join('\n')}
} as const;

/** The analog rails and the rails of the clamps, volts from 0 V. */
export const RAILS = { plus_V: ${SUPPLIES.plus_V}, minus_V: ${SUPPLIES.minus_V}, clamp_V: ${SUPPLIES.clamp_V} } as const;

/** Node of each switch's common; the switches in the order of the word, lowest nibble first. */
export const COMMONS = [${SWITCHES.map((name) => `'${COMMONS[name]}'`).join(', ')}] as const;

/** Node at each of the eight throws of each switch; null where nothing is wired. */
export const THROWS: readonly (readonly (string | null)[])[] = [
${throws.join('\n')}
];
`;
}
