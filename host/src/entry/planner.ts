/**
 * Which reading comes next. It orders, and decides nothing: whatever a reading is expected to be, what comes of all of them is
 * the solver's map, and a reading is asked for only when an outcome of it that is not far-fetched would change that map.
 */
import { typedUncertainty_ohm } from '../evidence/hand-meter.ts';
import { BARE } from '../wiremap/colours.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import { compassInformation_bits, HearingBelief, northProbability, type Stretch, type SwingSeen } from './hearing-belief.ts';
import { entropy_bits } from './information.ts';
import { pairIndex, pairsOf, possibleNetworks } from './networks.ts';
import { OhmsBelief } from './ohms-belief.ts';
import { isSameAsk, recordOf, type Answered, type Ask, type Lying } from './reading.ts';
import { OVER_RANGE_ohm, type TypedSwing } from './values.ts';
import type { BenchRecord } from '../files/bench-record.ts';

/** What the module makes of a record. */
export type Solve = (record: BenchRecord) => WireMap;

/** What is to be read next, and how it stands. */
export interface Next {
  /** Null when no reading that is left is expected to change the map. */
  readonly ask: Ask | null;
  /** What the answer is expected to tell, bits. */
  readonly information_bits: number;
  /** Probability that the answer changes the map. */
  readonly change: number;
  /** The map of what was read so far. */
  readonly map: WireMap;
}

/** A reading is worth a person's time when it changes the map with at least this probability. */
const CHANGE_LEAST = 0.03;
/** Outcomes that are less probable are not tried. */
const OUTCOME_LEAST = 0.01;
/** Swings of one coil at one place; one less when its plus is sure. */
const SWINGS_MOST = 3;
/** A plus that is this sure is not asked for again. */
const SURE = 0.99;
/** Three readings among three leads fit neither sum nor difference from so many standard uncertainties on. */
const FITTING_u = 4;
/** One of such three was read wrong about every other time (judgement); else windings branch between the leads. */
const MISREAD = 0.5;
/** Digits of a number that a meter shows, where it stands for an outcome. */
const DIGITS = 3;

export class Planner {
  readonly #lying: Lying;
  readonly #solve: Solve;
  /** What is known after each of the answers of the last plan: most plans go on where the last one stood. */
  #beliefs: { readonly answer: Answered; readonly belief: OhmsBelief }[] = [];
  readonly #before: OhmsBelief;

  constructor(lying: Lying, solve: Solve) {
    this.#lying = lying;
    this.#solve = solve;
    this.#before = OhmsBelief.before(possibleNetworks(lying.leads.map(({ colour }) => colour === BARE), lying.places.length));
  }

