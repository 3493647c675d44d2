/** `tapstone draw`: a picture to solder from, as SVG or PDF. */
import { harnessSheet, NothingToDraw, pickupSheet } from '../drawing/sheet.ts';
import { LetterMissing, pdfOf } from '../drawing/pdf.ts';
import type { Scene } from '../drawing/scene.ts';
import { svgOf } from '../drawing/svg.ts';
import { writeWhole, isSameFile } from '../edge/files.ts';
import { writeOut } from '../edge/environment.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import { FieldError } from '../files/field-walk.ts';
import { ContentProblem, oneDocument } from '../files/one-document.ts';
import { asWireMap, filledMap } from '../files/wiremap-file.ts';
import { printable } from '../text/printable.ts';
import { asHarness } from '../harness/harness-file.ts';
import { mapWithColours, solveRecord, withPickups } from '../harness/load-harness.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { oneOperand, withHarnessFile } from './read-harness.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: '--out', value: 'SHEET.svg' }];

export const DRAW_HELP = `Usage: tapstone draw FILE.harness.json --out SHEET.svg|SHEET.pdf
       tapstone draw FILE.wiremap.json|FILE.bench.json --out SHEET.svg|SHEET.pdf

  tapstone draw two.harness.json --out two.svg      the harness with its pickups, to solder from
  tapstone draw two.harness.json --out two.pdf      the same on pages of A4
  tapstone draw front.wiremap.json --out front.svg  one pickup, each way of wiring it, numbered as in its map
  tapstone draw two.harness.json                    SVG on standard output

Leads are drawn in their colours and bear the code letters of IEC 60757; the joints are numbered in the
order of the soldering list; what a switch connects stands in a table.

  --out FILE  where the picture goes; its name ends in .svg or .pdf
  -h, --help  print this
`;

/** Runs the command.
 * @param args - after the word `draw`
 */
export async function drawCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone draw', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(DRAW_HELP);
    return EXIT.done;
  }
  const out = options.get('--out') as string | undefined;
  const isPdf = out !== undefined && /\.pdf$/i.test(out);
  if (out !== undefined && !isPdf && !/\.svg$/i.test(out)) {
    throw new UserError(`tapstone draw: --out ${printable(out)} tells no kind of picture; expected a name that ends in .svg or .pdf`, EXIT.usage);
  }
  const path = oneOperand('tapstone draw', operands);
  if (out !== undefined && (await isSameFile(path, out)))
    throw new UserError(`tapstone draw: --out ${printable(out)} is the file that is drawn; name another`, EXIT.usage);
  const scene = await sceneOf(path);
  if (isPdf) await writeWhole(out as string, await pdfFile(scene, path));
  else {
    const svg = svgOf(scene);
    if (out === undefined) await writeOut(svg);
    else await writeWhole(out, svg);
  }
  return EXIT.done;
}

async function pdfFile(scene: Scene, path: string): Promise<Uint8Array> {
  try {
    return await pdfOf(scene);
  } catch (error) {
    if (error instanceof LetterMissing) throw new UserError(`${printable(path)}: ${printable(error.message)}`, EXIT.badContent);
    throw error;
  }
}

/** What is drawn: a harness, or by their formats the pickup of a wire map or of a bench record. */
function sceneOf(path: string): Promise<Scene> {
  return withHarnessFile(path, async () => {
    const draw = await oneDocument(path, (document): (() => Scene | Promise<Scene>) => {
      // A pickup is called by its file's name, which standard input has not: there it is a harness.
      const format = path === '-' ? undefined : (document as { format?: unknown } | null)?.format;
      if (format === 'wiremap/1' || format === 'bench/1') {
        const { map, colours } = format === 'wiremap/1' ? mapWithColours(asWireMap(document)) : solveRecord(asBenchRecord(document), path);
        return () => pickupSheet(nameOf(path), { map: filledMap(map), colours });
      }
      const harness = asHarness(document);
      return async () => harnessSheet(await withPickups(harness, path));
    });
    try {
      return await draw();
    } catch (error) {
      if (error instanceof NothingToDraw || error instanceof FieldError) throw new ContentProblem(path, error.message);
      throw error;
    }
  });
}

/** What a file calls a pickup: its name without folder and endings. */
function nameOf(path: string): string {
  const name = path.split(/[\\/]/).at(-1)!.replace(/\.(wiremap|bench)\.json$|\.json$/, '');
  return printable(name, 80);
}
