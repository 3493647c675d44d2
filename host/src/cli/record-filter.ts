/** Options by which lists of tests and of the stock are narrowed, the same for every command that lists. */
import { printable } from '../text/printable.ts';
import { searchWords } from '../records/facts.ts';
import type { Filter } from '../records/searching.ts';
import { isState, STATES } from '../records/states.ts';
import { isColour } from '../wiremap/colours.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import { offer, type OptionSpec, type Parsed } from './options.ts';

export const FILTER_OPTIONS: readonly OptionSpec[] = [
  { name: '--number', value: 'NUMBER' }, { name: '--lot', value: 'NAME' }, { name: '--state', value: 'STATE' },
  { name: '--verdict', value: 'VERDICT' }, { name: '--ohms', value: 'FROM..TO' }, { name: '--leads', value: 'COUNT-OR-COLOURS' },
  { name: '--pole', value: 'POLE' }, { name: '--text', value: 'WORDS' }, { name: '--virtual' }, { name: '--most', value: 'COUNT' },
  { name: '--json' }, { name: '--csv' },
];

export const FILTER_HELP = `  --number NUMBER    one shop number; 00* for all that begin so
  --lot NAME         of one lot
  --state STATE      ${STATES.join(', ')}
  --verdict VERDICT  good, fault or unsure
  --ohms FROM..TO    all coils in series; 7k..8.5k, 7000.. or ..9k
  --leads LEADS      how many (4), or colours that are among them (BU,GY)
  --pole POLE        N, S or NS: poles that its coils show
  --text WORDS       beginnings of words in title, lot, colours, findings and notes
  --virtual          tests on the virtual bench too
  --most COUNT       the newest so many; all when left out
  --json, --csv      one line of JSON each, or a table for a spreadsheet
`;

const VERDICTS = ['good', 'fault', 'unsure'];
const OHMS = /^(\d+(?:\.\d+)?)?(k)?\.\.(?:(\d+(?:\.\d+)?)(k)?)?$/i;

/** @param command - for messages @throws UserError */
export function readFilter(command: string, { options }: Parsed): Filter {
  const text = (name: string): string | undefined => options.get(name) as string | undefined;
  const wrong = (name: string, expected: string): UserError =>
    new UserError(`${command}: ${name}: "${printable(text(name) ?? '', 60)}" is not understood; expected ${expected}`, EXIT.usage);
  const [number, lot, state, verdict] = ['--number', '--lot', '--state', '--verdict'].map(text);
  const [ohms, leads, pole, words] = ['--ohms', '--leads', '--pole', '--text'].map(text);
  if (state !== undefined && !isState(state)) throw wrong('--state', `a state; ${offer(state, STATES)}`);
  if (verdict !== undefined && !VERDICTS.includes(verdict)) throw wrong('--verdict', `a verdict; ${offer(verdict, VERDICTS)}`);
  const range = ohms === undefined ? null : OHMS.exec(ohms);
  if (ohms !== undefined && (range === null || ohms === '..')) throw wrong('--ohms', 'two values with .. between them, such as 7k..8.5k');
  const ohm = (digits: string | undefined, kilo: string | undefined): number | undefined =>
    digits === undefined ? undefined : Number(digits) * (kilo === undefined ? 1 : 1000);
  const [ohmLeast, ohmMost] = [ohm(range?.[1], range?.[2]), ohm(range?.[3], range?.[4])];
  if (ohmLeast !== undefined && ohmMost !== undefined && ohmLeast > ohmMost)
    throw wrong('--ohms', 'the smaller value first, such as 7k..8.5k');
  const count = leads !== undefined && /^[1-6]$/.test(leads) ? Number(leads) : undefined;
  const colours = leads !== undefined && count === undefined ? leads.toUpperCase().split(',') : undefined;
  if (colours?.every(isColour) === false) throw wrong('--leads', 'a count from 1 to 6, or colour codes with commas between them, such as BU,GY');
  const poles = pole === undefined ? undefined : [...new Set(pole.toUpperCase())];
  if (poles?.every((one) => one === 'N' || one === 'S') === false) throw wrong('--pole', 'N, S or NS');
  return {
    ...(number === undefined ? {} : { number }), ...(lot === undefined ? {} : { lot }),
    ...(state === undefined ? {} : { state }), ...(verdict === undefined ? {} : { verdict }),
    ...(ohmLeast === undefined ? {} : { ohmLeast }), ...(ohmMost === undefined ? {} : { ohmMost }),
    ...(count === undefined ? {} : { leads: count }), ...(colours === undefined ? {} : { colours }),
    ...(poles === undefined ? {} : { poles: poles as ('N' | 'S')[] }),
    ...(words === undefined ? {} : { words: searchWords(words) }),
    ...(options.has('--virtual') ? { withVirtual: true } : {}),
  };
}

/** How many lines are wanted; null for all. @throws UserError */
export function readMost(command: string, { options }: Parsed): number | null {
  const most = options.get('--most') as string | undefined;
  if (most === undefined) return null;
  if (!/^[1-9]\d{0,8}$/.test(most))
    throw new UserError(`${command}: --most: "${printable(most, 60)}" is no count; expected a whole number above 0`, EXIT.usage);
  return Number(most);
}
