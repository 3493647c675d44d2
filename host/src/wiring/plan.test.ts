/**
 * The plan against the signs of coils whose winding and pole are known.
 *
 * Plus and minus of each coil are derived here from winding and pole by file-formats.md ("Sign conventions"), the
 * pickup is wired as the plan says, and the open-circuit voltage is found by a second method: the network is
 * relaxed until it stands still.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import { wiringLines, wiringPanel } from './lines.ts';
import { wiringPlan, type Layout } from './plan.ts';

interface Truth {
  readonly from: number;
  readonly to: number;
  readonly winding: 'cw' | 'ccw';
  readonly pole: 'N' | 'S';
  readonly ohm: number;
}

/** Sign of the voltage of `to` relative to `from` while steel arrives (file-formats.md, third rule). */
function stringSign(coil: Truth): number {
  return (coil.winding === 'cw') === (coil.pole === 'N') ? 1 : -1;
}
/** Sign of hum at `to`: it follows winding alone (file-formats.md, fifth rule). */
function humSign(coil: Truth): number {
  return coil.winding === 'cw' ? 1 : -1;
}

function mapOf(
  coils: readonly Truth[],
  chassis: number[],
  joined: number[][],
  isPoleKnown: boolean,
): WireMap {
  const mapped = coils.map((coil, at): WireMapCoil => {
    const plus = stringSign(coil) > 0 ? coil.to : coil.from;
    const minus = stringSign(coil) > 0 ? coil.from : coil.to;
    return {
      name: `coil ${at + 1}`,
      plus,
      minus,
      ends: [Math.min(plus, minus), Math.max(plus, minus)],
      ohm: coil.ohm,
      u_ohm: 1,
      place: `place ${at}`,
      pole: isPoleKnown ? coil.pole : null,
    };
  });
  const pairs = mapped.flatMap((a, i) =>
    mapped.slice(i + 1).map((b, j) => ({
      a: a.name,
      b: b.name,
      poles_differ: coils[i]?.pole !== coils[i + 1 + j]?.pole,
      witnesses: ['coupling' as const],
    })),
  );
  return {
    format: 'wiremap/1',
    verdict: 'good',
    coils: mapped,
    pairs,
    chassis,
    joined,
    findings: [],
    unknown: [],
  };
}

/** Open-circuit voltage of hot when each coil gives `emf[i]` at `to` against `from`, by Gauss-Seidel relaxation. */
function hotVoltage(
  coils: readonly Truth[],
  layout: Layout,
  map: WireMap,
  emf: readonly number[],
): number {
  const groups = [
    layout.hot,
    layout.ground,
    ...layout.links,
    ...map.joined.map((group) => [...group]),
  ];
  const net = [0, 1, 2, 3, 4, 5, 6];
  for (let again = 0; again < 7; again++) {
    for (const group of groups) {
      const least = Math.min(...group.map((clip) => net[clip] as number));
      for (const clip of group) net[clip] = least;
    }
  }
  const ground = net[layout.ground[0] as number] as number;
  const hot = net[layout.hot[0] as number] as number;
  expect(hot).not.toBe(ground);
  const volts = new Array<number>(7).fill(0);
  for (let sweep = 0; sweep < 4000; sweep++) {
    for (let node = 1; node < 7; node++) {
      if (node === ground) continue;
      let [current, conductance] = [0, 0];
      coils.forEach((coil, at) => {
        const [from, to] = [net[coil.from] as number, net[coil.to] as number];
        if (from === to) return;
        if (to === node) current += ((volts[from] as number) + (emf[at] as number)) / coil.ohm;
        if (from === node) current += ((volts[to] as number) - (emf[at] as number)) / coil.ohm;
        if (to === node || from === node) conductance += 1 / coil.ohm;
      });
      if (conductance > 0) volts[node] = current / conductance;
    }
  }
  return volts[hot] as number;
}

const anyCoil = fc.record({
  winding: fc.constantFrom('cw' as const, 'ccw' as const),
  pole: fc.constantFrom('N' as const, 'S' as const),
  ohm: fc.integer({ min: 2000, max: 12000 }),
});

