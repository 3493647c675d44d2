import { describe, expect, it } from 'vitest';
import { wrap } from './wrap.ts';

describe('breaking lines', () => {
  it('indents what follows and cuts a word that is wider than the screen', () => {
    expect(wrap(`  - ${'a'.repeat(70)} bbbbbbbbb`, 80, 4)).toEqual([
      `  - ${'a'.repeat(70)}`,
      '    bbbbbbbbb',
    ]);
    expect(wrap('x'.repeat(170), 80, 2).map((line) => line.length)).toEqual([80, 80, 14]);
  });
});
