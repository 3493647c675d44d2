/** Sound documents that tests spoil: the two examples of the formats, as plain objects. */

/** A fresh bench record with every field of the format. */
export function exampleRecord(): Record<string, any> {
  return {
    format: 'bench/1',
    taken: '2026-03-14T10:22:31Z',
    tester: { serial: 'TWIN-0001', firmware: '0.1.0', solver: 'sha256:00' },
    temperature_C: 22.1,
    clips: [
      { clip: 1, colour: 'BU' },
      { clip: 2, colour: 'YE' },
      { clip: 3, colour: 'GY' },
      { clip: 4, colour: 'VT' },
      { clip: 5, colour: 'BARE' },
    ],
    resistances: [
      { a: 1, b: 2, ohm: 4132.6, u_ohm: 0.9 },
      { a: 3, b: 4, ohm: 4212.2, u_ohm: 0.9 },
      ...[
        [1, 3],
        [1, 4],
        [1, 5],
        [2, 3],
        [2, 4],
        [2, 5],
        [3, 5],
        [4, 5],
      ].map(([a, b]) => ({ a, b, ohm: null, above_ohm: 1e8 })),
    ],
    touches: [
      {
        at: 'upper',
        rate_Hz: 10000,
        start_s: -0.1,
        channels: [
          { plus: 2, minus: 1, volts_V: [0, 0.0001, null] },
          { plus: 4, minus: 3, volts_V: [0, 0, 0] },
        ],
      },
    ],
    inductances: [{ plus: 2, minus: 1, henry_H: 2.31, u_H: 0.05 }],
    couplings: [
      { drive: { plus: 2, minus: 1 }, sense: { plus: 4, minus: 3 }, mutual_H: -0.19, u_H: 0.02 },
    ],
    magnets: [{ at: 'upper', pole: 'N', field_T: 0.031 }],
    observed: [{ at: 'upper', plus: 2, minus: 1, swing: 'positive', peak_V: 0.07 }],
    live: [],
  };
}

/** A fresh pickup with every kind of fault. */
export function examplePickup(): Record<string, any> {
  return {
    format: 'pickup/1',
    title: 'two coils, four leads and a drain wire',
    temperature_C: 22,
    coils: [
      {
        id: 'u',
        from: 'u0',
        to: 'u1',
        resistance_ohm_20C: 4100,
        inductance_H: 2.3,
        capacitance_F: 9e-11,
        loss_ohm: 250000,
        winding: 'cw',
        pole: 'N',
        place: 'upper',
        pole_piece: 'screw',
      },
      {
        id: 'l',
        from: 'l0',
        to: 'l1',
        resistance_ohm_20C: 4180,
        inductance_H: 2.4,
        capacitance_F: 9e-11,
        loss_ohm: 250000,
        winding: 'cw',
        pole: 'S',
        place: 'lower',
        pole_piece: 'slug',
      },
    ],
    couplings: [{ a: 'u', b: 'l', k: 0.08 }],
    leads: [
      { clip: 1, colour: 'BU', node: 'u0' },
      { clip: 2, colour: 'YE', node: 'u1' },
      { clip: 3, colour: 'GY', node: 'l0' },
      { clip: 4, colour: 'VT', node: 'l1' },
      { clip: 5, colour: 'BARE', node: 'chassis' },
    ],
    faults: [
      { kind: 'bridge', a: 'u@0.38', b: 'chassis', ohm: 0.5 },
      { kind: 'open', coil: 'l' },
      { kind: 'shorted_turns', coil: 'u', fraction: 0.03 },
      { kind: 'intermittent', clip: 2, from_s: 1.2, to_s: 1.5 },
      { kind: 'live', between: ['u0', 'u1'], volt_V: 0.4, source_ohm: 1000 },
    ],
    touches: [
      {
        coil: 'u',
        flux_Wb: 6e-4,
        rise_s: 0.004,
        hold_s: 0.35,
        fall_s: 0.007,
        bounces: 1,
        crosstalk: 0.08,
      },
    ],
    magnet_readings: true,
    interference: { hum_Hz: 50, hum_V: 0.004, noise_V: 0.0003 },
  };
}
