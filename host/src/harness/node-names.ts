/** What a harness's file says of its nodes by naming them. */
import { eachNode, type Harness } from './harness.ts';
import { isOwnNode } from './ways.ts';

export class NodeNames {
  private readonly parent = new Map<string, string>();
  private readonly mentions = new Map<string, number>();
  private readonly linksOf = new Map<string, string>();
  private readonly leadMentions = new Map<string, number>();
  private readonly linkMentions = new Map<string, number>();
  /** Slots whose leads name a node; null once anything else names it. */
  private readonly leadsOf = new Map<string, string | null>();

  constructor(harness: Harness) {
    for (const nodes of harness.joins ?? []) this.join(nodes);
    for (const { slot, link } of harness.slots) if (link !== undefined) this.linksOf.set(link, slot);
    eachNode(harness, (node, where, slot) => {
      if (where === 'lead' && this.linksOf.get(node) === slot) this.leadMentions.set(node, (this.leadMentions.get(node) ?? 0) + 1);
      this.mentions.set(node, (this.mentions.get(node) ?? 0) + 1);
      if (where === 'link') this.linkMentions.set(node, (this.linkMentions.get(node) ?? 0) + 1);
      const owner = where === 'lead' ? (slot as string) : null;
      if (!this.leadsOf.has(node)) this.leadsOf.set(node, owner);
      else if (this.leadsOf.get(node) !== owner) this.leadsOf.set(node, null);
    });
  }

  /** Makes one of nodes. */
  join([first, ...rest]: readonly string[]): void {
    for (const node of rest) if (!this.isSame(node, first!)) this.parent.set(this.root(node), this.root(first!));
  }

  /** The node that stands for all that are one in every setting: by the harness's own joins, and by what was joined since. */
  readonly root = (node: string): string => {
    let at = node;
    for (let up = this.parent.get(at); up !== undefined; up = this.parent.get(at)) at = up;
    return at;
  };

  readonly isSame = (a: string, b: string): boolean => this.root(a) === this.root(b);

  /** Every node that the file names, in the order in which they first stand there. */
  all(): string[] {
    return [...this.mentions.keys()];
  }

  /** Whether only leads of this slot's pickup (or one of its ways) name a node: it just joins them. */
  isPrivate(node: string, slot: string): boolean {
    return isOwnNode(node) || (this.leadsOf.get(node) ?? null) === slot;
  }

  /** Whether a node is a slot's link and nothing but leads of its pickup (or one of its ways) hangs on it. */
  isUnusedLink(node: string, slot: string): boolean {
    return this.linksOf.get(node) === slot && this.mentions.get(node) === 1 + (this.leadMentions.get(node) ?? 0);
  }

  /** Nodes that the file names just once, a slot's link aside. */
  lone(): string[] {
    return this.all().filter((node) => this.mentions.get(node) === 1 && !this.linkMentions.has(node));
  }
}
