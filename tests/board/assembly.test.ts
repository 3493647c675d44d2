/** The order of soldering can be followed: every part has its step, and nothing is powered that waits for a part of its own. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { POINTS } from '../../hardware-notes/board/making/documents.ts';
import { tester } from '../../hardware-notes/board/netlist/board.ts';
import type { Part } from '../../hardware-notes/board/netlist/model.ts';

const PAGE = readFileSync(fileURLToPath(new URL('../../hardware-notes/board/assembly.md', import.meta.url)), 'utf8');
const ALL = tester().parts;
const BOUGHT = ALL.filter(({ bought }) => bought.notBought !== true);
const SMALL: ReadonlySet<string> = new Set(['resistor', 'capacitor', 'bead', 'crystal']);
/** Nets that go everywhere; of what hangs on them only the capacitors beside a chip are its own. */
const SHARED: ReadonlySet<string> = new Set(['GND', '5V', '3V3', '3V3A', '3V0', 'V_PLUS', 'V_MINUS', 'CLAMP_HIGH', 'CLAMP_LOW', 'VBUS', 'MID']);
/** As far as the board's own rule looks for a supply pin's capacitor. */
const NEAR_mm = 12;

interface Step {
  readonly parts: readonly string[];
  /** Test points of the stop after it; undefined where there is no stop. */
  readonly points: readonly string[] | undefined;
}

/** `C951 to C961`: those of the netlist that lie between. */
function expand(text: string): string[] {
  const [first, last] = text.trim().split(/\s+to\s+/) as [string, string | undefined];
  if (last === undefined) return [first];
  const letters = first.replace(/\d+/, '');
  const number = (ref: string): number => (ref.replace(/\d+/, '') === letters ? Number(ref.slice(letters.length)) : Number.NaN);
  return BOUGHT.map(({ ref }) => ref).filter((ref) => number(ref) >= number(first) && number(ref) <= number(last));
}

function stepsOf(page: string): Step[] {
  const order = page.slice(page.indexOf('## Order of soldering'), page.indexOf('## First power'));
  return order.split(/^\d+\. /m).slice(1).map((text) => ({
    parts: (/Parts: ([^.]+)\./.exec(text)?.[1] ?? '').split(',').filter((one) => one !== '').flatMap(expand),
    points: /\*Stop:\*([^]*)/.exec(text)?.[1]?.match(/TP\d+/g) ?? (text.includes('*Stop:*') ? [] : undefined),
  }));
}

/** Whether a net has its supply from what is soldered: by a fuse or bead, a supplied regulator, or the shunt reference. */
function isFed(net: string, soldered: readonly Part[], asked: readonly string[] = []): boolean {
  if (net === 'GND') return true;
  if (asked.includes(net)) return false;
  return soldered.some((part) => {
    const pins = part.bought.pins.filter(({ number }) => part.nets.get(number) === net);
    if (pins.length === 0) return false;
    if (net === '3V0') return ['R865', 'U65'].every((ref) => soldered.some((one) => one.ref === ref));
    if (['fuse', 'bead', 'connector'].includes(part.bought.family)) return true;
    return pins.some(({ kind }) => kind === 'power_out') && isPowered(part, soldered, [...asked, net]);
  });
}

function isPowered(part: Part, soldered: readonly Part[], asked: readonly string[] = []): boolean {
  const supplies = part.bought.pins.filter(({ kind }) => kind === 'power_in').map(({ number }) => part.nets.get(number)!);
  return supplies.every((net) => asked.includes(net) || isFed(net, soldered, asked));
}

/** Parts that a chip under power waits for: on its inputs, its passive pins and its own supplies, and the capacitors beside it. */
function missing(soldered: readonly Part[]): string[] {
  const there = new Set(soldered.map(({ ref }) => ref));
  const absent = BOUGHT.filter(({ ref, bought }) => !there.has(ref) && SMALL.has(bought.family));
  return soldered.filter((part) => part.bought.family === 'chip' && isPowered(part, soldered)).flatMap((chip) =>
    absent.filter(({ bought, nets, place }) => {
      const isNear = Math.hypot(place.x - chip.place.x, place.y - chip.place.y) < NEAR_mm;
      return chip.bought.pins.some(({ number, kind }) => {
        const net = chip.nets.get(number);
        if (net === undefined || net === 'GND' || ![...nets.values()].includes(net)) return false;
        if (SHARED.has(net)) return bought.family === 'capacitor' && isNear && kind.startsWith('power');
        return ['input', 'passive', 'open_collector', 'power_in', 'power_out'].includes(kind);
      });
    }).map(({ ref }) => `${chip.ref} waits for ${ref}`));
}

function waiting(steps: readonly Step[]): string[] {
  return steps.flatMap(({ points }, k) => {
    const soldered = steps.slice(0, k + 1).flatMap(({ parts }) => parts).map((ref) => BOUGHT.find((one) => one.ref === ref)!);
    return points === undefined ? [] : missing(soldered).map((line) => `step ${k + 1}: ${line}`);
  });
}

describe('the order of soldering', () => {
  const steps = stepsOf(PAGE);

  it('names every bought part once', () => {
    const named = steps.flatMap(({ parts }) => parts);
    expect([...named].sort()).toEqual(BOUGHT.map(({ ref }) => ref).sort());
  });
  it('powers no chip that waits for a part of its own', () => {
    expect(waiting(steps)).toEqual([]);
  });
  it('measures each point at the stop that the table says, and what drives it is there and powered', () => {
    for (const [net, from] of POINTS) {
      if (from === 'firmware') continue;
      const { ref } = ALL.find(({ bought, value }) => bought.family === 'test point' && value === net)!;
      expect(steps[from - 1]!.points, `${ref}, ${net}`).toContain(ref);
      const soldered = steps.slice(0, from).flatMap(({ parts }) => parts).map((one) => BOUGHT.find((part) => part.ref === one)!);
      const isDriven = soldered.some((part) => isPowered(part, soldered) && part.bought.pins.some(({ number, kind }) =>
        part.nets.get(number) === net && kind === 'output'));
      expect(isDriven || isFed(net, soldered), `${ref}, ${net} after step ${from}`).toBe(true);
    }
  });
  it('would be told of a chip that is powered too early, and of a point that is measured too early', () => {
    const without = (ref: string): Step[] => steps.map((step) => ({ ...step, parts: step.parts.filter((one) => one !== ref) }));
    expect(waiting(without('C951'))[0]).toBe('step 2: U1 waits for C951');
    expect(waiting(without('R856'))[0]).toBe('step 5: U61 waits for R856');
    expect(waiting(without('R922'))).toEqual(['step 6: U52 waits for R922']);
    const early = steps.map((step, k) => (k === 1 ? { ...step, parts: [...step.parts, 'L851'] } : step));
    expect(waiting(early).some((line) => line === 'step 2: U61 waits for R851')).toBe(true);
    for (const one of ['R865', 'U65']) expect(isFed('3V0', BOUGHT.filter(({ ref }) => ref !== one))).toBe(false);
  });
});
