/** Which networks of windings may hang on some leads, each with how likely it is before anything was read. */

/** Windings as a forest over nodes. Leads that are joined share a node; a node of no lead is a hidden junction. */
export interface Network {
  /** Windings: pairs of nodes. */
  readonly windings: readonly (readonly [number, number])[];
  /** For each pair of leads (`pairIndex`): the windings between them as a bit mask, `APART` or `JOINED`. */
  readonly paths: Int8Array;
  /** Whether windings meet where no lead is: a contact inside, or a ring. */
  readonly isHidden: boolean;
  /** Prior probability. */
  readonly weight: number;
}

/** In `Network.paths`: nothing conducts between the two, or they are one node. */
export const APART = -1;
export const JOINED = 0;

/** Where the pair of leads i < j, counted from 0, stands among all pairs of up to six leads. */
export function pairIndex(i: number, j: number): number {
  return (j * (j - 1)) / 2 + i;
}

/** All pairs of `count` leads, i < j, from 0. */
export function pairsOf(count: number): readonly (readonly [number, number])[] {
  return Array.from({ length: count }, (_, j) => Array.from({ length: j }, (__, i) => [i, j] as const)).flat();
}

/**
 * How often leads hang together in this way: common practice of the trade, no published source. They order the readings
 * and decide nothing: the map is the solver's.
 */
const USUAL = {
  /** Two leads on one node: two colours, or the bare wire with one. */
  joined: 0.04, joinedBare: 0.25,
  /** A lead by itself: the bare wire of a frame, or a spare or torn one. */
  bareAlone: 1, alone: 0.12,
  /** A coil between two leads, and with the bare wire as one end. */
  coil: 1, coilBare: 0.3,
  /** Windings in a row over three to six leads (a tap, or links that are brought out), all orders together. */
  row: { 3: 0.35, 4: 0.1, 5: 0.02, 6: 0.005 } as Readonly<Record<number, number>>,
  /** The bare wire anywhere in a row or star: a contact inside the winding. */
  bareInside: 0.3,
  /** Three windings that meet at one of four leads, or at no lead (a contact with resistance, or a ring of three). */
  star: 0.05, hiddenStar: 0.03,
  /** For each coil more than there are places to touch, and each place more than there are windings. */
  moreCoils: 0.1, morePlaces: 0.3,
} as const;

/** One way in which a component of some nodes may be wound. */
interface Shape {
  readonly windings: readonly (readonly [number, number])[];
  readonly weight: number;
}

/** Every forest of windings over the leads that a pickup may have; loops and trees that no pickup has are left out.
 * @param bare - which leads are uncoated
 * @param placeCount - coils that can be touched
 * @returns networks whose weights sum to 1
 */
export function possibleNetworks(bare: readonly boolean[], placeCount: number): Network[] {
  const found: Network[] = [];
  for (const groups of joinings(bare.map((_, lead) => [lead]))) {
    const joined = groups.filter((group) => group.length > 1)
      .reduce((weight, group) => weight * (group.some((lead) => bare[lead]) ? USUAL.joinedBare : USUAL.joined) ** (group.length - 1), 1);
    const isBare = groups.map((group) => group.some((lead) => bare[lead]));
    const nodeOf = bare.map((_, lead) => groups.findIndex((group) => group.includes(lead)));
    // The same nodes hang together in many partitions.
    const known = new Map<string, readonly Shape[]>();
    const shapesOf = (part: readonly number[]): readonly Shape[] => {
      const made = known.get(part.join()) ?? shapes(part, isBare, groups.length);
      known.set(part.join(), made);
      return made;
    };
    for (const parts of partitions(groups.map((_, node) => node))) {
      const coils = parts.filter((part) => part.length > 1).length;
      for (const { windings, weight } of combined(parts.map(shapesOf))) {
        const fits = USUAL.moreCoils ** Math.max(0, coils - placeCount) * USUAL.morePlaces ** Math.max(0, placeCount - windings.length);
        const isHidden = windings.some(([a]) => a >= groups.length);
        found.push({ windings, paths: pathsOf(nodeOf, windings), isHidden, weight: joined * weight * fits });
      }
    }
  }
  const total = found.reduce((sum, { weight }) => sum + weight, 0);
  return found.map((network) => ({ ...network, weight: network.weight / total }));
}

