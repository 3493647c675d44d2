/** Checks that a parsed document is a bench record; what it returns is the very document. */
import { COLOUR_EXPECTED, isColour } from '../wiremap/colours.ts';
import { BENCH_CALIBRATIONS, BENCH_CONVERTER_FAULTS, BENCH_NOTES, type BenchRecord } from './bench-record.ts';
import { describe, FieldWalk, type JsonObject, type NumberRange } from './field-walk.ts';
import {
  CHANNELS_MOST,
  CLIPS_MOST,
  ENTRIES_MOST,
  NAME_MOST,
  SAMPLES_MOST,
  TEXT_MOST,
  VOLT_MOST,
} from './limits.ts';
import { plainText, plainTextHere } from './plain-text.ts';
import {
  DURATION,
  DURATION_ABOVE_0,
  FARAD,
  FARAD_ABOVE_0,
  HENRY,
  HERTZ_ABOVE_0,
  HERTZ_SIZE,
  MISFIT,
  MUTUAL_HENRY,
  OHM,
  OHM_ABOVE_0,
  RATE,
  RATIO,
  SECONDS,
  SHARE,
  TEMPERATURE,
  TESLA_SIZE,
  VOLT,
  VOLT_SIZE,
} from './ranges.ts';

export const BENCH_FORMAT = 'bench/1';
const RECORD_EXPECTED = 'a bench record, an object with "format": "bench/1"';

const RECORD_FIELDS = new Set([
  'format',
  'taken',
  'tester',
  'temperature_C',
  'kind',
  'covered',
  'places',
  'clips',
  'resistances',
  'potentials',
  'touches',
  'inductances',
  'couplings',
  'rings',
  'magnets',
  'observed',
  'live',
  'notes',
  'harness',
  'setting',
  'between',
  'lifted',
]);
const TESTER_FIELDS = new Set(['serial', 'firmware', 'solver', 'scale_u', 'calibration', 'converter_fault']);
const CLIP_FIELDS = new Set(['clip', 'colour']);
const RESISTANCE_FIELDS = new Set(['a', 'b', 'ohm', 'above_ohm', 'u_ohm']);
const POTENTIAL_FIELDS = new Set(['driven', 'sensed', 'ratio', 'u_ratio']);
const TOUCH_FIELDS = new Set(['at', 'rate_Hz', 'start_s', 'channels']);
const CHANNEL_FIELDS = new Set(['plus', 'minus', 'volts_V']);
const INDUCTANCE_FIELDS = new Set(['plus', 'minus', 'henry_H', 'u_H', 'loss_ohm', 'u_loss_ohm']);
const COUPLING_FIELDS = new Set(['drive', 'sense', 'mutual_H', 'u_H']);
const RING_FIELDS = new Set([
  'plus',
  'minus',
  'grounded',
  'natural_Hz',
  'u_Hz',
  'loss_s',
  'u_s',
  'total_F',
  'u_F',
  'fixture_F',
  'u_fixture_F',
  'series_ohm',
  'misfit',
]);
const PAIR_FIELDS = new Set(['plus', 'minus']);
const MAGNET_FIELDS = new Set(['at', 'pole', 'field_T']);
const OBSERVED_FIELDS = new Set(['at', 'plus', 'minus', 'swing', 'peak_V']);
const LIVE_FIELDS = new Set(['a', 'b', 'volt_V']);
const BETWEEN_FIELDS = new Set(['plus', 'minus']);
const POINT = 'the name of a node, or a lifted lead such as "front clip 3"';
const PLACE = 'the name of a place';

/** The record that a parsed document holds.
 * @param document - what `parseJson` returned
 * @param warn - is given a sentence for each field that is ignored and looks like a misspelt one
 * @throws FieldError naming the field, what stood there and what was expected
 */
