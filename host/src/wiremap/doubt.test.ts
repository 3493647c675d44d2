import { describe, expect, it } from 'vitest';
import { METERS, tested } from '../../../tests/papers/shop.ts';
import { LIKELY, mapOf, WARNED } from '../../../tests/records/behaviour.ts';
import { standing } from '../papers/standing.ts';
import { verdictLine } from '../wiring/render-text.ts';
import { doubtOf } from './doubt.ts';
import type { WireMap } from './wiremap.ts';

const SOUND = mapOf([{ ohm: 4100, pole: 'N' }]);
const NOTED: WireMap = { ...SOUND, findings: [{ kind: 'joined', severity: 'note', clips: [1, 2], text: 'Clips are joined.' }] };

describe('the doubt that a good verdict leaves', () => {
  it.each([
    ['none', SOUND, '', null, /^GOOD: /],
    ['none by a note', NOTED, '', null, /^GOOD: /],
    ['a plus that is only likely', LIKELY, 'likely', 'UNSURE: touch again', /^GOOD, but not every plus .* touch again/],
    ['a warning', WARNED, 'warning', 'WARNING: read its findings', /^GOOD, with a warning/],
    ['a warning above a likely plus', { ...LIKELY, findings: WARNED.findings }, 'warning', 'WARNING: read its findings', /^GOOD, with a warning/],
    ['none where the verdict says more', { ...LIKELY, verdict: 'fault' }, '', 'FAULT: do not fit as it is', /^FAULT/],
  ] as const)('is %s, for lists, papers and the printed map alike', (_, map, doubt, paper, line) => {
    expect(doubtOf(map)).toBe(doubt);
    const pickup = tested(METERS);
    expect(standing({ ...pickup, state: map.verdict, test: { ...pickup.test!, map } })).toBe(paper);
    expect(verdictLine(map)).toMatch(line);
  });
});
