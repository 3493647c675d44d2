/** `tapstone enter`: a pickup entered by a person's own meters, one reading at a time, on a screen or line by line. */
import { pause, timeOfDay } from '../edge/clock.ts';
import { inputLines, isInteractive, isTerminalInput, settleColour, untilAskedToEnd, writeError, writeOut } from '../edge/environment.ts';
import { expectWritable, writeWhole } from '../edge/files.ts';
import { COMMANDS, ENTRY_TITLE, EntrySession } from '../entry/session.ts';
import { isWrong, readLeads, readPlaces, type Lead, type Wrong } from '../entry/values.ts';
import { answeredInWords, HOW, promptInWords, READING_CAUTIONS } from '../entry/words.ts';
import { numberFault } from '../records/numbers.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { wrap } from '../text/wrap.ts';
import { renderWireMap } from '../wiring/render-text.ts';
import { tell, UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { keepEntered } from './keep-entered.ts';
import { ALL_WAYS, parseArguments, type OptionSpec } from './options.ts';
import { readSettings } from './settings-access.ts';
import { recordSolver } from './solve-kept.ts';

const COMMAND = 'tapstone enter';
const OPTIONS: readonly OptionSpec[] = [
  { name: '--leads', value: 'LIST' },
  { name: '--places', value: 'LIST' },
  { name: '--title', value: 'TEXT' },
  { name: '--number', value: 'NUMBER' },
  { name: '--out', value: 'OUT.bench.json' },
  { name: '--no-keep' },
  { name: '--lines' },
  { name: ALL_WAYS },
  { name: '--json' },
];
const COLUMNS = 80;

export const ENTER_HELP = `Usage: tapstone enter [--leads LIST] [--places LIST] [--title TEXT] [--number NUMBER]
                      [--out OUT.bench.json] [--no-keep] [--lines] [--all-ways] [--json]

  tapstone enter                                       a screen that asks for everything
  tapstone enter --leads BU,YE,GY,VT,BARE --places 2   leads by colour code in order; two places for the steel
  tapstone enter --lines --out found.bench.json        line by line, and a record for "tapstone solve"

Finds out which wires are which with an ohmmeter, a voltmeter, a piece of steel and a compass. It asks for
one reading at a time, the one that tells most next, and stops when none that is left would change the
wire map; a reading that does not fit the others is asked back before it is noted. In the place of a
reading: ${COMMANDS.back} goes back, ${COMMANDS.correct} corrects an earlier one,
${COMMANDS.skip} skips, ${COMMANDS.help} says how it is taken, ${COMMANDS.end} ends with what there is.

A swing may be typed with its size, +66 (millivolts), where lines are typed or the screen asks for it.
The map is that of "tapstone solve", and the test is kept like any other. Without a terminal, or with
--lines, it reads lines from standard input.

  --leads LIST      how many, or colour codes of IEC 60757 in order; BARE is uncoated, ? one not noted
  --places LIST     1, 2 or 3 places where steel can touch a coil, or their names
  --title TEXT      what the pickup is called
  --number NUMBER   of the pickup in stock that this is, or of a new one; the next of the shop's when left out
  --out FILE        also write the record
  --no-keep         keep nothing in the stock
  --lines           line by line in a terminal too
  --all-ways        every way of wiring, also those that are less often wanted
  --json            print the map as JSON and nothing else on standard output
  -h, --help        print this
`;

/** Runs the command.
 * @param args - after the word `enter`
 */
export async function enterCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments(COMMAND, args, OPTIONS);
  if (wantsHelp) {
    await writeOut(ENTER_HELP);
    return EXIT.done;
  }
  if (operands[0] !== undefined)
    throw new UserError(`${COMMAND}: ${printable(operands[0], 60)} is not expected here; readings are typed when they are asked for`, EXIT.usage);
  const text = (name: string): string | undefined => options.get(name) as string | undefined;
  const number = text('--number');
  const fault = number === undefined ? null : numberFault(number);
  if (fault !== null) throw new UserError(`${COMMAND}: --number: ${fault}`, EXIT.usage);
  const leads = said<readonly Lead[]>('--leads', text('--leads'), readLeads);
  const places = said<readonly string[]>('--places', text('--places'), readPlaces);
  const session = new EntrySession(recordSolver(), {
    ...(leads === undefined ? {} : { leads }),
    ...(places === undefined ? {} : { places }),
  });
  const out = text('--out');
  if (out !== undefined) await expectWritable(out);
  const onScreen = isInteractive() && !options.has('--lines');
  const taken = timeOfDay();
  const title = printable(text('--title') ?? ENTRY_TITLE, 200);
  const { value } = await untilAskedToEnd(async (asked) => {
    const { refusals, isBroken } = onScreen ? await screen(session, asked) : await lines(session, asked);
    if (session.isEmpty) {
      await writeError('Nothing was read, so there is no map and nothing is kept.\n');
      return refusals > 0 ? EXIT.badContent : EXIT.done;
    }
    const record = session.record(taken);
    const map = session.map!;
    const colours = new Map(record.clips.map(({ clip, colour }) => [clip, colour]));
    let kept = '';
    // Each reading took a person's hands: whatever of this cannot be done, the rest is, the keeping first.
    await allOf([
      async () => {
        if (!options.has('--no-keep')) kept = await keep(session, { taken, title, number: number ?? null, isBroken });
      },
      () => writeOut(options.has('--json') ? jsonLine(map) : renderWireMap(map, colours, options.has(ALL_WAYS) ? null : ALL_WAYS)),
      () => writeError(kept),
      async () => {
        if (out !== undefined) await writeWhole(out, jsonLine(record));
      },
    ]);
    return refusals > 0 && !isTerminalInput() ? EXIT.badContent : EXIT.done;
  });
  return value;
}

