/**
 * Long runs of the fuzzers; what is found is kept in tests/found, where `npm test` feeds it again.
 *
 *   npm run fuzz -- WHAT [N] [SEED] [FROM]    N cases (1000) of `records`, `pickups`, `images`, `reports` or `setups`, seed 1
 */
import { FUZZERS } from './all.ts';
import { fuzz, keep, shorten } from './fuzzer.ts';

const [what, count = '1000', seed = '1', from = '0'] = process.argv.slice(2);
const fuzzer = FUZZERS.find((one) => one.what === what);
if (fuzzer === undefined || [count, seed, from].some((number) => !/^\d{1,9}$/.test(number))) {
  const names = FUZZERS.map((one) => one.what).join(', ');
  process.stderr.write(`fuzz: expected one of ${names}, then a number of cases, a seed and the first case's number\n`);
  process.exit(64);
}
process.stdout.write(`fuzz: ${count} cases of ${fuzzer.what}, seed ${seed}, from ${from}\n`);
let done = 0;
const findings = await fuzz(fuzzer, Number(seed), Number(from), Number(count), (finding) => {
  done += 1;
  if (finding !== null) process.stdout.write(`case ${finding.number}: ${finding.sentence}\n`);
  if (done % Math.ceil(Number(count) / 10) === 0) process.stdout.write(`  ${done} cases\n`);
});
for (const finding of findings) {
  const file = keep(fuzzer, Number(seed), await shorten(fuzzer, finding));
  process.stdout.write(`case ${finding.number} is kept as ${file}; again: npm run fuzz -- ${fuzzer.what} 1 ${seed} ${finding.number}\n`);
}
process.stdout.write(`${findings.length} found in ${count} cases\n`);
process.exit(findings.length === 0 ? 0 : 1);
