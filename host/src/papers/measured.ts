/** What a test measured, and what it did not, in sentences for whoever buys the pickup. */
import { SURE } from '../wiremap/wiremap.ts';
import { percent } from '../text/percent.ts';
import { colourInWords } from '../wiremap/colours.ts';
import { HIDDEN_END, listInWords } from '../wiremap/lead-words.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import { coilWord, leadRoles } from './lead-roles.ts';
import { shortOhms } from './ohms.ts';
import { giveOrTake } from './uncertain.ts';
import type { KeptTest } from './tested-pickup.ts';

/** What a coil is called in a sentence: `coil 1`, `the coil "upper"`. */
export function coilInWords(coil: WireMapCoil, map: WireMap): string {
  const word = coilWord(coil, map);
  return word === coil.name ? word : `the coil "${word}"`;
}

const capital = (sentence: string): string => sentence.slice(0, 1).toUpperCase() + sentence.slice(1);

/** One sentence for each coil, then what is known of coils together. */
export function measured(test: KeptTest): string[] {
  const { map } = test;
  const pairs = map.pairs.filter(({ poles_differ }) => poles_differ !== null).map(({ a, b, poles_differ }) => {
    const [one, other] = [a, b].map((name) => inWords(name, map));
    return `The magnetic poles of ${one} and ${other} ${poles_differ === true ? 'differ' : 'are equal'}.`;
  });
  return [...map.coils.map((coil) => `${capital(coilInWords(coil, map))}: ${coilFacts(coil, test).join('; ')}.`), ...pairs];
}

function inWords(name: string, map: WireMap): string {
  const coil = map.coils.find((one) => one.name === name);
  return coil === undefined ? name : coilInWords(coil, map);
}

function coilFacts(coil: WireMapCoil, { record, map }: KeptTest): string[] {
  const facts: string[] = [];
  const { ohm, u_ohm, ohm_20C, ends, plus, confidence } = coil;
  if (ohm === null) facts.push(coil.hidden_end === true ? HIDDEN_END : 'its winding is broken');
  else {
    const warmth = record.temperature_C === undefined ? '' : ` at ${record.temperature_C.toFixed(1)} \u00b0C`;
    const at20 = ohm_20C === undefined ? '' : `, which comes to ${shortOhms(ohm_20C)} at 20 \u00b0C`;
    facts.push(`${giveOrTake(ohm, u_ohm, 'ohm')}${warmth}${at20}`);
  }
  const { inductance_H, capacitance_F, u_capacitance_F } = coil;
  if (inductance_H !== undefined) facts.push(`inductance ${giveOrTake(inductance_H, henryUncertainty(record, ends), 'henry')}`);
  if (capacitance_F !== undefined) {
    const u_pF = u_capacitance_F === undefined ? undefined : u_capacitance_F * 1e12;
    facts.push(`capacitance ${giveOrTake(capacitance_F * 1e12, u_pF, 'pF')}`);
  }
  for (const part of coil.hidden_junction === true ? (coil.parts ?? []) : [])
    if (part.pole !== null) facts.push(`at "${part.place}" its face shows magnetic ${poleWord(part.pole)}`);
  if (coil.pole !== null) {
    const isRead = record.magnets?.some(({ at }) => at === coil.place) === true;
    facts.push(`its face shows magnetic ${poleWord(coil.pole)}${isRead ? '' : ' (follows from the other readings)'}`);
  }
  if (plus !== null && confidence !== undefined && confidence < SURE)
    facts.push(`which end is plus is likely and not settled (${percent(confidence)} % sure)`);
  if (map.coils.length > 1 && ends !== null && coil.inner === true) facts.push('it is the inner of two stacked coils');
  return facts;
}

const poleWord = (pole: 'N' | 'S'): string => (pole === 'N' ? 'north' : 'south');

/** Of the one reading that was taken across a coil; of several, or none, nobody can say it here. */
function henryUncertainty({ inductances = [] }: KeptTest['record'], ends: WireMapCoil['ends']): number | undefined {
  const own = inductances.filter(({ plus, minus }) => ends !== null && ends.includes(plus) && ends.includes(minus));
  return own.length === 1 ? own[0]!.u_H : undefined;
}

/** Each lead by its colour: `blue (BU): – upper`. */
export function leads({ map, record, colours }: KeptTest): string[] {
  const clips = record.clips.map(({ clip }) => clip);
  const codes = clips.map((clip) => colours.get(clip));
  return leadRoles(map, clips, colours).map(({ clip, role }) => {
    const code = colours.get(clip);
    const isAlone = codes.filter((other) => other === code).length === 1;
    return `${code !== undefined && isAlone ? colourInWords(code) : `clip ${clip}, ${colourInWords(code)}`}: ${role}`;
  });
}

/** Said once where leads stand. */
export const SIGNS = '+ goes positive and \u2013 negative as steel touches the pole of that coil.';

/** Faults and warnings, as the test told them. */
export function found({ map: { findings } }: KeptTest): string[] {
  return findings.filter(({ severity }) => severity !== 'note').map(({ severity, text }) => `${capital(severity)}: ${text}`);
}

/** What nobody measured, or could not tell; what no such test looks at comes last. */
export function notTested({ map, record }: KeptTest): string[] {
  const { coils } = map;
  const of = (some: readonly WireMapCoil[]): string => listInWords(some.map((coil) => coilInWords(coil, map)));
  const sound = coils.filter(({ ohm }) => ohm !== null);
  const told: string[] = [];
  const tell = (what: string, some: readonly WireMapCoil[]): void => void (some.length > 0 && told.push(`${what} of ${of(some)}.`));
  tell('Which end is plus', sound.filter(({ plus }) => plus === null));
  tell('The magnetic pole', coils.filter(({ pole, hidden_junction }) => pole === null && hidden_junction !== true));
  tell('Magnetic poles inside', coils.filter(({ hidden_junction, parts }) => (
    hidden_junction === true && ((parts ?? []).length === 0 || parts!.some(({ pole }) => pole === null)))));
  tell('The inductance', sound.filter(({ inductance_H }) => inductance_H === undefined));
  tell('The capacitance', sound.filter(({ capacitance_F }) => capacitance_F === undefined));
  for (const { a, b, poles_differ } of map.pairs)
    if (poles_differ === null) told.push(`Whether the magnetic poles of ${inWords(a, map)} and ${inWords(b, map)} differ.`);
  const [read, all] = [pairsRead(record), (record.clips.length * (record.clips.length - 1)) / 2];
  if (read < all) told.push(`${all - read} of the ${all} pairs of leads against each other.`);
  if (map.chassis.length === 0) told.push('Whether plate, cover or frame is tied to one of the leads.');
  if ((record.rings ?? []).length === 0) told.push('Shorted turns inside a winding.');
  if (record.temperature_C === undefined) told.push('The temperature: copper reads about 0.4 % more for each degree.');
  if (record.magnets?.some(({ field_T }) => field_T !== undefined) !== true) told.push('The strength of the magnets.');
  return [...told, 'Sound, loudness and microphonic squeal, looks and mechanical state, what instrument it fits.'];
}

function pairsRead({ resistances }: KeptTest['record']): number {
  return new Set(resistances.map(({ a, b }) => (a < b ? `${a} ${b}` : `${b} ${a}`))).size;
}
