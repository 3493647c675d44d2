/** Where each lead of a pickup goes: as leads that are written down, or as a way that is named. */
import { listInWords } from '../wiremap/lead-words.ts';
import type { Slot, Way } from './harness.ts';

/** A coil that can be wired: one of the wire map's that is not broken. */
export interface WayCoil {
  readonly name: string;
  /** Clips; where the polarity is not known, the second of the coil's ends stands for plus. */
  readonly minus: number;
  readonly plus: number;
}

/** What the ways of a pickup hang on. */
export interface Leads {
  readonly coils: readonly WayCoil[];
  readonly chassis: readonly number[];
  /** Groups of clips that are one node inside the pickup. */
  readonly joined: readonly (readonly number[])[];
  /** Every clip that the wire map names. */
  readonly clips: readonly number[];
}

/** Nodes of each clip: none for a lead that is insulated, several where it ties them together. */
export type Placement = ReadonlyMap<number, readonly string[]>;

/** Begins the name of a node that a way makes for itself; no file may hold it. */
const OWN = '\u0000';

/** A node of a slot's own, between two coils in series. */
export function ownNode(slot: string, number: number): string {
  return `${OWN}${slot} ${number}`;
}

/** Whether a node was made by a way. */
export function isOwnNode(node: string): boolean {
  return node.startsWith(OWN);
}

/** Clips that are one node, named by the first of them. */
export function groupOf({ joined }: Leads, clip: number): number {
  let root = clip;
  // Groups may overlap; the smallest clip that can be reached stands for all.
  for (let before = -1; before !== root; ) {
    before = root;
    for (const group of joined) if (group.includes(root)) root = Math.min(...group, root);
  }
  return root;
}

/** The groups that have a lead of frame, cover or shield. */
export function chassisGroups(leads: Leads): Set<number> {
  return new Set(leads.chassis.map((clip) => groupOf(leads, clip)));
}

/** What a way asks for: a node for each coil's end, as (clip, node). */
function wanted(slot: Slot, coils: readonly WayCoil[], { kind, turned = false }: Way): [number, string][] {
  const [low, high] = turned ? [slot.hot, slot.ground] : [slot.ground, slot.hot];
  if (kind !== 'series') return coils.flatMap(({ minus, plus }): [number, string][] => [[minus, low], [plus, high]]);
  const junction = (at: number): string => (coils.length === 2 ? slot.link : undefined) ?? ownNode(slot.slot, at);
  return coils.flatMap(({ minus, plus }, at): [number, string][] => [
    [minus, at === 0 ? low : junction(at)],
    [plus, at === coils.length - 1 ? high : junction(at + 1)],
  ]);
}

/** The nodes of the coils' ends by group of clips, or the clip that would have to be at two of them. */
export function endNodes(
  slot: Slot,
  leads: Leads,
  way: Way,
  isSame: (a: string, b: string) => boolean,
): { readonly ends: ReadonlyMap<number, string> } | { readonly clip: number; readonly nodes: readonly [string, string] } {
  const coils = way.coils.map((name) => leads.coils.find((coil) => coil.name === name)!);
  const ends = new Map<number, string>();
  for (const [clip, node] of wanted(slot, coils, way)) {
    const group = groupOf(leads, clip);
    const other = ends.get(group);
    if (other !== undefined && !isSame(other, node)) return { clip, nodes: [other, node] };
    if (other === undefined) ends.set(group, node);
  }
  return { ends };
}

/** Every lead's nodes in a way that is not refused; the frame's leads go to the slot's frame as well. */
export function placementOfWay(slot: Slot, leads: Leads, ends: ReadonlyMap<number, string>): Placement {
  return new Map(
    leads.clips.map((clip) => {
      const end = ends.get(groupOf(leads, clip));
      const nodes = end === undefined ? [] : [end];
      if (leads.chassis.includes(clip) && !nodes.includes(slot.frame)) nodes.push(slot.frame);
      return [clip, nodes];
    }),
  );
}

