/** The module's result block to the wire map. */
import {
  CoilFlag,
  CoilPairResultLayout,
  CoilResultLayout,
  CoilText,
  EVIDENCE,
  EVIDENCE_MAGNETS,
  EVIDENCE_TOUCHES,
  EvidenceLayout,
  Finding,
  FindingResultLayout,
  FindingText,
  MagnetEvidenceLayout,
  NONE,
  Pole,
  RESULT,
  RESULT_COILS,
  RESULT_FINDINGS,
  RESULT_PAIRS,
  RESULT_UNKNOWNS,
  ResultLayout,
  Severity,
  TOUCH_bytes,
  TouchEvidenceLayout,
  UnknownResultLayout,
  UnknownText,
  Verdict,
  Winding,
  Witness,
} from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';
import type {
  FindingKind,
  SeverityWord,
  VerdictWord,
  WireMap,
  WireMapCoil,
  WireMapFinding,
  WireMapPair,
  WireMapPart,
} from '../wiremap/wiremap.ts';
import { shortFloat } from './entry.ts';
import { calibrationSentences, coilSentence, findingSentence, noteSentences, unknownSentence, type Missed } from './sentences.ts';

const VERDICT: Record<number, VerdictWord> = {
  [Verdict.good]: 'good',
  [Verdict.fault]: 'fault',
  [Verdict.unsure]: 'unsure',
};
const SEVERITY: Record<number, SeverityWord> = {
  [Severity.note]: 'note',
  [Severity.warning]: 'warning',
  [Severity.fault]: 'fault',
};
const KIND: Record<number, FindingKind> = {
  [Finding.bridge]: 'bridge',
  [Finding.leak]: 'leak',
  [Finding.open]: 'open',
  [Finding.shortedTurns]: 'shorted_turns',
  [Finding.intermittent]: 'intermittent',
  [Finding.live]: 'live',
  [Finding.joined]: 'joined',
  [Finding.mismatch]: 'mismatch',
  [Finding.contradiction]: 'contradiction',
  [Finding.overrange]: 'overrange',
  [Finding.weakTouch]: 'weak_touch',
  [Finding.outOfPhase]: 'out_of_phase',
};

/** Solves what lies in the evidence block and reads the wire map.
 * @param places - names by index, as `loadRecord` returned them
 */
export function solveEvidence(logic: Logic, places: readonly string[]): WireMap {
  logic.calls.solve();
  const map = readResult(logic.view, places);
  const [noteMask, fault, calibrated] = [EvidenceLayout.noteMask, EvidenceLayout.converterFault, EvidenceLayout.calibrated]
    .map(({ at }) => logic.view.getUint8(EVIDENCE + at)) as [number, number, number];
  const missed = missedPlaces(logic.view, places);
  return { ...map, unknown: [...noteSentences(noteMask, fault, missed), ...calibrationSentences(calibrated), ...map.unknown] };
}

/** Places of which the evidence holds no touch, and no magnet. @param places - names by index */
function missedPlaces(view: DataView, places: readonly string[]): Missed {
  const without = (counted: number, list: number, stride: number, place: number): string[] => {
    const count = view.getUint8(EVIDENCE + counted);
    const seen = Array.from({ length: count }, (_, index) => view.getUint8(list + index * stride + place));
    return places.filter((_, index) => !seen.includes(index));
  };
  return {
    // The channels of a touch lie behind its head, so from one to the next it is further than the head is long.
    touches: without(EvidenceLayout.touchCount.at, EVIDENCE_TOUCHES, TOUCH_bytes, TouchEvidenceLayout.place.at),
    magnets: without(EvidenceLayout.magnetCount.at, EVIDENCE_MAGNETS, MagnetEvidenceLayout.size, MagnetEvidenceLayout.place.at),
  };
}

/** The wire map that a result block holds.
 * @param view - the module's memory @param places - names by index
 */
