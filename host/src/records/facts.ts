/** What lists and searches ask of a test, taken out of its record and map once, when it is kept. */
import type { BenchRecord } from '../files/bench-record.ts';
import { doubtOf } from '../wiremap/doubt.ts';
import { wholeHenry } from '../wiremap/sections.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import type { KeptDoubt } from './doubts.ts';

/** Columns of a test. */
export interface Facts {
  readonly verdict: string;
  /** All coils in series, at 20 C where the temperature is known; null without a coil, or with an open one. */
  readonly ohm: number | null;
  /** All windings in series, the coupling between them left out; null unless each is known. */
  readonly henry: number | null;
  readonly coils: number;
  /** Leads on clips. */
  readonly leads: number;
  /** Colour codes between commas, `,BU,YE,`, in the order of the clips; '' where none was noted. */
  readonly colours: string;
  /** Each clip with its colour code, `1BU 2YE 3`: what a map's clips are called. */
  readonly clips: string;
  /** A letter for each coil in the map's order, those inside a hidden junction too: `N`, `S`, or `-` where it is not known. */
  readonly poles: string;
  /** What was found, for a search in words. */
  readonly words: string;
  /** What is still to be minded where the verdict is good. */
  readonly doubt: KeptDoubt;
}

/** A coil's ohms as they are compared: at 20 C where that is known. */
export function comparedOhm(coil: WireMapCoil): number | null {
  return coil.ohm === null ? null : (coil.ohm_20C ?? coil.ohm);
}

function sum(values: readonly (number | null | undefined)[]): number | null {
  if (values.length === 0) return null;
  let total = 0;
  for (const value of values) {
    if (typeof value !== 'number' || !Number.isFinite(value)) return null;
    total += value;
  }
  // Ten digits: more are the dust of adding up.
  return Number(total.toPrecision(10));
}

export function factsOf(record: BenchRecord, map: WireMap): Facts {
  const { coils, findings } = map;
  const colours = record.clips.flatMap(({ colour }) => (colour === undefined ? [] : [colour]));
  return {
    verdict: map.verdict,
    ohm: sum(coils.map(comparedOhm)),
    henry: sum([wholeHenry(map)]),
    coils: coils.length,
    leads: record.clips.length,
    colours: colours.length === 0 ? '' : `,${colours.join(',')},`,
    clips: record.clips.map(({ clip, colour }) => `${clip}${colour ?? ''}`).join(' '),
    poles: coils.flatMap(({ pole, parts = [] }) => (parts.length === 0 ? [pole] : parts.map((part) => part.pole)))
      .map((pole) => pole ?? '-').join(''),
    words: findings.map(({ kind, text }) => `${kind.replaceAll('_', ' ')} ${text}`).join(' '),
    doubt: doubtOf(map),
  };
}

/** The clips of `Facts.clips`; what is none is left out. */
export function readClips(clips: string): BenchRecord['clips'] {
  return clips.split(' ').flatMap((text) => {
    const [, clip, colour] = /^([1-6])([A-Z]{2}|[A-Z]{4})?$/.exec(text) ?? [];
    return clip === undefined ? [] : [colour === undefined ? { clip: Number(clip) } : { clip: Number(clip), colour }];
  });
}

/** Facts of a map or record that nobody can read any more. */
export const NO_FACTS: Omit<Facts, 'verdict'> = {
  ohm: null, henry: null, coils: 0, leads: 0, colours: '', clips: '', poles: '', words: '', doubt: 'untold',
};

/** Serial numbers of the virtual bench's testers begin with this. */
const TWIN = 'TWIN-';

/** Whether a record was made on the virtual bench and not of a pickup that somebody has. */
export function isVirtualRecord(record: BenchRecord): boolean {
  return record.tester?.serial?.startsWith(TWIN) === true;
}

/** Words for the search in text: lower case, without accents, so that every database cuts and compares them alike. */
export function searchWords(text: string): string[] {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().match(/[\p{L}\p{N}]+/gu) ?? [];
}
