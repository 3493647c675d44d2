/** Compares a wire map with the truth and names each disagreement. */
import type { FindingKind, WireMap, WireMapCoil } from '../../host/src/wiremap/wiremap.ts';
import { placesInOrder, type LotPickup } from './generator.ts';
import { LeadNetwork } from './lead-network.ts';
import { LEAK_ohm, type TrueCoil, type TrueFault, type Truth } from './truth.ts';

/** What a map may get wrong. The first seven are lies; the rest are things left unsaid, missed or called in vain. */
export type Class =
  | 'coils wrong'
  | 'joined wrong'
  | 'chassis wrong'
  | 'isolated wrong'
  | 'sign wrong'
  | 'place wrong'
  | 'pole wrong'
  | 'winding wrong'
  | 'poles_differ wrong'
  | 'ohms wrong'
  | 'sign not given'
  | 'place not given'
  | 'pole not given'
  | 'bridge missed'
  | 'leak missed'
  | 'open missed'
  | 'shorted turns missed'
  | 'intermittent missed'
  | 'live missed'
  | 'mismatch missed'
  | 'out of phase missed'
  | 'false alarm'
  | 'not good though sound'
  | 'good though faulty'
  | 'coils differ on a faulty pickup'
  | 'map breaks its own rules';

export interface Disagreement {
  readonly class: Class;
  readonly detail: string;
}

/** A sign that was stated, with how sure the map was: for calibration. */
export interface StatedSign {
  readonly confidence: number;
  readonly right: boolean;
}

export interface Judgement {
  readonly disagreements: readonly Disagreement[];
  readonly stated: readonly StatedSign[];
  /** Faults that show at the clips, and whether they were told. */
  readonly faults: readonly {
    readonly kind: string;
    readonly size: number;
    readonly found: boolean;
  }[];
  /** Stretches whose sign a map is expected to give. */
  readonly expectedSigns: number;
  readonly givenSigns: number;
  readonly coilsRight: boolean;
}

/** What the evidence behind the map was good for. */
export interface Expectation {
  /** Touches of 0.2 mWb and more, on each place at least one on the right coil. */
  readonly signs: boolean;
  /** When given, only these stretches' signs are expected. */
  readonly signOf?: (coil: TrueCoil) => boolean;
  readonly places: boolean;
  readonly poles: boolean;
  /** Inductances and couplings were measured. */
  readonly inductance: boolean;
  /** Everything a tester measures is there, so that a sound pickup should be called good. */
  readonly complete: boolean;
}

/** The finding kinds that call a pickup faulty. */
const ALARMS = new Set([
  'bridge',
  'leak',
  'open',
  'shorted_turns',
  'intermittent',
  'live',
  'contradiction',
]);

/** Compares.
 * @param one - the pickup, its family and its slips
 * @param truth - of the same pickup
 * @param map - what was found
 * @param expected - what the evidence allows to be known
 */
export function judge(
  one: LotPickup,
  truth: Truth,
  map: WireMap,
  expected: Expectation,
): Judgement {
  const list: Disagreement[] = [];
  const say = (name: Class, detail: string): void => void list.push({ class: name, detail });
  const sound = truth.faults.length === 0;
  const live = truth.faults.some((fault) => fault.kind === 'live');
  ownRules(map, say);

  const rep = (clip: number): number => truth.representative.get(clip) ?? -1;
  const key = (ends: readonly number[]): string =>
    ends
      .map(rep)
      .sort((a, b) => a - b)
      .join('-');
  const listed = map.coils.filter((coil) => coil.ohm !== null && coil.ends !== null);
  const told = listed.map((coil) => key(coil.ends!)).sort();
  const real = live ? [] : truth.coils.map((coil) => key(coil.ends)).sort();
  const coilsRight = told.join() === real.join();
  if (!coilsRight && !truth.ambiguous) {
    say(
      sound ? 'coils wrong' : 'coils differ on a faulty pickup',
      `says ${told.join(' ') || 'none'}, has ${real.join(' ') || 'none'}`,
    );
  }
  const intermittent = truth.faults.some((fault) => fault.kind === 'intermittent');
  if (!live) {
    const groups = (list: readonly (readonly number[])[]): string =>
      list
        .map((group) => [...group].sort((a, b) => a - b).join('='))
        .sort()
        .join(' ');
    if (groups(map.joined) !== groups(truth.joined) && !intermittent) {
      say('joined wrong', `says [${groups(map.joined)}], has [${groups(truth.joined)}]`);
    }
    const chassis = [...map.chassis].sort((a, b) => a - b).join();
    if (chassis !== truth.chassis.join() && !intermittent)
      say('chassis wrong', `says [${chassis}], has [${truth.chassis}]`);
    if (!intermittent) isolation(one, truth, map, say);
  }

  const stated: StatedSign[] = [];
  let expectedSigns = 0;
  let givenSigns = 0;
  for (const trueCoil of live ? [] : truth.coils) {
    const coil = listed.find((candidate) => key(candidate.ends!) === key(trueCoil.ends));
    if (coil === undefined) continue;
    oneCoil(one, trueCoil, coil, expected, say, stated, rep);
    if (trueCoil.plus === null) {
      if (
        expected.signs &&
        sound &&
        !map.findings.some((finding) => finding.kind === 'out_of_phase')
      ) {
        say('out of phase missed', `${coil.name} ${coil.ends}`);
      }
    } else if (
      expected.signs &&
      expected.signOf?.(trueCoil) !== false &&
      !trueCoil.outOfReach &&
      one.family !== 'stacked' &&
      !intermittent
    ) {
      expectedSigns++;
      if (coil.plus !== null) givenSigns++;
      else
        say('sign not given', `${coil.name} ${coil.ends}: ${coil.text ?? map.unknown.join('; ')}`);
    }
  }
  pairs(one, truth, map, listed, key, say);
  const found = faults(truth, map, expected, say);
  if (sound) soundness(one, truth, map, expected, say);
  else if (
    map.verdict === 'good' &&
    truth.faults.some((fault) => fault.visible && isSerious(fault.kind, fault.size))
  ) {
    say('good though faulty', truth.faults.map((fault) => `${fault.kind} ${fault.size}`).join());
  }
  return { disagreements: list, stated, faults: found, expectedSigns, givenSigns, coilsRight };
}