/** Whether no end on the frame is put anywhere but on ground. */
export function keepsFrame(
  slot: Slot,
  leads: Leads,
  ends: ReadonlyMap<number, string>,
  isSame: (a: string, b: string) => boolean,
): boolean {
  return [...chassisGroups(leads)].every((group) => {
    const node = ends.get(group);
    return node === undefined || isSame(node, slot.ground);
  });
}

/** A way that fits, and where it puts the leads. */
export interface FittingWay {
  readonly way: Way;
  readonly placement: Placement;
}

/** Those of some ways that fit: refused ones are left out, and those that take a frame off ground. */
export function fittingOf(slot: Slot, leads: Leads, ways: readonly Way[], isSame: (a: string, b: string) => boolean): FittingWay[] {
  return ways.flatMap((way) => {
    const found = endNodes(slot, leads, way, isSame);
    return 'ends' in found && keepsFrame(slot, leads, found.ends, isSame)
      ? [{ way, placement: placementOfWay(slot, leads, found.ends) }]
      : [];
  });
}

/** More coils in series than this would need more leads than there are clips. */
const SERIES_MOST = 6;

/** All ways of a pickup in their order, refused ones among them: series in every order, parallel, each alone; the same turned. */
export function allWays({ coils }: Leads): Way[] {
  const names = coils.map(({ name }) => name);
  const straight: Way[] = [];
  if (names.length >= 2 && names.length <= SERIES_MOST)
    for (const order of orders(names)) straight.push({ kind: 'series', coils: order });
  if (names.length >= 2) straight.push({ kind: 'parallel', coils: names });
  for (const name of names) straight.push({ kind: 'alone', coils: [name] });
  return [...straight, ...straight.map((way) => ({ ...way, turned: true }))];
}

/** Ways that a file may name of some of the coils only, besides those of all. */
export function partWays({ coils }: Leads): Way[] {
  const names = coils.map(({ name }) => name);
  const ways: Way[] = [];
  for (let mask = 1; mask < 1 << names.length; mask++) {
    const some = names.filter((_, at) => (mask >> at) & 1);
    if (some.length < 2 || some.length === names.length || some.length > SERIES_MOST) continue;
    for (const turned of [false, true]) {
      for (const order of orders(some)) ways.push({ kind: 'series', coils: order, turned });
      ways.push({ kind: 'parallel', coils: some, turned });
    }
  }
  return ways;
}

/** Every order of some items, the last changing fastest. */
function orders<T>(items: readonly T[]): T[][] {
  if (items.length <= 1) return [[...items]];
  return items.flatMap((item, at) => orders(items.filter((_, other) => other !== at)).map((rest) => [item, ...rest]));
}

/** A coil of which plus may not be known. */
interface NamedPlus {
  readonly name: string;
  readonly plus: number | null;
}

/** What a way that is turned is called; of a coil whose plus is not known nobody can say that its minus is hot. */
export function turnedInWords({ coils, turned = false }: Way, known: readonly NamedPlus[]): string {
  if (!turned) return '';
  return known.some(({ name, plus }) => plus === null && coils.includes(name)) ? ', turned round' : ', minus hot';
}

/** A way in words: `coil 2 and coil 1 in series, coil 2 at ground and coil 1 at hot`. @param known - the pickup's coils */
export function wayInWords(way: Way, known: readonly NamedPlus[]): string {
  const { kind, coils, turned = false } = way;
  const exchanged = turnedInWords(way, known);
  if (kind === 'alone') return `${coils[0]} alone${exchanged}`;
  const all = listInWords(coils);
  if (kind === 'parallel') return `${all} in parallel${exchanged}`;
  const [grounded, hot] = turned ? [coils.at(-1), coils[0]] : [coils[0], coils.at(-1)];
  return `${all} in series, ${grounded} at ground and ${hot} at hot${exchanged}`;
}
