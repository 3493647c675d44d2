/** What each lead of a pickup is, in the few words that a label has room for. */
import { SURE } from '../wiremap/wiremap.ts';
import type { LeadColours } from '../wiremap/lead-words.ts';
import { isTap } from '../wiremap/sections.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';

export interface LeadRole {
  readonly clip: number;
  /** Colour code letters; the clip as well where no lead, or more than one, has that colour. */
  readonly name: string;
  /** `+ upper`, `link: – upper, + lower`, `frame`. */
  readonly role: string;
}

/** What coils are called: by their place, or by their name where a place is not known or not theirs alone. */
export function coilWord(coil: WireMapCoil, { coils }: WireMap): string {
  const { place, name } = coil;
  return place === null || coils.some((other) => other !== coil && other.place === place) ? name : place;
}

/** Every lead in the order of the clips. @param clips - that carry a lead */
export function leadRoles(map: WireMap, clips: readonly number[], colours: LeadColours): LeadRole[] {
  const codes = clips.map((clip) => colours.get(clip));
  return clips.map((clip, at) => {
    const code = codes[at];
    const isAlone = codes.filter((other) => other === code).length === 1;
    return { clip, name: code === undefined ? `clip ${clip}` : isAlone ? code : `clip ${clip} ${code}`, role: roleOf(map, clip) };
  });
}

function roleOf(map: WireMap, clip: number): string {
  const node = map.joined.find((group) => group.includes(clip)) ?? [clip];
  const here = map.coils.filter(({ ends, plus, minus }) => node.some((one) => [...(ends ?? []), plus, minus].includes(one)));
  const ends = here.map((coil) => `${signAt(coil, node)} ${coilWord(coil, map)}`).join(', ');
  const parts = [
    ...(here.length === 0 ? [] : [here.length === 1 ? ends : `${isTap(map, clip) ? 'tap' : 'link'}: ${ends}`]),
    ...(node.some((one) => map.chassis.includes(one)) ? ['frame'] : []),
  ];
  if (parts.length > 0) return parts.join(' and ');
  if (map.findings.some(({ kind, clips }) => kind === 'open' && clips.includes(clip))) return 'broken winding';
  return map.isolated?.includes(clip) === true ? 'connected to nothing' : 'not known';
}

/** The sign of a coil's end; with a question mark where it is likely and not sure. */
function signAt({ plus, minus, ohm, confidence }: WireMapCoil, node: readonly number[]): string {
  if (ohm === null) return 'broken:';
  const sign = plus !== null && node.includes(plus) ? '+' : minus !== null && node.includes(minus) ? '\u2013' : null;
  if (sign === null) return '+ or \u2013';
  return confidence !== undefined && confidence < SURE ? `${sign}(?)` : sign;
}
