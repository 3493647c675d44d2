/** What can be done to one fitted pickup without touching the harness. */
import type { FittedPickup } from './fitted-pickup.ts';
import { eachNode, type Fitted, type Harness, type Way, type WayKind } from './harness.ts';
import { NodeNames } from './node-names.ts';
import { wayInWords, type Placement } from './ways.ts';

/** What a person may be asked to do beyond exchanging leads. */
export const ALLOWANCES = ['way', 'magnet'] as const;
export type Allowance = (typeof ALLOWANCES)[number];

export type Change = 'exchange' | 'order' | WayKind | 'flip magnet';

/** One piece of work: what is to be done, from how the pickup stands to how it then is. */
export interface Work {
  readonly slot: string;
  readonly change: Change;
  /** Hot and ground are exchanged in the same step. */
  readonly turned?: true;
  readonly text: string;
}

/** A magnet is turned with the pickup taken apart: worth five changes of leads. */
export const MAGNET_effort = 5;

/** What a step counts against others: one for each change in it. */
export function effortOf({ change, turned }: Work): number {
  return change === 'flip magnet' ? MAGNET_effort : turned === true ? 2 : 1;
}

/** One way of having a pickup in its slot. */
export interface PickupOption {
  readonly placement: Placement;
  /** As it would stand in the file. */
  readonly fitted: Fitted;
  readonly way: Way | null;
  readonly work: readonly Work[];
}

/** A pickup as it stands, then each of the ways that may replace it. */
export function pickupOptions(harness: Harness, pickup: FittedPickup, allowed: ReadonlySet<Allowance>): PickupOption[] {
  const { fitted, placement, way, fitting } = pickup;
  const stands: PickupOption = { placement, fitted, way, work: [] };
  const kind = way?.kind ?? fitting[0]?.way.kind;
  if (way === null && !isFree(harness, pickup)) return [stands];
  const others = fitting.filter((one) =>
    (allowed.has('way') || one.way.kind === kind) && (way === null || !isSameWay(one.way, way)));
  return [
    stands,
    ...others.map((one) => ({
      placement: one.placement,
      fitted: refitted(fitted, one.way),
      way: one.way,
      work: [workTo(pickup, one.way)],
    })),
  ];
}

/** Leads that make no way are left alone when one of them is on a node that is not the slot's. */
function isFree(harness: Harness, { slot, fitted }: FittedPickup): boolean {
  const names = new NodeNames(harness);
  const own = [slot.hot, slot.link, slot.ground, slot.frame];
  let free = true;
  eachNode(harness, (node, where, of) => {
    if (where === 'lead' && of === fitted.slot && !own.includes(node) && !names.isPrivate(node, fitted.slot)) free = false;
  });
  return free;
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

/** What has to be done to have a pickup in another way: one step, since a second could only be read as turning what the first describes. */
function workTo({ slot: { slot }, way, leads }: FittedPickup, to: Way): Work {
  // Metal that no clip sat on may be tied to the end that becomes hot.
  const unchecked = leads.chassis.length > 0 ? '' : ' (make sure first that no metal of it is tied to the end that becomes hot)';
  const say = (change: Change, text: string): Work => ({ slot, change, text: `${slot}: ${text}${unchecked}` });
  const whole = wayInWords(to);
  // Leads that make no way are all taken off: one piece of work.
  if (way === null) return say(to.kind, `wire it anew, ${whole}`);
  const isTurned = (way.turned ?? false) !== (to.turned ?? false);
  const isOther = way.kind !== to.kind || !isSameOrder(way, to);
  if (!isOther) return say('exchange', `exchange its ${hotAndGround(to)}`);
  const also = isTurned ? { turned: true as const } : {};
  // What was turned before and no longer is has to be told; the other way round the way itself says it.
  const end = isTurned && to.turned !== true ? ', plus hot' : '';
  if (way.kind !== to.kind || to.kind === 'parallel') return { ...say(to.kind, `wire ${whole}${end}`), ...also };
  if (to.kind === 'series') return { ...say('order', `wire the coils ${isTurned ? 'anew' : 'in another order'}, ${whole}${end}`), ...also };
  return { ...say('alone', `use ${to.coils[0]} in place of ${way.coils[0]}${to.turned === true ? ', minus hot' : end}`), ...also };
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
