/**
 * From a wire map to ways of wiring the pickup.
 *
 * A way is built from plus and minus alone (series: plus of one coil to minus of the next; parallel: like to
 * like) and then checked as a circuit, with what is joined inside the pickup and with the chassis at ground.
 * What the check does not confirm is not offered but explained.
 */
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import { Nets, shares, type CircuitCoil } from './circuit.ts';

/** What a way of wiring does to hum from a field that is the same at all coils. */
export type Hum = 'cancels' | 'stays' | 'partly' | 'unknown';

/** One way of wiring. */
export interface Layout {
  readonly kind: 'alone' | 'series' | 'parallel';
  /** Names of the coils that sound, in series from ground to hot. */
  readonly coils: readonly string[];
  /** Clips to be joined to the output. */
  readonly hot: readonly number[];
  /** Clips to be joined to ground, the chassis included. */
  readonly ground: readonly number[];
  /** Groups of clips to be joined to each other and to nothing else; one clip alone is a link that is made inside. */
  readonly links: readonly (readonly number[])[];
  /** Clips to be insulated, each by itself. */
  readonly insulated: readonly number[];
  /** One coil of a pickup that has more. */
  readonly split: boolean;
  /** Minus is hot, since plus is tied to the chassis. */
  readonly reversed: boolean;
  readonly hum: Hum;
  /** Resistance between hot and ground. */
  readonly ohm: number;
}

/** A way that is not offered, and why. */
export interface NotPossible {
  readonly what: string;
  readonly why: string;
}

export interface WiringPlan {
  readonly layouts: readonly Layout[];
  readonly notPossible: readonly NotPossible[];
  /** Clips that go to ground whatever else is done. */
  readonly alwaysGround: readonly number[];
  /** Whether plus (true) or minus (false) is the hot side; null when nothing can be wired or it depends. */
  readonly reversed: boolean | null;
  /** Clips that are connected to nothing, as far as was read. */
  readonly adrift: readonly number[];
  /** Coils of the ways above whose plus and minus are likely, not sure. */
  readonly unsure: readonly WireMapCoil[];
  /** The ways above use what is left of a pickup with a broken coil. */
  readonly isRest: boolean;
}

/** Below this confidence nobody should solder without another touch. */
export const SURE = 0.99;

/** A coil whose plus and minus are known. */
interface UsableCoil extends CircuitCoil {
  readonly name: string;
  readonly map: WireMapCoil;
}

/** Most coils that a pickup's leads can bring out and a plan lists in combination. */
const COMBINED_MOST = 4;

/** The ways of wiring a pickup.
 * @param map - the wire map; a map with faults other than an open coil gets no way at all
 */
export function wiringPlan(map: WireMap): WiringPlan {
  const nets = new Nets();
  for (const group of map.joined) nets.join(group);
  nets.join(map.chassis);
  const alwaysGround = clipsOn(map, nets, map.chassis);
  const adrift = map.isolated ?? [];
  const none = (why: string): WiringPlan => ({
    layouts: [], notPossible: [{ what: 'any wiring', why }], alwaysGround, reversed: null, adrift, unsure: [], isRest: false,
  });
  if (map.findings.some(({ kind }) => kind === 'live'))
    return none('a voltage stood on the leads and nothing was measured; take the pickup out of its circuit and test it again');
  if (isUnfit(map)) return none('this pickup has a fault; mend it and test it again before it is wired');
  if (map.coils.length === 0) return none('no coil was found');
  const usable = map.coils.flatMap((coil) => usableCoil(coil));
  const builder = new Builder(map, usable, alwaysGround);
  builder.all();
  const { layouts } = builder;
  const senses = new Set(layouts.map((layout) => layout.reversed));
  return {
    layouts,
    notPossible: [...builder.notPossible, ...map.coils.flatMap((coil) => notUsable(coil)), ...withoutSign(map)],
    alwaysGround,
    reversed: senses.size === 1 ? (layouts[0]?.reversed ?? null) : null,
    adrift,
    unsure: map.coils.filter(({ name, confidence }) =>
      confidence !== undefined && confidence < SURE && layouts.some(({ coils }) => coils.includes(name))),
    isRest: layouts.length > 0 && map.findings.some(({ kind, severity }) => kind === 'open' && severity === 'fault'),
  };
}

/** A fault makes a pickup unfit, except an open coil beside one that works. */
function isUnfit(map: WireMap): boolean {
  return (
    map.verdict === 'fault' &&
    map.findings.some((finding) => finding.severity === 'fault' && finding.kind !== 'open')
  );
}

function usableCoil(coil: WireMapCoil): UsableCoil[] {
  if (coil.minus === null || coil.plus === null || coil.ohm === null || !(coil.ohm > 0)) return [];
  return [{ name: coil.name, minus: coil.minus, plus: coil.plus, ohm: coil.ohm, map: coil }];
}

