import type { XY } from "../draw/types.ts";

/** Chords that stand for a curve stay this close to it in every exported file, mm. */
export const EXPORT_CHORD = 0.0005;

/** Distance of p from the segment a-b. */
function fromChord(p: XY, a: XY, b: XY): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const q = dx * dx + dy * dy;
  const t = q > 0 ? Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / q)) : 0;
  return Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy);
}

/**
 * Points of the curve t -> f(t) from `from` to `to`, both ends included: halved until five places between two points lie within
 * 0.7 of `tolerance` of their chord. `breaks`: parameters at which the curve may have a corner or change its formula.
 */
export function sampled(
  f: (t: number) => XY,
  from: number,
  to: number,
  breaks: readonly number[] = [],
  tolerance: number = EXPORT_CHORD,
): XY[] {
  const inner = [...new Set(breaks)]
    .filter((t) => t > Math.min(from, to) && t < Math.max(from, to))
    .sort((a, b) => (a - b) * Math.sign(to - from));
  const ts = [from, ...inner, to];
  const out: XY[] = [f(from)];
  const halve = (t0: number, p0: XY, t1: number, p1: XY, depth: number): void => {
    let far = depth < 2;
    for (let k = 1; k <= 5 && !far; k++) far = fromChord(f(t0 + ((t1 - t0) * k) / 6), p0, p1) > 0.7 * tolerance;
    if (!far || depth > 34) {
      out.push(p1);
      return;
    }
    const tm = (t0 + t1) / 2;
    const pm = f(tm);
    halve(t0, p0, tm, pm, depth + 1);
    halve(tm, pm, t1, p1, depth + 1);
  };
  for (let k = 0; k + 1 < ts.length; k++) halve(ts[k], f(ts[k]), ts[k + 1], f(ts[k + 1]), 0);
  return straightened(out, 0.15 * tolerance);
}

/** Drops points that lie within `tolerance` of the chord of their kept neighbours: runs that are straight come out as one line. */
function straightened(points: readonly XY[], tolerance: number): XY[] {
  const keep = new Uint8Array(points.length);
  keep[0] = 1;
  keep[points.length - 1] = 1;
  const stack: [number, number][] = [[0, points.length - 1]];
  while (stack.length > 0) {
    const [a, b] = stack.pop()!;
    let [worst, at] = [tolerance, -1];
    for (let k = a + 1; k < b; k++) {
      const d = fromChord(points[k], points[a], points[b]);
      if (d > worst) [worst, at] = [d, k];
    }
    if (at < 0) continue;
    keep[at] = 1;
    stack.push([a, at], [at, b]);
  }
  return points.filter((_, k) => keep[k] === 1);
}
