import type { Spread } from "./types.ts";

/**
 * Uniform numbers in 0..1 from a seed: Park and Miller's minimal standard generator, x -> 48271 x mod (2^31 - 1) (S. K. Park, K. W.
 * Miller, "Random number generators: good ones are hard to find", Comm. ACM 31 (1988) 1192, with the multiplier of their 1993
 * remark). Exact in doubles: 48271 * 2^31 < 2^53.
 */
export function uniform(seed: number): () => number {
  const m = 2147483647;
  let x = (Math.abs(Math.trunc(seed)) % (m - 1)) + 1;
  const next = (): number => {
    const y = 48271 * x;
    // y mod m: the quotient's fraction is at most 1 - 2^-31 and never rounded up
    x = y - m * Math.floor(y / m);
    return x / m;
  };
  for (let k = 0; k < 8; k++) next();
  return next;
}

/** One draw about 0. Normal by Box and Muller (1958); triangular as the sum of two uniforms. */
export function draw(spread: Spread, next: () => number): number {
  switch (spread.kind) {
    case "uniform":
      return (2 * next() - 1) * spread.half;
    case "triangular":
      return (next() + next() - 1) * spread.half;
    case "normal": {
      const u = next();
      return spread.sigma * Math.sqrt(-2 * Math.log(u)) * Math.cos(2 * Math.PI * next());
    }
  }
}

/** Variance: h^2/3 (uniform), h^2/6 (triangular), sigma^2 (JCGM 100:2008, 4.3.7 and 4.3.9). */
export function variance(spread: Spread): number {
  if (spread.kind === "normal") return spread.sigma ** 2;
  return spread.half ** 2 / (spread.kind === "uniform" ? 3 : 6);
}

/** Largest that is reckoned with: the half-width, or three deviations. */
export const largest = (spread: Spread): number => (spread.kind === "normal" ? 3 * spread.sigma : spread.half);
