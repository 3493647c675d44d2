/** Quality of the reading of a touch: signs, calibration and robustness, on waveforms of tests/lots/waveform.ts. */
import { lowerTail, RandomStream } from '../../host/src/virtual-bench/random.ts';
import { emptyScene, faintScene, nominalScene, type FaintOptions, type NominalOptions, type Scene } from '../lots/touch-scenes.ts';
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import { confidenceOf } from '../lots/touch-reader.ts';
import type { StepShape } from '../lots/waveform.ts';

const out = (line: string): void => void process.stdout.write(`${line}\n`);
const percent = (part: number, whole: number): string => `${((100 * part) / Math.max(1, whole)).toFixed(2)} %`;

/** Prints all tables. @param args - [touches per table, 2000] [seed, 1] */
export function print(args: readonly string[]): void {
  const count = Number(args[0] ?? 2000);
  const seed = Number(args[1] ?? 1);
  out(`touch, seed ${seed}, ${count} touches a row`);
  const reader = new TouchReader();
  nominal(reader, count, seed);
  for (const arrives of ['near', 'anywhere'] as const) for (const hum_V of [0, 8e-3]) faint(reader, count, seed, { arrives, hum_V });
  empty(reader, count, seed);
}

function nominal(reader: TouchReader, count: number, seed: number): void {
  out('\nordinary touches              wrong  open     given at 0.99   given at 0.999   flux off by more than 10 %');
  const row = (title: string, options: NominalOptions): void => {
    const chance = new RandomStream(seed, `touch ${title}`);
    let wrong = 0;
    let open = 0;
    let given = 0;
    let sure = 0;
    let off = 0;
    for (let i = 0; i < count; i++) {
      const scene = nominalScene(chance, options);
      const channel = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels[0]!;
      const confidence = confidenceOf(channel);
      if (channel.signLogOdds * scene.sign < 0) wrong++;
      if (channel.signLogOdds === 0) open++;
      if (confidence >= 0.99) given++;
      if (confidence >= 0.999) sure++;
      if (Math.abs(channel.flux_Wb / scene.hand.flux_Wb - 1) > 0.1) off++;
    }
    out(`${title.padEnd(28)} ${String(wrong).padStart(6)} ${String(open).padStart(5)}    ${percent(given, count).padStart(9)}       ${
      percent(sure, count).padStart(9)}        ${percent(off, count).padStart(9)}`);
  };
  row('0.2 to 15 mWb', {});
  row('5 % late lifts', { lateShare: 0.05 });
  row('0.05 to 0.2 mWb', { flux_Wb: [5e-5, 2e-4] });
  row('mains 45 to 65 Hz', { mains_Hz: [45, 65] });
  row('hum to 20 mV', { hum_V: 2e-2 });
  row('begins 5 ms before', { before_s: 0.005 });
  for (const rate_Hz of [1000, 5000, 44_100, 100_000]) row(`${rate_Hz} Hz`, { rate_Hz });
  for (const shape of ['gaussian', 'triangle', 'tail', 'skewed'] satisfies StepShape[]) row(`shape ${shape}`, { shape });
}

function faint(reader: TouchReader, count: number, seed: number, options: Required<Pick<FaintOptions, 'arrives' | 'hum_V'>>): void {
  const chance = new RandomStream(seed, `faint ${options.arrives} ${options.hum_V}`);
  const tenths = Array.from({ length: 10 }, () => ({ count: 0, stated: 0, right: 0 }));
  const byD = new Map<number, { count: number; wrong: number; ideal: number; given: number }>();
  for (let i = 0; i < 2 * count; i++) {
    const d = chance.between(1, 9);
    const scene = faintScene(chance, d, options);
    const channel = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels[0]!;
    const confidence = confidenceOf(channel);
    const right = channel.signLogOdds * scene.sign > 0;
    const tenth = tenths[Math.min(9, Math.floor((confidence - 0.5) * 20))]!;
    tenth.count++;
    tenth.stated += confidence;
    tenth.right += Number(right);
    const whole = Math.floor(d);
    const row = byD.get(whole) ?? { count: 0, wrong: 0, ideal: 0, given: 0 };
    row.count++;
    row.wrong += Number(!right);
    row.ideal += lowerTail(-d);
    row.given += Number(confidence >= 0.95);
    byD.set(whole, row);
  }
  out(`\nfaint touches, d uniform from 1 to 9, arriving ${options.arrives}, hum ${options.hum_V * 1e3} mV`);
  out('stated   true   touches');
  for (const { count: n, stated, right } of tenths) {
    if (n > 0) out(`${(stated / n).toFixed(3)}   ${(right / n).toFixed(3)}  ${String(n).padStart(6)}`);
  }
  out('d         wrong     Q(d) of a known shape   given at 0.95');
  for (const [d, row] of [...byD].sort(([a], [b]) => a - b)) {
    out(`${d} to ${d + 1}   ${percent(row.wrong, row.count).padStart(8)}   ${percent(row.ideal, row.count).padStart(8)}   ${
      percent(row.given, row.count).padStart(18)}`);
  }
}

function empty(reader: TouchReader, count: number, seed: number): void {
  const chance = new RandomStream(seed, 'empty');
  let sure = 0;
  let touched = 0;
  for (let i = 0; i < count; i++) {
    const scene: Scene = emptyScene(chance);
    const channels = reader.read(scene.volts_V, scene.rate_Hz, scene.start_s).channels;
    const worst = channels.reduce((a, b) => (a.touchLogOdds > b.touchLogOdds ? a : b));
    if (worst.touchLogOdds > 3) touched++;
    if (worst.touchLogOdds > 3 && confidenceOf(worst) > 0.95) sure++;
  }
  out(`\nnobody touched: taken for a touch ${percent(touched, count)}, with a sign at 0.95 ${percent(sure, count)}`);
}

if (import.meta.main) print(process.argv.slice(2));
