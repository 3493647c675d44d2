/** What can be done to one fitted pickup without touching the harness. */
import { printable } from '../text/printable.ts';
import { leadInWords, listInWords } from '../wiremap/lead-words.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import { eachNode, type Fitted, type Harness, type Way, type WayKind } from './harness.ts';
import { NodeNames } from './node-names.ts';
import { fittingOf, partWays, wayInWords, type FittingWay, type Placement } from './ways.ts';

/** What a person may be asked to do beyond exchanging leads. */
export const ALLOWANCES = ['way', 'magnet'] as const;
export type Allowance = (typeof ALLOWANCES)[number];

export type Change = 'exchange' | 'order' | WayKind | 'flip magnet';

/** One piece of work: what is to be done, from how the pickup stands to how it then is. */
export interface Work {
  readonly slot: string;
  readonly change: Change;
  readonly text: string;
}

/** A magnet is turned with the pickup taken apart: worth five changes of leads. */
export const MAGNET_effort = 5;

/** What steps count against others: a change of leads one. */
export function effortOfAll(work: readonly Work[]): number {
  return work.reduce((sum, { change }) => sum + (change === 'flip magnet' ? MAGNET_effort : 1), 0);
}

/** One way of having a pickup in its slot. */
export interface PickupOption {
  readonly placement: Placement;
  /** As it would stand in the file. */
  readonly fitted: Fitted;
  readonly way: Way | null;
  readonly work: readonly Work[];
}

/** What it takes to have a pickup in one way that stood, or was to stand, in another. */
export function effortBetween(pickup: FittedPickup, from: PickupOption, to: PickupOption): number {
  if (from === to) return 0;
  if (from.way !== null && to.way !== null) return effortOfAll(workTo({ ...pickup, way: from.way }, to.way));
  return Math.max(...[from, to].map(({ work }) => effortOfAll(work)));
}

/** A pickup as it stands, then each of the ways that may replace it. */
export function pickupOptions(harness: Harness, pickup: FittedPickup, allowed: ReadonlySet<Allowance>): PickupOption[] {
  const { fitted, placement, way, fitting } = pickup;
  const stands: PickupOption = { placement, fitted, way, work: [] };
  const kind = way?.kind ?? fitting[0]?.way.kind;
  if (areLeadsLeft(harness, pickup)) return [stands];
  const others = fitting.filter((one) =>
    !isInnerAlone(pickup, one.way) && (allowed.has('way') || one.way.kind === kind) && (way === null || !isSameWay(one.way, way)));
  return [stands, ...others.map((one) => optionOf(pickup, one))];
}

/** Beyond what may be allowed, only to say what would help: also ways of some of the coils, and leads that stay exchanged where they are. */
export function widerOptions(harness: Harness, pickup: FittedPickup): PickupOption[] {
  const options = pickupOptions(harness, pickup, new Set(ALLOWANCES));
  const { slot, leads, way } = pickup;
  if (areLeadsLeft(harness, pickup)) return [...options, ...exchangedInPlace(harness, pickup)];
  const parts = fittingOf(slot, leads, partWays(leads), new NodeNames(harness).isSame)
    .filter((one) => way === null || !isSameWay(one.way, way));
  return [...options, ...parts.map((one) => optionOf(pickup, one))];
}

function optionOf(pickup: FittedPickup, { way, placement }: FittingWay): PickupOption {
  return { placement, fitted: refitted(pickup.fitted, way), way, work: workTo(pickup, way) };
}

/** Nodes of the harness, not the slot's own, that leads of a pickup are on. */
export function foreignNodes(harness: Harness, { slot, fitted }: FittedPickup): string[] {
  const names = new NodeNames(harness);
  const own = [slot.hot, slot.link, slot.ground, slot.frame];
  const foreign = new Set<string>();
  eachNode(harness, (node, where, of) => {
    if (where === 'lead' && of === fitted.slot && !own.includes(node) && !names.isPrivate(node, fitted.slot)) foreign.add(node);
  });
  return [...foreign];
}

/** Whether a pickup's leads make no way and have to stay where they are. */
export function areLeadsLeft(harness: Harness, pickup: FittedPickup): boolean {
  return pickup.way === null && foreignNodes(harness, pickup).length > 0;
}

/** What was left as it is where a cure was looked for, each a sentence after a blank; nothing where there are none. */
export function leftInWords(pickups: readonly { readonly slot: string; readonly nodes: readonly string[] }[]): string {
  return pickups.map(({ slot, nodes }) =>
    ` The leads of ${slot} were left where they are, only the two of a coil exchanged with each other, since some are on ` +
    `${listInWords(nodes.map((node) => printable(node)))} and not on the slot's own nodes: look at these first.`).join('');
}

