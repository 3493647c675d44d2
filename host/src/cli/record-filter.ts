/** Options by which lists of tests and of the stock are narrowed, the same for every command that lists. */
import { printable } from '../text/printable.ts';
import { FILTER_NAMES, FilterFault, readFilter as filterOf } from '../records/filter.ts';
import type { Filter } from '../records/searching.ts';
import { STATES } from '../records/states.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import type { OptionSpec, Parsed } from './options.ts';

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

In place of good stands, as on the pickup's label, what is still to be minded: "touch again" where a plus is only likely, "warning" where
findings are to be read first, "see its map" where the list cannot tell. --state good and --verdict good find those too; JSON and CSV tell
it beside the state, as doubt: likely, warning, untold or nothing.
`;

/** @param command - for messages @throws UserError */
export function readFilter(command: string, { options }: Parsed): Filter {
  const texts = Object.fromEntries(FILTER_NAMES.flatMap((name) => {
    const text = options.get(`--${name}`);
    return text === undefined ? [] : [[name, text]];
  }));
  try {
    return { ...filterOf(texts), ...(options.has('--virtual') ? { withVirtual: true } : {}) };
  } catch (error) {
    if (!(error instanceof FilterFault)) throw error;
    throw new UserError(`${command}: --${error.of}: ${error.message}`, EXIT.usage);
  }
}

/** How many lines are wanted; null for all. @throws UserError */
export function readMost(command: string, { options }: Parsed): number | null {
  const most = options.get('--most') as string | undefined;
  if (most === undefined) return null;
  if (!/^[1-9]\d{0,8}$/.test(most))
    throw new UserError(`${command}: --most: "${printable(most, 60)}" is no count; expected a whole number above 0`, EXIT.usage);
  return Number(most);
}
