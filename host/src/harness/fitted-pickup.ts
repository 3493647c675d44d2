/** Pickups in their slots: what is checked against their wire maps, and what a circuit needs to know of them. */
import { describe, FieldError, pathText } from '../files/field-walk.ts';
import { filledMap, type WireMapFile } from '../files/wiremap-file.ts';
import { wireable } from '../wiremap/stacked.ts';
import type { WireMapCoil, WireMapPair } from '../wiremap/wiremap.ts';
import type { CoilBank } from './coil-bank.ts';
import type { Fitted, Harness, Slot, Way } from './harness.ts';
import { NodeNames } from './node-names.ts';
import {
  allWays, chassisGroups, endNodes, fittingOf, groupOf, partWays, placementOfWay, type FittingWay, type Leads, type Placement,
} from './ways.ts';

/** Capacitance across a coil of which nothing is known, farads. */
const CAPACITANCE_F = 1e-10;

/** Standard uncertainties by which a coupling may lie above what is possible. */
const SURE_u = 3;
/** What the inductances beside it, whose uncertainty no map tells, may be off: far below the thousand of a slip in the unit. */
const INDUCTANCE_SLACK = 1.1;

/** A wire map with the colours of its leads, where they are known. */
export interface MapWithColours {
  readonly map: WireMapFile;
  readonly colours: ReadonlyMap<number, string | undefined>;
}

/** A pickup in its slot, wired as the file says. */
export interface FittedPickup {
  readonly slot: Slot;
  readonly fitted: Fitted;
  readonly map: WireMapFile;
  readonly colours: ReadonlyMap<number, string | undefined>;
  readonly leads: Leads;
  /** The wire map's coils that are not broken, in the order of `leads.coils` and of the bank; an inner stacked one with the ends by which it
   * takes hum off the coil above it, as the map's own advice wires it. */
  readonly coils: readonly WireMapCoil[];
  /** What is known of two of them. */
  readonly pairs: readonly WireMapPair[];
  readonly bank: CoilBank;
  readonly placement: Placement;
  /** The way that the leads make; null when they make none. */
  readonly way: Way | null;
  /** Ways that fit, in their order. */
  readonly fitting: readonly FittingWay[];
}

/** Checks what is fitted against the wire maps and wires it.
 * @param maps - one for each entry of `harness.fitted`
 * @throws FieldError naming the field, what stood there and what was expected
 */
export function fitPickups(harness: Harness, maps: readonly MapWithColours[]): FittedPickup[] {
  const names = new NodeNames(harness);
  return harness.fitted.map((fitted, at) => {
    const slot = harness.slots.find(({ slot }) => slot === fitted.slot)!;
    const { map, colours } = maps[at]!;
    return new Fitting(['fitted', at], slot, fitted, map, names).pickup(colours);
  });
}

class Fitting {
  private readonly path: readonly (string | number)[];
  private readonly slot: Slot;
  private readonly fitted: Fitted;
  private readonly map: WireMapFile;
  private readonly nodes: NodeNames;
  private readonly coils: readonly WireMapCoil[];
  private readonly pairs: readonly WireMapPair[];
  private readonly leads: Leads;

  constructor(path: readonly (string | number)[], slot: Slot, fitted: Fitted, map: WireMapFile, nodes: NodeNames) {
    this.path = path;
    this.slot = slot;
    this.fitted = fitted;
    this.map = map;
    this.nodes = nodes;
    const ready = wireable(filledMap(map)).map;
    this.pairs = ready.pairs;
    this.coils = ready.coils.filter(({ ohm, ends }) => ohm !== null && ends !== null);
    this.leads = {
      coils: this.coils.map((coil) => {
        const [first, second] = coil.ends as readonly [number, number];
        return { name: coil.name, minus: coil.minus ?? first, plus: coil.plus ?? second };
      }),
      chassis: map.chassis,
      joined: map.joined,
      clips: clipsOf(map),
    };
  }

  pickup(colours: ReadonlyMap<number, string | undefined>): FittedPickup {
    const { slot, fitted, map, leads, coils, pairs } = this;
    const fitting = fittingOf(slot, leads, allWays(leads), this.nodes.isSame);
    const { placement, way } = this.asItStands(fitting);
    return { slot, fitted, map, colours, leads, coils, pairs, bank: this.bank(), placement, way, fitting };
  }

  private asItStands(fitting: FittedPickup['fitting']): { placement: Placement; way: Way | null } {
    const { fitted, slot, leads } = this;
    if (fitted.leads !== undefined) {
      const placement = this.written(fitted.leads);
      return { placement, way: wayOfLeads(slot, leads, placement, this.nodes) };
    }
    if (fitted.way !== undefined) return { placement: this.named(fitted.way), way: fitted.way };
    if (fitting[0] === undefined) {
      throw new FieldError(
        pathText(this.path),
        'neither "leads" nor "way", and no way of wiring this pickup fits',
        'leads, written out clip by clip',
      );
    }
    return fitting[0];
  }

  private written(written: Readonly<Record<string, string | null>>): Placement {
    const { clips } = this.leads;
    for (const [clip, node] of Object.entries(written)) {
      if (node !== null && !clips.includes(Number(clip))) {
        throw new FieldError(
          pathText([...this.path, 'leads', clip]),
          `the wire map names no clip ${clip}`,
          clips.length === 0 ? 'no lead, since it names none' : `one of ${clips.join(', ')}`,
        );
      }
    }
    return new Map(clips.map((clip) => {
      const node = written[String(clip)] ?? null;
      return [clip, node === null ? [] : [node]];
    }));
  }

