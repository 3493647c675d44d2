/** The board's netlist: its own rules, and its agreement with the firmware, the twin and the files made from it. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { addClips } from '../../hardware-notes/board/netlist/front-end.ts';
import { tester } from '../../hardware-notes/board/netlist/board.ts';
import { CONVERTER, R0603, SWITCH8 } from '../../hardware-notes/board/netlist/bought.ts';
import { LISTENING } from '../../hardware-notes/board/netlist/listening.ts';
import { Netlist, printed, type Part } from '../../hardware-notes/board/netlist/model.ts';
import { CONVERTER_INPUTS, GPIO, GPIO_FREE, registerOutput, SWITCHES } from '../../hardware-notes/board/netlist/pins.ts';
import { generatedFiles } from '../../hardware-notes/board/making/generated.ts';
import { findings } from '../../hardware-notes/board/rules.ts';
import { HOW_TO_BOOT } from '../../host/src/cli/flash.ts';
import { SwitchRegisters } from '../../host/src/chip-twin/switch-registers.ts';
import { muxAddress } from '../../host/src/virtual-bench/analog-board.ts';

const file = (path: string): string => readFileSync(fileURLToPath(new URL(`../../${path}`, import.meta.url)), 'utf8');

/** The board with one part's nets, or the part itself, changed. */
function changed(ref: string, change: (part: Part) => Part | null): Netlist {
  const netlist = new Netlist();
  for (const part of tester().parts) {
    const next = part.ref === ref ? change(part) : part;
    if (next !== null) netlist.parts.push(next);
  }
  return netlist;
}
const rewired = (ref: string, pin: string, net: string | null): Netlist =>
  changed(ref, (part) => {
    const nets = new Map(part.nets);
    if (net === null) nets.delete(pin);
    else nets.set(pin, net);
    return { ...part, nets };
  });

