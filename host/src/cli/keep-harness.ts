/** A harness written under a name that no file has yet, with the wire maps that it names beside it. */
import { basename, join } from 'node:path';
import { FileProblem, isThere, writeWhole } from '../edge/files.ts';
import type { FittingModel } from '../fitting/fitting-model.ts';
import { turnedWords } from '../fitting/turned-magnet.ts';
import { printable } from '../text/printable.ts';

/** How the name of a harness ends. */
export const ENDING = '.harness.json';

/** Names for a harness and the wire maps beside it that no file has yet. @param slots - whose pickups need a map */
async function freeNames(folder: string, shown: string, slots: readonly string[]): Promise<{ path: string; maps: Map<string, string> }> {
  const named = basename(shown).replace(ENDING, '');
  for (let n = 1; ; n += 1) {
    const stem = join(folder, n === 1 ? named : `${named}-${n}`);
    const path = `${stem}${ENDING}`;
    // The place in the list keeps slots apart whose names differ only in what a file's name cannot hold.
    const maps = new Map(slots.map((slot, at) => [slot, `${stem}-${at + 1}-${slot.replace(/[^\p{L}\p{N}._-]+/gu, '_')}.wiremap.json`]));
    const taken = await Promise.all([path, ...maps.values()].map(isThere));
    if (!taken.includes(true)) return { path, maps };
  }
}

/** Writes a harness under a name that is free, the wire maps of pickups in stock beside it. @returns what the person is told */
export async function savedIn(model: FittingModel, folder: string): Promise<string> {
  const { turned, loaded: { harness: { slots } } } = model.result();
  const { path, maps: names } = await freeNames(folder, model.shown, slots.map(({ slot }) => slot));
  const { harness, maps } = model.asFiles(path, (slot) => names.get(slot)!);
  try {
    for (const map of maps) await writeWhole(map.path, `${JSON.stringify(map.map, null, 2)}\n`);
    await writeWhole(path, `${JSON.stringify(harness, null, 2)}\n`);
  } catch (error) {
    if (error instanceof FileProblem) return `Not written: ${printable(error.path)} cannot be written (${printable(error.code, 60)}).`;
    throw error;
  }
  model.isKept();
  const beside = maps.length === 0 ? '' : ` and, beside it, the wire map${maps.length === 1 ? '' : 's'} of ${maps.length === 1 ? 'a pickup' : `${maps.length} pickups`} in stock`;
  return `Written: ${printable(path)}${beside}.${turnedWords(turned)}`;
}
