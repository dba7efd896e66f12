import { describe, expect, test } from "vitest";
import { numbers, PROFILES, worst } from "./brute.ts";
import { type HeightMap, makeMap, sampleMap } from "./heightmap.ts";
import { makeStock } from "./make-stock.ts";
import { MoveBuilder, type MoveList } from "./moves.ts";
import { MERGE_ERROR_Z } from "./polyline.ts";
import { type Profile, profileHeight } from "./profile.ts";

const wood = (): HeightMap => {
  const map = makeMap(0, 0, 40, 30, 0.2);
  sampleMap(map, (x, y) => 12 + Math.sin(x) * Math.cos(y));
  return map;
};

/** A smooth winding path, then passes along x, then zig-zag. */
function path(seed: number): [number, number, number][] {
  const r = numbers(seed);
  const out: [number, number, number][] = [];
  for (let k = 0; k < 150; k++)
    out.push([20 + 14 * Math.cos(k * 0.05) + 2 * Math.cos(k * 0.4), 15 + 9 * Math.sin(k * 0.045), 7 + 2 * Math.sin(k * 0.11)]);
  for (let k = 0; k < 80; k++) out.push([2 + 0.45 * k, 10.013, 8 + Math.sin(k * 0.3)]);
  for (let k = 0; k < 80; k++) out.push([38 - 0.45 * k, 12.517, 8 + Math.sin(k * 0.2)]);
  for (let k = 0; k < 30; k++) out.push([-3 + 46 * r(), -3 + 36 * r(), 6 + 5 * r()]);
  return out;
}

function moves(points: readonly (readonly [number, number, number])[]): MoveList {
  const b = new MoveBuilder(points[0]);
  for (const p of points.slice(1)) b.lineTo(p[0], p[1], p[2], 30);
  return b.list();
}

/** Every move alone: full capsules, nothing merged, no strips. */
function oneByOne(p: Profile, list: MoveList, order?: readonly number[]): HeightMap {
  const map = wood();
  const s = makeStock(map);
  for (let k = 0; k < list.count; k++) {
    const at = order ? order[k] : k;
    s.cut(p, list, at, at + 1);
  }
  return map;
}

const together = (p: Profile, list: MoveList): HeightMap => {
  const map = wood();
  makeStock(map).cut(p, list, 0, list.count);
  return map;
};

describe("laws of removal", () => {
  for (const [name, p] of Object.entries(PROFILES)) {
    const list = moves(path(1));
    const alone = oneByOne(p, list);
    // merging shifts the tool by 1 um in height; sideways by a third of that, which a cone of slope 8 multiplies
    const limit = MERGE_ERROR_Z + 0.0003 * (p.cone || 4) + 1e-5;
    test(`${name}: a chain is what its moves cut one by one`, () => expect(worst(together(p, list), alone)).toBeLessThan(limit));
    test(`${name}: the order of moves does not matter`, () => {
      const r = numbers(2);
      const order = Array.from({ length: list.count }, (_, k) => k);
      for (let k = order.length - 1; k > 0; k--) {
        const q = Math.floor(r() * (k + 1));
        [order[k], order[q]] = [order[q], order[k]];
      }
      expect(worst(oneByOne(p, list, order), alone)).toBe(0);
    });
    test(`${name}: splitting moves changes nothing`, () => {
      const points = path(1);
      const split = points.flatMap((q, k): [number, number, number][] => {
        if (k === 0) return [q];
        const o = points[k - 1];
        return [[0.3 * q[0] + 0.7 * o[0], 0.3 * q[1] + 0.7 * o[1], 0.3 * q[2] + 0.7 * o[2]], q];
      });
      const parts = moves(split);
      // cells within 1e-12 of the rim may fall either way: none is on it here
      expect(worst(oneByOne(p, parts), alone)).toBeLessThan(2e-6);
      expect(worst(together(p, parts), together(p, list))).toBeLessThan(2 * limit);
    });
    test(`${name}: cutting twice removes nothing more`, () => {
      const map = wood();
      const s = makeStock(map);
      expect(s.cut(p, list, 0, list.count)).toBeGreaterThan(0);
      expect(s.cut(p, list, 0, list.count)).toBe(0);
    });
  }
  test("nothing outside the footprint is lowered, nothing stays above the tool inside it", () => {
    for (const p of Object.values(PROFILES)) {
      const a = [8.03, 9.07, 9] as const;
      const b = [30.1, 21.02, 6] as const;
      const map = wood();
      const before = wood();
      makeStock(map).cut(p, moves([a, b]), 0, 1);
      for (let j = 0, k = 0; j < map.ny; j++)
        for (let i = 0; i < map.nx; i++, k++) {
          const x = map.x0 + i * map.cell;
          const y = map.y0 + j * map.cell;
          const t = ((x - a[0]) * (b[0] - a[0]) + (y - a[1]) * (b[1] - a[1])) / ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2);
          const s = Math.min(1, Math.max(0, t));
          const away = Math.hypot(x - a[0] - s * (b[0] - a[0]), y - a[1] - s * (b[1] - a[1]));
          if (away > p.radius) expect(map.z[k]).toBe(before.z[k]);
          else expect(map.z[k]).toBeLessThanOrEqual(a[2] + s * (b[2] - a[2]) + profileHeight(p, away) + 2e-6);
        }
    }
  });
  test("penetration is the deepest cell, against every cell", () => {
    const map = wood();
    const s = makeStock(map);
    const r = numbers(4);
    for (let k = 0; k < 40; k++) {
      const radius = 0.5 + 4 * r();
      const a = [45 * r() - 2, 34 * r() - 2, 8 + 6 * r()];
      const b = k % 5 ? [45 * r() - 2, 34 * r() - 2, 8 + 6 * r()] : [a[0], a[1], 8 + 6 * r()];
      let want = Number.NEGATIVE_INFINITY;
      const dx = b[0] - a[0];
      const dy = b[1] - a[1];
      const dd = dx * dx + dy * dy;
      for (let j = 0; j < map.ny; j++)
        for (let i = 0; i < map.nx; i++) {
          const px = map.x0 + i * map.cell - a[0];
          const py = map.y0 + j * map.cell - a[1];
          // |p - s d| <= radius, solved for s
          const c = px * px + py * py - radius * radius;
          let s0 = 0;
          let s1 = 1;
          if (dd > 0) {
            const h = (px * dx + py * dy) / dd;
            const q = h * h - c / dd;
            if (q < 0) continue;
            s0 = Math.max(0, h - Math.sqrt(q));
            s1 = Math.min(1, h + Math.sqrt(q));
          } else if (c > 0) continue;
          if (s0 > s1) continue;
          want = Math.max(want, map.z[j * map.nx + i] - Math.min(a[2] + s0 * (b[2] - a[2]), a[2] + s1 * (b[2] - a[2])));
        }
      const ours = s.penetration(radius, a[0], a[1], a[2], b[0], b[1], b[2]);
      if (want === Number.NEGATIVE_INFINITY) expect(ours).toBe(want);
      else expect(Math.abs(ours - want)).toBeLessThan(1e-9);
    }
  });
});