export function asBenchRecord(document: unknown, warn?: (sentence: string) => void): BenchRecord {
  const walk = new FieldWalk();
  const record = walk.document(document, RECORD_FIELDS, RECORD_EXPECTED);
  if (record.format !== BENCH_FORMAT)
    walk.refuseAt('format', describe(record.format), `"${BENCH_FORMAT}"`);
  walk.optionalText(record, 'taken', NAME_MOST, 'a date and time such as "2026-03-14T10:22:31Z"');
  if (record.tester !== undefined) checkTester(walk, record.tester);
  walk.optionalNumber(record, 'temperature_C', TEMPERATURE);
  if (record.kind !== undefined)
    walk.oneOf(record, 'kind', ['single', 'side_by_side', 'three', 'stacked']);
  if (record.covered !== undefined) walk.truth(record, 'covered');
  const clips = checkClips(walk, record);
  const check = new EntryChecks(walk, clips);
  checkPlaces(walk, record);
  walk.list(record, 'resistances', 0, ENTRIES_MOST, 'readings', (entry) => check.resistance(entry));
  walk.optionalList(record, 'potentials', 0, ENTRIES_MOST, 'readings', (entry) =>
    check.potential(entry),
  );
  walk.optionalList(record, 'touches', 0, ENTRIES_MOST, 'touches', (entry) => check.touch(entry));
  walk.optionalList(record, 'inductances', 0, ENTRIES_MOST, 'readings', (entry) =>
    check.inductance(entry),
  );
  walk.optionalList(record, 'couplings', 0, ENTRIES_MOST, 'readings', (entry) =>
    check.coupling(entry),
  );
  walk.optionalList(record, 'rings', 0, ENTRIES_MOST, 'readings', (entry) => check.ring(entry));
  walk.optionalList(record, 'magnets', 0, ENTRIES_MOST, 'readings', (entry) => check.magnet(entry));
  walk.optionalList(record, 'observed', 0, ENTRIES_MOST, 'swings', (entry) =>
    check.observed(entry),
  );
  walk.optionalList(record, 'live', 0, ENTRIES_MOST, 'voltages', (entry) => check.live(entry));
  walk.optionalList(record, 'notes', 0, ENTRIES_MOST, 'notes', (entry) => {
    if (!(BENCH_NOTES as readonly unknown[]).includes(entry))
      walk.refuse(`${describe(entry)} is not known here`, `one of ${BENCH_NOTES.join(', ')}`);
  });
  checkHarness(walk, record);
  if (warn !== undefined) walk.warnings.forEach(warn);
  return record as unknown as BenchRecord;
}

/** What a record says of the harness that its clips were at; whether there are such switches is not known here. */
function checkHarness(walk: FieldWalk, record: JsonObject): void {
  if (record.harness !== undefined) plainText(walk, record, 'harness', TEXT_MOST, 'the name of a harness file');
  if (record.setting !== undefined) {
    walk.enter('setting');
    const setting = walk.object(record.setting, new Set(), 'an object from switch to position');
    for (const name of Object.keys(setting)) plainText(walk, setting, name, NAME_MOST, 'the name of a position');
    walk.leave();
  }
  if (record.between !== undefined) {
    walk.enter('between');
    const between = walk.object(record.between, BETWEEN_FIELDS, 'an object with plus and minus');
    for (const key of ['plus', 'minus']) plainText(walk, between, key, NAME_MOST * 2, POINT);
    walk.leave();
  }
  walk.optionalList(record, 'lifted', 0, ENTRIES_MOST, 'leads', (entry) => {
    plainTextHere(walk, entry, NAME_MOST * 2, 'a lead such as "front clip 3"');
  });
}

function checkTester(walk: FieldWalk, value: unknown): void {
  walk.enter('tester');
  const tester = walk.object(value, TESTER_FIELDS, 'an object with serial, firmware and solver');
  for (const key of ['serial', 'firmware', 'solver'])
    walk.optionalText(tester, key, TEXT_MOST, 'a text');
  walk.optionalNumber(tester, 'scale_u', SHARE);
  for (const [key, words] of [['calibration', BENCH_CALIBRATIONS], ['converter_fault', BENCH_CONVERTER_FAULTS]] as const) {
    if (tester[key] !== undefined && !(words as readonly unknown[]).includes(tester[key]))
      walk.refuseAt(key, `${describe(tester[key])} is not known here`, `one of ${words.join(', ')}`);
  }
  walk.leave();
}

function checkClips(walk: FieldWalk, record: JsonObject): ReadonlySet<number> {
  const clips = new Set<number>();
  walk.list(record, 'clips', 1, CLIPS_MOST, 'clips', (entry) => {
    const clip = walk.object(entry, CLIP_FIELDS, 'an object with "clip"');
    const number = walk.whole(clip, 'clip', 1, CLIPS_MOST, 'a clip number');
    if (clips.has(number)) walk.refuseAt('clip', `${number} is listed twice`, 'each clip once');
    clips.add(number);
    if (clip.colour !== undefined) checkColour(walk, clip);
  });
  return clips;
}

