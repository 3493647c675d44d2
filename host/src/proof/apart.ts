/** Which one more reading would tell faults apart that the readings so far do not. */
import type { LoadedHarness } from '../harness/load-harness.ts';
import { settingNames, settingsOf } from '../harness/harness.ts';
import { settingInWords } from '../harness/settings-in-words.ts';
import { NodeNames } from '../harness/node-names.ts';
import { leadInWords } from '../wiremap/lead-words.ts';
import { areAlike, ohmInWords } from './differences.ts';
import { placedClips, type Model } from './faults.ts';
import type { Evidence } from './likelihood.ts';
import { unreadSettings } from './prove.ts';
import { leadNode, predict, type Probe } from './wired.ts';

/** A fault that is to be told from others. */
export interface Suspect {
  /** What it is called in the sentence. */
  readonly label: string;
  readonly model: Model;
}

/** Ohms nearer than this to one another are not told apart: joints and the spread of parts. */
const [APART_share, APART_ohm] = [0.04, 5];
/** More suspects than this nobody wants to read. */
const SUSPECTS_most = 6;
/** Settings that are tried with a lead lifted. */
const SETTINGS_most = 12;

/** One sentence or two on how to tell suspects apart; null where nothing that was tried does.
 * @param evidence - whose readings are not asked for again
 */
export function tellApart(suspects: readonly Suspect[], wired: LoadedHarness, evidence: Evidence): string | null {
  const some = suspects.slice(0, SUSPECTS_most);
  if (some.length < 2) return null;
  return unread(some, wired, evidence) ?? onceMore(some, wired);
}

/** A setting that was not read and shows a difference. */
function unread(suspects: readonly Suspect[], wired: LoadedHarness, evidence: Evidence): string | null {
  const settings = unreadSettings(wired, evidence);
  if (settings.length === 0) return null;
  const probes = settings.map((setting): Probe => ({ setting, lifted: [], between: null }));
  const [first, ...others] = suspects.map(({ model: { wired: changed, swapped } }) =>
    predict(changed, probes, false).map((prediction) => ({ prediction, swapped })));
  const at = probes.findIndex((_, probe) => others.some((shown) => !areAlike(first![probe]!, shown[probe]!, evidence.places)));
  return at < 0 ? null : `Read ${inWords(wired, settings[at]!)} at the jack too: there they differ.`;
}

interface Way {
  readonly probe: Probe;
  readonly text: string;
}

/** A lead to lift, or two points to read between. */
function onceMore(suspects: readonly Suspect[], wired: LoadedHarness): string | null {
  const ways = [...liftings(wired), ...insides(wired)];
  let best: { way: Way; classes: Map<string, string[]> } | null = null;
  const shown = suspects.map(({ model }) => predict(model.wired, ways.map(({ probe }) => probe), false));
  ways.forEach((way, at) => {
    const classes = classesOf(suspects, shown.map((some) => some[at]!.ohm));
    if (classes.size > (best?.classes.size ?? 1)) best = { way, classes };
  });
  if (best === null) return null;
  const { way, classes } = best as { way: Way; classes: Map<string, string[]> };
  const cases = [...classes].map(([ohm, labels]) => `${ohm} if it is ${labels.join(' or ')}`);
  return `${way.text}: ${cases.join('; ')}.`;
}

/** Suspects by the ohms they would show; those that a meter would hardly tell apart together. */
function classesOf(suspects: readonly Suspect[], ohms: readonly (number | null)[]): Map<string, string[]> {
  const classes: { ohm: number | null; labels: string[] }[] = [];
  suspects.forEach(({ label }, at) => {
    const ohm = ohms[at]!;
    const home = classes.find((one) => isNear(one.ohm, ohm));
    if (home === undefined) classes.push({ ohm, labels: [label] });
    else home.labels.push(label);
  });
  return new Map(classes.map(({ ohm, labels }) => [ohm === null ? 'no path' : ohmInWords(ohm), labels]));
}

function isNear(a: number | null, b: number | null): boolean {
  return a === b || (a !== null && b !== null && Math.abs(a - b) <= APART_share * Math.max(a, b) + APART_ohm);
}

/** Each lead off its joint: read at the jack, and between the lead and ground. */
function* liftings(wired: LoadedHarness): Generator<Way> {
  const { harness, pickups } = wired;
  const count = settingsOf(harness).length;
  for (const [pickup, one] of pickups.entries()) {
    for (const clip of placedClips(one)) {
      const lifted = [{ pickup, clip }];
      const lead = `${one.slot.slot} ${leadInWords(clip, one.colours)}`;
      for (let setting = 0; setting < Math.min(count, SETTINGS_most); setting++) {
        const where = count > 1 ? ` with ${inWords(wired, setting)}` : '';
        yield { probe: { setting, lifted, between: null }, text: `Lift ${lead}, off its joint and read at the jack${where}` };
        const { ground } = harness.output;
        yield {
          probe: { setting, lifted, between: { plus: leadNode(one.slot.slot, clip), minus: ground } },
          text: `Lift ${lead}, off its joint and read between it and ${ground}${where}`,
        };
      }
    }
  }
}

/** Two points of the wiring, everything soldered. */
function* insides(wired: LoadedHarness): Generator<Way> {
  const { harness } = wired;
  const { ground } = harness.output;
  const count = settingsOf(harness).length;
  for (const node of new NodeNames(harness).all()) {
    if (node === ground) continue;
    for (let setting = 0; setting < Math.min(count, SETTINGS_most); setting++) {
      const where = count > 1 ? ` with ${inWords(wired, setting)}` : '';
      yield { probe: { setting, lifted: [], between: { plus: node, minus: ground } }, text: `Read between ${node} and ${ground}, inside the guitar${where}` };
    }
  }
}

function inWords({ harness }: LoadedHarness, setting: number): string {
  return settingInWords(settingNames(harness, settingsOf(harness)[setting]!));
}
