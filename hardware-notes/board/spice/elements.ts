/**
 * The front end as a SPICE circuit, out of the netlist: every part between the clips and the converters, no digital chip.
 *
 * All 51 wired throws of the switches are resistors, open at first; a deck closes those of a switch word with `alter`.
 * Models are made here from figures of the data sheets; nothing is copied from a maker's model.
 */
import * as bought from '../netlist/bought.ts';
import type { Netlist, Part } from '../netlist/model.ts';
import { SUPPLIES } from '../netlist/supplies.ts';
import { COMMONS, SWITCHES, THROWS } from '../netlist/pins.ts';

/** On-resistance and capacitances of the switches (TMUX1109's sheet; its eight-throw sister's drain from memory). */
const ON_OHM = 2.5;
const OPEN_OHM = 1e14;
const THROW_F = 7e-12;
const DRAIN_F = 38e-12;
/** A buffer's input and a few centimetres of track. */
const INPUT_F = 8e-12;

/** Node of a net: ground is 0, and none begins with a digit. */
export function node(net: string): string {
  return net === 'GND' ? '0' : /^\d/.test(net) ? `n${net}` : net;
}

const MODELS = `* BAV199: 0.9 V at 1 mA, 1.0 V at 10 mA, 1.25 V at 150 mA, 2 pF (its sheet, greatest values)
.model clamp D(IS=1e-12 N=1.68 RS=0.9 CJO=2p)
* protection diodes of the chips: 0.65 V at 1 mA, 10 ohm (from memory of such structures)
.model inner D(IS=1e-14 N=1 RS=10)
.model limit D(IS=1e-12 N=0.05)
* op-amp: gain 1e6, one pole, output 20 mV from the rails, 30 ohm; bias and offset are parameters
.subckt opamp plus minus vplus vminus out params: gbw=10meg bias=0 offset=0
Voff plus off DC {offset}
Gm 0 x off minus 1m
Rx x 0 1g
Cx x 0 {1m/(6.2831853*gbw)}
Bhigh high 0 V=V(vplus)-0.02
Blow low 0 V=V(vminus)+0.02
Dh x high limit
Dl low x limit
Eo out1 0 x 0 1
Ro out1 out 30
Cp plus 0 ${INPUT_F}
Ib1 plus 0 {bias}
Ib2 minus 0 {bias}
D1 plus vplus inner
D2 vminus plus inner
D3 minus vplus inner
D4 vminus minus inner
.ends
* TLVH431: 1.24 V between reference and anode, 0.25 ohm, 0.1 uA into the reference, conducts backwards like a diode
.subckt shunt ref k a
Bk k a I=min(0.12, 4*max(0, V(ref,a)-1.24))
Ir ref a 0.1u
Ck k a 100p
Dk a k inner
.ends`;

/** How bad the parts are. */
export interface Corner {
  /** Amperes into every input of a buffer; both of one amplifier alike. */
  readonly bias_A: number;
  /** Volts of offset of the port's buffers, plus and minus turned against each other. */
  readonly offset_V: number;
  /** Amperes out of every switch throw and common, and out of every clamp. */
  readonly leakage_A: number;
  /** Amperes into the converter's inputs. */
  readonly converter_A: number;
}

export const TYPICAL: Corner = { bias_A: 0.2e-12, offset_V: 0, leakage_A: 3e-12, converter_A: 0.1e-9 };
/** Greatest values at 25 C: OPA2325 10 pA and 150 uV, switch 0.1 nA (its sister), clamp 20 pA (typical 3; the sheet's limit is at 75 V), converter 2 nA. */
export const WORST: Corner = { bias_A: 10e-12, offset_V: 150e-6, leakage_A: 100e-12, converter_A: 2e-9 };

/** The circuit's elements.
 * @param clips - those that are there; fewer make a long transient bearable
 */
export function frontEnd(netlist: Netlist, corner: Corner, clips: readonly number[] = [1, 2, 3, 4, 5, 6]): string {
  const lines: string[] = [MODELS];
  const isAbsent = (net: string | undefined): boolean => {
    const [, clip] = /^(?:CLIP|[KFS])(\d)$/.exec(net ?? '') ?? [];
    return clip !== undefined && !clips.includes(Number(clip));
  };
  for (const part of netlist.parts) {
    if (![...part.nets.values()].some(isAbsent) || part.bought === bought.SWITCH8) lines.push(...elementsOf(part, corner));
  }
  for (const name of SWITCHES) {
    const common = node(COMMONS[name]);
    const vplus = 'V_PLUS';
    const vminus = 'V_MINUS';
    lines.push(`C_${name} ${common} 0 ${DRAIN_F}`, `D_${name}p ${common} ${vplus} inner`, `D_${name}n ${vminus} ${common} inner`, `I_${name} 0 ${common} ${corner.leakage_A}`);
    THROWS[name].forEach((net, k) => {
      if (net === null || isAbsent(net)) return;
      const id = `${name}_${k + 1}`;
      lines.push(`Rsw_${id} ${node(net)} ${common} ${OPEN_OHM}`);
      if (net === 'GND') return;
      lines.push(`C_${id} ${node(net)} 0 ${THROW_F}`, `D_${id}p ${node(net)} ${vplus} inner`, `D_${id}n ${vminus} ${node(net)} inner`);
      // Throws that read a clip leak all the same way: the worst case.
      lines.push(`I_${id} 0 ${node(net)} ${corner.leakage_A / 4}`);
    });
  }
  return lines.join('\n');
}

