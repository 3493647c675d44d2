import { renderToString, Text } from 'ink';
import { createElement } from 'react';
import { describe, expect, it } from 'vitest';
import { cellsOf, cut, padded } from './cells.ts';
import { wrap } from './wrap.ts';

describe('breaking lines', () => {
  it('counts cells: letters of two are never past the edge, and none is lost', () => {
    const note = '盖子有凹痕，送去重新上漆 cover dented 표지 움푹 👍🏽 e\u0301\u0301 ⚠\ufe0f ほか';
    for (let width = 1; width < 60; width += 1) {
      const lines = wrap(note, width, 2);
      expect(lines.map((line) => line.trim()).join('').replaceAll(' ', '')).toBe(note.replaceAll(' ', ''));
      if (width > 3) for (const line of lines) expect(cellsOf(line)).toBeLessThanOrEqual(width);
    }
    expect(wrap('盖'.repeat(30), 20, 2)).toEqual(['盖'.repeat(10), `  ${'盖'.repeat(9)}`, `  ${'盖'.repeat(9)}`, `  ${'盖'.repeat(2)}`]);
  });
  it('is done as it is shown: nothing that fits by these cells is cut on the screen', () => {
    for (const text of ['盖子有凹痕', '표지 움푹', 'e\u0301toile', '⚠\ufe0f hot', '👍 yes', 'ｶﾞ', 'Ω ± µ │ █'])
      expect(renderToString(createElement(Text, { wrap: 'truncate' }, text), { columns: cellsOf(text) })).toBe(text);
  });
  it('fills and cuts columns by cells', () => {
    expect([padded('盖子', 6), cut('盖子有凹痕', 6), cut('abc', 3), cut('abcd', 3)]).toEqual(['盖子  ', '盖子…', 'abc', 'ab…']);
  });
  it('indents what follows and cuts a word that is wider than the screen', () => {
    expect(wrap(`  - ${'a'.repeat(70)} bbbbbbbbb`, 80, 4)).toEqual([
      `  - ${'a'.repeat(70)}`,
      '    bbbbbbbbb',
    ]);
    expect(wrap('x'.repeat(170), 80, 2).map((line) => line.length)).toEqual([80, 80, 14]);
  });
});
