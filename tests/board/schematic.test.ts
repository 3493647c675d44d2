/** The schematic and the bought parts before KiCad 9: its rule check, its netlist, its own symbols. */
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { tester } from '../../hardware-notes/board/netlist/board.ts';
import { child, lists, parsed, textOf, type List } from '../../hardware-notes/board/making/sexpr.ts';
import { SYMBOLS } from '../../hardware-notes/board/making/kicad-share.ts';
import { copyOfProject, kicad, kicadOrSay } from './kicad.ts';

const ready = kicadOrSay('rule check of the schematic, comparison with its symbols');

interface Violation {
  readonly severity: string;
  readonly type: string;
  readonly description: string;
}

interface Erc {
  readonly sheets: readonly { readonly violations: readonly Violation[] }[];
}

describe.skipIf(!ready)('the schematic', () => {
  let folder = '';
  beforeAll(() => (folder = copyOfProject()));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const violations = (): string[] => {
    kicad(folder, 'sch', 'erc', '--severity-all', '--format', 'json', '-o', 'erc.json', 'tapstone.kicad_sch');
    const { sheets } = JSON.parse(readFileSync(join(folder, 'erc.json'), 'utf8')) as Erc;
    return sheets.flatMap((sheet) => sheet.violations.map(({ severity, type, description }) => `${severity} ${type}: ${description}`));
  };

  it("has no error and no warning by KiCad 9's electrical rule check", () => {
    expect(violations()).toEqual([]);
  });
  it("is to KiCad the same netlist, pin for pin", () => {
    expect(kicad(folder, 'sch', 'export', 'netlist', '-o', 'net.net', 'tapstone.kicad_sch').status).toBe(0);
    const theirs = new Map<string, string[]>();
    for (const net of lists(child(parsed(readFileSync(join(folder, 'net.net'), 'utf8')), 'nets')!, 'net')) {
      const name = textOf(child(net, 'name')![1]);
      if (name.startsWith('unconnected-')) continue;
      theirs.set(name, lists(net, 'node').map((node) => `${textOf(child(node, 'ref')![1])}.${textOf(child(node, 'pin')![1])}`).sort());
    }
    const ours = new Map([...tester().nets()].map(([name, ends]) => [name, ends.sort()]));
    expect([...theirs].sort()).toEqual([...ours].sort());
  });
  it('is found at fault when a label is taken away', () => {
    const path = join(folder, 'ports.kicad_sch');
    const text = readFileSync(path, 'utf8');
    const at = text.indexOf('(global_label "INVERT"');
    writeFileSync(path, `${text.slice(0, at)}${text.slice(text.indexOf('(global_label', at + 10))}`);
    expect(violations().join('\n')).toMatch(/error pin_not_connected/);
    writeFileSync(path, text);
  });
});

/** Pins of a symbol in KiCad's own library, by number. */
function symbolPins(library: string, name: string): Map<string, string> {
  const symbols = lists(parsed(readFileSync(join(SYMBOLS, `${library}.kicad_sym`), 'utf8')), 'symbol');
  const find = (wanted: string): List => {
    const symbol = symbols.find((one) => textOf(one[1]) === wanted);
    if (symbol === undefined) throw new Error(`${library} has no ${wanted}`);
    const base = child(symbol, 'extends');
    return base === undefined ? symbol : find(textOf(base[1]));
  };
  const pins = lists(find(name), 'symbol').flatMap((unit) => lists(unit, 'pin'));
  return new Map(pins.map((pin) => [textOf(child(pin, 'number')![1]), textOf(child(pin, 'name')![1])]));
}

/** Names as both write them: no bars, no subscripts, no slashes; what an op-amp's symbol leaves unnamed is its output. */
const plain = (name: string): string => name.replace(/~?\{([^}]*)\}/g, '$1').replace(/[_{}]/g, '').toUpperCase();
const ALIASES: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  W25Q16JVSS: { 'DO/IO1': 'IO1', 'WP/IO2': 'IO2', 'DI/IO0': 'IO0', 'HOLD/RESET/IO3': 'IO3' },
  RP2040: { 'GPIO26/ADC0': 'GPIO26', 'GPIO27/ADC1': 'GPIO27', 'GPIO28/ADC2': 'GPIO28', 'GPIO29/ADC3': 'GPIO29' },
};

describe.skipIf(!ready)("the pin tables of what is bought are those of KiCad's symbols", () => {
  const kinds = [...new Map(tester().parts.map(({ bought }) => [`${bought.example} ${bought.footprint}`, bought])).values()].filter(({ symbol }) => symbol !== undefined);
  it.each(kinds.map((bought) => [bought.example, bought] as const))('%s', (_, bought) => {
    const theirs = symbolPins(...bought.symbol!);
    expect(bought.pins.map(({ number }) => number).sort()).toEqual([...theirs.keys()].sort());
    for (const { number, name } of bought.pins) {
      const their = plain(theirs.get(number)!);
      const ours = plain(name);
      const alias = ALIASES[bought.example]?.[their] ?? their;
      // An op-amp's inputs are named + and - by unit; ours carry the unit's letter, and its output a name.
      if (/^OPA/.test(bought.example) && !ours.startsWith('V')) expect(alias, `${bought.example} ${number}`).toBe(ours.startsWith('OUT') ? '~' : ours[0]);
      else if (bought.pins.length === 2 && bought.family !== 'led') expect(['1', '2', '~', 'A', 'B']).toContain(their.toUpperCase());
      else expect(alias, `${bought.example} ${number}`).toBe(ours);
    }
  });
});
