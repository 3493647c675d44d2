/** `tapstone rehearse`: a whole test of a pickup on the virtual bench. */
import { setupOf } from '../bench/bench.ts';
import { makeTwin, type TwinKind } from '../bench/twins.ts';
import { timeOfDay } from '../edge/clock.ts';
import { writeError, writeOut } from '../edge/environment.ts';
import { isSameFile, writeWhole } from '../edge/files.ts';
import { freshSeed } from '../edge/random.ts';
import { BenchTest, type TestOutcome } from '../evidence/run-test.ts';
import { oneDocument } from '../files/one-document.ts';
import { asHarness, HARNESS_FORMAT } from '../harness/harness-file.ts';
import { pickupFiles, withPickups } from '../harness/load-harness.ts';
import { asPickup } from '../pickup/pickup-file.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { createLogic } from '../logic/module.ts';
import { TransportError, type Transport } from '../transport/transport.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { renderWireMap } from '../wiring/render-text.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { ALL_WAYS, parseArguments, type OptionSpec } from './options.ts';
import { expectNotRead, withHarnessFile } from './read-harness.ts';
import { rehearseHarness } from './rehearse-harness.ts';
import { SEED_OPTION, seedNumber } from './seed-option.ts';
import { GUITAR_SPECS } from './simulated-guitar.ts';
import { TWIN_OPTION, twinKind } from './twin-option.ts';

const OPTIONS: readonly OptionSpec[] = [
  TWIN_OPTION,
  { name: '--record', value: 'OUT.bench.json' },
  SEED_OPTION,
  { name: ALL_WAYS },
  ...GUITAR_SPECS,
  { name: '--json' },
];
/** What is said of a whole guitar only. */
const GUITAR_OPTIONS = ['--fault', '--blind'] as const;

export const REHEARSE_HELP = `Usage: tapstone rehearse FILE.pickup.json [--twin board|chip] [--record OUT.bench.json]
                         [--seed N] [--all-ways] [--json]
       tapstone rehearse FILE.harness.json [--pickup SLOT=FILE.pickup.json]... [--fault] [--blind]
                         [--twin board|chip] [--record OUT.bench.json] [--seed N] [--json]

  tapstone rehearse demo.pickup.json                  the wire map and how to wire it
  tapstone rehearse demo.pickup.json --json           one line of JSON
  tapstone rehearse demo.pickup.json --twin chip      run by the real firmware in an emulated chip
  tapstone rehearse demo.pickup.json --record x.bench.json && tapstone solve x.bench.json

  tapstone rehearse two.harness.json --fault          a guitar with one thing soldered wrong: prove it

Runs a whole test of an invented pickup on the virtual bench, from the button to the wire map; or, of a
harness, a test at the jack in every setting, and the proof of what was read. Its pickups are made up as
their wire maps have them.

  --twin board|chip   the module in this process (the default), or the firmware in an emulated chip
  --record FILE       also write what was measured, a bench record; of a harness one a line
  --seed N            decides noise, hum and hand; drawn and printed on standard error when left out
  --all-ways          every way of wiring, also those that are less often wanted
  --pickup SLOT=FILE  of a harness: this pickup behind it, its clips where the leads of the same clips go
  --fault             of a harness: one fault is put in, drawn by the seed, and told at the end
  --blind             of a harness: prove it as if nobody knew what is fitted
  --json              print JSON and nothing else on standard output
  -h, --help          print this
`;


/** Runs the command.
 * @param args - after the word `rehearse`
 */
