/** `tapstone calibrate` as a person meets it, on a simulated tester: led, repeated, skipped, stopped, and typed wrongly. */
import { describe, expect, it } from 'vitest';
import { tapstone } from './run-program.ts';
import { Terminal } from './terminal.ts';

/** What is typed, a line each. */
const typed = (...lines: readonly string[]): { input: string } => ({ input: lines.map((line) => `${line}\n`).join('') });
/** What was told, with lines that were broken for the terminal's width put together again. */
const flat = (out: string): string => out.replace(/\s+/g, ' ');
const TWIN = ['calibrate', '--twin', 'board', '--seed', '3'];

describe('all steps', () => {
  it('come one after another, say what to clip on and what was found, and are each kept at once', async () => {
    const { code, out: printed, err } = await tapstone(TWIN, typed('', '', '', '', '', '', '', '4000', '0.1', ''));
    expect([code, err]).toEqual([0, '']);
    expect(printed.split('\n').every((line) => line.length < 80)).toBe(true);
    const out = flat(printed);
    expect(out).toMatch(/your local electrical codes apply/);
    for (const [i, step, clip] of [
      [1, 'the ramp', /Take everything off the six clips/], [2, 'open clips', /Leave the six clips empty/],
      [3, 'joined clips', /Clip all six clips onto one short piece/], [4, 'a known resistor', /a four-wire meter has read on clips 1 and 2/],
    ] as const) {
      expect(out).toContain(`Step ${i} of 4, ${step}`);
      expect(out).toMatch(clip);
    }
    expect(out).toMatch(/wide codes [\d., ]+, u 0\.0\d of a code/);
    expect(out).toMatch(/clips 1 to 6 hold [\d., ]+ pF/);
    expect(out).toMatch(/leads 1 to 6 have [\d., ]+ ohms/);
    expect(out).toMatch(/where 4000 are: the scale moves by -\d+ ppm, reference 1999\.\d+ ohms/);
    expect(out.match(/Written and in use, of \d{4}-\d\d-\d\d\./g)).toHaveLength(4);
    expect(out).not.toContain('Not kept');
  });
  it('are told in lines that break between words, however narrow the terminal is', async () => {
    const terminal = new Terminal(44, 40, '', 'calibrate --twin board --seed 3');
    try {
      const shown = flat(await terminal.shows(/q\s+stops:/));
      expect(shown).toContain('work inside such a device is for a qualified person, and your local electrical codes apply.');
      expect(shown).toContain('What a step finds is written at once: stop after any of them, and come back for the others.');
    } finally {
      terminal.end();
    }
  });
  it('can be repeated, skipped and left', async () => {
    const { code, out } = await tapstone(TWIN, typed('', 'r', '', '', 's', 'q'));
    expect(code).toBe(0);
    expect(out.match(/Step 1 of 4/g)).toHaveLength(2);
    expect(out.match(/Written and in use/g)).toHaveLength(2);
    expect(out).toContain('Step 3 of 4');
    expect(out).not.toContain('Step 4 of 4');
  });
  it('end where no more is typed, with what was written kept', async () => {
    const { code, out } = await tapstone(TWIN, typed(''));
    expect(code).toBe(0);
    expect(out.match(/Written and in use/g)).toHaveLength(1);
  });
});

describe('one step', () => {
  it('asks for the resistor until it understands, and keeps nothing that cannot be', async () => {
    const answers = typed('', '4k', '', '4000', '-1', '', '0.1', 'r', '', '4000', '0.1', '');
    const { code, out: printed } = await tapstone([...TWIN, '--step', 'resistor'], answers);
    expect(code).toBe(0);
    const out = flat(printed);
    // What cannot be is refused at once, before the next question.
    expect(out.match(/What does the four-wire meter say/g)).toHaveLength(4);
    expect(out.match(/By how much may that be wrong/g)).toHaveLength(4);
    expect(out).toContain('the meter\'s value 4k is not understood; expected ohms, 1000 to 10000.');
    expect(out).toContain('the meter\'s value is missing; expected ohms, 1000 to 10000.');
    expect(out).toContain('its limit -1 is not understood; expected ohms, 0 to 10.');
    expect(out.match(/Written and in use/g)).toHaveLength(2);
    // Read again, it is right: what the first time wrote is in use.
    expect(out.match(/the scale moves by [+-]\d+ ppm/g)![1]).toMatch(/by [+-]\d ppm/);
  });
  it('is taken at once where the resistor is given', async () => {
    const { code, out } = await tapstone([...TWIN, '--resistor', '4000', '--within', '0.1']);
    expect(code).toBe(0);
    expect(out).toMatch(/reference 1999\.\d+ ohms/);
    expect(out).not.toContain('Enter begins');
  });
  it('without a tester says so', async () => {
    const { code, err } = await tapstone(['calibrate', '--step', 'open'], typed(''));
    expect(code).toBe(69);
    expect(err).toMatch(/^tapstone calibrate: .+\n$/);
  });
});
