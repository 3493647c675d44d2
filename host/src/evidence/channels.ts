/** Which channels of a touch the module is given: as many as it takes, and along wire where they allow it. */
import type { BenchRecord, BenchTouch } from '../files/bench-record.ts';
import { MAX_CHANNELS } from '../logic/layout.generated.ts';

type Channel = BenchTouch['channels'][number];

/** From here up a connection is a leak, in ohms (hardware-notes/file-formats.md). */
const LEAK_ohm = 5e5;

/** Clips in groups, each alone at first. */
export class Groups {
  readonly #groups = new Map<number, number>();

  of(clip: number): number {
    return this.#groups.get(clip) ?? clip;
  }

  /** @returns whether they were in different groups until now */
  join(a: number, b: number): boolean {
    const [from, to] = [this.of(a), this.of(b)];
    if (from === to) return false;
    for (const [clip, group] of this.#groups) if (group === from) this.#groups.set(clip, to);
    this.#groups.set(from, to);
    return true;
  }
}

/** The clips that a reading connects. */
export function partsOf({ resistances }: Pick<BenchRecord, 'resistances'>): Groups {
  const parts = new Groups();
  for (const { a, b, ohm } of resistances) if (ohm !== null && ohm < LEAK_ohm) parts.join(a, b);
  return parts;
}

/**
 * The channels to give to the module. A voltage between two parts that nothing connects means nothing by itself; but where all channels
 * have one clip in common, two of them differ by what lies along wire (Kirchhoff's voltage law). Of more than the module takes, those that
 * are no sum of others.
 * @param parts - of `partsOf`
 */
export function heardChannels(channels: readonly Channel[], parts: Groups): readonly Channel[] {
  const along = channels.filter(({ plus, minus }) => parts.of(plus) === parts.of(minus));
  const more = along.length < channels.length ? differences(channels, parts) : [];
  if (more.length > 0) return withoutSums([...along, ...more]);
  return channels.length <= MAX_CHANNELS ? channels : withoutSums(channels);
}

function withoutSums(channels: readonly Channel[]): readonly Channel[] {
  const spanned = new Groups();
  return channels.filter(({ plus, minus }) => spanned.join(plus, minus));
}

/** What channels that have one clip in common say of the other clips, along wire; nothing where they have none. */
function differences(channels: readonly Channel[], parts: Groups): readonly Channel[] {
  const [{ plus: high, minus: low }] = channels as readonly [Channel];
  const foot = [high, low].find((clip) => channels.every(({ plus, minus }) => plus === clip || minus === clip));
  if (foot === undefined) return [];
  const otherOf = ({ plus, minus }: Channel): number => (plus === foot ? minus : plus);
  return channels.flatMap((channel) => {
    const part = parts.of(otherOf(channel));
    if (part === parts.of(foot)) return [];
    const first = channels.find((other) => parts.of(otherOf(other)) === part)!;
    return otherOf(first) === otherOf(channel) ? [] : [difference(channel, first, foot)];
  });
}

/** One channel less another, both against the same clip; what is over range in one is so in both. */
function difference(one: Channel, other: Channel, foot: number): Channel {
  const [plus, sign] = one.minus === foot ? [one.plus, 1] : [one.minus, -1];
  const [minus, otherSign] = other.minus === foot ? [other.plus, 1] : [other.minus, -1];
  const volts_V = one.volts_V.map((volts, index) => {
    const against = other.volts_V[index] ?? null;
    return volts === null || against === null ? null : sign * volts - otherSign * against;
  });
  return { plus, minus, volts_V };
}
