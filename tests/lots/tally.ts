/** Sums what a lot's wire maps got wrong, by class, with the numbers of the pickups to see again. */
import type { Class, Judgement } from './judge.ts';
import type { LotPickup } from './generator.ts';

/** Examples kept of each class. */
const EXAMPLES_most = 12;
/** Lower edges of the groups of stated confidence: tenths, and the last tenth in three. */
export const CONFIDENCE_EDGES = [0.5, 0.6, 0.7, 0.8, 0.9, 0.99, 0.999] as const;

export interface Example {
  readonly number: number;
  readonly text: string;
}

/** Plain data, so that workers can hand it over. */
export interface Tally {
  pickups: number;
  sound: number;
  /** Disagreements and pickups that had at least one, by class. */
  classes: Partial<
    Record<Class, { count: number; pickups: number; soundPickups: number; examples: Example[] }>
  >;
  expectedSigns: number;
  givenSigns: number;
  statedSigns: number;
  wrongSigns: number;
  /** Wrong signs stated with more than 0.99. */
  confidentlyWrong: number;
  calibration: { count: number; confidence: number; right: number }[];
  /** Visible faults by kind: met and found. */
  faults: Record<string, { met: number; found: number }>;
  /** Any counts of the runner's own. */
  sums: Record<string, number>;
}

export function emptyTally(): Tally {
  return {
    pickups: 0,
    sound: 0,
    classes: {},
    expectedSigns: 0,
    givenSigns: 0,
    statedSigns: 0,
    wrongSigns: 0,
    confidentlyWrong: 0,
    calibration: CONFIDENCE_EDGES.map(() => ({ count: 0, confidence: 0, right: 0 })),
    faults: {},
    sums: {},
  };
}

/** Adds one judged map. @param note - how it came about, shown beside the pickup's number */
export function addTo(tally: Tally, one: LotPickup, judged: Judgement, note: string): void {
  tally.pickups += 1;
  const sound = one.faults.length === 0;
  if (sound) tally.sound += 1;
  const seen = new Set<Class>();
  for (const { class: name, detail } of judged.disagreements) {
    const entry = (tally.classes[name] ??= { count: 0, pickups: 0, soundPickups: 0, examples: [] });
    entry.count += 1;
    if (seen.has(name)) continue;
    seen.add(name);
    entry.pickups += 1;
    if (sound) entry.soundPickups += 1;
    if (entry.examples.length < EXAMPLES_most) {
      const spare = one.pickup.leads.some(({ node }) => node === null) && !one.faults.includes('torn lead') ? 'spare lead' : '';
      const what = [one.family, ...one.faults, spare, one.slip === 'none' ? '' : one.slip, note].filter(
        (part) => part !== '',
      );
      entry.examples.push({ number: one.number, text: `${what.join(', ')}: ${detail}` });
    }
  }
  tally.expectedSigns += judged.expectedSigns;
  tally.givenSigns += judged.givenSigns;
  for (const { confidence, right } of judged.stated) {
    tally.statedSigns += 1;
    if (!right) tally.wrongSigns += 1;
    if (!right && confidence > 0.99) tally.confidentlyWrong += 1;
    const bin =
      tally.calibration[
        Math.max(
          0,
          CONFIDENCE_EDGES.findLastIndex((edge) => confidence >= edge),
        )
      ]!;
    bin.count += 1;
    bin.confidence += confidence;
    if (right) bin.right += 1;
  }
  for (const { kind, size, found } of judged.faults) {
    const name = faultName(kind, size);
    const entry = (tally.faults[name] ??= { met: 0, found: 0 });
    entry.met += 1;
    if (found) entry.found += 1;
  }
}

/** The groups of which a share must be found. */
function faultName(kind: string, size: number): string {
  if (kind === 'leak') return size <= 5e7 ? 'leak up to 50 Mohm' : 'leak above 50 Mohm';
  if (kind === 'shorted_turns')
    return size >= 0.1 ? 'shorted turns of 10 % or more' : 'shorted turns below 10 %';
  return kind;
}

/** Adds one worker's tally to another. */
export function merge(into: Tally, from: Tally): void {
  for (const key of [
    'pickups',
    'sound',
    'expectedSigns',
    'givenSigns',
    'statedSigns',
    'wrongSigns',
    'confidentlyWrong',
  ] as const) {
    into[key] += from[key];
  }
  for (const [name, entry] of Object.entries(from.classes) as [
    Class,
    NonNullable<Tally['classes'][Class]>,
  ][]) {
    const own = (into.classes[name] ??= { count: 0, pickups: 0, soundPickups: 0, examples: [] });
    own.count += entry.count;
    own.pickups += entry.pickups;
    own.soundPickups += entry.soundPickups;
    own.examples = [...own.examples, ...entry.examples]
      .sort((a, b) => a.number - b.number)
      .slice(0, EXAMPLES_most);
  }
  from.calibration.forEach((bin, i) => {
    const own = into.calibration[i]!;
    own.count += bin.count;
    own.confidence += bin.confidence;
    own.right += bin.right;
  });
  for (const [name, { met, found }] of Object.entries(from.faults)) {
    const own = (into.faults[name] ??= { met: 0, found: 0 });
    own.met += met;
    own.found += found;
  }
  for (const [name, value] of Object.entries(from.sums))
    into.sums[name] = (into.sums[name] ?? 0) + value;
}

/** The disagreements in words: a line per class, then up to `examples` pickups of each. */
export function inWords(tally: Tally, examples: number): string {
  const lines = [`${tally.pickups} pickups, ${tally.sound} sound`];
  const classes = Object.entries(tally.classes).sort((a, b) => b[1].pickups - a[1].pickups);
  for (const [name, entry] of classes) {
    lines.push(
      `${name.padEnd(34)} ${entry.count} in ${entry.pickups} pickups (${entry.soundPickups} sound)`,
    );
    for (const { number, text } of entry.examples.slice(0, examples))
      lines.push(`    ${number}: ${text}`);
  }
  const percent = (part: number, whole: number): string =>
    whole === 0 ? 'none' : `${((100 * part) / whole).toFixed(2)} %`;
  lines.push(
    `signs: expected ${tally.expectedSigns}, given ${percent(tally.givenSigns, tally.expectedSigns)}; stated ` +
      `${tally.statedSigns}, wrong ${tally.wrongSigns}, wrong above 0.99: ${tally.confidentlyWrong}`,
  );
  for (const [name, { met, found }] of Object.entries(tally.faults).sort()) {
    lines.push(`${name.padEnd(34)} found ${found} of ${met} (${percent(found, met)})`);
  }
  tally.calibration.forEach(({ count, confidence, right }, i) => {
    if (count === 0) return;
    lines.push(
      `stated ${CONFIDENCE_EDGES[i]} to ${CONFIDENCE_EDGES[i + 1] ?? 1}: ${count} signs, mean ` +
        `${(confidence / count).toFixed(4)}, right ${(right / count).toFixed(4)}`,
    );
  });
  return lines.join('\n');
}
