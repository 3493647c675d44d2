/**
 * Which pickups in stock pair with one: what hum is left when both sound, how near they are in ohms and henries, and
 * whether they are in phase when they are wired by the colours alike.
 *
 * Hum follows the winding alone, so read at plus it is + for a coil that shows N and - for one that shows S (file formats,
 * sign conventions); a coil weighs by the root of its inductance, or by its ohms where that is not known. Two pickups that a
 * switch puts side by side share the output by each other's resistance.
 */
import { doubtOf } from '../wiremap/doubt.ts';
import { likelyCoils } from '../wiremap/likely-plus.ts';
import { wholeHenry } from '../wiremap/sections.ts';
import type { WireMapCoil } from '../wiremap/wiremap.ts';
import { comparedOhm } from './facts.ts';
import { coilKey, isOnFrame, type Compared } from './leads-of.ts';

/** Hum that is left over the hum of the coils by themselves: up to this it counts as cancelled, as in a plan of a harness. */
export const CANCELLED_MOST = 0.15;

export type Hum = 'both' | 'one coil each' | 'not known' | 'stays';

export interface Partner {
  readonly number: string;
  readonly hum: Hum;
  /** Hum left in the best of the two ways, 0 to 1; null when poles are not known. */
  readonly left: number | null;
  /** How much larger its resistance is, a share; null when one is open. */
  readonly ohms: number | null;
  /** The same of the inductance; null when one is not known. */
  readonly henries: number | null;
  /** Wired alike by its colours it is out of phase; null when that cannot be told. */
  readonly needsExchange: boolean | null;
  /** Why, for people. */
  readonly reason: string;
}

interface Voice {
  readonly words: string;
  readonly ohm: number;
  /** Sum of the weights, and the same with the sign of the hum. */
  readonly string: number;
  readonly hum: number;
}

type Weight = (coil: WireMapCoil) => number;

/** By the root of the inductance when each coil of both has one, else by ohms. */
function weightOf(a: Compared, b: Compared): Weight {
  const coils = [...a.map.coils, ...b.map.coils];
  return coils.every(({ inductance_H }) => inductance_H !== undefined)
    ? ({ inductance_H }) => Math.sqrt(inductance_H!) : (coil) => comparedOhm(coil) ?? 0;
}

/** Coils that sound together in series, or null when a pole is missing. */
function voice(coils: readonly WireMapCoil[], weight: Weight, words: string): Voice | null {
  if (coils.length === 0) return null;
  let [ohm, string, hum] = [0, 0, 0];
  for (const coil of coils) {
    const own = comparedOhm(coil);
    const sign = humSign(coil);
    if (own === null || sign === null) return null;
    ohm += own;
    string += weight(coil);
    hum += sign * weight(coil);
  }
  return { words, ohm, string, hum };
}

/** Of a coil with a hidden junction the mean over its parts, when each is known. */
function humSign({ pole, parts }: WireMapCoil): number | null {
  if (parts === undefined || parts.length < 2) return pole === null ? null : pole === 'N' ? 1 : -1;
  let sum = 0;
  for (const part of parts) {
    if (part.pole === null) return null;
    sum += part.pole === 'N' ? 1 : -1;
  }
  return sum / parts.length;
}

/** Hum that two voices side by side leave, over what their coils would give by themselves. */
function humLeft(a: Voice, b: Voice): number {
  const [shareA, shareB] = [b.ohm / (a.ohm + b.ohm), a.ohm / (a.ohm + b.ohm)];
  return Math.abs(shareA * a.hum + shareB * b.hum) / (shareA * a.string + shareB * b.string);
}

interface Combination {
  readonly left: number;
  readonly words: string;
}

function best(as: readonly (Voice | null)[], bs: readonly (Voice | null)[]): Combination | null {
  let found: Combination | null = null;
  for (const a of as) {
    for (const b of bs) {
      if (a === null || b === null) continue;
      const left = humLeft(a, b);
      if (found === null || left < found.left) found = { left, words: `${a.words} with ${b.words}` };
    }
  }
  return found;
}

/** Whether wiring by the colours alike puts a pickup out of phase; null when plus or the colours do not tell. */
export function exchangeOf(own: Compared, other: Compared): boolean | null {
  let answer: boolean | null = null;
  for (const coil of own.map.coils) {
    const key = coilKey(own, coil);
    const twin = other.map.coils.find((one) => key !== null && coilKey(other, one) === key);
    if (twin === undefined || coil.plus === null || twin.plus === null) return null;
    const isTurned = own.lead(coil.plus) !== other.lead(twin.plus);
    if (answer !== null && answer !== isTurned) return null;
    answer = isTurned;
  }
  return answer;
}

