/** A harness and the pickups behind it as a guitar on the virtual bench. */
import type { WireMapFile } from '../files/wiremap-file.ts';
import type { FittedPickup } from '../harness/fitted-pickup.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { groupOf } from '../harness/ways.ts';
import { CHASSIS_NODE, type Pickup, type PickupCoil, type PickupTouch } from '../pickup/pickup.ts';
import type { GuitarPart, GuitarPlan } from '../virtual-bench/guitar.ts';
import type { RandomStream } from '../virtual-bench/random.ts';

/** What no wire map tells of a coil. */
const [USUAL_henry, USUAL_farad, USUAL_loss_ohm] = [2.5, 1e-10, 300_000];
/** A pickup against its wire map: it was read on another day, and its leads may be longer or shorter. */
const SPREAD = 0.002;
/** Pots against what is printed on them (common practice, no published source). */
const POT_SPREAD = 0.2;
/** Hands: flux of a touch, webers, and how much one of the same place differs from the next. */
const [FLUX_least_Wb, FLUX_most_Wb, FLUX_SPREAD] = [4e-4, 5e-3, 0.3];
const TOUCHES = 4;

/** A guitar as the harness plans it.
 * @param behind - pickups by slot; where there is none, one is invented as the slot's wire map has it
 * @param random - draws the pots within their tolerance, the room's temperature and the hand
 */
export function guitarOf({ harness, pickups }: LoadedHarness, behind: ReadonlyMap<string, Pickup>, random: RandomStream): GuitarPlan {
  const temperature_C = Number(random.between(17, 27).toFixed(1));
  const parts = (harness.parts ?? []).map((part): GuitarPart => {
    if (part.kind === 'capacitor') return { id: part.id, kind: 'capacitor', a: part.a, b: part.b, value: part.farad_F };
    if (part.kind === 'resistor') return { id: part.id, kind: 'resistor', a: part.a, b: part.b, value: part.ohm };
    return { ...part, turn: part.turn ?? 1, ohm: part.ohm * (1 + POT_SPREAD * random.between(-1, 1)) };
  });
  return {
    pickups: pickups.map((fitted) => ({
      slot: fitted.slot.slot,
      pickup: behind.get(fitted.slot.slot) ?? invented(fitted, temperature_C, random),
      put: fitted.placement,
    })),
    parts,
    joins: harness.joins ?? [],
    switches: harness.switches.map(({ id, positions }) => ({
      id, positions: positions.map(({ name, joins }) => ({ name, joins: joins ?? [] })),
    })),
    hot: harness.output.hot,
    ground: harness.output.ground,
  };
}

/** A pickup that has the wire map of one that is fitted. */
function invented({ map, leads, colours }: FittedPickup, temperature_C: number, random: RandomStream): Pickup {
  const frames = new Set(map.chassis.map((clip) => groupOf(leads, clip)));
  const node = (clip: number): string => {
    const group = groupOf(leads, clip);
    return frames.has(group) ? CHASSIS_NODE : `clip ${group}`;
  };
  const coils = map.coils.flatMap((coil): PickupCoil[] => windings(coil, node, random));
  const usual_Wb = random.betweenLog(FLUX_least_Wb, FLUX_most_Wb);
  const hands = new Map([...new Set(coils.map(({ place }) => place))].map((place) => [place, usual_Wb * random.between(0.7, 1.4)]));
  const touches = Array.from({ length: TOUCHES }).flatMap(() =>
    [...hands].map(([place, flux_Wb]): PickupTouch => ({
      coil: coils.find((one) => one.place === place)!.id,
      flux_Wb: flux_Wb * Math.exp(FLUX_SPREAD * random.between(-1, 1)),
      rise_s: random.between(0.003, 0.012), hold_s: random.between(0.2, 0.4), fall_s: random.between(0.004, 0.015),
      bounces: random.below(2), crosstalk: random.between(0.05, 0.1),
    })));
  return {
    format: 'pickup/1',
    temperature_C,
    coils,
    couplings: couplingsOf(map, coils),
    leads: leads.clips.map((clip) => ({ clip, colour: colours.get(clip) ?? 'GY', node: node(clip) })),
    faults: [],
    touches,
    magnet_readings: false,
    interference: { hum_Hz: 50, hum_V: random.betweenLog(5e-4, 4e-3), noise_V: 3e-4 },
  };
}

/** The windings of one stretch of a wire map: two or more where a junction is hidden inside. */
function windings(coil: WireMapFile['coils'][number], node: (clip: number) => string, random: RandomStream): PickupCoil[] {
  const { name, minus, plus, ends, ohm, ohm_20C, inductance_H = USUAL_henry, place, pole, parts = [] } = coil;
  if (ohm === null || ends === null) return [];
  const [low, high] = [node(minus ?? ends[0]), node(plus ?? ends[1])];
  const whole = (ohm_20C ?? ohm) * (1 + SPREAD * random.between(-1, 1));
  const inside = parts.length > 0 ? parts : [{ place: place ?? name, pole, sense: 1 as const }];
  return inside.map((part, at): PickupCoil => {
    const shown = part.pole ?? 'N';
    // From minus to plus a coil is wound clockwise exactly when its pole is N.
    const isTurned = part.sense === -1;
    return {
      id: inside.length === 1 ? name : `${name} ${part.place}`,
      from: at === 0 ? low : `${name} inside ${at}`,
      to: at === inside.length - 1 ? high : `${name} inside ${at + 1}`,
      resistance_ohm_20C: whole / inside.length,
      inductance_H: inductance_H / inside.length,
      capacitance_F: USUAL_farad,
      loss_ohm: USUAL_loss_ohm,
      winding: (shown === 'N') !== isTurned ? 'cw' : 'ccw',
      pole: shown,
      place: part.place,
    };
  });
}

/** Mutual inductance is taken at both plus; from minus to plus both windings have the sense of their poles. */
function couplingsOf({ pairs = [] }: WireMapFile, coils: readonly PickupCoil[]): Pickup['couplings'] {
  return pairs.flatMap(({ a, b, mutual_H }) => {
    const [one, other] = [a, b].map((name) => coils.find(({ id }) => id === name));
    if (mutual_H === undefined || one === undefined || other === undefined) return [];
    const sense = one.winding === other.winding ? -1 : 1;
    const k = (sense * mutual_H) / Math.sqrt(one.inductance_H * other.inductance_H);
    return [{ a, b, k: Math.max(-0.99, Math.min(0.99, k)) }];
  });
}
