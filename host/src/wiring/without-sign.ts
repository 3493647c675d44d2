/**
 * Coils that give a signal but whose plus and minus nobody knows.
 *
 * Alone such a coil can be wired: which of its ends is hot decides its phase and nothing else. Beside another coil it might
 * work against it, so no way with more coils is offered; nor is one of a stretch that holds several, of which the same is true inside.
 */
import { missingPlus, missingPlusInWords } from '../harness/missing-plus.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import type { NotPossible } from './not-possible.ts';
import type { OneSlot, Refused, Wired } from './one-slot.ts';

/** Such a coil, and what its circuit allows. */
export interface Unsigned {
  readonly coil: WireMapCoil;
  readonly made: Wired | Refused;
  /** Hot and ground may as well be exchanged. */
  readonly exchangeable: boolean;
}

/** Why a stretch with a hidden junction waits for its plus. */
const SEVERAL = 'it holds several coils, and whether they work together is not known; test again and touch each place firmly with steel';

/** Every coil without plus and minus that may be wired alone, wired so. @param map - in which inner stacked coils have their ends */
export function unsignedCoils({ coils }: WireMap, circuit: OneSlot): Unsigned[] {
  return coils.filter((coil) => gives(coil) && missingPlus(coil) === 'touch' && coil.hidden_junction !== true).map((coil) => {
    const straight = circuit.attempt([[coil.name]], false);
    const turned = circuit.attempt([[coil.name]], true);
    const made = 'why' in straight ? turned : straight;
    // Where neither is possible the first says why.
    return { coil, made: 'why' in made ? straight : made, exchangeable: !('why' in straight) && !('why' in turned) };
  });
}

function gives({ ends, ohm }: WireMapCoil): boolean {
  return ends !== null && ohm !== null;
}

/** What is not possible with them: one entry for all that a touch would tell. @param alwaysGround - clips of the frame */
export function withoutSign(map: WireMap, unsigned: readonly Unsigned[], alwaysGround: readonly number[]): NotPossible[] {
  const entries: NotPossible[] = map.coils.filter(gives).flatMap((coil) => {
    const { name } = coil;
    const missing = missingPlus(coil);
    if (missing === 'mending') return [{ what: `${name} in any way`, why: missingPlusInWords([{ name, missing }]) }];
    if (missing === 'coupling') return [{ what: `${name} together with the coil above it`, why: innerInWords(coil, map) }];
    if (missing === 'touch' && coil.hidden_junction === true) return [{ what: `${name} in any way`, why: SEVERAL }];
    return [];
  });
  if (unsigned.length === 0) return entries;
  const [its, it] = unsigned.length > 1 ? ['their', 'each'] : ['its', 'it'];
  const alone = unsigned.map((one) => `${unsigned.length > 1 ? `${one.coil.name} alone` : 'alone it'} ${aloneInWords(one, alwaysGround)}`);
  const ends = unsigned.map(({ coil }) => coil.ends!.join(' and ')).join('; ');
  return [
    ...entries,
    {
      what: `${listInWords(unsigned.map(({ coil: { name } }) => name))} together with another coil or pickup`,
      why:
        `${its} plus and minus are not known (${alone.join('; ')}); test again and touch ${it} firmly with steel, ` +
        `or clip a voltmeter to the ends (clips ${ends}): the lead that goes positive as steel arrives is plus`,
    },
  ];
}

/** Why an inner stacked coil has no ends to tell apart. */
function innerInWords({ name }: WireMapCoil, { coils, pairs }: WireMap): string {
  const isMeasured = pairs.some(({ a, b, mutual_H }) => mutual_H !== undefined && [a, b].includes(name));
  if (isMeasured && !coils.some(({ inner, plus }) => inner !== true && plus !== null))
    return 'no steel reaches it, and plus of the coil above it is not known; touch that one firmly with steel';
  return 'no steel reaches it and its coupling with that coil was not measured, so how it takes the hum off is not known; measure the coupling';
}

function aloneInWords({ coil, made, exchangeable }: Unsigned, alwaysGround: readonly number[]): string {
  const framed = coil.ends!.filter((clip) => alwaysGround.includes(clip));
  if (framed.length > 1) return 'gives nothing, both its ends being on the frame';
  if ('why' in made) return `is not possible, since ${made.why}`;
  if (exchangeable) return 'works either way round';
  if (framed.length === 1) return `works with clip ${framed[0]}, tied to the frame, at ground`;
  return `works with clip ${coil.ends!.find((clip) => made.ground.includes(clip))} at ground`;
}
