/** Checks that a parsed document is a harness; what it returns is the very document. */
import { describe, FieldWalk, type JsonObject } from '../files/field-walk.ts';
import { CLIPS_MOST, ENTRIES_MOST, NAME_MOST, TEXT_MOST } from '../files/limits.ts';
import { plainText, plainTextHere } from '../files/plain-text.ts';
import { FARAD, FARAD_ABOVE_0, OHM_ABOVE_0, SHARE } from '../files/ranges.ts';
import { eachNode, WAY_KINDS, type Harness } from './harness.ts';

export const HARNESS_FORMAT = 'harness/1';
const HARNESS_EXPECTED = 'a harness, an object with "format": "harness/1"';
const NODE = 'the name of a node';

export const SETTINGS_MOST = 256;
export const SLOTS_MOST = 8;
export const NODES_MOST = 200;

const HARNESS_FIELDS = new Set([
  'format', 'title', 'slots', 'joins', 'parts', 'switches', 'output', 'load', 'fitted',
]);
const SLOT_FIELDS = new Set(['slot', 'hot', 'link', 'ground', 'frame']);
const PART_FIELDS = new Set(['id', 'kind', 'a', 'wiper', 'b', 'ohm', 'turn', 'farad_F']);
const SWITCH_FIELDS = new Set(['id', 'positions']);
const POSITION_FIELDS = new Set(['name', 'joins']);
const OUTPUT_FIELDS = new Set(['hot', 'ground']);
const LOAD_FIELDS = new Set(['ohm', 'farad_F']);
const FITTED_FIELDS = new Set(['slot', 'map', 'record', 'leads', 'way', 'assume']);
const WAY_FIELDS = new Set(['kind', 'coils', 'turned']);
const ASSUME_FIELDS = new Set(['capacitance_F', 'loss_ohm']);

/** The harness that a parsed document holds; wire maps are not looked at.
 * @param document - what `parseJson` returned
 * @throws FieldError naming the field, what stood there and what was expected
 */
export function asHarness(document: unknown): Harness {
  const walk = new FieldWalk();
  const harness = walk.document(document, HARNESS_FIELDS, HARNESS_EXPECTED);
  if (harness.format !== HARNESS_FORMAT)
    walk.refuseAt('format', describe(harness.format), `"${HARNESS_FORMAT}"`);
  new HarnessChecks(walk).all(harness);
  return harness as unknown as Harness;
}

class HarnessChecks {
  private readonly walk: FieldWalk;
  private readonly slots = new Set<string>();
  private readonly filled = new Set<string>();

  constructor(walk: FieldWalk) {
    this.walk = walk;
  }

  all(harness: JsonObject): void {
    const { walk } = this;
    if (harness.title !== undefined) plainText(walk, harness, 'title', TEXT_MOST, 'a text');
    walk.list(harness, 'slots', 0, SLOTS_MOST, 'slots', (entry) => this.slot(entry));
    this.joins(harness);
    const parts = new Set<string>();
    walk.optionalList(harness, 'parts', 0, ENTRIES_MOST, 'parts', (entry) => this.part(entry, parts));
    const switches = new Set<string>();
    walk.list(harness, 'switches', 0, ENTRIES_MOST, 'switches', (entry) => this.switch(entry, switches));
    this.settings(harness);
    this.output(harness.output);
    if (harness.load !== undefined) this.load(harness.load);
    walk.list(harness, 'fitted', 0, ENTRIES_MOST, 'pickups', (entry) => this.fitted(entry));
    const nodes = new Set<string>();
    eachNode(harness as unknown as Harness, (node) => nodes.add(node));
    if (nodes.size > NODES_MOST) walk.refuse(`${nodes.size} nodes`, `at most ${NODES_MOST} nodes`);
  }

  /** A name that stands once in its list. */
  private ownName(owner: JsonObject, key: string, taken: Set<string>, what: string): string {
    const name = plainText(this.walk, owner, key, NAME_MOST, 'a name of its own');
    if (taken.has(name))
      this.walk.refuseAt(key, `${describe(name)} names an earlier ${what}`, 'a name of its own');
    taken.add(name);
    return name;
  }

  private node(owner: JsonObject, key: string): void {
    plainText(this.walk, owner, key, NAME_MOST, NODE);
  }

  private slot(value: unknown): void {
    const slot = this.walk.object(value, SLOT_FIELDS, 'an object with slot, hot, ground and frame');
    this.ownName(slot, 'slot', this.slots, 'slot');
    for (const key of ['hot', 'ground', 'frame']) this.node(slot, key);
    if (slot.link !== undefined) this.node(slot, 'link');
  }

  private joins(owner: JsonObject): void {
    const { walk } = this;
    walk.optionalList(owner, 'joins', 0, ENTRIES_MOST, 'lists of nodes', (join) => {
      walk.listHere(join, 2, NODES_MOST, 'nodes', (node) => plainTextHere(walk, node, NAME_MOST, NODE));
    });
  }

