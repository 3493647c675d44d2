/**
 * The tester's analog board as a circuit: protection, eight 8:1 switches, drives and returns.
 *
 * The switch word holds eight nibbles `EN A2 A1 A0`, lowest first: A+, A-, B+, B-, G1, G2, DRV,
 * RET.
 */
import type { Circuit } from './circuit.ts';
import { ONE } from './circuit.ts';
import { clipNode } from './pickup-circuit.ts';
import { COMMONS, FRONT_END, RAILS, THROWS } from './board-values.generated.ts';
import type { RandomStream } from './random.ts';

export const CLIPS = 6;
/** A closed switch, from memory of its data sheet. */
export const ON_OHM = 2.5;
/** Beyond the clamps' rails, a diode's voltage. */
const CLAMP_V = RAILS.clamp_V + 0.55;
const CLAMP_OHM = 30;
/** The current source gives up 0.4 V below its supply. */
const COMPLIANCE_V = RAILS.plus_V - 0.4;
const COMPLIANCE_OHM = 50;
/** A common with the drains of the switches on it; two of one board differ by a few picofarads. */
const COMMON_F = 95e-12;
const COMMON_SPREAD = 0.02;
/** From a clip to ground: a metre of screened lead (100 pF), clamps, switch throws and tracks (39 pF). */
const CLIP_F = 139e-12;
const CLIP_SPREAD = 0.03;
/** From the wire of a clip to that of the next. */
const NEIGHBOUR_F = 20e-12;
/** Board surface from a clip to ground, and between neighbouring clips. */
const CLIP_INSULATION_OHM = 20e9;
const NEIGHBOUR_INSULATION_OHM = 400e9;
const COMMON_INSULATION_OHM = 100e9;
/** Leakage of four switches and a clamp, amperes, standard deviation. */
const CLIP_LEAKAGE_A = 20e-12;
const COMMON_LEAKAGE_A = 5e-12;

/** Of a metre and more of lead, from the board's terminal to the clip. */
const LEAD_OHM_LEAST = 0.08;
const LEAD_OHM_MOST = 0.2;

/** Ohms of the leads of clips 1 to 6, as one tester has them. */
export function drawLeads(random: RandomStream): readonly number[] {
  return Array.from({ length: CLIPS }, () => random.between(LEAD_OHM_LEAST, LEAD_OHM_MOST));
}

export const REFERENCE_OHM = FRONT_END.reference_ohm;
/** The reference lies within +-0.05 %. */
const REFERENCE_LIMIT = 0.0005;
/** The bleed is one of 1 %. */
const BLEED_LIMIT = 0.01;
export const STEP_V = 1.8;

/** What the front end needs to know of the board's circuit. */
export interface AnalogBoard {
  /** Input: amperes of the current source. */
  readonly driveInput: number;
  /** Circuit's switch for each mux (0 to 7) and address (0 to 7), -1 where nothing is connected. */
  readonly switches: readonly (readonly number[])[];
  /** Probes: channel A, and channel B, which is the converter's port. */
  readonly channelA: number;
  readonly channelB: number;
  /** Of clips 1 to 6, each open and on the A+ common, the wires beside it at 0 V. */
  readonly fixture_F: readonly number[];
}

/** Adds the board to a circuit that already has its pickup.
 * @param random - what differs from board to board
 * @param spread - by how much its capacitances do, and the bleed they fall through
 */
export function addAnalogBoard(circuit: Circuit, random: RandomStream, spread: RandomStream): AnalogBoard {
  for (let clip = 1; clip <= CLIPS; clip++) addClip(circuit, clip, random);
  const clips_F = Array.from({ length: CLIPS }, () => CLIP_F * (1 + CLIP_SPREAD * spread.between(-1, 1)));
  for (let clip = 1; clip <= CLIPS; clip++) {
    circuit.capacitor(clipNode(clip), '0', clips_F[clip - 1]);
    if (clip < CLIPS) circuit.capacitor(clipNode(clip), clipNode(clip + 1), NEIGHBOUR_F);
  }
  const commons_F: number[] = [];
  for (const common of ['A_PLUS', 'A_MINUS', 'B_PLUS', 'B_MINUS']) {
    const common_F = COMMON_F * (1 + COMMON_SPREAD * spread.between(-1, 1));
    commons_F.push(common_F);
    circuit.capacitor(common, '0', common_F);
    circuit.resistor(common, '0', COMMON_INSULATION_OHM);
    circuit.current('0', common, [{ input: ONE, gain: COMMON_LEAKAGE_A * random.gaussian() }]);
  }
  for (const common of ['G1', 'G2']) circuit.resistor(common, '0', FRONT_END.grounding_ohm);
  const driveInput = addDrives(circuit, random);
  addReturns(circuit, random, spread);
  return {
    driveInput,
    switches: addSwitches(circuit),
    channelA: circuit.probe('A_PLUS', 'A_MINUS'),
    channelB: circuit.probe('B_PLUS', 'B_MINUS'),
    fixture_F: clips_F.map((clip_F, i) => clip_F + commons_F[0] + NEIGHBOUR_F * (i === 0 || i === CLIPS - 1 ? 1 : 2)),
  };
}

