import { describe, expect, it } from 'vitest';
import { COUNT_AT, countOf, editForm, emptyForm as unnamed, formOf, KINDS, readForm } from './lot-setup.ts';

const emptyForm = () => unnamed('box 3');
const typed = (text: string, field: number) =>
  [...text].reduce((form, one) => editForm(form, { type: 'text', text: one }), { ...emptyForm(), field, places: '' });

describe('what is said once per lot', () => {
  it('takes four leads of no noted colour and two places when nothing is changed', () => {
    expect(readForm(emptyForm())).toEqual({
      places: ['upper', 'lower'], clips: [{ clip: 1 }, { clip: 2 }, { clip: 3 }, { clip: 4 }],
    });
  });

  it('proposes the places of the chosen kind', () => {
    const form = { ...emptyForm(), kind: KINDS.findIndex(({ kind }) => kind === 'side_by_side'), field: 1 };
    expect(readForm(editForm(form, { type: 'choose', by: 1 }))).toMatchObject({ kind: 'three', places: ['upper', 'middle', 'lower'] });
  });

  it('says of a single coil whether metal covers it', () => {
    const covers = KINDS.map((_, kind) => readForm({ ...emptyForm(), kind })).filter((setup) => 'kind' in setup && setup.kind === 'single');
    expect(covers).toMatchObject([{ covered: false }, { covered: true }]);
  });

  it('lists the clips that carry leads, colours in capitals', () => {
    expect(readForm({ ...emptyForm(), leads: ['bu', 'VTBU', '-', '', 'BARE', '-'] })).toMatchObject({
      clips: [{ clip: 1, colour: 'BU' }, { clip: 2, colour: 'VTBU' }, { clip: 4 }, { clip: 5, colour: 'BARE' }],
    });
  });

  it('says what is wrong in one sentence that names the field', () => {
    expect(readForm({ ...emptyForm(), leads: ['BLUE', '', '-', '-', '-', '-'] }))
      .toEqual({ wrong: expect.stringMatching(/^Clip 1: "BLUE" is no colour code; expected/) });
    expect(readForm({ ...emptyForm(), leads: ['', '-', '-', '-', '-', '-'] })).toHaveProperty('wrong');
    expect(readForm(typed(' , ', 2))).toHaveProperty('wrong');
  });

  it('types into the field that has the cursor, and nowhere else', () => {
    expect(typed('neck, bridge', 2).places).toBe('neck, bridge');
    expect(editForm({ ...emptyForm(), field: 7 }, { type: 'erase' }).leads[4]).toBe('');
    expect(editForm({ ...emptyForm(), field: COUNT_AT }, { type: 'move', by: 1 }).field).toBe(0);
    expect(typed('12', COUNT_AT)).toMatchObject({ count: '12' });
  });

  it('stands as it was filled in for the last lot, so that it goes on with one key; a lot has a name', () => {
    const form = { ...emptyForm(), kind: 2, places: 'single', leads: ['BU', '', '-', '-', 'BARE', '-'], count: '12' };
    const setup = readForm(form);
    expect(formOf('box 3', JSON.stringify(setup), 12, 'new')).toEqual(form);
    expect(readForm(formOf('box 3', JSON.stringify(setup), 12, 'new'))).toEqual(setup);
    expect(formOf('', '', 0, 'lot of 2026-03-14').name).toBe('lot of 2026-03-14');
    expect([countOf(form), countOf(emptyForm())]).toEqual([12, 0]);
    expect(readForm({ ...form, count: '-3' })).toEqual({ wrong: expect.stringMatching(/^How many: "-3" is no count of pickups; expected/) });
    expect(readForm({ ...form, name: ' ' })).toEqual({ wrong: expect.stringMatching(/^Lot: .* is no name; expected/) });
  });
});
