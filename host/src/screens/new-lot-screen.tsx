/** The form that is filled once per lot on an attached tester. */
import { COUNT_AT, KINDS, LEADS_AT, metalHint, type LotForm } from '../bench/lot-setup.ts';
import { wrap } from '../text/wrap.ts';
import { bold, footLines, headLines, pageOf, plain, roomBetween, windowFrom, type PageLine } from './page.tsx';

const KEYS = [
  { key: 'up/down', does: 'line' }, { key: 'left/right', does: 'kind' }, { key: 'enter', does: 'to the bench' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' },
];
const WORDS = 'Type places with commas and lead colours as codes (BU, RDBU, BARE), nothing for a colour not noted, - for no lead. '
  + 'How many may stay empty. A lot of the same name and set-up goes on where it stands.';

/** The screen, line by line; where rows are few what explains gives way to the lines that are filled in. */
export function newLotLines(form: LotForm, wrong: string | null, serial: string, columns: number, rows: number): PageLine[] {
  const field = (label: string, text: string, at: number): PageLine => {
    const line = `${form.field === at ? '>' : ' '} ${label.padEnd(10)}${text}${form.field === at ? '_' : ''}`;
    return form.field === at ? bold(line) : plain(line);
  };
  const fields = [
    field('lot', form.name, 0), field('pickup', `< ${KINDS[form.kind]!.words} >`, 1), field('places', form.places, 2),
    ...form.leads.map((text, index) => field(`clip ${index + 1}`, text, LEADS_AT + index)), field('how many', form.count, COUNT_AT),
  ];
  const hint = metalHint(form);
  const head = headLines(`tester ${serial}`, 'a lot', columns);
  const foot = footLines({ ask: null, message: wrong, keys: KEYS }, columns);
  const room = roomBetween(head, foot, rows);
  const from = windowFrom(fields.length, form.field, room);
  const told = [...(hint === null ? [] : ['', ...wrap(hint, columns, 0)]), '', ...wrap(WORDS, columns, 0)].map(plain);
  return pageOf(head, [...fields.slice(from, from + room), ...told], foot, rows);
}
