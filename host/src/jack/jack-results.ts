/** What was read at the jack so far, setting by setting and as a whole: against the plan, or of pickups that nobody knows. */
import { TouchReader, type ReadTouch } from '../evidence/touch-reader.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { differencesOf, ohmInWords, type ReadingResult, type SwingWord } from '../proof/differences.ts';
import { proofOf } from '../proof/document.ts';
import { evidenceOf, readingsOf, type NamedRecord } from '../proof/evidence-of.ts';
import { placeShare } from '../proof/likelihood.ts';
import { placesOf, type Place } from '../proof/places.ts';
import { proofText, touchesCell } from '../proof/proof-text.ts';
import { jackProbes } from '../proof/prove.ts';
import type { Swing } from '../proof/reading.ts';
import { heardCell, surveyText } from '../proof/survey-text.ts';
import { surveyOf, type SurveyedSetting } from '../proof/survey.ts';
import { predict, wiredOf, type Prediction } from '../proof/wired.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import { signWords } from './jack-words.ts';

/** One reading, in words. */
export interface ReadingInWords {
  /** At the jack. */
  readonly ohm: string;
  /** As planned, at the temperature of the reading; null where nobody knows what is fitted. */
  readonly planned: string | null;
  /** Of the pickups alone, the pots taken away; null where that cannot be had. */
  readonly alone: string | null;
  /** In a table's cell. */
  readonly sounds: string;
  readonly differs: boolean;
  /** By place that was touched and has a coil of its own to be heard there: which way it swings. */
  readonly heard: ReadonlyMap<string, SwingWord | null>;
  /** What is said of it at once: what differs, or what sounds. */
  readonly told: string;
  /** The same in sentences. */
  readonly sentences: readonly string[];
}

/** What a setting should be like. */
export interface Planned {
  readonly ohm: string;
  /** Places that should be heard. */
  readonly sounding: readonly string[];
}

/** Below this share nothing is asked to be heard (differences.ts). */
const HEARD_share = 0.15;

/** A capture is read once, however often it is looked at. */
class RememberingReader extends TouchReader {
  readonly #read = new WeakMap<object, ReadTouch>();

  override read(volts_V: Parameters<TouchReader['read']>[0], rate_Hz: number, start_s: number): ReadTouch {
    const known = this.#read.get(volts_V[0]!);
    if (known !== undefined) return known;
    const read = super.read(volts_V, rate_Hz, start_s);
    this.#read.set(volts_V[0]!, read);
    return read;
  }
}

export class JackResults {
  /** Whether it is known which pickups are there. */
  readonly isFitted: boolean;
  readonly #wired: LoadedHarness;
  /** As if nobody knew what is fitted. */
  readonly #blind: LoadedHarness;
  readonly #reader = new RememberingReader();
  readonly #places: readonly Place[];
  readonly #planned: readonly Prediction[];

  /** @param loaded - as its files give it */
  constructor(loaded: LoadedHarness) {
    this.#wired = wiredOf(loaded);
    this.#blind = wiredOf({ harness: { ...loaded.harness, fitted: [] }, pickups: [] });
    this.isFitted = loaded.pickups.length > 0;
    this.#places = placesOf(this.#wired.pickups);
    this.#planned = this.isFitted ? predict(this.#wired, jackProbes(this.#wired), false) : [];
  }

  /** Places that the fitted pickups have; none where nothing is fitted. */
  get places(): readonly string[] {
    return this.#places.map(({ name }) => name);
  }

  /** What a setting should be like; null where nobody knows what is fitted. */
  planned(setting: number): Planned | null {
    const prediction = this.#planned[setting];
    if (prediction === undefined) return null;
    const sounding = this.#places.filter((place) => Math.abs(placeShare(place, this.#places, prediction, null).direct) > HEARD_share);
    return { ohm: prediction.ohm === null ? 'no path' : ohmInWords(prediction.ohm), sounding: sounding.map(({ name }) => name) };
  }

