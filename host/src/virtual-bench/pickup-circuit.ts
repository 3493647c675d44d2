/**
 * A pickup as a circuit: windings cut at taps, breaks and shorted turns, their couplings with the
 * signs of the file format, the faults, and a contact at every clip.
 */
import type { Circuit, SourceTerm } from './circuit.ts';
import { ONE } from './circuit.ts';
import { isPositiveDefinite } from './dense.ts';
import { Guitar } from './guitar.ts';
import type { Pickup, PickupCoil } from '../pickup/pickup.ts';
import { tapPoint } from '../pickup/pickup.ts';

/** Temperature coefficient of copper at 20 C, per kelvin (IEC 60028). */
export const COPPER_PER_K = 0.00393;
/** Coupling of the sections of one winding: close to 1, since 1 is singular. */
const SECTION_COUPLING = 0.9998;
/** Several faults may short a coil together; some of its turns remain. */
const SHORTED_MOST = 0.99;
const BREAK_FARAD = 50e-12;
/** Of each of the pickup's own leads, where its file does not say. */
export const LEAD_OHM = 0.05;
/** No contact, no winding is better than this; beside teraohms less could not be told from 0. */
const CONTACT_OHM_MIN = 0.01;
const LOSS_OHM_MIN = 1;
/** A coil whose file says 0 farad keeps this much: an inductance must end in something. */
const STRAY_FARAD_MIN = 1e-15;
/** The coil that `hum_V` is stated for. */
const HUM_REFERENCE_H = 2.3;
const LIVE_SOURCE_OHM = 1000;

/** Where a pickup meets the rest of a circuit. */
export interface PickupPorts {
  /** Input of the mains field: volts in a 2.3 H coil wound clockwise. */
  readonly humInput: number;
  /** Per coil of the file: the input of its touch voltage, `to` against `from`. */
  readonly emfInputs: readonly number[];
  /** Switches of leads that lose contact, closed while they have it. */
  readonly contacts: readonly { readonly switch: number; readonly clip: number }[];
}

/** Resistance of a copper winding at a temperature.
 * @param ohm_20C - at 20 degrees Celsius
 * @see IEC 60028, standard annealed copper
 */
export function copperOhm(ohm_20C: number, temperature_C: number): number {
  return ohm_20C * (1 + COPPER_PER_K * (temperature_C - 20));
}

/** +1 for a winding that runs clockwise from `from` to `to`, else -1. */
export function windingSign(coil: PickupCoil): 1 | -1 {
  return coil.winding === 'cw' ? 1 : -1;
}

/** Sign of V(to) - V(from) while steel arrives at the coil: winding times pole. */
export function touchSign(coil: PickupCoil): 1 | -1 {
  return windingSign(coil) === (coil.pole === 'N' ? 1 : -1) ? 1 : -1;
}

/** The circuit's node for a clip. */
export function clipNode(clip: number): string {
  return `clip ${clip}`;
}

/** Part of a winding: an inductor with its share of the coil's turns. */
interface Section {
  readonly coil: number;
  readonly inductor: number;
  /** Share of the unharmed coil's turns. */
  readonly turns: number;
}

/**
 * Adds a pickup to a circuit; its leads end at the nodes named by `clipNode`, those that lead nowhere not at all.
 * @param leads_ohm - of the tester's own leads, clip by clip; none where left out
 */
export function addPickup(circuit: Circuit, pickup: Pickup, leads_ohm: readonly number[] = []): PickupPorts {
  const humInput = circuit.input('hum');
  const emfInputs = pickup.coils.map(({ id }) => circuit.input(`emf of ${id}`));
  const sections: Section[] = [];
  pickup.coils.forEach((coil, index) => {
    const terms = [
      { input: emfInputs[index], gain: 1 },
      { input: humInput, gain: windingSign(coil) * Math.sqrt(coil.inductance_H / HUM_REFERENCE_H) },
    ];
    sections.push(...addCoil(circuit, pickup, index, terms));
  });
  coupleSections(circuit, pickup, sections);
  for (const fault of pickup.faults) {
    if (fault.kind === 'bridge') {
      const ohm = Math.max(fault.ohm, CONTACT_OHM_MIN);
      circuit.resistor(nodeName(fault.a), nodeName(fault.b), ohm);
    } else if (fault.kind === 'live') {
      const [plus, minus] = fault.between;
      const ohm = Math.max(fault.source_ohm ?? LIVE_SOURCE_OHM, CONTACT_OHM_MIN);
      const terms = [{ input: ONE, gain: fault.volt_V }];
      circuit.source(nodeName(plus), nodeName(minus), ohm, terms);
    }
  }
  if (pickup instanceof Guitar)
    for (const { a, b, farad_F } of pickup.capacitors) circuit.capacitor(nodeName(a), nodeName(b), farad_F);
  const contacts: { switch: number; clip: number }[] = [];
  for (const { clip, node, ohm: own_ohm = LEAD_OHM } of pickup.leads) {
    // The clip then holds a wire with a free end: it has no contact to lose.
    if (node === null) continue;
    const ohm = Math.max(own_ohm, CONTACT_OHM_MIN) + (leads_ohm[clip - 1] ?? 0);
    if (pickup.faults.some((fault) => fault.kind === 'intermittent' && fault.clip === clip)) {
      contacts.push({
        switch: circuit.switch(nodeName(node), clipNode(clip), ohm),
        clip,
      });
    } else {
      circuit.resistor(nodeName(node), clipNode(clip), ohm);
    }
  }
  return { humInput, emfInputs, contacts };
}

