/** What a person at the jack is told to do, and what the tester does meanwhile. */
import { stepWords } from '../bench/prompts.ts';
import type { Harness } from '../harness/harness.ts';
import { settingInWords } from '../harness/settings-in-words.ts';
import { Light, Step } from '../logic/layout.generated.ts';
import type { SwingWord } from '../proof/differences.ts';
import { CAUTIONS } from '../text/cautions.ts';
import type { State } from '../transport/reports.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import type { JackStep } from './jack-steps.ts';

/** A setting, and which part of its places. */
export function stepInWords({ names, part }: JackStep): string {
  const setting = Object.keys(names).length === 0 ? 'the only setting' : settingInWords(names);
  return part === null ? setting : `${setting}, places ${part.at} of ${part.of}`;
}

/** The same below the names of the switches. */
export function stepInShort({ names, part }: JackStep): string {
  const setting = Object.values(names).join(', ') || 'the only one';
  return part === null ? setting : `${setting}, ${part.at} of ${part.of}`;
}

/** Where the switches go. */
export function switchWords({ names }: JackStep): string {
  const each = Object.entries(names).map(([id, position]) => `${id} to ${position}`);
  return each.length === 0 ? 'There is no switch to set.' : `Set ${listInWords(each)}.`;
}

/** Where the pots go, by what the plan reckons with. */
export function potWords({ parts = [] }: Harness): string {
  const turned = (wanted: (turn: number) => boolean): string[] =>
    parts.flatMap((part) => (part.kind === 'pot' && wanted(part.turn ?? 1) ? [part.id] : []));
  const [up, down] = [turned((turn) => turn === 1), turned((turn) => turn === 0)];
  const between = parts.flatMap((part) => (part.kind === 'pot' && ![0, 1].includes(part.turn ?? 1) ? [`${part.id} at ${Math.round(100 * part.turn!)} % of its way`] : []));
  const each = [...(up.length > 0 ? [`${listInWords(up)} fully up`] : []), ...(down.length > 0 ? [`${listInWords(down)} fully down`] : []), ...between];
  return each.length === 0 ? '' : `Turn ${each.join(', ')}.`;
}

/** What is said before the first reading. */
export function beforeWords(harness: Harness): string[] {
  return [
    'Pull the cable out of the jack and unplug the amplifier; take the battery out where there is one.',
    `Clip 1 at hot of the jack (the tip), clip 2 at its ground (the sleeve). ${potWords(harness)}`.trimEnd(),
    'For each setting: put the switches as told, press the button of the tester (or Enter), then touch each place with plain steel as it is asked for, those that should sound and those that should not.',
    'Each reading stands in the list at once. A setting may be read again, which adds to it, or left out.',
    '',
    'Cautions',
    ...CAUTIONS.map((text) => `  - ${text}`),
    '  - Never clip on anything that is wired to an amplifier or to the mains.',
  ];
}

/** Several places, each with its sign. */
function signed(places: readonly string[], sign: string): string {
  return listInWords(places.map((place) => `${place} (${sign})`));
}

/** What sounds, and with which sign against each other. */
export function signWords(heard: readonly { readonly at: string; readonly swing: SwingWord | null }[]): string {
  const named = (word: SwingWord | null): string[] => [...new Set(heard.filter(({ swing }) => swing === word).map(({ at }) => at))];
  const [up, down] = [named('positive'), named('negative')];
  const unclear = named(null).length === 0 ? '' : ` Which way ${listInWords(named(null))} swings was not clear.`;
  const clear = [...new Set([...up, ...down])];
  if (clear.length === 0) return unclear.trim();
  if (up.length > 0 && down.length > 0) {
    const both = up.filter((place) => down.includes(place));
    if (both.length > 0) return `${listInWords(both)} swung one way once and the other way another time: touch again.${unclear}`;
    return `Sounds: ${signed(up, '+')} against ${signed(down, '-')}.${unclear}`;
  }
  const all = up.length > 0 ? signed(up, '+') : signed(down, '-');
  return `Sounds: ${all}${clear.length > 1 ? ', in phase' : ''}.${unclear}`;
}

/** What a person is to do while a reading is under way.
 * @param isExpected - whether something should be heard at the place; null where nobody knows
 * @param silenceLeft_s - until the button says that a touch was not heard
 * @param isVirtual - a key stands for the hand
 */
export function askWords(
  state: State, places: readonly string[], isExpected: boolean | null, silenceLeft_s: number, isVirtual: boolean,
): string {
  const place = places[state.place] ?? `place ${state.place + 1}`;
  if (state.step === Step.asleep) return `The tester sleeps, its current off; press the button (Enter), and it asks again for steel at ${place}.`;
  switch (state.light) {
    case Light.touch: {
      const again = state.ask > 0 ? 'Once more, firmly: touch' : 'Touch';
      const key = isVirtual ? ' (press t)' : '';
      const left = Math.ceil(silenceLeft_s);
      const press = left > 0 ? `press the button (Enter) when 10 s are over (${left} s left); before that it passes the place over` : 'press the button (Enter)';
      const silent = isExpected === false ? `It should stay silent: then ${press}.` : `${isExpected ? 'It should sound. ' : ''}Nothing heard? Then ${press}.`;
      return `${again} ${place} with plain steel, hold it there, then lift${key}. ${silent}`;
    }
    case Light.lift: return 'Lift the steel away.';
    case Light.waiting: return 'The tester waits for this program to take what it measured.';
    case Light.trap: return 'The tester stopped itself and switched its current off; unplug it, plug it in and start again.';
    default: return `Hands off: ${stepWords(state.step)}.`;
  }
}
