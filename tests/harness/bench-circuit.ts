/**
 * A harness in the virtual bench's own circuit, which solves states over time and knows nothing of how the program solves
 * harnesses. Nothing is made one node here: what is joined is soldered, with a milliohm for every joint.
 */
import { Circuit, ONE } from '../../host/src/virtual-bench/circuit.ts';
import type { PlainHarness, PlainMap } from './example-harnesses.ts';
import type { OtherSetting } from './same-setting.ts';
import { allSettings, type Placements } from './spice-deck.ts';

const JOINT_ohm = 1e-3;
/** A coil whose inductance nobody measured counts as none; a state needs a little: half a milliohm at 82.41 Hz. */
const NO_henry = 1e-6;
const SHARE_rad_s = 2 * Math.PI * 82.41;
const PROBE_A = 1e-6;

/** Solves every setting, each twice: with the load for the shares, without it for the ohms. */
export function benchSettings(plain: PlainHarness, placements: Placements): OtherSetting[] {
  return allSettings(plain.harness).map((joins) => ({
    shares: shares(plain, placements, joins),
    ohm: ohms(plain, placements, joins),
  }));
}

function shares(plain: PlainHarness, placements: Placements, joins: readonly (readonly string[])[]): Map<string, number> {
  const { circuit, emfs, output } = build(plain, placements, joins, true);
  const topology = circuit.topology(new Uint8Array(0), new Int8Array(0));
  return new Map([...emfs].map(([label, input]) => {
    const volts = new Float64Array(circuit.inputCount);
    volts[input] = 1;
    return [label, topology.read(topology.outputs, output, topology.phasor(SHARE_rad_s, volts), volts)];
  }));
}

function ohms(plain: PlainHarness, placements: Placements, joins: readonly (readonly string[])[]): number {
  const { circuit, output } = build(plain, placements, joins, false);
  const { hot, ground } = plain.harness.output;
  circuit.current(ground === hot ? hot : '0', hot, [{ input: ONE, gain: PROBE_A }]);
  const inputs = new Float64Array(circuit.inputCount);
  inputs[ONE] = 1;
  return circuit.topology(new Uint8Array(0), new Int8Array(0)).steadyOutput(output, inputs) / PROBE_A;
}

interface Built {
  readonly circuit: Circuit;
  /** By `SLOT COIL`: input of its voltage, plus over minus. */
  readonly emfs: ReadonlyMap<string, number>;
  /** Row of the output's voltage. */
  readonly output: number;
}

function build({ harness, maps }: PlainHarness, placements: Placements, joins: readonly (readonly string[])[], isLoaded: boolean): Built {
  const circuit = new Circuit();
  const { output, load } = harness;
  const solder = (nodes: readonly string[]): void => {
    for (const node of nodes.slice(1)) circuit.resistor(nodes[0]!, node, JOINT_ohm);
  };
  solder(['0', output.ground]);
  for (const join of [...(harness.joins ?? []), ...joins]) solder(join);
  for (const part of harness.parts ?? []) {
    if (part.kind === 'resistor') circuit.resistor(part.a, part.b, part.ohm);
    else if (part.kind === 'capacitor') circuit.capacitor(part.a, part.b, part.farad_F);
    else {
      const turn = part.turn ?? 1;
      circuit.resistor(part.a ?? `${part.id} a`, part.wiper, Math.max((1 - turn) * part.ohm, JOINT_ohm));
      circuit.resistor(part.wiper, part.b ?? `${part.id} b`, Math.max(turn * part.ohm, JOINT_ohm));
    }
  }
  if (isLoaded && load?.ohm !== undefined) circuit.resistor(output.hot, output.ground, load.ohm);
  if (isLoaded && load?.farad_F !== undefined) circuit.capacitor(output.hot, output.ground, load.farad_F);
  const emfs = new Map<string, number>();
  maps.forEach((map, pickup) => {
    const clip = (number: number): string => `${pickup} clip ${number}`;
    for (const group of map.joined) solder(group.map(clip));
    for (const [number, nodes] of placements[pickup]!) solder([clip(number), ...nodes]);
    const { slot, assume } = harness.fitted[pickup]!;
    const windings = new Map<string, number>();
    const live = map.coils.filter(({ ohm, ends }: PlainMap) => ohm !== null && ends !== null);
    for (const { name, ends, minus, plus, ohm, ohm_20C, inductance_H } of live) {
      const [low, high, inside] = [clip(minus ?? ends[0]), clip(plus ?? ends[1]), `${pickup} inside ${name}`];
      const input = circuit.input(`${slot} ${name}`);
      emfs.set(`${slot} ${name}`, input);
      circuit.resistor(high, inside, ohm_20C ?? ohm);
      circuit.source(inside, `${inside}, turns`, JOINT_ohm, [{ input, gain: 1 }]);
      const winding = circuit.inductor(`${inside}, turns`, low);
      circuit.inductance(winding, winding, inductance_H ?? NO_henry);
      windings.set(name, winding);
      if (assume?.loss_ohm !== undefined) circuit.resistor(inside, low, assume.loss_ohm);
      circuit.capacitor(high, low, assume?.capacitance_F ?? 1e-10);
    }
    for (const { a, b, mutual_H } of map.pairs ?? []) {
      const [one, other] = [windings.get(a), windings.get(b)];
      if (mutual_H !== undefined && one !== undefined && other !== undefined) circuit.inductance(one, other, mutual_H);
    }
  });
  return { circuit, emfs, output: circuit.probe(output.hot, output.ground) };
}
