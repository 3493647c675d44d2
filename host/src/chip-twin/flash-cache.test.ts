/** The cache's geometry (RP2040 data sheet 2.6.3.1 and 2.6.3.2) against sequences whose misses can be counted by hand. */
import { describe, expect, it } from 'vitest';
import { CACHE_bytes, FlashCache, LINE_bytes, SETS } from './flash-cache.ts';

const WORD_bytes = 4;
/** Two addresses this far apart share a set. */
const WAY_bytes = CACHE_bytes / 2;

const words = (from: number, bytes: number): number[] => Array.from({ length: bytes / WORD_bytes }, (_, i) => from + WORD_bytes * i);
const misses = (cache: FlashCache, offsets: readonly number[]): number => offsets.reduce((sum, at) => sum + cache.read(at), 0);

describe('the flash cache', () => {
  it('has 1024 sets: 16 kB total size / 8 bytes per line / 2 ways per set (data sheet 2.6.3.2)', () => {
    expect(SETS).toBe(1024);
    expect(WAY_bytes).toBe(SETS * LINE_bytes);
  });
  it('misses each word of 16 KiB once and then never again', () => {
    const cache = new FlashCache();
    expect(misses(cache, words(0x1000, CACHE_bytes))).toBe(4096);
    expect(misses(cache, words(0x1000, CACHE_bytes))).toBe(0);
  });
  it('misses every word again where three ways would be wanted and the least recent goes: 24 KiB round and round', () => {
    const cache = new FlashCache();
    for (let turn = 0; turn < 3; turn++) expect(misses(cache, words(0, 3 * WAY_bytes))).toBe(6144);
  });
  it('keeps two lines of a set apart and drops the one that was used longer ago', () => {
    const cache = new FlashCache();
    const [a, b, c] = [0x40, 0x40 + WAY_bytes, 0x40 + 2 * WAY_bytes];
    // a b: 2 misses. a: hit. c: miss, drops b. a: hit. b: miss, drops c. c: miss.
    expect([a, b, a, c, a, b, c].map((at) => cache.read(at))).toEqual([1, 1, 0, 1, 0, 1, 1]);
  });
  it('fetches one word of a line at a time, and both where it is told to', () => {
    const byWord = new FlashCache();
    expect([0x20, 0x22, 0x24, 0x26, 0x20].map((at) => byWord.read(at))).toEqual([1, 0, 1, 0, 0]);
    const byLine = new FlashCache({ fill: 'line', replace: 'least recent' });
    expect([0x24, 0x20, 0x28, 0x2c].map((at) => byLine.read(at))).toEqual([2, 0, 2, 0]);
  });
  it('does not take the other word of a line that it has dropped for the new line\'s', () => {
    const cache = new FlashCache();
    const [a, b, c] = [0x40, 0x40 + WAY_bytes, 0x40 + 2 * WAY_bytes];
    for (const at of [a, a + 4, b, b + 4]) cache.read(at);
    expect(cache.read(c)).toBe(1);
    expect([c + 4, b + 4, a + 4].map((at) => cache.holds(at))).toEqual([false, true, false]);
  });
  it('keeps some of 24 KiB where chance decides, as 24 KiB in 16 must miss at least a third', () => {
    const cache = new FlashCache({ fill: 'word', replace: 'random' });
    misses(cache, words(0, 3 * WAY_bytes));
    const again = misses(cache, words(0, 3 * WAY_bytes));
    expect(again).toBeGreaterThanOrEqual(2048);
    expect(again).toBeLessThan(6144);
  });
  it('drops a line when it is written to, and only that', () => {
    const cache = new FlashCache();
    for (const at of [0x100, 0x104, 0x108]) cache.read(at);
    cache.drop(0x102);
    expect([0x100, 0x104, 0x108].map((at) => cache.holds(at))).toEqual([false, false, true]);
  });
  it('drops everything when it is flushed', () => {
    const cache = new FlashCache();
    misses(cache, words(0, CACHE_bytes));
    cache.flush();
    expect(misses(cache, words(0, CACHE_bytes))).toBe(4096);
  });
});
