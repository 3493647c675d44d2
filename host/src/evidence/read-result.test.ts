import { describe, expect, it } from 'vitest';
import {
  CoilPairResultLayout,
  CoilResultLayout,
  CoilFlag,
  CoilText,
  EVIDENCE,
  EVIDENCE_TOUCHES,
  EvidenceLayout,
  Finding,
  FindingResultLayout,
  FindingText,
  MEMORY_bytes,
  NONE,
  Note,
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
} from '../logic/layout.generated.ts';
import { createLogic } from '../logic/module.ts';
import { readResult, solveEvidence } from './read-result.ts';
import { coilSentence, findingSentence, unknownSentence } from './sentences.ts';

type Field = { readonly at: number; readonly type: string };

/** Writes fields of a block by their types. */
function put(view: DataView, at: number, layout: object, values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    const field = (layout as Record<string, Field>)[name];
    if (field === undefined) throw new Error(`no field ${name}`);
    if (field.type === 'f32') view.setFloat32(at + field.at, value, true);
    else if (field.type === 'u32') view.setUint32(at + field.at, value, true);
    else view.setUint8(at + field.at, value);
  }
}

const NO_FINDING = { coil: NONE, otherCoil: NONE, place: NONE, fraction: -1 };

/** The result block of the example in file-formats.md, "The wire map", with a bridge and an open question added. */
function example(): DataView {
  const view = new DataView(new ArrayBuffer(MEMORY_bytes));
  put(view, RESULT, ResultLayout, {
    verdict: Verdict.fault,
    coilCount: 2,
    pairCount: 1,
    findingCount: 2,
    unknownCount: 1,
    chassisMask: 0b010000,
    joined0: 0b100010,
  });
  put(view, RESULT_COILS, CoilResultLayout, {
    endA: 1,
    endB: 2,
    plus: 2,
    minus: 1,
    place: 0,
    pole: Pole.north,
    winding: Winding.cw,
    ohm: 4132.6,
    ohm_20C: 4098.8,
    u_ohm: 2.5,
    inductance_H: 2.31,
    confidence: 0.9999,
    flags: CoilFlag.ohm20C,
  });
  put(view, RESULT_COILS + CoilResultLayout.size, CoilResultLayout, {
    endA: 3,
    endB: 4,
    place: NONE,
    ohm: 4212.2,
    u_ohm: 2.5,
    text: CoilText.hiddenUnknown,
    flags: CoilFlag.hidden,
    placeMask: 0b11,
    lowersMask: 0b10,
    northMask: 0b01,
  });
  put(view, RESULT_PAIRS, CoilPairResultLayout, { a: 0, b: 1, polesDiffer: 1, witnesses: 3, mutual_H: 0.1875, u_mutual_H: 0.0078125 });
  put(view, RESULT_FINDINGS, FindingResultLayout, {
    ...NO_FINDING,
    kind: Finding.bridge,
    severity: Severity.fault,
    text: FindingText.bridgeToChassis,
    coil: 0,
    clip0: 5,
    clip1: 1,
    fraction: 0.38,
    value: 0.5,
  });
  put(view, RESULT_FINDINGS + FindingResultLayout.size, FindingResultLayout, {
    ...NO_FINDING,
    kind: Finding.joined,
    severity: Severity.note,
    text: FindingText.joinedClips,
    clip0: 2,
    clip1: 6,
  });
  put(view, RESULT_UNKNOWNS, UnknownResultLayout, {
    text: UnknownText.poleUnknown,
    coil: 1,
    otherCoil: NONE,
    place: NONE,
  });
  return view;
}

