/** A lot of guitars with one fault each, or none, read at the jack and proved: does the true cause come first, is a sound one accused? */
import { guitarOf } from '../../host/src/bench/guitar-of.ts';
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import { settingsOf } from '../../host/src/harness/harness.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';
import { evidenceOf } from '../../host/src/proof/evidence-of.ts';
import type { Evidence } from '../../host/src/proof/likelihood.ts';
import { prove, type Judged } from '../../host/src/proof/prove.ts';
import { wiredOf } from '../../host/src/proof/wired.ts';
import type { GuitarPlan } from '../../host/src/virtual-bench/guitar.ts';
import { GUITAR_FAULTS, putFault, type GuitarFault } from '../../host/src/virtual-bench/guitar-faults.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { example, exampleNames, load, withSet, type PlainHarness } from './example-harnesses.ts';
import { readAtJack, steadyAtJack } from './jack-meter.ts';

/** What became of one guitar. */
export interface Proved {
  /** Harness and set of wire maps. */
  readonly name: string;
  readonly number: number;
  readonly fault: GuitarFault | null;
  readonly judged: Judged;
  readonly wired: LoadedHarness;
  readonly evidence: Evidence;
  /**
   * `first`: the true cause stands in the first group; `unseen`: the fault changes next to nothing at the jack in any setting, and
   * nothing is accused; `sound`: none, and none accused; `unsure`: none, but read again.
   */
  readonly outcome: 'first' | 'later' | 'missed' | 'unexplained' | 'unseen' | 'sound' | 'unsure' | 'accused';
  /** Whether the fault shows at the jack at all, by the virtual bench's own circuit. */
  readonly isShown: boolean;
  /** Members of the first group, the true one among them. */
  readonly alike: number;
}

/** Wire maps that a guitar of the lot may have: the example's own, or one of the sets that leave its coils whole. */
const MAPS = ['own', 'own', 'own', 'a reversed twin', 'equal poles', 'a frame tied to plus', 'nothing known but ohms'];

/** Every place is touched at least so often. */
const TOUCHES_least = 2;
/** What changes ohms by less than 3 % and no coil's share by 0.15 does not show: pots alone differ by more. */
const [SHOWN_ohm, SHOWN_share] = [0.03, 0.15];

/** Draws, spoils, reads and proves one guitar. @param isSound - without a fault */
export function proveOne(seed: number, number: number, isSound: boolean, reader: TouchReader): Proved {
  const random = new RandomStream(seed * 100_000 + number, isSound ? 'sound guitar' : 'guitar with a fault');
  for (;;) {
    const name = exampleNames[random.below(exampleNames.length)]!;
    const set = MAPS[random.below(MAPS.length)]!;
    const plain = example(name);
    const wired = loaded(set === 'own' ? plain : withSet(plain, set));
    if (wired === null) continue;
    const plan = guitarOf(wired, new Map(), random);
    const fault = isSound ? null : putFault(plan, GUITAR_FAULTS[random.below(GUITAR_FAULTS.length)]!, random);
    if (fault === null && !isSound) continue;
    const evidence = readAll(wired, fault?.plan ?? plan, random, reader);
    const judged = prove(wired, evidence);
    const isShown = fault !== null && shows(plan, fault.plan, isSigned(wired));
    return { name: `${name}, ${set}`, number, fault, judged, wired, evidence, isShown, ...outcomeOf(fault, judged, isShown) };
  }
}

function loaded(plain: PlainHarness): LoadedHarness | null {
  try {
    return wiredOf(load(plain));
  } catch {
    // A set that this harness cannot take, such as a frame on plus where the way needs it elsewhere.
    return null;
  }
}

/** Whether it is known which way each coil should swing. */
function isSigned({ pickups }: LoadedHarness): boolean {
  return pickups.every(({ coils }) => coils.every(({ plus }) => plus !== null));
}

/** Every setting is read once; where there are few, every place is touched again. */
function readAll(wired: LoadedHarness, plan: GuitarPlan, random: RandomStream, reader: TouchReader): Evidence {
  const settings = settingsOf(wired.harness);
  const rounds = settings.length < TOUCHES_least ? TOUCHES_least : settings.length;
  const records = Array.from({ length: rounds }, (_, at) => ({
    source: `reading ${at}`, record: readAtJack(plan, settings[at % settings.length]!, at, random),
  }));
  return evidenceOf(wired, records, reader);
}

