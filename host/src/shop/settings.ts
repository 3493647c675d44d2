/** What the shop has settled once for this computer, in one file that a person may write as well. */
import { describe, FieldWalk } from '../files/field-walk.ts';
import { LABEL, readLabelSize, SIZE_EXPECTED, sizeInWords, type LabelSize } from '../papers/label-size.ts';
import { printable } from '../text/printable.ts';

export const SETTINGS_FORMAT = 'settings/1';
/** Name of the file in the folder of the program's configuration. */
export const SETTINGS_FILE = 'settings.json';
const TEXT_MOST = 200;

export interface Settings {
  /** Of labels, when nobody asks for another. */
  readonly label: LabelSize;
  /** Name of the printer; '' for the one that the system prefers. */
  readonly printer: string;
  /** Folder for papers that are written to files; '' for the one in which the program was started. */
  readonly papers: string;
  /** Folder in which harnesses are looked for; '' for the one in which the program was started. */
  readonly harnesses: string;
  /** False switches colours off, as NO_COLOR does. */
  readonly colour: boolean;
}

export const DEFAULT_SETTINGS: Settings = { label: LABEL, printer: '', papers: '', harnesses: '', colour: true };

const FIELDS = new Set(['format', 'label', 'printer', 'papers', 'harnesses', 'colour']);

/** What is wrong with a name of a printer or a folder, or null. */
export function textFault(text: string): string | null {
  if (text.length <= TEXT_MOST && printable(text) === text && text.trim() === text) return null;
  return `expected a name of at most ${TEXT_MOST} visible characters, or nothing`;
}

/** The settings that a parsed document holds. @throws FieldError */
export function asSettings(document: unknown): { readonly settings: Settings; readonly warnings: readonly string[] } {
  const walk = new FieldWalk();
  const fields = walk.document(document, FIELDS, `settings, an object with "format": "${SETTINGS_FORMAT}"`);
  if (fields.format !== SETTINGS_FORMAT) walk.refuseAt('format', describe(fields.format), `"${SETTINGS_FORMAT}"`);
  const text = (key: 'printer' | 'papers' | 'harnesses'): string => {
    const value = fields[key] ?? '';
    if (typeof value !== 'string' || textFault(value) !== null)
      walk.refuseAt(key, describe(value), `a name of at most ${TEXT_MOST} visible characters`);
    return value as string;
  };
  const size = fields.label === undefined ? LABEL : typeof fields.label === 'string' ? readLabelSize(fields.label) : null;
  if (size === null) walk.refuseAt('label', describe(fields.label), SIZE_EXPECTED);
  const colour = fields.colour ?? true;
  if (typeof colour !== 'boolean') walk.refuseAt('colour', describe(colour), 'true or false');
  return {
    settings: { label: size as LabelSize, printer: text('printer'), papers: text('papers'), harnesses: text('harnesses'), colour: colour as boolean },
    warnings: walk.warnings,
  };
}

/** The document of some settings. @param older - the one that they replace, of which fields that nobody knows stay */
export function settingsDocument({ label, printer, papers, harnesses, colour }: Settings, older: object): string {
  const fields = { ...older, format: SETTINGS_FORMAT, label: sizeInWords(label), printer, papers, harnesses, colour };
  return `${JSON.stringify(fields, null, 2)}\n`;
}
