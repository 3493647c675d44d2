/** Where every lead of every pickup goes: the soldering list, numbered through. */
import { printable } from '../text/printable.ts';
import { leadInWords } from '../wiremap/lead-words.ts';
import { isTap } from '../wiremap/sections.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import type { LoadedHarness } from './load-harness.ts';
import { NodeNames } from './node-names.ts';
import { groupOf } from './ways.ts';

/** One lead and where it goes. */
export interface SolderJoint {
  /** From 1, through all pickups. */
  readonly number: number;
  /** Index among the pickups. */
  readonly pickup: number;
  readonly clip: number;
  /** Nodes of the harness that it is put on, then names that only join leads of its pickup; none: it is insulated. */
  readonly nodes: readonly string[];
  /** The lead, as a person finds it. */
  readonly lead: string;
  /** What to do with it. */
  readonly text: string;
}

/** The leads in the order in which they are soldered. */
export function solderingList({ harness, pickups }: LoadedHarness): SolderJoint[] {
  const names = new NodeNames(harness);
  let number = 0;
  return pickups.flatMap((pickup, at) =>
    pickup.leads.clips.map((clip) => ({
      number: ++number,
      pickup: at,
      clip,
      nodes: pickup.placement.get(clip) ?? [],
      lead: leadInWords(clip, pickup.colours),
      text: placeInWords(pickup, clip, names),
    })));
}

/** A frame that is left off ground is no link and no spare end: whoever tapes it off leaves metal that can be touched without a way to ground. */
const FRAME_free = 'it is insulated, so that the frame hangs free: better put it to ground';

/** Where a lead goes: nodes of the harness, other leads, or nowhere. */
function placeInWords({ slot, leads, coils, pairs, placement, colours }: FittedPickup, clip: number, names: NodeNames): string {
  const isPrivate = (node: string): boolean => names.isPrivate(node, slot.slot) || names.isUnusedLink(node, slot.slot);
  const nodes = placement.get(clip) ?? [];
  if (nodes.length === 0) return byItself();
  return nodes.map((node) => (isPrivate(node) ? joinedTo(node) : nodeInWords(node))).join(', and ');

  function joinedTo(node: string): string {
    const others = leads.clips.filter((other) => other !== clip && (placement.get(other) ?? []).includes(node));
    if (others.length === 0) return byItself();
    return `join it to ${others.map((other) => leadInWords(other, colours)).join(' and ')}, and insulate the joint`;
  }

  /** A lead that is joined to nothing outside its pickup. */
  function byItself(): string {
    const inside = leads.clips.filter((other) =>
      other !== clip && groupOf(leads, other) === groupOf(leads, clip) && (placement.get(other) ?? []).length > 0);
    if (inside.length > 0) return `insulate it (inside, it is joined to clip ${inside.join(', ')})`;
    if (leads.chassis.includes(clip)) return FRAME_free;
    if (nodes.length === 0) return 'insulate it, each such lead by itself';
    if (isTap({ coils, pairs, joined: leads.joined }, clip)) return 'insulate it, it is the tap';
    const here = leads.coils.filter(({ minus, plus }) => [minus, plus].some((end) => groupOf(leads, end) === groupOf(leads, clip)));
    return `insulate it, it is ${here.length > 1 ? 'the link between two coils' : here.length === 1 ? 'a free end' : 'connected to nothing'}`;
  }

  function nodeInWords(node: string): string {
    const roles = (['hot', 'link', 'ground', 'frame'] as const).filter((role) => slot[role] === node);
    const role = roles[0] === 'ground' && roles.includes('frame') ? 'ground' : roles[0];
    return role === undefined || role === node ? `to ${printable(node)}` : `to ${role} (${printable(node)})`;
  }
}
