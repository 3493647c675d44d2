/** A harness proved at its jack: what was read against what is planned, and the single faults that would explain a difference. */
import type { LoadedHarness } from '../harness/load-harness.ts';
import { areAlike, differencesOf, settingsRead } from './differences.ts';
import { contactFaults, jointFaults, singleFaults, type FaultKind, type JointFault, type Model } from './faults.ts';
import { anyLog, copperShift, fitOf, logLikelihood, type Evidence } from './likelihood.ts';
import type { JackReading } from './reading.ts';
import { predict, type Prediction, type Probe } from './wired.ts';

/** A fault that was tried, and how well it explains the readings. */
export interface Candidate {
  readonly id: string;
  readonly kind: FaultKind;
  readonly text: string;
  readonly cure: string;
  readonly model: Model;
  /** Log of likelihood and prior. */
  readonly score: number;
}

/** Candidates of which every setting at the jack shows the same. */
export interface CandidateGroup {
  readonly members: readonly Candidate[];
  /** Log of the sum over its members. */
  readonly score: number;
  /** Probability among all that was tried, "nothing is wrong" and "something else" among them. */
  readonly confidence: number;
}

/** `unsure`: something differs, and what was read cannot tell a fault from a slip. */
export type ProofVerdict = 'as_planned' | 'fault' | 'unsure' | 'unexplained';

export interface Judged {
  readonly verdict: ProofVerdict;
  /** Of the harness as planned, one for each reading. */
  readonly planned: readonly Prediction[];
  /** Best first; empty when all is as planned. */
  readonly groups: readonly CandidateGroup[];
  /** Faults that the readings neither show nor rule out. */
  readonly unseen: readonly Candidate[];
  /** How many were tried. */
  readonly tried: number;
}

/** Of a few hundred single faults each is one in that many of all that goes wrong; a harness as planned is as likely as all together. */
const FAULT_prior = Math.log(1 / 300);
/** What nobody thought of, or two faults at once. */
const OTHER_prior = Math.log(1 / 100);
/** A joint's ohms are looked for over ten e-foldings and met to a few per cent. */
const SIZE_prior = Math.log(1 / 60);
/** Nothing is accused that is not this much likelier than that all is as planned: one to twenty. */
const ACCUSED_log = Math.log(20);
/** What is this much less likely than the best is not worth a word: one to three hundred. */
const WORTH_log = Math.log(300);
/** Where something differs, what is this much less likely than the plan is still told: one to ten. */
const UNSURE_log = Math.log(10);
/** Faults that the readings do not speak against by more than this are not ruled out: one to ten. */
const UNSEEN_log = Math.log(10);
/** Bad joints are looked for between these, ohms. */
const [LOW_ln, HIGH_ln] = [Math.log(40), Math.log(3e6)];
/** Ohms that differ from the plan by more than this (ln) propose a size, which is met to about a hundredth. */
const [ODD_ln, MATCH_ln, MATCH_rounds] = [0.02, 0.03, 10];
const JOINT_steps = 14;
const GOLDEN_rounds = 12;
const WORTH_REFINING_log = 1;
const GOLDEN = (Math.sqrt(5) - 1) / 2;

/** Tries every single fault.
 * @param wired - as `wiredOf` gives it
 */
export function prove(wired: LoadedHarness, evidence: Evidence): Judged {
  const plan: Model = { wired, swapped: null };
  const planned = fitOf(evidence, plan);
  const singles = singleFaults(wired).map((fault): Candidate => ({ ...fault, score: fitOf(evidence, fault.model).log + FAULT_prior }));
  const joints = [...jointFaults(wired), ...contactFaults(wired)].flatMap((fault) => sized(fault, evidence, planned) ?? []);
  const other = anyLog(evidence) + OTHER_prior;
  const all = [...singles, ...joints].sort((a, b) => b.score - a.score);
  const best = all[0]?.score ?? -Infinity;
  const total = logSum([planned.log, other, ...all.map(({ score }) => score)]);
  const base = { planned: planned.predictions, tried: all.length };
  const isAccused = best > planned.log + ACCUSED_log && best > other;
  if (!isAccused) {
    const isExplained = planned.log > other;
    const isOdd = differencesOf(evidence, planned.predictions).some(({ ohmAgrees, inductance, touches }) =>
      ohmAgrees === false || inductance?.agrees === false || touches.some(({ agrees }) => agrees === false));
    if (isExplained && isOdd) {
      const near = all.filter(({ score }) => score > planned.log - UNSURE_log);
      return { ...base, verdict: 'unsure', groups: grouped(near, evidence, wired, total), unseen: [] };
    }
    // Of an unknown size there is always one that is too small to be seen.
    const unseen = singles.filter(({ score }) => score - FAULT_prior > planned.log - UNSEEN_log).sort((a, b) => b.score - a.score);
    return { ...base, verdict: isExplained ? 'as_planned' : 'unexplained', groups: [], unseen: isExplained ? unseen : [] };
  }
  const worth = all.filter(({ score }) => score > best - WORTH_log);
  return { ...base, verdict: 'fault', groups: grouped(worth, evidence, wired, total), unseen: [] };
}

