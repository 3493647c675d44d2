/**
 * From a wire map to ways of wiring the pickup.
 *
 * A way is built from plus and minus alone (series: plus of one winding to minus of the next; parallel: like to like) and
 * then solved as a circuit, with what is joined inside the pickup and with the frame at ground. What the circuit does not
 * confirm is not offered but explained; what it leaves of the hum is told as it comes out.
 */
import { likelyCoils } from '../wiremap/likely-plus.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import { wireable, type Wireable } from '../wiremap/stacked.ts';
import { HIDDEN_END, listInWords } from '../wiremap/lead-words.ts';
import { CANCELLED_hum } from '../harness/search.ts';
import type { NotPossible } from './not-possible.ts';
import { OneSlot, type Chain, type Wired } from './one-slot.ts';
import { isSectionOfMore, windingsOf, type Winding } from './windings.ts';
import { unsignedCoils, withoutSign, type Unsigned } from './without-sign.ts';

export type LayoutKind = 'alone' | 'series' | 'parallel';

/** One way of wiring. */
export interface Layout extends Unnumbered {
  /** From 1: what text, screen and drawing call it by. */
  readonly number: number;
}

interface Unnumbered {
  readonly kind: LayoutKind;
  /** Names of the coils that sound; in series from ground to hot. */
  readonly coils: readonly string[];
  /** What a person calls the pieces, in the same order. */
  readonly labels: readonly string[];
  /** Clips to be joined to the output. */
  readonly hot: readonly number[];
  /** Clips to be joined to ground, the frame's included. */
  readonly ground: readonly number[];
  /** Groups of clips to be joined to each other and to nothing else; one clip alone is a link that is made inside. */
  readonly links: readonly (readonly number[])[];
  /** Clips to be insulated, each by itself. */
  readonly insulated: readonly number[];
  /** One winding of a pickup that has more. */
  readonly split: boolean;
  /** A section of a tapped winding is used by itself. */
  readonly tap: boolean;
  /** An inner stacked coil takes hum off the one above it. */
  readonly stacked: boolean;
  /** Minus is hot, since the tie to the frame allows no other way. */
  readonly reversed: boolean;
  /** Nobody knows which end of its one coil is plus: it is wired, and its phase stays unknown. */
  readonly unsigned: boolean;
  /** Of such a coil: hot and ground may as well be exchanged. */
  readonly exchangeable: boolean;
  /** What is left of the hum, 0 to 1; null when it is not known, as of a coil that nobody heard: it may be two. */
  readonly hum: number | null;
  /** Resistance between hot and ground. */
  readonly ohm: number;
}

export interface WiringPlan {
  /** The most useful first. */
  readonly layouts: readonly Layout[];
  readonly notPossible: readonly NotPossible[];
  /** Clips that go to ground whatever else is done. */
  readonly alwaysGround: readonly number[];
  /** Whether plus (true) or minus (false) is the ground side where plus is known; null when that is nowhere or it depends. */
  readonly reversed: boolean | null;
  /** Clips that are connected to nothing, as far as was read. */
  readonly adrift: readonly number[];
  /** Ends of a broken winding. */
  readonly broken: readonly number[];
  /** Coils of the ways above whose plus and minus are likely, not sure. */
  readonly unsure: readonly WireMapCoil[];
  /** The ways above use what is left of a pickup with a broken coil. */
  readonly isRest: boolean;
}

/** Hum from here on counts as not cancelled; up to CANCELLED_hum as cancelled. */
export const STAYS_hum = 0.85;

/** Most windings of which all orders in series are tried. */
const ORDERED_MOST = 4;

/** The ways of wiring a pickup.
 * @param map - the wire map; a map with faults other than an open coil gets no way at all
 */