/** Clips that are connected to nothing must be told; what conducts less than a leak is free to be called either way. */
function isolation(one: LotPickup, truth: Truth, map: WireMap, say: (name: Class, detail: string) => void): void {
  const told = map.isolated ?? [];
  const silent = truth.isolated.filter((clip) => !told.includes(clip));
  const network = new LeadNetwork(one.pickup);
  const connected = told.filter((clip) =>
    one.pickup.leads.some((other) => truth.representative.get(other.clip) !== truth.representative.get(clip) &&
      network.resistance(clip, other.clip) < LEAK_ohm));
  if (silent.length > 0 || connected.length > 0)
    say('isolated wrong', `says [${told}], has [${truth.isolated}]${connected.length > 0 ? `, connected [${connected}]` : ''}`);
}

function isSerious(kind: string, size: number): boolean {
  return kind === 'bridge' || kind === 'open' || kind === 'live';
}

function oneCoil(
  one: LotPickup,
  real: TrueCoil,
  coil: WireMapCoil,
  expected: Expectation,
  say: (name: Class, detail: string) => void,
  stated: StatedSign[],
  rep: (clip: number) => number,
): void {
  const where = `${coil.name} ${coil.ends}`;
  // Of two coils inside, one touched twice by mistake sounds like both: nothing measured tells.
  const untellable = one.slip === 'wrong place' && real.own.length > 1;
  if (coil.plus !== null && !untellable) {
    const right = rep(coil.plus) === real.plus;
    stated.push({ confidence: coil.confidence ?? 1, right });
    if (!right)
      say('sign wrong', `${where}: says +${coil.plus} at ${coil.confidence}, has +${real.plus}`);
    // The end nearer plus of a right sign: pole and winding say the same thing.
    if (
      right &&
      coil.winding !== undefined &&
      real.pole !== null &&
      (coil.winding === 'cw') !== (real.pole === 'N')
    ) {
      say(
        'winding wrong',
        `${where}: says ${coil.winding} from minus to plus, has pole ${real.pole}`,
      );
    }
  }
  if (coil.place !== null && coil.place !== real.place) {
    say('place wrong', `${where}: says ${coil.place}, has ${real.place}`);
  } else if (
    coil.place === null &&
    real.place !== null &&
    expected.places &&
    !real.outOfReach &&
    real.own.length === 1 &&
    one.family !== 'stacked'
  ) {
    say('place not given', where);
  }
  if (coil.pole !== null && real.pole !== null && coil.pole !== real.pole)
    say('pole wrong', `${where}: says ${coil.pole}, has ${real.pole}`);
  else if (
    coil.pole === null &&
    real.pole !== null &&
    expected.poles &&
    coil.place !== null &&
    !real.outOfReach
  )
    say('pole not given', where);
  if (coil.ohm !== null) {
    const u_ohm = coil.u_ohm ?? coil.ohm * 0.001;
    const off = Math.abs(coil.ohm - real.ohm);
    // The scale of all readings is known to 0.06 % (k = 1); five of these and the stated uncertainty.
    if (off > 5 * Math.hypot(u_ohm, real.ohm * 6e-4) + 0.5)
      say('ohms wrong', `${where}: says ${coil.ohm}, has ${real.ohm.toFixed(1)}`);
  }
}

