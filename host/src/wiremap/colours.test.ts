import { describe, expect, it } from 'vitest';
import { colourInWords, isColour } from './colours.ts';

describe('colour codes of IEC 60757:1983 (= GOST 28763-90, table 1)', () => {
  it('knows the fourteen codes of the table and the green-yellow combination', () => {
    for (const code of 'BK BN RD OG YE GN BU VT GY WH PK GD TQ SR GNYE'.split(' '))
      expect(isColour(code)).toBe(true);
  });
  it('joins the codes of two colours on one wire, as in the standard’s RDBU', () => {
    expect(isColour('RDBU')).toBe(true);
    expect(colourInWords('RDBU')).toBe('red and blue (RDBU)');
  });
  it('takes green with yellow only in that order (IEC 60757:2021, 5.1)', () => {
    expect(isColour('YEGN')).toBe(false);
    expect(colourInWords('GNYE')).toBe('green-yellow (GNYE)');
  });
  it('refuses other codes, doubled colours and small letters', () => {
    for (const code of ['', 'B', 'XX', 'RDRD', 'bu', 'RDBUGN', 'BLUE', 'RDXX'])
      expect(isColour(code)).toBe(false);
  });
  it('has a word for an uncoated wire', () => {
    expect(isColour('BARE')).toBe(true);
    expect(colourInWords('BARE')).toBe('bare wire (BARE)');
  });
});
