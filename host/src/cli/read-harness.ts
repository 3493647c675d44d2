/** Reads the harness that a command names. */
import { isSameFile } from '../edge/files.ts';
import { ContentProblem } from '../files/one-document.ts';
import { printable } from '../text/printable.ts';
import { loadHarness, MissingMap, type LoadedHarness } from '../harness/load-harness.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** The one file that stands on the command line.
 * @param command - for messages, such as `tapstone positions`
 * @throws UserError: 64 when there is not one
 */
export function oneOperand(command: string, operands: readonly string[]): string {
  const [path, second] = operands;
  if (path === undefined)
    throw new UserError(`${command}: no file is named; write ${command} FILE.harness.json`, EXIT.usage);
  if (second !== undefined)
    throw new UserError(`${command}: ${printable(second, 60)} is one file too many; expected one harness`, EXIT.usage);
  return path;
}

/** Refuses to write over what a command has read. @param option - of the command, which names the target @throws UserError: 64 */
export async function expectNotRead(command: string, option: string, target: string | undefined, read: readonly string[]): Promise<void> {
  if (target === undefined) return;
  for (const path of read) {
    if (await isSameFile(path, target))
      throw new UserError(`${command}: ${option} ${printable(target)} is one of the files that are read; name another file`, EXIT.usage);
  }
}

/** Does something with a harness's file, and tells the user what is wrong in it.
 * @throws UserError: 65 for its content or that of a map, 66 for a map that is not there
 */
export async function withHarnessFile<T>(path: string, read: () => Promise<T>): Promise<T> {
  try {
    return await read();
  } catch (error) {
    if (error instanceof ContentProblem) throw new UserError(`${printable(path)}: ${error.message}`, EXIT.badContent);
    if (error instanceof MissingMap) throw new UserError(`${printable(path)}: ${error.message}`, EXIT.noInput);
    throw error;
  }
}

/** The one harness that stands on the command line, with its pickups. @throws UserError as oneOperand and withHarnessFile */
export async function readHarness(command: string, operands: readonly string[]): Promise<LoadedHarness> {
  const path = oneOperand(command, operands);
  return withHarnessFile(path, () => loadHarness(path));
}