export function wiringPlan(map: WireMap): WiringPlan {
  const ready = wireable(map);
  const circuit = new OneSlot(ready.map);
  const { alwaysGround } = circuit;
  const open = map.findings.filter(({ kind, severity }) => kind === 'open' && severity === 'fault');
  const broken = open.flatMap(({ clips }) => clips);
  const isolated = map.isolated ?? [];
  const around = {
    alwaysGround,
    adrift: isolated.filter((clip) => !broken.includes(clip)),
    broken: isolated.filter((clip) => broken.includes(clip)),
  };
  const none = (why: string): WiringPlan => ({
    layouts: [], notPossible: [{ what: 'any wiring', why }], ...around, reversed: null, unsure: [], isRest: false,
  });
  if (map.findings.some(({ kind }) => kind === 'live'))
    return none('a voltage stood on the leads and nothing was measured; take the pickup out of its circuit and test it again');
  if (isUnfit(map)) return none('this pickup has a fault; mend it and test it again before it is wired');
  if (map.coils.length === 0) return none('no coil was found');
  const unsigned = unsignedCoils(ready.map, circuit);
  const builder = new Builder(ready, circuit);
  builder.all(unsigned);
  const layouts = ranked(builder.layouts);
  const senses = new Set(layouts.filter((layout) => !layout.unsigned).map((layout) => layout.reversed));
  return {
    layouts,
    notPossible: [
      ...builder.notPossible, ...map.coils.flatMap((coil) => notUsable(coil)), ...withoutSign(ready.map, unsigned, alwaysGround),
    ],
    ...around,
    reversed: senses.size === 1 ? senses.has(true) : null,
    unsure: likelyCoils(map).filter(({ name }) => layouts.some(({ coils }) => coils.includes(name))),
    // Of a fault an open coil alone leaves a way.
    isRest: layouts.length > 0 && (map.verdict === 'fault' || open.length > 0),
  };
}

/** A fault makes a pickup unfit, except an open coil beside one that works; so does a verdict that no finding explains. */
function isUnfit({ verdict, findings, coils }: WireMap): boolean {
  const faults = findings.filter(({ severity }) => severity === 'fault');
  if (faults.length === 0) return verdict === 'fault' && coils.every(({ ohm, hidden_end }) => ohm !== null || hidden_end === true);
  return faults.some(({ kind }) => kind !== 'open');
}

