/** `tapstone proof`: what was read at a guitar's jack against what its harness should give. */
import { isInteractive, writeOut } from '../edge/environment.ts';
import { freshSeed } from '../edge/random.ts';
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
import { SEED_OPTION, seedNumber } from './seed-option.ts';
import { GUITAR_SPECS } from './simulated-guitar.ts';
import { TWIN_OPTION, twinKind } from './twin-option.ts';

const COMMAND = 'tapstone proof';

/** Options of reading at the jack. */
const SCREEN_OPTIONS: readonly OptionSpec[] = [
  { name: '--tester', value: 'SERIAL' }, { name: '--record', value: 'FILE.bench.jsonl' }, TWIN_OPTION, SEED_OPTION, ...GUITAR_SPECS,
];
/** Those that make a simulated guitar. */
const TWIN_ONLY = ['--seed', '--pickup', '--fault', '--blind'] as const;
const OPTIONS: readonly OptionSpec[] = [{ name: '--json' }, ...SCREEN_OPTIONS];

export const PROOF_HELP = `Usage: tapstone proof FILE.harness.json [--record FILE.bench.jsonl] [--tester SERIAL]
       tapstone proof FILE.harness.json --twin board|chip [--seed N] [--fault] [--blind]
                      [--pickup SLOT=FILE.pickup.json]... [--record FILE.bench.jsonl]
       tapstone proof FILE.harness.json RECORD.bench.json... [--json]

  tapstone proof two.harness.json                          read the guitar now, setting by setting
  tapstone proof two.harness.json --record two.bench.jsonl the same, each reading kept at once
  tapstone proof two.harness.json --twin board --fault     rehearse it on a guitar with a fault
  tapstone proof two.harness.json jack.bench.json          what was read before, against the plan
  tapstone proof two.harness.json jack.bench.json --json   one line of JSON

Compares what is read at the jack, setting by setting, with the harness as its circuit is solved: ohms,
and which way each coil swings as steel touches it. Where something differs, single faults are tried in
the circuit, and those that explain all readings are told, the likeliest first.

Without a record a screen leads through it: clip 1 at hot of the jack, clip 2 at its ground, the cable
out, the amplifier unplugged; put the switches as told, press the tester's button, touch each place as it
asks. Each reading is compared at once; a setting can be read again, left out, or dropped. A file that
--record names and that has readings of this harness is gone on with.

Each record is a bench record with "setting", the position of each switch; "clips" lists the clip at hot
of the jack first. Touch every place that a setting should sound, and those that it should not, twice in
all; turn volume and tone fully up, pull the cable. Places are named SLOT PLACE. One file may hold
several records, one a line. A harness with nothing in "fitted" will do: then it tells what each position
sounds and what cannot be known from outside.

  --record FILE       keep each reading, a record a line, as soon as it is over
  --tester SERIAL     which of several testers
  --twin board|chip   a simulated tester at a simulated guitar, whose pickups are as their wire maps say
  --seed N            decides noise, hum and hand of it; drawn when left out
  --pickup SLOT=FILE  this pickup in it, its clips where the leads of the same clips go
  --fault             one thing in it is soldered wrong, and told at the end
  --blind             prove it as if nobody knew what is fitted
  --json              print JSON and nothing else on standard output
  -h, --help          print this
`;

/** Runs the command.
 * @param args - after the word `proof`
 */
export async function proofCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, lists, operands, wantsHelp } = parseArguments(COMMAND, args, OPTIONS);
  if (wantsHelp) {
    await writeOut(PROOF_HELP);
    return EXIT.done;
  }
  const [path, ...files] = operands;
  const usage = (sentence: string): UserError => new UserError(`${COMMAND}: ${sentence}`, EXIT.usage);
  if (path === undefined) throw usage(`no harness is named; write ${COMMAND} FILE.harness.json RECORD.bench.json`);
  const given = SCREEN_OPTIONS.map(({ name }) => name).find((name) => options.has(name) || lists.has(name));
  if (files.length > 0) {
    if (given !== undefined) throw usage(`${given} is for reading at the jack; name records, or ${given}, not both`);
    const loaded = await withHarnessFile(path, () => loadHarness(path));
    await writeOut(provedText(loaded, await readJackRecords(files, path), options.has('--json')));
    return EXIT.done;
  }
  if (options.has('--json') || !isInteractive()) {
    const why = options.has('--json') ? '--json prints what records prove' : 'without a terminal none can be read now';
    throw usage(`no record is named, and ${why}; write ${COMMAND} FILE.harness.json RECORD.bench.json`);
  }
  const twin = options.get('--twin');
  const alone = twin === undefined ? TWIN_ONLY.find((name) => options.has(name) || lists.has(name)) : undefined;
  if (alone !== undefined) throw usage(`${alone} is for a simulated guitar; add --twin board`);
  const serial = options.get('--tester');
  if (twin !== undefined && serial !== undefined) throw usage('--tester and --twin name two testers; leave one of them out');
  const { proofAtJack } = await import('./proof-screen.ts');
  return proofAtJack(COMMAND, path, await withHarnessFile(path, () => loadHarness(path)), {
    record: options.get('--record') as string | undefined,
    tester: serial as string | undefined,
    simulated: twin === undefined ? null : {
      twin: twinKind(COMMAND, twin), seed: seedNumber(COMMAND, options.get('--seed')) ?? freshSeed(),
      pickups: lists.get('--pickup') ?? [], withFault: options.has('--fault'), isBlind: options.has('--blind'),
    },
  });
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
