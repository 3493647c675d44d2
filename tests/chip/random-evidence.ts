/**
 * Evidence blocks that no tester would send: the counts and clips make sense (the module asserts its own bugs,
 * and applyEntry guards these), every number may be anything finite: subnormal, enormous, negative, zero.
 */
import {
  ENTRY, EntryFlag, EntryKind, EVIDENCE, EVIDENCE_bytes, LogEntryLayout, PairEvidenceLayout, EVIDENCE_PAIRS, PAIR_bytes, PAIR_COUNT,
} from '../../host/src/logic/layout.generated.ts';
import type { Logic } from '../../host/src/logic/module.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';

/** A finite float of any size, by its bits. */
function anyFloat(chance: RandomStream): number {
  const view = new DataView(new ArrayBuffer(4));
  for (;;) {
    const kind = chance.bits() % 8;
    if (kind === 0) view.setUint32(0, chance.bits() & 0x807fffff);
    else if (kind === 1) view.setUint32(0, 0x7f000000 | (chance.bits() & 0x80ffffff));
    else view.setUint32(0, chance.bits());
    if (Number.isFinite(view.getFloat32(0))) return view.getFloat32(0);
  }
}

/** Mostly a plausible number, now and then anything. */
function value(chance: RandomStream, least: number, most: number): number {
  return chance.bits() % 6 === 0 ? Math.abs(anyFloat(chance)) : chance.betweenLog(least, most);
}

type Fields = { kind: number; flags?: number; a?: number; b?: number; c?: number; d?: number; place?: number; values?: readonly number[] };

function apply(logic: Logic, fields: Fields): void {
  const { view, bytes } = logic;
  bytes.fill(0, ENTRY, ENTRY + LogEntryLayout.size);
  view.setUint8(ENTRY + LogEntryLayout.kind.at, fields.kind);
  view.setUint8(ENTRY + LogEntryLayout.flags.at, fields.flags ?? 0);
  for (const name of ['a', 'b', 'c', 'd', 'place'] as const) view.setUint8(ENTRY + LogEntryLayout[name].at, fields[name] ?? 0);
  (fields.values ?? []).forEach((number, i) => view.setFloat32(ENTRY + LogEntryLayout.v0.at + 4 * i, number, true));
  logic.calls.applyEntry();
}

/** @param number - of the block; every third has its float fields overwritten with any finite bits */
export function randomEvidence(logic: Logic, chance: RandomStream, number: number): Uint8Array {
  const clips = 2 + (chance.bits() % 5);
  const places = 1 + (chance.bits() % 3);
  const pair = (): [number, number] => {
    const a = 1 + (chance.bits() % clips);
    const b = 1 + (chance.bits() % clips);
    return a === b ? pair() : [a, b];
  };
  logic.calls.evidenceClear();
  apply(logic, {
    kind: EntryKind.begin, flags: EntryFlag.temperatureKnown, a: (1 << clips) - 1, b: chance.bits() % 3 === 0 ? 1 << (clips - 1) : 0,
    c: chance.bits() % 5, place: places, values: [chance.between(-20, 60), 0, 6e-4],
  });
  for (let a = 1; a <= clips; a++) {
    for (let b = a + 1; b <= clips; b++) {
      const open = chance.bits() % 3 === 0;
      apply(logic, {
        kind: EntryKind.resistance, flags: open ? EntryFlag.open : 0, a, b,
        values: open ? [value(chance, 1e6, 1e8)] : [value(chance, 0.1, 3e4), value(chance, 0.05, 5)],
      });
    }
  }
  for (let i = chance.bits() % 4; i > 0; i--) {
    const [a, b] = pair();
    apply(logic, {
      kind: EntryKind.inductance, flags: chance.bits() % 2 ? EntryFlag.lossKnown : 0, a, b,
      values: [value(chance, 0.5, 8), value(chance, 0.01, 0.2), value(chance, 1e4, 1e6), value(chance, 1e2, 1e5)],
    });
  }
  for (let i = chance.bits() % 3; i > 0; i--) {
    const [[a, b], [c, d]] = [pair(), pair()];
    const mutual_H = value(chance, 0.01, 1) * (chance.bits() % 2 ? 1 : -1);
    apply(logic, { kind: EntryKind.coupling, a, b, c, d, values: [mutual_H, value(chance, 1e-3, 0.1)] });
  }
  for (let i = chance.bits() % 4; i > 0; i--) {
    const [a, b] = pair();
    apply(logic, {
      kind: EntryKind.ring, a, b,
      values: [value(chance, 1e3, 1e4), value(chance, 1, 50), value(chance, 1e-6, 1e-4), value(chance, 1e-8, 1e-6)],
    });
    apply(logic, {
      kind: EntryKind.ringCapacitance, flags: chance.bits() % 4 ? EntryFlag.totalKnown : 0, a, b,
      values: [value(chance, 1e-10, 1e-9), value(chance, 1e-12, 1e-11), value(chance, 1e-10, 4e-10), value(chance, 1e-12, 1e-11)],
    });
  }
  for (let i = chance.bits() % 3; i > 0; i--) {
    apply(logic, {
      kind: EntryKind.magnet, flags: EntryFlag.fieldKnown, a: 1 + (chance.bits() % 2), place: chance.bits() % places,
      values: [value(chance, 1e-3, 0.1)],
    });
  }
  for (let i = chance.bits() % 4; i > 0; i--) {
    const [a, b] = pair();
    apply(logic, {
      kind: EntryKind.observed, flags: EntryFlag.peakKnown, a, b, c: chance.bits() % 3, place: chance.bits() % places,
      values: [value(chance, 1e-3, 0.2)],
    });
  }
  const block = Uint8Array.from(logic.bytes.subarray(EVIDENCE, EVIDENCE + EVIDENCE_bytes));
  if (number % 3 === 2) overwriteReadings(block, chance);
  return block;
}

/** Resistances and weights of the pairs become any finite floats: more than applyEntry would let in. */
function overwriteReadings(block: Uint8Array, chance: RandomStream): void {
  const view = new DataView(block.buffer);
  for (let pair = 0; pair < PAIR_COUNT; pair++) {
    const at = EVIDENCE_PAIRS - EVIDENCE + pair * PAIR_bytes;
    const groups = view.getUint8(at + PairEvidenceLayout.groupCount.at);
    for (let group = 0; group < groups; group++) {
      if (chance.bits() % 3 === 0) view.setFloat32(at + PairEvidenceLayout.size + 12 * group, Math.abs(anyFloat(chance)), true);
      if (chance.bits() % 5 === 0) view.setFloat32(at + PairEvidenceLayout.size + 12 * group + 4, Math.abs(anyFloat(chance)), true);
    }
  }
}
