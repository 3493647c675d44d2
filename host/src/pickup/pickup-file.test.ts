import { describe, expect, it } from 'vitest';
import { examplePickup } from '../files/example-files.ts';
import { asPickup } from './pickup-file.ts';

type Spoil = (pickup: Record<string, any>) => void;

function refusal(spoil: Spoil): string {
  const pickup = examplePickup();
  spoil(pickup);
  try {
    asPickup(pickup);
  } catch (error) {
    return (error as Error).message;
  }
  return 'taken';
}

const CASES: [string, Spoil, string][] = [
  ['another format', (p) => (p.format = 'bench/1'), 'format: "bench/1"; expected "pickup/1"'],
  ['no coils', (p) => delete p.coils, 'coils: missing; expected a list of 1 to 12 coils'],
  ['0 leads', (p) => (p.leads = []), 'leads: an empty list; expected a list of 1 to 6 leads'],
  [
    '7 leads',
    (p) => (p.leads = Array(7).fill(p.leads[0])),
    'leads: a list of 7; expected a list of 1 to 6 leads',
  ],
  [
    'two leads on one clip',
    (p) => (p.leads[1].clip = 1),
    'leads[1].clip: 1 is listed twice; expected each clip once',
  ],
  [
    'a node that leads nowhere',
    (p) => (p.leads[1].node = 'nowhere'),
    'leads[1].node: "nowhere" leads nowhere; expected an end of a coil, coil@fraction, "chassis", or null for a lead that is connected to nothing',
  ],
  [
    'a point of a coil that is not there',
    (p) => (p.faults[0].a = 'x@0.4'),
    'faults[0].a: "x@0.4" leads nowhere; expected an end of a coil, coil@fraction, or "chassis"',
  ],
  [
    'a point beyond the winding',
    (p) => (p.leads[1].node = 'u@1.5'),
    'leads[1].node: "u@1.5" leads nowhere; expected an end of a coil, coil@fraction, "chassis", or null for a lead that is connected to nothing',
  ],
  [
    'a lead of which nothing is said where it leads',
    (p) => delete p.leads[1].node,
    'leads[1].node: missing; expected an end of a coil, coil@fraction, "chassis", or null for a lead that is connected to nothing',
  ],
  [
    'a lead to no name',
    (p) => (p.leads[1].node = ''),
    'leads[1].node: an empty text; expected an end of a coil, coil@fraction, "chassis", or null for a lead that is connected to nothing',
  ],
  [
    'a fault at nothing',
    (p) => (p.faults[0].b = null),
    'faults[0].b: null is not a text; expected an end of a coil, coil@fraction, or "chassis"',
  ],
  [
    'a coil that ends at nothing',
    (p) => (p.coils[0].to = null),
    'coils[0].to: null is not a text; expected the name of a node',
  ],
  [
    'a source at nothing',
    (p) => (p.faults[4].between = ['u0', null]),
    'faults[4].between[1]: null is not a text; expected an end of a coil, coil@fraction, or "chassis"',
  ],
  [
    'a resistance as text',
    (p) => (p.coils[1].resistance_ohm_20C = '4k1'),
    'coils[1].resistance_ohm_20C: "4k1" is not a number; expected ohms above 0',
  ],
  [
    'a coil of no ohms',
    (p) => (p.coils[0].resistance_ohm_20C = 0),
    'coils[0].resistance_ohm_20C: 0 is not above 0; expected ohms above 0',
  ],
  [
    'a negative resistance',
    (p) => (p.coils[0].resistance_ohm_20C = -1),
    'coils[0].resistance_ohm_20C: -1 is negative; expected ohms above 0',
  ],
  [
    '1e308 henries',
    (p) => (p.coils[0].inductance_H = 1e308),
    'coils[0].inductance_H: 1e+308 is more than 10000; expected henries, above 0 and up to 10000',
  ],
  [
    'two coils of one id',
    (p) => (p.coils[1].id = 'u'),
    'coils[1].id: "u" names an earlier coil; expected a name of its own',
  ],
  [
    'a coil that begins where it ends',
    (p) => (p.coils[0].to = 'u0'),
    'coils[0].to: "u0" stands in "from" too; expected two different nodes',
  ],
  [
    'an unknown winding',
    (p) => (p.coils[0].winding = 'left'),
    'coils[0].winding: "left" is not known here; expected "cw" or "ccw"',
  ],
  [
    'a coupling of 1',
    (p) => (p.couplings[0].k = 1),
    'couplings[0].k: 1 is not below 1; expected a coupling between -1 and 1',
  ],
  [
    'a coupling with a coil that is not there',
    (p) => (p.couplings[0].b = 'x'),
    'couplings[0].b: "x" is not a coil here; expected the id of a coil',
  ],
  [
    'a coupling listed twice',
    (p) => p.couplings.push({ a: 'l', b: 'u', k: 0.1 }),
    'couplings[1].b: these two coils are listed twice; expected each pair of coils once',
  ],
  [
    'an unknown fault',
    (p) => (p.faults[0].kind = 'fire'),
    'faults[0].kind: "fire" is not known here; expected one of "bridge", "open", "shorted_turns", "intermittent", "live"',
  ],
  [
    'a fault of a clip without a lead',
    (p) => (p.faults[3].clip = 6),
    'faults[3].clip: 6 is not a clip in use; expected the clip of a lead',
  ],
  [
    'an interruption that ends before it begins',
    (p) => (p.faults[3].to_s = 1),
    'faults[3].to_s: 1 lies before from_s; expected seconds, 1.2 or more',
  ],
  [
    'a source on one node',
    (p) => (p.faults[4].between = ['u0', 'u0']),
    'faults[4].between[1]: "u0" is named twice; expected two different nodes',
  ],
  [
    'all turns shorted',
    (p) => (p.faults[2].fraction = 1),
    'faults[2].fraction: 1 is not below 1; expected a fraction above 0 and below 1',
  ],
  [
    'a touch of a coil that is not there',
    (p) => (p.touches[0].coil = 'x'),
    'touches[0].coil: "x" is not a coil here; expected the id of a coil',
  ],
  [
    'half a bounce',
    (p) => (p.touches[0].bounces = 0.5),
    'touches[0].bounces: 0.5 is not a whole number; expected a whole number, 0 to 20',
  ],
  [
    'a yes for true',
    (p) => (p.magnet_readings = 'yes'),
    'magnet_readings: "yes" is not true or false; expected true or false',
  ],
  [
    'no interference',
    (p) => delete p.interference,
    'interference: missing; expected an object with hum_Hz, hum_V and noise_V',
  ],
];

