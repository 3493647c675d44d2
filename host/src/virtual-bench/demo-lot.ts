/**
 * An invented lot of ten pickups for the bench screen when no tester is attached: what comes in over a week.
 * Resistances and inductances lie where such coils lie; no maker, no colour table stands behind any of them, and
 * the colours are such that none could be read into them (tests/house/own-colours.test.ts).
 */
import type {
  Pickup,
  PickupCoil,
  PickupFault,
  PickupLead,
  PickupTouch,
  Pole,
  PolePiece,
  Winding,
} from '../pickup/pickup.ts';

/** `id from to ohms henries winding pole place piece` in one line each. */
function coil(
  [id, from, to]: readonly [string, string, string],
  [resistance_ohm_20C, inductance_H]: readonly [number, number],
  [winding, pole]: readonly [Winding, Pole],
  place: string,
  pole_piece: PolePiece,
): PickupCoil {
  const wound = { id, from, to, resistance_ohm_20C, inductance_H, capacitance_F: 9e-11, loss_ohm: 280_000 };
  return { ...wound, winding, pole, place, pole_piece };
}

/** Leads in clip order from 1: colour and node. */
function leads(...list: readonly (readonly [string, string])[]): PickupLead[] {
  return list.map(([colour, node], index) => ({ clip: index + 1, colour, node }));
}

/** One calm touch of each coil, then a second round with a heavier hand. */
function hands(flux_Wb: number, ...coils: readonly string[]): PickupTouch[] {
  const round = (coilId: string, index: number): PickupTouch => ({
    coil: coilId,
    flux_Wb: flux_Wb * (1 + 0.15 * index),
    rise_s: 0.005 + 0.001 * index,
    hold_s: 0.35,
    fall_s: 0.009,
    bounces: index % 2,
    crosstalk: 0.08,
  });
  return [...coils, ...coils].map(round);
}

interface Rest {
  readonly coils: readonly PickupCoil[];
  readonly leads: readonly PickupLead[];
  readonly touches: readonly PickupTouch[];
  readonly k?: number;
  readonly faults?: readonly PickupFault[];
  readonly magnet_readings?: boolean;
  readonly temperature_C?: number;
}

function pickup(title: string, { coils, k, faults, ...rest }: Rest): Pickup {
  const neighbours = coils.slice(1).map((later, index) => ({ a: coils[index]!.id, b: later.id, k: k ?? 0.09 }));
  return {
    format: 'pickup/1',
    title,
    temperature_C: 21.5,
    magnet_readings: true,
    interference: { hum_Hz: 50, hum_V: 0.003, noise_V: 0.0002 },
    ...rest,
    coils,
    couplings: neighbours,
    faults: faults ?? [],
  };
}

