/** The program in a real terminal. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const program = fileURLToPath(new URL('../host/bin/tapstone.js', import.meta.url));
/** Looks at the screen before a wait is given up: a minute, on a machine that does nothing else much less. */
const LOOKS = 600;

/** The program in a terminal of tmux; each on a tmux server of its own. */
export class Terminal {
  readonly folder = mkdtempSync(join(tmpdir(), 'tapstone-terminal-'));
  readonly #socket = join(this.folder, 'tmux');

  /** @param variables - of the environment, as a shell sets them; @param args - of the program; @param node - options of Node.js */
  constructor(columns: number, rows: number, variables = '', args = '', node = '') {
    const command = `XDG_DATA_HOME='${this.folder}' ${variables} '${process.execPath}' ${node} '${program}' ${args}; echo "ended with $?"; sleep 60`;
    this.#tmux('-f', '/dev/null', 'new-session', '-d', '-x', String(columns), '-y', String(rows), command);
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

  /** The screen once it shows this. */
  async shows(what: RegExp): Promise<string> {
    let text = '';
    for (let look = 0; look < LOOKS; look += 1) {
      text = this.lines().join('\n');
      if (what.test(text)) return text;
      await pause(100);
    }
    throw new Error(`the screen never showed ${String(what)}; it shows:\n${text}`);
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
