import { pointOf, type ReadMove } from "./programs.ts";

/*
 * How far two motions lie apart, from what was read of their texts alone. Both are cut at their rapids and dwells, which must
 * be the same; each feed in between is a run. For every place of one run its distance to the other is found among that run's
 * chords near the same share of its length.
 */

type P = readonly number[];

/** Arcs become chords that stand inside them by this at most, mm: joins what is measured. */
const SAG = 0.0001;
/** A place is looked for this far before and behind the same share of the other run's length, mm: never a smaller distance than the true one. */
const WINDOW = 1;

/** Runs of feed moves between rapids, as polylines, and the rapids between them as one text each. */
function runsOf(moves: readonly ReadMove[]): { readonly runs: P[][]; readonly between: string[] } {
  const runs: P[][] = [];
  const between: string[] = [];
  let run: P[] | null = null;
  for (const m of moves) {
    if (m.kind === "rapid" || m.kind === "dwell") {
      run = null;
      between.push(`${m.kind} ${m.to.map((v) => v.toFixed(4)).join(" ")} ${m.seconds}`);
      continue;
    }
    if (run === null) {
      run = [m.from];
      runs.push(run);
      between.push("run");
    }
    const r = m.kind === "arc" ? Math.hypot(...[0, 1, 2].map((a) => (planeHas(m.plane, a) ? m.from[a] - m.centre[a] : 0))) : 0;
    const n = m.kind === "arc" ? Math.max(1, Math.ceil(Math.abs(m.sweep) / (2 * Math.acos(1 - SAG / Math.max(r, 2 * SAG))))) : 1;
    for (let i = 1; i <= n; i++) run.push(pointOf(m, i / n));
  }
  return { runs, between };
}

/** Whether an axis lies in a plane: 0 XY, 1 ZX, 2 YZ. */
const planeHas = (plane: number, axis: number): boolean => axis !== (plane === 0 ? 2 : plane === 1 ? 1 : 0);

/** Length along a polyline at each of its points. */
function lengths(p: readonly P[]): Float64Array {
  const out = new Float64Array(p.length);
  for (let k = 1; k < p.length; k++) out[k] = out[k - 1] + Math.hypot(p[k][0] - p[k - 1][0], p[k][1] - p[k - 1][1], p[k][2] - p[k - 1][2]);
  return out;
}

/** Largest distance of a place of `a` (its points, and points no farther apart than `step` on its chords) from the chords of `b` nearby. */
function oneWay(a: readonly P[], b: readonly P[], step: number): number {
  const la = lengths(a);
  const lb = lengths(b);
  const scale = la[la.length - 1] > 0 ? lb[lb.length - 1] / la[la.length - 1] : 1;
  let worst = 0;
  let first = 1;
  for (let n = 1; n < a.length; n++) {
    const [p, q] = [a[n - 1], a[n]];
    const m = Math.max(1, Math.ceil((la[n] - la[n - 1]) / step));
    for (let i = n === 1 ? 0 : 1; i <= m; i++) {
      const t = i / m;
      const at = (la[n - 1] + (la[n] - la[n - 1]) * t) * scale;
      const x = p[0] + (q[0] - p[0]) * t;
      const y = p[1] + (q[1] - p[1]) * t;
      const z = p[2] + (q[2] - p[2]) * t;
      while (first < b.length - 1 && lb[first] < at - WINDOW) first++;
      let best = Number.POSITIVE_INFINITY;
      for (let k = first; k < b.length && lb[k - 1] <= at + WINDOW; k++) {
        const [r, s] = [b[k - 1], b[k]];
        const dx = s[0] - r[0];
        const dy = s[1] - r[1];
        const dz = s[2] - r[2];
        const d2 = dx * dx + dy * dy + dz * dz;
        const u = d2 > 0 ? Math.min(1, Math.max(0, ((x - r[0]) * dx + (y - r[1]) * dy + (z - r[2]) * dz) / d2)) : 0;
        best = Math.min(best, (x - r[0] - u * dx) ** 2 + (y - r[1] - u * dy) ** 2 + (z - r[2] - u * dz) ** 2);
      }
      worst = Math.max(worst, best);
    }
  }
  return Math.sqrt(worst);
}

/** Hausdorff distance of two motions, run by run, mm; throws when their rapids and dwells are not the same. */
export function motionsApart(a: readonly ReadMove[], b: readonly ReadMove[], step = 1): number {
  const [p, q] = [runsOf(a), runsOf(b)];
  if (p.between.join("\n") !== q.between.join("\n")) throw new Error("the two motions differ in their rapids or dwells");
  let worst = 0;
  for (const [k, run] of p.runs.entries()) worst = Math.max(worst, oneWay(run, q.runs[k], step), oneWay(q.runs[k], run, step));
  return worst;
}
