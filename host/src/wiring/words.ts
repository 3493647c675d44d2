/** The wiring plan in plain sentences. */
import { leadsInWords, listInWords, type LeadColours } from '../wiremap/lead-words.ts';
import { isTap } from '../wiremap/sections.ts';
import { CANCELLED_hum } from '../harness/search.ts';
import { METAL_NOT_CHECKED } from '../text/cautions.ts';
import { percent } from '../text/percent.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { notPossibleInWords } from './not-possible.ts';
import { STAYS_hum, type Layout, type WiringPlan } from './plan.ts';

/** One way of wiring, ready to be read. */
export interface LayoutWords {
  readonly title: string;
  /** What to do, one instruction each. */
  readonly steps: readonly string[];
  /** What to expect. */
  readonly result: string;
}

/** All that is to be said of a pickup's wiring, in the order in which it is read. */
export interface PlanWords {
  /** What to mind before anything is soldered. */
  readonly first: readonly string[];
  /** Where metal and leads of no coil go in every way. */
  readonly always: readonly string[];
  readonly ways: readonly LayoutWords[];
  /** How it keeps in phase with another pickup. */
  readonly partner: readonly string[];
  readonly notPossible: readonly string[];
}

/** A wiring plan in words. @param colours - of the leads, by clip */
export function planInWords(plan: WiringPlan, map: WireMap, colours: LeadColours): PlanWords {
  return {
    first: firstInWords(plan, map),
    always: [...groundInWords(plan, map, colours), ...adriftInWords(plan, colours)],
    ways: plan.layouts.map((layout) => layoutInWords(layout, map, colours)),
    partner: partnerInWords(plan),
    notPossible: plan.notPossible.map(notPossibleInWords),
  };
}

/** One way of wiring in words.
 * @param map - that the way was made for
 * @param colours - of the leads, by clip
 */
function layoutInWords(layout: Layout, map: WireMap, colours: LeadColours): LayoutWords {
  const steps = [
    `hot (output): ${leadsInWords(layout.hot, colours)}`,
    `ground: ${leadsInWords(layout.ground, colours)}`,
  ];
  for (const link of layout.links) {
    steps.push(
      link.length > 1
        ? `join to each other and insulate: ${leadsInWords(link, colours)}`
        : `insulate, it is ${isTap(map, link[0]!) ? 'the tap' : 'the link between them'}: ${leadsInWords(link, colours)}`,
    );
  }
  if (layout.insulated.length > 0) {
    steps.push(
      `insulate, ${layout.insulated.length > 1 ? 'each by itself' : 'it is not used'}: ${leadsInWords(layout.insulated, colours)}`,
    );
  }
  const turned = layout.reversed ? ' The signal is turned over, since the tie to the frame allows no other way.' : '';
  const stacked = layout.stacked
    ? ' The inner coil is turned against the one above it: it takes the hum off, and of the string what little it hears.' : '';
  return {
    title: title(layout),
    steps,
    result: `${resistance(layout.ohm)} from hot to ground. ${layout.unsigned ? doubtInWords(layout, map) : humInWords(layout, map)}${stacked}${turned}`,
  };
}

/** What the way is called: `Way 3: upper and lower in parallel`. */
function title({ number, kind, labels, split }: Layout): string {
  const all = `Way ${number}: ${listInWords(labels)}`;
  if (kind === 'alone') return split ? `${all} alone (split)` : all;
  if (kind === 'parallel') return `${all} in parallel`;
  return `${all} in series, ${labels[0]} at ground and ${labels.at(-1)} at hot`;
}

/** What nobody knows of a coil without plus and minus. */
function doubtInWords({ exchangeable }: Layout, map: WireMap): string {
  const unless = map.chassis.length === 0 ? ', unless metal of this pickup is tied to one of them' : '';
  const round = exchangeable
    ? `hot and ground may as well be exchanged${unless}.` : 'what is joined inside, or to the frame, allows no other way round.';
  const inside = 'No touch has shown for sure what it gives; if it is a single coil, hum stays.';
  return `Its plus and minus are not known, so whether it is in phase with another coil or pickup is not either; ${round} ${inside}`;
}

