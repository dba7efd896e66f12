/** Slow and obviously right versions of the kernels, for tests and the bench. */
import { type HeightMap, makeMap, NOTHING } from "./heightmap.ts";
import type { MoveList } from "./moves.ts";
import { ballProfile, bullProfile, flatProfile, type Profile, profileHeight } from "./profile.ts";

/** Cutters of every kind the contract knows. */
export const PROFILES: Record<string, Profile> = {
  flat: flatProfile(8.0013),
  ball: ballProfile(8.0013),
  bull: bullProfile(8.0013, 1),
  taper: { radius: 3.0007, flat: 0, corner: 0.5, cone: 8 },
  "taper with flat tip": { radius: 2.5003, flat: 0.3, corner: 0, cone: 5 },
  vee: { radius: 3.1007, flat: 0, corner: 0, cone: 1 },
  drill: { radius: 2.4003, flat: 0, corner: 0, cone: 0.6 },
  "bull taper": { radius: 3.0007, flat: 0.6, corner: 0.7, cone: 3 },
};

/** Small repeatable numbers in [0, 1). */
export function numbers(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (Math.imul(s, 1664525) + 1013904223) >>> 0;
    return s / 4294967296;
  };
}

/** Lowest tool surface over one cell while the cutter runs along a line: dense samples, then golden sections around the best. */
export function bruteLine(p: Profile, x: number, y: number, a: readonly number[], b: readonly number[]): number {
  const f = (s: number): number => {
    const h = profileHeight(p, Math.hypot(x - a[0] - s * (b[0] - a[0]), y - a[1] - s * (b[1] - a[1])));
    return a[2] + s * (b[2] - a[2]) + h;
  };
  const n = 400;
  let best = Number.POSITIVE_INFINITY;
  let at = 0;
  for (let k = 0; k <= n; k++) {
    const v = f(k / n);
    if (v < best) {
      best = v;
      at = k / n;
    }
  }
  let lo = Math.max(0, at - 1 / n);
  let hi = Math.min(1, at + 1 / n);
  for (let k = 0; k < 80; k++) {
    const u = lo + (hi - lo) * 0.381966;
    const v = hi - (hi - lo) * 0.381966;
    const fu = f(u);
    const fv = f(v);
    best = Math.min(best, fu, fv);
    if (fu <= fv && Number.isFinite(fu)) hi = v;
    else if (Number.isFinite(fv)) lo = u;
    else if (u < at) lo = u;
    else hi = v;
  }
  return best;
}

export function bruteCut(map: HeightMap, p: Profile, moves: MoveList): void {
  let a: readonly number[] = moves.start;
  for (let k = 0; k < moves.count; k++) {
    const b = [moves.x[k], moves.y[k], moves.z[k]];
    if (moves.kind[k] === 1)
      for (let j = 0, c = 0; j < map.ny; j++)
        for (let i = 0; i < map.nx; i++, c++) {
          const v = bruteLine(p, map.x0 + i * map.cell, map.y0 + j * map.cell, a, b);
          if (v < map.z[c]) map.z[c] = v;
        }
    a = b;
  }
}

export function worst(a: HeightMap, b: HeightMap): number {
  let m = 0;
  for (let k = 0; k < a.z.length; k++) m = Math.max(m, Math.abs(a.z[k] - b.z[k]));
  return m;
}

export const top = (): HeightMap => makeMap(0, 0, 24, 18, 0.5, 10);

/** Drop by trying every cell. */
export function bruteDrop(map: HeightMap, p: Profile, x: number, y: number): number {
  let best = NOTHING;
  for (let j = 0, k = 0; j < map.ny; j++)
    for (let i = 0; i < map.nx; i++, k++) {
      const r = Math.hypot(map.x0 + i * map.cell - x, map.y0 + j * map.cell - y);
      if (r <= p.radius && map.z[k] > 0.5 * NOTHING) best = Math.max(best, map.z[k] - profileHeight(p, r));
    }
  return best;
}

/** The same, looking only at the rows and columns that the cutter can reach. */
export function bruteDropNear(map: HeightMap, p: Profile, x: number, y: number): number {
  const { nx, ny, cell, x0, y0, z } = map;
  let best = NOTHING;
  for (let j = Math.max(0, Math.floor((y - p.radius - y0) / cell)); j < Math.min(ny, (y + p.radius - y0) / cell + 1); j++)
    for (let i = Math.max(0, Math.floor((x - p.radius - x0) / cell)); i < Math.min(nx, (x + p.radius - x0) / cell + 1); i++) {
      const r = Math.hypot(x0 + i * cell - x, y0 + j * cell - y);
      // a centre on the rim counts, whatever the last bits say
      if (r <= p.radius * (1 + 1e-12) && z[j * nx + i] > 0.5 * NOTHING)
        best = Math.max(best, z[j * nx + i] - profileHeight(p, Math.min(r, p.radius)));
    }
  return best;
}
