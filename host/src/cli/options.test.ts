/** Arguments as POSIX XBD 12.2 writes them (guidelines 5 to 10 and 13), and what is said of others. */
import { describe, expect, it } from 'vitest';
import { UserError } from './errors.ts';
import { parseArguments, type OptionSpec } from './options.ts';

const SPECS: readonly OptionSpec[] = [
  { name: '--json' }, { name: '--seed', value: 'N' }, { name: '--allow', value: 'WHAT', repeats: true },
];
const parse = (...args: string[]): unknown => {
  const { options, lists, operands, wantsHelp } = parseArguments('tapstone test', args, SPECS);
  return { ...Object.fromEntries(options), ...Object.fromEntries(lists), operands, ...(wantsHelp ? { wantsHelp } : {}) };
};
const refusal = (...args: string[]): string => {
  try {
    return JSON.stringify(parse(...args));
  } catch (error) {
    return (error as UserError).message;
  }
};

describe('arguments', () => {
  it('are options and operands in any order; a value stands behind its option or after an equals sign', () => {
    expect(parse('a', '--json', 'b', '--seed', '5')).toEqual({ '--json': true, '--seed': '5', operands: ['a', 'b'] });
    expect(parse('--seed=5=6')).toEqual({ '--seed': '5=6', operands: [] });
    expect(parse('--seed', '-5', '-')).toEqual({ '--seed': '-5', operands: ['-'] });
  });
  it('end their options at two dashes', () => {
    expect(parse('--json', '--', '--seed', '--', '-h')).toEqual({ '--json': true, operands: ['--seed', '--', '-h'] });
  });
  it('may repeat what is a list, and nothing else', () => {
    expect(parse('--allow', 'a', '--allow=b')).toEqual({ '--allow': ['a', 'b'], operands: [] });
    expect(refusal('--seed', '1', '--seed', '1')).toBe('tapstone test: --seed is given twice; expected once');
  });
  it('give help to whoever asks, whatever else is wrong', () => {
    for (const args of [['-h'], ['--jsno', '--help'], ['--seed', '--help'], ['x', '-h', '--', '-h']])
      expect(parse(...args)).toEqual({ operands: [], wantsHelp: true });
  });
  it('are refused by the name that was typed', () => {
    expect(refusal('--jsno=1')).toBe('tapstone test: option --jsno is not known; did you mean --json?');
    expect(refusal('-xyz')).toBe('tapstone test: option -xyz is not known; expected one of --json, --seed, --allow, --help');
    expect(refusal('--no-json')).toMatch(/option --no-json is not known/);
    expect(refusal('--__proto__')).toMatch(/option --__proto__ is not known/);
    expect(refusal('--json=')).toBe('tapstone test: --json takes no value; write --json alone');
    for (const args of [['--seed'], ['--seed='], ['--seed', '']])
      expect(refusal(...args)).toBe('tapstone test: --seed needs a value; write --seed N');
  });
});
