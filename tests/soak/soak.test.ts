import { describe, expect, it } from 'vitest';
import './collect-garbage.ts';
import { soak } from './soak.ts';

describe('a short run of many tests in one process (npm run soak makes a long one)', () => {
  it('loses no test, differs in no byte, leaks no handle, and keeps the heap, though cables are pulled', async () => {
    const figures = await soak(30, 0x50a1);
    expect(figures.pulls).toBeGreaterThan(3);
    expect(figures.cancelled).toBeGreaterThan(0);
    expect(figures).toMatchObject({ tests: 30, finished: 30, lost: 0, lostBecause: [], different: 0, incomplete: 0 });
    expect(figures.handles).toBeLessThanOrEqual(0);
    const [first, last] = [figures.heap_bytes[0], figures.heap_bytes[figures.heap_bytes.length - 1]];
    // A capture that stayed behind from each test would be 160 kB each, 4.6 MB in all.
    expect(last - first).toBeLessThan(4e6);
  });
});
