/** `tapstone stock`: the pickups that the shop has, found again, paired, spoken for. */
import { localTime, timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { freshUid } from '../edge/random.ts';
import { historyLines } from '../shop/history.ts';
import { offer } from '../text/offer.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { findPartners } from '../records/comparing.ts';
import { readClips } from '../records/facts.ts';
import { keptMap } from '../records/kept-map.ts';
import { addEvent, NumberTaken, remember, setting, type NewEvent } from '../records/keeping.ts';
import { kilohms } from '../records/list-text.ts';
import { numberFault, PATTERN, PATTERN_SETTING, patternFault } from '../records/numbers.ts';
import { evidenceOf, pickupNumbered, type Line, type PickupDetail } from '../records/searching.ts';
import { isState, standingInWords, STATES } from '../records/states.ts';
import type { Stock } from '../records/work.ts';
import { renderWireMap } from '../wiring/render-text.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { onlyOptions, parseArguments, type Parsed } from './options.ts';
import { printList } from './print-list.ts';
import { FILTER_HELP, FILTER_OPTIONS } from './record-filter.ts';
import { withStock } from './stock-access.ts';

const COMMAND = 'tapstone stock';

export const STOCK_HELP = `Usage: tapstone stock [OPTION...]
       tapstone stock NUMBER | partners NUMBER | state NUMBER STATE | note NUMBER TEXT | renumber NUMBER NEW | pattern [PATTERN]

  tapstone stock --state good --ohms 7k..8.5k   the pickups in stock, the newest first
  tapstone stock 0012                           one of them: its map, its tests, what was noted
  tapstone stock partners 0012                  which others pair with it, the best first, and why
  tapstone stock state 0012 sold                ${STATES.join(', ')}
  tapstone stock note 0012 "cover is dented"    found again by --text
  tapstone stock renumber 0012 A-7              another number, such as one of a label that is scanned
  tapstone stock pattern P-####                 how new numbers look; alone it tells

${FILTER_HELP}`;

type Action = (words: readonly string[], parsed: Parsed) => Promise<ExitCode>;

const ACTIONS: ReadonlyMap<string, { readonly words: string; readonly act: Action }> = new Map([
  ['partners', { words: 'partners NUMBER', act: partners }],
  ['state', { words: 'state NUMBER STATE', act: state }],
  ['note', { words: 'note NUMBER TEXT', act: note }],
  ['renumber', { words: 'renumber NUMBER NEW', act: renumber }],
  ['pattern', { words: 'pattern [PATTERN]', act: pattern }],
]);

/** `tapstone stock`. @param args - after the word `stock` */
export async function stockCommand(args: readonly string[]): Promise<ExitCode> {
  const parsed = parseArguments(COMMAND, args, FILTER_OPTIONS);
  if (parsed.wantsHelp) {
    await writeOut(STOCK_HELP);
    return EXIT.done;
  }
  const [first, ...rest] = parsed.operands;
  if (first === undefined) {
    return withStock('look', async (stock) => {
      await printList(COMMAND, stock, 'stock', parsed, 'No pickup is in stock yet; the bench screen keeps each one that it tests.');
      return EXIT.done;
    });
  }
  const action = ACTIONS.get(first);
  if (action !== undefined) {
    onlyOptions(parsed, `${COMMAND} ${first}`, first === 'partners' ? ['--json'] : []);
    return action.act(rest, parsed);
  }
  if (rest.length > 0) {
    const known = [...ACTIONS.keys()];
    throw new UserError(`${COMMAND}: ${printable(first, 60)} is not known; ${offer(first, known)}`, EXIT.usage);
  }
  onlyOptions(parsed, `${COMMAND} ${printable(first, 60)}`, ['--json']);
  return withStock('look', (stock) => one(stock, first, parsed.options.has('--json')));
}

function expectWords(words: readonly string[], count: number, name: string): readonly string[] {
  if (words.length === count) return words;
  throw new UserError(`${COMMAND} ${name}: ${words.length} words stand behind it; expected ${COMMAND} ${ACTIONS.get(name)!.words}`, EXIT.usage);
}

async function needed(stock: Stock | null, number: string): Promise<PickupDetail> {
  const detail = stock === null ? null : await stock.do(pickupNumbered(number));
  if (detail === null) throw new UserError(`${COMMAND}: no pickup has number ${printable(number, 60)}; "${COMMAND}" lists them`, EXIT.noInput);
  return detail;
}

async function one(stock: Stock | null, number: string, json: boolean): Promise<ExitCode> {
  const detail = await needed(stock, number);
  const { line } = detail;
  const evidence = line.test === null ? null : await stock!.do(evidenceOf(line.test));
  const read = evidence !== null && 'map' in evidence ? keptMap(evidence.map) : evidence;
  const [map, damaged] = read === null ? [null, null] : 'damaged' in read ? [null, read.damaged] : [read.map, null];
  if (json) await writeOut(jsonLine(fieldsOf(detail, map)));
  else {
    await writeOut(`${headOf(line)}\n\n`);
    if (map !== null) await writeOut(`${renderWireMap(map, new Map(readClips(line.clips).map(({ clip, colour }) => [clip, colour])), null)}\n`);
    await writeOut(`History\n${historyLines(detail, localTime).map((told) => `  ${told}\n`).join('')}`);
  }
  if (damaged === null) return EXIT.done;
  const which = `test ${line.test} of ${printable(number, 60)}`;
  throw new UserError(`${COMMAND}: ${which} is damaged: ${printable(damaged, 200)}; test the pickup again`, EXIT.badContent);
}

function fieldsOf({ line, added, tests, events }: PickupDetail, map: WireMap | null) {
  const { number, state: now, title, lot, isVirtual } = line;
  return {
    number, state: now, title, lot, virtual: isVirtual, added, map, events,
    tests: tests.map(({ test, taken, verdict, doubt, isBroken, isWithdrawn }) => (
      { test, taken, verdict, broken_off: isBroken, withdrawn: isWithdrawn, doubt })),
    doubt: line.doubt,
  };
}

function headOf({ number, state: now, doubt, title, lot, isVirtual }: Line): string {
  const where = [lot === null || lot === '' ? '' : `lot ${lot}`, isVirtual ? 'virtual bench' : ''].filter((part) => part !== '').join(', ');
  return printable(`${number ?? 'without a number'}  ${standingInWords(now, doubt)}  ${title}${where === '' ? '' : `  (${where})`}`);
}

async function partners(words: readonly string[], { options }: Parsed): Promise<ExitCode> {
  const [number] = expectWords(words, 1, 'partners');
  return withStock('look', async (stock) => {
    const { line } = await needed(stock, number!);
    const found = await findPartners(stock!, line);
    if (found === null) throw new UserError(`${COMMAND} partners: ${printable(number!, 60)} has no whole test to compare by; test it first`, EXIT.badContent);
    if (options.has('--json')) {
      for (const partner of found) await writeOut(jsonLine(partner));
      return EXIT.done;
    }
    const own = `${printable(line.number ?? '')}: ${kilohms(line.ohm)} ohm, poles ${printable(line.poles)}`;
    await writeOut(found.length === 0 ? `${own}. No good pickup in stock is near it.\n` : `${own}\n`);
    for (const [index, { number: other, reason }] of found.slice(0, 20).entries()) {
      await writeOut(`${String(index + 1).padStart(3)}. ${printable(other)}: ${printable(reason)}\n`);
    }
    if (found.length > 20) await writeOut(`     and ${found.length - 20} more; --json tells all\n`);
    return EXIT.done;
  });
}

async function record(number: string, kind: NewEvent['kind'], text: string): Promise<ExitCode> {
  return withStock('keep', async (stock) => {
    const { uid } = await needed(stock, number);
    try {
      await stock.do(addEvent({ uid: freshUid(), pickup: uid, at: timeOfDay(), kind, text }));
    } catch (error) {
      if (error instanceof NumberTaken) throw new UserError(`${COMMAND}: ${error.message}`, EXIT.badContent);
      throw error;
    }
    return EXIT.done;
  });
}

async function state(words: readonly string[]): Promise<ExitCode> {
  const [number, word] = expectWords(words, 2, 'state');
  if (!isState(word!)) throw new UserError(`${COMMAND} state: "${printable(word!, 40)}" is no state; ${offer(word!.toLowerCase(), STATES)}`, EXIT.usage);
  return record(number!, 'state', word!);
}

async function note(words: readonly string[]): Promise<ExitCode> {
  const [number, text] = expectWords(words, 2, 'note');
  if (text!.trim() === '' || text!.length > 2000) throw new UserError(`${COMMAND} note: expected a text of 1 to 2000 characters`, EXIT.usage);
  return record(number!, 'note', text!);
}

async function renumber(words: readonly string[]): Promise<ExitCode> {
  const [number, wanted] = expectWords(words, 2, 'renumber');
  const fault = numberFault(wanted!);
  if (fault !== null) throw new UserError(`${COMMAND} renumber: ${fault}`, EXIT.usage);
  return record(number!, 'number', wanted!);
}

async function pattern(words: readonly string[]): Promise<ExitCode> {
  const [wanted, more] = words;
  if (more !== undefined) expectWords(words, 1, 'pattern');
  if (wanted === undefined) {
    await withStock('look', async (stock) => {
      const set = stock === null ? undefined : await stock.do(setting(PATTERN_SETTING));
      await writeOut(`${printable(set ?? PATTERN.shop)}\n`);
    });
    return EXIT.done;
  }
  const fault = patternFault(wanted);
  if (fault !== null) throw new UserError(`${COMMAND} pattern: ${fault}`, EXIT.usage);
  return withStock('keep', async (stock) => {
    await stock.do(remember(PATTERN_SETTING, wanted));
    return EXIT.done;
  });
}