describe('the board', () => {
  it('breaks none of its own rules', () => {
    expect(findings(tester())).toEqual([]);
  });
  it('has pins.h as its table of pins', () => {
    const text = file('firmware/drivers/pins.h');
    const defined = (prefix: string): Record<string, number> =>
      Object.fromEntries([...text.matchAll(new RegExp(`#define ${prefix}_(\\w+) +(\\d+)u`, 'g'))].map(([, name, number]) => [name, Number(number)]));
    expect(defined('PIN')).toEqual(Object.fromEntries(GPIO.map(({ name, gpio }) => [name, gpio])));
    expect(defined('AIN')).toEqual(Object.fromEntries(CONVERTER_INPUTS.map(({ name, ain }) => [name, ain])));
    expect([...GPIO.map(({ gpio }) => gpio), ...GPIO_FREE].sort((a, b) => a - b)).toEqual(Array.from({ length: 30 }, (_, gpio) => gpio));
  });
  it('has the simulated chip and the firmware agree with it on the level that says the rails are good', () => {
    const netlist = tester();
    const pump = netlist.part('U61');
    const good = pump.bought.pins.find(({ name }) => name === 'PGOOD')!;
    const net = pump.nets.get(good.number)!;
    // An open drain can only pull down, and the one resistor on its net pulls up: high means "not good", or no pump at all.
    expect(good.kind).toBe('open_collector');
    const pulls = netlist.parts.filter(({ bought, nets }) => bought.family === 'resistor' && [...nets.values()].includes(net));
    expect(pulls.map(({ nets }) => [...nets.values()].find((other) => other !== net))).toEqual(['3V3']);
    expect(file('firmware/drivers/pins.h')).toMatch(/#define RAILS_GOOD_LEVEL false/);
    expect(file('host/src/chip-twin/machine.ts')).toMatch(/PGOOD_LEVEL = \{ good: false, notGood: true \}/);
    const { gpio } = GPIO.find(({ name }) => name === net)!;
    expect(file('host/src/chip-twin/machine.ts')).toContain(`railsGood: ${gpio},`);
  });
  it('gives the listening converter the middle and the gains that the twin and the firmware count with', () => {
    // The twin's codes: 3.0 V over 4096 of them, 2048 at rest, gains 1 and 8.
    const twin = file('host/src/virtual-bench/listening-adc.ts');
    expect(twin).toContain('const SUPPLY_V = 3;');
    expect(twin).toContain('const GAINS = [1, 1, 8, 8] as const;');
    expect(tester().part('U65').bought.description).toContain('3.0 V');
    expect(LISTENING.x1_after_ohm / LISTENING.x1_before_ohm).toBe(1);
    expect(LISTENING.x8_after_ohm / LISTENING.x8_before_ohm).toBe(8);
  });
  it('tells a builder to make the lead that the twin, the ring and the self-test count with', () => {
    const [, length_m] = /([\d.]+) m, all six/.exec(file('hardware-notes/board/clips-and-wand.md'))!;
    const farad = (path: string, name: string): number => Number(new RegExp(`const ${name}(?:: f32)? = ([\\d.e-]+);`).exec(file(path))![1]);
    // 100 pF a metre and 39 pF of clamps, throws and tracks (rings.md); wire to wire on both sides and the common come to it.
    const clip_F = Number(length_m) * 100e-12 + 39e-12;
    expect(farad('host/src/virtual-bench/analog-board.ts', 'CLIP_F')).toBeCloseTo(clip_F, 13);
    expect(farad('shared-logic/assembly/ring/fixture.ts', 'CLIP_F')).toBeCloseTo(clip_F, 13);
    const all_F = clip_F + farad('shared-logic/assembly/ring/fixture.ts', 'COMMON_F') + 2 * farad('shared-logic/assembly/ring/fixture.ts', 'WIRE_F');
    expect(Math.abs(farad('shared-logic/assembly/sequence/parts/selftest.ts', 'FIXTURE_F') - all_F)).toBeLessThan(2e-12);
  });
  it('has the word printed beside its button that the program says to hold', () => {
    expect(HOW_TO_BOOT).toContain(`the board's ${tester().part('SW2').value} button`);
  });
  it('has on the converter what the table of its inputs says', () => {
    const converter = tester().part('U41');
    for (const { ain, net } of CONVERTER_INPUTS) {
      const pin = CONVERTER.pins.find(({ name }) => name === (ain === 12 ? 'AINCOM' : `AIN${ain}`))!;
      expect(converter.nets.get(pin.number), pin.name).toBe(net);
    }
  });
  it('has each bit of the switch word on the line that the chain of registers brings it to', () => {
    const netlist = tester();
    for (let bit = 0; bit < 32; bit++) {
      // The registers as a chain, by the twin's model of them: one bit set, shifted in most significant first.
      let shown = 0;
      const registers = new SwitchRegisters((word) => (shown = word), () => 0);
      registers.exchange((1 << bit) >>> 16, 16);
      registers.exchange((1 << bit) & 0xffff, 16);
      registers.setOutputEnable(true);
      registers.latch();
      // Bit k of the chain has moved k places from the first register's QA.
      const place = Math.log2(shown >>> 0);
      const register = netlist.part(`U${21 + Math.floor(place / 8)}`);
      const pin = register.bought.pins.find(({ name }) => name === `Q${'ABCDEFGH'[place % 8]}`)!;
      const line = registerOutput(bit).line;
      expect(register.nets.get(pin.number)).toBe(line);
      const [, name, input] = /^(\w+)_(EN|A0|A1|A2)$/.exec(line)!;
      const index = SWITCHES.indexOf(name as (typeof SWITCHES)[number]);
      const switchPin = SWITCH8.pins.find((one) => one.name === input)!;
      expect(netlist.part(`U${11 + index}`).nets.get(switchPin.number)).toBe(line);
      // The twin reads the same word: enable alone is address 0 of that switch.
      if (input === 'EN') expect(muxAddress((1 << bit) >>> 0, index)).toBe(0);
    }
  });
  it('is what every file made from it says, to the letter', () => {
    for (const [path, text] of generatedFiles(tester())) {
      const full = `hardware-notes/board/${path}`;
      expect(existsSync(fileURLToPath(new URL(`../../${full}`, import.meta.url))), full).toBe(true);
      expect(file(full) === text, `${full} is out of date: node hardware-notes/board/make.ts files`).toBe(true);
    }
  });
  it('names two sources for whatever is bought, and where its pins were looked up', () => {
    for (const { bought } of tester().parts) {
      if (bought.notBought === true) continue;
      for (const text of [bought.description, bought.example, bought.alternate,
        bought.pinSource]) expect(text.length, bought.example).toBeGreaterThan(0);
    }
  });
});

describe("the board's rules", () => {
  const found = (netlist: Netlist): string => findings(netlist).join('\n');
  it('find an input that floats', () => {
    expect(found(rewired('U33', '3', 'NOWHERE'))).toMatch(/NOWHERE: an input floats on it/);
  });
  it('find a net with one end', () => {
    expect(found(rewired('R101', '2', 'LOST'))).toMatch(/LOST: only R101\.2 is on it/);
  });
  it('find two outputs on one net', () => {
    expect(found(rewired('U31', '1', 'BUF_A_MINUS'))).toMatch(/BUF_A_MINUS: driven by U31\.1 and U31\.7/);
  });
  it('find a switch line that nothing holds, and one that is pulled too weakly', () => {
    expect(found(changed('RN3', () => null))).toMatch(/B_PLUS_EN: nothing holds it/);
    expect(found(changed('RN3', (part) => ({ ...part, size: 47e3 })))).toMatch(/B_PLUS_A2: nothing holds it/);
  });
  it('find an output enable that the pad in reset would pull low', () => {
    const pull = [...tester().parts].find(({ nets, bought }) => bought === R0603 && [...nets.values()].join() === '3V3,SWITCH_OE')!;
    expect(found(changed(pull.ref, (part) => ({ ...part, size: 100e3 })))).toMatch(/SWITCH_OE: must be high in reset/);
  });
  it('find a logic chip on the analog rails', () => {
    expect(found(rewired('U21', '16', 'V_PLUS'))).toMatch(/U21: its supply is V_PLUS, its logic that of 3V3/);
    expect(found(rewired('U11', '13', '5V'))).toMatch(/U11: 6\.\d+ to 7\.\d+ V between its supplies/);
  });
  it('find a throw on the wrong net', () => {
    const wrong = rewired('U12', '4', 'F2');
    expect(found(wrong)).toMatch(/U12: throw 1 is on F2, not F1/);
  });
  it('find supply pins that nothing feeds', () => {
    expect(found(rewired('U64', '5', 'ELSEWHERE'))).toMatch(/3V3: supply pins are on it and nothing feeds it/);
  });
});

describe('a netlist', () => {
  it('refuses a pin that a part has not, a pin forgotten, and a part twice', () => {
    const netlist = new Netlist();
    const place = { x: 0, y: 0, turn: 0 };
    expect(() => netlist.add('R1', R0603, 'clips', { A: 'X' }, place)).toThrow('R1 has no pin A');
    expect(() => new Netlist().add('R1', R0603, 'clips', { '#1': 'X' }, place)).toThrow('R1: pin 2 2 must be connected or left open');
    addClips(netlist);
    expect(() => addClips(netlist)).toThrow('J1 is there twice');
  });
  it.each([[4700, '4k7'], [220, '220R'], [1e6, '1M'], [1e-7, '100n'], [4.7e-6, '4u7'], [27e-12, '27p'], [0, '0R'], [30e3, '30k']])('prints %d as %s', (size, text) => {
    expect(printed(size)).toBe(text);
  });
});