/** Whether a fault can be seen at the jack at all: by ohms beyond the spread of parts, or by what a coil gives. */
function shows(sound: GuitarPlan, spoilt: GuitarPlan, signed: boolean): boolean {
  const size = (share: number): number => (signed ? share : Math.abs(share));
  let count = 1;
  for (const { positions } of sound.switches) count *= positions.length;
  return Array.from({ length: count }, (_, setting) => {
    let rest = setting;
    const positions = sound.switches.toReversed().map(({ positions: all }) => {
      const at = rest % all.length;
      rest = (rest - at) / all.length;
      return at;
    }).reverse();
    const [one, other] = [steadyAtJack(sound, positions), steadyAtJack(spoilt, positions)];
    const isOther = one.shares.some((share, at) => Math.abs(size(share) - size(other.shares[at]!)) > SHOWN_share);
    return isOther || Math.abs(Math.log(one.ohm / other.ohm)) > SHOWN_ohm;
  }).some(Boolean);
}

function outcomeOf(fault: GuitarFault | null, { verdict, groups }: Judged, isShown: boolean): Pick<Proved, 'outcome' | 'alike'> {
  if (fault === null) return { outcome: verdict === 'as_planned' ? 'sound' : verdict === 'unsure' ? 'unsure' : 'accused', alike: 0 };
  if (verdict === 'unsure') return { outcome: isShown ? 'missed' : 'unseen', alike: 0 };
  const ids = faultNames(fault);
  const at = groups.findIndex(({ members }) => members.some(({ id }) => ids.includes(id)));
  if (at === 0) return { outcome: 'first', alike: groups[0]!.members.length };
  if (at > 0) return { outcome: 'later', alike: 0 };
  if (!isShown) return { outcome: verdict === 'as_planned' ? 'unseen' : 'accused', alike: 0 };
  return { outcome: verdict === 'unexplained' ? 'unexplained' : 'missed', alike: 0 };
}

/** The same for nodes that the harness itself makes one. */
function sameNode(id: string, { joins }: GuitarPlan): string[] {
  return joins.flatMap((join) => join.flatMap((node) => (id.split(' ').includes(node) ? join.map((other) => id.replace(node, other)) : [])));
}

/** What the program calls the fault that was put in. */
export function faultNames(fault: GuitarFault): string[] {
  return ownNames(fault).flatMap((id) => [id, ...sameNode(id, fault.plan)]);
}

function ownNames({ kind, at }: GuitarFault): string[] {
  const [a, b, c] = at;
  switch (kind) {
    case 'leads exchanged': return [`exchange ${a} ${b} ${c}`];
    case 'coils exchanged': return [`coils ${a} coil 1 coil 2`];
    case 'joint open': return [`open ${a} ${b}`];
    case 'joint bad': return [`bad joint ${a} ${b}`];
    case 'node on ground': return [`bridge ${a} gnd`];
    case 'lugs bridged': return [`bridge ${a} ${b}`, `bridge ${b} ${a}`];
    case 'coil broken': return [`broken ${a} ${b}`];
    case 'coil shorted': return [`shorted ${a} ${b}`];
    case 'magnet turned': return [`over ${a}`];
    case 'lug exchanged': return [`swap ${a} ${b} ${c}`, `swap ${a} ${c} ${b}`];
    case 'lug off': return [`off ${a} ${b}`];
    case 'lug one off': return [`lug ${a} ${b} ${c}`];
    case 'contact dead': return [`contact ${a} ${b} ${c}`];
    // Of two nodes that a position joins, the contact of either is that of both.
    case 'contact bad': return [`bad contact ${a} ${b} ${c}`, `bad contact ${a} ${at[3]} ${c}`];
    case 'switch reversed': return [`reversed ${a}`];
    case 'leads of two pickups exchanged': return [`leads of ${a} and ${b}`, `leads of ${b} and ${a}`];
    case 'pickups exchanged': return [`bodies of ${a} and ${b}`, `bodies of ${b} and ${a}`];
    case 'pot lug off': return [`lug ${a} ${b}`];
    case 'pot value': return [`value ${a} ${b}`];
    case 'pot backwards': return [`outer ${a}`];
  }
}