function humOf(own: Compared, other: Compared): { readonly hum: Hum; readonly left: number | null; readonly words: string } {
  const weight = weightOf(own, other);
  const whole = ({ map, number }: Compared): (Voice | null)[] => [voice(map.coils, weight, number)];
  const single = ({ map, number }: Compared): (Voice | null)[] =>
    map.coils.map((coil) => voice([coil], weight, map.coils.length === 1 ? number : `${coil.name} of ${number}`));
  const both = best(whole(own), whole(other));
  const one = best(single(own), single(other));
  const isSplit = own.map.coils.length > 1 || other.map.coils.length > 1;
  const percent = (left: number): string => `${Math.round(left * 100)} % of it`;
  if (both !== null && both.left <= CANCELLED_MOST) {
    const also = isSplit && one !== null && one.left <= CANCELLED_MOST ? `; also ${one.words}` : '';
    return { hum: 'both', left: both.left, words: `hum cancels when both sound (${percent(both.left)} is left)${also}` };
  }
  if (isSplit && one !== null && one.left <= CANCELLED_MOST) {
    return { hum: 'one coil each', left: one.left, words: `hum cancels with one coil each: ${one.words} (${percent(one.left)} is left)` };
  }
  if (both === null) return { hum: 'not known', left: null, words: 'whether hum cancels is not known: a pole is missing' };
  return { hum: 'stays', left: both.left, words: `hum stays when both sound (${percent(both.left)} is left)` };
}

function ratioWords(what: string, share: number | null): string {
  if (share === null) return `${what} not comparable`;
  if (Math.abs(share) < 0.0005) return `${what} equal`;
  return `${(Math.abs(share) * 100).toFixed(1)} % ${share > 0 ? 'more' : 'less'} ${what}`;
}

function phaseWords(own: Compared, other: Compared, needsExchange: boolean | null): string {
  if (other.map.coils.some(({ plus }) => plus === null)) return 'its plus is not known: touch it again before it is wired';
  if (likelyCoils(other.map).length > 0) return 'its plus is only likely: touch it again before it is wired';
  if (needsExchange === null) return 'wire it by plus and minus of its own map, not by the colours of the other';
  if (!needsExchange) return 'in phase when wired by the same colours';
  const isTied = other.map.coils.some((coil) => isOnFrame(other, coil));
  return isTied
    ? 'out of phase by the same colours, and its frame is on one end: part the frame from that end before its leads are exchanged'
    : 'out of phase by the same colours: exchange the two leads of each of its coils';
}

function totalOhm(coils: readonly WireMapCoil[]): number | null {
  return coils.reduce<number | null>((sum, coil) => {
    const value = comparedOhm(coil);
    return sum === null || value === null ? null : sum + value;
  }, coils.length === 0 ? null : 0);
}

function share(own: number | null, other: number | null): number | null {
  return own === null || other === null || own <= 0 || other <= 0 ? null : other / own - 1;
}

/** One pickup as the partner of another. */
export function asPartner(own: Compared, other: Compared): Partner {
  const { hum, left, words } = humOf(own, other);
  const ohms = share(totalOhm(own.map.coils), totalOhm(other.map.coils));
  const henries = share(wholeHenry(own.map), wholeHenry(other.map));
  const needsExchange = exchangeOf(own, other);
  const reason = [
    words, `${ratioWords('ohms', ohms)}, ${ratioWords('henries', henries)}`, phaseWords(own, other, needsExchange),
    ...(doubtOf(other.map) === 'warning' ? ['a warning stands in its findings: read them first'] : []),
  ].join('; ');
  return { number: other.number, hum, left, ohms, henries, needsExchange, reason };
}

const RANK: Readonly<Record<Hum, number>> = { both: 0, 'one coil each': 1, 'not known': 2, stays: 3 };

/** The best first: hum before likeness, likeness before the work of an exchange. */
export function rankPartners(own: Compared, others: readonly Compared[]): Partner[] {
  const distance = ({ ohms, henries, needsExchange }: Partner): number =>
    Math.abs(Math.log1p(ohms ?? 1)) + Math.abs(Math.log1p(henries ?? 0)) + (needsExchange === true ? 0.01 : 0);
  return others
    .map((other) => asPartner(own, other))
    .sort((a, b) => RANK[a.hum] - RANK[b.hum] || distance(a) - distance(b) || (a.number < b.number ? -1 : 1));
}
