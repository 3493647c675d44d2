/** Checks that a parsed document is a wire map; what it returns is the very document. */
import type { WireMap } from '../wiremap/wiremap.ts';
import { COLOUR_EXPECTED, isColour } from '../wiremap/colours.ts';
import { describe, FieldWalk, type JsonObject } from './field-walk.ts';
import { CLIPS_MOST, COILS_MOST, ENTRIES_MOST, NAME_MOST } from './limits.ts';
import { HENRY, MUTUAL_HENRY, OHM, OHM_ABOVE_0, SHARE } from './ranges.ts';
import { plainText, plainTextHere } from './plain-text.ts';

export const WIREMAP_FORMAT = 'wiremap/1';
const MAP_EXPECTED = 'a wire map, an object with "format": "wiremap/1"';
const CLIP_EXPECTED = `a clip number, 1 to ${CLIPS_MOST}`;

const MAP_FIELDS = new Set([
  'format', 'verdict', 'coils', 'pairs', 'chassis', 'joined', 'isolated', 'findings', 'unknown', 'clips',
]);
const COIL_FIELDS = new Set([
  'name', 'minus', 'plus', 'ends', 'ohm', 'ohm_20C', 'u_ohm', 'place', 'pole', 'winding', 'inductance_H', 'confidence',
  'inner', 'hidden_end', 'hidden_junction', 'parts', 'text',
]);
const PART_FIELDS = new Set(['place', 'pole', 'sense']);
const PAIR_FIELDS = new Set(['a', 'b', 'poles_differ', 'witnesses', 'mutual_H', 'u_H']);
const FINDING_FIELDS = new Set(['kind', 'severity', 'clips', 'coil', 'fraction', 'text']);
const CLIP_FIELDS = new Set(['clip', 'colour']);

const COIL_NUMBERS = ['capacitance_F', 'u_capacitance_F', 'loss_ohm', 'u_loss_ohm', 'loss_s', 'u_loss_s', 'resonance_Hz', 'q'];
const ANY_NUMBER = { unit: 'a number', least: 0, most: Number.MAX_VALUE, expected: 'a number, 0 or more' };
const SENTENCE_MOST = 4000;

/** A wire map as a file holds it; maps made elsewhere may lack what only some tests give. */
export type WireMapFile = Omit<WireMap, 'pairs' | 'findings' | 'unknown'> &
  Partial<Pick<WireMap, 'pairs' | 'findings' | 'unknown'>> & {
    /** Colours of the leads, where whoever kept the map wrote them down; as in a bench record. */
    readonly clips?: readonly { readonly clip: number; readonly colour?: string }[];
  };

/** The wire map that a parsed document holds.
 * @param document - what `parseJson` returned
 * @throws FieldError naming the field, what stood there and what was expected
 */
export function asWireMap(document: unknown): WireMapFile {
  const walk = new FieldWalk();
  const map = walk.document(document, MAP_FIELDS, MAP_EXPECTED);
  if (map.format !== WIREMAP_FORMAT)
    walk.refuseAt('format', describe(map.format), `"${WIREMAP_FORMAT}"`);
  walk.oneOf(map, 'verdict', ['good', 'fault', 'unsure']);
  new MapChecks(walk).all(map);
  return map as unknown as WireMapFile;
}

/** The same map with what maps made elsewhere may lack written out as not known. */
export function filledMap<Map extends WireMapFile>(map: Map): Map & WireMap {
  const { coils, pairs = [], findings = [], unknown = [] } = map;
  return {
    ...map,
    coils: coils.map((coil) => ({ ...coil, place: coil.place ?? null, pole: coil.pole ?? null })),
    pairs: pairs.map((pair) => ({ ...pair, witnesses: pair.witnesses ?? [] })),
    findings: findings.map((finding) => ({ ...finding, clips: finding.clips ?? [], text: finding.text ?? '' })),
    unknown,
  };
}

/** A wire map as "tapstone solve" prints it and a stock keeps it, which nothing is missing from.
 * @throws FieldError naming the field, what stood there and what was expected
 */
