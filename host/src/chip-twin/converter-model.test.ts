import { describe, expect, it } from 'vitest';
import { ConverterModel, crc8 } from './converter-model.ts';

/** A converter on a bench of its own: the clock is turned by hand. */
function bench(): {
  model: ConverterModel; frame(...bytes: number[]): number[]; wait(duration_ns: number): void;
  seen: { current_nA: number; ready: boolean; complaints: string[] };
} {
  const seen = { current_nA: 0, ready: false, complaints: [] as string[] };
  let now_ns = 0;
  let due: { at_ns: number; call: () => void } | null = null;
  const model = new ConverterModel({
    now_ns: () => now_ns,
    later: (delay_ns, call) => { due = delay_ns < 0 ? null : { at_ns: now_ns + delay_ns, call }; },
    setCurrent: (current_nA) => { seen.current_nA = current_nA; },
    convert: () => 0x123456,
    setReady: (low) => { seen.ready = low; },
    complain: (text) => void seen.complaints.push(text),
  }, () => 1);
  const wait = (duration_ns: number): void => {
    now_ns += duration_ns;
    if (due && due.at_ns <= now_ns) {
      const { call } = due;
      due = null;
      call();
    }
  };
  const frame = (...bytes: number[]): number[] => {
    model.setSelect(true);
    const answer = bytes.map((byte) => model.exchange(byte));
    model.setSelect(false);
    return answer;
  };
  model.setReset(false);
  wait(2.3e6);
  return { model, frame, wait, seen };
}

describe('converter model', () => {
  it('catalogue of parametrised CRC algorithms, CRC-8 (poly 07, init 00): "123456789" gives F4', () => {
    expect(crc8([...Buffer.from('123456789')])).toBe(0xf4);
  });
  it('ADS124S08 data sheet 9.6.1: has these registers after reset', () => {
    const { frame } = bench();
    const expected = [0x00, 0x80, 0x01, 0x00, 0x14, 0x10, 0x00, 0xff, 0x00, 0x10, 0, 0, 0, 0, 0, 0x40, 0, 0];
    expect(frame(0x20, 17, ...new Array<number>(18).fill(0)).slice(2)).toEqual(expected);
  });
  it('takes no command in the first 4096 clocks after reset', () => {
    const { model, frame, wait } = bench();
    model.setReset(true);
    model.setReset(false);
    expect(frame(0x20, 0, 0)).toEqual([0xff, 0xff, 0xff]);
    wait(2.3e6);
    expect(frame(0x20, 0, 0)).toEqual([0, 0, 0]);
  });
  it('data sheet 9.6.1.2: says in STATUS that it is not ready yet, and keeps nothing that is written before', () => {
    const { model, frame, wait } = bench();
    model.setReset(true);
    model.setReset(false);
    wait(1.5e6);
    frame(0x42, 0, 0x12);
    expect(frame(0x21, 0, 0)[2]).toBe(0xc0);
    wait(1e6);
    expect(frame(0x21, 1, 0, 0).slice(2)).toEqual([0x80, 0x01]);
  });
  it('gets ready 56.5 ms after START at 20 SPS, and sends status, code and check byte', () => {
    const { model, frame, wait, seen } = bench();
    frame(0x41, 0, 0);
    frame(0x42, 3, 0x12, 0x00, 0x34, 0x3a);
    frame(0x49, 0, 0x13);
    model.setStart(true);
    wait(56.4e6);
    expect(seen.ready).toBe(false);
    wait(0.2e6);
    expect(seen.ready).toBe(true);
    expect(frame(0x12, 0, 0, 0, 0, 0).slice(1)).toEqual([0x00, 0x12, 0x34, 0x56, crc8([0x00, 0x12, 0x34, 0x56])]);
    expect(seen.complaints).toEqual([]);
  });
  it('drives its current only where it is told to, and none after the reset pin', () => {
    const { model, frame, seen } = bench();
    frame(0x45, 0, 0x3a);
    frame(0x46, 1, 0x03, 0xf0);
    expect(seen.current_nA).toBe(100000);
    model.setReset(true);
    expect([seen.current_nA, model.current_nA]).toEqual([0, 0]);
  });
  it('complains of an input that the board has not wired and of a rate that is not simulated', () => {
    const { model, frame, seen } = bench();
    frame(0x42, 2, 0x9a, 0x00, 0x3b);
    model.setStart(true);
    expect(seen.complaints.join(' ')).toMatch(/INPMUX 0x9a.*0x3b/);
  });
});
