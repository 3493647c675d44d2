/**
 * What a wire map and the wiring drawn from it get wrong about plus and minus, measured on the true pickup: the leads are
 * joined as the plan says, a coil is touched, and the voltage that stands at the output is computed.
 */
import { wiringPlan } from '../../host/src/wiring/plan.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import type { LotPickup } from '../lots/generator.ts';
import { positiveAtTo } from '../lots/generator.ts';
import type { Truth } from '../lots/truth.ts';
import { LeadNetwork } from '../lots/lead-network.ts';

/** A coil counts as sounding from this share of the one that sounds most. */
const SOUNDS = 0.55;
/** Less than this share of any coil's voltage is nothing. */
const SOUNDS_least = 0.02;

export interface WrongWord {
  readonly what: 'sign' | 'wiring' | 'good';
  /** How sure the map was of it. */
  readonly confidence: number;
  readonly text: string;
}

/** The wrong plus and minus of a map. */
export function wrongWords({ pickup, family }: LotPickup, truth: Truth, map: WireMap): WrongWord[] {
  const network = new LeadNetwork(pickup);
  // Steel reaches the outer one of stacked coils only.
  const reached = pickup.coils.map((_, index) => family !== 'stacked' || index === 0);
  const senses = (plus: number, minus: number, of: LeadNetwork): number[] => {
    const gains = of.gains(plus, minus).map((gain, index) => (reached[index]! ? gain : 0));
    const most = Math.max(...gains.map(Math.abs));
    if (most < SOUNDS_least) return [];
    const sense = (index: number): number => (positiveAtTo(pickup.coils[index]!) ? 1 : -1);
    return gains.map((gain, index) => (Math.abs(gain) > SOUNDS * most ? Math.sign(gain) * sense(index) : 0));
  };
  const wrong: WrongWord[] = [];
  for (const { name, plus, minus, confidence = 1 } of map.coils) {
    if (plus === null || minus === null) continue;
    // Of a stretch that is there the truth names plus; across any other pair of leads no coil may lower it.
    const [high, low] = [plus, minus].map((clip) => truth.representative.get(clip));
    const real = truth.coils.find(({ ends }) => ends.includes(high!) && ends.includes(low!) && high !== low);
    const isWrong = real === undefined || real.outOfReach ? senses(plus, minus, network).includes(-1) : real.plus !== high;
    if (isWrong) wrong.push({ what: 'sign', confidence, text: `${name}: + ${plus}, - ${minus}` });
  }
  if (family === 'stacked') return wrong;
  const plan = wiringPlan(map);
  for (const layout of plan.layouts) {
    // Of a coil whose plus is not known nothing is promised: neither which way it goes nor, since no touch has shown it, what it gives.
    if (layout.unsigned) continue;
    const joined = new LeadNetwork(pickup);
    for (const clips of [layout.hot, [...layout.ground, ...map.chassis], ...layout.links]) join(joined, clips);
    const [hot, ground] = [layout.hot[0]!, layout.ground[0]!];
    const all = senses(hot, ground, joined).filter((sense) => sense !== 0);
    const wanted = layout.reversed ? -1 : 1;
    if (all.every((sense) => sense === wanted)) continue;
    const coils = map.coils.filter(({ name }) => layout.coils.includes(name));
    wrong.push({
      what: 'wiring', confidence: Math.min(...coils.map(({ confidence = 1 }) => confidence)),
      text: `${layout.kind} of ${layout.coils.join(', ')}: hot ${layout.hot}, ground ${layout.ground}`,
    });
  }
  if (map.verdict === 'good' && wrong.length > 0) wrong.push({ what: 'good', confidence: wrong[0]!.confidence, text: 'verdict good' });
  return wrong;
}

function join(network: LeadNetwork, clips: readonly number[]): void {
  for (const clip of clips.slice(1)) {
    const [tail, head] = [network.clips.get(clips[0]!)!, network.clips.get(clip)!];
    if (tail !== head) network.stretches.push({ tail, head, ohm: 0.01, coil: -1, share: 0 });
  }
}
