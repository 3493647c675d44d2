/** The entry by meters on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useRef, useState } from 'react';
import { COMMANDS, type EntrySession } from '../entry/session.ts';
import { ENTRY_PANELS, entryView, type EntryPanel } from '../entry/view.ts';
import { EntryScreen, entryScrollRange } from './entry-screen.tsx';
import { useKeys } from './keys.ts';
import { scrolled } from './scroll.ts';

/** Asked before readings are left that would still tell something. */
const LEAVE = 'End here, with what was read so far? Press y, or n to go on';

/** Whether one key is the whole answer, so that nobody has to press Enter behind it. */
function isWhole({ prompt }: EntrySession, letter: string): boolean {
  if (letter === COMMANDS.back || letter === COMMANDS.help) return true;
  const isCommand = letter === COMMANDS.correct || letter === COMMANDS.skip;
  if (prompt.kind === 'doubt') return letter === 'y' || letter === 'n';
  if (prompt.kind === 'done') return letter === COMMANDS.correct;
  if (prompt.kind !== 'reading') return false;
  if (isCommand) return true;
  if (prompt.ask.kind === 'compass') return letter === 'n' || letter === 's';
  return prompt.ask.kind === 'swing' && !prompt.ask.wantsSize && ['+', '-', '0'].includes(letter);
}

interface State {
  /** What stands in the line so far. */
  typed: string;
  /** Why the last line was not taken, or what is asked before leaving. */
  wrong: string | null;
  panel: EntryPanel;
  scroll: number;
  leaving: boolean;
  /** Kinds of readings that were explained. */
  readonly explained: Set<string>;
}

/** Sends keys to the session and draws its view.
 * @param onEnd - the person is done, and the session holds what was read; says why that could not be kept, or null
 * @param onHelp - left out where there is no help beside the panel that says how a reading is taken
 */
export function EntryApp({ session, onEnd, onHelp }: {
  readonly session: EntrySession; readonly onEnd: () => Promise<string | null>; readonly onHelp?: () => void;
}): JSX.Element {
  const { columns, rows } = useWindowSize();
  const [, redraw] = useState(0);
  // Keys that are typed fast arrive together, before anything is drawn again.
  const state = useRef<State>({ typed: '', wrong: null, panel: 'how', scroll: 0, leaving: false, explained: new Set() }).current;

  /** The first reading of a kind is explained; afterwards what was read is of more use, and at the end the map. */
  const turnPanel = (): void => {
    const { prompt } = session;
    state.scroll = 0;
    if (prompt.kind === 'done') state.panel = 'map';
    else if (prompt.kind === 'reading' && !state.explained.has(prompt.ask.kind)) {
      state.explained.add(prompt.ask.kind);
      state.panel = 'how';
    } else if (prompt.kind === 'reading') state.panel = 'readings';
  };
  const leave = (): void => void onEnd().then((trouble) => {
    Object.assign(state, { leaving: false, wrong: trouble });
    redraw((count) => count + 1);
  });
  const end = (): void => {
    if (session.isDone || session.isEmpty) leave();
    else Object.assign(state, { leaving: true, wrong: LEAVE });
  };
  const enter = (line: string): void => {
    state.typed = '';
    const { wrong, ended, wantsHelp } = session.type(line);
    state.wrong = wrong;
    if (wantsHelp) {
      if (onHelp !== undefined) return onHelp();
      Object.assign(state, { panel: 'how', scroll: 0 });
    } else if (wrong === null) turnPanel();
    if (ended) end();
  };
  const letter = (one: string): void => {
    if (state.leaving) {
      if (one === 'y') return leave();
      Object.assign(state, { leaving: false, wrong: null });
    } else if (state.typed === '' && one === COMMANDS.end) end();
    else if (state.typed === '' && isWhole(session, one)) enter(one);
    else state.typed += one;
  };
  const view = entryView(session, state.typed, state.wrong, state.panel);
  useKeys((press) => {
    const { most, page } = entryScrollRange(view, columns, rows);
    const turn = (by: number): void => { state.scroll = scrolled(state.scroll, by, most); };
    const turnTo = (by: number): void => {
      state.panel = ENTRY_PANELS[(ENTRY_PANELS.indexOf(state.panel) + by + ENTRY_PANELS.length) % ENTRY_PANELS.length]!;
      state.scroll = 0;
    };
    if ('letter' in press) letter(press.letter);
    else switch (press.name) {
      case 'enter': if (!state.leaving) enter(state.typed); break;
      case 'esc': if (state.typed !== '') state.typed = ''; else if (!state.leaving) end(); break;
      case 'tab': turnTo(1); break;
      case 'backtab': turnTo(-1); break;
      case 'up': turn(-1); break;
      case 'down': turn(1); break;
      case 'pageup': turn(-page); break;
      case 'pagedown': turn(page); break;
      case 'erase': state.typed = state.typed.slice(0, -1); break;
    }
    redraw((count) => count + 1);
  });
  return <EntryScreen view={view} columns={columns} rows={rows} scroll={state.scroll} />;
}
