/** Checks that a parsed document is a pickup for the virtual bench; what it returns is the very document. */
import { CHASSIS_NODE, tapPoint, type Pickup } from './pickup.ts';
import { checkColour } from '../files/bench-file.ts';
import { describe, FieldWalk, type JsonObject } from '../files/field-walk.ts';
import { CLIPS_MOST, COILS_MOST, ENTRIES_MOST, NAME_MOST, TEXT_MOST } from '../files/limits.ts';
import {
  DURATION,
  FARAD,
  HENRY_ABOVE_0,
  HERTZ_SIZE,
  OHM,
  OHM_ABOVE_0,
  SHARE,
  TEMPERATURE,
  TOUCH_DURATION,
  VOLT,
  VOLT_SIZE,
  WEBER_SIZE,
} from '../files/ranges.ts';

export const PICKUP_FORMAT = 'pickup/1';
const PICKUP_EXPECTED = 'a pickup, an object with "format": "pickup/1"';

const PICKUP_FIELDS = new Set([
  'format',
  'title',
  'temperature_C',
  'coils',
  'couplings',
  'leads',
  'faults',
  'touches',
  'magnet_readings',
  'interference',
]);
const COIL_FIELDS = new Set([
  'id',
  'from',
  'to',
  'resistance_ohm_20C',
  'inductance_H',
  'capacitance_F',
  'loss_ohm',
  'winding',
  'pole',
  'place',
  'pole_piece',
]);
const COUPLING_FIELDS = new Set(['a', 'b', 'k']);
const LEAD_FIELDS = new Set(['clip', 'colour', 'node', 'ohm']);
const FAULT_FIELDS = new Set([
  'kind',
  'a',
  'b',
  'ohm',
  'coil',
  'fraction',
  'clip',
  'from_s',
  'to_s',
  'between',
  'volt_V',
  'source_ohm',
]);
const TOUCH_FIELDS = new Set([
  'coil',
  'flux_Wb',
  'rise_s',
  'hold_s',
  'fall_s',
  'bounces',
  'crosstalk',
]);
const INTERFERENCE_FIELDS = new Set(['hum_Hz', 'hum_V', 'noise_V']);
const FAULT_KINDS = ['bridge', 'open', 'shorted_turns', 'intermittent', 'live'] as const;

const NODE_EXPECTED = `an end of a coil, coil@fraction, or "${CHASSIS_NODE}"`;
const LEAD_EXPECTED = `an end of a coil, coil@fraction, "${CHASSIS_NODE}", or null for a lead that is connected to nothing`;
const FRACTION = {
  unit: 'a fraction',
  least: 0,
  most: 1,
  above: true,
  expected: 'a fraction above 0 and below 1',
};
const K = {
  unit: 'a coupling',
  least: -1,
  most: 1,
  above: true,
  expected: 'a coupling between -1 and 1',
};
const BOUNCES_MOST = 20;

/** The pickup that a parsed document holds.
 * @param document - what `parseJson` returned
 * @param warn - is given a sentence for each field that is ignored and looks like a misspelt one
 * @throws FieldError naming the field, what stood there and what was expected
 */
export function asPickup(document: unknown, warn?: (sentence: string) => void): Pickup {
  const walk = new FieldWalk();
  const pickup = walk.document(document, PICKUP_FIELDS, PICKUP_EXPECTED);
  if (pickup.format !== PICKUP_FORMAT)
    walk.refuseAt('format', describe(pickup.format), `"${PICKUP_FORMAT}"`);
  walk.optionalText(pickup, 'title', TEXT_MOST, 'a text');
  walk.number(pickup, 'temperature_C', TEMPERATURE);
  new PickupChecks(walk).all(pickup);
  if (warn !== undefined) walk.warnings.forEach(warn);
  return pickup as unknown as Pickup;
}

class PickupChecks {
  private readonly walk: FieldWalk;
  private readonly coils = new Set<string>();
  private readonly nodes = new Set<string>([CHASSIS_NODE]);
  private readonly clips = new Set<number>();

  constructor(walk: FieldWalk) {
    this.walk = walk;
  }

  all(pickup: JsonObject): void {
    const { walk } = this;
    walk.list(pickup, 'coils', 1, COILS_MOST, 'coils', (entry) => this.coil(entry));
    this.tapNames(pickup);
    this.couplings(pickup);
    walk.list(pickup, 'leads', 1, CLIPS_MOST, 'leads', (entry) => this.lead(entry));
    walk.list(pickup, 'faults', 0, ENTRIES_MOST, 'faults', (entry) => this.fault(entry));
    walk.list(pickup, 'touches', 0, ENTRIES_MOST, 'touches', (entry) => this.touch(entry));
    walk.truth(pickup, 'magnet_readings');
    this.interference(pickup.interference);
  }

