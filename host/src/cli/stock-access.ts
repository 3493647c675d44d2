/** Where the stock is, and how a command comes to it: a file in the data folder, or the server that a variable names. */
import { join } from 'node:path';
import { variable } from '../edge/environment.ts';
import { isThere } from '../edge/files.ts';
import { dataFolder, madeDataFolder } from '../edge/folders.ts';
import { every } from '../edge/clock.ts';
import { freshUid } from '../edge/random.ts';
import { Courier, numberBy } from '../records/courier.ts';
import { OlderFile, RECORDS_FILE, SqliteStock } from '../records/sqlite-stock.ts';
import type { Stock } from '../records/work.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** Names the server that several benches share: `postgres://USER@HOST/DATABASE`. */
export const SERVER_VARIABLE = 'TAPSTONE_RECORDS';

/** How often a file is asked whether another program changed it, milliseconds. */
const POLL_ms = 250;

/** The server's address, or null when the stock is this computer's own file. @throws UserError when it is no address of a server */
export function serverAddress(): string | null {
  const address = variable(SERVER_VARIABLE) ?? '';
  if (address === '') return null;
  if (/^postgres(ql)?:\/\//i.test(address)) return address;
  // What stands there is not told: an address may hold a password.
  const [, scheme] = /^([a-z][a-z0-9+.-]*):/i.exec(address) ?? [];
  const stood = scheme === undefined ? 'is no address of a server' : `begins with ${printable(scheme, 20)}:, which is not spoken here`;
  throw new UserError(
    `${SERVER_VARIABLE} ${stood}; expected postgres://USER@HOST/DATABASE, or nothing for this computer's own file, which XDG_DATA_HOME moves`, EXIT.usage);
}

/** The file of this computer's own records. */
export function recordsPath(): string {
  return join(dataFolder(), RECORDS_FILE);
}

/** This computer's file, to keep tests in; made when there is none. @throws StoreProblem */
export function ownFile(): SqliteStock {
  return new SqliteStock(join(madeDataFolder(), RECORDS_FILE));
}

/** This computer's file, for looking only when nothing is to be changed. @returns null when there is none and nothing is to be kept */
export async function openFile(use: 'look' | 'keep'): Promise<SqliteStock | null> {
  if (use === 'keep') return ownFile();
  const path = recordsPath();
  if (!(await isThere(path))) return null;
  try {
    return new SqliteStock(path, 'look');
  } catch (error) {
    if (!(error instanceof OlderFile)) throw error;
    return new SqliteStock(path);
  }
}

/** The stock that lists speak of. */
export async function openStock(use: 'look' | 'keep'): Promise<Stock | null> {
  const address = serverAddress();
  if (address === null) return openFile(use);
  const { PostgresStock } = await import('../records/postgres-stock.ts');
  return PostgresStock.open(address);
}

/** Whoever takes this computer's tests over to the server; null when none is named. @param own - this computer's file */
export async function courierOf(own: SqliteStock): Promise<Courier | null> {
  const address = serverAddress();
  numberBy(own, address !== null);
  if (address === null) return null;
  return new Courier(own, async () => (await import('../records/postgres-stock.ts')).PostgresStock.open(address), freshUid);
}

/** Calls whenever the stock has changed. @param lost - called when it cannot be read any more @returns a function that ends it @throws StoreProblem */
export async function watchStock(
  stock: Stock, changed: () => void, lost: (problem: unknown) => void,
): Promise<() => Promise<void>> {
  const address = serverAddress();
  if (stock instanceof SqliteStock) {
    let version = stock.version();
    return every(POLL_ms, () => {
      try {
        const now = stock.version();
        if (now !== version) changed();
        version = now;
      } catch (error) {
        lost(error);
      }
    });
  }
  const { PostgresStock } = await import('../records/postgres-stock.ts');
  return PostgresStock.watch(address!, changed, lost);
}

/** Does something with the stock and lets go of it, whatever happens.
 * @param act - is given null when there is no stock yet and it was only to be looked at
 */
export async function withStock<T>(use: 'look', act: (stock: Stock | null) => Promise<T>): Promise<T>;
export async function withStock<T>(use: 'keep', act: (stock: Stock) => Promise<T>): Promise<T>;
export async function withStock<T>(use: 'look' | 'keep', act: (stock: never) => Promise<T>): Promise<T> {
  const stock = await openStock(use);
  try {
    return await act(stock as never);
  } finally {
    await stock?.close();
  }
}
