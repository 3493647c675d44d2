/** Papers of pickups in stock, made when they are wanted: what draws them is large and loaded then. */
import { labelsOnA4, sizeInWords, type LabelSize } from '../papers/label-size.ts';
import type { KeptTest, TestedPickup } from '../papers/tested-pickup.ts';
import { printable } from '../text/printable.ts';

/** A pickup whose test speaks for it. */
type Whole = TestedPickup & { readonly test: KeptTest };

/** What can be made of one pickup. */
export type Paper = 'label' | 'sheet' | 'listing' | 'markdown';

const ENDINGS: Readonly<Record<Paper, string>> = { label: '-label.pdf', sheet: '-sheet.pdf', listing: '-offer.txt', markdown: '-offer.md' };

/** Name of the file of a paper; letters that mean something else in a path are left out. */
export function paperName(number: string, paper: Paper): string {
  return `${number.replace(/[^\p{L}\p{N}._-]+/gu, '_').replace(/^[.-]+/, '_')}${ENDINGS[paper]}`;
}

/** A paper that cannot be made of this pickup; the message is the whole sentence. */
export class PaperFault extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'PaperFault';
  }
}

/** @throws PaperFault */
export async function labelOf(pickup: TestedPickup, size: LabelSize): Promise<Uint8Array> {
  return labels([pickup], size, false);
}

/** Labels of many pickups on pages of A4. @throws PaperFault */
export async function labelsOf(pickups: readonly TestedPickup[], size: LabelSize): Promise<Uint8Array> {
  return labels(pickups, size, true);
}

async function labels(pickups: readonly TestedPickup[], size: LabelSize, isOnA4: boolean): Promise<Uint8Array> {
  const [{ pdfOfPages }, { labelPages, labelsOnPages }, { LabelTooSmall }] = await Promise.all([
    import('../drawing/pdf.ts'), import('../papers/label-pages.ts'), import('../papers/label.ts')]);
  if (isOnA4 && labelsOnA4(size).includes(0)) throw new PaperFault(`a label of ${sizeInWords(size)} mm does not lie on A4; set another size`);
  try {
    const pages = isOnA4 ? labelsOnPages(pickups, size, 0) : labelPages(pickups, size);
    return await pdfOfPages(pickups.length === 1 ? `label ${pickups[0]!.number}` : `${pickups.length} labels`, pages);
  } catch (error) {
    if (!(error instanceof LabelTooSmall)) throw error;
    throw new PaperFault(`${printable(error.message)} of ${sizeInWords(size)} mm; set a larger size`);
  }
}

export async function sheetOf(pickup: Whole): Promise<Uint8Array> {
  const [{ pdfOf }, { testedSheet }] = await Promise.all([import('../drawing/pdf.ts'), import('../papers/sheet.ts')]);
  return pdfOf(testedSheet(pickup));
}

export async function listingOf(pickup: Whole, isMarkdown: boolean): Promise<string> {
  const { listingText, TEMPLATE } = await import('../papers/listing.ts');
  return listingText(pickup, isMarkdown, isMarkdown ? TEMPLATE.markdown : TEMPLATE.plain);
}
