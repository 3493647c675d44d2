import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSource, readAtMost } from './files.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tapstone-files-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('a source of bytes', () => {
  it('keeps no more than what came, in however small pieces a pipe hands it out', async () => {
    const pipe = join(folder, 'pipe');
    execFileSync('mkfifo', [pipe]);
    const writer = spawn('sh', ['-c', `exec > '${pipe}'; for i in 1 2 3 4; do printf 12345678; sleep 0.05; done`]);
    const source = await openSource(pipe);
    const chunks: Uint8Array[] = [];
    for (let chunk = await source.next(); chunk !== null; chunk = await source.next()) chunks.push(chunk);
    await source.close();
    writer.kill();
    expect(Buffer.concat(chunks).toString()).toBe('12345678'.repeat(4));
    for (const { buffer, length } of chunks) expect(buffer.byteLength).toBe(length);
  });
});

describe('a file that is read whole', () => {
  it('is its bytes up to the limit, and null beyond', async () => {
    const path = join(folder, 'file');
    writeFileSync(path, 'abcdef');
    expect(Buffer.from((await readAtMost(path, 6)) ?? []).toString()).toBe('abcdef');
    expect(await readAtMost(path, 5)).toBeNull();
    expect(await readAtMost('/dev/zero', 100)).toBeNull();
  });

  it('names what cannot be read', async () => {
    await expect(readAtMost(folder, 1)).rejects.toMatchObject({ name: 'FileProblem', path: folder, code: 'EISDIR' });
  });
});
