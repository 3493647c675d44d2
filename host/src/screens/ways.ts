/** Where one can go from the bench, and by which key. */
import type { KeyHint } from '../bench/view.ts';

export type Way = 'new lot' | 'lot' | 'stock' | 'pickup' | 'entry' | 'harnesses' | 'settings';

/** In the order in which they are told. */
export const WAYS: readonly (KeyHint & { readonly way: Way })[] = [
  { key: 's', does: 'new lot', way: 'new lot' },
  { key: 'l', does: 'lot', way: 'lot' },
  { key: 'f', does: 'find in stock', way: 'stock' },
  { key: 'v', does: 'view pickup', way: 'pickup' },
  { key: 'm', does: 'by meters', way: 'entry' },
  { key: 'h', does: 'harness', way: 'harnesses' },
  { key: 'o', does: 'settings', way: 'settings' },
];
