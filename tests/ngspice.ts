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
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-deck-'));
  try {
    const deck = join(folder, 'deck.cir');
    writeFileSync(
      deck,
      `virtual bench against ngspice
${elements}
.options reltol=1e-6 abstol=1e-15 vntol=1e-9 chgtol=1e-18
.control
set wr_singlescale
set numdgt=12
tran ${tran}
wrdata ${join(folder, 'out.txt')} ${vectors.join(' ')}
.endc
.end
`,
    );
    const run = spawnSync('ngspice', ['-b', deck], { encoding: 'utf8', cwd: folder });
    if (run.error !== undefined) {
      throw new Error('ngspice is missing. Install it: apt-get install -y ngspice');
    }
    let table: string;
    try {
      table = readFileSync(join(folder, 'out.txt'), 'utf8');
    } catch {
      throw new Error(`ngspice wrote no waveform: ${run.stdout}${run.stderr}`);
    }
    const time_s: number[] = [];
    const values = vectors.map((): number[] => []);
    for (const line of table.trim().split('\n')) {
      const [time = Number.NaN, ...row] = line.trim().split(/\s+/).map(Number);
      time_s.push(time);
      vectors.forEach((_, i) => values[i].push(row[i] ?? Number.NaN));
    }
    return { time_s, values };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