  private coil(value: unknown): void {
    const { walk } = this;
    const coil = walk.object(value, COIL_FIELDS, 'an object with id, from, to and so on');
    const id = walk.text(coil, 'id', NAME_MOST, 'a name of its own');
    if (this.coils.has(id))
      walk.refuseAt('id', `${describe(id)} names an earlier coil`, 'a name of its own');
    this.coils.add(id);
    const from = walk.text(coil, 'from', NAME_MOST, 'the name of a node');
    const to = walk.text(coil, 'to', NAME_MOST, 'the name of a node');
    if (from === to)
      walk.refuseAt('to', `${describe(to)} stands in "from" too`, 'two different nodes');
    this.nodes.add(from).add(to);
    walk.number(coil, 'resistance_ohm_20C', OHM_ABOVE_0);
    walk.number(coil, 'inductance_H', HENRY_ABOVE_0);
    walk.number(coil, 'capacitance_F', FARAD);
    walk.optionalNumber(coil, 'loss_ohm', OHM_ABOVE_0);
    walk.oneOf(coil, 'winding', ['cw', 'ccw']);
    walk.oneOf(coil, 'pole', ['N', 'S']);
    walk.text(coil, 'place', NAME_MOST, 'the name of a place');
    if (coil.pole_piece !== undefined)
      walk.oneOf(coil, 'pole_piece', ['screw', 'slug', 'rod', 'blade', 'other']);
  }

  /** A coil may end at a point of another coil's winding: checked once all coils are known. */
  private tapNames(pickup: JsonObject): void {
    (pickup.coils as JsonObject[]).forEach((coil, index) => {
      this.walk.enter('coils');
      this.walk.enter(index);
      for (const key of ['from', 'to']) {
        const node = coil[key] as string;
        const tap = tapPoint(node);
        if (node.includes('@') && (tap === null || !this.coils.has(tap.coil)))
          this.noNode(key, node);
        if (tap?.coil === coil.id)
          this.walk.refuseAt(key, `${describe(node)} is a point of this very coil`, 'another node');
      }
      this.walk.leave();
      this.walk.leave();
    });
  }

  private noNode(key: string | number, node: string, expected = NODE_EXPECTED): never {
    return this.walk.refuseAt(key, `${describe(node)} leads nowhere`, expected);
  }

  private node(owner: JsonObject, key: string, expected = NODE_EXPECTED): string {
    const node = this.walk.text(owner, key, NAME_MOST, expected);
    if (!this.leadsSomewhere(node)) this.noNode(key, node, expected);
    return node;
  }

  private leadsSomewhere(node: string): boolean {
    const tap = tapPoint(node);
    return this.nodes.has(node) || (tap !== null && this.coils.has(tap.coil));
  }

  private coilName(owner: JsonObject, key: string): string {
    const id = this.walk.text(owner, key, NAME_MOST, 'the id of a coil');
    if (!this.coils.has(id))
      this.walk.refuseAt(key, `${describe(id)} is not a coil here`, 'the id of a coil');
    return id;
  }

  private couplings(pickup: JsonObject): void {
    const { walk } = this;
    const seen = new Set<string>();
    walk.list(pickup, 'couplings', 0, ENTRIES_MOST, 'couplings', (value) => {
      const coupling = walk.object(value, COUPLING_FIELDS, 'an object with a, b and k');
      const pair = [this.coilName(coupling, 'a'), this.coilName(coupling, 'b')].sort();
      if (pair[0] === pair[1])
        walk.refuseAt('b', `${describe(pair[0])} stands in "a" too`, 'two different coils');
      const key = JSON.stringify(pair);
      if (seen.has(key))
        walk.refuseAt('b', 'these two coils are listed twice', 'each pair of coils once');
      seen.add(key);
      const k = walk.number(coupling, 'k', K);
      if (k === 1) walk.refuseAt('k', '1 is not below 1', K.expected);
    });
    if (!isPhysical(pickup)) {
      walk.refuseAt(
        'couplings',
        'together these cannot be, as more energy would come out of the coils than went in',
        'smaller couplings',
      );
    }
  }

  private lead(value: unknown): void {
    const { walk } = this;
    const lead = walk.object(value, LEAD_FIELDS, 'an object with clip, colour and node');
    walk.optionalNumber(lead, 'ohm', OHM);
    const clip = walk.whole(lead, 'clip', 1, CLIPS_MOST, 'a clip number');
    if (this.clips.has(clip)) walk.refuseAt('clip', `${clip} is listed twice`, 'each clip once');
    this.clips.add(clip);
    checkColour(walk, lead);
    // Nowhere is said by null alone: a name that no coil has is a slip of the pen.
    if (lead.node !== null) this.node(lead, 'node', LEAD_EXPECTED);
  }

