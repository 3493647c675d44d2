/** `tapstone calibrate`: a resistor whose value is known gives a tester its scale of ohms. */
import { makeTwin, type TwinKind } from '../bench/twins.ts';
import { timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { logicModule } from '../logic/module.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { chooseTester, findTesters } from '../transport/discovery.ts';
import { loadDriver } from '../transport/driver.ts';
import { HidTransport, openObstacle } from '../transport/hid.ts';
import { Interview } from '../transport/interview.ts';
import { identityObstacle } from '../transport/judge.ts';
import { readKnown, scaleFrom, type KnownResistor, type ScaleOutcome } from '../transport/reference-scale.ts';
import { TransportError, type Transport } from '../transport/transport.ts';
import { BOARD_FACTS } from '../virtual-bench/front-end.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';

export type CalibrateRequest = {
  readonly known: KnownResistor;
  /** The tester that is meant; chosen when left out. */
  readonly tester?: string;
  /** Rehearse on a simulated tester that has the resistor on its clips. */
  readonly twin?: { readonly kind: TwinKind; readonly seed: number };
};

/** Nothing but the resistor on clips 1 and 2. */
export function resistorOnClips(ohm: number): Pickup {
  return {
    format: 'pickup/1', temperature_C: 22, coils: [], couplings: [], touches: [], magnet_readings: false,
    leads: [{ clip: 1, colour: 'BN', node: 'one' }, { clip: 2, colour: 'GY', node: 'other' }],
    faults: [{ kind: 'bridge', a: 'one', b: 'other', ohm }],
    interference: { hum_Hz: 50, hum_V: 0.003, noise_V: 0.0002 },
  };
}

/** @throws UserError when there is no tester, or what it reads cannot be the resistor */
export async function calibrate({ known, tester, twin }: CalibrateRequest): Promise<ExitCode> {
  try {
    const transport = twin === undefined
      ? await realTester(tester)
      : await makeTwin(twin.kind, { pickup: resistorOnClips(known.ohm), seed: twin.seed, automatic: false });
    await calibrateOver(transport, known);
  } catch (error) {
    if (error instanceof TransportError) throw new UserError(`tapstone calibrate: ${error.message}`, EXIT.unavailable);
    throw error;
  }
  if (twin) await writeOut('This was a simulated tester, which forgets it now.\n');
  return EXIT.done;
}

async function realTester(wanted: string | undefined): Promise<Transport> {
  const driver = await loadDriver();
  const tester = chooseTester(await findTesters(driver), wanted, undefined);
  if (!tester) throw new TransportError('no tester is plugged in; plug one in, or rehearse with --twin board');
  const obstacle = await openObstacle(tester.serial, tester.path);
  if (obstacle) throw new TransportError(obstacle);
  return new HidTransport(driver, tester);
}

async function calibrateOver(transport: Transport, known: KnownResistor): Promise<void> {
  const interview = new Interview(transport);
  try {
    await interview.open();
    const identity = await interview.identify();
    const obstacle = identityObstacle(transport.serial, identity, logicModule().sha256);
    if (obstacle) throw new TransportError(obstacle);
    await writeOut(`Reads the resistor on clips 1 and 2 of ${transport.serial}; leave it alone for half a minute.\n`);
    const readings = await readKnown(interview);
    const date = Number(timeOfDay().slice(0, 10).replaceAll('-', ''));
    const outcome = scaleFrom(readings, known, await interview.calibration(), BOARD_FACTS, date);
    const refused = refusal(outcome, known);
    if (outcome.kind !== 'found' || refused !== null) throw new UserError(`tapstone calibrate: ${refused}; nothing was written`, EXIT.badContent);
    if (!(await interview.store(outcome.page))) {
      throw new TransportError(`tester ${transport.serial} did not take its new calibration, the one before is in use; try again`);
    }
    await writeOut(told(outcome, known));
  } finally {
    await interview.end();
  }
}

const ppm = (share: number): string => `${share < 0 ? '-' : '+'}${Math.abs(share * 1e6).toFixed(0)} ppm`;

/** What must be mended first, or null. */
function refusal(outcome: ScaleOutcome, known: KnownResistor): string | null {
  switch (outcome.kind) {
    case 'found': return null;
    case 'open': return 'nothing is connected between clips 1 and 2; clip the resistor there and nothing else';
    case 'scattered':
      return `the readings differ by ${(outcome.scatter * 1e6).toFixed(0)} ppm, expected 55 at most; clean the clips, let the resistor cool and try again`;
    case 'implausible':
      return `${outcome.read.ohm.toFixed(2)} ohms are on clips 1 and 2 and ${known.ohm} were typed, ` +
        `which would put the tester's reference ${(outcome.off * 100).toFixed(2)} % off, expected 0.1 at most; check the value and what else is clipped on`;
  }
}

function told(outcome: ScaleOutcome & { readonly kind: 'found' }, known: KnownResistor): string {
  return [
    `read    ${outcome.read.ohm.toFixed(3)} ohms where ${known.ohm} are: the scale moves by ${ppm(outcome.change)}`,
    `now     reference ${outcome.reference_ohm.toFixed(3)} ohms, u ${(outcome.reference_u * 1e6).toFixed(0)} ppm; written and in use`, '',
  ].join('\n');
}
