/** The wire map of a test as it lies in the stock: whoever wrote to the file may have left anything there. */
import { FieldError } from '../files/field-walk.ts';
import { asWholeMap } from '../files/wiremap-file.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

/** @param text - of the map, as it was kept @returns the map, or why nobody can read it */
export function keptMap(text: string): { readonly map: WireMap } | { readonly damaged: string } {
  try {
    return { map: asWholeMap(JSON.parse(text)) };
  } catch (error) {
    if (error instanceof FieldError) return { damaged: `its map: ${error.message}` };
    if (error instanceof SyntaxError) return { damaged: 'its map cannot be read' };
    throw error;
  }
}
