/** `tapstone proof`: what was read at a guitar's jack against what its harness should give. */
import { writeOut } from '../edge/environment.ts';
import { TouchReader } from '../evidence/touch-reader.ts';
import { evidenceOf, MisfitRecord, type NamedRecord } from '../proof/evidence-of.ts';
import { proofOf } from '../proof/document.ts';
import { proofText } from '../proof/proof-text.ts';
import { surveyOf } from '../proof/survey.ts';
import { surveyText } from '../proof/survey-text.ts';
import { wiredOf } from '../proof/wired.ts';
import { loadHarness, type LoadedHarness } from '../harness/load-harness.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { withHarnessFile } from './read-harness.ts';
import { readJackRecords } from './read-jack-records.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: '--json' }];

export const PROOF_HELP = `Usage: tapstone proof FILE.harness.json RECORD.bench.json... [--json]

  tapstone proof two.harness.json jack.bench.json          what differs from the plan, and the likely cause
  tapstone proof two.harness.json jack.bench.json --json   one line of JSON

Compares what was read at the jack, setting by setting, with the harness as its circuit is solved: ohms,
and which way each coil swings as steel touches it. Where something differs, single faults are tried in
the circuit, and those that explain all readings are told, the likeliest first.

Each record is a bench record with "setting", the position of each switch; "clips" lists the clip at hot
of the jack first. Touch every place that a setting should sound, and those that it should not, twice in
all; turn volume and tone fully up, pull the cable. Places are named SLOT PLACE. One file may hold
several records, one a line. A harness with nothing in "fitted" will do: then it tells what each position
sounds and what cannot be known from outside.

  --json     print JSON and nothing else on standard output
  -h, --help print this
`;

/** Runs the command.
 * @param args - after the word `proof`
 */
export async function proofCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone proof', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(PROOF_HELP);
    return EXIT.done;
  }
  const [path, ...files] = operands;
  if (path === undefined || files.length === 0) {
    const missing = path === undefined ? 'no harness is named' : 'no record is named';
    throw new UserError(`tapstone proof: ${missing}; write tapstone proof FILE.harness.json RECORD.bench.json`, EXIT.usage);
  }
  const loaded = await withHarnessFile(path, () => loadHarness(path));
  const records = await readJackRecords(files, path);
  await writeOut(provedText(loaded, records, options.has('--json')));
  return EXIT.done;
}

/** What the command prints of some records. @throws UserError (65) naming the record's field that does not fit the harness */
export function provedText(loaded: LoadedHarness, records: readonly NamedRecord[], isJson: boolean): string {
  const wired = wiredOf(loaded);
  const reader = new TouchReader();
  try {
    if (wired.pickups.length === 0) {
      const survey = surveyOf(wired, records, reader);
      return isJson ? jsonLine(survey) : surveyText(survey);
    }
    const proof = proofOf(wired, evidenceOf(wired, records, reader));
    return isJson ? jsonLine(proof) : proofText(wired, proof);
  } catch (error) {
    if (error instanceof MisfitRecord) throw new UserError(`${printable(error.source)}: ${error.message}`, EXIT.badContent);
    throw error;
  }
}
