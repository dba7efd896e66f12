import { endOf, pointOn, startOf } from "../../kernel/contour.ts";
import type { Curve, Point } from "../../kernel/curve.ts";
import type { Finding, Mm } from "../../units/index.ts";
import { between, type Loose, reversed, roughLength } from "./curves.ts";
import { PointGrid } from "./grid.ts";
import { BRANCH, DENSE, DUPLICATES, refuse, tell } from "./rules.ts";

/** Curves that lie this close to each other all along are the same curve drawn twice; ends that close differ by rounding only. */
export const ROUNDING: Mm = 1e-4;
/** Comparisons before joining is given up. */
const BUDGET = 12_000_000;
const MOST_PAIRS = 2_000_000;

export interface Gap {
  readonly x: Mm;
  readonly y: Mm;
  readonly size: Mm;
}
/** Curves one after another, each starting near the end of the one before. */
export interface Chain {
  readonly curves: readonly Curve[];
  /** The place in the file of the first. */
  readonly from: string;
  readonly closed: boolean;
}

export const say = (p: { readonly x: number; readonly y: number }): string => `x ${+p.x.toFixed(3)}, y ${+p.y.toFixed(3)} mm`;

/** Chains of the curves: ends meet where the file joins them, else with the nearest end within `closeWithin`. Throws a Refusal. */
export function joinCurves(loose: Loose, closeWithin: Mm, findings: Finding[]): Chain[] {
  return new Joiner(loose, closeWithin, findings).chains();
}

class Joiner {
  private readonly loose: Loose;
  private readonly closeWithin: Mm;
  private readonly findings: Finding[];
  private readonly n: number;
  /** Ends: 2k the start of curve k, 2k + 1 its end. */
  private readonly xs: Float64Array;
  private readonly ys: Float64Array;
  private readonly partner: Int32Array;
  /** The end is joined because the file says so. */
  private readonly given: Uint8Array;
  /** For a free end, the other free end of its chain, and the chain's length. */
  private readonly far: Int32Array;
  private readonly chainLength: Float64Array;
  private readonly gone: Uint8Array;
  private work = 0;

  constructor(loose: Loose, closeWithin: Mm, findings: Finding[]) {
    const n = loose.curves.length;
    this.loose = loose;
    this.closeWithin = closeWithin;
    this.findings = findings;
    this.n = n;
    this.xs = new Float64Array(2 * n);
    this.ys = new Float64Array(2 * n);
    this.partner = new Int32Array(2 * n).fill(-1);
    this.given = new Uint8Array(2 * n);
    this.far = new Int32Array(2 * n);
    this.chainLength = new Float64Array(2 * n);
    this.gone = new Uint8Array(n);
    for (let k = 0; k < n; k++) {
      const c = loose.curves[k];
      const [a, b] = [startOf(c), endOf(c)];
      this.xs.set([a.x, b.x], 2 * k);
      this.ys.set([a.y, b.y], 2 * k);
      this.far.set([2 * k + 1, 2 * k], 2 * k);
      this.chainLength.fill(roughLength(c), 2 * k, 2 * k + 2);
    }
  }

  chains(): Chain[] {
    this.dropDuplicates();
    const { joined } = this.loose;
    for (let k = 0; k < joined.length; k += 2) {
      const [a, b] = [joined[k], joined[k + 1]];
      if (this.gone[a >> 1] || this.gone[b >> 1]) continue;
      this.join(a, b);
      this.given[a] = 1;
      this.given[b] = 1;
    }
    for (const r of [1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2]) if (r < this.closeWithin) this.match(r);
    if (this.closeWithin > 0) this.match(this.closeWithin);
    this.refuseBranches();
    return this.collect();
  }

  private spend(places: number): void {
    this.work += places;
    if (this.work > BUDGET) this.dense(this.work, BUDGET);
  }

  private dense(value: number, limit: number): never {
    return refuse(
      DENSE,
      "the drawing",
      "Too many curves lie on top of each other to be joined.",
      "Save the outline alone, each curve once.",
      {
        value,
        limit,
      },
    );
  }

