/** The known word with the fewest letters to change, case aside; null when there is none to offer. */
export function nearest(wanted: string, known: readonly string[]): string | null {
  const w = wanted.slice(0, 60).toLowerCase();
  let best: string | null = null;
  let least = Number.POSITIVE_INFINITY;
  for (const k of known) {
    const d = editDistance(w, k.toLowerCase());
    if (d < least) {
      least = d;
      best = k;
    }
  }
  return best;
}

/** Insertions, deletions, replacements and swaps of neighbours (optimal string alignment). */
export function editDistance(a: string, b: string): number {
  const n = b.length;
  let two: number[] = [];
  let one = Array.from({ length: n + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= n; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let d = Math.min(one[j]! + 1, row[j - 1]! + 1, one[j - 1]! + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) d = Math.min(d, two[j - 2]! + 1);
      row.push(d);
    }
    two = one;
    one = row;
  }
  return one[n]!;
}
