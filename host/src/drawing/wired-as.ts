/** One way of a pickup's wiring plan as a harness, which is what is drawn. */
import { fitPickups } from '../harness/fitted-pickup.ts';
import type { Harness } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import type { LeadColours } from '../wiremap/lead-words.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import type { Layout } from '../wiring/plan.ts';

/** A whole wire map with the colours of its leads. */
export interface ColouredMap {
  readonly map: WireMap;
  readonly colours: LeadColours;
}

/** A pickup with nothing but an output, its leads where a way of wiring puts them. */
export function wiredAs({ hot, ground, links }: Layout, { map, colours }: ColouredMap): LoadedHarness {
  const put = (clips: readonly number[], node: string): [string, string][] => clips.map((clip) => [String(clip), node]);
  const harness: Harness = {
    format: 'harness/1',
    slots: [{ slot: 'pickup', hot: 'hot', ground: 'ground', frame: 'ground' }],
    switches: [],
    output: { hot: 'hot', ground: 'ground' },
    fitted: [{
      slot: 'pickup', map: 'pickup',
      leads: Object.fromEntries([...put(hot, 'hot'), ...put(ground, 'ground'), ...links.flatMap((link, at) => put(link, `link ${at + 1}`))]),
    }],
  };
  return { harness, pickups: fitPickups(harness, [{ map, colours }]) };
}
