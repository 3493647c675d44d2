/** `tapstone check`: is this computer ready for a tester, and is the tester well? */
import { readFile, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { converterFaultWords } from '../evidence/sentences.ts';
import { printable } from '../text/printable.ts';
import { dateNumber, dateOfDay, dayOf, readCalibrationPage, type CalibrationStep } from '../logic/calibration-page.ts';
import { CALIBRATION_holds_days, Check } from '../logic/layout.generated.ts';
import { logicModule } from '../logic/module.ts';
import { chooseTester, findTesters } from '../transport/discovery.ts';
import type { FoundTester } from '../transport/discovery.ts';
import { loadDriver, messageOf } from '../transport/driver.ts';
import type { HidDriver } from '../transport/driver.ts';
import { HidTransport, openObstacle } from '../transport/hid.ts';
import { idHex, PRODUCT_IDS, VENDOR_ID } from '../transport/identity.ts';
import { Interview } from '../transport/interview.ts';
import type { Patience, SelfTestLine } from '../transport/interview.ts';
import { identityObstacle } from '../transport/judge.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';

/** One thing that was looked at: `open` when an earlier line has to be mended first. */
export type CheckLine = {
  readonly what: string;
  readonly state: 'right' | 'wrong' | 'open';
  readonly said: string;
};

/** What a check needs to know of the computer; tests hand in their own. */
export interface Pc {
  readonly platform: string;
  readonly moduleHash: string;
  load(): Promise<HidDriver>;
  /** Contents of the udev rules in force. */
  rules(): Promise<readonly string[]>;
  /** True when this user may open any device (root). */
  readonly mayAll: boolean;
  /** The time of day, as a record has it; the clock's own when left out. */
  readonly today?: string;
  /** How long a tester may take; the product's own limits when left out. */
  readonly patience?: Patience;
}

/** What is asked of an open tester, in this order. */
const ASKED = ['firmware', 'calibration', 'board'] as const;
/** Seen from here and from the bundle alike. */
const RULE_FILE = new URL('../../udev/70-tapstone.rules', import.meta.url);
const RULE_FOLDERS = ['/etc/udev/rules.d', '/run/udev/rules.d', '/usr/lib/udev/rules.d', '/lib/udev/rules.d'];

/** Looks at everything that stands between this program and a tester, in the order in which it is needed. */
export async function checkPc(pc: Pc, wanted?: string): Promise<CheckLine[]> {
  const lines: CheckLine[] = [];
  const add = (what: string, state: CheckLine['state'], said: string): void => {
    lines.push({ what, state, said });
  };
  const driver = await pc.load().catch((error) => {
    add('driver', 'wrong', messageOf(error));
    return null;
  });
  if (driver) add('driver', 'right', `node-hid loads (hidapi ${driver.version})`);
  lines.push(await ruleLine(pc));
  const tester = driver ? await testerLine(driver, wanted, add) : null;
  if (!driver) add('tester', 'open', 'cannot be looked for without the driver');
  if (!driver || !tester) {
    for (const what of ['permission', ...ASKED]) add(what, 'open', 'no tester to ask');
    return lines;
  }
  const obstacle = await openObstacle(tester.serial, tester.path);
  if (obstacle) {
    add('permission', 'wrong', `${obstacle}${mendPermission(pc, obstacle)}`);
    for (const what of ASKED) add(what, 'open', 'the tester is not open');
    return lines;
  }
  await talk(new Interview(new HidTransport(driver, tester), pc.patience), tester, pc, add);
  return lines;
}

type Add = (what: string, state: CheckLine['state'], said: string) => void;

async function ruleLine(pc: Pc): Promise<CheckLine> {
  const what = 'udev rule';
  if (pc.platform === 'win32') {
    return { what, state: 'right', said: 'not needed: Windows has a driver for such devices and lets every user open them' };
  }
  if (pc.platform === 'darwin') {
    return { what, state: 'right', said: 'not needed: macOS has a driver for such devices and lets every user open them' };
  }
  const isFor = (line: string, productId: number): boolean =>
    line.includes(`ATTRS{idVendor}=="${idHex(VENDOR_ID)}"`) && line.includes(`ATTRS{idProduct}=="${idHex(productId)}"`);
  const rules = (await pc.rules()).flatMap((text) => text.split('\n')).filter((line) => !line.trim().startsWith('#'));
  if ([...PRODUCT_IDS].every((productId) => rules.some((line) => isFor(line, productId)))) {
    return { what, state: 'right', said: 'is in place' };
  }
  const mend = `sudo cp ${fileURLToPath(RULE_FILE)} /etc/udev/rules.d/ && sudo udevadm control --reload && sudo udevadm trigger --subsystem-match=hidraw`;
  if (pc.mayAll) return { what, state: 'right', said: `is missing, which root does not mind; for other users: ${mend}` };
  return { what, state: 'wrong', said: `is missing: ${mend}; then plug the tester in again` };
}

async function testerLine(driver: HidDriver, wanted: string | undefined, add: Add): Promise<FoundTester | null> {
  try {
    const found = await findTesters(driver);
    for (const sentence of found.foreign) add('other device', 'right', sentence);
    const tester = chooseTester(found, wanted, undefined);
    if (tester) add('tester', 'right', `${tester.serial} is plugged in`);
    else {
      add(
        'tester',
        'wrong',
        'none is plugged in: plug it in by a cable that carries data, not only power; a new board first needs its firmware (tapstone flash)',
      );
    }
    return tester;
  } catch (error) {
    add('tester', 'wrong', messageOf(error));
    return null;
  }
}

function mendPermission(pc: Pc, obstacle: string): string {
  if (!obstacle.includes('may not be opened') || pc.platform !== 'linux') return '';
  return ' (here: put the udev rule in place and plug the tester in again; over a remote login your user must be in the group plugdev)';
}

async function talk(interview: Interview, tester: FoundTester, pc: Pc, add: Add): Promise<void> {
  const ahead = ['permission', ...ASKED];
  const next = (state: CheckLine['state'], said: string): void => add(ahead.shift() as string, state, said);
  try {
    await interview.open();
    next('right', `${tester.serial} opens`);
    const identity = await interview.identify();
    const obstacle = identityObstacle(tester.serial, identity, pc.moduleHash);
    if (obstacle) {
      next('wrong', obstacle);
      while (ahead.length) next('open', 'the firmware has to fit first');
      return;
    }
    next('right', `${identity.firmware}, with this program's measuring logic`);
    next(...calibrationLine(await interview.calibration(), pc.today ?? timeOfDay()));
    boardLines(await interview.selfTest(), add);
  } catch (error) {
    next('wrong', printable(messageOf(error), 400));
    while (ahead.length) next('open', 'the tester did not answer');
  } finally {
    await interview.end();
  }
}

/** The steps of a calibration, as they are told and as they are asked for. */
const STEP_WORDS = [['ohm', 'ohms', 'resistor'], ['zero', 'leads', 'short'], ['fixture', 'clips', 'open'], ['codes', 'codes', 'ramp']] as const;

/** What of its calibration a tester has in use. @param today - as `timeOfDay` says it */
function calibrationLine(page: Uint8Array, today: string): [CheckLine['state'], string] {
  const calibration = readCalibrationPage(page);
  if (calibration === null) {
    return ['wrong', 'none is in use, its figures rest on the nominal values of its parts: give it one with tapstone calibrate'];
  }
  const { head, values: { days } } = calibration;
  const told = STEP_WORDS.map(([step, word]) => `${word} ${days[step] === 0 ? 'never' : `of ${dateOfDay(days[step])}`}`).join(', ');
  const now = dayOf(dateNumber(today));
  const isDue = (step: CalibrationStep): boolean => days[step] === 0 || now > days[step] + CALIBRATION_holds_days;
  const due = STEP_WORDS.filter(([step]) => isDue(step));
  const mend = due.length === 0 ? '' : due.length === STEP_WORDS.length ? '; tapstone calibrate gives it new ones'
    : `; tapstone calibrate --step ${due[0]![2]} gives it new ${due[0]![1]}${due.length > 1 ? ', and so on' : ''}`;
  const old = due.some(([step]) => days[step] !== 0) ? ' (more than a year is old)' : '';
  return [isDue('ohm') ? 'wrong' : 'right', `number ${head.writes}: ${told}${old}${mend}`];
}

const CHECKED: ReadonlyMap<number, readonly [name: string, unit: string]> = new Map([
  [Check.railPositive, ['the positive rail', 'V']],
  [Check.railNegative, ['the negative rail', 'V']],
  [Check.converterZero, ['the converter\'s zero', 'V']],
  [Check.openInput, ['the open input', 'V']],
  [Check.reference, ['the reference resistor\'s voltage', 'V']],
  [Check.temperature, ['the board\'s temperature', 'C']],
  [Check.fixture, ['the capacitance of an open clip', 'F']],
]);

function boardLines(lines: readonly SelfTestLine[], add: Add): void {
  const faults = lines.filter(({ passed }) => !passed);
  if (faults.length === 0) add('board', 'right', `its self-test passed (${lines.length} checks)`);
  for (const { check, fault, measured, expected } of faults) {
    if (check === Check.none) {
      add('board', 'wrong', `the converter does not answer${converterFaultWords(fault)}: the board is faulty, or its analog supply does not come up`);
      continue;
    }
    const [name, unit] = CHECKED.get(check) ?? [`check ${check}`, ''];
    const figures = `${figure(measured)} ${unit}, expected ${figure(expected)} ${unit}`;
    add('board', 'wrong', `${name} is ${figures}: take the clips off and check again; if it stays so, the board is faulty`);
  }
}

function figure(value: number): string {
  return String(Number(value.toPrecision(4)));
}

/** The lines as a person reads them; what is wrong is said by a word, not by colour. */
export function checkText(lines: readonly CheckLine[]): string {
  const width = Math.max(...lines.map(({ what }) => what.length));
  const mark = { right: 'right', wrong: 'WRONG', open: 'open ' };
  const rows = lines.map(({ what, state, said }) => `${what.padEnd(width)}  ${mark[state]}  ${said}`);
  const wrong = lines.filter(({ state }) => state === 'wrong').length;
  const last = wrong === 0 ? 'Everything is right.' : `${wrong} to mend; the virtual bench works without a tester all the same.`;
  return `${[...rows, last].join('\n')}\n`;
}

/** This computer. */
export function thisPc(): Pc {
  return {
    platform: process.platform,
    moduleHash: logicModule().sha256,
    load: () => loadDriver(),
    rules: installedRules,
    mayAll: process.getuid?.() === 0,
  };
}

async function installedRules(): Promise<string[]> {
  const texts: string[] = [];
  for (const folder of RULE_FOLDERS) {
    const names = await readdir(folder).catch(() => []);
    for (const name of names.filter((entry) => entry.endsWith('.rules'))) {
      texts.push(await readFile(join(folder, name), 'utf8').catch(() => ''));
    }
  }
  return texts;
}

/**
 * The command.
 * @param wanted - serial number of the tester that is meant, when the user named one
 * @returns 0 when everything is right, 69 otherwise
 */
export async function check(wanted?: string): Promise<ExitCode> {
  const lines = await checkPc(thisPc(), wanted);
  await writeOut(checkText(lines));
  return lines.some(({ state }) => state === 'wrong') ? EXIT.unavailable : EXIT.done;
}
