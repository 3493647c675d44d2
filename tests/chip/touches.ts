/** One touch, analysed on the emulated chip and in Node.js: scenes as long as the tester's own longest capture. */
import { applyFields } from '../../host/src/evidence/entry.ts';
import { loadCapture, voltsChannel } from '../../host/src/evidence/capture.ts';
import type { Machine } from '../../host/src/chip-twin/machine.ts';
import {
  CAPTURE, CAPTURE_HEAD, CAPTURE_WORDS, CaptureHeadLayout, ENTRY, EntryKind, EVIDENCE, EVIDENCE_bytes, LogEntryLayout,
} from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { faintScene, nominalScene, type Scene } from '../lots/touch-scenes.ts';
import { callOnChip } from './call.ts';

/** The tester's own longest capture: 0.2 s of history, the block of the arrival and 0.8 s after it. */
const SAMPLES = 10_100;

/** The first scene that is long enough. */
function longest(draw: () => Scene): Scene {
  for (;;) {
    const scene = draw();
    if (scene.volts_V[0]!.length >= 9000) return scene;
  }
}

/** Analyses a scene on the chip and in Node.js. */
export function analyse(machine: Machine, scene: Scene): { cycles: number; equal: boolean } {
  const logic = createLogic();
  const chip = new Uint8Array(machine.memory.buffer, machine.memory.byteOffset, machine.memory.byteLength);
  const give = (at: number, length: number): void => chip.set(logic.bytes.subarray(at, at + length), at);
  const count = Math.min(SAMPLES, scene.volts_V[0]!.length);
  applyFields(logic, 0, { kind: EntryKind.begin, a: 0b111111, place: 1 });
  loadCapture(logic, scene.volts_V.map((volts, c) => voltsChannel(1, c + 2, volts.slice(0, count))), scene.rate_Hz, scene.start_s);
  give(CAPTURE_HEAD, CaptureHeadLayout.size);
  give(CAPTURE, CAPTURE_WORDS * 4);
  give(EVIDENCE, EVIDENCE_bytes);
  applyFields(logic, 1, { kind: EntryKind.touch, a: 1, b: 2, c: 1, d: 3, place: 0, count, v0: scene.start_s, v1: scene.rate_Hz });
  give(ENTRY, LogEntryLayout.size);
  const { cycles, trapped } = callOnChip(machine, 'w2c_logic_applyEntry_0', machine.symbol('logic').address);
  if (trapped) throw new Error('the analysis of a touch trapped');
  const evidence = (bytes: Uint8Array): Buffer => Buffer.from(bytes.subarray(EVIDENCE, EVIDENCE + EVIDENCE_bytes));
  return { cycles, equal: evidence(chip).equals(evidence(logic.bytes)) };
}

/** Touches that stand out of the noise. */
export function clearScenes(count: number): Scene[] {
  const chance = new RandomStream(20261126, 'chip time');
  return Array.from({ length: count }, () => longest(() => nominalScene(chance)));
}

/** Touches whose both channels lie in the noise, so that every shape is tried. */
export function faintScenes(count: number): Scene[] {
  const chance = new RandomStream(20261126, 'chip time, faint');
  return Array.from({ length: count }, (_, i) => longest(() => faintScene(chance, 4 + i, { hum_V: 8e-3 })));
}
