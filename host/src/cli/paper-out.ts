/** Where a paper goes: into a file, to a printer, or both. */
import { writeWhole } from '../edge/files.ts';
import { printDocument, PrintProblem } from '../edge/printing.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import type { OptionSpec, Parsed } from './options.ts';

export const PAPER_OPTIONS: readonly OptionSpec[] = [
  { name: '--out', value: 'FILE.pdf' }, { name: '--print' }, { name: '--printer', value: 'NAME' },
];

export const PAPER_HELP = `  --out FILE      where the PDF goes; its name ends in .pdf
  --print         hand the PDF to the system's own printing command, lp or lpr, for the printer of the settings
  --printer NAME  the same, to this printer; its paper is set with the system's own means
`;

/** Who takes the paper; asked before it is made. @param usual - name of the printer of the settings, '' for the system's @throws UserError */
export function paperOut(command: string, { options }: Parsed, usual: string): (pdf: Uint8Array) => Promise<void> {
  const [out, printer] = ['--out', '--printer'].map((name) => options.get(name) as string | undefined);
  const isPrinted = options.has('--print') || printer !== undefined;
  if (out === undefined && !isPrinted)
    throw new UserError(`${command}: nobody said where the PDF goes; expected --out FILE.pdf or --print`, EXIT.usage);
  if (out !== undefined && !/\.pdf$/i.test(out))
    throw new UserError(`${command}: --out ${printable(out, 60)} is no name of a PDF; expected one that ends in .pdf`, EXIT.usage);
  return async (pdf) => {
    if (out !== undefined) await writeWhole(out, pdf);
    if (isPrinted) await print(command, pdf, printer ?? (usual === '' ? null : usual));
  };
}

async function print(command: string, pdf: Uint8Array, printer: string | null): Promise<void> {
  try {
    await printDocument(pdf, printer);
  } catch (error) {
    if (!(error instanceof PrintProblem)) throw error;
    throw new UserError(`${command}: ${printSentence(error, 'write --out FILE.pdf and print that')}`, error.command === null ? EXIT.unavailable : EXIT.cannotWrite);
  }
}

/** Why nothing was printed. @param instead - what to do where there is no printing command */
export function printSentence({ command, message }: PrintProblem, instead: string): string {
  return command === null
    ? `no printing command is on this computer (lp or lpr); ${instead}` : `not printed, ${command} says: ${printable(message, 200)}`;
}