/** A clip's protection, and what its insulation and its semiconductors let through. */
function addClip(circuit: Circuit, clip: number, random: RandomStream): void {
  const at = clipNode(clip);
  circuit.resistor(at, `K${clip}`, FRONT_END.protection_ohm);
  circuit.clamp(`K${clip}`, '0', -CLAMP_V, CLAMP_V, CLAMP_OHM);
  circuit.resistor(`K${clip}`, `F${clip}`, FRONT_END.afterClamp_ohm);
  circuit.resistor(at, `S${clip}`, FRONT_END.sense_ohm);
  circuit.clamp(`S${clip}`, '0', -CLAMP_V, CLAMP_V, CLAMP_OHM);
  circuit.resistor(at, '0', CLIP_INSULATION_OHM * random.between(0.8, 2));
  if (clip < CLIPS) {
    const ohm = NEIGHBOUR_INSULATION_OHM * random.between(0.5, 2);
    circuit.resistor(at, clipNode(clip + 1), ohm);
  }
  circuit.current('0', `F${clip}`, [{ input: ONE, gain: CLIP_LEAKAGE_A * random.gaussian() }]);
}

function addDrives(circuit: Circuit, random: RandomStream): number {
  const driveInput = circuit.input('current source');
  const error = 1 + 0.01 * random.gaussian();
  circuit.current('0', 'SOURCE', [{ input: driveInput, gain: error }]);
  circuit.resistor('SOURCE', '0', COMMON_INSULATION_OHM);
  circuit.clamp('SOURCE', '0', -COMPLIANCE_V - 0.5, COMPLIANCE_V, COMPLIANCE_OHM);
  circuit.resistor('SOURCE', 'SNUBBER', FRONT_END.snubber_ohm);
  circuit.capacitor('SNUBBER', '0', FRONT_END.snubber_F);
  const up = STEP_V * (1 + 0.001 * random.gaussian());
  const down = STEP_V * (1 + 0.001 * random.gaussian());
  circuit.source('DRIVE_UP', '0', FRONT_END.drive_ohm, [{ input: ONE, gain: up }]);
  circuit.source('DRIVE_DOWN', '0', FRONT_END.drive_ohm, [{ input: ONE, gain: -down }]);
  return driveInput;
}

function addReturns(circuit: Circuit, random: RandomStream, spread: RandomStream): void {
  const error = 1 + REFERENCE_LIMIT * random.between(-1, 1);
  circuit.resistor('REFERENCE', '0', REFERENCE_OHM * error);
  circuit.resistor('LEAK_SENSE', '0', FRONT_END.leakSense_ohm * (1 + 0.001 * random.between(-1, 1)));
  circuit.capacitor('LEAK_SENSE', '0', FRONT_END.leakSense_F);
  circuit.resistor('BLEED', '0', FRONT_END.bleed_ohm * (1 + BLEED_LIMIT * spread.between(-1, 1)));
}

/** The reference's foot is read on a line of its own, whose link to 0 V is less than anything here. */
const atGround = (node: string): string => (node === 'REFERENCE_FOOT' ? '0' : node);

function addSwitches(circuit: Circuit): number[][] {
  return THROWS.map((nodes, mux) => nodes.map((node) => (node === null ? -1 : circuit.switch(atGround(node), COMMONS[mux], ON_OHM))));
}

/** Address that a mux is set to, or -1 when it is off.
 * @param mux - 0 to 7 for A+, A-, B+, B-, G1, G2, DRV, RET
 */
export function muxAddress(word: number, mux: number): number {
  const nibble = (word >>> (4 * mux)) & 15;
  return nibble >= 8 ? nibble - 8 : -1;
}

/** Clip that the sensing port's plus (mux 2) or minus (mux 3) is on, or 0 for none. */
export function sensedClip(word: number, mux: 2 | 3): number {
  const address = muxAddress(word, mux);
  return address >= 0 && address < CLIPS ? address + 1 : 0;
}
