/**
 * How far a merged piece may stand from the points it replaces: in height, and sideways in plan. A sweep over merged
 * pieces differs from the exact one by no more than a tool that far off would cut.
 */
export const MERGE_ERROR_Z = 0.001;
export const MERGE_ERROR_XY = 0.0003;

/**
 * Merges straight runs of a polyline in place (points xs, ys, zs; n of them) and returns how many points are left. A chord
 * is extended while it stays within the errors above of every point it passes: the admissible slopes, in height and
 * sideways, are kept as two intervals (a cone), so each point costs the same. First and last points stay; points that
 * stand still in plan (plunges) are never merged away.
 */
export function mergeStraight(xs: Float64Array, ys: Float64Array, zs: Float64Array, n: number): number {
  let w = 0;
  let s = 0;
  while (s < n - 1) {
    const px = xs[s];
    const py = ys[s];
    const pz = zs[s];
    let e = s + 1;
    const dx = xs[e] - px;
    const dy = ys[e] - py;
    const d = Math.sqrt(dx * dx + dy * dy);
    if (d > 1e-9) {
      const ux = dx / d;
      const uy = dy / d;
      let zl = Number.NEGATIVE_INFINITY;
      let zh = Number.POSITIVE_INFINITY;
      let bl = Number.NEGATIVE_INFINITY;
      let bh = Number.POSITIVE_INFINITY;
      let reached = 0;
      for (let k = s + 1; k < n; k++) {
        const wx = xs[k] - px;
        const wy = ys[k] - py;
        const a = wx * ux + wy * uy;
        if (a <= reached) break;
        const b = wy * ux - wx * uy;
        const h = zs[k] - pz;
        if (k > s + 1) {
          const mz = h / a;
          const mb = b / a;
          if (mz < zl || mz > zh || mb < bl || mb > bh) break;
        }
        e = k;
        reached = a;
        const z0 = (h - MERGE_ERROR_Z) / a;
        const z1 = (h + MERGE_ERROR_Z) / a;
        const b0 = (b - MERGE_ERROR_XY) / a;
        const b1 = (b + MERGE_ERROR_XY) / a;
        if (z0 > zl) zl = z0;
        if (z1 < zh) zh = z1;
        if (b0 > bl) bl = b0;
        if (b1 < bh) bh = b1;
      }
    }
    w++;
    xs[w] = xs[e];
    ys[w] = ys[e];
    zs[w] = zs[e];
    s = e;
  }
  return Math.min(n, w + 1);
}
