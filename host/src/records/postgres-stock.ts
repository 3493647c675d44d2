/** The stock on a server that several benches share: PostgreSQL, by the same work as in a file. */
import pg from 'pg';
import { StoreProblem } from './problem.ts';
import { moveAll } from './moves.ts';
import { POSTGRES_STEPS, SERVER_SCHEMA } from './schema.ts';
import { isLost, mayTryAgain, serverName, serverProblem } from './server-problem.ts';
import { runLater, type Dialect, type Query, type Row, type Stock, type Work } from './work.ts';

const DIALECT: Dialect = {
  hasWords: (words) => ({
    sql: "(SELECT pickup FROM words WHERE found @@ to_tsquery('simple', ?))",
    values: [words.map((word) => `${word}:*`).join(' & ')],
  }),
  setWords: (pickup, words) => ({
    sql: 'INSERT INTO words (pickup, words) VALUES (?, ?) ON CONFLICT (pickup) DO UPDATE SET words = excluded.words',
    values: [pickup, words],
  }),
};

/** How long a server may take, and how often work is tried that met another bench's. */
const PATIENCE = { connect_ms: 4000, answer_ms: 15_000, tries: 8 } as const;
/** Sent with each change, and listened to by whoever shows a list. */
const CHANNEL = 'tapstone_stock';

export class PostgresStock implements Stock {
  readonly #client: pg.Client;
  readonly #name: string;
  /** One connection does one thing at a time. */
  #last: Promise<unknown> = Promise.resolve();
  #lost: unknown = null;

  private constructor(client: pg.Client, name: string) {
    this.#client = client;
    this.#name = name;
    client.on('error', (error) => (this.#lost = error));
  }

  /** @param address - `postgres://USER@HOST/DATABASE`; the password is looked for in PGPASSWORD and ~/.pgpass @throws StoreProblem */
  static async open(address: string): Promise<PostgresStock> {
    const stock = await PostgresStock.#connect(address);
    try {
      await stock.#expectSchema();
      return stock;
    } catch (error) {
      await stock.close();
      throw serverProblem(stock.#name, error);
    }
  }

  /** Makes the tables, or takes the steps that are missing, as the owner of the database. @throws StoreProblem */
  static async prepare(address: string): Promise<void> {
    const stock = await PostgresStock.#connect(address);
    try {
      await stock.#takeSteps();
    } catch (error) {
      throw serverProblem(stock.#name, error);
    } finally {
      await stock.close();
    }
  }

  static async #connect(address: string): Promise<PostgresStock> {
    const name = serverName(address);
    let client: pg.Client;
    try {
      client = new pg.Client({
        connectionString: address, connectionTimeoutMillis: PATIENCE.connect_ms, query_timeout: PATIENCE.answer_ms,
        application_name: 'tapstone', keepAlive: true,
      });
    } catch {
      throw new StoreProblem(name, 'has an address that is not understood; expected postgres://USER@HOST/DATABASE', 'server');
    }
    const stock = new PostgresStock(client, name);
    try {
      await client.connect();
      await client.query(`SET search_path TO ${SERVER_SCHEMA}`);
      return stock;
    } catch (error) {
      await client.end().catch(() => undefined);
      throw serverProblem(name, error);
    }
  }

  /** The connection has been lost; another has to be opened. */
  get isLost(): boolean {
    return this.#lost !== null;
  }

  /** Runs work as one transaction. @throws StoreProblem */
  do<T>(work: Work<T>): Promise<T> {
    const done = this.#last.then(() => this.#try(work));
    this.#last = done.catch(() => undefined);
    return done;
  }

  /**
   * Calls when another bench, or this one, has changed something.
   * @param lost - called when the server is away @returns a function that ends it @throws StoreProblem
   */
  static async watch(address: string, changed: () => void, lost: (problem: unknown) => void): Promise<() => Promise<void>> {
    const other = await PostgresStock.#connect(address);
    other.#client.on('notification', changed);
    try {
      await other.#client.query(`LISTEN ${CHANNEL}`);
    } catch (error) {
      await other.close();
      throw serverProblem(other.#name, error);
    }
    const tell = (): void => lost(new StoreProblem(other.#name, 'was lost', 'server'));
    other.#client.on('end', tell);
    return () => {
      other.#client.off('end', tell);
      return other.close();
    };
  }

  async close(): Promise<void> {
    await this.#last;
    await this.#client.end().catch(() => undefined);
  }

  async #try<T>(work: Work<T>): Promise<T> {
    for (let left = PATIENCE.tries - 1; ; left -= 1) {
      try {
        if (this.#lost !== null) throw this.#lost;
        return await this.#once(work);
      } catch (error) {
        if (isLost(error)) this.#lost ??= error;
        if (left === 0 || !mayTryAgain(error)) throw serverProblem(this.#name, error);
      }
    }
  }

  async #once<T>(work: Work<T>): Promise<T> {
    const { use } = work;
    await this.#client.query(use === 'keep' ? 'BEGIN' : 'BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY');
    try {
      const done = await runLater(work.steps(DIALECT), (query) => this.#answer(query));
      if (use === 'keep') await this.#client.query(`NOTIFY ${CHANNEL}`);
      await this.#client.query('COMMIT');
      return done;
    } catch (error) {
      await this.#client.query('ROLLBACK').catch((worse: unknown) => (this.#lost ??= worse));
      throw error;
    }
  }

  async #answer({ sql, values }: Query): Promise<readonly Row[]> {
    let number = 0;
    const { rows } = await this.#client.query<Row>(sql.replaceAll('?', () => `$${(number += 1)}`), [...values]);
    return rows;
  }

  async #expectSchema(): Promise<void> {
    const { rows } = await this.#client.query<{ steps: number }>('SELECT steps FROM version');
    const steps = rows[0]?.steps ?? 0;
    if (steps > POSTGRES_STEPS.length) {
      throw new StoreProblem(
        this.#name, `was prepared by a newer tapstone (schema ${steps}, expected ${POSTGRES_STEPS.length} at most); update this one`, 'server');
    }
    if (steps < POSTGRES_STEPS.length) {
      throw new StoreProblem(this.#name, 'was prepared by an older tapstone; whoever owns it runs "tapstone records prepare" once', 'server');
    }
  }

  async #takeSteps(): Promise<void> {
    const query = (sql: string, values: readonly unknown[] = []) => this.#client.query<{ steps: number }>(sql, [...values]);
    await query('BEGIN');
    // Two who prepare at once: the second waits and finds it done.
    await query('SELECT pg_advisory_xact_lock(hashtext($1))', [SERVER_SCHEMA]);
    await query(`CREATE SCHEMA IF NOT EXISTS ${SERVER_SCHEMA}`);
    await query('CREATE TABLE IF NOT EXISTS version (steps integer NOT NULL)');
    const { rows } = await query('SELECT steps FROM version');
    const from = rows[0]?.steps ?? 0;
    const steps = POSTGRES_STEPS.slice(from);
    for (const { sql } of steps) await query(sql);
    await runLater(moveAll(steps, DIALECT), (asked) => this.#answer(asked));
    await query(rows.length === 0 ? 'INSERT INTO version (steps) VALUES ($1)' : 'UPDATE version SET steps = $1 WHERE steps < $1',
      [POSTGRES_STEPS.length]);
    await query('COMMIT');
  }
}