function notUsable(coil: WireMapCoil): NotPossible[] {
  if (coil.ends === null || coil.ohm === null) {
    return [
      { what: `${coil.name} in any way`, why: 'its winding is broken, so it gives no signal' },
    ];
  }
  if (coil.hidden_junction === true) {
    return [
      {
        what: `the coils inside ${coil.name} one by one, or in another order`,
        why: 'their junction is not brought out; only a new lead soldered to it inside the pickup would change that',
      },
    ];
  }
  return [];
}

/** Coils that give a signal but whose plus and minus are not known: one entry for all of them. */
function withoutSign({ coils }: WireMap): NotPossible[] {
  const open = coils.filter(({ ends, ohm, plus, hidden_junction }) =>
    ends !== null && ohm !== null && plus === null && hidden_junction !== true);
  if (open.length === 0) return [];
  const [its, alone, it] = open.length > 1 ? ['their', 'each alone', 'each'] : ['its', 'alone it', 'it'];
  const ends = open.map((coil) => (coil.ends as readonly number[]).join(' and ')).join('; ');
  return [
    {
      what: `${listInWords(open.map(({ name }) => name))} together with another coil or pickup`,
      why:
        `${its} plus and minus are not known (${alone} works either way round); test again and touch ${it} firmly with steel, ` +
        `or clip a voltmeter to the ends (clips ${ends}): the lead that goes positive as steel arrives is plus`,
    },
  ];
}

function clipsOn(map: WireMap, nets: Nets, clips: readonly number[]): number[] {
  const first = clips[0];
  if (first === undefined) return [];
  return allClips(map).filter((clip) => nets.same(clip, first));
}

/** Every clip that the map names as an end, as joined or as chassis, in rising order. */
function allClips(map: WireMap): number[] {
  const clips = new Set([
    ...map.chassis,
    ...map.joined.flat(),
    ...map.coils.flatMap((coil) => coil.ends ?? []),
  ]);
  return [...clips].sort((a, b) => a - b);
}

class Builder {
  readonly layouts: Layout[] = [];
  readonly notPossible: NotPossible[] = [];
  private readonly map: WireMap;
  private readonly coils: readonly UsableCoil[];
  /** All that conducts: a coil whose plus is not known is in the way all the same. */
  private readonly circuit: readonly (CircuitCoil & { readonly name: string })[];
  private readonly clips: readonly number[];
  private readonly alwaysGround: readonly number[];

  constructor(map: WireMap, coils: readonly UsableCoil[], alwaysGround: readonly number[]) {
    this.map = map;
    this.alwaysGround = alwaysGround;
    this.coils = coils;
    this.circuit = map.coils.flatMap(({ name, ends, minus, plus, ohm }) =>
      (ends === null || ohm === null || !(ohm > 0) ? [] : [{ name, minus: minus ?? ends[0], plus: plus ?? ends[1], ohm }]));
    this.clips = allClips(map);
  }

  all(): void {
    const { coils } = this;
    if (coils.length >= 2 && coils.length <= COMBINED_MOST) {
      if (coils.length > 2) {
        this.anyOrder(coils);
        this.offer('parallel', coils);
      }
      for (const [at, a] of coils.entries()) {
        for (const b of coils.slice(at + 1)) {
          this.offer('series', [a, b]);
          this.offer('series', [b, a]);
          this.offer('parallel', [a, b]);
        }
      }
    }
    for (const coil of coils) this.offer('alone', [coil]);
  }

  /** Three or more in series: the first order that the pickup allows. */
  private anyOrder(coils: readonly UsableCoil[]): void {
    for (const order of orders(coils)) {
      const layout = this.build('series', order);
      if (layout !== null) {
        this.layouts.push(layout);
        return;
      }
    }
    this.notPossible.push({ what: `${names(coils)} in series`, why: WHY.series });
  }

  private offer(kind: Layout['kind'], coils: readonly UsableCoil[]): void {
    const layout = this.build(kind, coils);
    if (layout !== null) this.layouts.push(layout);
    else {
      const order =
        kind === 'series'
          ? ` in series, ${coils[0]?.name} at ground`
          : kind === 'parallel'
            ? ' in parallel'
            : ' alone';
      this.notPossible.push({ what: `${names(coils)}${order}`, why: WHY[kind] });
    }
  }

  /** The way with plus hot, or, where the chassis forbids it, the one with minus hot, or null. */
  private build(kind: Layout['kind'], coils: readonly UsableCoil[]): Layout | null {
    return this.attempt(kind, coils, false) ?? this.attempt(kind, coils, true);
  }

