/** The text of an offer: only what was measured, with its uncertainty, and what was not; plain or Markdown, by a template. */
import { printable } from '../text/printable.ts';
import { found, leads, measured, notTested, SIGNS } from './measured.ts';
import { standing } from './standing.ts';
import type { KeptTest, TestedPickup } from './tested-pickup.ts';
import { GIVE_OR_TAKE } from './uncertain.ts';

/** A template that cannot be filled in; the message says why. */
export class TemplateFault extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'TemplateFault';
  }
}

/** What stands for what in a template. */
const FIELDS = ['number', 'title', 'lot', 'date', 'tester', 'standing', 'measured', 'found', 'leads', 'not_tested'] as const;
type Field = (typeof FIELDS)[number];

/** What is used when the shop has no template of its own. */
export const TEMPLATE = {
  plain: `Pickup {number}: {title}
{standing}

Measured on {date} with {tester}
{measured}
${GIVE_OR_TAKE}

Found
{found}

Leads
{leads}
${SIGNS}

Not tested
{not_tested}
`,
  markdown: `## Pickup {number}: {title}

{standing}

### Measured on {date} with {tester}

{measured}

${GIVE_OR_TAKE}

### Found

{found}

### Leads

{leads}

${SIGNS.replace(/^\+/, '\\+')}

### Not tested

{not_tested}
`,
} as const;

/** @param template - with fields such as `{number}` in it @throws TemplateFault */
export function listingText(pickup: TestedPickup & { readonly test: KeptTest }, isMarkdown: boolean, template: string): string {
  const { number, title, lot, isVirtual, test } = pickup;
  const safe = isMarkdown ? markdown : printable;
  const list = (items: readonly string[]): string => (items.length === 0 ? ['nothing'] : items).map((item) => `- ${safe(item)}`).join('\n');
  const { serial } = test.record.tester ?? {};
  const stands = [...(isVirtual ? ['Tested on the virtual bench: nobody has this pickup.'] : []), standing(pickup) ?? 'Nothing found against it.'];
  const values: Readonly<Record<Field, string>> = {
    number: safe(number), title: safe(title), lot: safe(lot), date: safe(test.taken.slice(0, 10)),
    tester: safe(serial === undefined ? 'meters of our own' : `tester ${serial}`), standing: safe(stands.join(' ')),
    measured: list(measured(test)), found: list(found(test)), leads: list(leads(test)), not_tested: list(notTested(test)),
  };
  return template.replace(/\{([^{}\n]*)\}/g, (whole, name: string) => {
    if (!(FIELDS as readonly string[]).includes(name))
      throw new TemplateFault(`${printable(whole, 40)} is no field; expected one of ${FIELDS.map((field) => `{${field}}`).join(', ')}`);
    return values[name as Field];
  });
}

/**
 * A text as Markdown shows it letter by letter: what could be markup has a backslash before it, which any ASCII punctuation may have
 * (CommonMark 0.31.2, 2.4); colons and the point of `www.` too, of which some readers make links. Of an address of mail they make one
 * whatever stands before it: a link to what can be read there, and nothing else.
 */
function markdown(text: string): string {
  return printable(text)
    .replace(/[\\`*_[\]<>&#|~!:{}$^=]/g, '\\$&')
    .replace(/www\./gi, (word) => `${word.slice(0, 3)}\\.`)
    // At the beginning of a line a dash or a number with a point makes a list.
    .replace(/^(\s*)([-+])/, '$1\\$2')
    .replace(/^(\s*\d+)([.)])/, '$1\\$2');
}
