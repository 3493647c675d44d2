import { describe, expect, it } from 'vitest';
import { jsonLine, printable } from './printable.ts';

describe('text from a file on its way to a terminal', () => {
  it('shows an escape sequence instead of obeying it', () => {
    expect(printable('a\x1b[2Jb')).toBe('a\\x1b[2Jb');
  });
  it('shows line ends and tabs', () => {
    expect(printable('a\r\n\tb')).toBe('a\\r\\n\\tb');
  });
  // Unicode 15: U+009B is the one-byte control sequence introducer, U+202E overrides the writing direction.
  it('shows C1 controls, bidirectional controls, characters of no width and lone surrogates', () => {
    expect(printable('\u009b \u202e \u200b \u2028 \ud800')).toBe(
      '\\x9b \\u{202e} \\u{200b} \\u{2028} \\u{d800}',
    );
  });
  it('leaves letters of any script and pairs of surrogates alone', () => {
    expect(printable('Übung 音 𝄞 é')).toBe('Übung 音 𝄞 é');
  });
  it('cuts what is too long', () => {
    expect(printable('abcdefgh', 6)).toBe('abc...');
    expect(printable('\x00\x00\x00', 6)).toBe('\\x0...');
  });
});

describe('JSON on its way to a terminal', () => {
  it('holds no character that a terminal obeys, and reads back as the same value', () => {
    const value = { title: 'a\u009b2J\x1b[2J \u202e \u{e0041} \u2028 Übung 𝄞' };
    const line = jsonLine(value);
    expect(line).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202e\u2028\u{e0041}]/u);
    expect(line).toContain('a\\u009b2J\\u001b[2J');
    expect(line).toContain('Übung 𝄞');
    expect(JSON.parse(line)).toEqual(value);
  });
});