  private attempt(
    kind: Layout['kind'],
    coils: readonly UsableCoil[],
    reversed: boolean,
  ): Layout | null {
    const low = (coil: UsableCoil): number => (reversed ? coil.plus : coil.minus);
    const high = (coil: UsableCoil): number => (reversed ? coil.minus : coil.plus);
    const first = coils[0] as UsableCoil;
    const last = coils.at(-1) as UsableCoil;
    const isParallel = kind === 'parallel';
    const hot = isParallel ? coils.map(high) : [high(last)];
    const ground = isParallel ? coils.map(low) : [low(first)];
    const links = isParallel
      ? []
      : coils.slice(1).map((coil, at) => [high(coils[at] as UsableCoil), low(coil)]);
    // Turned over only where it has to be: where plus is tied to the chassis.
    if (reversed && !ground.some((clip) => this.alwaysGround.includes(clip))) return null;
    const nets = this.joinedNets([hot, [...ground, ...this.map.chassis], ...links]);
    const result = shares(this.circuit, nets, hot[0] as number, ground[0] as number);
    if (result === null || !this.confirms(result, coils, isParallel, reversed)) return null;
    const on = (clips: readonly number[]): number[] =>
      this.clips.filter((clip) => nets.same(clip, clips[0] as number));
    const linked = links.map(on);
    const used = new Set([...on(hot), ...on(ground), ...linked.flat()]);
    return {
      kind,
      coils: coils.map((coil) => coil.name),
      hot: on(hot),
      ground: on(ground),
      links: linked,
      insulated: this.clips.filter((clip) => !used.has(clip)),
      split: kind === 'alone' && this.map.coils.length > 1,
      reversed,
      hum: this.hum(coils),
      ohm:
        kind === 'parallel'
          ? 1 / sum(coils.map((coil) => 1 / coil.ohm))
          : sum(coils.map((coil) => coil.ohm)),
    };
  }

  private joinedNets(groups: readonly (readonly number[])[]): Nets {
    const nets = new Nets();
    for (const group of this.map.joined) nets.join(group);
    for (const group of groups) nets.join(group);
    return nets;
  }

  /** Whether the circuit does what was meant: the coils named sound, with one sense, and no other does. */
  private confirms(
    result: readonly number[],
    coils: readonly UsableCoil[],
    isParallel: boolean,
    reversed: boolean,
  ): boolean {
    const sign = reversed ? -1 : 1;
    const isWanted = (at: number): boolean => coils.some(({ name }) => name === this.circuit[at]?.name);
    const own = sum(result.map((share, at) => (isWanted(at) ? share * sign : 0)));
    return result.every((share, at) => {
      const wanted = isWanted(at);
      if (!wanted) return Math.abs(share) < 1e-6;
      return isParallel
        ? share * sign > 1e-3 && Math.abs(own - 1) < 1e-6
        : Math.abs(share * sign - 1) < 1e-6;
    });
  }

  /** Two coils cancel hum when their poles differ; more of them, only as far as they pair off. */
  private hum(coils: readonly UsableCoil[]): Hum {
    if (coils.some((coil) => coil.map.hidden_junction === true)) return 'unknown';
    if (coils.length === 1) return 'stays';
    const first = coils[0] as UsableCoil;
    const differing = coils.map((coil) => (coil === first ? false : this.polesDiffer(first, coil)));
    if (differing.includes(null)) return 'unknown';
    const opposite = differing.filter((differs) => differs === true).length;
    const alike = coils.length - opposite;
    if (opposite === alike) return 'cancels';
    return opposite === 0 ? 'stays' : 'partly';
  }

  private polesDiffer(a: UsableCoil, b: UsableCoil): boolean | null {
    const pair = this.map.pairs.find(
      (one) => (one.a === a.name && one.b === b.name) || (one.a === b.name && one.b === a.name),
    );
    if (pair !== undefined && pair.poles_differ !== null) return pair.poles_differ;
    const [poleA, poleB] = [a.map.pole, b.map.pole];
    return pair === undefined && poleA !== null && poleB !== null ? poleA !== poleB : null;
  }
}

const WHY: Record<Layout['kind'], string> = {
  series:
    'what is joined inside, or to the chassis, would short out a coil or set one against the other',
  parallel:
    'what is joined inside, or to the chassis, would short out a coil or set one against the other',
  alone: 'another coil is joined to it, or to the chassis, in a way that makes both sound',
};

function names(coils: readonly UsableCoil[]): string {
  return listInWords(coils.map((coil) => coil.name));
}

/** `a`, `a and b`, `a, b and c`. */
export function listInWords(items: readonly (string | number)[]): string {
  return items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

function* orders<T>(items: readonly T[]): Generator<readonly T[]> {
  if (items.length <= 1) {
    yield items;
    return;
  }
  for (const [at, item] of items.entries()) {
    for (const rest of orders([...items.slice(0, at), ...items.slice(at + 1)]))
      yield [item, ...rest];
  }
}