/** Keeps what was read. @returns what is told of it */
async function keep(session: EntrySession, facts: Parameters<typeof keepEntered>[1]): Promise<string> {
  const { number, trouble } = await keepEntered(session, facts);
  const as = number === null ? 'a pickup that the server is to number' : printable(number);
  return `Kept as ${as}${facts.isBroken ? ', broken off' : ''}.${trouble === null ? '' : ` Not handed over to the server yet: ${trouble}.`}\n`;
}

/** Does one after the other, each whatever became of those before. @throws what failed first; what failed after it is told */
async function allOf(acts: readonly (() => Promise<void>)[]): Promise<void> {
  const troubles: unknown[] = [];
  for (const act of acts) await act().catch((error: unknown) => troubles.push(error));
  for (const trouble of troubles.slice(1)) await writeError(`${tell(trouble).line}\n`);
  if (troubles.length > 0) throw troubles[0];
}

/** What an option says beforehand. */
function said<T>(name: string, given: string | undefined, read: (text: string) => T | Wrong): T | undefined {
  if (given === undefined) return undefined;
  const value = read(given);
  if (isWrong(value)) throw new UserError(`${COMMAND}: ${name}: ${value.wrong}`, EXIT.usage);
  return value as T;
}

/** How it went. */
interface Ended {
  /** Lines that were refused; on the screen none, since whoever sees a refusal answers it. */
  readonly refusals: number;
  /** It was left in the middle. */
  readonly isBroken: boolean;
}

/** On the screen, until the person is done. */
async function screen(session: EntrySession, end: AbortSignal): Promise<Ended> {
  // Before anything that draws is loaded: it looks at the environment once, when it is imported.
  settleColour((await readSettings()).settings.colour);
  const { runEntryScreen } = await import('./entry-program.tsx');
  return { refusals: 0, isBroken: await runEntryScreen(session, end) };
}

/** Line by line; the talk goes to standard error, so that the map has standard output for itself. */
async function lines(session: EntrySession, end: AbortSignal): Promise<Ended> {
  const say = (text: string, indent = 0): Promise<void> => writeError(`${wrap(text, COLUMNS, indent).join('\n')}\n`);
  for (const caution of READING_CAUTIONS) await say(`- ${caution}`, 2);
  const explained = new Set<string>();
  let refusals = 0;
  const ask = async (): Promise<void> => {
    const { prompt, lying } = session;
    const kind = prompt.kind === 'reading' ? prompt.ask.kind : null;
    if (kind !== null && !explained.has(kind)) {
      explained.add(kind);
      await say('');
      for (const line of HOW[kind]) await say(`- ${line}`, 2);
    }
    if (prompt.kind === 'which') for (const [index, answered] of session.answers.entries()) await say(`${index + 1}  ${answeredInWords(answered)}`);
    const [question, answer] = promptInWords(prompt, lying);
    const isNew = prompt.kind === 'reading' && prompt.of === null;
    await say('');
    await say(`${isNew ? `Reading ${session.answers.length + 1}. ` : ''}${question}`);
    await say(`(${answer})`);
    await writeError('> ');
  };
  await ask();
  for await (const line of inputLines(end)) {
    if (end.aborted) break;
    // A terminal has shown it already.
    if (!isTerminalInput()) await writeError(`${printable(line, 200)}\n`);
    const { wrong, ended, wantsHelp } = session.type(line);
    if (ended) return { refusals, isBroken: false };
    if (wrong !== null) {
      refusals += 1;
      await say(`${wrong}.`);
    }
    if (wantsHelp) await help(session, say);
    await ask();
  }
  await writeError('\n');
  // The input of a terminal that is gone ends at the moment at which this program is told so.
  await pause(0);
  return { refusals, isBroken: end.aborted && !session.isDone };
}

async function help({ prompt }: EntrySession, say: (text: string, indent?: number) => Promise<void>): Promise<void> {
  const kind = prompt.kind === 'reading' || prompt.kind === 'doubt' ? prompt.ask.kind : null;
  for (const line of kind === null ? [] : HOW[kind]) await say(`- ${line}`, 2);
  await say(`${COMMANDS.back} back, ${COMMANDS.correct} correct an earlier reading, ${COMMANDS.skip} skip this one, ${COMMANDS.end} end with what there is`);
}
