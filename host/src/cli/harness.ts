/** `tapstone harness`: the screen on which pickups are tried in a harness. */
import { basename } from 'node:path';
import { endBy, isInteractive, settleColour, startFolder, untilAskedToEnd, writeError, writeOut } from '../edge/environment.ts';
import { FileProblem, writeWhole } from '../edge/files.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import { FieldError } from '../files/field-walk.ts';
import { ContentProblem, oneDocument } from '../files/one-document.ts';
import { asWireMap } from '../files/wiremap-file.ts';
import { turnedWords } from '../fitting/turned-magnet.ts';
import { FittingModel, pickupName, type HarnessChoice, type PickupChoice } from '../fitting/fitting-model.ts';
import { asHarness } from '../harness/harness-file.ts';
import { mapWithColours, pickupFiles, solveRecord, withPickups } from '../harness/load-harness.ts';
import { positionsText } from '../harness/positions-text.ts';
import { paragraph } from '../harness/table.ts';
import type { JackModel } from '../jack/jack-model.ts';
import { evidenceOf, pickupNumbered } from '../records/searching.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import type { JackPlace } from './jack-means.ts';
import { savedIn } from './keep-harness.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { expectNotRead, withHarnessFile } from './read-harness.ts';
import { readSettings } from './settings-access.ts';
import { withStock } from './stock-access.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: '--out', value: 'FILE.harness.json' }];

export const HARNESS_HELP = `Usage: tapstone harness FILE.harness.json [FILE ...] [--out FILE.harness.json]

  tapstone harness two.harness.json                    what its settings do, and what changes would do
  tapstone harness two.harness.json spare.bench.json   with another pickup to choose for a slot
  tapstone harness *.harness.json *.wiremap.json       several harnesses, and pickups for them
  tapstone harness two.harness.json 0012 P-7           with pickups in stock, by their numbers

A screen with the settings of a harness, the response of the chosen one or of two, and the leads. Try
pickups, exchange hot and ground, another coil grounded, a turned magnet; take over the best plan; take
back. Files may be harnesses, wire maps and bench records, in any order; a word without a dot or a slash
is the number of a pickup that "tapstone stock" lists. Nothing is written to them. Where the terminal is
closed, changes that no file holds are written to FILE, or else into this folder under a name that is free.

  --out FILE  where the key s writes the harness as it then stands
  -h, --help  print this
`;

/** The shop's number of a pickup; a file of such a name is written ./0012. */
const NUMBER = /^[^./-][^./\\]*$/;

/** Runs the command.
 * @param args - after the word `harness`
 */
export async function harnessCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone harness', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(HARNESS_HELP);
    return EXIT.done;
  }
  const out = options.get('--out') as string | undefined;
  await expectNotRead('tapstone harness', '--out', out, operands);
  const harnesses: HarnessChoice[] = [];
  const pickups: PickupChoice[] = [];
  for (const path of operands) {
    const read = await withHarnessFile(path, () => (NUMBER.test(path) ? keptPickup(path) : readHarnessOrPickup(path)));
    if ('loaded' in read) {
      await expectNotRead('tapstone harness', '--out', out, pickupFiles(read.loaded.harness, path));
      harnesses.push(read);
    }
    else pickups.push(read);
  }
  if (harnesses.length === 0)
    throw new UserError('tapstone harness: no harness is named; write tapstone harness FILE.harness.json', EXIT.usage);
  const model = new FittingModel(harnesses, pickups);
  if (!isInteractive())
    throw new UserError('tapstone harness: this is a screen and needs a terminal; tapstone positions prints the same table', EXIT.usage);
  // Before anything that draws is loaded: it looks at the environment once, when it is imported.
  settleColour((await readSettings()).settings.colour);
  const { runFittingScreen } = await import('./harness-program.tsx');
  const saving = { canSave: out !== undefined, save: () => saved(model, out) };
  let kept = '';
  const keepNow = async (): Promise<void> => { kept = await keptUnasked(model, out); };
  const { value: { isPrinted, proofs }, endedBy } = await untilAskedToEnd((asked) => (
    runFittingScreen(model, saving, () => atJack(model), asked, keepNow)));
  if (isPrinted) await writeOut(printed(model));
  for (const proof of proofs) await writeOut(proof);
  if (kept !== '') await writeError(`${kept}\n`);
  if (endedBy !== null) endBy(endedBy);
  return EXIT.done;
}

