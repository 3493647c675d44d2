/**
 * Whole sessions, typed line by line, of somebody who looks at the pair that is asked for and nowhere else, and so meets the
 * neighbours' shares; what is asked back is answered by the sizes that were seen.
 */
import { EntrySession, type Prompt } from '../../host/src/entry/session.ts';
import type { Answered, Ask } from '../../host/src/entry/reading.ts';
import type { TypedOhms, TypedSwing } from '../../host/src/entry/values.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { wrongWords } from '../logic/wrong-words.ts';
import type { LotPickup } from '../lots/generator.ts';
import { truthOf } from '../lots/truth.ts';
import { Person, type Noting } from './person.ts';

/** What came of one session. */
export interface Told {
  readonly map: WireMap;
  /** Lines that were typed for readings. */
  readonly readings: number;
  readonly doubts: readonly string[];
  /** Signs that are wrong in a map that says good, of those surer than 0.95. */
  readonly wrong: readonly string[];
}

/** A part of a swing that is seen to be far smaller. */
const SMALLER = 0.34;
const SURE = 0.95;
/** More than anybody is ever asked for. */
const LINES_most = 120;

type SwingAsk = Extract<Ask, { kind: 'swing' }>;

export function enterSeeing(solve: (record: BenchRecord) => WireMap, one: LotPickup, seed: number, noting: Noting): Told {
  const person = new Person(one, new RandomStream(seed + one.number, noting), noting);
  const session = new EntrySession(solve, person.lying);
  const doubts: string[] = [];
  /** What was seen of each coil at each place, noted or not. */
  const seen = new Map<string, number>();
  let readings = 0;
  for (let line = 0; session.prompt.kind !== 'done'; line++) {
    if (line === LINES_most) throw new Error('the session does not end');
    const { prompt } = session;
    if (prompt.kind === 'doubt') {
      doubts.push(prompt.doubt.text);
      session.type(isConceded(prompt, seen) ? 'y' : 'n');
    } else if (prompt.kind === 'reading') {
      readings++;
      const answered = person.read(prompt.ask);
      if (prompt.ask.kind === 'swing') seen.set(placeAndCoil(prompt.ask), sizeSeen(answered));
      const { wrong } = session.type(typedWords(answered));
      if (wrong !== null) throw new Error(wrong);
    } else throw new Error(`asked for ${prompt.kind}`);
  }
  const map = session.map!;
  const wrong = map.verdict !== 'good' ? [] : wrongWords(one, truthOf(one.pickup), map)
    .filter(({ what, confidence }) => what === 'sign' && confidence > SURE).map(({ text }) => text);
  return { map, readings, doubts, wrong };

  function sizeSeen({ ask, value }: Answered): number {
    const { swing, peak_V } = value as TypedSwing;
    return swing === 'none' ? 0 : peak_V ?? Math.abs(person.moves_V(ask as SwingAsk));
  }
}

/** Whether a swing that may be a neighbour's share is one: far smaller than that of another coil here, or of this one elsewhere. */
function isConceded({ ask, doubt }: Extract<Prompt, { kind: 'doubt' }>, seen: ReadonlyMap<string, number>): boolean {
  if (ask.kind !== 'swing' || !(doubt.instead !== null && 'swing' in doubt.instead)) return false;
  const size = seen.get(placeAndCoil(ask))!;
  const most = Math.max(...[...seen].filter(([key]) => key.startsWith(`${ask.at} `) || key.endsWith(` ${coilOf(ask)}`)).map(([, other]) => other));
  return size < SMALLER * most;
}

const coilOf = ({ plus, minus }: SwingAsk): string => `${Math.min(plus, minus)}-${Math.max(plus, minus)}`;
const placeAndCoil = (ask: SwingAsk): string => `${ask.at} ${coilOf(ask)}`;

/** A reading as it is typed. */
function typedWords({ ask, value }: Answered): string {
  if (ask.kind === 'compass') return value as string;
  if (ask.kind === 'ohms') {
    const { ohm } = value as TypedOhms;
    return ohm === null ? 'OL' : String(ohm);
  }
  const { swing, peak_V } = value as TypedSwing;
  const sign = { positive: '+', negative: '-', none: '0' }[swing];
  return peak_V === undefined ? sign : `${sign}${peak_V * 1000}mV`;
}
