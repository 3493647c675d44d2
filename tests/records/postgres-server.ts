/** A server of PostgreSQL of the test's own: Debian's, in a folder of its own, on a socket there and nowhere else. */
import { execFileSync, spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const ROOT = '/usr/lib/postgresql';
/** The account that Debian's package brings; the server refuses to run as root. */
const ACCOUNT = 'postgres';
const OWNER = 'shop';

function programs(): string {
  const [newest] = existsSync(ROOT) ? readdirSync(ROOT).sort((a, b) => Number(b) - Number(a)) : [];
  if (newest === undefined) throw new Error('PostgreSQL is missing. Install it: apt-get install -y postgresql');
  return join(ROOT, newest, 'bin');
}

const isRoot = process.getuid?.() === 0;
/** A command as it is run by the account of the server. */
function asServer(command: readonly string[]): [string, string[]] {
  const all = isRoot ? ['runuser', '-u', ACCOUNT, '--', ...command] : command;
  return [all[0]!, all.slice(1)];
}

export class PostgresServer {
  readonly folder = mkdtempSync(join(tmpdir(), 'tapstone-pg-'));
  #process: ChildProcess | null = null;
  readonly #settings: readonly string[];

  /** @param settings - more of postgresql.conf, one `name=value` each */
  constructor(settings: readonly string[] = []) {
    this.#settings = settings;
    if (isRoot) {
      const id = (flag: string): number => Number(execFileSync('id', [flag, ACCOUNT], { encoding: 'utf8' }));
      chownSync(this.folder, id('-u'), id('-g'));
    }
    this.#run('initdb', '-D', this.data, '-U', OWNER, '--auth=trust', '--no-sync', '-E', 'UTF8', '--locale=C.UTF-8');
  }

  get data(): string {
    return join(this.folder, 'data');
  }

  /** An address of this server. @param user - the owner when left out */
  address(database = 'postgres', user = OWNER): string {
    return `postgres://${user}@/${database}?host=${encodeURIComponent(this.folder)}`;
  }

  async start(): Promise<void> {
    const settings = ['listen_addresses=', `unix_socket_directories=${this.folder}`, 'fsync=off', 'log_min_messages=fatal', ...this.#settings];
    const [command, args] = asServer([join(programs(), 'postgres'), '-D', this.data, ...settings.flatMap((one) => ['-c', one])]);
    this.#process = spawn(command, args, { stdio: 'ignore', cwd: '/' });
    for (let tries = 0; tries < 300; tries += 1) {
      if (spawnSync(join(programs(), 'pg_isready'), ['-q', '-h', this.folder, '-U', OWNER]).status === 0) return;
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    throw new Error('PostgreSQL does not start');
  }

  /** Lets nobody finish. @param mode - `immediate` as if the power went */
  stop(mode: 'fast' | 'immediate' = 'immediate'): void {
    if (this.#process === null) return;
    this.#run('pg_ctl', '-D', this.data, '-m', mode, '-w', 'stop');
    this.#process = null;
  }

  /** Statements as the owner, in one database. */
  sql(text: string, database = 'postgres'): string {
    return execFileSync(
      join(programs(), 'psql'), ['-h', this.folder, '-U', OWNER, '-d', database, '-qAtX', '-v', 'ON_ERROR_STOP=1', '-c', text],
      { encoding: 'utf8' }).trim();
  }

  remove(): void {
    this.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }

  #run(program: string, ...args: readonly string[]): void {
    const [command, all] = asServer([join(programs(), program), ...args]);
    execFileSync(command, all, { stdio: 'ignore', cwd: '/' });
  }
}
