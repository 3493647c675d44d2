/** What one record says of a harness at its jack: ohms between two clips, and the swing of each touch. */
import { typedUncertainty_ohm } from '../evidence/hand-meter.ts';
import type { TouchReader } from '../evidence/touch-reader.ts';
import type { BenchObserved, BenchRecord, BenchResistance, BenchTouch } from '../files/bench-record.ts';
import { describe, FieldError } from '../files/field-walk.ts';
import type { Harness } from '../harness/harness.ts';
import { leadNode, type Lead, type Probe } from './wired.ts';

/** A touch and what it gave between the clips, plus against minus. */
export interface Swing {
  /** As the record names it. */
  readonly at: string;
  /** A tester's reading: flux of the arrival, webers, 0 where nothing was heard; null when a person watched a meter. */
  readonly flux_Wb: number | null;
  /** Its standard uncertainty. */
  readonly u_flux_Wb: number;
  /** First direction; 0 for none. */
  readonly sign: 1 | -1 | 0;
  /** Probability that it went the other way: a lift may look like an arrival. 0 where a person watched. */
  readonly doubt: number;
}

/** A swing whose direction is doubted more than this says only that something sounds. */
export const DOUBT_most = 0.01;

/** Ohms between the clips. */
export interface OhmReading {
  /** Null: more than `above_ohm`. */
  readonly ohm: number | null;
  readonly above_ohm: number;
  readonly u_ohm: number;
}

/** Inductance between the clips. */
export interface InductanceReading {
  readonly henry_H: number;
  readonly u_H: number;
}

/** One record, in the terms of its harness. */
export interface JackReading extends Probe {
  /** For messages. */
  readonly source: string;
  readonly resistance: OhmReading | null;
  /** Readings of the same two clips that do not agree. */
  readonly isUnsteady: boolean;
  /** Volts that were on the clips before anything was driven; 0 for none. */
  readonly live_V: number;
  readonly temperature_C: number | null;
  /** Inductance between the clips; null where none was read, or it cannot be compared. */
  readonly inductance: InductanceReading | null;
  readonly swings: readonly Swing[];
}

/** What readings may name. */
export interface Naming {
  readonly harness: Harness;
  /** Index and clips of what is fitted, by slot. */
  readonly leads: ReadonlyMap<string, { readonly pickup: number; readonly clips: readonly number[] }>;
  /** Every node that can be named. */
  readonly nodes: ReadonlySet<string>;
  /** Refuses a place that is none. @throws FieldError */
  checkPlace(path: string, place: string): void;
}

/** A tester's reading without an uncertainty (file-formats.md, `resistances`). */
const [TESTER_SHARE, TESTER_ohm] = [0.0003, 0.05];
/** No reading in a guitar is better: its tone capacitor is still charging, which a pickup alone has not. */
const CHARGING_share = 0.001;
/** Readings of one pair that differ by more of their uncertainties do not agree. */
const AGREE_u = 5;
/**
 * A tester reads an inductance by a step of voltage, whose current rises by the time constant of the coil and the resistors of
 * the path (coil aside about so much), and looks at it for three of them. Behind controls that is the inductance at a quarter
 * of the inverse time constant: within 1 % for a tone capacitor behind its pot, found by comparison with the simulated front end.
 */
const [STEP_PATH_ohm, STEP_turns] = [4450, 0.25];
/** A swing of less flux than this many of its uncertainties is none. */
const HEARD_u = 4;
/** Odds (ln) below which a channel holds no step of flux. */
const HEARD_logOdds = 3;
/** No reading of flux is better than this, webers: the smallest touch there is, 0.2 mWb, through a share of 0.02. */
const FLUX_u_least_Wb = 4e-6;

/** A record in the terms of its harness.
 * @param record - checked by `asBenchRecord`
 * @throws FieldError naming field, what stood there and what was expected
 */