  private part(value: unknown, taken: Set<string>): void {
    const { walk } = this;
    const part = walk.object(value, PART_FIELDS, 'an object with id, kind, a and b');
    this.ownName(part, 'id', taken, 'part');
    switch (walk.oneOf(part, 'kind', ['pot', 'resistor', 'capacitor'])) {
      case 'pot':
        this.node(part, 'wiper');
        for (const key of ['a', 'b']) if (part[key] !== null) this.potEnd(part, key);
        walk.number(part, 'ohm', OHM_ABOVE_0);
        walk.optionalNumber(part, 'turn', SHARE);
        return;
      case 'resistor':
        for (const key of ['a', 'b']) this.node(part, key);
        walk.number(part, 'ohm', OHM_ABOVE_0);
        return;
      case 'capacitor':
        for (const key of ['a', 'b']) this.node(part, key);
        walk.number(part, 'farad_F', FARAD_ABOVE_0);
    }
  }

  private potEnd(part: JsonObject, key: string): void {
    plainText(this.walk, part, key, NAME_MOST, `${NODE}, or null for an end that is not connected`);
  }

  private switch(value: unknown, taken: Set<string>): void {
    const { walk } = this;
    const one = walk.object(value, SWITCH_FIELDS, 'an object with id and positions');
    this.ownName(one, 'id', taken, 'switch');
    const positions = new Set<string>();
    walk.list(one, 'positions', 1, SETTINGS_MOST, 'positions', (entry) => {
      const position = walk.object(entry, POSITION_FIELDS, 'an object with name and joins');
      this.ownName(position, 'name', positions, 'position of this switch');
      this.joins(position);
    });
  }

  private settings({ switches }: JsonObject): void {
    let count = 1;
    for (const { positions } of switches as { positions: unknown[] }[]) count *= positions.length;
    if (count > SETTINGS_MOST)
      this.walk.refuseAt('switches', `${count} settings`, `at most ${SETTINGS_MOST} settings in all`);
  }

  private output(value: unknown): void {
    this.walk.enter('output');
    const output = this.walk.object(value, OUTPUT_FIELDS, 'an object with hot and ground');
    this.node(output, 'hot');
    this.node(output, 'ground');
    this.walk.leave();
  }

  private load(value: unknown): void {
    this.walk.enter('load');
    const load = this.walk.object(value, LOAD_FIELDS, 'an object with ohm and farad_F');
    this.walk.optionalNumber(load, 'ohm', OHM_ABOVE_0);
    this.walk.optionalNumber(load, 'farad_F', FARAD);
    this.walk.leave();
  }

  private fitted(value: unknown): void {
    const { walk } = this;
    const fitted = walk.object(value, FITTED_FIELDS, 'an object with slot and map');
    const slot = plainText(walk, fitted, 'slot', NAME_MOST, 'the name of a slot');
    const known = this.slots.size === 0 ? 'the name of a slot (there is none)' : `one of ${[...this.slots].join(', ')}`;
    if (!this.slots.has(slot)) walk.refuseAt('slot', `${describe(slot)} is not a slot here`, known);
    if (this.filled.has(slot))
      walk.refuseAt('slot', `${describe(slot)} is fitted twice`, 'one pickup in each slot');
    this.filled.add(slot);
    this.source(fitted);
    if (fitted.leads !== undefined && fitted.way !== undefined)
      walk.refuseAt('way', 'stands beside "leads"', 'one of the two');
    if (fitted.leads !== undefined) this.leads(fitted.leads);
    if (fitted.way !== undefined) this.way(fitted.way);
    if (fitted.assume !== undefined) this.assume(fitted.assume);
  }

  private source(fitted: JsonObject): void {
    const { walk } = this;
    const path = 'the path of a wire map, or "record" with that of a bench record';
    if (fitted.map !== undefined && fitted.record !== undefined)
      walk.refuseAt('record', 'stands beside "map"', 'one of the two');
    if (fitted.record !== undefined) plainText(walk, fitted, 'record', TEXT_MOST, 'the path of a bench record');
    else plainText(walk, fitted, 'map', TEXT_MOST, path);
  }

  private leads(value: unknown): void {
    const { walk } = this;
    walk.enter('leads');
    const leads = walk.object(value, new Set(), 'an object from clip to node');
    for (const [clip, node] of Object.entries(leads)) {
      if (!/^[1-6]$/.test(clip))
        walk.refuseAt(clip, 'not a clip', `a clip, "1" to "${CLIPS_MOST}"`);
      if (node === null) continue;
      plainText(walk, leads, clip, NAME_MOST, `${NODE}, or null for a lead that is insulated`);
    }
    walk.leave();
  }

  private way(value: unknown): void {
    const { walk } = this;
    walk.enter('way');
    const way = walk.object(value, WAY_FIELDS, 'an object with kind and coils');
    const kind = walk.oneOf(way, 'kind', WAY_KINDS);
    const [least, most] = kind === 'alone' ? [1, 1] : [2, ENTRIES_MOST];
    const seen = new Set<string>();
    walk.list(way, 'coils', least, most, kind === 'alone' ? 'coil' : 'coils', (entry) => {
      const name = plainTextHere(walk, entry, NAME_MOST, 'the name of a coil');
      if (seen.has(name)) walk.refuse(`${describe(name)} is named twice`, 'each coil once');
      seen.add(name);
    });
    if (way.turned !== undefined) walk.truth(way, 'turned');
    walk.leave();
  }

  private assume(value: unknown): void {
    this.walk.enter('assume');
    const assume = this.walk.object(value, ASSUME_FIELDS, 'an object with capacitance_F and loss_ohm');
    this.walk.optionalNumber(assume, 'capacitance_F', FARAD);
    this.walk.optionalNumber(assume, 'loss_ohm', OHM_ABOVE_0);
    this.walk.leave();
  }
}
