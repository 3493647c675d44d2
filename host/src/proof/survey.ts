/** Pickups that are still in the guitar and of which nothing is known: what each setting sounds, and how far the controls let one see. */
import type { TouchReader } from '../evidence/touch-reader.ts';
import { describe, FieldError } from '../files/field-walk.ts';
import { settingNames, settingsOf, type Setting, type Slot } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { settingInWords } from '../harness/settings-in-words.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import { ohmInWords, type SwingWord } from './differences.ts';
import { readingsOf, type NamedRecord } from './evidence-of.ts';
import { POT_sigma } from './likelihood.ts';
import type { JackReading, Swing } from './reading.ts';
import { predict, withHarness, type Probe } from './wired.ts';

/** One reading and what it says of the pickups behind the controls. */
export interface SurveyedSetting {
  readonly setting: Setting;
  readonly source: string;
  /** At the jack; null: no path, or not read. */
  readonly ohm: number | null;
  /** Of the pickups alone, the pots taken off; null where that cannot be had. */
  readonly pickups_ohm: number | null;
  /** Standard uncertainty, pots of 20 % included. */
  readonly u_pickups_ohm: number | null;
  readonly sounding: readonly { readonly at: string; readonly swing: SwingWord }[];
  readonly text: string | null;
}

export interface SurveyFinding {
  readonly kind: 'silent' | 'out_of_phase' | 'open' | 'shorted' | 'live' | 'unsteady';
  readonly severity: 'note' | 'warning';
  readonly text: string;
}

export interface Survey {
  readonly format: 'survey/1';
  readonly title?: string;
  readonly settings: readonly SurveyedSetting[];
  readonly findings: readonly SurveyFinding[];
  /** What cannot be known from outside, and what to lift to learn it. */
  readonly unknown: readonly string[];
}

/** Of the most that a place gives in any setting: less is a neighbour's share, or none. */
const SOUNDS_part = 0.2;
/** Of the most that any place of the slot gives: a place that gives less is not heard at all. */
const HEARD_part = 0.2;
/** Ohms that stand for a pickup where it is asked whether a slot is switched on. */
const TRIAL_ohm = 8000;
const [LEAST_ohm, MOST_ohm] = [1, 1e8];
/** What the readings and joints add to the pots. */
const OWN_share = 0.004;
/** A resistance that is known worse than this had better be read without the pots. */
const POOR_share = 0.02;
const SHORTED_ohm = 30;
const OPEN_ohm = 300_000;

/** @throws MisfitRecord naming the record's field, what stood there and what was expected */
export function surveyOf(wired: LoadedHarness, records: readonly NamedRecord[], reader: TouchReader): Survey {
  const slots = wired.harness.slots.map(({ slot }) => slot);
  const readings = readingsOf(wired, records, reader, (path, text) => {
    if (slots.length === 0 || slotOf(text, slots) !== null) return;
    throw new FieldError(path, `${describe(text)} is no place of this harness`, `SLOT PLACE, with a slot of ${listInWords(slots)}`);
  });
  return new Surveyor(wired, readings).survey();
}

function slotOf(at: string, slots: readonly string[]): string | null {
  const found = slots.filter((slot) => at === slot || at.startsWith(`${slot} `));
  return found.length === 0 ? null : found.reduce((best, slot) => (slot.length > best.length ? slot : best));
}

/** Flux of a swing, or 1 where a person saw one. */
function sizeOf({ flux_Wb, sign }: Swing): number {
  return flux_Wb === null ? Math.abs(sign) : Math.abs(flux_Wb);
}

class Surveyor {
  private readonly wired: LoadedHarness;
  private readonly readings: readonly JackReading[];
  private readonly names: readonly Setting[];
  private readonly slots: readonly Slot[];
  private readonly places: readonly string[];
  private readonly most = new Map<string, number>();
  private readonly findings: SurveyFinding[] = [];

  constructor(wired: LoadedHarness, readings: readonly JackReading[]) {
    this.wired = wired;
    this.readings = readings;
    this.slots = wired.harness.slots;
    this.names = settingsOf(wired.harness).map((positions) => settingNames(wired.harness, positions));
    this.places = [...new Set(readings.flatMap(({ swings }) => swings.map(({ at }) => at)))];
    for (const swing of readings.flatMap(({ swings }) => swings))
      this.most.set(swing.at, Math.max(this.most.get(swing.at) ?? 0, sizeOf(swing)));
  }

  survey(): Survey {
    const { harness } = this.wired;
    const settings = this.readings.map((reading) => this.setting(reading));
    this.silentPlaces();
    const title = harness.title === undefined ? {} : { title: harness.title };
    return { format: 'survey/1', ...title, settings, findings: this.findings, unknown: this.unknown(settings) };
  }

  private slot(at: string): string {
    return slotOf(at, this.slots.map(({ slot }) => slot)) ?? at;
  }

