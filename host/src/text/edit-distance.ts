/** How far two words are from each other, for those who mistype. */

/** Insertions, deletions, replacements and swaps of neighbours that turn one word into the other. */
export function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const replaced = (row[j - 1] as number) + (a[i - 1] === b[j - 1] ? 0 : 1);
      let least = Math.min(replaced, (row[j] as number) + 1, (next[j - 1] as number) + 1);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        least = Math.min(least, (before[j - 2] as number) + 1);
      next.push(least);
    }
    [before, row] = [row, next];
  }
  return row[b.length] as number;
}

/** The field that a name which is not known looks like, or null: another case, one slip in a short name, two in a longer one.
 * @param known - names of the fields that there are
 */
export function fieldMeant(given: string, known: Iterable<string>): string | null {
  let [best, least]: [string | null, number] = [null, Infinity];
  const lower = given.slice(0, 40).toLowerCase();
  for (const name of known) {
    const slips = editDistance(lower, name.toLowerCase());
    // Of names with one or two letters any other is one slip away.
    const most = name.length <= 2 ? 0 : name.length <= 5 ? 1 : 2;
    if (slips <= most && slips < least) [best, least] = [name, slips];
  }
  return best;
}
