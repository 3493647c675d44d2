/** Counts how wire maps of records made elsewhere compare with what was there. */
import type { RefusedRecord, WireMap, WireMapCoil } from '../../host/src/wiremap/wiremap.ts';
import type { TrueCoil, Truth } from './truth.ts';

/** Findings that are an alarm where nothing is wrong. Siblings that differ, or a joined clip, may be told of sound pickups. */
const ALARMS = new Set(['bridge', 'open', 'shorted_turns', 'intermittent', 'live', 'leak', 'contradiction', 'weak_touch']);
/** A claim that is surer than this must not be wrong. */
const SURE = 0.99;
/** Part of the greatest swing below which a place says nothing of which way a pair of clips goes. */
const SWING_SHARE = 0.3;
/** Swing of a pair of clips, relative to a touch, below which no coil lies between them. */
const SWING_LEAST = 1e-3;

/** How often something that was there was told. */
export interface Found {
  readonly all: number;
  readonly found: number;
  readonly shown: number;
  readonly shownFound: number;
}

type Counting<T> = { -readonly [K in keyof T]: T[K] };

/** Counts over a set. */
export class Tally {
  records = 0;
  malformed = 0;
  claims = 0;
  wrong = 0;
  wrongSure = 0;
  /** Wrong, since a person had noted the swing wrongly. */
  wrongMisled = 0;
  known = 0;
  silent = 0;
  clean = 0;
  cleanNotGood = 0;
  cleanAlarm = 0;
  verdictOk = 0;
  placesClaimed = 0;
  placesRight = 0;
  /** Leads that lost contact, seen in the record, in a pickup that was called good. */
  lostCalledGood = 0;
  readonly expected = new Map<string, Counting<Found>>();
  /** One sentence for each thing that went wrong. */
  readonly notes: string[] = [];
  private squares = 0;

  /** Mean square of what a claim's confidence is away from 1 (right) or 0 (wrong). */
  get brier(): number {
    return this.squares / Math.max(1, this.claims);
  }

  /** Adds a record. @param map - what the program printed for it */
  add(map: WireMap | RefusedRecord, truth: Truth): void {
    const fault = malformation(map, truth.clips);
    if (fault !== null || map.format !== 'wiremap/1') {
      this.malformed += 1;
      this.note(truth, `malformed, ${fault}`);
      return;
    }
    this.records += 1;
    const coils = map.coils.filter((coil) => coil.plus !== null || coil.ends !== null);
    for (const coil of coils) this.claim(coil, truth);
    const mapped = new Map(coils.map((coil) => [key(endsOf(coil), truth), coil]));
    for (const coil of truth.coils) {
      if (!coil.known) continue;
      this.known += 1;
      if (typeof mapped.get(key(coil.ends, truth))?.plus === 'number') continue;
      this.silent += 1;
      this.note(truth, `silent of the coil at ${coil.ends.join(' and ')}, ideal d ${coil.d}`);
    }
    this.tell(map, truth);
  }

  private claim(coil: WireMapCoil, truth: Truth): void {
    const { plus, minus } = coil;
    if (plus === null || minus === null || truth.judge_claims === false) return;
    const real = truth.coils.find(({ ends }) => key(ends, truth) === key([plus, minus], truth));
    if (real?.judged === false) return;
    const right = goesUp(coil, plus, minus, truth);
    const confidence = coil.confidence!;
    this.claims += 1;
    this.squares += (confidence - Number(right)) ** 2;
    if (!right) {
      this.wrong += 1;
      if (confidence >= SURE) this.wrongSure += 1;
      if (real?.misled === true) this.wrongMisled += 1;
      this.note(truth, `wrong: plus ${plus}, minus ${minus}, confidence ${confidence}, ideal d ${real?.d ?? 'none'}`);
    }
    if (real !== undefined) this.place(coil, real);
  }

