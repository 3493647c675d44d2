/** How far the program's solver of harnesses is from ngspice, over every setting of the examples with all sets of wire maps. */
import { besideNgspice } from '../harness/beside-ngspice.ts';
import { example, exampleNames, SETS, withSet } from '../harness/example-harnesses.ts';

/** The largest of something, and where it was. */
class Worst {
  private size = 0;
  private where = 'nowhere';

  see(size: number, where: string): void {
    if (size > this.size) [this.size, this.where] = [size, where];
  }

  told(percent = true): string {
    return percent ? `${(100 * this.size).toPrecision(2)} % (${this.where})` : `${this.size.toPrecision(2)} (${this.where})`;
  }
}

/** Prints the worst differences; aim: within 0.5 %. */
export function print(): void {
  const [share, ohm, hertz, decibels] = [new Worst(), new Worst(), new Worst(), new Worst()];
  let count = 0;
  for (const name of exampleNames) {
    for (const set of ['own', ...Object.keys(SETS)]) {
      const { settings } = besideNgspice(set === 'own' ? example(name) : withSet(example(name), set));
      for (const { ours, spice } of settings) {
        count++;
        const where = `${name}, ${set}, ${Object.values(ours.setting).join(' ') || 'any'}`;
        for (const one of ours.sounding) {
          const theirs = spice.shares.get(`${one.slot} ${one.coil}`)!;
          share.see(Math.abs(one.share / (one.sense === null ? Math.abs(theirs) : theirs) - 1), where);
        }
        if (ours.ohm !== null && ours.ohm >= 1) ohm.see(Math.abs(ours.ohm / spice.ohm - 1), where);
        if (ours.resonance_Hz === null) continue;
        hertz.see(Math.abs(ours.resonance_Hz / spice.peak.hertz - 1), where);
        decibels.see(Math.abs(ours.resonance_dB! - spice.peak.dB), where);
      }
    }
  }
  process.stdout.write(`ngspice, ${count} settings of ${exampleNames.length} harnesses with ${1 + Object.keys(SETS).length} sets of wire maps (aim 0.5 %); worst difference\n` +
    `  of a share: ${share.told()}\n  of the ohms at the jack: ${ohm.told()}\n  of a resonance: ${hertz.told()}\n  of its height, dB: ${decibels.told(false)}\n`);
}
