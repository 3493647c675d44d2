/** `tapstone flash FILE.uf2`: puts the firmware onto a board and asks the board whether it has it. */
import { basename } from 'node:path';
import { pause } from '../edge/clock.ts';
import { writeError, writeOut } from '../edge/environment.ts';
import { readAtMost } from '../edge/files.ts';
import { printable } from '../text/printable.ts';
import { findTesters } from '../transport/discovery.ts';
import type { FoundTester } from '../transport/discovery.ts';
import { loadDriver, messageOf } from '../transport/driver.ts';
import { HidTransport } from '../transport/hid.ts';
import { Interview } from '../transport/interview.ts';
import type { Identity } from '../transport/reports.ts';
import { bootDrives, copyOnto, isBootDrive, unmountedDrive } from './boot-drive.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { readUf2, UF2_MOST_bytes } from './uf2.ts';

/** The computer and the board in front of it; tests hand in their own. */
export interface FlashBench {
  drives(): Promise<string[]>;
  isDrive(folder: string): Promise<boolean>;
  unmounted(): string | null;
  copy(drive: string, name: string, bytes: Uint8Array): Promise<void>;
  testers(): Promise<readonly FoundTester[]>;
  identify(tester: FoundTester): Promise<Identity>;
  /** Between two looks. */
  wait(): Promise<void>;
  tell(text: string): Promise<void>;
}

/** Looks at the drive and at the bus before giving up; half a second lies between two. */
const LOOKS = 60;

export const HOW_TO_BOOT =
  'hold the board\'s BOOT button down while you plug its USB cable in, then let go: a drive with the file INFO_UF2.TXT appears';

/**
 * Writes a firmware file to the board whose boot drive is there.
 * @param drive - folder of the boot drive, when the user named one
 * @throws UserError when the file is refused, there is no board, or the board did not take it
 */
export async function flashBoard(bench: FlashBench, name: string, file: Uint8Array, drive?: string): Promise<void> {
  const { image } = readUf2(name, file);
  const folder = drive ?? (await theDrive(bench));
  if (!(await bench.isDrive(folder))) {
    throw new UserError(
      `${printable(folder)}: is not the boot drive of an RP2040 board; expected a folder that holds its INFO_UF2.TXT: ${HOW_TO_BOOT}`,
      EXIT.unavailable,
    );
  }
  // Where the bus cannot be read nothing is lost yet: the copy itself needs no driver.
  const before = await bench.testers().catch(() => []);
  await bench.tell(`writing ${file.length} bytes to ${printable(folder)}\n`);
  try {
    await bench.copy(folder, basename(name), file);
  } catch (error) {
    throw new UserError(
      `${printable(folder)}: cannot be written (${printable(messageOf(error), 120)}); unplug the board and start again: ${HOW_TO_BOOT}`,
      EXIT.cannotWrite,
    );
  }
  if (!(await comesTrue(bench, async () => !(await bench.isDrive(folder))))) {
    throw new UserError(
      `${printable(folder)}: the board has not restarted, so it did not take the file; unplug it and start again: ${HOW_TO_BOOT}`,
      EXIT.unavailable,
    );
  }
  await bench.tell('the board has taken the file and restarts\n');
  await verify(bench, image, before);
}

async function theDrive(bench: FlashBench): Promise<string> {
  const drives = await bench.drives();
  if (drives.length === 1) return drives[0];
  if (drives.length > 1) {
    const names = drives.map((name) => printable(name)).join(', ');
    throw new UserError(`${drives.length} boards wait for firmware: ${names}; choose one with --drive ${printable(drives[0])}`, EXIT.unavailable);
  }
  const device = bench.unmounted();
  if (device) {
    throw new UserError(
      `a board waits at ${device}, but its drive is not mounted: sudo mount ${device} /mnt, then the same command with --drive /mnt`,
      EXIT.unavailable,
    );
  }
  throw new UserError(`no board waits for firmware: ${HOW_TO_BOOT}`, EXIT.unavailable);
}

/** The board itself says which logic it runs; the file must hold the same SHA-256. */
async function verify(bench: FlashBench, image: Uint8Array, before: readonly FoundTester[]): Promise<void> {
  const known = new Set(before.map(({ path, serial }) => `${path} ${serial}`));
  let fresh: FoundTester | undefined;
  let reason = 'it has not come back as a tester; unplug it, plug it in again and run tapstone check';
  const came = await comesTrue(bench, async () => {
    const now = await bench.testers().catch((error) => {
      reason = messageOf(error);
      return [];
    });
    fresh = now.find(({ path, serial }) => !known.has(`${path} ${serial}`));
    return fresh !== undefined;
  });
  if (!came || !fresh) throw unverified(reason);
  const identity = await bench.identify(fresh).catch((error) => {
    throw unverified(messageOf(error));
  });
  if (!Buffer.from(image).includes(Buffer.from(identity.moduleHash, 'hex'))) {
    throw unverified(`tester ${fresh.serial} says that it runs the logic sha256 ${identity.moduleHash.slice(0, 8)}, which is not in this file`);
  }
  await bench.tell(`tester ${fresh.serial} runs firmware ${identity.firmware}, as in the file\n`);
}

function unverified(reason: string): UserError {
  return new UserError(`the firmware was written, but not verified: ${reason}`, EXIT.unavailable);
}

async function comesTrue(bench: FlashBench, probe: () => Promise<boolean>): Promise<boolean> {
  for (let look = 0; look < LOOKS; look += 1) {
    if (await probe()) return true;
    await bench.wait();
  }
  return false;
}

function thisBench(): FlashBench {
  return {
    drives: () => bootDrives(),
    isDrive: isBootDrive,
    unmounted: unmountedDrive,
    copy: copyOnto,
    testers: async () => (await findTesters(await loadDriver())).testers,
    async identify(tester) {
      const interview = new Interview(new HidTransport(await loadDriver(), tester));
      try {
        await interview.open();
        return await interview.identify();
      } finally {
        await interview.end();
      }
    },
    wait: () => pause(500),
    tell: writeError,
  };
}

/**
 * The command.
 * @param path - of the `.uf2` file
 * @param drive - folder of the boot drive, when the user named one
 * @returns 0 when the board runs what is in the file
 * @throws UserError, FileProblem
 */
export async function flash(path: string, drive?: string): Promise<ExitCode> {
  const file = await readAtMost(path, UF2_MOST_bytes);
  if (file === null) {
    throw new UserError(
      `${printable(path)}: more than ${UF2_MOST_bytes >> 20} MiB; expected a UF2 file of the firmware, which is smaller`,
      EXIT.badContent,
    );
  }
  await flashBoard(thisBench(), path, file, drive);
  await writeOut('done\n');
  return EXIT.done;
}
