/**
 * Shorted turns by the ring: pairs, three of a kind and single coils through whole tests on the board twin, found and false, by the
 * fraction of turns and by R/R_E; and how far the ring's numbers are off. Like coils lie 10 % apart in loss and 3 % in inductance (one sigma).
 */
import { createLogic } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { testOnTwin } from '../lots/twin-lot.ts';
import { ringPickup, type RingCoil } from '../lots/ring-pickup.ts';

const FRACTIONS = [0, 0.01, 0.02, 0.05, 0.1];
const LOSS_APART = 0.1;
const HENRY_APART = 0.03;
/** Upper ends of the classes of R/R_E. */
const CLASSES = [0.014, 0.03, 0.05, 0.1, 0.2];

interface Row {
  count: number;
  /** Told as shorted turns, or as a loss that differs; of which the first. */
  found: number;
  asTurns: number;
}

/** @param args - [N] [SEED], N of each kind */
export async function print(args: readonly string[]): Promise<void> {
  const count = Number(args[0] ?? 200);
  const seed = Number(args[1] ?? 1);
  const chance = new RandomStream(seed, 'rings');
  const rows = new Map<string, Row>();
  const errors = { capacitance_pF: [] as number[], loss: [] as number[] };
  const covered = { within: 0, of: 0 };
  let missing = 0;
  const add = (key: string, { told, turns }: { readonly told: boolean; readonly turns: boolean }): void => {
    const row = rows.get(key) ?? { count: 0, found: 0, asTurns: 0 };
    row.count += 1;
    if (told) row.found += 1;
    if (turns) row.asTurns += 1;
    rows.set(key, row);
  };
  const logic = createLogic();
  console.log(`rings: seed ${seed}, ${count} pairs, threes and single coils for each of ${FRACTIONS.map((f) => `${100 * f} %`).join(', ')}`);
  for (const kind of ['pair', 'three', 'alone'] as const) {
    for (const fraction of FRACTIONS) {
      for (let n = 0; n < count; n++) {
        const hasCover = kind !== 'alone' && chance.unit() < 0.25;
        const ohm = kind === 'alone' ? chance.between(2500, 10_000) : chance.between(3000, 9000);
        const henry = (ohm / 4100) * 2.2 * chance.between(0.8, 1.3);
        const loss_ohm = hasCover ? chance.betweenLog(3e4, 1e5) : chance.betweenLog(1e5, 1e6);
        const picofarad = chance.between(50, 160);
        const half = 1 / Math.SQRT2;
        const drawn = (): RingCoil => ({
          ohm: ohm * (1 + 0.005 * chance.gaussian()),
          henry: henry * Math.exp(HENRY_APART * half * chance.gaussian()),
          picofarad,
          loss_ohm: loss_ohm * Math.exp(LOSS_APART * half * chance.gaussian()),
        });
        // A coil that stands alone is told against the least that bare coils lose: none of them loses more.
        const coils = kind === 'alone' ? [{ ...drawn(), loss_ohm }] : Array.from({ length: kind === 'pair' ? 2 : 3 }, drawn);
        coils[0] = { ...coils[0]!, shorted: fraction };
        const { outcome } = await testOnTwin(ringPickup(coils, chance.between(0.05, 0.2)), seed * 1000 + n, logic);
        const map = outcome.map;
        if (map === null || map.coils.some(({ loss_s }) => loss_s === undefined)) missing += 1;
        const turns = map?.findings.some((finding) => finding.kind === 'shorted_turns') ?? false;
        const said = { told: turns || (map?.findings.some((finding) => finding.kind === 'mismatch') ?? false), turns };
        const ratio = ohm / loss_ohm;
        const within = CLASSES.find((most) => ratio <= most) ?? 1;
        if (kind !== 'alone') {
          const due = fraction / (1 - fraction) >= 0.7 * ratio;
          add(`${kind} ${fraction} R/R_E to ${within}`, said);
          if (fraction > 0 && due) add(`${kind}, f/(1-f) from 0.7 R/R_E on`, said);
        } else {
          add(`alone ${fraction} ${ohm <= 5000 ? 'to 5 kilohm' : 'to 10 kilohm'}`, said);
        }
        if (fraction === 0) add(`${kind}, false`, said);
        const last = map?.coils.at(-1);
        if (last?.capacitance_F !== undefined && (kind !== 'alone' || fraction === 0))
          errors.capacitance_pF.push(last.capacitance_F * 1e12 - picofarad);
        if (last?.loss_ohm !== undefined && (kind !== 'alone' || fraction === 0))
          errors.loss.push(last.loss_ohm / coils.at(-1)!.loss_ohm! - 1);
        if (last?.loss_ohm !== undefined && last.u_loss_ohm !== undefined && fraction === 0) {
          covered.of += 1;
          if (Math.abs(last.loss_ohm - coils.at(-1)!.loss_ohm!) <= 2 * last.u_loss_ohm) covered.within += 1;
        }
      }
    }
  }
  for (const [key, { count: of, found, asTurns }] of [...rows].sort(([a], [b]) => (a < b ? -1 : 1)))
    console.log(`${key.padEnd(36)} ${String(found).padStart(5)} of ${String(of).padStart(5)}  ${((100 * found) / of).toFixed(1)} %  (shorted turns ${asTurns})`);
  const spread = (list: readonly number[]): string => {
    const mean = list.reduce((sum, x) => sum + x, 0) / list.length;
    return `${mean.toPrecision(2)} +- ${Math.sqrt(list.reduce((sum, x) => sum + (x - mean) ** 2, 0) / list.length).toPrecision(2)}`;
  };
  console.log(`sound coils: capacitance off by ${spread(errors.capacitance_pF)} pF, loss by ${spread(errors.loss)}, within twice its uncertainty ${covered.within} of ${covered.of}; without a loss ${missing} maps`);
}