/** A lead's colour, of a clip or of a pickup's lead. */
export function checkColour(walk: FieldWalk, owner: JsonObject): void {
  const code = owner.colour;
  if (typeof code === 'string' && isColour(code)) return;
  walk.refuseAt(
    'colour',
    code === undefined ? 'missing' : `${describe(code)} is not a colour code`,
    COLOUR_EXPECTED,
  );
}

function checkPlaces(walk: FieldWalk, record: JsonObject): void {
  const seen = new Set<unknown>();
  walk.optionalList(record, 'places', 0, 12, 'places', (entry, index) => {
    if (typeof entry !== 'string' || entry === '')
      walk.refuse(`${describe(entry)} is not a name`, PLACE);
    if (entry.length > NAME_MOST)
      walk.refuse(
        `a text of ${entry.length} characters`,
        `${PLACE}, at most ${NAME_MOST} characters`,
      );
    if (seen.has(entry))
      walk.refuse(
        `${describe(entry)} is listed twice`,
        `each place once (entry ${index} repeats it)`,
      );
    seen.add(entry);
  });
}

/** The entries of the lists, each checked where the walk stands. */
class EntryChecks {
  private readonly walk: FieldWalk;
  private readonly clips: ReadonlySet<number>;
  private readonly inUse: string;

  constructor(walk: FieldWalk, clips: ReadonlySet<number>) {
    this.walk = walk;
    this.clips = clips;
    this.inUse = `a clip that "clips" lists (${[...clips].sort().join(', ')})`;
  }

  private clip(owner: JsonObject, key: string): number {
    const value = owner[key];
    if (this.clips.has(value as number)) return value as number;
    const stood = value === undefined ? 'missing' : `${describe(value)} is not a clip in use`;
    return this.walk.refuseAt(key, stood, this.inUse);
  }

  /** Two clips that differ. */
  private pair(owner: JsonObject, first: string, second: string): void {
    const a = this.clip(owner, first);
    const b = this.clip(owner, second);
    if (a === b) this.walk.refuseAt(second, `${b} stands in "${first}" too`, 'two different clips');
  }

  private place(owner: JsonObject): void {
    this.walk.optionalText(owner, 'at', NAME_MOST, PLACE);
  }

  resistance(value: unknown): void {
    const entry = this.walk.object(value, RESISTANCE_FIELDS, 'an object with a, b and ohm');
    this.pair(entry, 'a', 'b');
    if (this.walk.numberOrNull(entry, 'ohm', OHM) === null)
      this.walk.number(entry, 'above_ohm', OHM_ABOVE_0);
    else this.walk.optionalNumber(entry, 'above_ohm', OHM);
    this.walk.optionalNumber(entry, 'u_ohm', OHM);
  }

  potential(value: unknown): void {
    const entry = this.walk.object(
      value,
      POTENTIAL_FIELDS,
      'an object with driven, sensed, ratio and u_ratio',
    );
    this.meterPair(entry, 'driven');
    this.clip(entry, 'sensed');
    this.walk.number(entry, 'ratio', RATIO);
    this.walk.number(entry, 'u_ratio', SHARE);
  }

  private meterPair(owner: JsonObject, key: string): void {
    this.walk.enter(key);
    this.pair(
      this.walk.object(owner[key], PAIR_FIELDS, 'an object with plus and minus'),
      'plus',
      'minus',
    );
    this.walk.leave();
  }

  touch(value: unknown): void {
    const entry = this.walk.object(
      value,
      TOUCH_FIELDS,
      'an object with rate_Hz, start_s and channels',
    );
    this.place(entry);
    this.walk.number(entry, 'rate_Hz', RATE);
    this.walk.number(entry, 'start_s', SECONDS);
    let length = 0;
    this.walk.list(entry, 'channels', 1, CHANNELS_MOST, 'channels', (channelValue, index) => {
      const channel = this.walk.object(
        channelValue,
        CHANNEL_FIELDS,
        'an object with plus, minus and volts_V',
      );
      this.pair(channel, 'plus', 'minus');
      const samples = this.samples(channel);
      if (index === 0) length = samples;
      else if (samples !== length) {
        this.walk.refuseAt('volts_V', `${samples} samples`, `${length}, as many as in channels[0]`);
      }
    });
  }