  private join(a: number, b: number): void {
    const [fa, fb] = [this.far[a], this.far[b]];
    const length = this.chainLength[a] + this.chainLength[b];
    this.partner[a] = b;
    this.partner[b] = a;
    if (fa === b) return;
    this.far[fa] = fb;
    this.far[fb] = fa;
    this.chainLength[fa] = length;
    this.chainLength[fb] = length;
  }

  /** Same ends, in either direction, and same places a quarter and three quarters along. */
  private dropDuplicates(): void {
    const { curves, from } = this.loose;
    const mx = new Float64Array(this.n);
    const my = new Float64Array(this.n);
    const all: number[] = [];
    for (let k = 0; k < this.n; k++) {
      const m = pointOn(curves[k], 0.5);
      mx[k] = m.x;
      my[k] = m.y;
      all.push(k);
    }
    const grid = new PointGrid(all, mx, my, ROUNDING);
    let dropped = 0;
    let where: Point | null = null;
    let place = "";
    for (let k = 0; k < this.n; k++) {
      if (this.gone[k]) continue;
      const within = Math.min(ROUNDING, 0.05 * this.chainLength[2 * k]);
      grid.near(mx[k], my[k], (j) => {
        this.spend(1);
        if (j <= k || this.gone[j] || Math.abs(mx[j] - mx[k]) > within || Math.abs(my[j] - my[k]) > within) return;
        if (!sameCurve(curves[k], curves[j], within)) return;
        this.gone[j] = 1;
        if (dropped++ === 0) {
          where = { x: mx[k], y: my[k] };
          place = from[j];
        }
      });
    }
    if (where === null) return;
    this.findings.push(
      tell(
        DUPLICATES,
        `${place}: ${say(where)}`,
        `${dropped} curves are drawn twice in the same place, the first at ${say(where)}; each counts once.`,
        "Delete the doubles if the result surprises you.",
        {
          value: dropped,
          limit: 0,
          unit: "curves",
        },
      ),
    );
  }

  /** Joins free ends within `r`, nearest first. */
  private match(r: Mm): void {
    const { xs, ys } = this;
    const free = this.freeEnds();
    if (free.length === 0) return;
    const grid = new PointGrid(free, xs, ys, r);
    const pairs: { a: number; b: number; d: number }[] = [];
    for (const a of free) {
      grid.near(xs[a], ys[a], (b) => {
        this.spend(1);
        if (b <= a) return;
        const d = Math.hypot(xs[a] - xs[b], ys[a] - ys[b]);
        if (d > r) return;
        // a few per end in any drawing that can be joined
        if (pairs.length >= MOST_PAIRS) this.dense(pairs.length, MOST_PAIRS);
        pairs.push({ a, b, d });
      });
    }
    pairs.sort((p, q) => p.d - q.d || p.a - q.a || p.b - q.b);
    for (const { a, b, d } of pairs) {
      if (this.partner[a] >= 0 || this.partner[b] >= 0) continue;
      // a stub no longer than the gap is no ring
      if (this.far[a] === b && this.chainLength[a] <= 4 * d) continue;
      this.join(a, b);
    }
  }

  private freeEnds(): number[] {
    const free: number[] = [];
    for (let e = 0; e < 2 * this.n; e++) if (this.partner[e] < 0 && !this.gone[e >> 1]) free.push(e);
    return free;
  }

  /** A free end beside a joint that was found by nearness could as well have been joined there. */
  private refuseBranches(): void {
    const { xs, ys } = this;
    const free = this.freeEnds();
    if (free.length === 0 || !(this.closeWithin > 0)) return;
    const joints: number[] = [];
    for (let e = 0; e < 2 * this.n; e++) if (this.partner[e] >= 0 && !this.given[e] && !this.gone[e >> 1]) joints.push(e);
    const grid = new PointGrid(joints, xs, ys, this.closeWithin);
    for (const a of free) {
      const within = Math.min(this.closeWithin, 0.4 * roughLength(this.loose.curves[a >> 1]));
      grid.near(xs[a], ys[a], (b) => {
        this.spend(1);
        if (Math.hypot(xs[a] - xs[b], ys[a] - ys[b]) > within) return;
        const at = { x: xs[a], y: ys[a] };
        refuse(
          BRANCH,
          `${this.loose.from[a >> 1]}: ${say(at)}`,
          `More than two curves end at ${say(at)}, so the way round is not plain.`,
          "Delete the curves that are not the outline, or name the outline's layer.",
        );
      });
    }
  }