  private place(coil: WireMapCoil, real: TrueCoil): void {
    if (real.mixed || coil.place === null || !real.place_known) return;
    this.placesClaimed += 1;
    if (coil.place === real.place) this.placesRight += 1;
  }

  private tell(map: WireMap, truth: Truth): void {
    const kinds = new Set<string>(map.findings.map(({ kind }) => kind));
    if (truth.verdict_ok.includes(map.verdict)) this.verdictOk += 1;
    else this.note(truth, `verdict ${map.verdict}, right ${truth.verdict_ok.join(' or ')}, found ${[...kinds].join(' ') || 'nothing'}`);
    for (const expected of truth.expect) {
      const count = this.expected.get(expected.class) ?? { all: 0, found: 0, shown: 0, shownFound: 0 };
      this.expected.set(expected.class, count);
      const found = expected.kinds.some((kind) => kinds.has(kind));
      const shown = expected.identifiable !== false;
      count.all += 1;
      count.found += Number(found);
      count.shown += Number(shown);
      count.shownFound += Number(shown && found);
      if (shown && !found) this.note(truth, `${expected.class} not told: verdict ${map.verdict}`);
      if (shown && expected.class === 'intermittent' && map.verdict === 'good') this.lostCalledGood += 1;
    }
    if (!truth.clean) return;
    this.clean += 1;
    if (map.verdict !== 'good') this.cleanNotGood += 1;
    if (map.findings.some(({ kind, severity }) => severity !== 'note' && ALARMS.has(kind))) this.cleanAlarm += 1;
  }

  private note({ id, kind, fault_class, behaviour }: Truth, text: string): void {
    this.notes.push(`${id} ${kind}${fault_class === null ? '' : ` ${fault_class}`} [${behaviour.join(' ')}]: ${text}`);
  }
}

/** Whether the plus clip rises against the minus clip as steel arrives: at the place that is named, when that moves them, or else at every place that does. */
function goesUp(coil: WireMapCoil, plus: number, minus: number, truth: Truth): boolean {
  const swing = (place: string): number => truth.potential[place]![plus]! - truth.potential[place]![minus]!;
  const places = Object.keys(truth.potential);
  const most = Math.max(0, ...places.map((place) => Math.abs(swing(place))));
  if (truth.component[plus] !== truth.component[minus] || most < SWING_LEAST) return false;
  const moving = places.filter((place) => Math.abs(swing(place)) > SWING_SHARE * most);
  const named = coil.place !== null && moving.includes(coil.place) ? [coil.place] : moving;
  return named.every((place) => swing(place) > 0);
}

const endsOf = (coil: WireMapCoil): readonly [number, number] =>
  coil.plus !== null && coil.minus !== null ? [coil.plus, coil.minus] : coil.ends!;

/** The same for every pair of clips that is the same pair of nodes. */
const key = (ends: readonly [number, number], truth: Truth): string =>
  ends.map((clip) => truth.group_of[clip]!).sort((a, b) => a - b).join(' ');

/** What is malformed about a map; null when nothing is. */
function malformation(map: WireMap | RefusedRecord, clips: readonly number[]): string | null {
  if (map.format !== 'wiremap/1') return `refused: ${map.message}`;
  if (!['good', 'fault', 'unsure'].includes(map.verdict)) return `verdict ${map.verdict}`;
  for (const { plus, minus, ends, ohm, confidence } of map.coils) {
    if (plus === null && minus === null && ends === null && ohm === null) continue;
    if ((plus === null) !== (minus === null)) return 'only one of plus and minus';
    const [a, b] = plus !== null && minus !== null ? [plus, minus] : (ends ?? []);
    if (a === b || !clips.includes(a!) || !clips.includes(b!)) return `a coil from ${a} to ${b}`;
    if (plus !== null && !(confidence !== undefined && confidence >= 0 && confidence <= 1)) return `confidence ${confidence}`;
  }
  return map.chassis.every((clip) => clips.includes(clip)) ? null : `chassis ${map.chassis.join(' ')}`;
}