describe('a result block', () => {
  it('becomes the wire map of file-formats.md', () => {
    expect(readResult(example(), ['upper', 'lower'])).toEqual({
      format: 'wiremap/1',
      verdict: 'fault',
      coils: [
        {
          name: 'coil 1',
          minus: 1,
          plus: 2,
          ends: [1, 2],
          ohm: 4132.6,
          ohm_20C: 4098.8,
          u_ohm: 2.5,
          place: 'upper',
          pole: 'N',
          winding: 'cw',
          inductance_H: 2.31,
          confidence: 0.9999,
        },
        {
          name: 'coil 2',
          minus: null,
          plus: null,
          ends: [3, 4],
          ohm: 4212.2,
          u_ohm: 2.5,
          place: null,
          pole: null,
          hidden_junction: true,
          parts: [
            { place: 'upper', pole: 'N', sense: null },
            { place: 'lower', pole: null, sense: -1 },
          ],
          text: 'More than one coil drives this stretch: touches at "upper" and "lower" do, and which way could not be told.',
        },
      ],
      pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: true, witnesses: ['coupling', 'magnet'], mutual_H: 0.1875, u_H: 0.0078125 }],
      chassis: [5],
      joined: [[2, 6]],
      findings: [
        {
          kind: 'bridge',
          severity: 'fault',
          clips: [5, 1],
          coil: 'coil 1',
          fraction: 0.38,
          text:
            'coil 1 touches the frame inside at 38 % of its winding counted from its minus (clip 1), nearest to clip 1 ' +
            '(contact of 0.5 ohm): open the pickup there and insulate the winding, or replace the coil.',
        },
        {
          kind: 'joined',
          severity: 'note',
          clips: [2, 6],
          text: 'Clips 2 and 6 are joined: any of them stands for the others.',
        },
      ],
      unknown: [
        'The pole of coil 2 and the sense of its winding: no magnet reading is known to be its own; hold the probe or a compass to its face.',
      ],
    });
  });

  it('gives numbers as short as single precision allows', () => {
    const text = JSON.stringify(readResult(example(), ['upper', 'lower']));
    expect(text).toContain('"ohm":4132.6,');
    expect(text).toContain('"fraction":0.38,');
  });

  it('lists an arm that ends at a hidden point with neither ends nor ohms', () => {
    const view = example();
    put(view, RESULT_COILS, CoilResultLayout, { endB: 0, plus: 0, minus: 0 });
    expect(readResult(view, ['upper', 'lower']).coils[0]).toMatchObject({
      hidden_end: true,
      ends: null,
      ohm: null,
      plus: null,
      minus: null,
    });
  });

  it('tells of a silent place once: as the broken coil that it is, not also as an open question', () => {
    const view = example();
    put(view, RESULT, ResultLayout, { findingCount: 1, unknownCount: 2 });
    put(view, RESULT_FINDINGS, FindingResultLayout, {
      ...NO_FINDING, kind: Finding.open, severity: Severity.fault, text: FindingText.openNoCoil, place: 1, clip0: 3, clip1: 4,
    });
    const question = (index: number, place: number): void =>
      put(view, RESULT_UNKNOWNS + index * UnknownResultLayout.size, UnknownResultLayout,
        { text: UnknownText.placeNoCoil, coil: NONE, otherCoil: NONE, place });
    question(0, 1);
    question(1, 0);
    const map = readResult(view, ['upper', 'lower']);
    expect(map.findings[0]?.text).toContain('Touches at the place "lower" drive no coil');
    expect(map.unknown).toEqual([expect.stringContaining('What sits at the place "upper"')]);
  });

  it('lists the clips that are connected to nothing, and none where a pair was only not read', () => {
    const view = example();
    const question = (text: number): string[] => {
      put(view, RESULT_UNKNOWNS, UnknownResultLayout, { text, coil: NONE, otherCoil: NONE, place: NONE, clipMask: 0b1100, clipMask2: 0b1 });
      return Object.keys(readResult(view, []));
    };
    expect(question(UnknownText.pairNotRead)).not.toContain('isolated');
    expect(question(UnknownText.isolatedClips)).toContain('isolated');
    expect(readResult(view, []).isolated).toEqual([3, 4]);
  });

  it('with a code that this program does not know is a fault of the program, not a guess', () => {
    const view = example();
    put(view, RESULT, ResultLayout, { verdict: 0 });
    expect(() => readResult(view, [])).toThrow('the module gave verdict 0');
  });
});

describe('a test in which a wait ran out', () => {
  it('says of no place that was touched that nobody touched there', () => {
    const logic = createLogic();
    logic.calls.evidenceClear();
    put(logic.view, EVIDENCE, EvidenceLayout, { clipMask: 0b111111, placeCount: 4, touchCount: 3, noteMask: 1 << Note.timedOut });
    for (const place of [0, 1, 2]) put(logic.view, EVIDENCE_TOUCHES + place * TOUCH_bytes, TouchEvidenceLayout, { place });
    const said = solveEvidence(logic, ['front', 'middle', 'rear', 'spare']).unknown.filter((text) => text.includes('nobody touched'));
    expect(said).toEqual([expect.stringContaining('"spare"')]);
  });
});

