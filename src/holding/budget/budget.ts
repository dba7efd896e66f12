import { draw, largest, uniform, variance } from "./random.ts";
import type { Contributor, Outcome, OutcomeBudget } from "./types.ts";

function dot(a: readonly number[], b: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < b.length; k++) sum += a[k] * b[k];
  return sum;
}

/** Worst case, sum of variances and seeded trials of every outcome. The same seed gives the same figures. */
export function budgetOf(
  contributors: readonly Contributor[],
  outcomes: readonly Outcome[],
  trials = 20000,
  seed = 1,
): readonly OutcomeBudget[] {
  const next = uniform(seed);
  const drawn = outcomes.map(() => new Float64Array(trials));
  const gain = outcomes.map((o) => contributors.map((c) => o.sensitivity[c.id] ?? 0));
  // every outcome sees the same errors
  const errors = new Float64Array(contributors.length);
  for (let t = 0; t < trials; t++) {
    for (let k = 0; k < errors.length; k++) errors[k] = (contributors[k].mean ?? 0) + draw(contributors[k].spread, next);
    for (let o = 0; o < drawn.length; o++) drawn[o][t] = dot(gain[o], errors);
  }
  return outcomes.map((outcome, o): OutcomeBudget => {
    const parts = contributors.map((c, k) => ({
      id: c.id,
      says: c.says,
      mean: gain[o][k] * (c.mean ?? 0),
      variance: gain[o][k] ** 2 * variance(c.spread),
      worst: Math.abs(gain[o][k]) * largest(c.spread),
    }));
    const mean = parts.reduce((s, p) => s + p.mean, 0);
    const total = parts.reduce((s, p) => s + p.variance, 0);
    const values = drawn[o];
    let sum = 0;
    let beyond = 0;
    for (const v of values) {
      sum += v;
      if (Math.abs(v) > outcome.limit) beyond++;
    }
    const m = sum / trials;
    let square = 0;
    for (const v of values) square += (v - m) ** 2;
    const sizes = values.map(Math.abs).sort();
    return {
      id: outcome.id,
      says: outcome.says,
      unit: outcome.unit,
      limit: outcome.limit,
      mean,
      worst: Math.abs(mean) + parts.reduce((s, p) => s + p.worst, 0),
      sigma: Math.sqrt(total),
      drawn: {
        mean: m,
        sigma: Math.sqrt(square / (trials - 1)),
        within99: sizes[Math.min(trials - 1, Math.ceil(0.99 * trials) - 1)],
        beyond: beyond / trials,
      },
      shares: parts
        .filter((p) => p.variance > 0)
        .map((p) => ({ id: p.id, says: p.says, share: total > 0 ? p.variance / total : 0, worst: p.worst }))
        .sort((a, b) => b.share - a.share),
    };
  });
}
