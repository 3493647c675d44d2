// npm run soak -- [N] [SEED]: N whole tests (1000) in one process; prints the figures of each tenth and of the whole.
import './collect-garbage.ts';
import { soak } from './soak.ts';

const [count = '1000', seed = '1'] = process.argv.slice(2);
if (!/^\d+$/.test(count) || !/^\d+$/.test(seed)) {
  process.stderr.write(`soak: "${count} ${seed}" is not understood; expected a number of tests and a seed\n`);
  process.exit(64);
}
process.stdout.write(`soak: ${count} tests, seed ${seed}\n`);
const figures = await soak(Number(count), Number(seed), ({ tests, finished, lost, heap_bytes, handles }) => {
  const heap = ((heap_bytes.at(-1) ?? 0) / 1e6).toFixed(1);
  process.stdout.write(`  ${tests} tests, ${finished} finished, ${lost} lost, heap ${heap} MB, handles ${handles}\n`);
});
process.stdout.write(`${JSON.stringify(figures)}\n`);
process.exitCode = figures.lost + figures.different + figures.incomplete > 0 ? 1 : 0;