export function readingOf(record: BenchRecord, source: string, naming: Naming, reader: TouchReader): JackReading {
  const { clips } = record;
  if (clips.length !== 2)
    throw new FieldError('clips', `${clips.length} clips`, 'two clips, the first at hot of the output and the second at its ground');
  const [plus, minus] = clips.map(({ clip }) => clip) as [number, number];
  const setting = settingOf(record.setting, naming.harness);
  const leads = (record.lifted ?? []).map((text, at) => liftedLead(`lifted[${at}]`, text, naming));
  const between = record.between ?? null;
  if (between !== null) {
    for (const key of ['plus', 'minus'] as const) checkPoint(`between.${key}`, between[key], leads, naming);
    if (between.plus === between.minus) throw new FieldError('between.minus', `${describe(between.minus)} stands in "plus" too`, 'two points');
  }
  const { resistance, isUnsteady } = combined(record.resistances, record.tester === undefined);
  const swings = [
    ...(record.touches ?? []).flatMap((touch, at) => captured(touch, `touches[${at}]`, plus, minus, naming, reader)),
    ...(record.observed ?? []).flatMap((one, at) => watched(one, `observed[${at}]`, plus, naming)),
  ];
  return {
    source, setting, lifted: leads, between, resistance, isUnsteady, swings,
    live_V: Math.max(0, ...(record.live ?? []).map(({ volt_V }) => Math.abs(volt_V))),
    temperature_C: record.temperature_C ?? null,
    ...inductanceOf(record, resistance),
  };
}

/** The inductance between the clips, and where a circuit has the same. */
function inductanceOf({ inductances = [] }: BenchRecord, resistance: OhmReading | null): Pick<JackReading, 'inductance' | 'omega'> {
  const [first] = inductances;
  const ohm = resistance?.ohm ?? null;
  if (first === undefined || ohm === null || !(first.henry_H > 0)) return { inductance: null, omega: null };
  const { henry_H, u_H } = first;
  return { inductance: { henry_H, u_H }, omega: (STEP_turns * (ohm + STEP_PATH_ohm)) / henry_H };
}

/** Index of a setting among all, the last switch changing fastest. */
function settingOf(setting: BenchRecord['setting'], { switches }: Harness): number {
  const example = switches.map(({ id, positions }) => `"${id}": "${positions[0]!.name}"`).join(', ');
  const expected = switches.length === 0 ? 'an empty object, since this harness has no switch' : `the position of each switch, such as { ${example} }`;
  if (setting === undefined) throw new FieldError('setting', 'missing', expected);
  for (const id of Object.keys(setting)) {
    if (!switches.some((one) => one.id === id)) {
      const known = switches.length === 0 ? 'none, since this harness has no switch' : `one of ${switches.map((one) => one.id).join(', ')}`;
      throw new FieldError('setting', `${describe(id)} is not a switch of this harness`, known);
    }
  }
  let index = 0;
  for (const { id, positions } of switches) {
    const names = positions.map(({ name }) => name);
    if (!Object.hasOwn(setting, id)) throw new FieldError('setting', `switch ${describe(id)} is missing`, `one of ${names.join(', ')}`);
    const at = names.indexOf(setting[id]!);
    if (at < 0) throw new FieldError('setting', `${describe(setting[id])} is not a position of ${id}`, `one of ${names.join(', ')}`);
    index = index * positions.length + at;
  }
  return index;
}

function liftedLead(path: string, text: string, { leads }: Naming): Lead {
  for (const [slot, { pickup, clips }] of leads) {
    const clip = clips.find((one) => leadNode(slot, one) === text);
    if (clip !== undefined) return { pickup, clip };
  }
  const [slot, own] = [...leads][0] ?? [];
  const expected = slot === undefined ? 'none, since no pickup is fitted' : `a lead such as "${leadNode(slot, own!.clips[0] ?? 1)}"`;
  throw new FieldError(path, `${describe(text)} is no lead of a fitted pickup`, expected);
}