  private named(way: Way): Placement {
    const names = this.coils.map(({ name }) => name);
    way.coils.forEach((name, at) => {
      if (names.includes(name)) return;
      const isOpen = this.map.coils.some((coil) => coil.name === name);
      throw new FieldError(
        pathText([...this.path, 'way', 'coils', at]),
        isOpen ? `the winding of ${describe(name)} is broken` : `${describe(name)} is not a coil of this wire map`,
        names.length === 0 ? 'no coil, since none of it can be wired' : `one of ${names.join(', ')}`,
      );
    });
    const found = endNodes(this.slot, this.leads, way, this.nodes.isSame);
    if ('ends' in found) return placementOfWay(this.slot, this.leads, found.ends);
    throw new FieldError(
      pathText([...this.path, 'way']),
      `${way.coils.join(', ')} ${way.kind === 'alone' ? 'alone' : `in ${way.kind}`} would need clip ${found.clip} at two nodes`,
      'a way that this pickup allows',
    );
  }

  private bank(): CoilBank {
    const { capacitance_F = CAPACITANCE_F, loss_ohm = Infinity } = this.fitted.assume ?? {};
    const mutual_H = this.coils.map(() => this.coils.map(() => 0));
    for (const { a, b, mutual_H: henry_H, u_H } of this.pairs) {
      const [i, j] = [a, b].map((name) => this.coils.findIndex((coil) => coil.name === name)) as [number, number];
      if (henry_H === undefined || i < 0 || j < 0) continue;
      this.expectPossible(this.coils[i]!, this.coils[j]!, henry_H, u_H ?? 0);
      mutual_H[i]![j] = mutual_H[j]![i] = henry_H;
    }
    const coils = this.coils.map((coil) => ({
      ohm: coilOhm(coil),
      henry_H: coil.inductance_H ?? 0,
      farad_F: capacitance_F,
      loss_ohm,
    }));
    return { coils, mutual_H };
  }

  /** Two coils that gave back more energy than went in: most likely a coupling in millihenries beside inductances in henries. */
  private expectPossible(a: WireMapCoil, b: WireMapCoil, henry_H: number, u_H: number): void {
    if (a.inductance_H === undefined || b.inductance_H === undefined) return;
    const most_H = Math.sqrt(a.inductance_H * b.inductance_H);
    if (Math.abs(henry_H) - SURE_u * u_H <= most_H * INDUCTANCE_SLACK) return;
    throw new FieldError(
      pathText([...this.path, this.fitted.record === undefined ? 'map' : 'record']),
      `mutual_H of ${describe(a.name)} and ${describe(b.name)} is ${henry_H}, which their inductances (${a.inductance_H} and ${b.inductance_H}) do not allow`,
      `henries, at most ${Number(most_H.toPrecision(3))} either way`,
    );
  }
}

/** A coil's resistance in a circuit, ohms: at 20 degrees Celsius where the temperature is known. */
export function coilOhm(coil: WireMapCoil): number {
  return coil.ohm_20C ?? (coil.ohm as number);
}

/** Every clip that a wire map names, in rising order. */
function clipsOf(map: WireMapFile): number[] {
  const clips = new Set([
    ...map.coils.flatMap(({ ends, minus, plus }) => [...(ends ?? []), minus, plus].filter((clip) => clip !== null)),
    ...map.chassis,
    ...map.joined.flat(),
    ...(map.isolated ?? []),
    ...(map.findings ?? []).flatMap((finding) => finding.clips ?? []),
    ...(map.clips ?? []).map(({ clip }) => clip),
  ]);
  return [...clips].sort((a, b) => a - b);
}

/** The way that leads make: the one that puts the ends of the coils on the same nodes. */
function wayOfLeads(slot: Slot, leads: Leads, placement: Placement, nodes: NodeNames): Way | null {
  const standing = signature(slot, leads, nodes, (group) =>
    leads.clips.filter((clip) => groupOf(leads, clip) === group).flatMap((clip) => placement.get(clip) ?? []),
  );
  for (const way of [...allWays(leads), ...partWays(leads)]) {
    const found = endNodes(slot, leads, way, nodes.isSame);
    if (!('ends' in found)) continue;
    const { ends } = found;
    const asWay = signature(slot, leads, nodes, (group) => (ends.has(group) ? [ends.get(group) as string] : []));
    if (asWay === standing) return way;
  }
  return null;
}

/**
 * What the ends of the coils are put on, comparable: nodes of the harness by name; for ends that are only joined to one
 * another, the first of them. An end on the frame counts as on the slot's frame, where a way would put its lead as well.
 */
function signature(slot: Slot, leads: Leads, nodes: NodeNames, nodesOf: (group: number) => readonly string[]): string {
  const groups = [...new Set(leads.coils.flatMap(({ minus, plus }) => [groupOf(leads, minus), groupOf(leads, plus)]))];
  const chassis = chassisGroups(leads);
  const all = groups.map((group) => [...nodesOf(group), ...(chassis.has(group) ? [slot.frame] : [])]);
  const isPrivate = (node: string): boolean => nodes.isPrivate(node, slot.slot);
  return groups
    .map((group, at) => {
      const joined = reached(all, at, isPrivate);
      const named = new Set(joined.flatMap((one) => all[one]!.filter((node) => !isPrivate(node)).map(nodes.root)));
      return `${group}:${named.size > 0 ? [...named].sort().join(' + ') : `end ${groups[Math.min(...joined)]}`}`;
    })
    .join('; ');
}

/** Indices of what is joined to one entry by nodes that nothing else names, itself among them. */
function reached(all: readonly (readonly string[])[], start: number, isPrivate: (node: string) => boolean): number[] {
  const seen = new Set([start]);
  for (const at of seen) {
    all.forEach((nodes, other) => {
      if (nodes.some((node) => isPrivate(node) && all[at]!.includes(node))) seen.add(other);
    });
  }
  return [...seen];
}