function notUsable(coil: WireMapCoil): NotPossible[] {
  if (coil.ends === null || coil.ohm === null) {
    return [
      { what: `${coil.name} in any way`, why: coil.hidden_end === true ? HIDDEN_END : 'its winding is broken, so it gives no signal' },
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

/** A winding or a section of one, as a way uses it. */
interface Piece {
  readonly label: string;
  readonly chain: Chain;
  readonly isTap: boolean;
}

class Builder {
  readonly layouts: Unnumbered[] = [];
  readonly notPossible: NotPossible[] = [];
  private readonly windings: readonly Winding[];
  private readonly inner: ReadonlySet<string>;
  private readonly circuit: OneSlot;
  private readonly isOne: boolean;
  private readonly map: WireMap;

  constructor({ map, inner }: Wireable, circuit: OneSlot) {
    this.circuit = circuit;
    this.map = map;
    this.inner = inner;
    this.windings = windingsOf(map);
    this.isOne = this.windings.length === 1 && map.coils.length === this.windings[0]!.chain.length;
  }

  all(unsigned: readonly Unsigned[]): void {
    const whole = this.windings.map(({ label, chain }): Piece => ({ label, chain, isTap: false }));
    const taps = this.windings.map(({ sections, chain, isTapped }) =>
      (isTapped ? chain.map((name, at): Piece => ({ label: sections[at]!, chain: [name], isTap: true })) : []));
    if (whole.length > 2 && whole.length <= ORDERED_MOST) {
      this.anyOrder(whole);
      this.offer('parallel', whole);
    }
    const isFew = whole.length === 2;
    whole.forEach((a, at) => {
      for (const b of whole.slice(at + 1)) {
        const isMade = this.offer('series', [a, b], isFew);
        // Which of the two is at ground matters to a split of the two alone.
        if (isFew || !isMade) this.offer('series', [b, a], isFew);
        this.offer('parallel', [a, b], isFew);
      }
    });
    for (const piece of whole) if (!this.isDeaf(piece)) this.offer('alone', [piece]);
    for (const one of unsigned) this.offerUnsigned(one);
    taps.forEach((own, at) => {
      for (const tap of own) this.offer('alone', [tap], false);
      whole.forEach((other, beside) => {
        if (beside === at) return;
        for (const tap of own) {
          if (!this.offer('series', [tap, other], false)) this.offer('series', [other, tap], false);
          if (beside > at) for (const tapToo of taps[beside]!) this.offer('series', [tap, tapToo], false);
        }
      });
    });
  }

  private isInner({ chain }: Piece): boolean {
    return chain.some((name) => this.inner.has(name));
  }

  /** No steel reaches an inner stacked coil, however its ends were told: alone it gives hum. */
  private isDeaf({ chain }: Piece): boolean {
    return this.map.coils.some(({ name, inner }) => inner === true && chain.includes(name));
  }

  /** Three or more in series: the first order that the pickup allows. */
  private anyOrder(pieces: readonly Piece[]): void {
    for (const order of orders(pieces)) if (this.offer('series', order, false)) return;
    this.notPossible.push({ what: `${names(pieces)} in series`, why: 'what is joined inside, or to the frame, allows no order of them' });
  }

  /** @param isTold - where it is not possible, say why @returns whether it is possible */
  private offer(kind: LayoutKind, pieces: readonly Piece[], isTold = true): boolean {
    const chains = (some: readonly Piece[]): Chain[] =>
      (kind === 'parallel' ? some.map(({ chain }) => chain) : [some.flatMap(({ chain }) => chain)]);
    const straight = this.circuit.attempt(chains(pieces), false);
    const made = 'why' in straight ? this.turnedOver(chains([...pieces].reverse())) ?? straight : straight;
    if ('why' in made) {
      if (!isTold) return false;
      const order = kind === 'series' ? ` in series, ${pieces[0]!.label} at ground` : kind === 'parallel' ? ' in parallel' : ' alone';
      // The other order the wrong way round grounds the same coil: not offered beside it, and not to be denied either.
      const turned = this.circuit.attempt(chains([...pieces].reverse()), true);
      const [also, had] = 'why' in turned
        ? ['', '']
        : [' with plus at hot', `; with minus at hot it can be had, ${clips(turned.ground)} at ground and ${clips(turned.hot)} at hot`];
      this.notPossible.push({ what: `${names(pieces)}${order}${also}`, why: `${made.why}${had}` });
      return false;
    }
    this.layouts.push(this.layout(kind, pieces, made, 'why' in straight));
    return true;
  }

  /** A coil of which nobody knows plus: by itself or not at all, which `withoutSign` tells. */
  private offerUnsigned({ coil, made, exchangeable }: Unsigned): void {
    if ('why' in made) return;
    const isTap = isSectionOfMore(coil, this.map);
    const piece: Piece = { label: isTap ? `${coil.name}, a tap` : coil.name, chain: [coil.name], isTap };
    this.layouts.push({
      ...this.layout('alone', [piece], made, false), split: !isTap && this.map.coils.length > 1, unsigned: true, exchangeable, hum: null,
    });
  }

  /** A way with minus at hot, where it has to be: without a frame the same chain the right way round is its mirror image. */
  private turnedOver(chains: readonly Chain[]): Wired | null {
    if (!('why' in this.circuit.attempt(chains, false))) return null;
    const turned = this.circuit.attempt(chains, true);
    return 'why' in turned ? null : turned;
  }

  private layout(kind: LayoutKind, pieces: readonly Piece[], wired: Wired, reversed: boolean): Unnumbered {
    const isWhole = pieces.every(({ isTap }) => !isTap);
    return {
      kind,
      coils: pieces.flatMap(({ chain }) => chain),
      labels: pieces.map(({ label }) => label),
      ...wired,
      split: kind === 'alone' && isWhole && !this.isOne,
      tap: !isWhole,
      stacked: pieces.length > 1 && pieces.some((piece) => this.isInner(piece)),
      reversed,
      unsigned: false,
      exchangeable: false,
    };
  }
}

/**
 * The most useful first: whole windings before taps, everything together before a part of it, quiet before loud, a coil whose
 * plus is known before one whose plus is not.
 */
function ranked(layouts: readonly Unnumbered[]): Layout[] {
  const most = Math.max(...layouts.map(({ coils }) => coils.length));
  const rank = ({ tap, kind, coils, hum, unsigned }: Unnumbered): number[] => {
    if (tap) return [5, unsigned ? 1 : 0];
    if (unsigned) return [2, 1];
    if (coils.length === most) return [0, kind === 'parallel' ? 1 : 0];
    if (kind === 'alone') return [2, 0];
    return [hum === null || hum > CANCELLED_hum ? 4 : kind === 'series' ? 1 : 3, 0];
  };
  return layouts
    .map((layout, at) => ({ layout, key: [...rank(layout), at] }))
    .sort((a, b) => a.key.map((value, index) => value - b.key[index]!).find((difference) => difference !== 0) ?? 0)
    .map(({ layout }, at) => ({ ...layout, number: at + 1 }));
}

function clips(some: readonly number[]): string {
  return `clip ${listInWords(some.map(String))}`;
}

function names(pieces: readonly Piece[]): string {
  return listInWords(pieces.map(({ label }) => label));
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
