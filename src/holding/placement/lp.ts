/**
 * A linear program in a few variables: maximise c.x with rows.x <= limits inside a box, by the dual simplex method.
 * Started at the box's best corner every step keeps a dual solution, so by weak duality `value` is an upper bound of the
 * optimum at any step: a run that is ended early is loose, never wrong.
 */
export interface Program {
  /** Number of variables. */
  readonly d: number;
  /** Coefficients, row after row; `count` rows of d. */
  readonly rows: Float64Array;
  readonly limits: Float64Array;
  readonly count: number;
  readonly lower: readonly number[];
  readonly upper: readonly number[];
  readonly c: readonly number[];
}

export interface Solution {
  readonly x: readonly number[];
  readonly value: number;
  /** Rows that hold the optimum: index and multiplier (> 0), without the box's own. */
  readonly binding: readonly { readonly row: number; readonly weight: number }[];
  /** False when the count of steps ran out: `value` is then an upper bound only. */
  readonly optimal: boolean;
}

const STEPS = 400;
const PLAIN_STEPS = 80;
const FEASIBLE = 1e-10;

/** null: no x satisfies all rows. */
export function maximise(p: Program): Solution | null {
  const { d, rows, limits, count, lower, upper, c } = p;
  // basis entries: a row's index, or count + 2i for x_i <= upper, count + 2i + 1 for -x_i <= -lower
  const basis = c.map((v, i) => count + 2 * i + (v >= 0 ? 0 : 1));
  const g = new Float64Array(d * d);
  const inv = new Float64Array(d * d);
  const work = new Float64Array(2 * d * d);
  const x = new Float64Array(d);
  const y = new Float64Array(d);
  const w = new Float64Array(d);
  const enter = new Float64Array(d);
  const coefficient = (id: number, i: number): number => {
    if (id < count) return rows[id * d + i];
    const k = id - count;
    return k >> 1 === i ? (k & 1 ? -1 : 1) : 0;
  };
  const limit = (id: number): number => {
    if (id < count) return limits[id];
    const k = id - count;
    return k & 1 ? -lower[k >> 1] : upper[k >> 1];
  };
  let optimal = false;
  for (let step = 0; step < STEPS; step++) {
    for (let r = 0; r < d; r++) for (let i = 0; i < d; i++) g[r * d + i] = coefficient(basis[r], i);
    if (!invert(g, inv, work, d)) break;
    for (let i = 0; i < d; i++) {
      let s = 0;
      for (let r = 0; r < d; r++) s += inv[i * d + r] * limit(basis[r]);
      x[i] = s;
    }
    let enters = -1;
    let worst = FEASIBLE;
    for (let r = 0; r < count; r++) {
      let s = -limits[r];
      for (let i = 0; i < d; i++) s += rows[r * d + i] * x[i];
      if (s > worst) {
        enters = r;
        worst = s;
        if (step >= PLAIN_STEPS) break; // the first one: cannot go in circles
      }
    }
    for (let i = 0; i < d && (step < PLAIN_STEPS || enters < 0); i++) {
      if (x[i] - upper[i] > worst) {
        enters = count + 2 * i;
        worst = x[i] - upper[i];
      }
      if (lower[i] - x[i] > worst) {
        enters = count + 2 * i + 1;
        worst = lower[i] - x[i];
      }
    }
    if (enters < 0) {
      optimal = true;
      break;
    }
    for (let i = 0; i < d; i++) enter[i] = coefficient(enters, i);
    let leaves = -1;
    let ratio = Number.POSITIVE_INFINITY;
    for (let r = 0; r < d; r++) {
      let yr = 0;
      let wr = 0;
      for (let i = 0; i < d; i++) {
        yr += inv[i * d + r] * c[i];
        wr += inv[i * d + r] * enter[i];
      }
      y[r] = Math.max(0, yr);
      w[r] = wr;
      if (wr > 1e-11 && y[r] / wr < ratio - 1e-15) {
        ratio = y[r] / wr;
        leaves = r;
      }
    }
    if (leaves < 0) return null;
    basis[leaves] = enters;
  }
  let value = 0;
  for (let i = 0; i < d; i++) value += c[i] * x[i];
  const binding: { row: number; weight: number }[] = [];
  for (let r = 0; r < d; r++) {
    let yr = 0;
    for (let i = 0; i < d; i++) yr += inv[i * d + r] * c[i];
    if (basis[r] < count && yr > 1e-9) binding.push({ row: basis[r], weight: yr });
  }
  return { x: Array.from(x), value, binding, optimal };
}

/** inv = g^-1 by Gauss and Jordan with row exchange; false when g is singular. */
function invert(g: Float64Array, inv: Float64Array, work: Float64Array, d: number): boolean {
  const n = 2 * d;
  for (let r = 0; r < d; r++)
    for (let i = 0; i < d; i++) {
      work[r * n + i] = g[r * d + i];
      work[r * n + d + i] = r === i ? 1 : 0;
    }
  for (let k = 0; k < d; k++) {
    let p = k;
    for (let r = k + 1; r < d; r++) if (Math.abs(work[r * n + k]) > Math.abs(work[p * n + k])) p = r;
    const pivot = work[p * n + k];
    if (Math.abs(pivot) < 1e-13) return false;
    for (let i = 0; i < n; i++) {
      const v = work[p * n + i];
      work[p * n + i] = work[k * n + i];
      work[k * n + i] = v / pivot;
    }
    for (let r = 0; r < d; r++) {
      if (r === k) continue;
      const f = work[r * n + k];
      if (f === 0) continue;
      for (let i = 0; i < n; i++) work[r * n + i] -= f * work[k * n + i];
    }
  }
  for (let r = 0; r < d; r++) for (let i = 0; i < d; i++) inv[r * d + i] = work[r * n + d + i];
  return true;
}
