import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { homedir, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const script = fileURLToPath(new URL('engines/result-bytes.ts', import.meta.url));
const cache = join(process.env.XDG_CACHE_HOME ?? join(homedir(), '.cache'), 'tapstone-tests');
const binaries = `node-linux-${process.arch}`;

/** The `node` binary of a major version, from the package registry, kept between runs. */
function engine(major: number): string {
  const kept = join(cache, `node-${major}-${process.arch}`);
  if (existsSync(kept)) return kept;
  mkdirSync(cache, { recursive: true });
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-engine-'));
  try {
    execFileSync('npm', ['pack', '--silent', `${binaries}@${major}`], { cwd: folder, stdio: ['ignore', 'ignore', 'pipe'] });
    const [archive] = readdirSync(folder);
    execFileSync('tar', ['-xzf', archive, 'package/bin/node'], { cwd: folder });
    renameAcross(join(folder, 'package/bin/node'), kept);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return kept;
}

/** A rename that also works between file systems, and leaves no half-written file at the target. */
function renameAcross(from: string, to: string): void {
  execFileSync('cp', [from, `${to}.part`]);
  renameSync(`${to}.part`, to);
}

const run = (node: string): { engine: string; records: number; sha256: string } => JSON.parse(
  execFileSync(node, ['--disable-warning=ExperimentalWarning', script], { encoding: 'utf8' }),
) as { engine: string; records: number; sha256: string };

describe('the same bytes on every engine', () => {
  const here = run(process.execPath);

  it('solves the same records to the same bytes twice', () => {
    expect(run(process.execPath)).toEqual(here);
  });

  for (const major of [22, 26]) {
    it(`solves them to the same evidence and result bytes on Node.js ${major}`, () => {
      const there = run(engine(major));
      expect(there.engine).toMatch(new RegExp(`^v${major}\\.`));
      expect(there.records).toBe(here.records);
      expect(there.sha256).toBe(here.sha256);
    });
  }
});
