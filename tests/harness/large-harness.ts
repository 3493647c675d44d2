/** A harness as large as plans are meant to be: four pickups of three coils, 32 settings. */
import type { Harness } from '../../host/src/harness/harness.ts';
import type { PlainHarness, PlainMap } from './example-harnesses.ts';

const SLOTS = ['first', 'second', 'third', 'fourth'];

function map(pickup: number): PlainMap {
  const coils = [0, 1, 2].map((at) => ({
    name: `coil ${at + 1}`,
    minus: 2 * at + 1,
    plus: 2 * at + 2,
    ends: [2 * at + 1, 2 * at + 2],
    ohm: 3000 + 137 * at + 211 * pickup,
    place: `place ${at + 1}`,
    pole: (at + pickup) % 2 === 0 ? 'N' : 'S',
    inductance_H: 1.5 + 0.11 * at + 0.07 * pickup,
  }));
  const pairs = [[0, 1], [0, 2], [1, 2]].map(([a, b]) => ({
    a: coils[a!]!.name,
    b: coils[b!]!.name,
    poles_differ: coils[a!]!.pole !== coils[b!]!.pole,
    witnesses: [],
    mutual_H: coils[a!]!.pole !== coils[b!]!.pole ? 0.15 : -0.1,
  }));
  return { format: 'wiremap/1', verdict: 'good', coils, pairs, chassis: [], joined: [], findings: [], unknown: [] };
}

/** @param isAll - every setting joins all four, each behind a resistor that a switch shorts; else a selector takes one or two */
export function largeHarness(isAll: boolean): PlainHarness {
  const onOff = (id: string, joins: readonly string[][]) => ({ id, positions: [{ name: 'off', joins: [] }, { name: 'on', joins }] });
  const hot = (slot: string): string => `${slot}.hot`;
  const pairs = SLOTS.map((slot, at) => [slot, SLOTS[(at + 1) % 4]!] as const);
  const harness: Harness = {
    format: 'harness/1',
    slots: SLOTS.map((slot) => ({ slot, hot: hot(slot), ground: 'gnd', frame: 'gnd' })),
    parts: [
      { id: 'volume', kind: 'pot', a: 'bus', wiper: 'out', b: 'gnd', ohm: 500000, turn: 1 },
      { id: 'tone', kind: 'pot', a: null, wiper: 'tone', b: 'bus', ohm: 500000, turn: 1 },
      { id: 'tone capacitor', kind: 'capacitor', a: 'tone', b: 'gnd', farad_F: 2.2e-8 },
      ...(isAll ? SLOTS.map((slot) => ({ id: `${slot} mix`, kind: 'resistor' as const, a: hot(slot), b: 'bus', ohm: 4700 })) : []),
    ],
    switches: isAll
      ? [...SLOTS.map((slot) => onOff(slot, [[hot(slot), 'bus']])), onOff('bypass', [['tone', 'gnd']])]
      : [
          {
            id: 'selector',
            positions: [
              ...SLOTS.map((slot) => ({ name: slot, joins: [[hot(slot), 'bus']] })),
              ...pairs.map(([a, b]) => ({ name: `${a} and ${b}`, joins: [[hot(a), hot(b), 'bus']] })),
            ],
          },
          onOff('bypass', [['tone', 'gnd']]),
          onOff('bleed', [['tone', 'bus']]),
        ],
    output: { hot: 'out', ground: 'gnd' },
    load: { ohm: 1000000, farad_F: 5e-10 },
    fitted: SLOTS.map((slot) => ({ slot, map: `${slot}.wiremap.json` })),
  };
  return { harness, maps: SLOTS.map((_, at) => map(at)) };
}
