/**
 * The same on both sides: what the chip holds and what the host rebuilt from reports, byte for byte; and the
 * module's solve() by gcc's soft floats and by V8, over random evidence.
 */
import { createHash } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import wabtModule from 'wabt';
import { setupOf } from '../../host/src/bench/bench.ts';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { BOARD, BoardLayout, EVIDENCE, EVIDENCE_bytes, RESULT, RESULT_bytes, Step } from '../../host/src/logic/layout.generated.ts';
import { createLogic, logicModule } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { solveBoth } from './both.ts';
import { callOnChip } from './call.ts';
import { compareOnChip } from './compare.ts';
import { randomEvidence } from './random-evidence.ts';
import { productImage } from './images.ts';
import { inventPickup } from '../lots/generator.ts';

let image: string;
beforeAll(() => { image = productImage(); });

describe('evidence and result of a whole test', () => {
  it('are the same bytes on the chip and in the host, for a sound pickup', async () => {
    expect(await compareOnChip(demoLot[0], 11, image)).toEqual([]);
  });
  it.each([8])('are the same bytes for pickup %i of lot 0x5eed', async (number) => {
    expect(await compareOnChip(inventPickup(0x5eed, number).pickup, number, image)).toEqual([]);
  });
});

describe('a deliberate difference', () => {
  const brief = demoLot.find(({ coils, faults }) => coils.length === 1 && faults.length === 0)!;
  it('of one flipped byte in the chip\'s result is told to the user', async () => {
    const twin = new ChipTwin({ pickup: brief, seed: 4, image });
    const test = new BenchTest(twin, {
      setup: setupOf(brief), logic: createLogic(),
      onReport: (report) => {
        if (report.kind !== 'state' || report.step !== Step.done) return;
        twin.memory.setUint8(RESULT + 100, twin.memory.getUint8(RESULT + 100) ^ 1);
      },
    });
    const { differences } = await test.run();
    await twin.close();
    expect(differences.join(' ')).toMatch(/result/);
  });
  it('of another module is told to the user, and nothing is driven', async () => {
    const driven: number[] = [];
    const twin = new ChipTwin({
      pickup: brief, seed: 4, image, onCommand: (command, value) => { if (command === 'drive' && value > 0) driven.push(value); },
    });
    twin.machine.run(1e8);
    const hash = BOARD + BoardLayout.hash0.at;
    twin.memory.setUint8(hash, twin.memory.getUint8(hash) ^ 1);
    await expect(new BenchTest(twin, { setup: setupOf(brief), logic: createLogic() }).run()).rejects.toThrow(/another measuring logic/);
    await twin.close();
    expect(driven).toEqual([]);
  });
});