  /** What is known of the network. */
  belief(answers: readonly Answered[]): OhmsBelief {
    const kept = this.#beliefs.findIndex(({ answer }, at) => answer !== answers[at]);
    if (kept >= 0) this.#beliefs = this.#beliefs.slice(0, kept);
    for (const answer of answers.slice(this.#beliefs.length)) {
      const before = this.#beliefs.at(-1)?.belief ?? this.#before;
      const { ask, value } = answer;
      const isRead = ask.kind === 'ohms' && value !== null;
      const belief = isRead ? before.after({ ...this.#indices(ask.a, ask.b), ohm: (value as { ohm: number | null }).ohm }) : before;
      this.#beliefs.push({ answer, belief });
    }
    return this.#beliefs.at(-1)?.belief ?? this.#before;
  }

  /** Ohms first, since across unknown leads a swing says little; then swings, then the compass: a tool is changed once. */
  next(answers: readonly Answered[]): Next {
    const map = this.#solve(recordOf(this.#lying, answers));
    for (const candidates of [this.#ohms(answers), this.#swings(answers, map), this.#compass(answers)]) {
      let best: Next | null = null;
      for (const { ask, information_bits, outcomes, together } of candidates()) {
        // What tells less than the best so far need not be solved.
        if (best !== null && information_bits <= best.information_bits + 1e-9) continue;
        let change = this.#change(answers, map, outcomes);
        if (change < CHANGE_LEAST && together !== undefined) change = this.#change(answers, map, [together]);
        if (change >= CHANGE_LEAST) best = { ask, information_bits, change, map };
      }
      if (best !== null) return best;
    }
    return { ask: null, information_bits: 0, change: 0, map };
  }

  /** Every reading that could still be asked for, with what it is expected to tell. */
  all(answers: readonly Answered[]): readonly { readonly ask: Ask; readonly information_bits: number }[] {
    const map = this.#solve(recordOf(this.#lying, answers));
    return [this.#ohms(answers), this.#swings(answers, map), this.#compass(answers)].flatMap((candidates) => candidates());
  }

  /** Probability that the map changes. */
  #change(answers: readonly Answered[], map: WireMap, outcomes: readonly Outcome[]): number {
    const answerOf = outcomes[0]?.answered[0]!.ask.kind === 'ohms' ? wholeAnswer : usefulAnswer;
    const now = answerOf(map);
    return outcomes.reduce((sum, { answered, probability, before = answers }) => {
      if (probability < OUTCOME_LEAST) return sum;
      const then = this.#solve(recordOf(this.#lying, [...before, ...answered]));
      return answerOf(then) === now ? sum : sum + probability;
    }, 0);
  }

  #indices(a: number, b: number): { readonly i: number; readonly j: number } {
    const [i, j] = [a, b].map((clip) => this.#lying.leads.findIndex((lead) => lead.clip === clip)).sort((one, other) => one - other);
    return { i: i!, j: j! };
  }

  #ohms(answers: readonly Answered[]): () => Candidate[] {
    return () => {
      const belief = this.belief(answers);
      const { leads } = this.#lying;
      const misread = this.#misread(answers);
      return pairsOf(leads.length).flatMap(([i, j]): Candidate[] => {
        const ask = { kind: 'ohms', a: leads[i]!.clip, b: leads[j]!.clip } as const;
        if (answers.some((one) => isSameAsk(one.ask, ask))) return misread.get(pairIndex(i, j)) ?? [];
        const { information_bits, predictions } = belief.outlook(i, j);
        const outcomes = predictions.map(({ ohm, probability }): Outcome => ({
          answered: [{
            ask, value: ohm === null ? { ohm, above_ohm: OVER_RANGE_ohm } : { ohm: Number(Math.max(0, ohm).toPrecision(DIGITS)) },
          }],
          probability,
        }));
        return [{ ask, information_bits, outcomes }];
      });
    };
  }

  /** Readings to be taken again, by pair: those of triangles that fit neither sum nor difference. One digit that was read wrong looks
   * like a fault inside; who kept it when it was asked about may have kept the right one of three.
   */
  #misread(answers: readonly Answered[]): ReadonlyMap<number, Candidate[]> {
    const { leads } = this.#lying;
    const readings = (i: number, j: number): readonly OhmsAnswered[] => answers.filter((one): one is OhmsAnswered =>
      one.ask.kind === 'ohms' && isSameAsk(one.ask, { kind: 'ohms', a: leads[i]!.clip, b: leads[j]!.clip }));
    const known = (i: number, j: number): number | null => readings(i, j).findLast(({ value }) => value !== null)?.value?.ohm ?? null;
    const sides = pairsOf(leads.length).flatMap(([i, j]) => leads.flatMap((_, k) => {
      if (k === i || k === j) return [];
      const [own, one, other] = [known(i, j), known(Math.min(i, k), Math.max(i, k)), known(Math.min(j, k), Math.max(j, k))];
      return own === null || one === null || other === null || isFitting(own, one, other) ? [] : [{ i, j, one, other }];
    }));
    return new Map(pairsOf(leads.length).flatMap(([i, j]) => {
      const here = sides.filter((side) => side.i === i && side.j === j);
      const before = readings(i, j);
      if (here.length === 0 || before.length > 1) return [];
      const ask = { kind: 'ohms', a: leads[i]!.clip, b: leads[j]!.clip, isAgain: true } as const;
      const withdrawn = answers.map((answered) => (answered === before[0] ? { ask: answered.ask, value: null } as Answered : answered));
      const probability = MISREAD / sides.length / 2;
      const outcomes = here.flatMap(({ one, other }) => [one + other, Math.abs(one - other)])
        .map((ohm): Outcome => ({ answered: [{ ask, value: { ohm: Number(ohm.toPrecision(DIGITS)) } }], probability, before: withdrawn }));
      const left = 1 - outcomes.length * probability;
      return [[pairIndex(i, j), [{ ask, information_bits: entropy_bits([left, ...outcomes.map(() => probability)]), outcomes }]] as const];
    }));
  }

  #swings(answers: readonly Answered[], map: WireMap): () => Candidate[] {
    return () => {
      const { places } = this.#lying;
      const coils = stretchesOf(map);
      const seen = answers.flatMap(({ ask, value }): SwingSeen[] =>
        ask.kind === 'swing' && value !== null ? [{ ...ask, ...(value as TypedSwing) }] : []);
      const belief = new HearingBelief(coils, places, seen);
      const likeliest = (ask: SwingAsk): Outcome => {
        const { swing, probability } = belief.predictions(ask.at, ask.plus, ask.minus)
          .reduce((best, other) => (other.probability > best.probability ? other : best));
        return { answered: [{ ask, value: { swing } }], probability };
      };
      return places.flatMap((at) => coils.flatMap(({ ends: [minus, plus] }): Candidate[] => {
        const here = answers.filter(({ ask }) => ask.kind === 'swing' && ask.at === at);
        const before = here.filter(({ ask }) => isSameAsk(ask, { kind: 'swing', at, plus, minus, wantsSize: false, isAgain: false }));
        const isSure = map.coils.some(({ ends, confidence = 0 }) => ends?.[0] === minus && ends[1] === plus && confidence >= SURE);
        if (before.length >= (isSure ? SWINGS_MOST - 1 : SWINGS_MOST) || before.some(({ value }) => value === null)) return [];
        const unsized = here.filter(({ value }) => {
          const seenHere = value as TypedSwing | null;
          return seenHere !== null && seenHere.swing !== 'none' && seenHere.peak_V === undefined;
        });
        const wantsSize = unsized.some(({ ask }) => unsized.some((other) => !isSameAsk(other.ask, ask)));
        const ask = { kind: 'swing', at, plus, minus, wantsSize, isAgain: before.length > 0 } as const;
        // Where several places drive one coil, one look more settles nothing, but one more at each place may.
        const round = places.map((place) => likeliest({ ...ask, at: place }));
        return [{
          ask,
          information_bits: belief.information_bits(at, plus, minus),
          outcomes: belief.predictions(at, plus, minus)
            .map(({ swing, probability }) => ({ answered: [{ ask, value: { swing } }], probability })),
          ...(isSure ? {} : { together: {
            answered: round.flatMap(({ answered }) => answered),
            probability: round.reduce((product, { probability }) => product * probability, 1),
          } }),
        }];
      }));
    };
  }

  #compass(answers: readonly Answered[]): () => Candidate[] {
    return () => {
      const { places } = this.#lying;
      const asked = (at: string): Answered | undefined => answers.find(({ ask }) => ask.kind === 'compass' && ask.at === at);
      const known = places.map((at) => (asked(at)?.value ?? null) as 'N' | 'S' | null);
      return places.flatMap((at, place): Candidate[] => {
        if (asked(at) !== undefined) return [];
        const ask = { kind: 'compass', at } as const;
        const north = northProbability(known, place);
        return [{
          ask, information_bits: compassInformation_bits(known, place),
          outcomes: [{ answered: [{ ask, value: 'N' }], probability: north }, { answered: [{ ask, value: 'S' }], probability: 1 - north }],
        }];
      });
    };
  }
}

