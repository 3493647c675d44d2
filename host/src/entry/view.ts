/** What a screen of the entry shows, finished: words and readings, no decisions left to the components. */
import type { WireMap } from '../wiremap/wiremap.ts';
import type { Ask } from './reading.ts';
import { COMMANDS, type EntrySession } from './session.ts';
import type { Lead, TypedOhms } from './values.ts';
import { answeredInWords, HOW, promptInWords, READING_CAUTIONS } from './words.ts';

/** What stands in the lower panel. */
export const ENTRY_PANELS = ['how', 'readings', 'map'] as const;
export type EntryPanel = (typeof ENTRY_PANELS)[number];

export interface EntryView {
  /** `4 leads; upper, lower`, '' before that was said. */
  readonly title: string;
  /** The question, what is typed as its answer, and what stands in the line so far. */
  readonly question: string;
  readonly answer: string;
  readonly typed: string;
  /** Why the last line was not taken, or null. */
  readonly wrong: string | null;
  readonly leads: readonly Lead[];
  readonly ohms: readonly { readonly a: number; readonly b: number; readonly value: TypedOhms }[];
  /** The pair that is read now. */
  readonly pair: readonly [number, number] | null;
  readonly panel: EntryPanel;
  readonly how: readonly string[];
  /** Numbered, the oldest first. */
  readonly readings: readonly string[];
  readonly map: WireMap | null;
  readonly isDone: boolean;
  readonly keys: readonly { readonly key: string; readonly does: string }[];
}

/** What a person may press or type at this prompt. */
function keysOf({ prompt, answers }: EntrySession): EntryView['keys'] {
  const key = (name: string, does: string): { key: string; does: string } => ({ key: name, does });
  const back = key(COMMANDS.back, 'back');
  const correct = answers.length > 0 ? [key(COMMANDS.correct, 'correct')] : [];
  const around = [key('Tab', 'panel'), key(COMMANDS.help, 'how'), key(COMMANDS.end, 'end')];
  switch (prompt.kind) {
    case 'leads':
    case 'places':
      return [key('Enter', 'take'), back, ...around];
    case 'reading': {
      const own = { ohms: [key('Enter', 'take')], swing: [key('+ - 0', 'first move')], compass: [key('n s', 'face')] }[prompt.ask.kind];
      return [...own, back, ...correct, key(COMMANDS.skip, 'skip'), ...around];
    }
    case 'doubt':
      return [key('y n', 'answer'), back, ...around];
    case 'which':
      return [key('Enter', 'take'), back, ...around];
    case 'done':
      return [key('Enter', 'the map, kept'), back, ...correct, ...around];
  }
}

/** @param typed - what stands in the line @param wrong - why the last was not taken @param panel - that the person chose */
export function entryView(session: EntrySession, typed: string, wrong: string | null, panel: EntryPanel): EntryView {
  const { prompt, lying, answers, map } = session;
  const [question, answer] = promptInWords(prompt, lying);
  const ask: Ask | null = prompt.kind === 'reading' || prompt.kind === 'doubt' ? prompt.ask : null;
  const isNew = prompt.kind === 'reading' && prompt.of === null;
  const places = lying.places.length === 0 ? '' : `; ${lying.places.join(', ')}`;
  return {
    title: lying.leads.length === 0 ? '' : `${lying.leads.length} leads${places}`,
    question: `${isNew ? `Reading ${answers.length + 1}. ` : ''}${question}`, answer, typed, wrong,
    leads: lying.leads,
    ohms: answers.flatMap(({ ask: one, value }) =>
      (one.kind === 'ohms' && value !== null ? [{ a: one.a, b: one.b, value: value as TypedOhms }] : [])),
    pair: ask === null || ask.kind === 'compass' ? null : ask.kind === 'ohms' ? [ask.a, ask.b] : [ask.plus, ask.minus],
    panel: prompt.kind === 'which' ? 'readings' : panel,
    how: ask === null ? READING_CAUTIONS : HOW[ask.kind],
    readings: answers.map((answered, index) => `${index + 1}  ${answeredInWords(answered)}`),
    map, isDone: prompt.kind === 'done', keys: keysOf(session),
  };
}