function checkPoint(path: string, text: string, lifted: readonly Lead[], naming: Naming): void {
  if (naming.nodes.has(text)) return;
  const isLead = [...naming.leads].some(([slot, { pickup, clips }]) =>
    clips.some((clip) => leadNode(slot, clip) === text && lifted.some((one) => one.pickup === pickup && one.clip === clip)));
  if (!isLead)
    throw new FieldError(path, `${describe(text)} is neither a node nor a lifted lead`, `one of ${[...naming.nodes].join(', ')}, or a lead that "lifted" names`);
}

/** Readings of the two clips in one. */
function combined(all: readonly BenchResistance[], isTyped: boolean): { resistance: OhmReading | null; isUnsteady: boolean } {
  const read = all.flatMap(({ ohm, u_ohm }) => {
    if (ohm === null) return [];
    const usual = isTyped ? typedUncertainty_ohm(ohm) : TESTER_SHARE * ohm + TESTER_ohm;
    return [{ ohm, u: Math.max(u_ohm ?? usual, CHARGING_share * ohm, 1e-3) }];
  });
  const open = all.filter(({ ohm }) => ohm === null).map(({ above_ohm }) => above_ohm ?? 0);
  if (read.length === 0) {
    const resistance = open.length === 0 ? null : { ohm: null, above_ohm: Math.max(...open), u_ohm: 0 };
    return { resistance, isUnsteady: false };
  }
  const weight = read.reduce((sum, { u }) => sum + 1 / u ** 2, 0);
  const ohm = read.reduce((sum, { ohm: one, u }) => sum + one / u ** 2, 0) / weight;
  const isUnsteady = read.some(({ ohm: one, u }) => Math.abs(one - ohm) > AGREE_u * u) || open.some((above) => above > ohm);
  return { resistance: { ohm, above_ohm: 0, u_ohm: 1 / Math.sqrt(weight) }, isUnsteady };
}

/** What a tester heard. */
function captured(touch: BenchTouch, path: string, plus: number, minus: number, naming: Naming, reader: TouchReader): Swing[] {
  const { at, channels, rate_Hz, start_s } = touch;
  if (at === undefined) return [];
  naming.checkPlace(`${path}.at`, at);
  const channel = channels.find((one) => (one.plus === plus && one.minus === minus) || (one.plus === minus && one.minus === plus));
  if (channel === undefined) return [];
  const turn = channel.plus === plus ? 1 : -1;
  const read = reader.read([channel.volts_V], rate_Hz, start_s).channels[0]!;
  const u_flux_Wb = Math.max(read.u_flux_Wb, FLUX_u_least_Wb);
  const isHeard = read.touchLogOdds > HEARD_logOdds && Math.abs(read.flux_Wb) > HEARD_u * u_flux_Wb && read.signLogOdds !== 0;
  if (!isHeard) return [{ at, flux_Wb: 0, u_flux_Wb: Math.max(u_flux_Wb, Math.abs(read.flux_Wb) / 2), sign: 0, doubt: 0 }];
  const sign = read.signLogOdds * turn > 0 ? 1 : -1;
  return [{ at, flux_Wb: sign * Math.abs(read.flux_Wb), u_flux_Wb, sign, doubt: 1 / (1 + Math.exp(Math.abs(read.signLogOdds))) }];
}

/** What a person saw on a meter. */
function watched({ at, swing, ...meter }: BenchObserved, path: string, plus: number, naming: Naming): Swing[] {
  if (at === undefined) return [];
  naming.checkPlace(`${path}.at`, at);
  const turn = meter.plus === plus ? 1 : -1;
  const sign = swing === 'none' ? 0 : swing === 'positive' ? turn : -turn;
  return [{ at, flux_Wb: null, u_flux_Wb: 0, sign: sign as 1 | -1 | 0, doubt: 0 }];
}