export function readResult(view: DataView, places: readonly string[]): WireMap {
  const head = (field: { readonly at: number }): number => view.getUint8(RESULT + field.at);
  const reader = new Reader(view, places);
  const coils = reader.coils(head(ResultLayout.coilCount));
  const isolated = reader.isolated(head(ResultLayout.unknownCount));
  const joined = [ResultLayout.joined0, ResultLayout.joined1, ResultLayout.joined2]
    .map((field) => clipsOf(head(field)))
    .filter((group) => group.length > 0);
  return {
    format: 'wiremap/1',
    verdict: known(VERDICT, head(ResultLayout.verdict), 'verdict'),
    coils,
    pairs: reader.pairs(head(ResultLayout.pairCount)),
    chassis: clipsOf(head(ResultLayout.chassisMask)),
    joined,
    ...(isolated.length > 0 ? { isolated } : {}),
    findings: reader.findings(head(ResultLayout.findingCount), coils, joined),
    unknown: reader.unknowns(head(ResultLayout.unknownCount)),
  };
}

/** The clips of a mask, bit 0 for clip 1, in rising order. */
export function clipsOf(mask: number): number[] {
  return [1, 2, 3, 4, 5, 6].filter((clip) => (mask & (1 << (clip - 1))) !== 0);
}

function known<T>(table: Record<number, T>, code: number, what: string): T {
  const value = table[code];
  if (value === undefined)
    throw new Error(`the module gave ${what} ${code}, which the host does not know`);
  return value;
}

function coilName(index: number): string {
  return index === NONE ? '' : `coil ${index + 1}`;
}

class Reader {
  private readonly view: DataView;
  private readonly places: readonly string[];

  constructor(view: DataView, places: readonly string[]) {
    this.view = view;
    this.places = places;
  }

  private place(index: number): string | null {
    return index === NONE ? null : (this.places[index] ?? `place ${index + 1}`);
  }

  /** @param number - place index + 1, 0 for none */
  private otherPlace(number: number): string {
    return number === 0 ? '' : (this.place(number - 1) ?? '');
  }

  coils(count: number): WireMapCoil[] {
    return Array.from({ length: count }, (_, index) =>
      this.coil(RESULT_COILS + index * CoilResultLayout.size, index),
    );
  }

  private coil(at: number, index: number): WireMapCoil {
    const byte = (field: { readonly at: number }): number => this.view.getUint8(at + field.at);
    const float = (field: { readonly at: number }): number =>
      this.view.getFloat32(at + field.at, true);
    const flags = this.view.getUint32(at + CoilResultLayout.flags.at, true);
    const placeMask = this.view.getUint32(at + CoilResultLayout.placeMask.at, true);
    const [endA, endB, plus, minus] = [
      byte(CoilResultLayout.endA),
      byte(CoilResultLayout.endB),
      byte(CoilResultLayout.plus),
      byte(CoilResultLayout.minus),
    ];
    // An arm that ends at a hidden point is no stretch between two clips: it has neither ends nor ohms of its own.
    const isBetweenClips = endA !== 0 && endB !== 0;
    const isSigned = plus !== 0 && minus !== 0;
    const pole = byte(CoilResultLayout.pole);
    const winding = byte(CoilResultLayout.winding);
    const inductance_H = float(CoilResultLayout.inductance_H);
    const driving = this.places.filter(
      (_, place) => place < 32 && (placeMask & (1 << place)) !== 0,
    );
    const text = coilSentence(byte(CoilResultLayout.text), driving);
    return {
      name: coilName(index),
      minus: isSigned ? minus : null,
      plus: isSigned ? plus : null,
      ends: isBetweenClips ? [endA, endB] : null,
      ohm: !isBetweenClips ? null : shortFloat(float(CoilResultLayout.ohm)),
      ...(isBetweenClips && (flags & CoilFlag.ohm20C) !== 0
        ? { ohm_20C: shortFloat(float(CoilResultLayout.ohm_20C)) }
        : {}),
      ...(!isBetweenClips ? {} : { u_ohm: shortFloat(float(CoilResultLayout.u_ohm)) }),
      place: this.place(byte(CoilResultLayout.place)),
      pole: pole === Pole.north ? 'N' : pole === Pole.south ? 'S' : null,
      ...(winding === Winding.unknown ? {} : { winding: winding === Winding.cw ? 'cw' : 'ccw' }),
      ...(inductance_H > 0 ? { inductance_H: shortFloat(inductance_H) } : {}),
      ...this.ring(at),
      ...(isSigned ? { confidence: shortFloat(float(CoilResultLayout.confidence)) } : {}),
      ...(byte(CoilResultLayout.text) === CoilText.stackedInner ? { inner: true } : {}),
      ...(!isBetweenClips ? { hidden_end: true } : {}),
      ...((flags & CoilFlag.hidden) !== 0 ? { hidden_junction: true, parts: this.parts(at, placeMask) } : {}),
      ...(text === undefined ? {} : { text }),
    };
  }

