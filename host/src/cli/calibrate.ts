/** `tapstone calibrate`: leads a person through the calibration of a tester, each step kept as soon as it is taken. */
import { makeTwin, type TwinKind } from '../bench/twins.ts';
import { nextPage } from '../calibrating/next-page.ts';
import { STEPS, type Step, type StepName } from '../calibrating/steps.ts';
import type { KnownResistor } from '../calibrating/known-resistor.ts';
import { timeOfDay } from '../edge/clock.ts';
import { isTerminalInput, outputColumns, writeOut } from '../edge/environment.ts';
import { LineReader } from '../edge/lines.ts';
import { calibrationValues, dateNumber, dateOfDay, dayOf } from '../logic/calibration-page.ts';
import { logicModule } from '../logic/module.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { chooseTester, findTesters } from '../transport/discovery.ts';
import { loadDriver } from '../transport/driver.ts';
import { HidTransport, openObstacle } from '../transport/hid.ts';
import { Interview } from '../transport/interview.ts';
import { identityObstacle } from '../transport/judge.ts';
import { wrap } from '../text/wrap.ts';
import { TransportError, type Transport } from '../transport/transport.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';

export type CalibrateRequest = {
  /** The one step that is wanted; all, one after another, when left out. */
  readonly step?: StepName;
  /** The resistor of the last step; asked for when left out. */
  readonly known?: KnownResistor;
  /** Begin at once and ask nothing: for a step whose clips are ready. */
  readonly unasked?: boolean;
  /** The tester that is meant; chosen when left out. */
  readonly tester?: string;
  /** Rehearse on a simulated tester, with what belongs there on its clips. */
  readonly twin?: { readonly kind: TwinKind; readonly seed: number };
  /** Understands what was typed for the resistor, and for how wrong that may be. @throws UserError in one sentence */
  readonly understand: { readonly ohm: (typed: string) => number; readonly within: (typed: string) => number };
};

const COMMAND = 'tapstone calibrate';
/** Of a simulated person's clip on bare metal. */
const CONTACT_ohm = 0.01;
/** The resistor that a simulated person has at hand. */
const SIMULATED_ohm = 4000;

const bare: Pickup = {
  format: 'pickup/1', temperature_C: 22, coils: [], couplings: [], touches: [], magnet_readings: false, leads: [], faults: [],
  interference: { hum_Hz: 50, hum_V: 0.003, noise_V: 0.0002 },
};

/** Nothing but a resistor on clips 1 and 2, of so many ohms from clip to clip. */
export function resistorOnClips(ohm: number): Pickup {
  return {
    ...bare,
    leads: [{ clip: 1, colour: 'BN', node: 'one', ohm: CONTACT_ohm }, { clip: 2, colour: 'GY', node: 'other', ohm: CONTACT_ohm }],
    faults: [{ kind: 'bridge', a: 'one', b: 'other', ohm: ohm - 2 * CONTACT_ohm }],
  };
}

/** All six clips on one piece of copper. */
export const joinedClips: Pickup = {
  ...bare, leads: [1, 2, 3, 4, 5, 6].map((clip) => ({ clip, colour: 'BARE', node: 'bar', ohm: CONTACT_ohm })),
};

/** Nothing on the clips. */
export const openClips: Pickup = bare;

/** What the simulated person clips on for a step. */
function clippedFor(step: Step, known: KnownResistor | undefined): Pickup {
  return step.name === 'short' ? joinedClips : step.name === 'resistor' ? resistorOnClips(known?.ohm ?? SIMULATED_ohm) : openClips;
}

/** Where a step finds its tester. */
interface Desk {
  readonly serial: string;
  /** A tester with what belongs to the step on its clips. */
  at(step: Step, known: KnownResistor | undefined): Promise<Interview>;
  /** The step is over. @param written - the page that the tester has taken, if it was given one */
  done(written?: Uint8Array): Promise<void>;
  end(): Promise<void>;
}

/** @throws UserError when there is no tester, or what one step reads cannot be used */
export async function calibrate(request: CalibrateRequest): Promise<ExitCode> {
  let desk: Desk | null = null;
  const lines = request.unasked ? null : new LineReader();
  try {
    desk = request.twin === undefined ? await realDesk(request.tester) : twinDesk(request.twin);
    return await lead(desk, lines, request);
  } catch (error) {
    if (error instanceof TransportError) throw new UserError(`${COMMAND}: ${error.message}`, EXIT.unavailable);
    throw error;
  } finally {
    lines?.close();
    await desk?.end();
  }
}

async function realDesk(wanted: string | undefined): Promise<Desk> {
  const driver = await loadDriver();
  const tester = chooseTester(await findTesters(driver), wanted, undefined);
  if (!tester) throw new TransportError('no tester is plugged in; plug one in, or rehearse with --twin board');
  const obstacle = await openObstacle(tester.serial, tester.path);
  if (obstacle) throw new TransportError(obstacle);
  const interview = await talking(new HidTransport(driver, tester));
  return { serial: tester.serial, at: async () => interview, done: async () => undefined, end: () => interview.end() };
}

/** A tester that was never calibrated; it keeps what is written from one step to the next. */
function twinDesk({ kind, seed }: { readonly kind: TwinKind; readonly seed: number }): Desk {
  let page: Uint8Array | 'missing' = 'missing';
  let interview: Interview | null = null;
  const end = async (): Promise<void> => {
    await interview?.end();
    interview = null;
  };
  return {
    serial: 'a simulated tester',
    at: async (step, known) => {
      interview = await talking(await makeTwin(kind, { pickup: clippedFor(step, known), seed, automatic: false, calibration: page }));
      return interview;
    },
    done: (written) => {
      page = written ?? page;
      return end();
    },
    end,
  };
}

