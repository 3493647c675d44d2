/** The proof of a harness as `--json` prints it (`proof/1`). */
import type { Setting } from '../harness/harness.ts';
import { settingNames, settingsOf } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { tellApart } from './apart.ts';
import { areAlike, differencesOf, type TouchResult } from './differences.ts';
import type { FaultKind } from './faults.ts';
import type { Evidence } from './likelihood.ts';
import { jackProbes, prove, unreadSettings, type Candidate, type ProofVerdict } from './prove.ts';
import { predict } from './wired.ts';

/** One reading against the plan. */
export interface ProvedSetting {
  readonly setting: Setting;
  /** Where the record came from. */
  readonly source: string;
  /** Null: no path, or not read. */
  readonly ohm: number | null;
  /** As planned, at the record's temperature; null: no path. */
  readonly expected_ohm: number | null;
  readonly u_expected_ohm: number;
  /** Null where it was not read, or cannot be judged. */
  readonly ohm_agrees: boolean | null;
  /** Null where none was read, or it cannot be judged. */
  readonly inductance: { readonly henry: number; readonly expected_henry: number; readonly agrees: boolean } | null;
  readonly touches: readonly TouchResult[];
  /** What differs; null where nothing does. */
  readonly text: string | null;
}

export interface ProvedFault {
  readonly kind: FaultKind;
  readonly text: string;
  readonly cure: string;
}

/** Faults that no setting at the jack tells apart, and how likely it is that it is one of them. */
export interface ProvedCause {
  readonly confidence: number;
  readonly faults: readonly ProvedFault[];
  /** How to tell them apart, lettered a, b, c in their order, or `cause 1` from `cause 2`; null where there is nothing to tell. */
  readonly tell: string | null;
}

export interface Proof {
  readonly format: 'proof/1';
  readonly title?: string;
  readonly verdict: ProofVerdict;
  readonly settings: readonly ProvedSetting[];
  /** Best first. */
  readonly causes: readonly ProvedCause[];
  /** Settings of which there is no reading at the jack. */
  readonly unread: readonly Setting[];
  /** Faults that the readings neither show nor rule out; `tell` says whether a setting that was not read would. */
  readonly unseen: readonly (ProvedFault & { readonly shows_elsewhere: boolean })[];
  /** Single faults that were tried. */
  readonly tried: number;
}

/** A cause that is less likely than this is not told, unless it is the best. */
const TOLD_least = 0.02;
/** More causes than this are not told. */
const CAUSES_most = 4;

/** Proves a harness. @param wired - as `wiredOf` gives it */
export function proofOf(wired: LoadedHarness, evidence: Evidence): Proof {
  const { harness } = wired;
  const settings = settingsOf(harness).map((positions) => settingNames(harness, positions));
  const judged = prove(wired, evidence);
  const results = differencesOf(evidence, judged.planned);
  const worth = judged.groups.filter(({ confidence }, at) => at === 0 || confidence >= TOLD_least).slice(0, CAUSES_most);
  return {
    format: 'proof/1',
    ...(harness.title === undefined ? {} : { title: harness.title }),
    verdict: judged.verdict,
    settings: evidence.readings.map(({ setting, source }, at): ProvedSetting => {
      const { ohm, expected_ohm, u_expected_ohm, ohmAgrees, inductance, touches, differences } = results[at]!;
      return {
        setting: settings[setting]!, source, ohm, expected_ohm, u_expected_ohm, ohm_agrees: ohmAgrees,
        inductance: inductance === null ? null
          : { henry: inductance.henry_H, expected_henry: inductance.expected_H, agrees: inductance.agrees },
        touches,
        text: differences.length === 0 ? null : `${differences.join('; ')}.`,
      };
    }),
    causes: worth.map(({ members, confidence }, at): ProvedCause => {
      const next = worth[at + 1];
      const suspects = members.length > 1 || next === undefined || at > 0
        ? members.map(({ model }, index) => ({ model, label: letterOf(index) }))
        : [members[0]!, next.members[0]!].map(({ model }, index) => ({ model, label: `cause ${index + 1}` }));
      return { confidence, faults: members.map(faultOf), tell: tellApart(suspects, wired, evidence) ?? (members.length > 1 ? 'No further reading that was tried tells them apart: look at the joints.' : null) };
    }),
    unread: unreadSettings(wired, evidence).map((setting) => settings[setting]!),
    unseen: judged.unseen.map((one) => ({ ...faultOf(one), shows_elsewhere: showsElsewhere(one, wired, evidence) })),
    tried: judged.tried,
  };
}

/** a, b, c. */
export function letterOf(index: number): string {
  return String.fromCharCode('a'.charCodeAt(0) + index);
}

function faultOf({ kind, text, cure }: Candidate): ProvedFault {
  return { kind, text, cure };
}

/** Whether a fault would show in some setting at the jack. */
function showsElsewhere({ model }: Candidate, wired: LoadedHarness, evidence: Evidence): boolean {
  const probes = jackProbes(wired);
  const [planned, shown] = [predict(wired, probes, false), predict(model.wired, probes, false)];
  return probes.some((_, at) =>
    !areAlike({ prediction: planned[at]!, swapped: null }, { prediction: shown[at]!, swapped: model.swapped }, evidence.places));
}