/** What is left of the hum: yes, no, or how much. */
function humInWords({ hum, coils, labels, stacked }: Layout, map: WireMap): string {
  const hidden = coils.length === 1 ? map.coils.find(({ name }) => name === coils[0])! : undefined;
  const inside = hidden?.hidden_junction === true ? (hidden.parts ?? []) : [];
  if (hum === null) {
    return hidden?.hidden_junction === true
      ? 'Whether hum cancels depends on the poles of the coils inside: hold the magnet probe or a compass to the face at each.'
      : 'Whether hum cancels is not known: it does when the poles differ. Hold the magnet probe or a compass to the face at each coil.';
  }
  const left = Math.round(100 * hum);
  const rest = left === 0 ? '' : ` (${left} % is left)`;
  const poles = inside.length > 0 ? `: ${listInWords(inside.map(({ place, pole }) => `${place} shows ${pole}`))}` : '';
  if (hum <= CANCELLED_hum) {
    const why = poles !== '' ? poles : stacked ? ', by coupling' : ': the poles of the coils differ';
    return `Hum cancels${rest}${why}.`;
  }
  if (hum < STAYS_hum) return `About ${left} % of the hum is left: the coils that sound do not balance.`;
  if (inside.length > 0) return `Hum does not cancel${poles}.`;
  if (labels.length === 1) return 'Hum stays, as with any single coil.';
  return left === 100 ? 'Hum does not cancel: all that sounds shows the same pole.' : `Hum hardly cancels: ${left} % is left.`;
}

function resistance(ohm: number): string {
  return `About ${ohm >= 1000 ? `${(ohm / 1000).toFixed(2)} kilohm` : `${ohm.toFixed(0)} ohm`}`;
}

/** What to mind before anything is soldered. */
function firstInWords(plan: WiringPlan, map: WireMap): string[] {
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

/** Leads that lead nowhere: ends of a broken winding, and those that belong to nothing that was found. */
function adriftInWords({ adrift, broken }: WiringPlan, colours: LeadColours): string[] {
  const each = (clips: readonly number[]): string => (clips.length > 1 ? 'insulate each by itself' : 'insulate it');
  const sentences: string[] = [];
  if (broken.length > 0) sentences.push(`Left over from the broken winding: ${leadsInWords(broken, colours)}; ${each(broken)}.`);
  if (adrift.length > 0)
    sentences.push(`Connected to nothing: ${leadsInWords(adrift, colours)}. Look inside (a shield goes to ground), else ${each(adrift)}.`);
  return sentences;
}

/** What goes to ground whatever else is done. */
function groundInWords(plan: WiringPlan, map: WireMap, colours: LeadColours): string[] {
  if (plan.alwaysGround.length === 0) return [METAL_NOT_CHECKED];
  const sentences = [
    `Always ground: ${leadsInWords(plan.alwaysGround, colours)} (frame, cover or shield). It is never hot.`,
  ];
  const ends = map.coils.filter((coil) =>
    coil.ends?.some((end) => plan.alwaysGround.includes(end)),
  );
  if (ends.length > 0) {
    sentences.push(
      `The frame is tied to an end of ${listInWords(ends.map((coil) => coil.name))}: that end is ground too, ` +
        'unless the tie is opened inside the pickup.',
    );
  }
  return sentences;
}

/** How to keep this pickup in phase with another one. */
function partnerInWords(plan: WiringPlan): string[] {
  const unsigned = plan.layouts.filter((layout) => layout.unsigned);
  if (unsigned.length === plan.layouts.length) return [];
  const labels = listInWords(unsigned.map((layout) => layout.labels[0]!));
  const doubt = unsigned.length === 0 ? [] : [`Of ${labels} alone nobody can say so, since plus is not known.`];
  return [...signedPartnerInWords(plan), ...doubt];
}

/** The same of the ways whose plus is known. */
function signedPartnerInWords(plan: WiringPlan): string[] {
  if (plan.reversed === true) {
    return [
      'With another pickup: here the tie to the frame puts plus at ground, so minus is hot. For the two to be in phase the other pickup must have its minus at hot and ' +
        `its plus at ground too. ${apart('minus')}`,
    ];
  }
  if (plan.reversed === null) {
    return [
      'With another pickup: the ways above differ in which side is hot. The two are in phase when both have plus at hot, or both minus; ' +
        `if they are not, exchange hot and ground of the one whose frame is tied to neither. ${apart(null)}`,
    ];
  }
  return [
    'With another pickup: the two are in phase when both have plus at hot and minus at ground, as above; with one coil of each sounding, ' +
      `hum cancels when the poles of those two differ. ${apart('plus')}`,
  ];
}

/** A frame on the end that becomes hot is a short as soon as the frame is grounded. */
function apart(hot: 'plus' | 'minus' | null): string {
  const end = hot === null ? 'the end that becomes hot' : `that ${hot}, the end that becomes hot`;
  return `That other pickup's own frame must not be tied to ${end}: grounded, it would short hot to ground. Open such a tie inside first, and give the frame a lead of its own to ground.`;
}
