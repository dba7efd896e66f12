import type { Mm } from "../units/index.ts";

/*
 * Several blanks out of one plank, all along its grain. Wanted is the least of the plank's length: what is left of it then stays whole. Searched
 * to the end: every arrangement can be pushed toward the plank's end and its lower edge without getting longer, until each blank touches there
 * the plank, a defect or another blank; so only such places are tried (normal patterns, Herz 1972; Christofides and Whitlock 1977).
 */

export interface PlankBlank {
  readonly name: string;
  readonly length: Mm;
  readonly width: Mm;
}

export interface Box {
  readonly xMin: Mm;
  readonly yMin: Mm;
  readonly xMax: Mm;
  readonly yMax: Mm;
}

export interface PlankAsk {
  readonly length: Mm;
  readonly width: Mm;
  /** Wood that a saw takes between two blanks. */
  readonly kerf: Mm;
  readonly blanks: readonly PlankBlank[];
  /** Knots, checks, sapwood, figure to be kept for something else: no blank lies over them. */
  readonly keepOut: readonly Box[];
}

export interface PlankPlan {
  /** Lower left corner of each blank, in the order asked; null: they do not all go in. */
  readonly at: readonly (readonly [Mm, Mm])[] | null;
  /** Length of the plank that is used. */
  readonly used: Mm;
  /** No arrangement uses less. */
  readonly bound: Mm;
  /** The search came to its end: `used` is the least, or there is none. */
  readonly proved: boolean;
  /** Every blank can be freed by straight cuts, each through the whole piece it divides. */
  readonly throughCuts: boolean;
}

/** Places that the search tries at most. */
const MOST_TRIED = 6_000_000;
const NEAR = 1e-6;

/** All sums of some of the values, each from one of the bases, up to a limit. */
function patterns(values: readonly Mm[], bases: readonly Mm[], most: Mm): Mm[] {
  const round = (v: Mm): Mm => Math.round(v * 1e6) / 1e6;
  let sums = new Set(bases.filter((b) => b <= most + NEAR).map(round));
  for (const v of values) {
    const next = new Set(sums);
    for (const s of sums) if (s + v <= most + NEAR) next.add(round(s + v));
    sums = next;
  }
  return [...sums].sort((a, b) => a - b);
}

export function planPlank(ask: PlankAsk): PlankPlan {
  const { length, width, kerf, blanks, keepOut } = ask;
  const area = blanks.reduce((sum, b) => sum + (b.length + kerf) * (b.width + kerf), 0);
  const bound0 = Math.max(0, ...blanks.map((b) => b.length), area / (width + kerf) - kerf);
  const order = blanks.map((_, k) => k).sort((a, b) => blanks[b].length - blanks[a].length || blanks[b].width - blanks[a].width);
  const shortest = Math.min(...blanks.map((b) => b.length));
  const narrowest = Math.min(...blanks.map((b) => b.width));
  const xs = patterns(
    blanks.map((b) => b.length + kerf),
    [0, ...keepOut.map((d) => d.xMax)].filter((v) => v >= 0),
    length - shortest,
  );
  const ys = patterns(
    blanks.map((b) => b.width + kerf),
    [0, ...keepOut.map((d) => d.yMax)].filter((v) => v >= 0),
    width - narrowest,
  );
  const kind = (k: number): string => `${blanks[k].length} ${blanks[k].width}`;
  let best: (readonly [Mm, Mm])[] | null = null;
  let used = Number.POSITIVE_INFINITY;
  let tried = 0;
  const at: ([Mm, Mm] | null)[] = blanks.map(() => null);
  const free = (k: number, x: Mm, y: Mm): boolean => {
    const b = blanks[k];
    if (x + b.length > length + NEAR || y + b.width > width + NEAR) return false;
    for (const d of keepOut)
      if (x < d.xMax - NEAR && x + b.length > d.xMin + NEAR && y < d.yMax - NEAR && y + b.width > d.yMin + NEAR) return false;
    for (let j = 0; j < blanks.length; j++) {
      const p = at[j];
      if (p === null) continue;
      const c = blanks[j];
      if (
        x < p[0] + c.length + kerf - NEAR &&
        p[0] < x + b.length + kerf - NEAR &&
        y < p[1] + c.width + kerf - NEAR &&
        p[1] < y + b.width + kerf - NEAR
      )
        return false;
    }
    return true;
  };
  /** Blanks are put in the order of their left ends; the rest must find room right of `from` and left of the best end so far. */
  const put = (left: readonly number[], fromX: number, fromY: number, end: Mm, rest: Mm): void => {
    if (tried > MOST_TRIED || used <= bound0 + NEAR) return;
    if (left.length === 0) {
      if (end >= used) return;
      used = end;
      best = at.map((p) => p as [Mm, Mm]);
      return;
    }
    for (let i = fromX; i < xs.length; i++) {
      const limit = Math.min(length, used - 1e-3);
      const x = xs[i];
      // room right of x and left of the limit, less what lies there already
      let room = (limit + kerf - x) * (width + kerf);
      for (let j = 0; j < blanks.length; j++) {
        const p = at[j];
        if (p !== null) room -= Math.max(0, Math.min(limit + kerf, p[0] + blanks[j].length + kerf) - x) * (blanks[j].width + kerf);
      }
      if (room < rest - NEAR) return;
      const kinds = new Set<string>();
      for (const k of left) {
        const b = blanks[k];
        if (kinds.has(kind(k)) || x + b.length > limit + NEAR) continue;
        kinds.add(kind(k));
        const others = left.filter((j) => j !== k);
        const restLess = rest - (b.length + kerf) * (b.width + kerf);
        for (let j = i === fromX ? fromY : 0; j < ys.length; j++) {
          if (++tried > MOST_TRIED) return;
          if (!free(k, x, ys[j])) continue;
          at[k] = [x, ys[j]];
          put(others, i, j + 1, Math.max(end, x + b.length), restLess);
          at[k] = null;
          if (x + b.length > Math.min(length, used - 1e-3) + NEAR) break;
        }
      }
    }
  };
  if (blanks.length > 0 && xs.length > 0 && ys.length > 0) put(order, 0, 0, 0, area);
  const proved = tried <= MOST_TRIED;
  const found = best as (readonly [Mm, Mm])[] | null;
  return {
    at: found,
    used: found === null ? Number.NaN : used,
    bound: proved && found !== null ? used : bound0,
    proved: proved || (found !== null && used <= bound0 + NEAR),
    throughCuts:
      found !== null && through(found.map(([x, y], k) => ({ xMin: x, yMin: y, xMax: x + blanks[k].length, yMax: y + blanks[k].width }))),
  };
}

/** Can the boxes be parted by straight cuts, each through all of the piece it divides? */
export function through(boxes: readonly Box[]): boolean {
  if (boxes.length < 2) return true;
  for (const [lo, hi] of [
    ["xMin", "xMax"],
    ["yMin", "yMax"],
  ] as const) {
    const sorted = [...boxes].sort((a, b) => a[lo] - b[lo]);
    let end = sorted[0][hi];
    for (let k = 1; k < sorted.length; k++) {
      if (sorted[k][lo] >= end - NEAR) return through(sorted.slice(0, k)) && through(sorted.slice(k));
      end = Math.max(end, sorted[k][hi]);
    }
  }
  return false;
}
