/** The map for contributors: each station names a function that its file defines. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const ROOT = new URL('../../', import.meta.url);
const read = (path: string): string => readFileSync(new URL(path, ROOT), 'utf8');
const PAGE = read('hardware-notes/from-pin-to-sentence.md');
const STATIONS = [...PAGE.matchAll(/^\| [^|]+ \| `([\w.]+)` \| `([^`]+)` \|/gm)].map(([, name, file]) => [name!, file!] as const);

/** Whether a text defines a function: exported or not, a method of a class written as `Class.method`, or one of C. */
function defines(text: string, name: string): boolean {
  const [owner, method] = name.split('.') as [string, string | undefined];
  if (method !== undefined) {
    const body = text.slice(text.search(new RegExp(`class ${owner}\\b`)));
    return text.includes(`class ${owner}`) && new RegExp(`^  (private |async )*${method}\\(`, 'm').test(body);
  }
  return new RegExp(`^(export )?(async )?function ${name}\\b|^[a-z][\\w *]* \\*?${name}\\([^;]*\\) \\{`, 'm').test(text);
}

describe('from pin to sentence', () => {
  it('has a row for each station of both ways', () => {
    const rows = PAGE.split('\n').filter((line) => line.startsWith('| ') && !/^\| (---|station)/.test(line));
    expect(STATIONS).toHaveLength(rows.length);
    expect(STATIONS.length).toBeGreaterThan(40);
  });
  it.each(STATIONS)('%s is in %s', (name, file) => {
    expect(defines(read(file), name)).toBe(true);
  });
  it('names files of the logic, the firmware and the host', () => {
    const tops = new Set(STATIONS.map(([, file]) => file.split('/')[0]));
    expect([...tops].sort()).toEqual(['firmware', 'host', 'shared-logic']);
  });
  it('finds no function that is not there', () => {
    expect(defines(read('host/src/evidence/collect.ts'), 'Collector.sample')).toBe(false);
    expect(defines(read('firmware/board.c'), 'converter_drive')).toBe(false);
    expect(defines(read('shared-logic/assembly/touch/touch.ts'), 'analyse')).toBe(false);
  });
});