  private fault(value: unknown): void {
    const { walk } = this;
    const fault = walk.object(value, FAULT_FIELDS, 'an object with kind');
    switch (walk.oneOf(fault, 'kind', FAULT_KINDS)) {
      case 'bridge': {
        const a = this.node(fault, 'a');
        if (this.node(fault, 'b') === a)
          walk.refuseAt('b', `${describe(a)} stands in "a" too`, 'two different points');
        walk.number(fault, 'ohm', OHM);
        return;
      }
      case 'open':
        this.coilName(fault, 'coil');
        return;
      case 'shorted_turns':
        this.coilName(fault, 'coil');
        if (walk.number(fault, 'fraction', FRACTION) === 1)
          walk.refuseAt('fraction', '1 is not below 1', FRACTION.expected);
        return;
      case 'intermittent':
        this.intermittent(fault);
        return;
      case 'live':
        this.live(fault);
    }
  }

  private intermittent(fault: JsonObject): void {
    const { walk } = this;
    const clip = fault.clip;
    if (!this.clips.has(clip as number)) {
      walk.refuseAt(
        'clip',
        clip === undefined ? 'missing' : `${describe(clip)} is not a clip in use`,
        'the clip of a lead',
      );
    }
    const from_s = walk.number(fault, 'from_s', DURATION);
    const to_s = walk.number(fault, 'to_s', DURATION);
    if (to_s < from_s)
      walk.refuseAt('to_s', `${to_s} lies before from_s`, `seconds, ${from_s} or more`);
  }

  private live(fault: JsonObject): void {
    const walk: FieldWalk = this.walk;
    const seen: unknown[] = [];
    walk.list(fault, 'between', 2, 2, 'nodes', (node, index) => {
      if (typeof node !== 'string') walk.refuse(`${describe(node)} is not a text`, NODE_EXPECTED);
      if (!this.leadsSomewhere(node)) walk.refuse(`${describe(node)} leads nowhere`, NODE_EXPECTED);
      if (index === 1 && seen[0] === node)
        walk.refuse(`${describe(node)} is named twice`, 'two different nodes');
      seen.push(node);
    });
    walk.number(fault, 'volt_V', VOLT);
    walk.optionalNumber(fault, 'source_ohm', OHM_ABOVE_0);
  }

  private touch(value: unknown): void {
    const { walk } = this;
    const touch = walk.object(
      value,
      TOUCH_FIELDS,
      'an object with coil, flux_Wb, rise_s, hold_s and fall_s',
    );
    if (touch.coil !== null) this.coilName(touch, 'coil');
    walk.number(touch, 'flux_Wb', WEBER_SIZE);
    for (const key of ['rise_s', 'hold_s', 'fall_s']) walk.number(touch, key, TOUCH_DURATION);
    if (touch.bounces !== undefined)
      walk.whole(touch, 'bounces', 0, BOUNCES_MOST, 'a whole number');
    walk.optionalNumber(touch, 'crosstalk', SHARE);
  }

  private interference(value: unknown): void {
    const { walk } = this;
    walk.enter('interference');
    const interference = walk.object(
      value,
      INTERFERENCE_FIELDS,
      'an object with hum_Hz, hum_V and noise_V',
    );
    walk.number(interference, 'hum_Hz', HERTZ_SIZE);
    walk.number(interference, 'hum_V', VOLT_SIZE);
    walk.number(interference, 'noise_V', VOLT_SIZE);
    walk.leave();
  }
}

/**
 * Whether the inductances, with the signs that the windings give to the couplings, can belong to real coils:
 * the matrix of 1 and -k*w1*w2 must be positive definite (Cholesky), since no current may give back more than it stored.
 */
function isPhysical(pickup: JsonObject): boolean {
  const coils = pickup.coils as JsonObject[];
  const index = new Map(coils.map((coil, at) => [coil.id as string, at]));
  const sense = coils.map((coil) => (coil.winding === 'cw' ? 1 : -1));
  const rows = coils.map((_, row) => coils.map((__, column) => (row === column ? 1 : 0)));
  for (const { a, b, k } of pickup.couplings as { a: string; b: string; k: number }[]) {
    const [i, j] = [index.get(a) as number, index.get(b) as number];
    const value = -k * (sense[i] as number) * (sense[j] as number);
    (rows[i] as number[])[j] = value;
    (rows[j] as number[])[i] = value;
  }
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i] as number[];
    for (let j = 0; j <= i; j++) {
      const other = rows[j] as number[];
      let sum = row[j] as number;
      for (let n = 0; n < j; n++) sum -= (row[n] as number) * (other[n] as number);
      if (i === j) {
        if (!(sum > 0)) return false;
        row[i] = Math.sqrt(sum);
      } else row[j] = sum / (other[j] as number);
    }
  }
  return true;
}
