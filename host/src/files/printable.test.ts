import { describe, expect, it } from 'vitest';
import { printable } from './printable.ts';

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