export function asWholeMap(document: unknown): WireMap {
  const map = asWireMap(document) as WireMapFile & JsonObject;
  const walk = new FieldWalk();
  walk.list(map, 'pairs', 0, ENTRIES_MOST, 'pairs of coils', (entry) => {
    walk.list(entry as JsonObject, 'witnesses', 0, ENTRIES_MOST, 'words', (word) => plainTextHere(walk, word, NAME_MOST, 'a word'));
  });
  walk.list(map, 'findings', 0, ENTRIES_MOST, 'findings', (entry) => {
    const finding = entry as JsonObject;
    walk.text(finding, 'kind', NAME_MOST, 'a word');
    walk.oneOf(finding, 'severity', ['note', 'warning', 'fault']);
    walk.list(finding, 'clips', 0, CLIPS_MOST, 'clips', () => undefined);
    walk.text(finding, 'text', SENTENCE_MOST, 'a sentence');
  });
  walk.list(map, 'unknown', 0, ENTRIES_MOST, 'sentences', (entry) => plainTextHere(walk, entry, SENTENCE_MOST, 'a sentence'));
  walk.list(map, 'coils', 0, COILS_MOST, 'coils', (entry) => {
    const coil = entry as JsonObject;
    for (const key of COIL_NUMBERS) walk.optionalNumber(coil, key, ANY_NUMBER);
    walk.optionalText(coil, 'text', SENTENCE_MOST, 'a sentence');
    if (coil.place === undefined) walk.refuseAt('place', 'missing', 'the name of a place, or null');
    if (coil.pole === undefined) walk.refuseAt('pole', 'missing', '"N", "S" or null');
  });
  return map as unknown as WireMap;
}

class MapChecks {
  private readonly walk: FieldWalk;
  private readonly coils = new Set<string>();

  constructor(walk: FieldWalk) {
    this.walk = walk;
  }

  all(map: JsonObject): void {
    const { walk } = this;
    walk.list(map, 'coils', 0, COILS_MOST, 'coils', (entry) => this.coil(entry));
    walk.optionalList(map, 'pairs', 0, ENTRIES_MOST, 'pairs of coils', (entry) => this.pair(entry));
    this.clipList(map, 'chassis', 0);
    walk.list(map, 'joined', 0, CLIPS_MOST, 'groups of clips', (entry) => this.clipsHere(entry, 2));
    if (map.isolated !== undefined) this.clipList(map, 'isolated', 0);
    walk.optionalList(map, 'findings', 0, ENTRIES_MOST, 'findings', (entry) => {
      const finding = walk.object(entry, FINDING_FIELDS, 'an object with kind, severity, clips and text');
      if (finding.clips !== undefined) this.clipList(finding, 'clips', 0);
    });
    this.colours(map);
  }

  private clip(value: unknown): number {
    if (typeof value !== 'number' || !Number.isInteger(value) || value < 1 || value > CLIPS_MOST)
      this.walk.refuse(`${describe(value)} is not a clip`, CLIP_EXPECTED);
    return value;
  }

  private clipList(owner: JsonObject, key: string, least: number): void {
    this.walk.enter(key);
    this.clipsHere(owner[key], least);
    this.walk.leave();
  }

  private clipsHere(value: unknown, least: number): void {
    const seen = new Set<number>();
    this.walk.listHere(value, least, CLIPS_MOST, 'clips', (entry) => {
      const clip = this.clip(entry);
      if (seen.has(clip)) this.walk.refuse(`${clip} is listed twice`, 'each clip once');
      seen.add(clip);
    });
  }

  private clipOrNull(owner: JsonObject, key: string): number | null {
    const value = owner[key];
    if (value === null) return null;
    this.walk.enter(key);
    const clip = value === undefined ? this.walk.refuse('missing', `${CLIP_EXPECTED}, or null`) : this.clip(value);
    this.walk.leave();
    return clip;
  }