/** Leads that stay on their nodes, the two of one coil exchanged with one another, or of several: none for a pickup whose leads may be moved. */
export function exchangedInPlace(harness: Harness, pickup: FittedPickup): PickupOption[] {
  if (!areLeadsLeft(harness, pickup)) return [];
  const { fitted, leads, placement, colours } = pickup;
  const isAlone = (clip: number): boolean =>
    leads.coils.filter(({ minus, plus }) => minus === clip || plus === clip).length === 1 && !leads.chassis.includes(clip) &&
    leads.joined.every((group) => !group.includes(clip));
  const coils = leads.coils.filter(({ minus, plus }) => isAlone(minus) && isAlone(plus));
  return Array.from({ length: (1 << coils.length) - 1 }, (_, mask) => coils.filter((__, at) => ((mask + 1) >> at) & 1)).map((some) => {
    const other = new Map(some.flatMap(({ minus, plus }): [number, number][] => [[minus, plus], [plus, minus]]));
    const put = new Map(leads.clips.map((clip) => [clip, placement.get(other.get(clip) ?? clip) ?? []]));
    const each = some.map(({ name, minus, plus }) => `of ${name} with each other (${leadInWords(minus, colours)} and ${leadInWords(plus, colours)})`);
    return {
      placement: put,
      fitted: { ...fitted, leads: Object.fromEntries([...put].map(([clip, nodes]) => [clip, nodes[0] ?? null])) },
      way: null,
      work: [stepOf(pickup, 'exchange', `exchange, where they are, the two leads ${each.join(', and the two ')}`)],
    };
  });
}

/** No steel reaches an inner stacked coil: by itself it is no use. */
function isInnerAlone({ coils }: FittedPickup, { kind, coils: [name] }: Way): boolean {
  return kind === 'alone' && coils.some((coil) => coil.name === name && coil.inner === true);
}

/** Coils in parallel have no order. */
function isSameWay(a: Way, b: Way): boolean {
  return a.kind === b.kind && (a.turned ?? false) === (b.turned ?? false) && isSameOrder(a, b);
}

function isSameOrder(a: Way, b: Way): boolean {
  const [one, other] = a.kind === 'parallel' ? [[...a.coils].sort(), [...b.coils].sort()] : [a.coils, b.coils];
  return one.length === other.length && one.every((name, at) => name === other[at]);
}

function refitted({ leads: _, ...rest }: Fitted, { kind, coils, turned }: Way): Fitted {
  return { ...rest, way: { kind, coils, ...(turned === true ? { turned } : {}) } };
}

/** What has to be done to have a pickup in another way, in this order: the second step turns what the first describes. */
function workTo(pickup: FittedPickup, to: Way): Work[] {
  const { way } = pickup;
  const say = (change: Change, text: string): Work => stepOf(pickup, change, text);
  // Leads that make no way are all taken off: one piece of work.
  if (way === null) return [say(to.kind, `wire it anew, ${wayInWords(to, pickup.coils)}${leftOut(pickup, to)}`)];
  const isTurned = (way.turned ?? false) !== (to.turned ?? false);
  // As it is before it is turned.
  const whole = `${wayInWords({ ...to, turned: way.turned ?? false }, pickup.coils)}${leftOut(pickup, to)}`;
  const anew = way.coils.length === to.coils.length ? 'the coils in another order, ' : '';
  const work: Work[] = [];
  if (way.kind !== to.kind) work.push(say(to.kind, `wire ${whole}`));
  else if (!isSameOrder(way, to)) {
    if (to.kind === 'alone') work.push(say('alone', `use ${to.coils[0]} in place of ${way.coils[0]}`));
    else work.push(to.kind === 'parallel' ? say('parallel', `wire ${whole}`) : say('order', `wire ${anew}${whole}`));
  }
  if (isTurned) work.push(say('exchange', `exchange its ${hotAndGround(to)}`));
  return work;
}

/** One step at a pickup's leads. */
function stepOf({ slot: { slot }, leads }: FittedPickup, change: Change, text: string): Work {
  // Metal that no clip sat on may be tied to the end that becomes hot.
  const unchecked = leads.chassis.length > 0 ? '' : ' (make sure first that no metal of it is tied to the end that becomes hot)';
  return { slot, change, text: `${slot}: ${text}${unchecked}` };
}

/** Coils that a way of several leaves out. */
function leftOut({ leads }: FittedPickup, { kind, coils }: Way): string {
  const out = kind === 'alone' ? [] : leads.coils.map(({ name }) => name).filter((name) => !coils.includes(name));
  return out.length === 0 ? '' : `, ${listInWords(out)} left out`;
}

/** A pickup's magnet turned over, all of its poles with it. */
export function magnetWork(slot: string): Work {
  return {
    slot,
    change: 'flip magnet',
    text: `${slot}: turn its magnet over; its plus and minus then exchange, and its wire map is to be taken anew`,
  };
}

function hotAndGround({ kind, coils }: Way): string {
  return kind === 'alone' || coils.length < 2 ? 'two ends, hot for ground' : 'hot and ground ends';
}