/** Ends of up to three coils, some shared, some joined outside, a chassis free, tied or missing. */
const anyPickup = fc
  .record({
    coils: fc.array(anyCoil, { minLength: 1, maxLength: 3 }),
    shape: fc.constantFrom('free', 'link', 'star', 'ring'),
    chassis: fc.constantFrom('none', 'end'),
    joined: fc.boolean(),
    flip: fc.array(fc.boolean(), { minLength: 3, maxLength: 3 }),
  })
  .map(({ coils, shape, chassis, joined, flip }) => {
    const truths = coils.map((coil, at): Truth => {
      const ends = {
        free: [2 * at + 1, 2 * at + 2],
        link: [at + 1, at + 2],
        star: [1, at + 2],
        // Three coils in a ring: each lies across the other two.
        ring: [at + 1, coils.length === 3 ? ((at + 1) % 3) + 1 : at + 2],
      }[shape] as number[];
      const [from, to] = flip[at] === true ? [ends[1], ends[0]] : ends;
      return { ...coil, from: from as number, to: to as number };
    });
    const isJoined = joined && shape === 'free' && truths.length > 1;
    return { truths, chassis: chassis === 'end' ? [1] : [], joined: isJoined ? [[2, 3]] : [] };
  });

describe('the wiring plan', () => {
  it('adds the string signals of every coil that is to sound, and of no other', () => {
    fc.assert(
      fc.property(anyPickup, ({ truths, chassis, joined }) => {
        const map = mapOf(truths, chassis, joined, true);
        for (const layout of wiringPlan(map).layouts) {
          const chosen = layout.coils.map((name) => Number(name.slice(5)) - 1);
          truths.forEach((coil, at) => {
            const emf = truths.map((_, other) => (other === at ? stringSign(coil) : 0));
            const share = hotVoltage(truths, layout, map, emf) * (layout.reversed ? -1 : 1);
            if (!chosen.includes(at)) expect(Math.abs(share)).toBeLessThan(1e-3);
            else if (layout.kind === 'parallel') expect(share).toBeGreaterThan(1e-3);
            else expect(share).toBeCloseTo(1, 3);
          });
        }
      }),
      { numRuns: 150 },
    );
  });

  it('gives every lead one task in each way, and the chassis always ground', () => {
    fc.assert(
      fc.property(anyPickup, ({ truths, chassis, joined }) => {
        const map = mapOf(truths, chassis, joined, true);
        const { layouts, alwaysGround } = wiringPlan(map);
        const leads = [...new Set(truths.flatMap(({ from, to }) => [from, to]).concat(chassis))].sort();
        for (const { hot, ground, links, insulated } of layouts) {
          expect([...hot, ...ground, ...links.flat(), ...insulated].sort()).toEqual(leads);
          expect(ground).toEqual(expect.arrayContaining([...alwaysGround]));
        }
      }),
      { numRuns: 150 },
    );
  });

  it('says rightly how much hum is left, from windings alone, when the coils are alike', () => {
    fc.assert(
      fc.property(anyPickup, fc.boolean(), ({ truths, chassis, joined }, isPoleKnown) => {
        const alike = truths.map((coil) => ({ ...coil, ohm: 5000 }));
        const map = mapOf(alike, chassis, joined, isPoleKnown);
        for (const layout of wiringPlan(map).layouts) {
          const volts = Math.abs(hotVoltage(alike, layout, map, alike.map(humSign)));
          const full = layout.kind === 'parallel' ? 1 : layout.coils.length;
          expect(layout.hum).toBeCloseTo(volts / full, 3);
        }
      }),
      { numRuns: 150 },
    );
  });

  it('offers both series orders, parallel and each coil alone for two coils with four leads', () => {
    fc.assert(
      fc.property(anyCoil, anyCoil, (a, b) => {
        const map = mapOf(
          [
            { ...a, from: 1, to: 2 },
            { ...b, from: 4, to: 3 },
          ],
          [5],
          [],
          true,
        );
        const plan = wiringPlan(map);
        expect(plan.layouts.map((layout) => `${layout.kind} ${layout.coils.join(' ')}`)).toEqual([
          'series coil 1 coil 2',
          'series coil 2 coil 1',
          'parallel coil 1 coil 2',
          'alone coil 1',
          'alone coil 2',
        ]);
        expect(plan.layouts.every((layout) => layout.ground.includes(5) && !layout.reversed)).toBe(
          true,
        );
        expect(plan.notPossible).toEqual([]);
        expect(plan.reversed).toBe(false);
      }),
    );
  });

  it('links minus of one coil to plus of the other (common practice, no published source)', () => {
    const map = mapOf(
      [
        { from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4100 },
        { from: 3, to: 4, winding: 'cw', pole: 'S', ohm: 4200 },
      ],
      [5],
      [],
      true,
    );
    expect(wiringPlan(map).layouts[0]).toMatchObject({
      ground: [1, 5],
      links: [[2, 4]],
      hot: [3],
    });
    expect(wiringPlan(map).layouts[0]!.hum).toBeCloseTo(0.012, 3);
  });

  it('denies no order that a common link lead allows with minus at hot', () => {
    const map = mapOf(
      [
        { from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4010 },
        { from: 3, to: 2, winding: 'cw', pole: 'S', ohm: 4080 },
      ],
      [],
      [],
      true,
    );
    const plan = wiringPlan(map);
    expect(plan.layouts.filter(({ kind }) => kind === 'series').map(({ coils, ground, hot }) => ({ coils, ground, hot })))
      .toEqual([{ coils: ['coil 1', 'coil 2'], ground: [1], hot: [3] }]);
    expect(plan.notPossible[0]).toEqual({
      what: 'place 1 and place 0 in series, place 1 at ground with plus at hot',
      why: 'clip 2 would have to be at ground and hot at once; with minus at hot it can be had, clip 3 at ground and clip 1 at hot',
    });
  });

  it('puts a lead that is tied to the chassis at ground even when it is plus, and says so', () => {
    const map = mapOf(
      [{ from: 2, to: 1, winding: 'cw', pole: 'N', ohm: 6000 }],
      [3],
      [[1, 3]],
      true,
    );
    const plan = wiringPlan(map);
    expect(plan.alwaysGround).toEqual([1, 3]);
    expect(plan.layouts).toMatchObject([
      { kind: 'alone', hot: [2], ground: [1, 3], reversed: true },
    ]);
    expect(plan.reversed).toBe(true);
  });

  it('turns the signal over only where an end is tied to the chassis', () => {
    fc.assert(
      fc.property(anyPickup, ({ truths, chassis, joined }) => {
        const map = mapOf(truths, chassis, joined, true);
        const plan = wiringPlan(map);
        const tied = plan.alwaysGround;
        const isTied = map.coils.some(({ ends }) => ends!.some((end) => tied.includes(end)));
        if (!isTied) expect(plan.layouts.some((layout) => layout.reversed)).toBe(false);
      }),
    );
  });

  it('does not offer series where a link inside sets the coils against each other, but parallel', () => {
    // Both plus ends on clip 2.
    const map = mapOf(
      [
        { from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4000 },
        { from: 3, to: 2, winding: 'cw', pole: 'N', ohm: 4000 },
      ],
      [],
      [],
      true,
    );
    const plan = wiringPlan(map);
    expect(plan.layouts.map((layout) => layout.kind)).toEqual(['parallel', 'alone', 'alone']);
    expect(plan.notPossible.map(({ what }) => what)).toEqual([
      'place 0 and place 1 in series, place 0 at ground',
      'place 1 and place 0 in series, place 1 at ground',
    ]);
  });

  it('does not know whether hum cancels when the poles are not known', () => {
    const map = mapOf(
      [
        { from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4000 },
        { from: 3, to: 4, winding: 'cw', pole: 'N', ohm: 4000 },
      ],
      [],
      [],
      false,
    );
    const silent = {
      ...map,
      pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: null, witnesses: [] }],
    };
    expect(wiringPlan(silent).layouts.map((layout) => layout.hum)).toEqual([
      null,
      null,
      null,
      1,
      1,
    ]);
  });

  it('never wires a coil whose plus and minus are not known to another', () => {
    const map = mapOf(
      [
        { from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4000 },
        { from: 3, to: 4, winding: 'cw', pole: 'S', ohm: 4000 },
      ],
      [],
      [],
      true,
    );
    const coils = map.coils.map((coil, at) =>
      at === 1 ? { ...coil, plus: null, minus: null } : coil,
    );
    const plan = wiringPlan({ ...map, verdict: 'unsure', coils });
    expect(plan.layouts.map(({ kind, coils: used, unsigned }) => [kind, ...used, unsigned])).toEqual([['alone', 'coil 1', false], ['alone', 'coil 2', true]]);
    expect(plan.notPossible[0]?.what).toBe('coil 2 together with another coil or pickup');
  });

  it('offers nothing for a pickup that must not be fitted, except what works beside an open coil', () => {
    const map = mapOf([{ from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4000 }], [], [], true);
    const fault = (kind: 'bridge' | 'open'): WireMap => ({
      ...map,
      verdict: 'fault',
      findings: [{ kind, severity: 'fault', clips: [1], text: 'x' }],
    });
    expect(wiringPlan(fault('bridge')).layouts).toEqual([]);
    expect(wiringPlan(fault('open')).layouts).toHaveLength(1);
  });

  const two = mapOf(
    [
      { from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 4000 },
      { from: 3, to: 4, winding: 'cw', pole: 'S', ohm: 4000 },
    ],
    [],
    [],
    true,
  );
  const said = (map: WireMap): string => wiringLines(map, new Map(), null).map(({ text }) => text.trim()).join('\n');

  it('tells a screen whether a key has more ways to show, and does so', () => {
    const three = mapOf([1, 3, 5].map((from) => ({ from, to: from + 1, winding: 'cw', pole: 'N', ohm: 4000 + from })), [], [], true);
    const [few, all] = [false, true].map((isAll) => wiringPanel(three, new Map(), isAll, 'w'));
    expect([few!.ways, all!.ways]).toEqual(['all ways', 'fewer ways']);
    expect(all!.lines.length).toBeGreaterThan(few!.lines.length);
    expect(few!.lines.some(({ text }) => /more ways, less often wanted: w shows them/.test(text))).toBe(true);
    expect([false, true].map((isAll) => wiringPanel(two, new Map(), isAll, 'w').ways)).toEqual([null, null]);
  });

  it('says of two coils without plus and minus once what is missing and how to find it', () => {
    const coils = two.coils.map((coil) => ({ ...coil, plus: null, minus: null }));
    const text = said({ ...two, verdict: 'unsure', coils });
    expect(text.match(/their plus and minus are not known/g)).toHaveLength(1);
    expect(text).toContain('Not possible: coil 1 and coil 2 together with another coil or pickup, since their plus and minus are not known');
    expect(text).toContain('(clips 1 and 2; 3 and 4)');
  });

  it('lets a coil of which plus is not known work by itself only with its end at the frame at ground', () => {
    const [coil] = two.coils;
    const alone = (chassis: number[]): string =>
      said({ ...two, verdict: 'unsure', coils: [{ ...coil!, plus: null, minus: null }], pairs: [], chassis, joined: [] });
    expect(alone([])).toContain('(alone it works either way round)');
    for (const clip of coil!.ends!) expect(alone([clip])).toContain(`(alone it works with clip ${clip}, tied to the frame, at ground)`);
  });

  it('says first that a coil is broken, and what becomes of the leads that hang on nothing', () => {
    const text = said({
      ...two,
      verdict: 'fault',
      coils: two.coils.slice(0, 1),
      pairs: [],
      isolated: [3, 4],
      findings: [{ kind: 'open', severity: 'fault', clips: [3, 4], text: 'x' }],
    });
    expect(text).toMatch(/^A coil of this pickup is broken/);
    expect(text).toContain('Left over from the broken winding: clip 3; clip 4; insulate each by itself.');
    expect(text).toContain('hot (output): clip 2');
  });

  it('says before any way that a likely sign is not to be soldered on, and that an unsure verdict is to be settled', () => {
    const coils = two.coils.map((coil, at) => ({ ...coil, confidence: at === 0 ? 0.9717 : 0.9999 }));
    expect(said({ ...two, coils }))
      .toMatch(/^Do not solder yet: plus and minus of coil 1 \(97\.17 %\) are likely, not sure\. Touch it again first\./);
    expect(said({ ...two, verdict: 'unsure' })).toMatch(/^The verdict is unsure: settle/);
    expect(said(two)).not.toMatch(/Do not solder|unsure/);
  });

  it('offers nothing where a voltage stood on the leads', () => {
    const live: WireMap = {
      ...two, verdict: 'fault', coils: [], pairs: [],
      findings: [{ kind: 'live', severity: 'fault', clips: [1, 2], text: 'x' }],
    };
    expect(said(live)).toContain('Not possible: any wiring, since a voltage stood on the leads and nothing was measured');
    expect(said({ ...live, verdict: 'unsure', findings: [] })).toContain('Not possible: any wiring, since no coil was found.');
  });

  it('wires two coils with an inner junction as the one they are', () => {
    const map = mapOf([{ from: 1, to: 2, winding: 'cw', pole: 'N', ohm: 8000 }], [], [], false);
    const coils = map.coils.map((coil) => ({
      ...coil,
      hidden_junction: true as const,
      place: null,
    }));
    const plan = wiringPlan({ ...map, coils });
    expect(plan.layouts).toMatchObject([{ kind: 'alone', hum: null }]);
    expect(plan.notPossible[0]?.why).toContain('junction is not brought out');
  });
});