  /** The samples of one channel, in one tight pass. */
  private samples(channel: JsonObject): number {
    const expected = `a list of 1 to ${SAMPLES_MOST} volts or null`;
    const volts = channel.volts_V;
    if (!Array.isArray(volts)) {
      this.walk.refuseAt(
        'volts_V',
        volts === undefined ? 'missing' : `${describe(volts)} is not a list`,
        expected,
      );
    }
    if (volts.length < 1 || volts.length > SAMPLES_MOST)
      this.walk.refuseAt('volts_V', describe(volts), expected);
    const wrong = firstWrongSample(volts);
    if (wrong >= 0) {
      const value: unknown = volts[wrong];
      this.walk.enter('volts_V');
      if (typeof value !== 'number')
        this.walk.refuseAt(wrong, `${describe(value)} is not a number`, 'volts, or null');
      this.walk.refuseAt(
        wrong,
        `${Number.isFinite(value) ? String(value) : 'a number beyond all range'} is out of range`,
        `volts, -${VOLT_MOST} to ${VOLT_MOST}, or null`,
      );
    }
    return volts.length;
  }

  inductance(value: unknown): void {
    const entry = this.walk.object(
      value,
      INDUCTANCE_FIELDS,
      'an object with plus, minus, henry_H and u_H',
    );
    this.pair(entry, 'plus', 'minus');
    this.walk.number(entry, 'henry_H', HENRY);
    this.walk.number(entry, 'u_H', HENRY);
    if (this.walk.optionalNumber(entry, 'loss_ohm', OHM_ABOVE_0) !== undefined) {
      this.walk.number(entry, 'u_loss_ohm', OHM);
    }
  }

  coupling(value: unknown): void {
    const entry = this.walk.object(
      value,
      COUPLING_FIELDS,
      'an object with drive, sense, mutual_H and u_H',
    );
    this.meterPair(entry, 'drive');
    this.meterPair(entry, 'sense');
    this.walk.number(entry, 'mutual_H', MUTUAL_HENRY);
    this.walk.number(entry, 'u_H', HENRY);
  }

  ring(value: unknown): void {
    const entry = this.walk.object(
      value,
      RING_FIELDS,
      'an object with plus, minus, natural_Hz and loss_s',
    );
    this.pair(entry, 'plus', 'minus');
    this.walk.optionalList(entry, 'grounded', 0, CLIPS_MOST, 'clips', (clip) => {
      if (!this.clips.has(clip as number)) this.walk.refuse(`${describe(clip)} is not a clip in use`, this.inUse);
    });
    this.walk.number(entry, 'natural_Hz', HERTZ_ABOVE_0);
    this.walk.optionalNumber(entry, 'u_Hz', HERTZ_SIZE);
    this.walk.number(entry, 'loss_s', DURATION_ABOVE_0);
    this.walk.optionalNumber(entry, 'u_s', DURATION);
    this.optionalOrNull(entry, 'total_F', FARAD_ABOVE_0);
    this.optionalOrNull(entry, 'u_F', FARAD);
    this.optionalOrNull(entry, 'fixture_F', FARAD);
    this.optionalOrNull(entry, 'u_fixture_F', FARAD);
    this.walk.optionalNumber(entry, 'series_ohm', OHM);
    this.walk.optionalNumber(entry, 'misfit', MISFIT);
  }

  private optionalOrNull(entry: JsonObject, key: string, range: NumberRange): void {
    if (entry[key] !== undefined) this.walk.numberOrNull(entry, key, range);
  }

  magnet(value: unknown): void {
    const entry = this.walk.object(value, MAGNET_FIELDS, 'an object with at and pole');
    this.place(entry);
    this.walk.oneOf(entry, 'pole', ['N', 'S']);
    this.walk.optionalNumber(entry, 'field_T', TESLA_SIZE);
  }

  observed(value: unknown): void {
    const entry = this.walk.object(
      value,
      OBSERVED_FIELDS,
      'an object with at, plus, minus and swing',
    );
    this.place(entry);
    this.pair(entry, 'plus', 'minus');
    this.walk.oneOf(entry, 'swing', ['positive', 'negative', 'none']);
    this.walk.optionalNumber(entry, 'peak_V', VOLT_SIZE);
  }

  live(value: unknown): void {
    const entry = this.walk.object(value, LIVE_FIELDS, 'an object with a, b and volt_V');
    this.pair(entry, 'a', 'b');
    this.walk.number(entry, 'volt_V', VOLT);
  }
}

/** Index of the first sample that is neither null nor a number in range, or -1. */
function firstWrongSample(volts: readonly unknown[]): number {
  const { length } = volts;
  for (let index = 0; index < length; index++) {
    const value = volts[index];
    if (typeof value === 'number') {
      if (!(value >= -VOLT_MOST && value <= VOLT_MOST)) return index;
    } else if (value !== null) return index;
  }
  return -1;
}
