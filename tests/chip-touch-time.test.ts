/**
 * What the analysis of a touch costs on the chip: cycles of the very image that is flashed, counted by the emulator, so the
 * same on every machine. At 125 MHz a touch from trigger to verdict aims at 0.3 s.
 */
import { describe, expect, it } from 'vitest';
import { applyFields } from '../host/src/evidence/entry.ts';
import { loadCapture, voltsChannel } from '../host/src/evidence/capture.ts';
import { readImage } from '../host/src/chip-twin/image.ts';
import { Machine } from '../host/src/chip-twin/machine.ts';
import {
  CAPTURE, CAPTURE_HEAD, CAPTURE_WORDS, CaptureHeadLayout, ENTRY, EntryKind, EVIDENCE, EVIDENCE_bytes, LogEntryLayout,
} from '../host/src/logic/layout.generated.ts';
import { createLogic } from '../host/src/logic/module.ts';
import { demoLot } from '../host/src/virtual-bench/demo-lot.ts';
import { RandomStream } from '../host/src/virtual-bench/random.ts';
import { callOnChip } from './chip/call.ts';
import { productImage } from './chip/images.ts';
import { faintScene, nominalScene, type Scene } from './lots/touch-scenes.ts';

/** The tester's own longest capture: 0.2 s of history, the block of the arrival and 0.8 s after it. */
const SAMPLES = 10_100;
const CYCLES_per_ms = 125_000;

/** The first scene that is long enough. */
function longest(draw: () => Scene): Scene {
  for (;;) {
    const scene = draw();
    if (scene.volts_V[0]!.length >= 9000) return scene;
  }
}

/** Analyses a scene on the chip and in Node.js. */
function analyse(machine: Machine, scene: Scene): { cycles: number; equal: boolean } {
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
  expect(trapped).toBe(false);
  const evidence = (bytes: Uint8Array): Buffer => Buffer.from(bytes.subarray(EVIDENCE, EVIDENCE + EVIDENCE_bytes));
  return { cycles, equal: evidence(chip).equals(evidence(logic.bytes)) };
}

describe('a touch on the chip', () => {
  const machine = new Machine({ image: readImage(productImage()), pickup: demoLot[0]!, seed: 1, serial: 'TWIN-C001', automatic: true });
  machine.run(1e8);

  it('is analysed to the same bytes as on the host, in at most 300 ms of 125 MHz where it stands out of the noise', () => {
    const chance = new RandomStream(20261126, 'chip time');
    for (let i = 0; i < 6; i++) {
      const { cycles, equal } = analyse(machine, longest(() => nominalScene(chance)));
      expect(equal).toBe(true);
      expect(cycles).toBeLessThan(300 * CYCLES_per_ms);
    }
  }, 120_000);

  it('takes at most 450 ms when both channels lie in the noise, where every shape is tried', () => {
    const chance = new RandomStream(20261126, 'chip time, faint');
    for (let i = 0; i < 4; i++) {
      const { cycles, equal } = analyse(machine, longest(() => faintScene(chance, 4 + i, { hum_V: 8e-3 })));
      expect(equal).toBe(true);
      expect(cycles).toBeLessThan(450 * CYCLES_per_ms);
    }
  }, 120_000);
});
