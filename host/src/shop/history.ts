/** What happened to a pickup, in lines. */
import type { LocalTime } from '../records/list-text.ts';
import type { PickupDetail } from '../records/searching.ts';
import { standingInWords, stateInWords } from '../records/states.ts';
import { printable } from '../text/printable.ts';

/** The newest first. */
export function historyLines({ tests, events, added }: PickupDetail, local: LocalTime): string[] {
  const told = [
    ...tests.map(({ test, taken, verdict, doubt, isBroken, isWithdrawn }) => ({
      at: taken ?? '', text: `test ${test}: ${isBroken ? 'broken off' : standingInWords(verdict ?? '', doubt)}${isWithdrawn ? ', withdrawn' : ''}`,
    })),
    ...events.filter(({ kind }) => kind !== 'withdraw').map(({ at, kind, text }) => ({
      at, text: kind === 'note' ? text : kind === 'state' ? `is ${stateInWords(text)}` : `has number ${text}`,
    })),
    { at: added, text: 'came in' },
  ].sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : 0));
  return told.map(({ at, text }) => `${printable(local(at))}  ${printable(text)}`);
}
