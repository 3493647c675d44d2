/** Papers handed to the system's printing command: here one that keeps what it is given. */
import { chmodSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { tapstone } from '../program/run-program.ts';
import { METERS, pdfText, Shop } from './shop.ts';

describe('--print', () => {
  const shop = new Shop();
  const commands = shop.path('commands');
  const run = (...args: string[]) =>
    tapstone(args, { environment: { XDG_DATA_HOME: shop.folder, TAPSTONE_RECORDS: '', PATH: commands } });
  /** A printing command of this name. */
  const install = (name: string, body: string): void => {
    writeFileSync(join(commands, name), `#!/bin/sh\n${body}\n`);
    chmodSync(join(commands, name), 0o755);
  };
  const keep = `printf '%s|' "$@" >'${shop.path('told')}'; exec /bin/cat >'${shop.path('printed.pdf')}'`;
  beforeAll(() => {
    shop.one(METERS);
    mkdirSync(commands);
  });
  afterEach(() => ['lp', 'lpr'].forEach((name) => rmSync(join(commands, name), { force: true })));
  afterAll(() => shop.close());

  it.each([
    ['lp', ['label', '0001', '--print'], '|'], ['lp', ['label', '0001', '--printer', 'by the door; rm'], '-d|by the door; rm|'],
    ['lpr', ['sheet', '0001', '--print'], '|'], ['lpr', ['sheet', '0001', '--printer', '-o'], '-P|-o|'],
  ])('hands the same PDF that --out writes to %s of %j', async (name, args, told) => {
    install(name, keep);
    const out = shop.path('same.pdf');
    expect(await run(...args, '--out', out)).toMatchObject({ code: 0, out: '', err: '' });
    expect(readFileSync(shop.path('printed.pdf')).equals(readFileSync(out))).toBe(true);
    expect(readFileSync(shop.path('told'), 'utf8')).toBe(told);
    expect(pdfText(shop.path('printed.pdf'))).toContain('0001');
  });

  it('says in one sentence that there is no such command, or what it said', async () => {
    expect(await run('label', '0001', '--print')).toMatchObject({
      code: 69, out: '', err: 'tapstone label: no printing command is on this computer (lp or lpr); write --out FILE.pdf and print that\n',
    });
    install('lp', "exec 0<&-; printf 'lp: no default\\033[2J destination\\nmore\\n' >&2; exit 1");
    expect(await run('sheet', '0001', '--print')).toMatchObject({
      code: 74, out: '', err: 'tapstone sheet: not printed, lp says: lp: no default\\x1b[2J destination\n',
    });
    install('lp', 'kill -9 $$');
    expect(await run('label', '0001', '--print')).toMatchObject({ code: 74, err: 'tapstone label: not printed, lp says: it ended with SIGKILL\n' });
  });
});
