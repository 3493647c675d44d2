/** Where a paper goes: into a file. */
import { writeWhole } from '../edge/files.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import type { OptionSpec, Parsed } from './options.ts';

export const PAPER_OPTIONS: readonly OptionSpec[] = [{ name: '--out', value: 'FILE.pdf' }];

export const PAPER_HELP = '  --out FILE   where the PDF goes; its name ends in .pdf\n';

/** Who takes the paper; asked before it is made. @throws UserError */
export function paperOut(command: string, { options }: Parsed): (pdf: Uint8Array) => Promise<void> {
  const out = options.get('--out') as string | undefined;
  if (out === undefined) throw new UserError(`${command}: nobody said where the PDF goes; expected --out FILE.pdf`, EXIT.usage);
  if (!/\.pdf$/i.test(out)) throw new UserError(`${command}: --out ${printable(out, 60)} is no name of a PDF; expected one that ends in .pdf`, EXIT.usage);
  return (pdf) => writeWhole(out, pdf);
}