  /** The places inside a coil with a hidden junction, each with its pole and which way a touch there moves plus. */
  private parts(at: number, placeMask: number): WireMapPart[] {
    const has = (field: { readonly at: number }, place: number): boolean =>
      (this.view.getUint8(at + field.at) & (1 << place)) !== 0;
    return this.places.flatMap((place, index) => {
      if (index >= 8 || (placeMask & (1 << index)) === 0) return [];
      const pole = has(CoilResultLayout.northMask, index) ? 'N' : has(CoilResultLayout.southMask, index) ? 'S' : null;
      const sense = has(CoilResultLayout.liftsMask, index) ? 1 : has(CoilResultLayout.lowersMask, index) ? -1 : null;
      return [{ place, pole, sense }];
    });
  }

  /** What the coil's ring says of it; nothing where it was not heard. */
  private ring(at: number): Partial<WireMapCoil> {
    const float = (field: { readonly at: number }): number =>
      shortFloat(this.view.getFloat32(at + field.at, true));
    const of = CoilResultLayout;
    return {
      ...(float(of.u_capacitance_F) > 0
        ? { capacitance_F: float(of.capacitance_F), u_capacitance_F: float(of.u_capacitance_F) }
        : {}),
      ...(float(of.loss_ohm) > 0 ? { loss_ohm: float(of.loss_ohm), u_loss_ohm: float(of.u_loss_ohm) } : {}),
      ...(float(of.loss_s) > 0 ? { loss_s: float(of.loss_s), u_loss_s: float(of.u_loss_s) } : {}),
      ...(float(of.resonance_Hz) > 0 ? { resonance_Hz: float(of.resonance_Hz), q: float(of.q) } : {}),
    };
  }

  pairs(count: number): WireMapPair[] {
    return Array.from({ length: count }, (_, index) => {
      const at = RESULT_PAIRS + index * CoilPairResultLayout.size;
      const byte = (field: { readonly at: number }): number => this.view.getUint8(at + field.at);
      const float = (field: { readonly at: number }): number => this.view.getFloat32(at + field.at, true);
      const u_mutual_H = float(CoilPairResultLayout.u_mutual_H);
      const differ = byte(CoilPairResultLayout.polesDiffer);
      const bits = byte(CoilPairResultLayout.witnesses);
      return {
        a: coilName(byte(CoilPairResultLayout.a)),
        b: coilName(byte(CoilPairResultLayout.b)),
        poles_differ: differ === 1 ? true : differ === 2 ? false : null,
        witnesses: [
          ...((bits & Witness.coupling) !== 0 ? ['coupling' as const] : []),
          ...((bits & Witness.magnet) !== 0 ? ['magnet' as const] : []),
          ...((bits & Witness.oneWinding) !== 0 ? ['one_winding' as const] : []),
        ],
        ...(u_mutual_H > 0
          ? { mutual_H: shortFloat(float(CoilPairResultLayout.mutual_H)), u_H: shortFloat(u_mutual_H) }
          : {}),
      };
    });
  }

  /** @param joined - groups of clips that are one node */
  findings(count: number, coils: readonly WireMapCoil[], joined: readonly (readonly number[])[]): WireMapFinding[] {
    return Array.from({ length: count }, (_, index) =>
      this.finding(RESULT_FINDINGS + index * FindingResultLayout.size, coils, joined),
    );
  }