/** Groups of leads on one node each: none joined, one pair, two pairs, or three leads. */
function joinings(single: readonly (readonly number[])[]): number[][][] {
  const all = [...partitions(single.map((_, index) => index))];
  return all.filter((groups) => {
    const sizes = groups.map(({ length }) => length).filter((size) => size > 1).sort().join();
    return ['', '2', '2,2', '3'].includes(sizes);
  });
}

/** All partitions of a set into parts, each part in rising order. */
function* partitions(items: readonly number[]): Generator<number[][]> {
  const [first, ...rest] = items;
  if (first === undefined) {
    yield [];
    return;
  }
  for (const parts of partitions(rest)) {
    yield [[first], ...parts];
    for (let at = 0; at < parts.length; at++) yield parts.map((part, index) => (index === at ? [first, ...part] : part));
  }
}

/** Every choice of one shape for each part. */
function combined(parts: readonly (readonly Shape[])[]): readonly Shape[] {
  const [first = [], ...rest] = parts;
  if (rest.length === 0) return first;
  const more = combined(rest);
  return first.flatMap((shape) => more.map((other): Shape =>
    ({ windings: [...shape.windings, ...other.windings], weight: shape.weight * other.weight })));
}

/** @param part - nodes that hang together @param hidden - number above which a hidden node may take its own */
function shapes(part: readonly number[], isBare: readonly boolean[], hidden: number): Shape[] {
  const bare = part.some((node) => isBare[node]);
  if (part.length === 1) return [{ windings: [], weight: bare ? USUAL.bareAlone : USUAL.alone }];
  if (part.length === 2) return [{ windings: [[part[0]!, part[1]!]], weight: bare ? USUAL.coilBare : USUAL.coil }];
  const rows = orders(part);
  const inside = bare ? USUAL.bareInside : 1;
  const found = rows.map((row): Shape => ({
    windings: row.slice(1).map((node, index) => [row[index]!, node] as const),
    weight: (inside * (USUAL.row[part.length] ?? 0)) / rows.length,
  }));
  if (part.length === 4) {
    for (const middle of part)
      found.push({
        windings: part.filter((node) => node !== middle).map((node) => [middle, node] as const), weight: (inside * USUAL.star) / 4,
      });
  }
  // Hidden nodes are told apart by one of the nodes around them.
  if (part.length === 3)
    found.push({ windings: part.map((node) => [hidden + part[0]!, node] as const), weight: inside * USUAL.hiddenStar });
  return found;
}

/** All orders in a row, each with its mirror once. */
function orders(nodes: readonly number[]): number[][] {
  const all = (rest: readonly number[]): number[][] =>
    rest.length === 0 ? [[]] : rest.flatMap((node) => all(rest.filter((other) => other !== node)).map((row) => [node, ...row]));
  return all(nodes).filter((row) => row[0]! < row.at(-1)!);
}

function pathsOf(nodeOf: readonly number[], windings: readonly (readonly [number, number])[]): Int8Array {
  const paths = new Int8Array((nodeOf.length * (nodeOf.length - 1)) / 2);
  // From each lead's node on; a hidden node has the number after the last.
  const masks = new Int8Array(nodeOf.length * 2);
  for (let i = 0; i < nodeOf.length; i++) {
    masks.fill(APART);
    masks[nodeOf[i]!] = JOINED;
    for (let grows = true; grows;) {
      grows = false;
      for (let winding = 0; winding < windings.length; winding++) {
        const [a, b] = windings[winding]!;
        const [near, far] = masks[a] === APART ? [b, a] : [a, b];
        if (masks[near] === APART || masks[far] !== APART) continue;
        masks[far] = masks[near]! | (1 << winding);
        grows = true;
      }
    }
    for (let j = i + 1; j < nodeOf.length; j++) paths[pairIndex(i, j)] = masks[nodeOf[j]!]!;
  }
  return paths;
}
