/**
 * Prints figures. They are never asserted as times: machines differ; what counts are ratios within one run.
 *
 *   npm run figures                       all that take less than a minute
 *   npm run figures -- lots [N] [SEED]    quality over a lot of invented pickups (10,000, seed 1)
 *   npm run figures -- solve | size | electrical | start | touch | chip
 */
import { existsSync } from 'node:fs';

/** What each figure's module exports. */
interface Figure {
  print(args: readonly string[]): Promise<void> | void;
}

const QUICK = ['size', 'electrical', 'solve', 'start'];
const FIGURES = [...QUICK, 'lots', 'touch', 'chip'];

const [name, ...args] = process.argv.slice(2);
if (name !== undefined && !FIGURES.includes(name)) {
  process.stderr.write(`figures: "${name}" is not one of ${FIGURES.join(', ')}\n`);
  process.exit(64);
}
for (const each of name === undefined ? QUICK : [name]) {
  const file = new URL(`./${each}.ts`, import.meta.url);
  if (!existsSync(file)) {
    process.stderr.write(`figures: ${each}.ts is not here\n`);
    process.exit(66);
  }
  const figure = (await import(file.href)) as Figure;
  await figure.print(args);
}