/** Sound and faulty ones mixed, in the order in which they lie on the bench. */
export const demoLot: readonly Pickup[] = [
  pickup('two coils, four leads and a drain wire', {
    coils: [
      coil(['u', 'u0', 'u1'], [4100, 2.3], ['cw', 'N'], 'upper', 'screw'),
      coil(['l', 'l0', 'l1'], [4180, 2.4], ['cw', 'S'], 'lower', 'slug'),
    ],
    leads: leads(['BU', 'l1'], ['YE', 'u1'], ['GY', 'u0'], ['VT', 'l0'], ['BARE', 'chassis']),
    touches: hands(2e-3, 'u', 'l'),
  }),
  pickup('one coil on six rods, two leads', {
    coils: [coil(['a', 'a0', 'a1'], [6350, 2.7], ['ccw', 'N'], 'single', 'rod')],
    leads: leads(['PK', 'a0'], ['TQ', 'a1']),
    touches: hands(3e-3, 'a'),
  }),
  pickup('pair in series inside, frame on the minus lead', {
    coils: [
      coil(['u', 'out', 'link'], [3900, 2.1], ['ccw', 'N'], 'upper', 'screw'),
      coil(['l', 'link', 'chassis'], [3980, 2.2], ['cw', 'S'], 'lower', 'slug'),
    ],
    leads: leads(['VT', 'out'], ['BARE', 'chassis']),
    touches: hands(1.5e-3, 'u', 'l'),
  }),
  pickup('winding chafed through on the frame', {
    coils: [
      coil(['u', 'u0', 'u1'], [4350, 2.5], ['cw', 'S'], 'upper', 'screw'),
      coil(['l', 'l0', 'l1'], [4290, 2.5], ['ccw', 'N'], 'lower', 'slug'),
    ],
    leads: leads(['OG', 'u0'], ['TQ', 'l0'], ['BN', 'u1'], ['PK', 'l1'], ['BARE', 'chassis']),
    touches: hands(2e-3, 'u', 'l'),
    faults: [{ kind: 'bridge', a: 'u@0.38', b: 'chassis', ohm: 0.5 }],
  }),
  pickup('one winding with a tap', {
    coils: [coil(['a', 'a0', 'a1'], [9200, 5.1], ['cw', 'N'], 'single', 'blade')],
    leads: leads(['GY', 'a@0.62'], ['YE', 'a0'], ['VT', 'a1']),
    touches: hands(2.5e-3, 'a'),
  }),
  pickup('one coil silent after a fall', {
    coils: [
      coil(['u', 'u0', 'u1'], [4020, 2.2], ['cw', 'N'], 'upper', 'screw'),
      coil(['l', 'l0', 'l1'], [4110, 2.3], ['cw', 'S'], 'lower', 'slug'),
    ],
    leads: leads(['VT', 'u1'], ['OG', 'l0'], ['BN', 'l1'], ['TQ', 'u0']),
    touches: hands(2e-3, 'u', 'l'),
    faults: [{ kind: 'open', coil: 'l' }],
  }),
  pickup('pair wired against itself inside', {
    coils: [
      coil(['u', 'out', 'link'], [4200, 2.4], ['cw', 'N'], 'upper', 'blade'),
      coil(['l', 'link', 'ret'], [4150, 2.4], ['cw', 'S'], 'lower', 'blade'),
    ],
    leads: leads(['GY', 'ret'], ['BU', 'out'], ['BARE', 'chassis']),
    touches: hands(1.8e-3, 'u', 'l'),
  }),
  pickup('shorted turns in the lower coil', {
    coils: [
      coil(['u', 'u0', 'link'], [4400, 2.6], ['ccw', 'S'], 'upper', 'screw'),
      coil(['l', 'link', 'l1'], [4380, 2.6], ['cw', 'N'], 'lower', 'slug'),
    ],
    leads: leads(['BU', 'link'], ['PK', 'u0'], ['OG', 'l1']),
    touches: hands(2.2e-3, 'u', 'l'),
    faults: [{ kind: 'shorted_turns', coil: 'l', fraction: 0.12 }],
  }),
  pickup('three coils, six leads', {
    coils: [
      coil(['a', 'a0', 'a1'], [3300, 1.7], ['cw', 'N'], 'upper', 'rod'),
      coil(['b', 'b0', 'b1'], [3260, 1.7], ['ccw', 'S'], 'middle', 'rod'),
      coil(['c', 'c0', 'c1'], [3340, 1.8], ['ccw', 'N'], 'lower', 'rod'),
    ],
    leads: leads(['BN', 'b1'], ['VT', 'a0'], ['OG', 'c0'], ['YE', 'a1'], ['GY', 'c1'], ['BU', 'b0']),
    touches: hands(2e-3, 'a', 'b', 'c'),
  }),
  pickup('damp cable: a leak to the shield, and no magnet at hand', {
    coils: [coil(['a', 'a0', 'a1'], [7600, 4.2], ['ccw', 'S'], 'single', 'other')],
    leads: leads(['GY', 'a1'], ['OG', 'a0'], ['BARE', 'chassis']),
    touches: hands(1.2e-3, 'a'),
    faults: [{ kind: 'bridge', a: 'a@0.7', b: 'chassis', ohm: 3.3e6 }],
    magnet_readings: false,
    temperature_C: 17,
  }),
];
