/** The file of the settings: where it is, how it is read and written. */
import { join } from 'node:path';
import { configFolder, madeFolder } from '../edge/folders.ts';
import { FileProblem, readAtMost, writeWhole } from '../edge/files.ts';
import { FieldError } from '../files/field-walk.ts';
import { parseJson, SyntaxFault } from '../files/parse.ts';
import { asSettings, DEFAULT_SETTINGS, SETTINGS_FILE, settingsDocument, type Settings } from '../shop/settings.ts';
import { printable } from '../text/printable.ts';
import { fileSentence, UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

const FILE_most_bytes = 100_000;

export interface ReadSettings {
  readonly settings: Settings;
  /** What stood in the file, or an empty object. */
  readonly document: object;
  /** Why the file is not followed, or what of it is ignored, in one sentence; null when all is well. */
  readonly problem: string | null;
  /** The file cannot be read or is refused as a whole: nothing is written over it. */
  readonly isRefused: boolean;
}

export function settingsPath(): string {
  return join(configFolder(), SETTINGS_FILE);
}

/** Never fails: whoever has no settings, or wrong ones, works with ours. */
export async function readSettings(): Promise<ReadSettings> {
  const path = settingsPath();
  const refused = (why: string): ReadSettings =>
    ({ settings: DEFAULT_SETTINGS, document: {}, problem: `${printable(path)}: ${why}`, isRefused: true });
  try {
    const bytes = await readAtMost(path, FILE_most_bytes);
    if (bytes === null) return refused(`longer than ${FILE_most_bytes} bytes; expected settings`);
    const document = parseJson(bytes);
    const { settings, warnings: [warning] } = asSettings(document);
    return { settings, document: document as object, problem: warning === undefined ? null : `${printable(path)}: ${warning}`, isRefused: false };
  } catch (error) {
    if (error instanceof FieldError || error instanceof SyntaxFault) return refused(error.message);
    if (!(error instanceof FileProblem)) throw error;
    if (error.code === 'ENOENT' || error.code === 'ENOTDIR') return { settings: DEFAULT_SETTINGS, document: {}, problem: null, isRefused: false };
    return refused(fileSentence(error));
  }
}

/** For a command that would do something else without them. @param command - for messages @throws UserError */
export async function settingsOrRefuse(command: string): Promise<Settings> {
  const { settings, problem, isRefused } = await readSettings();
  if (isRefused) throw new UserError(`${command}: ${problem}`, EXIT.badContent);
  return settings;
}

/**
 * Writes them over those that were read.
 * @throws UserError when what stands there is refused: whoever wrote it mends it first; FileProblem
 */
export async function writeSettings(settings: Settings, { document, isRefused, problem }: ReadSettings): Promise<void> {
  if (isRefused) throw new UserError(`${problem}; mend or remove the file first, nothing is written over it`, EXIT.badContent);
  madeFolder(configFolder());
  await writeWhole(settingsPath(), settingsDocument(settings, document));
}
