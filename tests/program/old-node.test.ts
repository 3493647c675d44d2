/** Under a Node.js that is too old the start file runs the program on another, and whoever signals the start file means the program. */
import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { constants } from 'node:os';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { Terminal } from './terminal.ts';

const program = fileURLToPath(new URL('../../host/bin/tapstone.js', import.meta.url));
/** Makes the start file think that it runs on an old Node.js; the one that it starts instead is not told so. */
const OLD = "data:text/javascript,Object.defineProperty(process,'versions',{value:{...process.versions,node:'20.20.2'}})";
/** The start file on it, waiting for records. */
const COMMAND = [process.execPath, '--import', OLD, program, 'solve', '-'] as const;
/** Looks before a wait is given up, a tenth of a second apart. */
const LOOKS = 300;

async function comesTrue(what: () => boolean): Promise<boolean> {
  for (let look = 0; look < LOOKS; look += 1) {
    if (what()) return true;
    await pause(100);
  }
  return false;
}

/** Its letter in proc(5), R, S, T and so on; null when there is no such process. */
function stateOf(id: number): string | null {
  try {
    const stat = readFileSync(`/proc/${id}/stat`, 'utf8');
    return stat.slice(stat.lastIndexOf(')') + 2)[0];
  } catch {
    return null;
  }
}

const isGone = (id: number): boolean => [null, 'Z', 'X'].includes(stateOf(id));
const childrenOf = (id: number): number[] =>
  readFileSync(`/proc/${id}/task/${id}/children`, 'utf8').trim().split(' ').filter(Boolean).map(Number);

describe('the start file under an old Node.js', () => {
  let started: ChildProcess | undefined;
  let inner = 0;
  afterEach(() => {
    for (const id of [started?.pid ?? 0, inner]) if (id > 0 && !isGone(id)) process.kill(id, 'SIGKILL');
    started = undefined;
    inner = 0;
  });

  /** The program waiting for records that never come: its start file, and the process that the start file runs. */
  async function waiting(): Promise<ChildProcess & { pid: number }> {
    const child = spawn(COMMAND[0], COMMAND.slice(1), { stdio: ['pipe', 'ignore', 'inherit'] });
    started = child;
    await runsInside(child.pid!);
    return child as ChildProcess & { pid: number };
  }

  /** It listens to signals once it has been loaded as far as the program has been started. @param id - process of the start file */
  async function runsInside(id: number): Promise<void> {
    expect(await comesTrue(() => childrenOf(id).length === 1)).toBe(true);
    inner = childrenOf(id)[0];
    expect(await comesTrue(() => readFileSync(`/proc/${inner}/cmdline`, 'utf8').includes('tapstone.js'))).toBe(true);
  }

  it.each(['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT'] as const)('%s to it alone ends the program, and it ends by the same', async (signal) => {
    const child = await waiting();
    const ended = once(child, 'exit');
    child.kill(signal);
    expect(await ended).toEqual([null, signal]);
    expect(isGone(inner)).toBe(true);
  });

  it('SIGTSTP to it alone stops both, SIGCONT lets both go on', async () => {
    // The kernel stops no process whose group nobody of the same session could wake: a job of a shell can be woken.
    const shell = spawn('/bin/bash', ['-c', 'set -m; "$@" <&0 & wait -f $!', 'bash', ...COMMAND], { stdio: ['pipe', 'ignore', 'inherit'] });
    started = shell;
    expect(await comesTrue(() => childrenOf(shell.pid!).length === 1)).toBe(true);
    const [outer] = childrenOf(shell.pid!);
    await runsInside(outer);
    process.kill(outer, 'SIGTSTP');
    expect(await comesTrue(() => stateOf(outer) === 'T')).toBe(true);
    // The program was stopped first: the shell has the terminal from here on.
    expect(stateOf(inner)).toBe('T');
    process.kill(outer, 'SIGCONT');
    expect(await comesTrue(() => stateOf(outer) !== 'T' && stateOf(inner) !== 'T')).toBe(true);
    shell.stdin?.end();
    expect(await once(shell, 'exit')).toEqual([65, null]);
  });

  it('a program that is killed takes it along by the same signal', async () => {
    const child = await waiting();
    const ended = once(child, 'exit');
    process.kill(inner, 'SIGKILL');
    expect(await ended).toEqual([null, 'SIGKILL']);
  });

  it('ends with the code of the program', async () => {
    const child = spawn(process.execPath, ['--import', OLD, program, 'solve', '/nowhere/a.bench.json'], { stdio: 'ignore' });
    expect(await once(child, 'exit')).toEqual([66, null]);
  });

  it('says what it needs when there is no other Node.js', async () => {
    const child = spawn(process.execPath, ['--import', OLD, program, '--version'], {
      stdio: ['ignore', 'ignore', 'pipe'], env: { ...process.env, TAPSTONE_NODE_REPLACED: '1' },
    });
    let said = '';
    child.stderr.on('data', (text: Buffer) => (said += text.toString()));
    expect(await once(child, 'close')).toEqual([69, null]);
    expect(said).toBe('tapstone: Node.js 20.20.2 is too old; expected 22.16 or later. Install a newer Node.js, ' +
      'or install tapstone again without --offline or --omit=optional.\n');
  });
});

describe('the bench screen under an old Node.js', () => {
  it('gives the terminal back whole when its start file is told to end', async () => {
    const terminal = new Terminal(80, 24, '', '', `--import '${OLD.replaceAll("'", '"')}'`);
    try {
      await terminal.shows(/press the button/i);
      expect([terminal.fact('alternate_on'), terminal.fact('cursor_flag')]).toEqual(['1', '0']);
      // The pane's shell, below it the start file, below that the program.
      const shell = Number(terminal.fact('pane_pid'));
      const start = childrenOf(shell)[0];
      expect(childrenOf(start)).toHaveLength(1);
      process.kill(start, 'SIGTERM');
      await terminal.shows(new RegExp(`ended with ${128 + constants.signals.SIGTERM}`));
      expect([terminal.fact('alternate_on'), terminal.fact('cursor_flag')]).toEqual(['0', '1']);
    } finally {
      terminal.end();
    }
  });
});