export async function rehearseCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, lists, operands, wantsHelp } = parseArguments('tapstone rehearse', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(REHEARSE_HELP);
    return EXIT.done;
  }
  const [path, second] = operands;
  if (path === undefined)
    throw new UserError(
      'tapstone rehearse: no file is named; write tapstone rehearse FILE.pickup.json',
      EXIT.usage,
    );
  if (second !== undefined) {
    throw new UserError(
      `tapstone rehearse: ${printable(second, 60)} is one file too many; expected one pickup or one harness`,
      EXIT.usage,
    );
  }
  const twin = twinKind('tapstone rehearse', options.get('--twin'));
  const seed = seedNumber('tapstone rehearse', options.get('--seed'));
  const record = options.get('--record') as string | undefined;
  if (record !== undefined && (await isSameFile(path, record))) {
    throw new UserError(
      `tapstone rehearse: --record ${printable(record)} is the file that is rehearsed; name another`,
      EXIT.usage,
    );
  }
  const warnings: string[] = [];
  const read = await withHarnessFile(path, () => oneDocument(path, (document) =>
    isHarness(document)
      ? { harness: asHarness(document) }
      : { pickup: asPickup(document, (sentence) => warnings.push(sentence)) }));
  for (const warning of warnings) await writeError(`${printable(path)}: warning: ${warning}\n`);
  const pickups = lists.get('--pickup') ?? [];
  if (read.harness !== undefined) {
    if (options.has(ALL_WAYS)) throw new UserError(`tapstone rehearse: ${ALL_WAYS} is for one pickup; ${printable(path)} is a harness`, EXIT.usage);
    // Where the slot's name ends is known only once the slots are.
    const behind = pickups.flatMap((text) => [...text.matchAll(/=/g)].map(({ index }) => text.slice(index + 1)));
    await expectNotRead('tapstone rehearse', '--record', record, [...pickupFiles(read.harness, path), ...behind]);
    const loaded = await withHarnessFile(path, () => withPickups(read.harness, path));
    await rehearseHarness(loaded, path, {
      twin, seed, record, pickups, json: options.has('--json'), withFault: options.has('--fault'), isBlind: options.has('--blind'),
    });
    return EXIT.done;
  }
  const { pickup } = read;
  const foreign = pickups.length > 0 ? '--pickup' : GUITAR_OPTIONS.find((name) => options.has(name));
  if (foreign !== undefined)
    throw new UserError(`tapstone rehearse: ${foreign} is for a harness; ${printable(path)} is one pickup`, EXIT.usage);
  await rehearse(pickup, {
    twin,
    seed,
    json: options.has('--json'),
    record,
    allWays: options.has(ALL_WAYS),
  });
  return EXIT.done;
}

function isHarness(document: unknown): boolean {
  return typeof document === 'object' && document !== null && 'format' in document && document.format === HARNESS_FORMAT;
}

/** How a pickup is rehearsed. */
export interface Rehearsal {
  readonly twin: TwinKind;
  /** Drawn when undefined. */
  readonly seed: number | undefined;
  readonly json: boolean;
  /** Where the bench record goes. */
  readonly record: string | undefined;
  /** Whether every way of wiring is printed. */
  readonly allWays: boolean;
}

/** Tests a pickup on a twin and prints its wire map. */
export async function rehearse(
  pickup: Pickup,
  { twin, seed, json, record, allWays }: Rehearsal,
): Promise<void> {
  const used = seed ?? freshSeed();
  if (seed === undefined) await writeError(`seed ${used}\n`);
  const outcome = await test(pickup, twin, used);
  for (const difference of outcome.differences) await writeError(`tapstone: ${difference}\n`);
  if (record !== undefined) {
    const { identity, collector } = outcome;
    const document = collector.record(timeOfDay(), identity);
    await writeWhole(record, jsonLine(document));
  }
  const colours = new Map(pickup.leads.map(({ clip, colour }) => [clip, colour]));
  await writeOut(json ? jsonLine(outcome.map) : renderWireMap(outcome.map, colours, allWays ? null : ALL_WAYS));
}

async function test(pickup: Pickup, twin: TwinKind, seed: number): Promise<TestOutcome> {
  let transport: Transport | undefined;
  try {
    transport = await makeTwin(twin, { pickup, seed });
    return await new BenchTest(transport, { setup: setupOf(pickup), logic: createLogic() }).run();
  } catch (error) {
    if (error instanceof TransportError)
      throw new UserError(`tapstone: ${printable(error.message)}`, EXIT.unavailable);
    throw error;
  } finally {
    await transport?.close();
  }
}