  /** Swings of one record. */
  swings(record: BenchRecord): readonly Swing[] {
    return readingsOf(this.#wired, [{ source: '', record }], this.#reader, () => undefined)[0]!.swings;
  }

  /** Every reading in words. @throws MisfitRecord for a record that is of another harness */
  inWords(records: readonly NamedRecord[]): ReadingInWords[] {
    if (records.length === 0) return [];
    if (!this.isFitted) return surveyOf(this.#blind, records, this.#reader).settings.map(surveyedInWords);
    // With a lead lifted, or between other points, nobody can take the pots away without knowing the pickup.
    const atJack = records.filter(({ record: { lifted = [], between } }) => lifted.length === 0 && between === undefined);
    const alone = new Map(surveyOf(this.#blind, atJack, this.#reader).settings.map((one, at) => [atJack[at]!, aloneInWords(one)]));
    const evidence = evidenceOf(this.#wired, records, this.#reader);
    const results = differencesOf(evidence, predict(this.#wired, evidence.readings, true));
    return results.map((result, at) => comparedInWords(result, alone.get(records[at]!) ?? null));
  }

  /** The proof, or the survey, of what was read so far. */
  text(records: readonly NamedRecord[]): string {
    if (!this.isFitted) return surveyText(surveyOf(this.#blind, records, this.#reader));
    return proofText(this.#wired, proofOf(this.#wired, evidenceOf(this.#wired, records, this.#reader)));
  }
}

function aloneInWords({ pickups_ohm, u_pickups_ohm }: SurveyedSetting): string | null {
  return pickups_ohm === null || u_pickups_ohm === null ? null : `${ohmInWords(pickups_ohm)} +- ${ohmInWords(u_pickups_ohm)}`;
}

function aloneSentence(alone: string | null): string[] {
  return alone === null ? [] : [`The pickups alone, with the pots taken away: ${alone}.`];
}

function comparedInWords(result: ReadingResult, alone: string | null): ReadingInWords {
  const { ohm, expected_ohm, u_expected_ohm, ohmAgrees, touches, differences } = result;
  const read = ohm === null ? (ohmAgrees === null ? '-' : 'no path') : ohmInWords(ohm);
  const planned = expected_ohm === null ? 'no path' : ohmInWords(expected_ohm);
  const within = expected_ohm === null ? '' : ` +- ${ohmInWords(u_expected_ohm)}`;
  const heard = touches.flatMap(({ at, swing }) => (swing === 'none' ? [] : [{ at, swing }]));
  return {
    ohm: read, planned, alone, sounds: touchesCell(touches), heard: new Map(heard.map(({ at, swing }) => [at, swing])),
    differs: differences.length > 0 || ohmAgrees === false,
    told: differences.length === 0 ? 'as planned.' : `${differences.join('; ')}.`,
    sentences: [
      `Read ${read} at the clips; planned ${planned}${within}.`, ...aloneSentence(alone), soundSentence(heard, touches.map(({ at }) => at)),
      ...(differences.length === 0 ? ['As planned.'] : differences.map((text) => `${text}.`)),
    ],
  };
}

function surveyedInWords(surveyed: SurveyedSetting): ReadingInWords {
  const { ohm, sounding, text } = surveyed;
  const read = ohm === null ? 'no path' : ohmInWords(ohm);
  const alone = aloneInWords(surveyed);
  const sounds = soundSentence(sounding, null);
  return {
    ohm: read, planned: null, alone, sounds: heardCell(sounding), heard: new Map(sounding.map(({ at, swing }) => [at, swing])),
    differs: text !== null,
    told: `${read}; ${sounds[0]!.toLowerCase()}${sounds.slice(1)}`,
    sentences: [`Read ${read} at the clips.`, ...aloneSentence(alone), sounds, ...(text === null ? [] : [text.endsWith('.') ? text : `${text}.`])],
  };
}

/** What sounds, and with which sign against each other. @param touched - places that were touched; null where that is not known */
function soundSentence(
  heard: readonly { readonly at: string; readonly swing: SwingWord | null }[], touched: readonly string[] | null,
): string {
  if (heard.length > 0) return signWords(heard);
  if (touched === null) return 'Nothing was heard.';
  return touched.length === 0 ? 'No place was touched.' : `Nothing swings at ${listInWords([...new Set(touched)])}.`;
}