  /** Whether a place is ever heard, and not only its neighbours. */
  private isHeard(place: string): boolean {
    const own = this.most.get(place) ?? 0;
    const others = this.places.filter((other) => this.slot(other) === this.slot(place)).map((other) => this.most.get(other) ?? 0);
    return own > 0 && own >= HEARD_part * Math.max(...others);
  }

  private sounding({ swings }: JackReading): { at: string; swing: SwingWord }[] {
    const heard = new Map<string, SwingWord>();
    for (const swing of swings) {
      const { at, sign } = swing;
      if (sign !== 0 && this.isHeard(at) && sizeOf(swing) >= SOUNDS_part * (this.most.get(at) ?? 0)) heard.set(at, sign > 0 ? 'positive' : 'negative');
    }
    return [...heard].map(([at, swing]) => ({ at, swing }));
  }

  private setting(reading: JackReading): SurveyedSetting {
    const { setting, source, resistance, isUnsteady, live_V } = reading;
    const where = settingInWords(this.names[setting]!);
    const sounding = this.sounding(reading);
    const swinging = (word: SwingWord): string[] => sounding.filter(({ swing }) => swing === word).map(({ at }) => at);
    const [up, down] = [swinging('positive'), swinging('negative')];
    const texts: string[] = [];
    const say = (kind: SurveyFinding['kind'], text: string): void => {
      texts.push(text);
      this.findings.push({ kind, severity: 'warning', text: `${where}: ${text}.` });
    };
    if (live_V > 0) say('live', `there are ${live_V.toPrecision(2)} V on the two clips; take out the battery, pull the cable, and read again`);
    if (isUnsteady) say('unsteady', 'the readings of its ohms do not agree; a joint, the jack or a switch makes contact now and then');
    if (up.length > 0 && down.length > 0) {
      const slots = [up, down].map((some) => new Set(some.map((at) => this.slot(at))));
      const shared = [...slots[0]!].filter((slot) => slots[1]!.has(slot));
      const why = shared.length > 0 ? `the coils of ${listInWords(shared)} work against each other inside` : `one of ${listInWords([...slots[0]!, ...slots[1]!])} is the other way round, unless this setting is meant so`;
      say('out_of_phase', `${listInWords(up)} against ${listInWords(down)}: ${why}`);
    }
    const alone = this.behindControls(reading, sounding.map(({ at }) => this.slot(at)));
    const on = this.switchedOn(setting);
    if (resistance !== null && alone !== null && alone.ohm < SHORTED_ohm && sounding.length === 0) say('shorted', 'hot and ground are shorted behind the controls');
    if (resistance !== null && (alone === null ? resistance.ohm === null : alone.ohm > OPEN_ohm) && sounding.length === 0 && on.length > 0)
      say('open', `no winding is behind the controls, where ${listInWords(on)} should be: a broken winding, a joint or the switch`);
    return {
      setting: this.names[setting]!, source, ohm: resistance?.ohm ?? null, sounding,
      pickups_ohm: alone === null || alone.ohm > OPEN_ohm ? null : alone.ohm,
      u_pickups_ohm: alone === null || alone.ohm > OPEN_ohm ? null : alone.u_ohm,
      text: texts.length === 0 ? null : texts.join('; '),
    };
  }

  /** Slots that a setting connects with the output. */
  private switchedOn(setting: number): string[] {
    const probe: Probe = { setting, lifted: [], between: null };
    const bare = this.ohmWith([], probe, []);
    return this.slots.filter((slot) => {
      const ohm = this.ohmWith([slot], probe, [TRIAL_ohm]);
      return ohm !== bare && (bare === null || ohm === null || Math.abs(ohm / bare - 1) > 0.01);
    }).map(({ slot }) => slot);
  }

  /** Ohms with resistances in place of some slots' pickups, or at the output where no slot is known. */
  private ohmWith(slots: readonly Slot[], probe: Probe, ohms: readonly number[], potStep = 0, pot = -1): number | null {
    const changed = withHarness(this.wired, (harness) => ({
      ...harness,
      parts: [
        ...(harness.parts ?? []).map((part, at) => (at === pot && part.kind === 'pot' ? { ...part, ohm: part.ohm * Math.exp(potStep) } : part)),
        ...ohms.map((ohm, at) => ({
          id: `pickup ${at}`, kind: 'resistor' as const, a: slots[at]?.hot ?? harness.output.hot, b: slots[at]?.ground ?? harness.output.ground, ohm,
        })),
      ],
    }));
    return predict(changed, [probe], false)[0]!.ohm;
  }