  private finding(at: number, coils: readonly WireMapCoil[], joined: readonly (readonly number[])[]): WireMapFinding {
    const byte = (field: { readonly at: number }): number => this.view.getUint8(at + field.at);
    const float = (field: { readonly at: number }): number =>
      this.view.getFloat32(at + field.at, true);
    const coilIndex = byte(FindingResultLayout.coil);
    const coil = coils[coilIndex];
    const rawFraction = float(FindingResultLayout.fraction);
    const fraction = rawFraction >= 0 ? shortFloat(rawFraction) : null;
    const clips = this.clipsAt(at);
    const kind = known(KIND, byte(FindingResultLayout.kind), 'finding');
    const isPlaced = kind === 'bridge' && coil !== undefined && fraction !== null;
    return {
      kind,
      severity: known(SEVERITY, byte(FindingResultLayout.severity), 'severity'),
      clips,
      ...(isPlaced ? { coil: coil.name, fraction } : {}),
      text: findingSentence({
        text: byte(FindingResultLayout.text),
        coil: coilName(coilIndex),
        parts: coil?.parts ?? [],
        otherCoil: coilName(byte(FindingResultLayout.otherCoil)),
        place: this.place(byte(FindingResultLayout.place)) ?? '',
        otherPlace: byte(FindingResultLayout.text) === FindingText.placesDisagree ? this.otherPlace(float(FindingResultLayout.value)) : '',
        clips,
        areJoined: clips.length > 1 && joined.some((group) => clips.every((clip) => group.includes(clip))),
        fraction,
        countedFrom: countedFrom(coil),
        otherCountedFrom: countedFrom(coils[byte(FindingResultLayout.otherCoil)]),
        value: float(FindingResultLayout.value),
        value2: float(FindingResultLayout.value2),
        value3: float(FindingResultLayout.value3),
      }),
    };
  }

  /**
   * Places, NONE for one that is not known, and clips of broken windings: what a finding has told of them with its reason is no open
   * question beside it.
   */
  private broken(): { readonly places: ReadonlySet<number>; readonly clips: ReadonlySet<number> } {
    const count = this.view.getUint8(RESULT + ResultLayout.findingCount.at);
    const told = Array.from({ length: count }, (_, index) => RESULT_FINDINGS + index * FindingResultLayout.size)
      .filter((at) => this.view.getUint8(at + FindingResultLayout.kind.at) === Finding.open);
    return {
      places: new Set(told.map((at) => this.view.getUint8(at + FindingResultLayout.place.at))),
      clips: new Set(told.flatMap((at) => this.clipsAt(at))),
    };
  }

  /** Clips of a finding. */
  private clipsAt(at: number): number[] {
    return Array.from({ length: 6 }, (_, index) => this.view.getUint8(at + FindingResultLayout.clip0.at + index))
      .filter((clip) => clip !== 0);
  }

  /** Clips that the solver found connected to nothing. */
  isolated(count: number): number[] {
    const questions = Array.from({ length: count }, (_, index) => RESULT_UNKNOWNS + index * UnknownResultLayout.size);
    return questions
      .filter((at) => this.view.getUint8(at + UnknownResultLayout.text.at) === UnknownText.isolatedClips)
      .flatMap((at) => clipsOf(this.view.getUint8(at + UnknownResultLayout.clipMask.at)));
  }

  unknowns(count: number): string[] {
    const broken = this.broken();
    return Array.from({ length: count }, (_, index) => index).flatMap((index) => {
      const at = RESULT_UNKNOWNS + index * UnknownResultLayout.size;
      const byte = (field: { readonly at: number }): number => this.view.getUint8(at + field.at);
      const text = byte(UnknownResultLayout.text);
      const here = byte(UnknownResultLayout.place);
      if (text === UnknownText.placeNoCoil && (broken.places.has(here) || broken.places.has(NONE))) return [];
      const all = clipsOf(byte(UnknownResultLayout.clipMask));
      const clips = text === UnknownText.isolatedClips ? all.filter((clip) => !broken.clips.has(clip)) : all;
      if (clips.length < all.length && clips.length === 0) return [];
      return unknownSentence({
        text,
        coil: coilName(byte(UnknownResultLayout.coil)),
        otherCoil: coilName(byte(UnknownResultLayout.otherCoil)),
        place: this.place(byte(UnknownResultLayout.place)) ?? '',
        clips,
        clips2: clipsOf(byte(UnknownResultLayout.clipMask2)),
      });
    });
  }
}

function countedFrom(coil: WireMapCoil | undefined): string {
  if (coil?.minus !== null && coil?.minus !== undefined) return `its minus (clip ${coil.minus})`;
  return coil?.ends ? `clip ${coil.ends[0]}` : 'its first end';
}