function elementsOf(part: Part, corner: Corner): string[] {
  const { ref, bought: kind, nets, size } = part;
  const at = (pin: string): string => node(nets.get(pin)!);
  switch (kind.family) {
    case 'resistor':
      return kind.pins.length === 2 && isAnalog(part) ? [`${ref} ${at('1')} ${at('2')} ${Math.max(size!, 0.01)}`] : [];
    case 'capacitor':
      return isAnalog(part) ? [`${ref} ${at('1')} ${at('2')} ${size}`] : [];
    case 'diodes':
      return [`${ref}a ${at('1')} ${at('3')} clamp`, `${ref}b ${at('3')} ${at('2')} clamp`];
    default:
  }
  if (kind === bought.SHUNT) return [`X${ref} ${at('1')} ${at('2')} ${at('3')} shunt`];
  const pin = (name: string): string => at(kind.pins.find((one) => one.name === name)!.number);
  const amplifier = (letter: string, gbw: string, offset: number): string =>
    `X${ref}${letter} ${pin(`+${letter}`)} ${pin(`-${letter}`)} ${pin('V+')} ${pin('V-')} ${pin(`OUT${letter}`)} opamp gbw=${gbw} bias=${corner.bias_A} offset=${offset}`;
  if (kind === bought.DUAL_BUFFER) return [amplifier('A', '10meg', corner.offset_V), amplifier('B', '10meg', -corner.offset_V)];
  if (kind === bought.QUAD) return ['A', 'B', 'C', 'D'].map((letter) => amplifier(letter, '5.5meg', 0));
  if (kind === bought.SINGLE) return [amplifier('', '5.5meg', 0)];
  if (kind === bought.CONVERTER) {
    return ['PORT_PLUS', 'PORT_MINUS', 'SOURCE'].flatMap((net, i) => [
      `D${ref}_${i}p ${net} V_PLUS inner`, `D${ref}_${i}n V_MINUS ${net} inner`, `I${ref}_${i} ${net} 0 ${i === 1 ? corner.converter_A / 2 : corner.converter_A}`,
    ]);
  }
  return [];
}

const SUPPLY_NETS = new Set(['V_PLUS', 'V_MINUS', '3V3A', '3V0']);
const DIGITAL = new RegExp(
  '^(3V3|5V|5V_PUMP|1V1|VBUS|CC\\d|PUMP_|FEEDBACK|USB|XIN|XOUT|CRYSTAL|QSPI|RUN|BOOT|SW|BUTTON|LIGHT|WAND|CONVERTER|RAIL|TEMPERATURE|REFOUT)',
);

/** Whether a part belongs to the circuit of the decks: no decoupling, nothing digital. */
function isAnalog({ bought: kind, nets }: Part): boolean {
  const ends = [...nets.values()];
  if (ends.some((net) => DIGITAL.test(net))) return false;
  return kind.family !== 'capacitor' || !ends.every((net) => net === 'GND' || SUPPLY_NETS.has(net));
}

/** Commands that set all switches to a word. @param clips - the clips that are there */
export function setWord(word: number, clips: readonly number[] = [1, 2, 3, 4, 5, 6]): string[] {
  return SWITCHES.flatMap((name, index) => {
    const nibble = (word >>> (4 * index)) & 15;
    return THROWS[name].flatMap((net, k) => {
      const [, clip] = /^[FS](\d)$/.exec(net ?? '') ?? [];
      if (net === null || (clip !== undefined && !clips.includes(Number(clip)))) return [];
      return [`alter rsw_${name.toLowerCase()}_${k + 1} = ${nibble === 8 + k ? ON_OHM : OPEN_OHM}`];
    });
  });
}

/** The supplies as ideal sources. */
export const SUPPLIED = `Vplus V_PLUS 0 ${SUPPLIES.plus_V}
Vminus V_MINUS 0 ${-SUPPLIES.minus_V}
V33a n3V3A 0 3.3
V30 n3V0 0 3.0`;

/** The converter's current source at a net, full up to 0.4 V below the positive rail (data sheet SBAS660C). @param amperes - a parameter or figure */
export function currentSource(amperes: string): string {
  return `Bsource 0 SOURCE I=(${amperes})*min(1, max(0, (V(V_PLUS)-0.3-V(SOURCE))/0.1))`;
}
