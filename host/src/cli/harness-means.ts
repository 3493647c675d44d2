/** The harnesses that the harness screen lists, and how one is opened with pickups of the stock. Loaded when one is wanted. */
import { fileURLToPath } from 'node:url';
import { startFolder } from '../edge/environment.ts';
import { FileProblem, filesIn, isThere, writeWhole } from '../edge/files.ts';
import { basename, join } from 'node:path';
import { folderOf } from '../edge/folders.ts';
import type { FittingModel } from '../fitting/fitting-model.ts';
import { turnedWords } from '../fitting/turned-magnet.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import type { Desk } from '../shop/desk.ts';
import type { HarnessFile, HarnessMeans } from '../shop/harness-list.ts';
import type { Settings } from '../shop/settings.ts';
import { printable } from '../text/printable.ts';

const ENDING = '.harness.json';
/** To start from; they come with the program. */
const EXAMPLES = fileURLToPath(new URL('../../../hardware-notes/examples/harness', import.meta.url));

async function listed(folder: string, words: string): Promise<HarnessFile[]> {
  return (await filesIn(folder, ENDING)).map((name) => ({ path: `${folder}/${name}`, name: `${name.slice(0, -ENDING.length)}${words}` }));
}

/** The folder of a shop's own harnesses. */
function ownFolder({ harnesses }: Settings): string {
  return harnesses === '' ? startFolder() : folderOf(harnesses);
}

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

async function saved(model: FittingModel, folder: string): Promise<string> {
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

export function harnessMeans(desk: Desk, settings: () => Settings): HarnessMeans {
  return {
    desk,
    async files() {
      const own = await listed(ownFolder(settings()), '');
      return [...own, ...await listed(EXAMPLES, '  (example)').catch(() => [])];
    },
    async open(path: string, pickups: readonly TestedPickup[]) {
      const [{ readHarnessOrPickup }, { withHarnessFile }, { FittingModel }] = await Promise.all([
        import('./harness.ts'), import('./read-harness.ts'), import('../fitting/fitting-model.ts')]);
      const read = await withHarnessFile(path, () => readHarnessOrPickup(path));
      if (!('loaded' in read)) throw new Error('a harness was read as a pickup');
      return new FittingModel([read], pickups.flatMap(({ number, test }) => (
        test === null ? [] : [{ name: `number ${printable(number, 60)}`, map: test.map, colours: test.colours }])));
    },
    save: (model) => saved(model, ownFolder(settings())),
  };
}
