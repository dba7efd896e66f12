import type { Mm } from "../../units/index.ts";
import type { Path } from "./common.ts";

export interface ThinTolerance {
  /** Most change of height above or below a dropped point. */
  readonly vertical: Mm;
  /** Most distance, seen from above, of a dropped point from the path that is left. */
  readonly lateral: Mm;
}

/** Half a micrometre up and down, one sideways: joins the error budget of the finished surface as it stands. */
export const THIN: ThinTolerance = { vertical: 0.0005, lateral: 0.001 };

/**
 * Fewer points for the same path: every dropped point lies within the tolerance of the path that is left (Douglas and
 * Peucker 1973, with height and plan measured apart). Ends are kept. The path may turn back on itself.
 */
export function thinPath(p: Path, tolerance: ThinTolerance = THIN): Path {
  const n = p.length / 3;
  if (n < 3) return p.slice();
  const { vertical, lateral } = tolerance;
  const perLateral2 = 1 / (lateral * lateral);
  const perVertical2 = 1 / (vertical * vertical);
  const keep = new Uint8Array(n);
  keep[0] = 1;
  keep[n - 1] = 1;
  const stack = [0, n - 1];
  while (stack.length > 0) {
    const b = stack.pop() as number;
    const a = stack.pop() as number;
    if (b - a < 2) continue;
    const ax = p[3 * a];
    const ay = p[3 * a + 1];
    const az = p[3 * a + 2];
    const dx = p[3 * b] - ax;
    const dy = p[3 * b + 1] - ay;
    const dz = p[3 * b + 2] - az;
    const q = dx * dx + dy * dy;
    const up = q < 1e-18;
    let worst = -1;
    let far = 1;
    for (let k = a + 1; k < b; k++) {
      const x = p[3 * k] - ax;
      const y = p[3 * k + 1] - ay;
      const z = p[3 * k + 2] - az;
      // place on the chord: by plan, or by height where the chord stands upright
      let t = up ? (dz !== 0 ? z / dz : 0) : (x * dx + y * dy) / q;
      t = Math.max(0, Math.min(1, t));
      const ex = x - t * dx;
      const ey = y - t * dy;
      const ez = z - t * dz;
      // squares of the shares of the tolerance
      const e = Math.max((ex * ex + ey * ey) * perLateral2, ez * ez * perVertical2);
      if (e > far) {
        far = e;
        worst = k;
      }
    }
    if (worst < 0) continue;
    keep[worst] = 1;
    stack.push(a, worst, worst, b);
  }
  let m = 0;
  for (let k = 0; k < n; k++) m += keep[k];
  const out = new Float64Array(3 * m);
  for (let k = 0, w = 0; k < n; k++) {
    if (!keep[k]) continue;
    out[w++] = p[3 * k];
    out[w++] = p[3 * k + 1];
    out[w++] = p[3 * k + 2];
  }
  return out;
}
