import type { Mm } from "../../units/index.ts";

/** What bounds a chain of seams. All lengths along one line. */
export interface Chain {
  /** Places that a seam may take, ascending, and what each costs; Infinity: never. */
  readonly places: Float64Array;
  readonly costs: Float64Array;
  /** The first seam lies at this or before it; no seam lies further than `reach` beyond the one before. */
  readonly firstMost: Mm;
  readonly reach: Mm;
  /** The last seam lies at this or behind it. */
  readonly lastLeast: Mm;
  /** Seams lie at least so far apart. */
  readonly apart: Mm;
  /** Most seams that are looked at. */
  readonly most: number;
}

/**
 * The fewest seams that the bounds allow and, of all choices with so few, the one with the smallest sum of costs; of equals the one
 * with the first places. Indices into `places`, null when no choice is possible. Exact: dynamic programming over all places, each
 * seam's best sum from those of the seam before, with the least over the reach kept in a queue.
 */
export function chooseSeams(chain: Chain): readonly number[] | null {
  const { places, costs } = chain;
  const n = places.length;
  let sums = new Float64Array(n);
  for (let i = 0; i < n; i++) sums[i] = places[i] <= chain.firstMost + 1e-9 ? costs[i] : Number.POSITIVE_INFINITY;
  const before: Int32Array[] = [new Int32Array(n).fill(-1)];
  for (let count = 1; count <= chain.most; count++) {
    let best = -1;
    for (let i = 0; i < n; i++)
      if (places[i] >= chain.lastLeast - 1e-9 && sums[i] < (best < 0 ? Number.POSITIVE_INFINITY : sums[best])) best = i;
    if (best >= 0) {
      const out: number[] = [];
      for (let k = count - 1, i = best; k >= 0; i = before[k][i], k--) out.unshift(i);
      return out;
    }
    const next = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    const from = new Int32Array(n).fill(-1);
    // ascending minima of those within reach
    const queue: number[] = [];
    let head = 0;
    let add = 0;
    for (let i = 0; i < n; i++) {
      while (add < i && places[add] <= places[i] - chain.apart + 1e-9) {
        while (queue.length > head && sums[queue[queue.length - 1]] > sums[add]) queue.pop();
        queue.push(add++);
      }
      while (head < queue.length && places[queue[head]] < places[i] - chain.reach - 1e-9) head++;
      if (head < queue.length && Number.isFinite(sums[queue[head]])) {
        next[i] = sums[queue[head]] + costs[i];
        from[i] = queue[head];
      }
    }
    sums = next;
    before.push(from);
  }
  return null;
}
