/**
 * Prints figures. They are never asserted as times: machines differ; what counts are ratios within one run.
 *
 *   npm run figures                       all that take less than a minute
 *   npm run figures -- lots [N] [SEED]    quality over a lot of invented pickups (10,000, seed 1)
 *   npm run figures -- elsewhere [N] [SEED] [SIMULATOR | FOLDER]    quality on records made elsewhere (1,000, seed 1000)
 *   npm run figures -- entry [N] [SEED]   pickups entered by meters: readings, right maps, the best possible (500, seed 1)
 *   npm run figures -- rings [N] [SEED]   shorted turns found and false, by whole tests on the board twin
 *   npm run figures -- records [N] [small]    the stock with many tests (100,000)
 *   npm run figures -- kills [N] [SEED]   what a program that is killed while it keeps tests has lost
 *   npm run figures -- coverage [N] [SEED] [--keep]    how often a stated uncertainty covers the truth, over boards drawn from the tolerances (10,000, seed 1)
 *   npm run figures -- proof [N] [SEED]   causes found of faults put into guitars, and sound ones accused (200, seed 1)
 *   npm run figures -- solve | size | electrical | start | touch | plan
 */

/** What each figure's module exports. */
interface Figure {
  print(args: readonly string[]): Promise<void> | void;
}

const FIGURES: Readonly<Record<string, () => Promise<Figure>>> = {
  size: () => import('./size.ts'),
  electrical: () => import('./electrical.ts'),
  solve: () => import('./solve.ts'),
  plan: () => import('./plan.ts'),
  start: () => import('./start.ts'),
  chip: () => import('./chip.ts'),
  lots: () => import('./lots.ts'),
  touch: () => import('./touch.ts'),
  elsewhere: () => import('./elsewhere.ts'),
  entry: () => import('./entry.ts'),
  rings: () => import('./rings.ts'),
  records: () => import('./records.ts'),
  kills: () => import('./kills.ts'),
  coverage: () => import('./coverage.ts'),
  proof: () => import('./proof.ts'),
};
const QUICK = ['size', 'electrical', 'solve', 'start', 'plan'];

const [name, ...args] = process.argv.slice(2);
for (const each of name === undefined ? QUICK : [name]) {
  const figure = FIGURES[each];
  if (figure === undefined) {
    process.stderr.write(`figures: "${each}" is not one of ${Object.keys(FIGURES).join(', ')}\n`);
    process.exit(64);
  }
  await (await figure()).print(args);
}