/** A bad joint with the ohms that explain the readings best; null where no reading can show it. @param planned - the fit of the harness as planned */
function sized(fault: JointFault, evidence: Evidence, planned: ReturnType<typeof fitOf>): Candidate | null {
  const { readings } = evidence;
  const shown = readings.flatMap(({ setting }, at) => (fault.settings?.has(setting) === false ? [] : [at]));
  if (shown.length === 0) return null;
  // Slopes of the pots hardly change with a joint.
  const logAt = (ln: number): number => {
    const model = fault.model(Math.exp(ln));
    const predictions = [...planned.predictions];
    predict(model.wired, shown.map((at) => readings[at]!), false)
      .forEach((one, index) => { predictions[shown[index]!] = { ...one, potSlopes: planned.predictions[shown[index]!]!.potSlopes }; });
    return logLikelihood(evidence, model, predictions);
  };
  const step = (HIGH_ln - LOW_ln) / JOINT_steps;
  // Between the steps of a grid a reading that only one size explains would be missed: each proposes its own.
  const tries = [
    ...Array.from({ length: JOINT_steps + 1 }, (_, at) => ({ ln: LOW_ln + at * step, width: step })),
    ...shown.flatMap((at) => matching(fault, readings[at]!, planned.predictions[at]!) ?? []).map((ln) => ({ ln, width: MATCH_ln })),
  ];
  let best = { ln: LOW_ln, width: step, log: -Infinity };
  for (const one of tries) {
    const log = logAt(one.ln);
    if (log > best.log) best = { ...one, log };
  }
  let [from, to] = [best.ln - best.width, best.ln + best.width];
  // A joint that explains nothing better than a good one need not be met to the ohm.
  const rounds = best.log > planned.log + WORTH_REFINING_log ? GOLDEN_rounds : 0;
  for (let round = 0; round < rounds; round++) {
    const [a, b] = [to - GOLDEN * (to - from), from + GOLDEN * (to - from)];
    if (logAt(a) > logAt(b)) to = b;
    else from = a;
  }
  const ohm = Math.exp((from + to) / 2);
  const model = fault.model(ohm);
  const { id, kind, cure } = fault;
  return { id, kind, cure, text: fault.text(ohm), model, score: fitOf(evidence, model).log + FAULT_prior + SIZE_prior };
}

/** The size (ln) at which a joint gives the ohms that were read; null where the plan does so already, or no size does. */
function matching(fault: JointFault, reading: JackReading, planned: Prediction): number | null {
  const read = reading.resistance?.ohm ?? null;
  if (read === null || reading.isUnsteady || planned.ohm === null || Math.abs(Math.log(read / planned.ohm)) < ODD_ln) return null;
  const shift = copperShift(reading, planned);
  const isAbove = (ln: number): boolean => {
    const { ohm } = predict(fault.model(Math.exp(ln)).wired, [reading], false)[0]!;
    return ohm === null || Math.log(ohm / read) + shift > 0;
  };
  let [low, high] = [LOW_ln, HIGH_ln];
  if (isAbove(low) || !isAbove(high)) return null;
  for (let round = 0; round < MATCH_rounds; round++) {
    const middle = (low + high) / 2;
    if (isAbove(middle)) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}

/** Candidates by what all settings at the jack show. */
function grouped(candidates: readonly Candidate[], evidence: Evidence, wired: LoadedHarness, total: number): CandidateGroup[] {
  const probes = jackProbes(wired);
  const shown = candidates.map(({ model: { wired: changed, swapped } }) =>
    predict(changed, probes, false).map((prediction) => ({ prediction, swapped })));
  const groups: number[][] = [];
  candidates.forEach((_, at) => {
    const isLike = (other: number): boolean =>
      probes.every((__, probe) => areAlike(shown[other]![probe]!, shown[at]![probe]!, evidence.places));
    const home = groups.find(([first]) => isLike(first!));
    if (home === undefined) groups.push([at]);
    else home.push(at);
  });
  return groups
    .map((members): CandidateGroup => {
      const score = logSum(members.map((at) => candidates[at]!.score));
      return { members: members.map((at) => candidates[at]!), score, confidence: Math.exp(score - total) };
    })
    .sort((a, b) => b.score - a.score);
}

/** Every setting, read at the output. */
export function jackProbes({ harness }: LoadedHarness): Probe[] {
  const count = harness.switches.reduce((all, { positions }) => all * positions.length, 1);
  return Array.from({ length: count }, (_, setting) => ({ setting, lifted: [], between: null }));
}

/** Settings that were not read at the jack. */
export function unreadSettings(wired: LoadedHarness, evidence: Evidence): number[] {
  const read = settingsRead(evidence);
  return jackProbes(wired).map(({ setting }) => setting).filter((setting) => !read.has(setting));
}

function logSum(logs: readonly number[]): number {
  const most = Math.max(...logs);
  return most === -Infinity ? most : most + Math.log(logs.reduce((sum, log) => sum + Math.exp(log - most), 0));
}
