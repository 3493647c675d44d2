/** The harnesses that the harness screen lists, and how one is opened with pickups of the stock. Loaded when one is wanted. */
import { fileURLToPath } from 'node:url';
import { startFolder } from '../edge/environment.ts';
import { filesIn } from '../edge/files.ts';
import { folderOf } from '../edge/folders.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import type { Desk } from '../shop/desk.ts';
import type { HarnessFile, HarnessMeans } from '../shop/harness-list.ts';
import type { Settings } from '../shop/settings.ts';
import { printable } from '../text/printable.ts';
import { ENDING, savedIn } from './keep-harness.ts';

/** To start from; they come with the program. */
const EXAMPLES = fileURLToPath(new URL('../../../hardware-notes/examples/harness', import.meta.url));

async function listed(folder: string, words: string): Promise<HarnessFile[]> {
  return (await filesIn(folder, ENDING)).map((name) => ({ path: `${folder}/${name}`, name: `${name.slice(0, -ENDING.length)}${words}` }));
}

/** The folder of a shop's own harnesses. */
function ownFolder({ harnesses }: Settings): string {
  return harnesses === '' ? startFolder() : folderOf(harnesses);
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
    save: (model) => savedIn(model, ownFolder(settings())),
  };
}