type SwingAsk = Extract<Ask, { kind: 'swing' }>;
type OhmsAnswered = Extract<Answered, { ask: { kind: 'ohms' } }>;

interface Outcome {
  readonly answered: readonly Answered[];
  readonly probability: number;
  /** What was answered before, when not all of it stands any more. */
  readonly before?: readonly Answered[];
}

/** Whether one of three readings among three leads is the sum of the others: no winding branches between them. */
function isFitting(...ohms: readonly [number, number, number]): boolean {
  const [least, middle, most] = [...ohms].sort((a, b) => a - b) as [number, number, number];
  return Math.abs(least + middle - most) < FITTING_u * Math.hypot(...ohms.map(typedUncertainty_ohm));
}

interface Candidate {
  readonly ask: Ask;
  readonly information_bits: number;
  readonly outcomes: readonly Outcome[];
  /** A likely outcome of this reading and others like it, tried where it alone changes nothing. */
  readonly together?: Outcome;
}

/** Whether a fault is told that no other reading mends: what else is known of such a pickup is of no use to anybody. */
export function isUnfit({ findings }: WireMap): boolean {
  return findings.some(({ severity, kind }) => severity === 'fault' && kind !== 'open');
}

/** Where a swing may be seen: the coils, and what was taken for a bad joint as long as nothing was heard of it. */
export function stretchesOf({ coils, findings, chassis }: WireMap): Stretch[] {
  const joints = findings.filter(({ kind, severity, clips }) =>
    kind === 'bridge' && severity === 'fault' && clips.length === 2 && !clips.some((clip) => chassis.includes(clip)));
  const pairs = [...coils.map(({ ends }) => ends), ...joints.map(({ clips }) => [Math.min(...clips), Math.max(...clips)] as const)];
  const known = new Set<string>();
  return pairs.flatMap((ends) => {
    if (ends === null || known.has(ends.join())) return [];
    known.add(ends.join());
    return [{ ends }];
  });
}

/** What a person would notice of a map; two maps with the same answer are the same to them. */
export function wholeAnswer(map: WireMap): string {
  const coils = map.coils.map((coil) => [coil.ends, coil.plus, coil.place, coil.pole, coil.parts, sureness(coil)]);
  return JSON.stringify([map.verdict, coils, map.pairs, map.chassis, map.joined, map.isolated, faultsOf(map), map.unknown]);
}

/** The same of what is still of use: nobody wires a pickup that is unfit. */
export function usefulAnswer(map: WireMap): string {
  return isUnfit(map) ? JSON.stringify([map.verdict, faultsOf(map)]) : wholeAnswer(map);
}

function faultsOf({ findings }: WireMap): unknown {
  return findings.map(({ kind, severity, clips }) => [kind, severity, clips]);
}

/** How sure a plus is, as long as it is not sure: each step towards that counts. */
function sureness({ confidence }: WireMapCoil): string | null {
  if (confidence === undefined) return null;
  return confidence >= SURE ? 'sure' : confidence.toFixed(3);
}