  private coil(entry: unknown): void {
    const { walk } = this;
    const coil = walk.object(entry, COIL_FIELDS, 'an object with name, minus, plus, ends and ohm');
    const name = plainText(walk, coil, 'name', NAME_MOST, 'a name of its own');
    if (this.coils.has(name))
      walk.refuseAt('name', `${describe(name)} names an earlier coil`, 'a name of its own');
    this.coils.add(name);
    if (coil.ends !== null) this.ends(coil);
    const [minus, plus] = [this.clipOrNull(coil, 'minus'), this.clipOrNull(coil, 'plus')];
    if ((minus === null) !== (plus === null))
      walk.refuseAt(minus === null ? 'minus' : 'plus', 'null beside a clip', 'both of minus and plus, or neither');
    if (minus !== null) {
      const ends = (coil.ends ?? []) as readonly number[];
      if (!ends.includes(minus)) walk.refuseAt('minus', `${minus} is not an end of this coil`, 'one of "ends"');
      if (!ends.includes(plus as number)) walk.refuseAt('plus', `${plus} is not an end of this coil`, 'one of "ends"');
      if (minus === plus) walk.refuseAt('plus', `${plus} stands in "minus" too`, 'two different clips');
    }
    const ohm = walk.numberOrNull(coil, 'ohm', OHM_ABOVE_0);
    if (ohm !== null && coil.ends === null) walk.refuseAt('ends', 'null beside a resistance', 'the two clips of the coil');
    walk.optionalNumber(coil, 'ohm_20C', OHM_ABOVE_0);
    walk.optionalNumber(coil, 'u_ohm', OHM);
    if (coil.place !== undefined && coil.place !== null) plainText(walk, coil, 'place', NAME_MOST, 'the name of a place, or null');
    this.pole(coil);
    walk.optionalNumber(coil, 'inductance_H', HENRY);
    walk.optionalNumber(coil, 'confidence', SHARE);
    if (coil.hidden_junction !== undefined) walk.truth(coil, 'hidden_junction');
    walk.optionalList(coil, 'parts', 0, COILS_MOST, 'parts', (part) => {
      this.pole(walk.object(part, PART_FIELDS, 'an object with place and pole'));
    });
  }

  private ends(coil: JsonObject): void {
    this.clipList(coil, 'ends', 2);
    if ((coil.ends as unknown[]).length !== 2)
      this.walk.refuseAt('ends', describe(coil.ends), 'two clips, or null for an open coil');
  }

  private pole(owner: JsonObject): void {
    if (owner.pole !== undefined && owner.pole !== null && owner.pole !== 'N' && owner.pole !== 'S')
      this.walk.refuseAt('pole', `${describe(owner.pole)} is not a pole`, '"N", "S" or null');
  }

  private pair(entry: unknown): void {
    const { walk } = this;
    const pair = walk.object(entry, PAIR_FIELDS, 'an object with a, b and poles_differ');
    for (const key of ['a', 'b']) {
      const name = walk.text(pair, key, NAME_MOST, 'the name of a coil');
      if (!this.coils.has(name))
        walk.refuseAt(key, `${describe(name)} is not a coil here`, `one of ${[...this.coils].join(', ')}`);
    }
    if (pair.a === pair.b) walk.refuseAt('b', `${describe(pair.b)} stands in "a" too`, 'two different coils');
    if (pair.poles_differ !== null && typeof pair.poles_differ !== 'boolean')
      walk.refuseAt('poles_differ', `${describe(pair.poles_differ)} is not known here`, 'true, false or null');
    walk.optionalNumber(pair, 'mutual_H', MUTUAL_HENRY);
  }

  private colours(map: JsonObject): void {
    const { walk } = this;
    walk.optionalList(map, 'clips', 0, CLIPS_MOST, 'clips', (entry) => {
      const lead = walk.object(entry, CLIP_FIELDS, 'an object with clip and colour');
      walk.whole(lead, 'clip', 1, CLIPS_MOST, 'a clip number');
      if (lead.colour !== undefined && !(typeof lead.colour === 'string' && isColour(lead.colour)))
        walk.refuseAt('colour', `${describe(lead.colour)} is not a colour code`, COLOUR_EXPECTED);
    });
  }
}
