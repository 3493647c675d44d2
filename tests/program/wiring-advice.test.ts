/**
 * Advice on one pickup, from the leads of the virtual bench to the sentence that a person solders by; each point with its
 * mirror case, a frame that is tied, equal poles and a sign that is not known, where they change what is to be said.
 *
 * What a sentence promises is checked on the pickup itself, which the advice never saw: the sign rules of file-formats.md
 * ("Sign conventions"), and for the hum the general-purpose solver of ml-matrix on the voltages that its windings give.
 */
import { describe, expect, it } from 'vitest';
import { Matrix, solve } from 'ml-matrix';
import { setupOf } from '../../host/src/bench/bench.ts';
import { emptyForm, metalHint } from '../../host/src/bench/lot-setup.ts';
import { makeTwin } from '../../host/src/bench/twins.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { asWireMap } from '../../host/src/files/wiremap-file.ts';
import { fitPickups } from '../../host/src/harness/fitted-pickup.ts';
import type { Harness } from '../../host/src/harness/harness.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { Pickup, PickupCoil, PickupFault, PickupTouch } from '../../host/src/pickup/pickup.ts';
import { renderWireMap } from '../../host/src/wiring/render-text.ts';
import type { WireMap, WireMapCoil } from '../../host/src/wiremap/wiremap.ts';
import { wiringPlan, type Layout } from '../../host/src/wiring/plan.ts';

const COLOURS = ['BU', 'YE', 'GY', 'VT', 'OG', 'PK'];

function coil(id: string, from: string, to: string, more: Partial<PickupCoil> = {}): PickupCoil {
  return {
    id, from, to, resistance_ohm_20C: 4100, inductance_H: 2.3, capacitance_F: 9e-11, loss_ohm: 250_000,
    winding: 'cw', pole: 'N', place: 'upper', pole_piece: 'screw', ...more,
  };
}

/** A pickup that a steady hand touches at each place. */
function pickup(
  coils: readonly PickupCoil[], nodes: readonly string[], faults: readonly PickupFault[] = [], more: Partial<Pickup> = {},
): Pickup {
  const touch = (id: string): PickupTouch => ({ coil: id, flux_Wb: 2e-3, rise_s: 0.004, hold_s: 0.35, fall_s: 0.007 });
  const first = coils.filter(({ place }, at) => coils.findIndex((other) => other.place === place) === at);
  return {
    format: 'pickup/1', temperature_C: 22, coils,
    couplings: coils.length < 2 ? [] : coils.slice(1).map(({ id }, at) => ({ a: coils[at]!.id, b: id, k: 0.08 })),
    leads: nodes.map((node, at) => ({ clip: at + 1, colour: node === 'chassis' ? 'BARE' : COLOURS[at]!, node })),
    faults, touches: first.map(({ id }) => touch(id)), magnet_readings: true,
    interference: { hum_Hz: 50, hum_V: 0.004, noise_V: 0.0003 }, ...more,
  };
}

const tied = (node: string): PickupFault => ({ kind: 'bridge', a: node, b: 'chassis', ohm: 0.05 });
const UPPER = coil('u', 'u0', 'u1');
const LOWER = coil('l', 'l0', 'l1', { resistance_ohm_20C: 4180, inductance_H: 2.4, pole: 'S', place: 'lower', pole_piece: 'slug' });
const SINGLE = coil('s', 's0', 's1', { resistance_ohm_20C: 6500, inductance_H: 3.2, place: 'single' });

interface Tested {
  readonly map: WireMap;
  /** The printed map in one line, so that a sentence is found wherever it wraps. */
  readonly text: string;
  readonly asked: readonly string[];
  readonly layouts: readonly Layout[];
}

async function test(one: Pickup, seed = 3): Promise<Tested> {
  const transport = await makeTwin('board', { pickup: one, seed });
  try {
    const { map, collector, identity } = await new BenchTest(transport, { setup: setupOf(one), logic: createLogic() }).run();
    const record = collector.record('2026-01-01T00:00:00Z', identity);
    return { map, text: flat(map), asked: (record.touches ?? []).map(({ at }) => at ?? ''), layouts: wiringPlan(map).layouts };
  } finally {
    await transport.close();
  }
}

function flat(map: WireMap): string {
  return renderWireMap(map, new Map(), null).replace(/\s+/g, ' ');
}

