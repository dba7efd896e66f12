import type { Mm } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import type { Context } from "./context.ts";

/** Points of the neck frame (x, y, height over the glue plane toward the spindle) to the side's frame. */
export function toFrame(ctx: Context, p: Float64Array): Path {
  const out = new Float64Array(p.length);
  const { frame } = ctx;
  for (let k = 0; k < p.length; k += 3) {
    out[k] = frame.x(p[k]);
    out[k + 1] = frame.y(p[k + 1]);
    out[k + 2] = p[k + 2] + frame.tz;
  }
  return out;
}

/** Joins rows back and forth into one path where both ends lie on a level place (`level` of the neck's x) and near each other. */
export function joinRows(lines: readonly Path[], near: Mm, level: (x: Mm) => boolean, nx: (x: Mm) => Mm): Path[] {
  const out: number[][] = [];
  let last: number[] | null = null;
  for (const line of lines) {
    const n = line.length;
    if (last) {
      const m = last.length;
      const ex = last[m - 3];
      const ey = last[m - 2];
      const ends = [0, n - 3].map((k) => ({ k, d: Math.hypot(line[k] - ex, line[k + 1] - ey) }));
      const best = ends[0].d <= ends[1].d ? ends[0] : ends[1];
      if (best.d <= near && level(nx(ex)) && level(nx(line[best.k]))) {
        if (best.k === 0) for (let k = 0; k < n; k++) last.push(line[k]);
        else for (let k = n - 3; k >= 0; k -= 3) last.push(line[k], line[k + 1], line[k + 2]);
        continue;
      }
    }
    last = Array.from(line);
    out.push(last);
  }
  return out.map((p) => Float64Array.from(p));
}
