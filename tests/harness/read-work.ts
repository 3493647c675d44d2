/** Reads the steps of a plan as a person does: each changes how the pickup stands after the steps before it. */
import type { Fitted, Way, WayKind } from '../../host/src/harness/harness.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';

/** How a pickup stands: the way that it is wired in (null where its leads make none), and whether its magnet was turned over. */
export interface Stand {
  readonly way: Way | null;
  readonly isFlipped: boolean;
}

/** A way from its words: the coil that is named at ground decides which way round it is. */
function wayOf(words: string): Way {
  const names = (list: string): string[] => list.split(/, | and /);
  const series = /^(.*) in series, (.*) at ground and (.*) at hot(, minus hot|, turned round)?$/.exec(words);
  const other = /^(.*?) (in parallel|alone)(, minus hot|, turned round)?$/.exec(words);
  if (series === null && other === null) throw new Error(`no way: ${words}`);
  const [, list, ground] = series ?? other!;
  const kind: WayKind = series !== null ? 'series' : other![2] === 'alone' ? 'alone' : 'parallel';
  const isTurned = series !== null ? ground !== names(list!)[0] : other![3] !== undefined;
  if (/, (?:minus hot|turned round)$/.test(words) !== isTurned) throw new Error(`contradicts itself: ${words}`);
  return { kind, coils: names(list!), ...(isTurned ? { turned: true } : {}) };
}

/** One step carried out. @param step - without the slot and the colon */
export function carriedOut(stand: Stand, step: string): Stand {
  const text = step.replace(/ \(make sure first .*?\)/, '').replace(/, [^,]+ left out$/, '');
  if (text.startsWith('turn its magnet over')) return { ...stand, isFlipped: !stand.isFlipped };
  const turned = (way: Way, isTurned: boolean): Way => ({ kind: way.kind, coils: way.coils, ...(isTurned ? { turned: true } : {}) });
  if (text.startsWith('exchange its ')) return { ...stand, way: turned(stand.way!, stand.way!.turned !== true) };
  const use = /^use (.*) in place of (.*)$/.exec(text);
  if (use !== null) {
    if (stand.way!.coils.join() !== use[2]) throw new Error(`${use[2]} does not sound alone: ${text}`);
    return { ...stand, way: turned({ kind: 'alone', coils: [use[1]!] }, stand.way!.turned === true) };
  }
  return { ...stand, way: wayOf(text.replace(/^(wire it anew, |wire the coils in another order, |wire )/, '')) };
}

/** Steps as they are listed, each with its slot before a colon, carried out one after the other. */
export function allCarriedOut(stands: ReadonlyMap<string, Stand>, steps: readonly string[]): Map<string, Stand> {
  const after = new Map(stands);
  for (const step of steps) {
    const [slot, text] = [step.slice(0, step.indexOf(': ')), step.slice(step.indexOf(': ') + 2)];
    after.set(slot, carriedOut(after.get(slot)!, text));
  }
  return after;
}

/** What is told to be done beside the work of a plan: as that leaves a pickup, or from how it stood where it is told to be in its place. */
export function remedied(
  before: ReadonlyMap<string, Stand>, above: ReadonlyMap<string, Stand>, steps: readonly string[],
): Map<string, Stand> {
  const after = new Map(above);
  const told = steps.flatMap((step) => {
    const [, slot, part, rest] = /^(.*?): instead of the work above on its (leads|magnet), (.*)$/.exec(step) ?? [];
    if (slot === undefined) return [step];
    const [stood, now] = [before.get(slot)!, after.get(slot)!];
    after.set(slot, part === 'leads' ? { ...now, way: stood.way } : { ...now, isFlipped: stood.isFlipped });
    return /^leave (them as they are|it as it is)$/.test(rest!) ? [] : [`${slot}: ${rest}`];
  });
  return allCarriedOut(after, told);
}

/** How the pickups of a harness stand, by slot. */
export function standsOf({ pickups }: LoadedHarness): Map<string, Stand> {
  return new Map(pickups.map(({ slot: { slot }, way }) => [slot, { way, isFlipped: false }]));
}

/** What is fitted, wired as it then stands. */
export function fittedAs(fitted: readonly Fitted[], stands: ReadonlyMap<string, Stand>): Fitted[] {
  return fitted.map((one) => {
    const { leads: _, way: __, ...rest } = one;
    const { way } = stands.get(one.slot)!;
    return way === null ? one : { ...rest, way };
  });
}
