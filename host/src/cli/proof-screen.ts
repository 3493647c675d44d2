/** `tapstone proof` without a record: a person reads the guitar now, setting by setting, and the proof is printed at the end. */
import { basename } from 'node:path';
import type { TwinKind } from '../bench/twins.ts';
import { elapsed_ms } from '../edge/clock.ts';
import { endBy, settleColour, untilAskedToEnd, writeError, writeOut } from '../edge/environment.ts';
import { isSameFile, isThere } from '../edge/files.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { simulatedJack, simulatedPlaces } from '../jack/jack-bench.ts';
import type { JackModel } from '../jack/jack-model.ts';
import { MisfitRecord } from '../proof/evidence-of.ts';
import { printable } from '../text/printable.ts';
import { TransportError } from '../transport/transport.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { jackModel, jackOfTester, type JackPlace } from './jack-means.ts';
import { readJackRecords } from './read-jack-records.ts';
import { readSettings } from './settings-access.ts';
import { simulatedGuitar, type GuitarOptions } from './simulated-guitar.ts';

export interface JackRequest {
  /** Where readings are kept, and where earlier ones are. */
  readonly record: string | undefined;
  /** Serial number of the tester that is meant. */
  readonly tester: string | undefined;
  /** A simulated tester at a simulated guitar; null for an attached one. */
  readonly simulated: (GuitarOptions & { readonly twin: TwinKind }) | null;
}

interface Place extends JackPlace {
  readonly known: LoadedHarness;
  readonly places: readonly string[] | undefined;
  readonly fault: string | null;
}

/** @param command - for messages @param path - of the harness @throws UserError in one sentence */
export async function proofAtJack(command: string, path: string, loaded: LoadedHarness, request: JackRequest): Promise<ExitCode> {
  const { record } = request;
  const earlier = record === undefined ? [] : await earlierReadings(command, record, path);
  const { bench, known, places, fault, follow } = request.simulated === null
    ? await attached(command, loaded, request.tester) : await simulated(command, loaded, path, request.simulated);
  // Before anything that draws is loaded: it looks at the environment once, when it is imported.
  settleColour((await readSettings()).settings.colour);
  const { runJackScreen } = await import('./jack-program.tsx');
  let model: JackModel;
  try {
    const kept = { records: earlier, file: record ?? null };
    model = jackModel(bench, { loaded: known, harness: basename(path), ...kept, ...(places === undefined ? {} : { places }) });
  } catch (error) {
    if (error instanceof MisfitRecord) throw new UserError(`${printable(record!)}: ${error.source}: ${error.message}`, EXIT.badContent);
    throw error;
  }
  const ended = follow(() => void model.plugged());
  let endedBy: NodeJS.Signals | null = null;
  try {
    ({ endedBy } = await untilAskedToEnd((asked) => runJackScreen(model, asked)));
  } finally {
    ended();
    await model.close();
  }
  await writeOut(model.isEmpty ? 'Nothing was read.\n' : model.proofText());
  if (model.file !== null && !model.isEmpty) await writeError(`the readings are kept in ${printable(model.file)}\n`);
  if (fault !== null) await writeError(`the fault that was put in: ${fault}\n`);
  if (request.simulated !== null) await writeError(`the same guitar again: --seed ${request.simulated.seed}\n`);
  if (endedBy !== null) endBy(endedBy);
  return EXIT.done;
}

/** What a file holds that is to be gone on with. */
async function earlierReadings(command: string, record: string, path: string) {
  if (await isSameFile(path, record))
    throw new UserError(`${command}: --record ${printable(record)} is the harness itself; name another file`, EXIT.usage);
  return (await isThere(record)) ? (await readJackRecords([record], path)).map((one) => one.record) : [];
}

async function attached(command: string, known: LoadedHarness, wanted: string | undefined): Promise<Place> {
  try {
    return { known, places: undefined, fault: null, ...await jackOfTester(wanted, 'rehearse with --twin board, or name records of what was read') };
  } catch (error) {
    if (error instanceof TransportError) throw new UserError(`${command}: ${printable(error.message)}`, EXIT.unavailable);
    throw error;
  }
}

async function simulated(command: string, loaded: LoadedHarness, path: string, options: NonNullable<JackRequest['simulated']>): Promise<Place> {
  const { plan, known, fault } = await simulatedGuitar(command, loaded, path, options);
  const { twin, seed } = options;
  return {
    known, fault, places: simulatedPlaces(plan),
    bench: simulatedJack(plan, { twin, seed, automatic: false, elapsed_ms }), follow: () => () => undefined,
  };
}
