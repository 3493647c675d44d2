/**
 * The tester's analog board as a circuit: protection, eight 8:1 switches, drives and returns.
 *
 * The switch word holds eight nibbles `EN A2 A1 A0`, lowest first: A+, A-, B+, B-, G1, G2, DRV,
 * RET.
 */
import type { Circuit } from './circuit.ts';
import { ONE } from './circuit.ts';
import { clipNode } from './pickup-circuit.ts';
import type { RandomStream } from './random.ts';

export const CLIPS = 6;
const MUX_COUNT = 8;
const ADDRESSES = 8;
const MUX_A_PLUS = 0;
const MUX_A_MINUS = 1;
const MUX_B_PLUS = 2;
const MUX_B_MINUS = 3;
const MUX_G1 = 4;
const MUX_G2 = 5;
const MUX_DRIVE = 6;
const MUX_RETURN = 7;

const PROTECTION_OHM = 1000;
const AFTER_CLAMP_OHM = 220;
const SENSE_OHM = 10e3;
const ON_OHM = 2.5;
const GROUNDING_OHM = 220;
/** Shunt rails of +-2.1 V and a diode's 0.55 V. */
const CLAMP_V = 2.65;
const CLAMP_OHM = 30;
/** The current source gives up 0.4 V below its +2.5 V supply. */
const COMPLIANCE_V = 2.1;
const COMPLIANCE_OHM = 50;
const SNUBBER_OHM = 30e3;
const SNUBBER_F = 10e-9;
const DRIVE_OHM = 1000;
const LEAK_SENSE_OHM = 1e6;
const LEAK_SENSE_F = 10e-9;
const BLEED_OHM = 100e3;
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

export const REFERENCE_OHM = 2000;
/** The reference lies within +-0.05 %. */
const REFERENCE_LIMIT = 0.0005;
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
}

/** Adds the board to a circuit that already has its pickup.
 * @param random - what differs from board to board
 * @param spread - by how much its capacitances do
 */
export function addAnalogBoard(circuit: Circuit, random: RandomStream, spread: RandomStream): AnalogBoard {
  for (let clip = 1; clip <= CLIPS; clip++) addClip(circuit, clip, random);
  for (let clip = 1; clip <= CLIPS; clip++) {
    circuit.capacitor(clipNode(clip), '0', CLIP_F * (1 + CLIP_SPREAD * spread.between(-1, 1)));
    if (clip < CLIPS) circuit.capacitor(clipNode(clip), clipNode(clip + 1), NEIGHBOUR_F);
  }
  for (const common of ['A+', 'A-', 'B+', 'B-']) {
    circuit.capacitor(common, '0', COMMON_F * (1 + COMMON_SPREAD * spread.between(-1, 1)));
    circuit.resistor(common, '0', COMMON_INSULATION_OHM);
    circuit.current('0', common, [{ input: ONE, gain: COMMON_LEAKAGE_A * random.gaussian() }]);
  }
  for (const common of ['G1', 'G2']) circuit.resistor(common, '0', GROUNDING_OHM);
  const driveInput = addDrives(circuit, random);
  addReturns(circuit, random);
  return {
    driveInput,
    switches: addSwitches(circuit),
    channelA: circuit.probe('A+', 'A-'),
    channelB: circuit.probe('B+', 'B-'),
  };
}

/** A clip's protection, and what its insulation and its semiconductors let through. */
function addClip(circuit: Circuit, clip: number, random: RandomStream): void {
  const at = clipNode(clip);
  circuit.resistor(at, `K${clip}`, PROTECTION_OHM);
  circuit.clamp(`K${clip}`, '0', -CLAMP_V, CLAMP_V, CLAMP_OHM);
  circuit.resistor(`K${clip}`, `F${clip}`, AFTER_CLAMP_OHM);
  circuit.resistor(at, `S${clip}`, SENSE_OHM);
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
  circuit.current('0', 'idac', [{ input: driveInput, gain: error }]);
  circuit.resistor('idac', '0', COMMON_INSULATION_OHM);
  circuit.clamp('idac', '0', -COMPLIANCE_V - 0.5, COMPLIANCE_V, COMPLIANCE_OHM);
  circuit.resistor('idac', 'snubber', SNUBBER_OHM);
  circuit.capacitor('snubber', '0', SNUBBER_F);
  const up = STEP_V * (1 + 0.001 * random.gaussian());
  const down = STEP_V * (1 + 0.001 * random.gaussian());
  circuit.source('drive up', '0', DRIVE_OHM, [{ input: ONE, gain: up }]);
  circuit.source('drive down', '0', DRIVE_OHM, [{ input: ONE, gain: -down }]);
  return driveInput;
}

function addReturns(circuit: Circuit, random: RandomStream): void {
  const error = 1 + REFERENCE_LIMIT * random.between(-1, 1);
  circuit.resistor('reference', '0', REFERENCE_OHM * error);
  circuit.resistor('leak sense', '0', LEAK_SENSE_OHM * (1 + 0.001 * random.between(-1, 1)));
  circuit.capacitor('leak sense', '0', LEAK_SENSE_F);
  circuit.resistor('bleed', '0', BLEED_OHM);
}

function addSwitches(circuit: Circuit): number[][] {
  const common = ['A+', 'A-', 'B+', 'B-', 'G1', 'G2', 'A+', 'A-'];
  const throws: string[][] = Array.from({ length: MUX_COUNT }, () => []);
  for (const mux of [MUX_A_PLUS, MUX_A_MINUS, MUX_G1, MUX_G2]) {
    for (let clip = 1; clip <= CLIPS; clip++) throws[mux].push(`F${clip}`);
  }
  for (const mux of [MUX_B_PLUS, MUX_B_MINUS]) {
    for (let clip = 1; clip <= CLIPS; clip++) throws[mux].push(`S${clip}`);
  }
  throws[MUX_B_PLUS].push('reference', 'A-');
  throws[MUX_B_MINUS].push('0', '0');
  throws[MUX_DRIVE].push('idac', 'drive up', 'drive down', '0');
  throws[MUX_RETURN].push('reference', 'leak sense', '0', 'bleed');
  return throws.map((nodes, mux) =>
    Array.from({ length: ADDRESSES }, (_, address) => {
      const node = nodes[address];
      return node === undefined ? -1 : circuit.switch(node, common[mux], ON_OHM);
    }),
  );
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
