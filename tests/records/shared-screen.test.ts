/** The stock on the screens of a bench that shares a server: what others keep appears, a lost server is told and found again. */
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { addEvent } from '../../host/src/records/keeping.ts';
import { PostgresStock } from '../../host/src/records/postgres-stock.ts';
import { pickupNumbered } from '../../host/src/records/searching.ts';
import { METERS, solve } from '../papers/shop.ts';
import { Terminal } from '../program/terminal.ts';
import { keepOne } from './keep-one.ts';
import { PostgresServer } from './postgres-server.ts';

const unwrapped = (text: string): string => text.replace(/\s+/g, ' ');

describe('the stock on the screen of a bench', () => {
  const server = new PostgresServer();
  let terminal: Terminal;
  beforeAll(async () => {
    await server.start();
    await PostgresStock.prepare(server.address());
  });
  afterEach(() => terminal.end());
  afterAll(() => server.remove());

  it('shows what another keeps without a key, changes what all see, and goes on with its own while the server is away', async () => {
    const other = await PostgresStock.open(server.address());
    const keep = (name: string): Promise<number> => keepOne(other, { title: `from ${name}`, record: METERS, map: solve(METERS), name, number: 'A-1' });
    terminal = new Terminal(80, 24, `TAPSTONE_RECORDS='${server.address()}'`);
    await terminal.shows(/press the button/i);
    terminal.keys('f');
    await terminal.shows(/No pickup is in stock yet/);
    await keep('another bench');
    await terminal.shows(/> A-1 +good .*from another bench/);
    terminal.keys('Enter');
    await terminal.shows(/pickup A-1[\s\S]*\[map\]/);
    terminal.keys('s');
    await terminal.shows(/What is it now\?/);
    terminal.keys('a');
    await terminal.shows(/\nset aside, /);
    const { uid, line } = (await other.do(pickupNumbered('A-1')))!;
    expect(line.state).toBe('aside');
    await other.do(addEvent({ uid: 'sold', pickup: uid, at: '2026-03-14T10:22:31Z', kind: 'state', text: 'sold' }));
    await terminal.shows(/\nsold, /);
    terminal.keys('Escape');
    await terminal.shows(/> A-1 +sold /);
    await other.close();

    server.stop();
    const away = await terminal.shows(/Shown is what\s+this computer keeps/);
    expect(unwrapped(away)).toMatch(/No pickup is in stock yet.*the server of the records/);
    await server.start();
    await terminal.shows(/> A-1 +sold /);
    expect(await terminal.shows(/1 pickup/)).not.toContain('this computer keeps');
    terminal.keys('Escape');
    await terminal.shows(/press the button/i);
    terminal.keys('o');
    await terminal.shows(/records +\(the server of the records/);
    terminal.keys('Escape');
    await terminal.shows(/press the button/i);
    // What the virtual bench keeps never goes to the server, and is viewed all the same.
    terminal.keys('Space');
    await terminal.shows(/Touch the upper coil/);
    terminal.keys('c');
    await terminal.shows(/Broken off, number V-0001/);
    terminal.keys('v');
    await terminal.shows(/pickup V-0001[\s\S]*no whole test yet/);
  });
});