describe('module', () => {
  it('is the one whose SHA-256 the identity report tells', async () => {
    const twin = new ChipTwin({ pickup: demoLot[0], seed: 1, image });
    twin.machine.run(1e8);
    const told = Buffer.from(twin.memory.buffer, twin.memory.byteOffset + 1024 + 48, 32).toString('hex');
    expect(told).toBe(logicModule().sha256);
  });
  it('FIPS 180-4: the hash is SHA-256, "abc" gives ba7816bf ... f20015ad', () => {
    expect(createHash('sha256').update('abc').digest('hex')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  });
});

describe('solve() on chip and in Node.js', () => {
  it('gives equal result bytes for random evidence, subnormals and extremes included, and for one flipped bit', () => {
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-EQUAL', automatic: false });
    machine.run(1e8);
    const logic = createLogic();
    const chance = new RandomStream(0x0e0a1, 'random evidence');
    let different = 0;
    let lastResult = '';
    let sameAsLast = 0;
    for (let i = 0; i < 60; i++) {
      const evidence = randomEvidence(logic, chance, i);
      const { chip, host } = solveBoth(machine, logic, evidence);
      if (Buffer.compare(chip, host) !== 0) different++;
      if (lastResult === host.toString('hex')) sameAsLast++;
      lastResult = host.toString('hex');
    }
    expect(different).toBe(0);
    // The blocks differ from one another, or the comparison would compare nothing.
    expect(sameAsLast).toBeLessThan(15);
  });
  it('sees a single flipped byte of evidence', () => {
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-EQUAL', automatic: false });
    machine.run(1e8);
    const logic = createLogic();
    const evidence = randomEvidence(logic, new RandomStream(5, 'random evidence'), 0);
    const { host } = solveBoth(machine, logic, evidence);
    const flipped = Uint8Array.from(evidence);
    flipped[32 + 8 + 2] ^= 0x40;
    const { chip } = solveBoth(machine, logic, flipped);
    expect(Buffer.compare(chip, host)).not.toBe(0);
    expect([EVIDENCE_bytes, RESULT_bytes, EVIDENCE < RESULT]).toEqual([evidence.length, chip.length, true]);
  });
});

describe('binary32 by soft float (IEEE 754-2019)', () => {
  const bits = new DataView(new ArrayBuffer(4));
  const cases = [
    ['IEEE 754-2019: 1/3 is 3EAAAAAB', '__aeabi_fdiv', 0x3f800000, 0x40400000, 0x3eaaaaab],
    ['IEEE 754-2019: 10/3 is 40555555', '__aeabi_fdiv', 0x41200000, 0x40400000, 0x40555555],
    ['IEEE 754-2019: 0.1 + 0.2 is 3E99999A', '__aeabi_fadd', 0x3dcccccd, 0x3e4ccccd, 0x3e99999a],
    ['IEEE 754-2019: 2^24 + 1 ties to even, 4B800000', '__aeabi_fadd', 0x4b800000, 0x3f800000, 0x4b800000],
    ['IEEE 754-2019: 2^24 + 3 is 4B800002', '__aeabi_fadd', 0x4b800000, 0x40400000, 0x4b800002],
    ['IEEE 754-2019: the smallest subnormal halved is 0', '__aeabi_fmul', 0x00000001, 0x3f000000, 0x00000000],
    ['IEEE 754-2019: 1e-40 (000116C2) doubled is 00022D84', '__aeabi_fadd', 0x000116c2, 0x000116c2, 0x00022d84],
  ] as const;
  it.each(cases)('%s', (_, routine, a, b, expected) => {
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-EQUAL', automatic: false });
    machine.run(1e8);
    expect(callOnChip(machine, routine, a, b).r0 >>> 0).toBe(expected);
    const number = (word: number): number => {
      bits.setUint32(0, word);
      return bits.getFloat32(0);
    };
    const inNode = routine === '__aeabi_fdiv' ? number(a) / number(b) : routine === '__aeabi_fadd' ? number(a) + number(b) : number(a) * number(b);
    bits.setFloat32(0, inNode);
    expect(bits.getUint32(0)).toBe(expected);
  });
  it.each([
    ['sqrt 2 is 3FB504F3', 0x40000000, 0x3fb504f3],
    ['sqrt 3 is 3FDDB3D7', 0x40400000, 0x3fddb3d7],
    ['sqrt of 3F7FFFFF is itself', 0x3f7fffff, 0x3f7fffff],
    ['sqrt of the subnormal 000116C2 is 1E3CE4E7', 0x000116c2, 0x1e3ce4e7],
  ])('IEEE 754-2019: %s', (_, argument, expected) => {
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-EQUAL', automatic: false });
    machine.run(1e8);
    expect(callOnChip(machine, 'sqrtf', argument).r0 >>> 0).toBe(expected);
  });
  it('64 bits to a float as f32.convert_i64_s of WebAssembly rounds them, ties and carries included', async () => {
    const wabt = await wabtModule();
    const { buffer } = wabt.parseWat('long.wat', `(module (func (export "convert") (param i64) (result i32)
      (i32.reinterpret_f32 (f32.convert_i64_s (local.get 0)))))`).toBinary({});
    const { exports } = new WebAssembly.Instance(new WebAssembly.Module(new Uint8Array(buffer)));
    const convert = exports['convert'] as (value: bigint) => number;
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-EQUAL', automatic: false });
    machine.run(1e8);
    const chance = new RandomStream(0x64, 'long');
    const values = [0n, 1n, -1n, (1n << 63n) - 1n, -(1n << 63n)];
    for (let bits = 20n; bits < 63n; bits++) {
      for (const near of [-1n, 0n, 1n]) {
        // Halfway between two floats with an even and an odd end, and the largest that carries.
        const step = bits > 24n ? 1n << (bits - 24n) : 0n;
        values.push((1n << bits) + near, (1n << bits) + step + near, -((1n << bits) + 3n * step + near), (1n << bits) - step + near);
      }
      values.push(BigInt.asIntN(64, (BigInt(chance.bits() >>> 0) << 32n) | BigInt(chance.bits() >>> 0)) >> (62n - bits));
    }
    for (const value of values) {
      const words = BigInt.asUintN(64, value);
      const { r0 } = callOnChip(machine, '__aeabi_l2f', Number(words & 0xffffffffn), Number(words >> 32n));
      expect([value, r0 >>> 0]).toEqual([value, convert(value) >>> 0]);
    }
  });
  it('the lower and the higher of two numbers, and numbers made whole, as f32.min, f32.max and i32.trunc_sat of WebAssembly', async () => {
    const wabt = await wabtModule();
    const two = (name: string): string => `(func (export "${name}") (param i32 i32) (result i32) (i32.reinterpret_f32
      (f32.${name} (f32.reinterpret_i32 (local.get 0)) (f32.reinterpret_i32 (local.get 1)))))`;
    const whole = (name: string): string => `(func (export "${name}") (param i32) (result i32) (i32.trunc_sat_f32_${name} (f32.reinterpret_i32 (local.get 0))))`;
    const { buffer } = wabt.parseWat('numbers.wat', `(module ${two('min')} ${two('max')} ${whole('s')} ${whole('u')})`).toBinary({});
    const { exports } = new WebAssembly.Instance(new WebAssembly.Module(new Uint8Array(buffer)));
    const v8 = exports as Record<string, (a: number, b?: number) => number>;
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-EQUAL', automatic: false });
    machine.run(1e8);
    const chance = new RandomStream(0x3f, 'numbers');
    // Zeros, subnormals, ones, both sides of 2^31 and 2^32, infinities and what is no number, of both signs.
    const edges = [
      0, 1, 0x007fffff, 0x3f7fffff, 0x3f800000, 0x4effffff, 0x4f000000, 0x4f7fffff, 0x4f800000, 0x7f7fffff, 0x7f800000, 0x7fc00000,
    ];
    const words = [...edges, ...edges.map((bits) => (bits | 0x80000000) >>> 0), ...Array.from({ length: 40 }, () => chance.bits() >>> 0)];
    // Which of the many that are no number comes out is left open by WebAssembly.
    const known = (bits: number): number => ((bits & 0x7fffffff) >>> 0 > 0x7f800000 ? 0x7fc00000 : bits >>> 0);
    for (const a of words) {
      expect([a, callOnChip(machine, 'wasm_whole', a).r0 >>> 0]).toEqual([a, v8['s']!(a) >>> 0]);
      expect([a, callOnChip(machine, 'wasm_whole_above', a).r0 >>> 0]).toEqual([a, v8['u']!(a) >>> 0]);
      for (const b of words) {
        expect([a, b, known(callOnChip(machine, 'wasm_extreme', a, b, 1).r0)]).toEqual([a, b, known(v8['min']!(a, b))]);
        expect([a, b, known(callOnChip(machine, 'wasm_extreme', a, b, 0).r0)]).toEqual([a, b, known(v8['max']!(a, b))]);
      }
    }
  });
});