describe('a pickup file', () => {
  it('is taken with every kind of fault, and is the very document', () => {
    const pickup = examplePickup();
    expect(asPickup(pickup)).toBe(pickup);
  });

  it.each(CASES)('is refused with one sentence for %s', (_, spoil, sentence) => {
    expect(refusal(spoil)).toBe(sentence);
  });

  it('may hold a person who touches nothing, a lead at a tap and two leads on one node', () => {
    expect(
      refusal((p) => {
        p.touches[0].coil = null;
        p.leads[1].node = 'u@0.5';
        p.leads[3].node = 'l0';
      }),
    ).toBe('taken');
  });

  it('may hold leads that are connected to nothing, which lose contact too, with fields of others beside it', () => {
    const pickup = examplePickup();
    pickup.leads[1].node = null;
    pickup.leads[3] = { clip: 4, colour: 'VT', node: null, torn_on: 'Tuesday' };
    pickup.faults[3].clip = 4;
    const text = JSON.stringify(pickup);
    expect(asPickup(JSON.parse(text))).toEqual(pickup);
    expect(JSON.stringify(asPickup(JSON.parse(text)))).toBe(text);
  });

  // Three windings, each coupled with 0.9 to the next two, of which one pair is opposed: no arrangement of flux does that.
  it('is refused when its couplings cannot be together', () => {
    expect(
      refusal((p) => {
        p.coils.push({ ...p.coils[0], id: 'm', from: 'm0', to: 'm1' });
        p.couplings = [
          { a: 'u', b: 'l', k: 0.9 },
          { a: 'u', b: 'm', k: 0.9 },
          { a: 'l', b: 'm', k: 0.9 },
        ];
      }),
    ).toMatch(/^couplings: together these cannot be/);
  });

  it('may call a coil __proto__ or constructor', () => {
    expect(
      refusal((p) => {
        p.coils[0].id = '__proto__';
        p.couplings[0].a = '__proto__';
        p.faults = [];
        p.touches[0].coil = 'constructor';
        p.coils[1].id = 'constructor';
        p.couplings[0].b = 'constructor';
      }),
    ).toBe('taken');
  });
});
