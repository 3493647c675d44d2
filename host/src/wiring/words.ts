/** The wiring plan in plain sentences. */
import { colourInWords } from '../wiremap/colours.ts';
import { percent } from '../text/percent.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { listInWords, type Hum, type Layout, type WiringPlan } from './plan.ts';

/** Colour code by clip; a clip without one is named by its number alone. */
export type LeadColours = ReadonlyMap<number, string | undefined>;

/** One way of wiring, ready to be read. */
export interface LayoutWords {
  readonly title: string;
  /** What to do, one instruction each. */
  readonly steps: readonly string[];
  /** What to expect. */
  readonly result: string;
}

/** A lead as a person finds it: `clip 2, yellow (YE)`. */
export function leadInWords(clip: number, colours: LeadColours): string {
  const colour = colours.get(clip);
  return colour === undefined ? `clip ${clip}` : `clip ${clip}, ${colourInWords(colour)}`;
}

function leadsInWords(clips: readonly number[], colours: LeadColours): string {
  return clips.map((clip) => leadInWords(clip, colours)).join('; ');
}

/** One way of wiring in words.
 * @param colours - of the leads, by clip
 */
export function layoutInWords(layout: Layout, colours: LeadColours): LayoutWords {
  const steps = [
    `hot (output): ${leadsInWords(layout.hot, colours)}`,
    `ground: ${leadsInWords(layout.ground, colours)}`,
  ];
  for (const link of layout.links) {
    steps.push(
      link.length > 1
        ? `join to each other and insulate: ${leadsInWords(link, colours)}`
        : `insulate, it is the link between them: ${leadsInWords(link, colours)}`,
    );
  }
  if (layout.insulated.length > 0) {
    steps.push(
      `insulate, ${layout.insulated.length > 1 ? 'each by itself' : 'it is not used'}: ${leadsInWords(layout.insulated, colours)}`,
    );
  }
  const turned = layout.reversed
    ? ' The signal is turned over, since plus is tied to the chassis.'
    : '';
  return {
    title: title(layout),
    steps,
    result: `${resistance(layout.ohm)} from hot to ground. ${HUM[layout.hum](layout)}${turned}`,
  };
}

/** What the way is called: `coil 1 and coil 2 in parallel`. */
function title(layout: Layout): string {
  const coils = listInWords(layout.coils);
  if (layout.kind === 'alone') return layout.split ? `${coils} alone (split)` : coils;
  if (layout.kind === 'parallel') return `${coils} in parallel`;
  const [first, last] = [layout.coils[0], layout.coils.at(-1)];
  return `${coils} in series, ${first} at ground and ${last} at hot`;
}

const HUM: Record<Hum, (layout: Layout) => string> = {
  cancels: () => 'Hum cancels: the poles of the coils differ.',
  stays: (layout) =>
    layout.coils.length === 1
      ? 'Hum stays, as with any single coil.'
      : 'Hum does not cancel: all that sounds shows the same pole.',
  partly: () => 'Hum cancels in part: not every coil has a partner of the other pole.',
  unknown: (layout) =>
    layout.coils.length === 1
      ? 'Whether hum cancels depends on the coils inside, which the leads cannot tell apart.'
      : 'Whether hum cancels is not known: it does when the poles differ. Hold the magnet probe or a compass to the face at each coil.',
};

function resistance(ohm: number): string {
  return `About ${ohm >= 1000 ? `${(ohm / 1000).toFixed(2)} kilohm` : `${ohm.toFixed(0)} ohm`}`;
}

/** What to mind before anything is soldered. */
export function firstInWords(plan: WiringPlan, map: WireMap): string[] {
  if (plan.layouts.length === 0) return [];
  const sentences: string[] = [];
  if (plan.isRest)
    sentences.push('A coil of this pickup is broken (see the findings): the ways below use what still works. Mend it and test it again to have the rest.');
  if (map.verdict === 'unsure')
    sentences.push('The verdict is unsure: settle the findings and what is not known before you solder.');
  if (plan.unsure.length > 0) {
    const coils = listInWords(plan.unsure.map(({ name, confidence }) => `${name} (${percent(confidence ?? 0)} %)`));
    sentences.push(`Do not solder yet: plus and minus of ${coils} are likely, not sure. Touch ${plan.unsure.length > 1 ? 'them' : 'it'} again first.`);
  }
  return sentences;
}

/** Leads that belong to nothing that was found. */
export function adriftInWords({ adrift }: WiringPlan, colours: LeadColours): string[] {
  if (adrift.length === 0) return [];
  const each = adrift.length > 1 ? 'insulate each by itself' : 'insulate it';
  return [`Connected to nothing: ${leadsInWords(adrift, colours)}. Look inside (a shield goes to ground), else ${each}.`];
}

/** What goes to ground whatever else is done. */
export function groundInWords(plan: WiringPlan, map: WireMap, colours: LeadColours): string[] {
  if (plan.alwaysGround.length === 0) {
    return [
      'No lead is known to be the shield. Metal parts of the pickup that can be touched must have a way to ground.',
    ];
  }
  const sentences = [
    `Always ground: ${leadsInWords(plan.alwaysGround, colours)} (frame, cover or shield). It is never hot.`,
  ];
  const ends = map.coils.filter((coil) =>
    coil.ends?.some((end) => plan.alwaysGround.includes(end)),
  );
  if (ends.length > 0) {
    sentences.push(
      `The chassis is tied to an end of ${listInWords(ends.map((coil) => coil.name))}: that end is ground too, ` +
        'unless the tie is opened inside the pickup.',
    );
  }
  return sentences;
}

/** How to keep this pickup in phase with another one. */
export function partnerInWords(plan: WiringPlan): string[] {
  if (plan.layouts.length === 0) return [];
  if (plan.reversed === true) {
    return [
      'With another pickup: here plus is tied to the chassis and must be ground, so minus is hot. The other pickup must be turned over too: ' +
        'its minus to hot and its plus to ground, with its own chassis lead kept apart from its plus and at ground.',
    ];
  }
  if (plan.reversed === null) {
    return [
      'With another pickup: the ways above differ in which side is hot. Two pickups are in phase when both have plus hot, or both minus hot; ' +
        'if they are not, swap hot and ground of the one whose chassis is free.',
    ];
  }
  return [
    'With another pickup: the two are in phase when plus is the hot side of both and minus the ground side of both, as above. ' +
      'With one coil of each sounding, hum cancels when the poles of those two differ.',
  ];
}

/** What can hurt. */
export const CAUTIONS: readonly string[] = [
  'Unplug the amplifier from the mains and pull the cable out of the instrument before you open it. Work inside an amplifier is for a qualified person, and your local electrical codes apply.',
  'A soldering iron burns and its fumes are not for breathing: wear eye protection, air the room, wash your hands after solder with lead.',
  'Magnets are strong: keep them from pacemakers, cards and steel tools, and mind your fingers.',
  'The wire of a coil is thinner than a hair: hold the leads, never pull at them, and tape every joint that is not ground.',
];
