/** All that the screens over the bench are made from. Loaded beside the bench's first screen, so that nobody waits for it. */
import type { Opened } from '../bench/open-bench.ts';
import { timeOfDay } from '../edge/clock.ts';
import { freshUid } from '../edge/random.ts';
import { logicModule } from '../logic/module.ts';
import { serverName } from '../records/server-problem.ts';
import type { ShopMeans } from '../screens/over-bench.ts';
import type { Settings } from '../shop/settings.ts';
import { paperOutOf, ShopDesk } from './desk.ts';
import { harnessMeans } from './harness-means.ts';
import { settingsPath, writeSettings, type ReadSettings } from './settings-access.ts';
import { recordsPath, serverAddress, SERVER_VARIABLE } from './stock-access.ts';

export interface LoadedShop extends ShopMeans {
  /** Lets go of the stock. */
  close(): Promise<void>;
}

export function shopMeans(opened: Opened, read: ReadSettings): LoadedShop {
  const desk = new ShopDesk();
  let { settings } = read;
  const now = (): Settings => settings;
  return {
    pickup: { desk, out: paperOutOf(now), labelSize: () => settings.label },
    settings: {
      desk, settings: now, path: settingsPath(), records: recordsInWords(), tester: opened.kind === 'tester' ? opened.serial : '',
      async write(changed) {
        await writeSettings(changed, read);
        settings = changed;
      },
    },
    harnesses: harnessMeans(desk, now),
    entry: {
      async begin() {
        const [{ EntrySession }, { recordSolver }] = await Promise.all([import('../entry/session.ts'), import('./solve-kept.ts')]);
        return new EntrySession(recordSolver());
      },
      async keep(session, isBroken) {
        const [{ ENTRY_TITLE }, { keepEntry }] = await Promise.all([import('../entry/session.ts'), import('../shop/entry-test.ts')]);
        const facts = { title: ENTRY_TITLE, number: null, isBroken, taken: timeOfDay(), module: logicModule().sha256, freshUid };
        // As every test of a bench: in its own file first, from where it is handed over.
        return (await desk.own.do(keepEntry(session, facts))).pickup;
      },
    },
    close: () => desk.close(),
  };
}

/** Where the records are, in the words of the settings. */
function recordsInWords(): { readonly where: string; readonly how: string } {
  const how = `This computer's own file unless ${SERVER_VARIABLE}=postgres://USER@HOST/DATABASE in the environment names a server that several benches share; XDG_DATA_HOME moves the file.`;
  try {
    const address = serverAddress();
    return { where: address === null ? recordsPath() : serverName(address), how };
  } catch {
    return { where: recordsPath(), how };
  }
}