  private collect(): Chain[] {
    const { curves, from } = this.loose;
    const seen = new Uint8Array(this.n);
    const out: Chain[] = [];
    const follow = (first: number): void => {
      const run: Curve[] = [];
      let e = first;
      let closed = false;
      for (;;) {
        const k = e >> 1;
        if (seen[k]) {
          closed = true;
          break;
        }
        seen[k] = 1;
        run.push((e & 1) === 0 ? curves[k] : reversed(curves[k]));
        const p = this.partner[e ^ 1];
        if (p < 0) break;
        e = p;
      }
      out.push({ curves: run, from: from[first >> 1], closed });
    };
    for (const e of this.freeEnds()) if (!seen[e >> 1]) follow(e);
    for (let k = 0; k < this.n; k++) if (!seen[k] && !this.gone[k]) follow(2 * k);
    return out;
  }
}

function sameCurve(a: Curve, b: Curve, within: Mm): boolean {
  const close = (t: number, u: number): boolean => {
    const [p, q] = [pointOn(a, t), pointOn(b, u)];
    return Math.hypot(p.x - q.x, p.y - q.y) <= within;
  };
  return (
    (close(0, 0) && close(1, 1) && close(0.25, 0.25) && close(0.75, 0.75)) ||
    (close(0, 1) && close(1, 0) && close(0.25, 0.75) && close(0.75, 0.25))
  );
}

/**
 * A closed chain with every curve starting where the one before ends: both sides of a gap move to its middle, each curve as a whole,
 * and lines of rounding's length between longer curves go. Curves too short to be moved get a line between instead.
 */
export function closeLoop(chain: Chain): { readonly curves: readonly Curve[]; readonly gaps: readonly Gap[] } {
  let list = chain.curves.slice();
  if (list.length > 2) {
    const size = list.map(roughLength);
    const n = list.length;
    list = list.filter(
      (c, k) => !(c.kind === "line" && size[k] < ROUNDING && size[(k + n - 1) % n] > 10 * ROUNDING && size[(k + 1) % n] > 10 * ROUNDING),
    );
  }
  const n = list.length;
  const starts = list.map(startOf);
  const ends = list.map(endOf);
  const newStarts = starts.slice();
  const newEnds = ends.slice();
  const bridges: (Curve | null)[] = list.map(() => null);
  const gaps: Gap[] = [];
  for (let k = 0; k < n; k++) {
    const m = (k + 1) % n;
    const [p, q] = [ends[k], starts[m]];
    const size = Math.hypot(p.x - q.x, p.y - q.y);
    if (size < 1e-9) continue;
    const middle = { x: (p.x + q.x) / 2, y: (p.y + q.y) / 2 };
    gaps.push({ ...middle, size });
    const chord = (j: number): number => Math.hypot(starts[j].x - ends[j].x, starts[j].y - ends[j].y);
    if (k === m || Math.min(chord(k), chord(m)) < 20 * size) bridges[k] = { kind: "line", a: p, b: q };
    else {
      newEnds[k] = middle;
      newStarts[m] = middle;
    }
  }
  const out: Curve[] = [];
  for (let k = 0; k < n; k++) {
    const moved = newStarts[k] !== starts[k] || newEnds[k] !== ends[k];
    out.push(moved ? between(list[k], newStarts[k], newEnds[k]) : list[k]);
    const bridge = bridges[k];
    if (bridge !== null) out.push(bridge);
  }
  return { curves: out, gaps };
}