/** Volts that one emf per coil leaves at hot against ground when a pickup is wired as a layout says, its true ties included. */
function voltsOf(one: Pickup, { hot, ground, links }: Layout, emf: (coil: PickupCoil) => number): number {
  // Pieces of winding between the nodes that leads, ties and ends name; a tap is a node at its fraction.
  const named = [...one.leads.map(({ node }) => node as string), ...one.faults.flatMap((fault) => ('a' in fault ? [fault.a, fault.b] : []))];
  const pieces = one.coils.flatMap((each) => {
    const cuts = [...new Set(named.filter((node) => node.startsWith(`${each.id}@`)))].map((node) => Number(node.split('@')[1])).sort();
    const marks = [0, ...cuts, 1];
    const name = (mark: number): string => (mark === 0 ? each.from : mark === 1 ? each.to : `${each.id}@${mark}`);
    return marks.slice(1).map((to, at) => ({ from: name(marks[at]!), to: name(to), share: to - marks[at]!, each }));
  });
  const node = (clip: number): string => one.leads.find((lead) => lead.clip === clip)!.node as string;
  const parent = new Map<string, string>();
  const find = (of: string): string => (parent.has(of) ? find(parent.get(of)!) : of);
  const join = (all: readonly string[]): void => {
    for (const other of all.slice(1)) if (find(other) !== find(all[0]!)) parent.set(find(other), find(all[0]!));
  };
  for (const fault of one.faults) if (fault.kind === 'bridge') join([fault.a, fault.b]);
  for (const group of [hot, ground, ...links]) join(group.map(node));
  const [top, low] = [find(node(hot[0]!)), find(node(ground[0]!))];
  expect(top).not.toBe(low);
  const nets = [...new Set(pieces.flatMap(({ from, to }) => [find(from), find(to)]))].filter((net) => net !== low);
  const y = Matrix.eye(nets.length, nets.length, 1e-12);
  const currents = Matrix.zeros(nets.length, 1);
  for (const { from, to, share, each } of pieces) {
    const conductance = 1 / (each.resistance_ohm_20C * share);
    const [a, b] = [nets.indexOf(find(to)), nets.indexOf(find(from))];
    for (const [own, other, sign] of [[a, b, 1], [b, a, -1]] as const) {
      if (own < 0) continue;
      y.set(own, own, y.get(own, own) + conductance);
      if (other >= 0) y.set(own, other, y.get(own, other) - conductance);
      currents.set(own, 0, currents.get(own, 0) + sign * conductance * emf(each) * share);
    }
  }
  return solve(y, currents).get(nets.indexOf(top), 0);
}

/** Sign of the string at `to`, third rule of the conventions; and of hum, the fifth: it follows the winding alone. */
const string = ({ winding, pole }: PickupCoil): number => ((winding === 'cw') === (pole === 'N') ? 1 : -1);
const hum = ({ winding, inductance_H }: PickupCoil): number => (winding === 'cw' ? 1 : -1) * Math.sqrt(inductance_H);

/** What is left of the hum, as a share of what the pieces would give together. */
function humLeft(one: Pickup, layout: Layout): number {
  const each = one.coils.map((coil) => voltsOf(one, layout, (other) => (other === coil ? hum(coil) : 0)));
  const together = Math.abs(each.reduce((sum, volts) => sum + volts, 0));
  return together / each.reduce((sum, volts) => sum + Math.abs(volts), 0);
}

