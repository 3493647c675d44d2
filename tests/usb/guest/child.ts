import { spawn } from 'node:child_process';
import { findTesters } from '../../../host/src/transport/discovery.ts';
import { loadDriver, messageOf } from '../../../host/src/transport/driver.ts';
import { HidTransport } from '../../../host/src/transport/hid.ts';

/** What a second process of the guest does; each ends by printing one line of JSON. */
const tasks: Readonly<Record<string, () => Promise<unknown>>> = {
  /** Opens the tester as a user to whom nobody gave a permission. */
  async openAsNobody() {
    const NOBODY = 65534;
    process.setgroups!([]);
    process.setgid!(NOBODY);
    process.setuid!(NOBODY);
    const driver = await loadDriver();
    const { testers } = await findTesters(driver);
    const said = await new HidTransport(driver, testers[0]!).open().then(() => 'opened', messageOf);
    return { said };
  },
  /** Loads the driver on a computer that lacks one of its libraries. */
  async load() {
    return { said: await loadDriver().then(() => 'loaded', messageOf) };
  },
};

/** Runs a task in this process. */
export async function runTask(name: string): Promise<void> {
  console.log(JSON.stringify(await tasks[name]!()));
}

/** Runs a task in a process of its own and reads its line. */
export async function inChild<T>(task: string): Promise<T> {
  const child = spawn(process.execPath, ['/app/main.mjs', task], { stdio: ['ignore', 'pipe', 'inherit'] });
  let text = '';
  child.stdout.on('data', (chunk: Buffer) => {
    text += chunk.toString();
  });
  await new Promise<void>((resolve) => child.once('close', () => resolve()));
  return JSON.parse(text) as T;
}
