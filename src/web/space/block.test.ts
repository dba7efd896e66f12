import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Block, blockOfNeck, trianglesOf, volumeOf } from "./block.ts";

const slab = (n: number, m: number, holes: ReadonlySet<number> = new Set(), falling = false): Block => ({
  x: Float32Array.from({ length: n }, (_, i) => i),
  y: Float32Array.from({ length: n * m }, (_, k) => (falling ? m - 1 - (k % m) : k % m)),
  top: Float32Array.from({ length: n * m }, (_, k) => (holes.has(k) ? 0 : 3)),
  bottom: new Float32Array(n * m).fill(1),
  across: m,
});

describe("a block of wood as triangles", () => {
  test("a slab's volume is its own, whichever way its places run", () => {
    for (const falling of [false, true]) expect(volumeOf(trianglesOf(slab(5, 4, new Set(), falling)))).toBeCloseTo(4 * 3 * 2, 5);
  });

  test("the body is closed whatever is cut away: no edge is left open", () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.nat(47), { maxLength: 30 }), fc.boolean(), (holes, falling) => {
        const t = trianglesOf(slab(8, 6, new Set(holes), falling));
        const edges = new Map<string, number>();
        const at = (k: number): string => `${t[k]},${t[k + 1]},${t[k + 2]}`;
        for (let k = 0; k < t.length; k += 9)
          for (const [p, q] of [
            [k, k + 3],
            [k + 3, k + 6],
            [k + 6, k],
          ]) {
            edges.set(`${at(p)}>${at(q)}`, (edges.get(`${at(p)}>${at(q)}`) ?? 0) + 1);
          }
        for (const [name, n] of edges) {
          const [p, q] = name.split(">");
          expect(edges.get(`${q}>${p}`) ?? 0).toBe(n);
        }
        expect(volumeOf(t)).toBeGreaterThanOrEqual(0);
      }),
      { seed: 20260101, numRuns: 40 },
    );
  });

  test("a neck of flat faces has the volume of its plan times its thickness", () => {
    const neck = {
      places: { tip: -10, end: 90 },
      edges: (x: number): readonly [number, number] => [-20 - 0.05 * x, 20 + 0.05 * x],
      top: () => 5,
      back: () => -7,
    };
    // 100 long, mean width 40 + 0.1 * 40
    expect(volumeOf(trianglesOf(blockOfNeck(neck, 2)))).toBeCloseTo(100 * 44 * 12, -1);
  });
});