describe('advice on one pickup', () => {
  it('point 1: hum is what is left of it by turns and poles, for a tap beside a whole coil as for whole windings', async () => {
    const one = pickup([UPPER, LOWER], ['u0', 'u@0.3', 'u1', 'l0', 'l1', 'chassis']);
    const { layouts, text } = await test(one);
    const layout = (labels: string, kind = 'series'): Layout =>
      layouts.find((each) => each.kind === kind && each.labels.join(' + ') === labels)!;
    expect(layout('upper + lower').hum).toBeLessThan(0.15);
    const tap = layout('coil 1, a tap of upper + lower');
    expect(tap.hum).toBeGreaterThan(0.45);
    expect(tap.hum).toBeLessThan(0.6);
    expect(text).toMatch(/About 5\d % of the hum is left: the coils that sound do not balance\./);
    for (const each of layouts) expect(Math.abs(each.hum! - humLeft(one, each))).toBeLessThan(0.03);
  });

  it('point 1: the mirror case, equal poles and three coils are told by the same numbers', async () => {
    const pickups = [
      pickup([UPPER, LOWER], ['l0', 'l@0.3', 'l1', 'u0', 'u1', 'chassis']),
      pickup([UPPER, { ...LOWER, pole: 'N' }], ['u0', 'u@0.3', 'u1', 'l0', 'l1', 'chassis']),
      pickup([UPPER, { ...LOWER, place: 'middle' }, coil('c', 'c0', 'c1', { place: 'lower' })], ['u0', 'u1', 'l0', 'l1', 'c0', 'c1']),
    ];
    for (const one of pickups) {
      const { layouts } = await test(one);
      expect(layouts.length).toBeGreaterThan(5);
      for (const each of layouts) expect(Math.abs(each.hum! - humLeft(one, each))).toBeLessThan(0.03);
    }
  });

  /** Two singles in one setting: the one that was tested, wired as it is told to be, and a partner as the sentence tells. */
  function besideIt(map: WireMap, layout: Layout, partner: { readonly hot: 'plus' | 'minus'; readonly frame: 'plus' | 'minus' | null }) {
    const slot = (name: string) => ({ slot: name, hot: 'hot', ground: 'gnd', frame: 'gnd' });
    const harness: Harness = {
      format: 'harness/1', slots: [slot('own'), slot('other')], switches: [], output: { hot: 'hot', ground: 'gnd' },
      fitted: [
        { slot: 'own', map: 'own', leads: Object.fromEntries([...layout.hot.map((clip) => [clip, 'hot']), ...layout.ground.map((clip) => [clip, 'gnd'])]) },
        { slot: 'other', map: 'other', leads: partner.hot === 'plus' ? { 2: 'hot', 1: 'gnd', 3: 'gnd' } : { 1: 'hot', 2: 'gnd', 3: 'gnd' } },
      ],
    };
    const end = partner.frame === 'plus' ? 2 : 1;
    const other = asWireMap({
      format: 'wiremap/1', verdict: 'good', chassis: partner.frame === null ? [3] : [end, 3], joined: partner.frame === null ? [] : [[end, 3]],
      coils: [{ name: 'coil 1', minus: 1, plus: 2, ends: [1, 2], ohm: 6000, place: null, pole: null }],
    });
    const pickups = fitPickups(harness, [{ map, colours: new Map() }, { map: other, colours: new Map() }]);
    return positionsOf({ harness, pickups }).settings[0]!;
  }

  it('point 2: with plus at the frame, the partner keeps its frame apart from the end that becomes hot', async () => {
    for (const [end, hot, cold] of [['s1', 'minus', 'plus'], ['s0', 'plus', 'minus']] as const) {
      const { map, layouts, text } = await test(pickup([SINGLE], ['s0', 's1', 'chassis'], [tied(end)]));
      const [layout] = layouts;
      expect(layout!.reversed).toBe(hot === 'minus');
      expect(text).toContain(`That other pickup's own frame must not be tied to that ${hot}, the end that becomes hot: grounded, it would short hot to ground.`);
      // Followed, the two are in phase, its frame free or on the end that goes to ground; on the other end it is the short that was told of.
      for (const frame of [null, cold]) expect(besideIt(map, layout!, { hot, frame })).toMatchObject({ state: 'sounds', in_phase: true });
      expect(besideIt(map, layout!, { hot, frame: hot }).state).toBe('shorted');
      expect(besideIt(map, layout!, { hot: cold, frame: null })).toMatchObject({ in_phase: false });
    }
  });

  it('point 3: equal poles are mended by the magnet of one coil alone, and its plus and minus exchange', async () => {
    const one = pickup([UPPER, { ...LOWER, pole: 'N' }], ['u0', 'u1', 'l0', 'l1', 'chassis']);
    const { map } = await test(one);
    const [finding] = map.findings;
    expect(finding).toMatchObject({ kind: 'mismatch', severity: 'warning' });
    expect(finding!.text).toBe('coil 1 and coil 2 show the same pole: they add their hum, and no exchange of leads changes that; to cancel it, turn the magnet of one ' +
      '(one that both share would turn both and cure nothing), whose plus and minus then exchange, and test again.');
    // With the magnet of one turned the next test finds plus and minus exchanged, and hum cancelled; with both turned nothing is gained.
    const cured = await test({ ...one, coils: [UPPER, LOWER] });
    const plus = ({ coils }: WireMap): (number | null)[] => coils.map((each) => each.plus);
    expect(plus(cured.map)).toEqual([plus(map)[0], map.coils[1]!.minus]);
    expect(cured.map.findings).toEqual([]);
    const shared = await test({ ...one, coils: [{ ...UPPER, pole: 'S' }, { ...LOWER, pole: 'S' }] });
    expect(shared.layouts[0]!.hum).toBeCloseTo(1, 2);
  });

  it('point 3: in a sound set of three, north south north, nothing is to be turned', async () => {
    const { map, text } = await test(pickup(
      [UPPER, { ...LOWER, place: 'middle' }, coil('c', 'c0', 'c1', { place: 'lower' })], ['u0', 'u1', 'l0', 'l1', 'c0', 'c1']));
    expect(map).toMatchObject({ verdict: 'good', findings: [] });
    expect(text).not.toMatch(/turn the magnet/);
  });

  it('point 3: coils that fight inside are told the one cure that the poles leave', async () => {
    const inside = (lower: Partial<PickupCoil>, magnet_readings = true): Promise<Tested> => test(pickup(
      [{ ...UPPER, to: 'j' }, { ...LOWER, from: 'j', ...lower }], ['u0', 'l1', 'chassis'], [], { magnet_readings }));
    const told = async (lower: Partial<PickupCoil>, magnets = true): Promise<string> => {
      const { map } = await inside(lower, magnets);
      expect(map.verdict).toBe('fault');
      return map.findings.find(({ kind }) => kind === 'out_of_phase')!.text;
    };
    expect(await told({ pole: 'S', winding: 'cw' })).toMatch(new RegExp(
      '\\(N at "upper", S at "lower"\\): exchange the ends of one of them inside, after which hum cancels too; ' +
        'a turned magnet would leave the hum\\.$'));
    expect(await told({ pole: 'N', winding: 'ccw' })).toMatch(/\(N at "upper", N at "lower"\): turn the magnet of one \(one that both share/);
    expect(await told({ pole: 'N', winding: 'ccw' }, false)).toMatch(/read the poles at its places, and where they differ exchange/);
    // The cures, followed: ends exchanged in the first case, a magnet turned in the second.
    for (const cure of [{ pole: 'S', winding: 'ccw' }, { pole: 'S', winding: 'ccw' }] as const)
      expect((await inside(cure)).layouts[0]).toMatchObject({ hum: 0 });
  });

  it('point 4: without a clip on the metal, the bench asks for one and the wiring says that it was not checked', async () => {
    const fault = [tied('u1')];
    const blind = await test(pickup([UPPER, LOWER], ['u0', 'u1', 'l0', 'l1'], fault));
    expect(blind.text).toContain('Not checked: whether metal of this pickup (plate, cover, frame) is tied to one of its leads; no clip sat on it.');
    expect(blind.text).toContain('clip a spare lead to plate or cover, name its colour BARE and test again: one short contact is enough, no solder.');
    expect(blind.text).not.toMatch(/Always ground/);
    // Followed: the plate turns out to be on plus, which goes to ground, and nothing grounds hot.
    const one = pickup([UPPER, LOWER], ['u0', 'u1', 'l0', 'l1', 'chassis'], fault);
    const seen = await test(one);
    expect(seen.text).not.toContain('Not checked');
    for (const layout of seen.layouts) expect(Math.abs(voltsOf(one, layout, string))).toBeGreaterThan(0.5);
    expect(metalHint(emptyForm())).toBe('Clip 5 is free: hold it to plate or cover for a moment (no solder) and write BARE, or the wiring cannot say whether metal is tied to a lead.');
    expect(metalHint({ ...emptyForm(), leads: ['', '', '', '', 'bare', '-'] })).toBeNull();
  });

  it('point 5: a tapped coil whose end is the frame is no fault, whichever end and wherever the tap', async () => {
    for (const end of ['s0', 's1']) {
      for (const tap of [0.02, 0.3, 0.7]) {
        const { map, layouts } = await test(pickup([SINGLE], end === 's0' ? ['chassis', `s@${tap}`, 's1'] : ['s0', `s@${tap}`, 'chassis'], [tied(end)]));
        expect([end, tap, map.verdict, map.findings.map(({ kind }) => kind)]).toEqual([end, tap, 'good', []]);
        expect(layouts[0]!.labels).toEqual(['the whole winding']);
      }
    }
    // A contact of as many ohms is one, since it has no inductance.
    const bad = await test(pickup([SINGLE], ['s0', 's1', 'chassis'], [{ kind: 'bridge', a: 's0', b: 'chassis', ohm: 4587 }]));
    expect(bad.map).toMatchObject({ verdict: 'fault', findings: [{ kind: 'bridge', clips: [3, 1] }] });
  });

  it('point 6: of a pair with two leads, touches and magnets at both places tell whether hum cancels', async () => {
    const pair = (lower: Partial<PickupCoil>, magnet_readings = true): Pickup => pickup(
      [{ ...UPPER, to: 'j' }, { ...LOWER, from: 'j', ...lower }], ['u0', 'l1', 'chassis'], [], { magnet_readings });
    const quiet = await test(pair({ pole: 'S', winding: 'ccw' }));
    expect(quiet.map).toMatchObject({ verdict: 'good', findings: [] });
    expect(quiet.text).toContain('inside upper: north (N); a touch there lifts plus inside lower: south (S); a touch there lifts plus');
    expect(quiet.text).toContain('Hum cancels: upper shows N and lower shows S.');
    const loud = await test(pair({ pole: 'N', winding: 'cw' }));
    expect(loud.text).toContain('Hum does not cancel: upper shows N and lower shows N.');
    expect(loud.map.findings).toMatchObject([{ kind: 'mismatch', severity: 'warning' }]);
    expect(loud.map.findings[0]!.text).toContain('coil 1 holds two coils of one pole (N at "upper", N at "lower"), which add their hum');
    const unread = await test(pair({ pole: 'S', winding: 'ccw' }, false));
    expect(unread.text).toContain('Whether hum cancels depends on the poles of the coils inside');
    expect(unread.layouts[0]!.hum).toBeNull();
  });

  it('point 7: with the link out, the coil beyond the frame is possible alone as its mirror case is', async () => {
    for (const [end, beyond] of [['l1', 'upper'], ['u0', 'lower']] as const) {
      const one = pickup([{ ...UPPER, to: 'j' }, { ...LOWER, from: 'j', winding: 'ccw' }], ['u0', 'j', 'l1', 'chassis'], [tied(end)]);
      const { layouts, text } = await test(one);
      expect(text).not.toMatch(/Not possible: (upper|lower) alone/);
      const alone = layouts.find(({ kind, labels }) => kind === 'alone' && labels[0] === beyond)!;
      expect(alone.reversed).toBe(end === 'l1');
      for (const each of one.coils) {
        const volts = voltsOf(one, alone, (other) => (other === each ? string(each) : 0));
        expect(volts).toBeCloseTo(each.place === beyond ? (alone.reversed ? -1 : 1) : 0, 6);
      }
    }
  });

  it('point 8: stacked coils are wired by coupling and the touch of the upper one, and nothing impossible is asked', async () => {
    for (const winding of ['cw', 'ccw'] as const) {
      for (const crosstalk of [0.08, 0.6]) {
        const touches: PickupTouch[] = [{ coil: 'u', flux_Wb: 2e-3, rise_s: 0.004, hold_s: 0.35, fall_s: 0.007, crosstalk }];
        const one = pickup(
          [{ ...UPPER, place: 'top' }, { ...LOWER, pole: 'N', winding, place: 'bottom' }], ['u0', 'u1', 'l0', 'l1', 'chassis'], [],
          { couplings: [{ a: 'u', b: 'l', k: -0.6 }], touches });
        const { map, asked, layouts, text } = await test(one);
        expect(map.verdict).toBe('good');
        expect(asked.filter((place) => place === 'bottom').length).toBeLessThanOrEqual(1);
        expect(text).not.toMatch(/touch it firmly|voltmeter|touch each place/);
        const series = layouts.filter(({ kind }) => kind === 'series');
        expect(series).toHaveLength(2);
        for (const layout of series) {
          expect(layout).toMatchObject({ stacked: true, reversed: false });
          expect(humLeft(one, layout)).toBeLessThan(0.05);
          // The string is the upper coil's: plus at hot.
          expect(voltsOf(one, layout, (each) => (each.id === 'u' ? string(each) : 0))).toBeGreaterThan(0.5);
        }
        expect(text).toContain('Hum cancels (1 % is left), by coupling. The inner coil is turned against the one above it');
      }
    }
  });

  it('point 9: a tapped single is a whole winding and its taps, and three coils show the most useful ways first', async () => {
    const tapped = await test(pickup([SINGLE], ['s0', 's@0.3', 's1', 'chassis']));
    expect(tapped.layouts.map(({ labels }) => labels.join())).toEqual(['the whole winding', 'coil 1, a tap', 'coil 2, a tap']);
    expect(tapped.text).not.toMatch(/in series|split|in parallel/);
    const three = await test(pickup(
      [UPPER, { ...LOWER, place: 'middle' }, coil('c', 'c0', 'c1', { place: 'lower' })], ['u0', 'u1', 'l0', 'l1', 'c0', 'c1']));
    const said = three.layouts.map(({ kind, labels }) => `${kind} ${labels.join(' ')}`);
    expect(said.slice(0, 7)).toEqual([
      'series upper middle lower', 'parallel upper middle lower', 'series upper middle', 'series middle lower', 'alone upper', 'alone middle', 'alone lower',
    ]);
    const few = renderWireMap(three.map, new Map(), '--all-ways').split('\nWiring\n')[1]!.split('\nCautions\n')[0]!;
    expect(few).toContain('4 more ways, less often wanted: --all-ways shows them.');
    expect(few.split('\n').length).toBeLessThan(70);
  });

  it('point 10: each clip of a broken coil has one explanation', async () => {
    const broken = await test(pickup([UPPER, LOWER], ['u0', 'u1', 'l0', 'l1', 'chassis'], [{ kind: 'open', coil: 'l' }]));
    expect(broken.map.findings).toMatchObject([{ kind: 'open', clips: [3, 4] }]);
    expect(broken.map.unknown).toEqual([]);
    expect(broken.text).not.toMatch(/a shield, a spare|drove no coil|a shield goes to ground/);
    expect(broken.text).toContain('Left over from the broken winding: clip 3; clip 4; insulate each by itself.');
    // A spare beside it stays an open question, and is not taken for the broken one.
    const spare = await test(pickup([UPPER, LOWER], ['u0', 'u1', 'l0', 'l1', 'chassis', 'spare'], [{ kind: 'open', coil: 'l' }], {
      leads: ['u0', 'u1', 'l0', 'l1', 'chassis', null].map((node, at) => ({ clip: at + 1, colour: node === 'chassis' ? 'BARE' : COLOURS[at]!, node })),
    }));
    expect(spare.map.unknown).toEqual(['What clip 6 is: connected to nothing; a shield, a spare and a broken lead look the same; look inside.']);
    expect(spare.text).toContain('Connected to nothing: clip 6. Look inside (a shield goes to ground), else insulate it.');
  });

  it('a coil that nobody touched gives its own signal, and no other, in the way that is offered of it, wherever the frame is', async () => {
    const coils = [UPPER, { ...LOWER, place: 'lower' }];
    const nodes = ['u0', 'u1', 'l0', 'l1', 'chassis'];
    for (const faults of [[], [tied('u0')], [tied('u1')]]) {
      for (const touched of [[], ['l']]) {
        const more = { touches: pickup(coils, nodes).touches.filter((touch) => touched.includes(touch.coil!)), magnet_readings: false };
        const one = pickup(coils, nodes, faults, more);
        const { layouts, text } = await test(one);
        expect(layouts.map(({ kind, unsigned }) => `${kind} ${unsigned}`)).toEqual(['alone ' + (touched.length === 0), 'alone true']);
        for (const layout of layouts) {
          const volts = one.coils.map((each) => Math.abs(voltsOf(one, layout, (other) => (other === each ? 1 : 0))));
          expect(volts.map((share) => Math.round(share)).sort()).toEqual([0, 1]);
        }
        const { exchangeable } = layouts.find(({ unsigned, hot }) => unsigned && hot.some((clip) => clip < 3))!;
        expect(exchangeable).toBe(faults.length === 0);
        expect(text).toContain('Its plus and minus are not known, so whether it is in phase with another coil or pickup is not either;');
      }
    }
  });

  it('a sign that is not known is not wired to another coil', () => {
    const named = (name: string, minus: number): WireMapCoil => ({
      name, minus: null, plus: null, ends: [minus, minus + 1], ohm: 4000, place: null, pole: null });
    const map: WireMap = {
      format: 'wiremap/1', verdict: 'unsure', coils: [named('coil 1', 1), named('coil 2', 3)], pairs: [], chassis: [], joined: [], findings: [], unknown: [] };
    expect(wiringPlan(map).layouts.map(({ kind, unsigned }) => [kind, unsigned])).toEqual([['alone', true], ['alone', true]]);
    expect(flat(map)).toContain('coil 1 and coil 2 together with another coil or pickup, since their plus and minus are not known');
  });
});
