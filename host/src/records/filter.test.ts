import { describe, expect, it } from 'vitest';
import { readSearchLine } from './filter.ts';

describe('a line that is searched by', () => {
  it.each([
    ['', {}],
    ['0012', { words: ['0012'] }],
    ['Dented cover', { words: ['dented', 'cover'] }],
    ['7k..8.5k', { ohmLeast: 7000, ohmMost: 8500 }],
    ['..9k', { ohmMost: 9000 }],
    ['state:good verdict:unsure number:00*', { state: 'good', verdict: 'unsure', number: '00*' }],
    ['lot:"box 3" leads:4 pole:ns', { lot: 'box 3', leads: 4, poles: ['N', 'S'] }],
    ['lot:"box 3', { lot: 'box 3' }],
    ['leads:bu,gy "7k..8k"', { colours: ['BU', 'GY'], words: ['7k', '8k'] }],
    ['text:good', { words: ['good'] }],
  ])('%j narrows by what it names', (line, filter) => {
    expect(readSearchLine(line)).toEqual(filter);
  });

  it.each([
    ['stat:good', 'stat: is not known; did you mean state:?'],
    ['state:goood', 'state: "goood" is no state; did you mean good?'],
    ['state:GOOD', 'state: "GOOD" is no state; did you mean good?'],
    ['verdict:zzz', 'verdict: "zzz" is no verdict; expected one of good, fault, unsure'],
    ['ohms:7k', 'ohms: "7k" is not understood; expected two values with .. between them, such as 7k..8.5k'],
    ['9k..7k', 'ohms: "9k..7k" is not understood; expected the smaller value first, such as 7k..8.5k'],
    ['pole:X', 'pole: "X" is not understood; expected N, S or NS'],
  ])('%j is told in one sentence', (line, wrong) => {
    expect(readSearchLine(line)).toEqual({ wrong });
  });
});
