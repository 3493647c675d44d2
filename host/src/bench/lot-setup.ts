/** What the person says once per lot: which clips carry leads of which colour, what kind of pickup it is, what its places are called. */
import { CLIP_COUNT } from '../logic/layout.generated.ts';
import { BARE, isColour } from '../wiremap/colours.ts';
import type { BenchSetup } from '../evidence/collect.ts';
import type { BenchClip, BenchKind } from '../files/bench-record.ts';

/** Kinds as a person chooses them, with the places that usually go with them. */
/** A cover is asked for where a coil has no sibling to be compared with: alone, its loss and that of shorted turns look the same. */
export const KINDS: readonly {
  readonly kind?: BenchKind; readonly covered?: boolean; readonly words: string; readonly places: readonly string[];
}[] = [
  { words: 'not known', places: ['upper', 'lower'] },
  { kind: 'single', covered: false, words: 'one coil, no metal cover', places: ['single'] },
  { kind: 'single', covered: true, words: 'one coil under a metal cover', places: ['single'] },
  { kind: 'side_by_side', words: 'two coils side by side', places: ['upper', 'lower'] },
  { kind: 'three', words: 'three coils', places: ['upper', 'middle', 'lower'] },
  { kind: 'stacked', words: 'two coils stacked', places: ['top'] },
];

/** What stands in the form: all text, as typed. */
export type LotForm = {
  /** What the lot is called; one of the same name and set-up goes on where it stands. */
  readonly name: string;
  readonly kind: number;
  readonly places: string;
  /** One text per clip: a colour code, empty for a lead of no noted colour, `-` for no lead. */
  readonly leads: readonly string[];
  /** How many pickups there are, as typed; '' when nobody has counted. */
  readonly count: string;
  /** The field that has the cursor: 0 name, 1 kind, 2 places, 3.. the clips, then how many. */
  readonly field: number;
};

/** Fields before those of the clips. */
const [NAME_AT, KIND_AT, PLACES_AT] = [0, 1, 2];
export const LEADS_AT = 3;
/** The field behind those of the clips. */
export const COUNT_AT = LEADS_AT + CLIP_COUNT;
/** Longest name of a lot. */
const NAME_MOST = 60;

export function emptyForm(name = ''): LotForm {
  return { name, kind: 0, places: KINDS[0].places.join(', '), leads: ['', '', '', '', '-', '-'], count: '', field: 0 };
}

/**
 * The form as it was filled in for the last lot, so that one key goes on with it.
 * @param name - of that lot @param setup - what was said of it, as JSON; '' when there is none
 * @param size - how many pickups it has, 0 when nobody has counted @param fresh - name of a new lot
 */
export function formOf(name: string, setup: string, size: number, fresh: string): LotForm {
  if (name === '' || setup === '') return emptyForm(fresh);
  const { kind, covered, places, clips } = JSON.parse(setup) as BenchSetup;
  const known = KINDS.findIndex((one) => one.kind === kind && one.covered === covered);
  const leads = emptyForm().leads.map((_, index) => {
    const lead = clips.find(({ clip }) => clip === index + 1);
    return lead === undefined ? '-' : (lead.colour ?? '');
  });
  return { name, kind: Math.max(0, known), places: places.join(', '), leads, count: size === 0 ? '' : String(size), field: 0 };
}

/** Names in a comma-separated list, without blanks or repeats. */
export function placeNames(text: string): string[] {
  return [...new Set(text.split(',').map((name) => name.trim()).filter((name) => name !== ''))];
}

/** The finished set-up, or the sentence that says what is wrong. */
export function readForm(form: LotForm): BenchSetup | { readonly wrong: string } {
  if (form.name.trim() === '' || form.name.length > NAME_MOST) {
    return { wrong: `Lot: "${form.name}" is no name; expected 1 to ${NAME_MOST} letters, such as box 3.` };
  }
  const count = form.count.trim();
  if (!/^(\d{1,4})?$/.test(count)) return { wrong: `How many: "${form.count}" is no count of pickups; expected 1 to 9999, or nothing when nobody has counted.` };
  const places = placeNames(form.places);
  if (places.length === 0 || places.length > 6) {
    return { wrong: `Places: "${form.places}" names ${places.length}; expected 1 to 6 names with commas between them.` };
  }
  const clips: BenchClip[] = [];
  for (const [index, text] of form.leads.entries()) {
    const code = text.trim().toUpperCase();
    if (code === '-') continue;
    if (code !== '' && !isColour(code)) {
      return { wrong: `Clip ${index + 1}: "${text}" is no colour code; expected one like BU, RDBU or BARE, nothing, or - for no lead.` };
    }
    clips.push(code === '' ? { clip: index + 1 } : { clip: index + 1, colour: code });
  }
  if (clips.length < 2) return { wrong: `Only ${clips.length} of the ${CLIP_COUNT} clips carries a lead; expected 2 at least.` };
  const { kind, covered } = KINDS[form.kind];
  return {
    ...(kind === undefined ? {} : { kind }),
    ...(covered === undefined ? {} : { covered }),
    places,
    clips,
  };
}

/** How many pickups a form that `readForm` takes says there are; 0 when nobody has counted. */
export function countOf({ count }: LotForm): number {
  return Number(count.trim());
}

/** Asks for a spare clip on the metal, where none is said to be there; null when one is, or none is free. */
export function metalHint({ leads }: LotForm): string | null {
  const codes = leads.map((text) => text.trim().toUpperCase());
  const free = codes.indexOf('-');
  if (codes.includes(BARE) || free < 0) return null;
  return `Clip ${free + 1} is free: hold it to plate or cover for a moment (no solder) and write BARE, or the wiring cannot say whether metal is tied to a lead.`;
}

/** A key that edits the form. */
export type FormKey =
  | { readonly type: 'move'; readonly by: 1 | -1 }
  | { readonly type: 'choose'; readonly by: 1 | -1 }
  | { readonly type: 'erase' }
  | { readonly type: 'text'; readonly text: string };

/** The form after a key. Changing the kind also proposes its places. */
export function editForm(form: LotForm, key: FormKey): LotForm {
  const fields = COUNT_AT + 1;
  if (key.type === 'move') return { ...form, field: (form.field + key.by + fields) % fields };
  if (form.field === KIND_AT) {
    if (key.type !== 'choose') return form;
    const kind = (form.kind + key.by + KINDS.length) % KINDS.length;
    return { ...form, kind, places: KINDS[kind].places.join(', ') };
  }
  const edit = (text: string): string =>
    key.type === 'erase' ? text.slice(0, -1) : key.type === 'text' ? text + key.text : text;
  if (form.field === NAME_AT) return { ...form, name: edit(form.name) };
  if (form.field === PLACES_AT) return { ...form, places: edit(form.places) };
  if (form.field === COUNT_AT) return { ...form, count: edit(form.count) };
  const at = form.field - LEADS_AT;
  return { ...form, leads: form.leads.map((text, index) => (index === at ? edit(text) : text)) };
}
