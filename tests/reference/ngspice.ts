/** Runs a deck with the real ngspice and reads back whole waveforms. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Voltages (or currents) of a transient analysis at the simulator's own times. */
export interface Waveforms {
  readonly time_s: readonly number[];
  readonly values: readonly (readonly number[])[];
}

/** An analysis, and the vectors of which its result is read. */
export interface Analysis {
  /** Commands of the control language, the last of them the analysis: `tran 1u 1m`, `ac lin 1 100 100`, `op`. */
  readonly commands: readonly string[];
  readonly vectors: readonly string[];
}

/** Runs a deck's transient analysis.
 * @param elements - the deck's element lines
 * @param tran - the arguments of `tran`
 * @param vectors - what to read, such as `v(a)` or `i(l1)`
 * @throws with a sentence that says what to install when ngspice is missing
 */
export function simulate(
  elements: string,
  tran: string,
  vectors: readonly string[],
): Waveforms {
  const [table] = analyses(
    `${elements}\n.options reltol=1e-6 abstol=1e-15 vntol=1e-9 chgtol=1e-18`,
    [{ commands: [`tran ${tran}`], vectors }],
  );
  return {
    time_s: table!.map((row) => row[0] as number),
    values: vectors.map((_, i) => table!.map((row) => row[i + 1] ?? Number.NaN)),
  };
}

/** Runs several analyses of one deck.
 * @returns for each its rows: the scale, then each vector (real and imaginary part after `ac`)
 * @throws with a sentence that says what to install when ngspice is missing
 */
export function analyses(elements: string, list: readonly Analysis[]): number[][][] {
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-deck-'));
  const file = (at: number): string => join(folder, `out${at}.txt`);
  try {
    const deck = join(folder, 'deck.cir');
    const control = list.flatMap(({ commands, vectors }, at) => [...commands, `wrdata ${file(at)} ${vectors.join(' ')}`]);
    writeFileSync(
      deck,
      `tapstone against ngspice
${elements}
.control
set wr_singlescale
set numdgt=12
${control.join('\n')}
.endc
.end
`,
    );
    const run = spawnSync('ngspice', ['-b', deck], { encoding: 'utf8', cwd: folder, maxBuffer: 1 << 28 });
    if (run.error !== undefined) {
      throw new Error('ngspice is missing. Install it: apt-get install -y ngspice');
    }
    return list.map((_, at) => {
      let table: string;
      try {
        table = readFileSync(file(at), 'utf8');
      } catch {
        throw new Error(`ngspice wrote no waveform: ${run.stdout}${run.stderr}`);
      }
      return table.trim().split('\n').map((line) => line.trim().split(/\s+/).map(Number));
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
