/** Settings for people: switches that make no difference are not named. */
import type { Harness, Setting } from './harness.ts';

/** The fewest settings that stand for some, a switch left out where every position of it is among them.
 * @param settings - in their order
 */
export function mergedSettings({ switches }: Pick<Harness, 'switches'>, settings: readonly Setting[]): Setting[] {
  let merged = [...settings];
  for (const { id, positions } of switches) {
    const groups = new Map<string, Setting[]>();
    for (const setting of merged) {
      const { [id]: _, ...others } = setting;
      const key = JSON.stringify(others);
      groups.set(key, [...(groups.get(key) ?? []), setting]);
    }
    merged = [...groups.values()].flatMap((group) => {
      if (group.length < positions.length) return group;
      const { [id]: _, ...others } = group[0]!;
      return [others];
    });
  }
  return merged;
}

/** A setting by the positions of its switches. */
export function settingInWords(setting: Setting): string {
  const parts = Object.entries(setting).map(([id, position]) => `${id} ${position}`);
  return parts.length === 0 ? 'in every setting' : parts.join(', ');
}

/** Several settings, those that differ in nothing that matters said as one. */
export function settingsInWords(harness: Pick<Harness, 'switches'>, settings: readonly Setting[]): string {
  return mergedSettings(harness, settings).map(settingInWords).join('; ');
}
