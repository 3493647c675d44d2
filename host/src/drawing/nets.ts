/** Which pins of a picture are wired together, and the numbers of their joints in the order of the soldering list. */
import type { LoadedHarness } from '../harness/load-harness.ts';
import { NodeNames } from '../harness/node-names.ts';
import { solderingList, type SolderJoint } from '../harness/soldering.ts';
import { lugName, type PartSymbol } from './part-symbols.ts';

/** A joint between lugs of parts: one number for all of them. */
export interface LugJoint {
  readonly number: number;
  /** `gnd: volume, end at zero; output, ground; leads 1, 5`. */
  readonly text: string;
}

/** The nets of a harness as it stands. */
export class Nets {
  readonly leads: readonly SolderJoint[];
  readonly lugs: readonly LugJoint[];
  private readonly names: NodeNames;
  private readonly numbers = new Map<string, number>();

  constructor(loaded: LoadedHarness, parts: readonly PartSymbol[]) {
    this.names = new NodeNames(loaded.harness);
    this.leads = solderingList(loaded);
    // A lead on two nodes makes one net of them.
    for (const { nodes } of this.leads) this.names.join(nodes);
    this.lugs = this.lugJoints(parts);
  }

  /** The net of a node, the same for all nodes that are wired together. */
  readonly of = (node: string): string => this.names.root(node);

  /** The net of a lead; an insulated one has its own. */
  ofLead({ nodes, number }: SolderJoint): string {
    return nodes[0] === undefined ? `insulated lead ${number}` : this.of(nodes[0]);
  }

  /** The number of the joint at a node that some lug is on. */
  readonly numberOf = (node: string): number => this.numbers.get(this.of(node)) as number;

  private lugJoints(parts: readonly PartSymbol[]): LugJoint[] {
    const lugs = new Map<string, { readonly node: string; readonly words: string[] }>();
    for (const { title, kind, lugs: own } of parts) {
      own.forEach(({ node, words }, index) => {
        if (node === null) return;
        const net = this.of(node);
        if (!lugs.has(net)) lugs.set(net, { node, words: [] });
        const which = kind === 'lugs' ? `lug ${lugName(index)}` : kind === 'pot' || kind === 'jack' ? words : `end ${index + 1}`;
        lugs.get(net)!.words.push(`${title}, ${which}`);
      });
    }
    let number = this.leads.length;
    return [...lugs].map(([net, { node, words }]) => {
      this.numbers.set(net, ++number);
      const on = this.leads.filter((lead) => this.ofLead(lead) === net).map((lead) => lead.number);
      const leads = on.length === 0 ? [] : [`${on.length === 1 ? 'lead' : 'leads'} ${on.join(', ')}`];
      const all = [...words, ...leads];
      return { number, text: `${node}: ${all.join('; ')}${all.length === 1 ? ' (nothing else is on it)' : ''}` };
    });
  }
}
