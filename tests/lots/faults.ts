/** Faults that an invented pickup may have, placed where something can be measured of them. */
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { Pickup, PickupFault } from '../../host/src/pickup/pickup.ts';
import { round } from './round.ts';

/** Kinds that a pickup file lists under `faults`; leaks are bridges of half a megohm or more. */
type ListedKind = 'bridge' | 'leak' | 'open' | 'shorted_turns' | 'intermittent' | 'live';

/** A fault's kind; a torn lead has come off inside, which its node says. */
export type FaultKind = ListedKind | 'torn lead';

const KINDS: readonly ListedKind[] = [
  'bridge',
  'bridge',
  'leak',
  'leak',
  'open',
  'shorted_turns',
  'shorted_turns',
  'intermittent',
  'live',
];

/** What must be known of a pickup that a fault is drawn for. */
export interface Draft extends Pick<Pickup, 'coils' | 'leads'> {
  /** A chassis lead that is not tied to any coil. */
  readonly freeChassis: boolean;
}

/** Draws one fault that this pickup can have, or null when what was drawn has no place here. */
export function inventFault(
  chance: RandomStream,
  draft: Draft,
): { kind: ListedKind; fault: PickupFault } | null {
  const kind = KINDS[chance.below(KINDS.length)]!;
  const coil = draft.coils[chance.below(draft.coils.length)]!;
  switch (kind) {
    case 'bridge':
    case 'leak': {
      const ends = bridgeEnds(chance, draft);
      if (ends === null) return null;
      const ohm = round(
        kind === 'leak'
          ? chance.betweenLog(5e5, 1e8)
          : chance.betweenLog(0.1, chance.unit() < 0.8 ? 50 : 2e5),
      );
      return { kind, fault: { kind: 'bridge', a: ends[0], b: ends[1], ohm } };
    }
    case 'open':
      return { kind, fault: { kind, coil: coil.id } };
    case 'shorted_turns':
      return {
        kind,
        fault: { kind, coil: coil.id, fraction: round(chance.betweenLog(0.003, 0.15)) },
      };
    case 'intermittent': {
      const from_s = round(chance.between(0.3, 4));
      const clip = draft.leads[chance.below(draft.leads.length)]!.clip;
      return { kind, fault: { kind, clip, from_s, to_s: round(from_s + chance.between(0.2, 2)) } };
    }
    case 'live': {
      const node =
        chance.unit() < 0.8 || !draft.freeChassis ? [coil.from, coil.to] : [coil.from, 'chassis'];
      const volt_V = round(chance.betweenLog(0.15, 1.2) * (chance.unit() < 0.5 ? 1 : -1));
      const clipped = new Set(draft.leads.map((lead) => lead.node));
      if (!node.every((name) => clipped.has(name))) return null;
      return {
        kind,
        fault: {
          kind,
          between: [node[0]!, node[1]!],
          volt_V,
          source_ohm: round(chance.betweenLog(100, 10000)),
        },
      };
    }
  }
}

/** A point of a winding and the frame, or points of two windings that are otherwise apart. */
function bridgeEnds(chance: RandomStream, draft: Draft): [string, string] | null {
  const first = draft.coils[chance.below(draft.coils.length)]!;
  const point = (id: string): string => `${id}@${round(chance.between(0.06, 0.94))}`;
  const a = chance.unit() < 0.75 ? point(first.id) : chance.unit() < 0.5 ? first.from : first.to;
  if (draft.freeChassis && (draft.coils.length === 1 || chance.unit() < 0.6)) return [a, 'chassis'];
  const near = connectedTo(first.from, draft);
  const apart = draft.coils.find((coil) => !near.has(coil.from));
  if (apart === undefined) return null;
  return [a, chance.unit() < 0.75 ? point(apart.id) : apart.to];
}

/** Nodes that windings connect with one of them. */
function connectedTo(start: string, draft: Draft): Set<string> {
  const reached = new Set([start]);
  for (let pass = 0; pass < draft.coils.length; pass++) {
    for (const { from, to } of draft.coils) {
      if (reached.has(from) || reached.has(to)) reached.add(from).add(to);
    }
  }
  return reached;
}
