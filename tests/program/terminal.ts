/** The program in a real terminal. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const program = fileURLToPath(new URL('../../host/bin/tapstone.js', import.meta.url));
/** Looks at the screen before a wait is given up: a minute, on a machine that does nothing else much less. */
const LOOKS = 600;

/** The program in a terminal of tmux; each on a tmux server of its own. */
export class Terminal {
  readonly folder = mkdtempSync(join(tmpdir(), 'tapstone-terminal-'));
  readonly #socket = join(this.folder, 'tmux');

  /**
   * @param variables - of the environment, as a shell sets them
   * @param args - of the program
   * @param node - options of Node.js
   * @param prepare - done with its folder before the program starts
   */
  constructor(
    columns: number, rows: number, variables = '', args = '', node = '', prepare: (terminal: Terminal) => void = () => undefined,
  ) {
    prepare(this);
    // Whoever runs the tests may have CI set, under which the program's library draws without colour.
    const run = `env -u CI HOME='${this.folder}' XDG_DATA_HOME='${this.folder}' XDG_CONFIG_HOME='${this.folder}' TAPSTONE_RECORDS= ${variables} '${process.execPath}' ${node} '${program}' ${args}`;
    this.#tmux('-f', '/dev/null', 'new-session', '-d', '-x', String(columns), '-y', String(rows), this.command(run));
  }

  /** What the terminal runs. @param run - how the program is started */
  protected command(run: string): string {
    return `${run}; echo "ended with $?"; sleep 60`;
  }

  /** Cursor, alternate screen: `1` where it shows or is on. */
  modes(): string {
    return `cursor ${this.fact('cursor_flag')}, alternate ${this.fact('alternate_on')}`;
  }

  #tmux(...args: string[]): string {
    return execFileSync('tmux', ['-S', this.#socket, ...args], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
  }

  keys(...keys: string[]): void {
    this.#tmux('send-keys', ...keys);
  }

  /** The lines on the screen. @param escapes - with the codes that set colours */
  lines(escapes = false): string[] {
    return this.#tmux('capture-pane', '-p', ...(escapes ? ['-e'] : [])).replace(/\n+$/, '').split('\n');
  }

  resize(columns: number, rows: number): void {
    this.#tmux('resize-window', '-x', String(columns), '-y', String(rows));
  }

  /** A fact of the pane by tmux's name for it (FORMATS in tmux(1)). */
  fact(name: string): string {
    return this.#tmux('display-message', '-p', `#{${name}}`).trim();
  }

  /** The screen once it shows this. @param what - a pattern, or all that is to stand there */
  async shows(what: RegExp | string): Promise<string> {
    let text = '';
    for (let look = 0; look < LOOKS; look += 1) {
      text = this.lines().join('\n');
      if (typeof what === 'string' ? text === what : what.test(text)) return text;
      await pause(100);
    }
    throw new Error(`the screen never showed ${String(what)}; it shows:\n${text}`);
  }

  /** Keeps what is written to the terminal from now on. */
  record(): void {
    this.#tmux('pipe-pane', '-o', `cat > '${this.folder}/written'`);
  }

  /** What was written to the terminal since `record`. */
  written(): string {
    return readFileSync(join(this.folder, 'written'), 'latin1');
  }

  end(): void {
    try {
      this.#tmux('kill-server');
    } catch {
      // It has ended by itself.
    }
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** The same, started by a person at a shell. */
export class Shell extends Terminal {
  protected override command(run: string): string {
    const script = join(this.folder, 'start');
    writeFileSync(script, `#!/bin/sh\necho $$ > '${this.folder}/pid'\nexec ${run.replace(/^(\S+=\S*) /, 'env $1 ')}\n`, { mode: 0o755 });
    return "PS1='prompt> ' bash --noprofile --norc -i";
  }

  start(): void {
    this.keys(join(this.folder, 'start'), 'Enter');
  }

  signal(name: NodeJS.Signals): void {
    process.kill(Number(readFileSync(join(this.folder, 'pid'), 'utf8')), name);
  }
}