function pairs(
  one: LotPickup,
  truth: Truth,
  map: WireMap,
  listed: readonly WireMapCoil[],
  key: (ends: readonly number[]) => string,
  say: (name: Class, detail: string) => void,
): void {
  for (const pair of map.pairs ?? []) {
    if (pair.poles_differ === null) continue;
    const real = [pair.a, pair.b].map((name) => {
      const coil = listed.find((candidate) => candidate.name === name);
      return coil === undefined
        ? undefined
        : truth.coils.find((candidate) => key(candidate.ends) === key(coil.ends!));
    });
    const [a, b] = real;
    if (a?.pole == null || b?.pole == null) continue;
    if ((a.pole !== b.pole) !== pair.poles_differ) {
      say(
        'poles_differ wrong',
        `${pair.a}, ${pair.b}: says ${pair.poles_differ} by ${pair.witnesses.join('+')} (${one.family})`,
      );
    }
  }
}

/** What tells each kind of fault; a shorted winding may show as no more than a mismatch with its sibling. */
const TOLD_BY: Readonly<Record<TrueFault['kind'], readonly FindingKind[]>> = {
  bridge: ['bridge'],
  leak: ['leak', 'bridge'],
  open: ['open'],
  shorted_turns: ['shorted_turns', 'mismatch'],
  intermittent: ['intermittent'],
  live: ['live'],
};

function faults(
  truth: Truth,
  map: WireMap,
  expected: Expectation,
  say: (name: Class, detail: string) => void,
): { kind: string; size: number; found: boolean }[] {
  const list: { kind: string; size: number; found: boolean }[] = [];
  for (const { kind, size, visible } of truth.faults) {
    if (!visible || (kind === 'shorted_turns' && !expected.inductance)) continue;
    // A coloured lead bridged onto a winding is a tap for all that can be measured.
    if (kind === 'bridge' && truth.ambiguous && map.coils.length > 0) continue;
    const found = map.findings.some((finding) => TOLD_BY[kind].includes(finding.kind));
    list.push({ kind, size, found });
    if (!found)
      say(kind === 'shorted_turns' ? 'shorted turns missed' : `${kind} missed`, `size ${size}`);
  }
  return list;
}

function soundness(
  one: LotPickup,
  truth: Truth,
  map: WireMap,
  expected: Expectation,
  say: (name: Class, detail: string) => void,
): void {
  for (const finding of map.findings) {
    const alarm = ALARMS.has(finding.kind) || finding.severity === 'fault';
    const rightly =
      (finding.kind === 'out_of_phase' && truth.coils.some((coil) => coil.outOfPhase)) ||
      // A slip of the hand is a contradiction between touches, and rightly told; so is a place that
      // steel cannot reach.
      (finding.kind === 'contradiction' && (one.slip !== 'none' || hasUnreachablePlace(one)));
    const vainMismatch =
      finding.kind === 'mismatch' &&
      finding.severity !== 'note' &&
      !truth.mayMismatch &&
      !truth.equalPoles;
    if ((alarm && !rightly) || vainMismatch)
      say('false alarm', `${finding.kind} (${finding.severity}): ${finding.text}`);
  }
  if (
    expected.inductance &&
    truth.mustMismatch &&
    truth.coils.length > 1 &&
    truth.coils.every((coil) => coil.own.length === 1) &&
    one.family !== 'stacked' &&
    !map.findings.some((finding) => finding.kind === 'mismatch')
  ) {
    say('mismatch missed', one.family);
  }
  const good = truth.coils.length > 0 && !truth.coils.some((coil) => coil.outOfPhase);
  if (
    expected.complete &&
    good &&
    one.slip === 'none' &&
    one.family !== 'stacked' &&
    map.verdict !== 'good'
  ) {
    say(
      'not good though sound',
      `${map.verdict}: ${map.findings.map((finding) => finding.kind)}; ${map.unknown.join('; ')}`,
    );
  }
}

/** Stacked coils whose lower one has been given a place of its own. */
function hasUnreachablePlace({ family, pickup }: LotPickup): boolean {
  return family === 'stacked' && placesInOrder(pickup.coils).length > 1;
}

/** Rules of the format that hold whatever the pickup is. */
function ownRules(map: WireMap, say: (name: Class, detail: string) => void): void {
  const broken = (detail: string): void => say('map breaks its own rules', detail);
  if (map.verdict === 'good' && map.findings.some((finding) => finding.severity === 'fault'))
    broken('good beside a fault');
  if (map.verdict === 'good' && map.findings.some((finding) => finding.kind === 'contradiction'))
    broken('good beside a contradiction');
  for (const coil of map.coils) {
    if ((coil.plus === null) !== (coil.minus === null)) broken(`${coil.name}: plus without minus`);
    if (coil.plus === null && coil.confidence !== undefined)
      broken(`${coil.name}: confidence without plus`);
    if (
      coil.plus !== null &&
      (coil.confidence === undefined || coil.confidence < 0.5 || coil.confidence > 1)
    ) {
      broken(`${coil.name}: confidence ${coil.confidence}`);
    }
    if (
      coil.winding !== undefined &&
      (coil.pole === null || (coil.winding === 'cw') !== (coil.pole === 'N'))
    ) {
      broken(`${coil.name}: winding ${coil.winding} with pole ${coil.pole}`);
    }
  }
}