describe('sentences', () => {
  const facts = {
    coil: 'coil 1',
    otherCoil: 'coil 2',
    place: 'upper',
    clips: [1, 2, 3],
    areJoined: false,
    clips2: [4],
    parts: [{ place: 'upper', pole: 'N' as const, sense: 1 as const }, { place: 'lower', pole: 'S' as const, sense: -1 as const }],
    fraction: 0.25,
    countedFrom: 'its minus (clip 1)',
    otherCountedFrom: 'clip 3',
    otherPlace: 'lower',
    value: 12.5,
    value2: 3.25,
    value3: 0.5,
  };
  const plain = (sentence: string): void => {
    expect(sentence).toMatch(/^[\x20-\x7e]+[.]$/);
    expect(sentence).not.toMatch(/undefined|NaN|null| {2}|\. [A-Z]/);
    expect(sentence.length).toBeLessThan(260);
  };

  it('exist for every finding that the module can make, each one plain sentence', () => {
    for (const [name, text] of Object.entries(FindingText))
      if (name !== 'none') plain(findingSentence({ ...facts, text }));
  });
  it('exist for every open question that the module can leave', () => {
    for (const [name, text] of Object.entries(UnknownText))
      if (name !== 'none') plain(unknownSentence({ ...facts, text }));
  });
  it('exist for every remark beside a coil', () => {
    for (const [name, text] of Object.entries(CoilText))
      if (name !== 'none') plain(coilSentence(text, ['upper']) ?? '');
  });
  it('speak of no touch where none is told of', () => {
    const text = FindingText.openNoCoil;
    expect(findingSentence({ ...facts, clips: [1, 2], place: '', text, value: 0 }))
      .toMatch(/^Clips 1 and 2 are connected to nothing, and no coil was found:/);
  });
  it('do not say of the ohms of a coil that they are too little for one', () => {
    const said = (value: number): string => findingSentence({ ...facts, clips: [1, 2], text: FindingText.bridgeAtEnd, value });
    expect(said(4100))
      .toMatch(/^Clips 1 and 2 are connected by 4100 ohm, and nothing that was read makes a coil of it: if one may lie/);
    expect(said(120)).toContain('too much for a joint and too little for a coil: look for a bad solder joint');
  });
  it('send to a short first where the leads of a silent coil are joined', () => {
    const told = { ...facts, clips: [1, 2], areJoined: true, text: FindingText.openNoCoil };
    expect(findingSentence({ ...told, place: '', value: 0 }))
      .toBe('Clips 1 and 2 are connected to each other and to nothing else, and no coil was found: look for bare wire or a stray strand that joins ' +
        'these leads, then for a torn wire where the leads are soldered to the coil.');
    expect(findingSentence({ ...told, value: 1 }))
      .toMatch(/and if it stays silent look for bare wire or a stray strand that joins these leads, then for a torn/);
  });
  it('do not call a coil broken for sure that a touch beside its pole would leave as silent', () => {
    expect(findingSentence({ ...facts, clips: [3], text: FindingText.openNoCoil, value: 1 }))
      .toMatch(/clip 3 is connected to nothing: most likely a coil there is broken; touch that place again, firmly on the pole,/);
  });
  it('do not deny a coil that is listed beside them', () => {
    const text = FindingText.openNoCoil;
    expect(findingSentence({ ...facts, clips: [3], place: '', text, value: 1 }))
      .toMatch(/^Some touches drive no coil, and clip 3 is connected to nothing: most likely a coil is broken;/);
  });
  it('say from which end the second coil of a bridge is counted', () => {
    expect(findingSentence({ ...facts, text: FindingText.bridgeBetweenCoils })).toContain('coil 2 at 50 % of its winding counted from clip 3');
  });
  it('do without what is not known', () => {
    for (const [name, text] of Object.entries(FindingText)) {
      if (name !== 'none')
        plain(findingSentence({ ...facts, place: '', fraction: null, text, value3: -1 }));
    }
  });
});