  /** What stands behind the controls, ohms; null where it cannot be told from what the controls are. */
  private behindControls(reading: JackReading, sounding: readonly string[]): { ohm: number; u_ohm: number } | null {
    const measured = reading.resistance?.ohm ?? null;
    if (measured === null || reading.isUnsteady) return null;
    const among = sounding.length === 0 ? this.switchedOn(reading.setting) : sounding;
    const on = this.slots.filter(({ slot }) => among.includes(slot));
    const home = on.slice(0, 1);
    // Slots that do not meet in one node have each its own way through the controls: their sum cannot be parted.
    if (on.length > 1 && !this.areOneNode(on, reading)) return null;
    const solve = (step: number, pot: number): number | null => bisect((ohm) => this.ohmWith(home, reading, [ohm], step, pot), measured);
    const ohm = solve(0, -1);
    if (ohm === null) return null;
    let variance = OWN_share ** 2 + ((reading.resistance?.u_ohm ?? 0) / measured) ** 2;
    (this.wired.harness.parts ?? []).forEach((part, pot) => {
      if (part.kind !== 'pot') return;
      const [more, less] = [solve(POT_sigma, pot), solve(-POT_sigma, pot)];
      if (more !== null && less !== null) variance += (Math.log(more / less) / 2) ** 2;
    });
    return { ohm, u_ohm: ohm * Math.sqrt(variance) };
  }

  private areOneNode(on: readonly Slot[], reading: JackReading): boolean {
    const [first, ...others] = on;
    return others.every((other) => {
      const between = { plus: first!.hot, minus: other.hot };
      return this.ohmWith([], { ...reading, between }, []) === 0;
    });
  }

  private silentPlaces(): void {
    for (const place of this.places) {
      if (this.isHeard(place)) continue;
      const slot = this.slot(place);
      const touched = this.readings.filter(({ swings }) => swings.some(({ at }) => at === place));
      const on = touched.filter(({ setting }) => this.slots.length === 0 || this.switchedOn(setting).includes(slot));
      const hasOthers = this.places.some((other) => other !== place && this.slot(other) === slot);
      const splitOff = hasOthers ? ', or every one of these settings splits it off' : '';
      const text = on.length === 0
        ? `${place}: no setting that was read lets it sound.`
        : `${place} does not sound in any setting that was read: its coil is broken, shorted or not connected${splitOff}.`;
      this.findings.push({ kind: 'silent', severity: on.length === 0 ? 'note' : 'warning', text });
    }
  }

  private unknown(settings: readonly SurveyedSetting[]): string[] {
    const list: string[] = [];
    const read = new Set(this.readings.map(({ setting }) => setting));
    const unread = this.names.filter((_, at) => !read.has(at));
    if (unread.length > 0) list.push(`${unread.length} of ${this.names.length} settings were not read, the first of them ${settingInWords(unread[0]!)}.`);
    const { ground } = this.wired.harness.output;
    const slots = this.slots.length > 0 ? this.slots.map(({ slot }) => slot) : [...new Set(this.places)];
    for (const slot of slots) {
      const own = this.places.filter((place) => this.slot(place) === slot);
      const { hot = 'hot', link } = this.slots.find((one) => one.slot === slot) ?? {};
      if (own.length === 0) {
        list.push(`${slot} was not touched.`);
        continue;
      }
      const isOnly = (one: SurveyedSetting, some: readonly string[]): boolean =>
        one.sounding.length > 0 && one.sounding.every(({ at }) => some.includes(at)) && one.pickups_ohm !== null;
      const alone = settings.filter((one) => isOnly(one, own));
      if (alone.length === 0) list.push(`The ohms of ${slot} alone: no setting that was read gives them. Lift its lead at ${hot} and read between it and ${ground}.`);
      else if (alone.every((one) => one.u_pickups_ohm! > POOR_share * one.pickups_ohm!))
        list.push(`The ohms of ${slot} better than to ${ohmInWords(Math.min(...alone.map((one) => one.u_pickups_ohm!)))}: the pots stand across it. Lift its lead at ${hot} and read between it and ${ground}.`);
      const heard = own.filter((place) => this.isHeard(place));
      const lone = heard.filter((place) => settings.some((one) => isOnly(one, [place])));
      if (heard.length > 1 && lone.length < heard.length - 1)
        list.push(`The ohms of each coil of ${slot}: no setting that was read sounds one alone. Lift one lead of the joint where they meet${link === undefined ? '' : ` (${link})`} and read each coil by itself.`);
    }
    list.push('The magnetic poles, and with them whether hum cancels: hold a compass to each coil.');
    list.push(`Whether the frames are on ground: read between each cover or plate and ${ground}.`);
    return list;
  }
}

/** The resistance at which something that rises with it reaches a value; null when it never does. */
function bisect(rising: (ohm: number) => number | null, wanted: number): number | null {
  let [low, high] = [Math.log(LEAST_ohm), Math.log(MOST_ohm)];
  const at = (ln: number): number => rising(Math.exp(ln)) ?? Infinity;
  if (at(low) > wanted * 1.001 + 1) return null;
  if (at(high) < wanted) return MOST_ohm;
  for (let round = 0; round < 40; round++) {
    const middle = (low + high) / 2;
    if (at(middle) < wanted) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}

