/** The same bytes whatever turns the module into machine code. The other engine, gcc's on the chip, is in tests/chip/equality.test.ts. */
import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const script = fileURLToPath(new URL('result-bytes.ts', import.meta.url));

const run = (...flags: string[]): { records: number; sha256: string } => JSON.parse(
  execFileSync(process.execPath, ['--disable-warning=ExperimentalWarning', ...flags, script], { encoding: 'utf8' }),
) as { records: number; sha256: string };

describe('the same bytes', () => {
  const here = run();

  // V8 has two: one translates at once, the other optimises what runs often. As a rule both have a share in a run.
  it.each([['again', []], ['by the baseline compiler alone', ['--liftoff-only']], ['by the optimising compiler alone', ['--no-liftoff']]])(
    'of evidence and results of the same records %s', (_, flags) => {
      expect(here.records).toBeGreaterThan(50);
      expect(run(...flags)).toEqual(here);
    });
});
