/*
 * Second opinion on offsets and set operations.
 * Source: manifold-3d 3.2.1 (CrossSection), an independent program with its own geometry core.
 */
import manifold from "manifold-3d";
import { beforeAll, describe, expect, test } from "vitest";
import { differenceOf, intersectionOf, offsetPolygon, unionOf } from "../../src/kernel/offset.ts";
import { regionArea } from "../../src/kernel/polygon.ts";

type Kernel = Awaited<ReturnType<typeof manifold>>;
let kernel: Kernel;
beforeAll(async () => {
  kernel = await manifold();
  kernel.setup();
});

const pairs = (p: Float64Array): [number, number][] => Array.from({ length: p.length / 2 }, (_, k) => [p[2 * k], p[2 * k + 1]]);

/** A long tapered plan with a wavy head, not crossing itself. */
function plan(n: number): Float64Array {
  const out: number[] = [];
  for (let k = 0; k <= n; k++) {
    const x = (660 * k) / n - 180;
    const wave = x < 0 ? 12 * Math.sin((-x / 180) * Math.PI) + 3 * Math.sin(-x / 9) : 0;
    out.push(x, -(21 + x * 0.012 + wave));
  }
  for (let k = n; k >= 0; k--) {
    const x = (660 * k) / n - 180;
    const wave = x < 0 ? 18 * Math.sin((-x / 180) * Math.PI) : 0;
    out.push(x, 21 + x * 0.012 + wave);
  }
  return Float64Array.from(out);
}

function star(n: number, phase: number): Float64Array {
  const out = new Float64Array(2 * n);
  for (let k = 0; k < n; k++) {
    const r = 20 + 9 * Math.sin(3 * k + phase) + 5 * Math.cos(7 * k * phase);
    out[2 * k] = r * Math.cos((2 * Math.PI * k) / n) + phase;
    out[2 * k + 1] = r * Math.sin((2 * Math.PI * k) / n);
  }
  return out;
}

describe("offsets against a second library", () => {
  for (const delta of [0.3, 1.5, 4, 12, -0.5, -3, -8]) {
    test(`plan offset by ${delta} mm: same area to 0.05 mm2 in some 30,000`, () => {
      const p = plan(300);
      const ours = regionArea(offsetPolygon([p], delta, { arcTolerance: 0.0002 }));
      const section = new kernel.CrossSection([pairs(p)]);
      // circular segments so many that the inscribed polygons agree with our arc tolerance
      const theirs = section.offset(delta, "Round", 2, 4000);
      expect(Math.abs(ours - theirs.area())).toBeLessThan(0.05);
      theirs.delete();
      section.delete();
    });
  }

  test("union, difference, intersection of 40 pairs of stars: same area to 0.001 mm2", () => {
    for (let k = 0; k < 40; k++) {
      const a = star(40, 0.37 * k);
      const b = star(36, 0.61 * k + 1);
      const A = new kernel.CrossSection([pairs(a)]);
      const B = new kernel.CrossSection([pairs(b)]);
      for (const [ours, theirs] of [
        [unionOf([a], [b]), A.add(B)],
        [differenceOf([a], [b]), A.subtract(B)],
        [intersectionOf([a], [b]), A.intersect(B)],
      ] as const) {
        expect(Math.abs(regionArea(ours) - theirs.area())).toBeLessThan(0.001);
        theirs.delete();
      }
      A.delete();
      B.delete();
    }
  });
});