/** One name for every way of writing the same tap. */
function nodeName(node: string): string {
  const tap = tapPoint(node);
  return tap === null ? `pickup ${node}` : tapName(tap.coil, tap.fraction);
}

function tapName(coil: string, fraction: number): string {
  return `tap ${coil}@${fraction}`;
}

/** Adds a coil's sections, losses, capacitance and, when it has one, its break or its short. */
function addCoil(
  circuit: Circuit,
  pickup: Pickup,
  index: number,
  terms: readonly SourceTerm[],
): Section[] {
  const coil = pickup.coils[index];
  const shortedSum = pickup.faults
    .filter((fault) => fault.kind === 'shorted_turns')
    .filter((fault) => fault.coil === coil.id)
    .reduce((sum, fault) => sum + fault.fraction, 0);
  const shorted = Math.min(shortedSum, SHORTED_MOST);
  const open = pickup.faults.some((fault) => fault.kind === 'open' && fault.coil === coil.id);
  const sound = 1 - shorted;
  const whole_ohm = copperOhm(coil.resistance_ohm_20C, pickup.temperature_C);
  const sections: Section[] = [];

  const addSection = (from: string, to: string, turns: number): void => {
    const middle = `inside ${coil.id} ${sections.length}`;
    const scaled = terms.map(({ input, gain }) => ({ input, gain: gain * turns }));
    circuit.source(to, middle, Math.max(whole_ohm * turns, CONTACT_OHM_MIN), scaled);
    const inductor = circuit.inductor(middle, from);
    if (coil.loss_ohm !== undefined && turns > 0) {
      const loss_ohm = Math.max(coil.loss_ohm * turns * sound, LOSS_OHM_MIN);
      circuit.resistor(middle, from, loss_ohm);
    }
    sections.push({ coil: index, inductor, turns });
  };

  let last = 0;
  let lastName = nodeName(coil.from);
  for (const fraction of [...cutsOf(pickup, coil, open), 1]) {
    const name = fraction === 1 ? nodeName(coil.to) : tapName(coil.id, fraction);
    addSection(lastName, name, (fraction - last) * sound);
    lastName = name;
    if (open && fraction === 0.5) {
      lastName = `beyond the break of ${coil.id}`;
      circuit.capacitor(name, lastName, BREAK_FARAD);
    }
    last = fraction;
  }
  if (shorted > 0) {
    const loop = `shorted turns of ${coil.id}`;
    addSection(loop, loop, shorted);
  }
  const farad = Math.max(coil.capacitance_F, STRAY_FARAD_MIN);
  circuit.capacitor(nodeName(coil.to), nodeName(coil.from), farad);
  return sections;
}

/** Where a winding is cut: taps that something hangs on, and the middle when it is broken. */
function cutsOf(pickup: Pickup, coil: PickupCoil, open: boolean): number[] {
  const cuts = new Set<number>(open ? [0.5] : []);
  const look = (node: string): void => {
    const tap = tapPoint(node);
    if (tap !== null && tap.coil === coil.id) cuts.add(tap.fraction);
  };
  for (const { node } of pickup.leads) if (node !== null) look(node);
  for (const { from, to } of pickup.coils) [from, to].forEach(look);
  for (const fault of pickup.faults) {
    if (fault.kind === 'bridge') [fault.a, fault.b].forEach(look);
    if (fault.kind === 'live') fault.between.forEach(look);
  }
  return [...cuts].sort((a, b) => a - b);
}

/** Sets every self and mutual inductance: by turns within a coil, by the file's k between coils. */
function coupleSections(circuit: Circuit, pickup: Pickup, sections: readonly Section[]): void {
  const coupling = couplingMatrix(pickup);
  const count = pickup.coils.length;
  for (const [i, one] of sections.entries()) {
    for (const other of sections.slice(i)) {
      const a = pickup.coils[one.coil];
      const b = pickup.coils[other.coil];
      const same = one.coil === other.coil && one !== other ? SECTION_COUPLING : 1;
      const k = coupling[one.coil * count + other.coil] * same;
      const henry = k * one.turns * other.turns * Math.sqrt(a.inductance_H * b.inductance_H);
      circuit.inductance(one.inductor, other.inductor, henry);
    }
  }
}

/** Couplings between windings taken `from` to `to`: M = -w1 w2 k sqrt(L1 L2), physics of the signs
 * in `formats`. Couplings that no magnetic circuit can have together are reduced by one common
 * factor until the stored energy is positive.
 */
export function couplingMatrix(pickup: Pickup): Float64Array {
  const count = pickup.coils.length;
  const matrix = new Float64Array(count * count);
  for (let i = 0; i < count; i++) matrix[i * count + i] = 1;
  for (const { a, b, k } of pickup.couplings) {
    const i = pickup.coils.findIndex(({ id }) => id === a);
    const j = pickup.coils.findIndex(({ id }) => id === b);
    const signed = -windingSign(pickup.coils[i]) * windingSign(pickup.coils[j]) * k;
    matrix[i * count + j] = signed;
    matrix[j * count + i] = signed;
  }
  const margin = 0.004;
  for (let factor = 1; factor > 0; factor -= 0.01) {
    const reduced = matrix.map((value, at) => (at % (count + 1) === 0 ? value : value * factor));
    const tested = reduced.map((value, at) => (at % (count + 1) === 0 ? value - margin : value));
    if (isPositiveDefinite(tested, count)) return reduced;
  }
  throw new Error('no factor makes these couplings possible');
}
