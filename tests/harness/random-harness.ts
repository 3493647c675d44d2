/** Small harnesses drawn at random: two or three slots, pickups of one to three coils, knowns and unknowns, switches of every kind. */
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { Fitted, Harness } from '../../host/src/harness/harness.ts';
import type { PlainHarness, PlainMap } from './example-harnesses.ts';

/** @param seed - decides everything */
export function randomHarness(seed: number): PlainHarness {
  return new Draw(seed).harness();
}

class Draw {
  private readonly random: RandomStream;

  constructor(seed: number) {
    this.random = new RandomStream(seed, 'harness');
  }

  private below(count: number): number {
    return Math.floor(this.random.unit() * count);
  }

  private chance(share: number): boolean {
    return this.random.unit() < share;
  }

  private between(low: number, high: number): number {
    return Number((low + (high - low) * this.random.unit()).toPrecision(5));
  }

  private shuffled<T>(items: readonly T[]): T[] {
    const left = [...items];
    return items.map(() => left.splice(this.below(left.length), 1)[0]!);
  }

  private pick<T>(items: readonly T[]): T {
    return items[this.below(items.length)]!;
  }

  harness(): PlainHarness {
    const names = ['front', 'rear', 'middle'].slice(0, this.pick([1, 1, 2, 2, 2, 3]));
    const slots = names.map((slot) => ({
      slot,
      hot: `${slot}.hot`,
      ...(this.chance(0.6) ? { link: `${slot}.link` } : {}),
      ground: this.chance(0.15) ? `${slot}.low` : 'gnd',
      frame: this.chance(0.1) ? `${slot}.frame` : 'gnd',
    }));
    const maps = names.map(() => this.map(names.length));
    const low = (slot: (typeof slots)[number]): string[][] => (slot.ground === 'gnd' ? [] : [[slot.ground, 'gnd']]);
    const grounded = slots.flatMap(low);
    const selector = [
      ...slots.map(({ slot, hot }) => ({ name: slot, joins: [[hot, 'bus'], ...grounded] })),
      { name: 'all', joins: [[...slots.map(({ hot }) => hot), 'bus'], ...grounded] },
      ...slots.filter(({ ground }) => ground !== 'gnd').slice(0, 1).map((slot) => ({
        name: 'chain', joins: [[slot.ground, slots[(slots.indexOf(slot) + 1) % slots.length]!.hot], [slot.hot, 'bus']] })),
    ].filter(() => this.chance(0.85));
    const links = slots.flatMap(({ link, hot }) => (link === undefined ? [] : [[link, this.pick(['gnd', 'gnd', hot])]]));
    const harness: Harness = {
      format: 'harness/1',
      slots,
      parts: [
        { id: 'volume', kind: 'pot', a: 'bus', wiper: 'out', b: 'gnd', ohm: 250000, turn: this.pick([1, 1, 0.7, 0]) },
        { id: 'tone', kind: 'pot', a: null, wiper: 'tone', b: 'bus', ohm: 250000, turn: this.pick([1, 0.4]) },
        { id: 'capacitor', kind: 'capacitor', a: 'tone', b: 'gnd', farad_F: 2.2e-8 },
        ...(this.chance(0.2) ? [{ id: 'bleed', kind: 'resistor' as const, a: 'bus', b: 'out', ohm: 150000 }] : []),
      ],
      switches: [
        ...(selector.length > 0 ? [{ id: 'selector', positions: selector }] : []),
        ...(links.length > 0 ? [{ id: 'split', positions: [{ name: 'off', joins: [] }, { name: 'on', joins: links }] }] : []),
      ],
      output: { hot: 'out', ground: 'gnd' },
      ...(this.chance(0.7) ? { load: { ohm: 1e6, farad_F: 5e-10 } } : {}),
      fitted: slots.map(({ slot }, at) => this.fitted(slot, maps[at]!)),
    };
    return { harness, maps };
  }

  private fitted(slot: string, map: PlainMap): Fitted {
    const assume = this.chance(0.3) ? { assume: { capacitance_F: 8e-11, loss_ohm: 250000 } } : {};
    const coils = map.coils.filter(({ ohm }: PlainMap) => ohm !== null).map(({ name }: PlainMap) => name as string);
    const isFree = map.joined.length === 0 && new Set(map.coils.flatMap(({ ends }: PlainMap) => ends ?? [])).size === 2 * coils.length;
    if (!isFree || this.chance(0.3)) return { slot, map: 'x', ...assume };
    const kind = coils.length === 1 ? 'alone' : this.pick(['series', 'series', 'parallel', 'alone'] as const);
    const order = this.chance(0.5) ? [...coils].reverse() : coils;
    const turned = this.chance(0.4) ? { turned: true } : {};
    return { slot, map: 'x', way: { kind, coils: kind === 'alone' ? [this.pick(coils)] : order, ...turned }, ...assume };
  }

  private map(pickups: number): PlainMap {
    const count = this.pick(pickups === 1 ? [1, 2, 2, 3] : pickups === 2 ? [1, 2, 2] : [1, 1, 1, 2]);
    const clips = this.shuffled([1, 2, 3, 4, 5, 6]);
    const isTapped = count === 2 && this.chance(0.2);
    const hasHenry = this.chance(0.85);
    const coils = Array.from({ length: count }, (_, at): PlainMap => {
      const [minus, plus] = isTapped && at === 1 ? [clips[1]!, clips[2]!] : [clips[2 * at]!, clips[2 * at + 1]!];
      const isKnown = this.chance(0.85);
      return {
        name: `coil ${at + 1}`,
        minus: isKnown ? minus : null,
        plus: isKnown ? plus : null,
        ends: [minus, plus].sort(),
        ohm: this.between(2500, 8000),
        ...(this.chance(0.5) ? { ohm_20C: this.between(2500, 8000) } : {}),
        place: null,
        pole: this.chance(0.7) ? this.pick(['N', 'S']) : null,
        ...(hasHenry ? { inductance_H: this.between(1.5, 4) } : {}),
      };
    });
    const pairs = coils.flatMap((a, at) => coils.slice(at + 1).map((b) => {
      const isRead = a.pole !== null && b.pole !== null;
      return {
        a: a.name,
        b: b.name,
        poles_differ: isRead ? a.pole !== b.pole : this.pick([true, false, null]),
        witnesses: [],
        ...(hasHenry && this.chance(0.6) ? { mutual_H: this.between(-0.3, 0.3) } : {}),
      };
    }));
    // Three coils whose pairs contradict themselves are no pickup.
    if (count === 3) for (const pair of pairs) if (coils.some(({ pole }) => pole === null)) pair.poles_differ = null;
    const spare = clips[isTapped ? 3 : 2 * count];
    const chassis = spare !== undefined && this.chance(0.6) ? [spare] : [];
    const joined = chassis.length > 0 && this.chance(0.3) ? [[spare!, this.pick(coils).ends[this.below(2)]]] : [];
    return {
      format: 'wiremap/1', verdict: 'good', coils, pairs, joined, findings: [], unknown: [],
      chassis: joined.length > 0 ? [...joined[0]!].sort() : chassis,
    };
  }
}
