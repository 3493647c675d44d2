/** A bounded run of every fuzzer, always of the same cases, and everything that longer runs once found (`npm run fuzz`). */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { FUZZERS } from './all.ts';
import { faultOf, FOUND, fuzz, shorten } from './fuzzer.ts';

const SEED = 1;
/** Cases of each: some seconds in all, the emulated chip the slowest. */
const CASES: Readonly<Record<string, number>> = { records: 1000, pickups: 600, images: 1000, reports: 150, setups: 16 };

describe.each(FUZZERS.map((fuzzer) => [fuzzer.what, fuzzer] as const))('%s that nobody vouches for', (what, fuzzer) => {
  it(`do no harm: ${CASES[what]} cases of seed ${SEED}`, async () => {
    const findings = await fuzz(fuzzer, SEED, 0, CASES[what]!);
    expect(findings.map(({ number, sentence }) => `npm run fuzz -- ${what} 1 ${SEED} ${number}: ${sentence}`)).toEqual([]);
  });

  const kept = readdirSync(FOUND).filter((name) => name.endsWith(fuzzer.ending)).sort();
  it(`do no harm any more: ${kept.length} that once did`, async () => {
    const harm: string[] = [];
    for (const name of kept) {
      const fault = await faultOf(fuzzer, readFileSync(`${FOUND}${name}`));
      if (fault !== null) harm.push(`${name}: ${fault}`);
    }
    expect(harm).toEqual([]);
  });

  it('are the same cases from the same seed, and others from another', async () => {
    const drawn = async (seed: number): Promise<string> => {
      const bytes: string[] = [];
      const watched = { ...fuzzer, feed: (one: Uint8Array) => void bytes.push(Buffer.from(one).toString('base64')) };
      await fuzz(watched, seed, 0, 3);
      return bytes.join();
    };
    expect(await drawn(SEED)).toBe(await drawn(SEED));
    expect(await drawn(SEED)).not.toBe(await drawn(SEED + 1));
  });

  it('are told when they do harm', async () => {
    const broken = { ...fuzzer, feed: () => { throw new Error('broken'); } };
    const [finding] = await fuzz(broken, SEED, 7, 1);
    expect(finding).toMatchObject({ number: 7, sentence: expect.stringContaining('broken') });
  });

  it('are kept as short as still does harm', async () => {
    const marked = { ...fuzzer, feed: (bytes: Uint8Array) => { if (bytes.includes(0xaa)) throw new Error('marked'); } };
    const bytes = new Uint8Array(50 * fuzzer.step_bytes).fill(1);
    bytes[33 * fuzzer.step_bytes] = 0xaa;
    const short = await shorten(marked, { number: 0, bytes, sentence: '' });
    expect([short.bytes.length, short.bytes[0]]).toEqual([fuzzer.step_bytes, 0xaa]);
  });
});
