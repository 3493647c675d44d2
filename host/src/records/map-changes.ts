/** What a newer module makes differently of the same evidence, in sentences. */
import type { WireMap, WireMapCoil, WireMapFinding } from '../wiremap/wiremap.ts';

const ohms = ({ ohm, hidden_end }: WireMapCoil): string =>
  ohm !== null ? `${ohm.toFixed(1)} ohm` : hidden_end === true ? 'not told' : 'open';
const clip = (value: number | null): string => (value === null ? 'not known' : `clip ${value}`);

/** Differences that matter to whoever wires the pickup, the most telling first; `numbers only` when none of them does. */
export function mapChanges(before: WireMap, after: WireMap): string[] {
  const changes: string[] = [];
  const tell = (what: string, from: string, to: string): void => {
    if (from !== to) changes.push(`${what}: ${from} before, ${to} now`);
  };
  tell('verdict', before.verdict, after.verdict);
  const names = [...new Set([...before.coils, ...after.coils].map(({ name }) => name))];
  for (const name of names) {
    const [from, to] = [before, after].map(({ coils }) => coils.find((coil) => coil.name === name));
    if (from === undefined) changes.push(`${name}: found now`);
    else if (to === undefined) changes.push(`${name}: not found any more`);
    else coilChanges(from, to, tell);
  }
  tell('chassis', before.chassis.join(', ') || 'none', after.chassis.join(', ') || 'none');
  tell('joined', joinedText(before), joinedText(after));
  for (const pair of after.pairs) {
    const old = before.pairs.find(({ a, b }) => a === pair.a && b === pair.b);
    if (old !== undefined) tell(`poles of ${pair.a} and ${pair.b}`, poleText(old.poles_differ), poleText(pair.poles_differ));
  }
  changes.push(...findingChanges(before.findings, after.findings));
  if (changes.length === 0 && JSON.stringify(before) !== JSON.stringify(after)) changes.push('numbers or wording only');
  return changes;
}

function coilChanges(from: WireMapCoil, to: WireMapCoil, tell: (what: string, before: string, after: string) => void): void {
  const { name } = from;
  tell(`${name} ends`, from.ends?.join(' and ') ?? 'not known', to.ends?.join(' and ') ?? 'not known');
  tell(`${name} plus`, clip(from.plus), clip(to.plus));
  tell(`${name} minus`, clip(from.minus), clip(to.minus));
  tell(`${name} pole`, from.pole ?? 'not known', to.pole ?? 'not known');
  tell(`${name} place`, from.place ?? 'not known', to.place ?? 'not known');
  const isNear = from.ohm !== null && to.ohm !== null && Math.abs(from.ohm - to.ohm) <= Math.max(from.u_ohm ?? 0, to.u_ohm ?? 0);
  if (!isNear) tell(`${name} resistance`, ohms(from), ohms(to));
}

function joinedText({ joined }: WireMap): string {
  return joined.map((group) => group.join(' with ')).join('; ') || 'none';
}

function poleText(differ: boolean | null): string {
  return differ === null ? 'not known' : differ ? 'differ' : 'are equal';
}

function findingChanges(before: readonly WireMapFinding[], after: readonly WireMapFinding[]): string[] {
  const key = ({ kind, severity, clips }: WireMapFinding): string => `${severity} ${kind.replaceAll('_', ' ')} at clips ${clips.join(', ')}`;
  const [old, now] = [new Set(before.map(key)), new Set(after.map(key))];
  return [
    ...[...now].filter((one) => !old.has(one)).map((one) => `found now: ${one}`),
    ...[...old].filter((one) => !now.has(one)).map((one) => `not found any more: ${one}`),
  ];
}