async function talking(transport: Transport): Promise<Interview> {
  const interview = new Interview(transport);
  try {
    await interview.open();
    const obstacle = identityObstacle(transport.serial, await interview.identify(), logicModule().sha256);
    if (obstacle) throw new TransportError(obstacle);
  } catch (error) {
    await interview.end();
    throw error;
  }
  return interview;
}

const CAUTION = 'Clip on nothing that is wired to an amplifier or to the mains; work inside such a device is for a qualified person, and your local electrical codes apply.';

/** Where nothing says how wide a terminal is, and for a wide one. */
const WIDTH_most = 78;

/** Tells lines, none wider than a terminal. */
function tell(text: string): Promise<void> {
  const width = Math.min(WIDTH_most, outputColumns() ?? WIDTH_most);
  return writeOut(text.split('\n').map((line) => wrap(line, width, 0).join('\n')).join('\n'));
}

/** Asks for a line; a terminal breaks the line itself where Enter is pressed. @returns null when no more will come */
async function ask(lines: LineReader, question: string): Promise<string | null> {
  await tell(question);
  const answer = await lines.next();
  if (!isTerminalInput()) await writeOut('\n');
  return answer;
}

/** Leads through the steps. */
async function lead(desk: Desk, lines: LineReader | null, request: CalibrateRequest): Promise<ExitCode> {
  const steps = STEPS.filter(({ name }) => request.step === undefined || name === request.step);
  if (lines !== null) {
    await tell(`Calibrates ${desk.serial}. ${CAUTION}\nWhat a step finds is written at once: stop after any of them, and come back for the others.\n`);
  }
  for (let at = 0; at < steps.length;) {
    const step = steps[at]!;
    const answer = lines === null ? '' : await asked(lines, steps, at);
    if (answer === null) break;
    if (answer === 's') {
      at++;
      continue;
    }
    const known = step.needsKnown ? await knownFor(lines, request) : undefined;
    if (known === null) break;
    const sentence = await take(desk, step, known);
    if (sentence !== null && lines === null) throw new UserError(`${COMMAND}: ${sentence}; nothing was written`, EXIT.badContent);
    if (sentence !== null) await tell(`Not kept: ${sentence}.\n`);
    else if (lines === null || !(await wantsAgain(lines))) at++;
  }
  if (request.twin) await tell('This was a simulated tester, which forgets it now.\n');
  return EXIT.done;
}

/** Tells what a step needs. @returns null to stop, `s` to skip it, anything else to begin */
async function asked(lines: LineReader, steps: readonly Step[], at: number): Promise<string | null> {
  const step = steps[at]!;
  const answer = await ask(lines, `\nStep ${at + 1} of ${steps.length}, ${step.title}.\n${step.prepare}\nEnter begins, s skips, q stops: `);
  return answer === null || answer.toLowerCase().startsWith('q') ? null : answer.toLowerCase().startsWith('s') ? 's' : '';
}

async function wantsAgain(lines: LineReader): Promise<boolean> {
  const answer = await ask(lines, 'Enter goes on, r takes this step again: ');
  return answer?.toLowerCase().startsWith('r') ?? false;
}

const stops = (typed: string): boolean => typed.toLowerCase().startsWith('q');

/** The resistor, as it was given or is typed now. @returns null to stop */
async function knownFor(lines: LineReader | null, request: CalibrateRequest): Promise<KnownResistor | null> {
  if (request.known !== undefined || lines === null) return request.known ?? null;
  const { understand } = request;
  const ohm = await understood(lines, 'What does the four-wire meter say, in ohms? ', understand.ohm);
  if (ohm === null) return null;
  const question = 'By how much may that be wrong, either way, in ohms\n(the meter\'s limits and the resistor\'s)? ';
  const within_ohm = await understood(lines, question, understand.within);
  return within_ohm === null ? null : { ohm, within_ohm };
}

/** Asks until the answer is understood. @returns null to stop */
async function understood(lines: LineReader, question: string, understand: (typed: string) => number): Promise<number | null> {
  for (;;) {
    const typed = await ask(lines, question);
    if (typed === null || stops(typed)) return null;
    try {
      return understand(typed);
    } catch (error) {
      if (!(error instanceof UserError)) throw error;
      await tell(`${error.message}.\n`);
    }
  }
}

/** Takes one step and keeps what it finds. @returns why nothing was kept, or null */
async function take(desk: Desk, step: Step, known: KnownResistor | undefined): Promise<string | null> {
  const interview = await desk.at(step, known);
  await tell(`Reading; leave the leads alone${step.needsKnown ? ' for half a minute' : ''}.\n`);
  const used = await interview.calibration();
  const outcome = await step.run(interview, calibrationValues(used), known);
  if (outcome.kind === 'refused') {
    await desk.done();
    return outcome.sentence;
  }
  const date = dateNumber(timeOfDay());
  const page = nextPage(used, step.gives, outcome.change, date);
  if (!(await interview.store(page))) {
    throw new TransportError(`tester ${desk.serial} did not take its new calibration, the one before is in use; try again`);
  }
  await tell(`Found: ${outcome.told}.\nWritten and in use, of ${dateOfDay(dayOf(date))}.\n`);
  await desk.done(page);
  return null;
}