/** What reads the harness as it stands at its jack. @throws TransportError when there is no tester */
async function atJack(model: FittingModel): Promise<{ readonly jack: JackModel; readonly follow: JackPlace['follow'] }> {
  const { jackModel, jackOfTester } = await import('./jack-means.ts');
  const { bench, follow } = await jackOfTester(undefined, 'or rehearse with tapstone proof and --twin board');
  return { jack: jackModel(bench, { loaded: model.result().loaded, harness: basename(model.shown), file: null }), follow };
}

/** Writes what was changed where nobody can be asked: to the file that was named, else under a name that is free. @returns what is told */
async function keptUnasked(model: FittingModel, out: string | undefined): Promise<string> {
  const said = model.isUnsaved && out !== undefined ? await saved(model, out) : '';
  return model.isUnsaved ? savedIn(model, startFolder()) : said;
}

/** Writes the harness as it stands. @returns what the person is told */
async function saved(model: FittingModel, out: string | undefined): Promise<string> {
  if (out === undefined) return 'No file was named to write to: start with --out FILE.harness.json.';
  const harness = model.asFile(out);
  if (harness === null) return 'Not written: a pickup that is in stock only has no file that the harness could name.';
  try {
    await writeWhole(out, `${JSON.stringify(harness, null, 2)}\n`);
  } catch (error) {
    if (error instanceof FileProblem) return `Not written: ${printable(out)} cannot be written (${printable(error.code, 60)}).`;
    throw error;
  }
  model.isKept();
  return `Written: ${printable(out)}.${turnedWords(model.result().turned)}`;
}

/** A pickup in stock, as its last test found it. */
async function keptPickup(number: string): Promise<PickupChoice> {
  const name = `number ${printable(number, 60)}`;
  const record = await withStock('look', async (stock) => {
    const detail = stock === null ? null : await stock.do(pickupNumbered(number));
    if (detail === null)
      throw new UserError(`tapstone harness: no pickup has ${name}; "tapstone stock" lists them`, EXIT.noInput);
    const { test } = detail.line;
    const evidence = test === null ? null : await stock!.do(evidenceOf(test));
    if (evidence === null)
      throw new UserError(`tapstone harness: the pickup of ${name} has no test that came to its end; test it first`, EXIT.noInput);
    if ('damaged' in evidence) throw new ContentProblem(name, evidence.damaged);
    return evidence.record;
  });
  try {
    return { name, ...solveRecord(asBenchRecord(record), name) };
  } catch (error) {
    if (error instanceof FieldError) throw new ContentProblem(name, error.message);
    throw error;
  }
}

/** A harness or a pickup, by the format that its file names. */
export async function readHarnessOrPickup(path: string): Promise<HarnessChoice | PickupChoice> {
  const name = pickupName(path);
  const take = await oneDocument(path, (document): (() => HarnessChoice | PickupChoice | Promise<HarnessChoice>) => {
    const { format } = (document ?? {}) as { format?: unknown };
    if (format === 'wiremap/1') {
      const map = mapWithColours(asWireMap(document));
      return () => ({ name, file: { kind: 'map', path }, ...map });
    }
    if (format === 'bench/1') {
      const record = asBenchRecord(document);
      return () => ({ name, file: { kind: 'record', path }, ...solveRecord(record, path) });
    }
    const harness = asHarness(document);
    return async () => ({ name, path, loaded: await withPickups(harness, path) });
  });
  return take();
}

/** The harness as it was left: table, findings, soldering list, cautions. */
function printed(model: FittingModel): string {
  const { loaded, positions, turned } = model.result();
  const magnets = turned.map((slot) => `${slot}: turn its magnet over; what is said of its plus, minus and poles below is of the turned magnet.`);
  return `${magnets.flatMap((text) => [...paragraph(text), '']).join('\n')}${magnets.length > 0 ? '\n' : ''}${positionsText(loaded, positions)}`;
}
