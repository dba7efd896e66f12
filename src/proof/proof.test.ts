import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { makeMap } from "../kernel/heightmap.ts";
import { makeStock } from "../kernel/make-stock.ts";
import { MoveBuilder } from "../kernel/moves.ts";
import { ballProfile, bullProfile, flatProfile, profileHeight } from "../kernel/profile.ts";
import { shapeOf } from "../kernel/tilt.ts";
import type { CutterSpec } from "../spec/types.ts";
import { curvature } from "./board.ts";
import { roundAt } from "./gauge.ts";
import { layerOf, Probe, wallAt } from "./probe.ts";
import { interpretProgram, READER_RULES } from "./reader/index.ts";
import { PF_RULES } from "./rules.ts";
import { notRigid } from "./setup.ts";
import { footprintOf, planDistance, touch } from "./solids.ts";
import { toolOf, widestBetween } from "./tool.ts";

const SEED = 20260101;
const profiles = [
  flatProfile(6),
  ballProfile(6),
  bullProfile(6, 1),
  { radius: 3, flat: 0, corner: 0, cone: 1 },
  { radius: 2.5, flat: 0.3, corner: 0.4, cone: 5 },
];

const place = fc.record({
  x: fc.double({ min: -8, max: 28, noNaN: true }),
  y: fc.double({ min: -8, max: 20, noNaN: true }),
  z: fc.double({ min: 0, max: 12, noNaN: true }),
});

describe("the probe", () => {
  test("gives the heights of the stock that the kernel cuts, at every cell", () => {
    fc.assert(
      fc.property(fc.array(place, { minLength: 1, maxLength: 8 }), fc.nat(profiles.length - 1), fc.boolean(), (places, p, arcs) => {
        const b = new MoveBuilder([3, 3, 8]);
        for (const q of places) b.lineTo(q.x, q.y, q.z, 10);
        if (arcs) b.arcTo(b.px, b.py, 4, b.px + 2, b.py + 1, 0, -2 * Math.PI, 10);
        const moves = b.list();
        const map = makeMap(0, 0, 20, 12, 0.5, 10);
        makeStock(map).cut(profiles[p], moves, 0, moves.count);
        const shape = shapeOf(profiles[p]);
        const probe = new Probe([layerOf(shape, moves, 0, -10, -10, 30, 22)], [], 10);
        const spot = probe.near(0, 0, 20, 12);
        for (let j = 0, k = 0; j < map.ny; j++) {
          for (let i = 0; i < map.nx; i++, k++) {
            const x = map.x0 + i * map.cell;
            const y = map.y0 + j * map.cell;
            const h = spot.height(x, y);
            if (Math.abs(h - map.z[k]) <= 2e-3) continue;
            // a cell just on the rim of the cutter may fall to either side
            const near = [1e-3, -1e-3].flatMap((d) => [spot.height(x + d, y), spot.height(x, y + d), spot.height(x + d, y + d)]);
            expect(Math.min(...near) - 2e-3 <= map.z[k] && map.z[k] <= Math.max(...near) + 2e-3).toBe(true);
          }
        }
      }),
      { seed: SEED, numRuns: 60 },
    );
  });

  test("a fill stands until a later step cuts it", () => {
    const cutAt = (z: number): MoveBuilder => {
      const b = new MoveBuilder([0, 5, z]);
      b.lineTo(20, 5, z, 10);
      return b;
    };
    const layer = (z: number, step: number): ConstructorParameters<typeof Probe>[0][number] => {
      const moves = cutAt(z).list();
      return layerOf(shapeOf(flatProfile(4)), moves, step, -5, -5, 25, 15);
    };
    const probe = new Probe([layer(2, 0), layer(7, 2)], [{ step: 1, top: 10, distance: (x) => x - 10 }], 10);
    expect(probe.near(5, 5, 5, 5, 1).height(5, 5)).toBe(2);
    expect(probe.near(5, 5, 5, 5, 2).height(5, 5)).toBe(10);
    expect(probe.near(5, 5, 5, 5).height(5, 5)).toBe(7);
    expect(probe.near(15, 5, 15, 5).height(15, 5)).toBe(2);
  });

  test("finds a wall to a micrometre", () => {
    fc.assert(
      fc.property(fc.double({ min: -0.9, max: 0.9, noNaN: true }), (w) => {
        expect(wallAt((s) => (s > w ? 0 : 10), 5, -1, 1)).toBeCloseTo(w, 3);
      }),
      { seed: SEED, numRuns: 100 },
    );
    expect(wallAt(() => 10, 5, -1, 1)).toBeNaN();
    expect(wallAt(() => 0, 5, -1, 1)).toBeNaN();
  });

  test("a round wall's centre and diameter come back", () => {
    const height = (x: number, y: number): number => (Math.hypot(x - 3.01, y + 2.02) < 4.4 ? 0 : 10);
    const r = roundAt(height, 3, -2, 4.4, 5, wallAt);
    expect(r?.x).toBeCloseTo(3.01, 3);
    expect(r?.y).toBeCloseTo(-2.02, 3);
    // a centre that is off by e makes the mean ray shorter by e^2 / 4r
    expect(r?.diameter).toBeCloseTo(8.8, 3);
  });
});

const cutter: CutterSpec = {
  number: 1,
  name: "6 mm ball",
  shape: "ball",
  diameter: 6,
  cornerRadius: 3,
  tipDiameter: 0,
  tipAngle: 0,
  flutes: 2,
  fluteLength: 20,
  reach: 35,
  shankDiameter: 6,
  holder: [
    { diameter: 20, length: 18 },
    { diameter: 40, length: 30 },
  ],
  chip: { min: 0.02, max: 0.1 },
  maxDepth: 6,
  maxRpm: 24000,
  modulus: 580000,
};

describe("contact with what holds the piece", () => {
  const tool = toolOf(cutter, profileHeight);
  test("the tool's width by height", () => {
    expect(widestBetween(tool, -5, 0)).toBe(0);
    expect(widestBetween(tool, 3, 10)).toBe(3);
    expect(widestBetween(tool, 0, 36)).toBe(10);
    expect(widestBetween(tool, 0, 60)).toBe(20);
    // never less than the ball, never more than one ring too much
    for (let h = 0.01; h < 3; h += 0.05) {
      const exact = Math.sqrt(h * (6 - h));
      expect(widestBetween(tool, -1, h)).toBeGreaterThanOrEqual(exact - 1e-9);
      expect(widestBetween(tool, -1, h)).toBeLessThanOrEqual(exact + 3 / 16 + 1e-9);
    }
  });

  test("agrees with a dense walk along the move", () => {
    const solids = [
      footprintOf({ kind: "box", min: [4, 4, 0], max: [10, 8, 12], name: "block 1", role: "block" }),
      footprintOf({ kind: "cylinder", x: 7, y: 6, diameter: 5, zMin: 0, zMax: 9, name: "pin 1", role: "fence pin" }),
      footprintOf({
        kind: "prism",
        points: [
          [3, 3],
          [11, 4],
          [8, 10],
        ],
        zMin: 2,
        zMax: 11,
        name: "support",
        role: "support",
      }),
    ];
    fc.assert(
      fc.property(place, place, fc.nat(2), (a, b, n) => {
        const f = solids[n];
        let dense = 0;
        for (let k = 0; k <= 2000; k++) {
          const t = k / 2000;
          const z = a.z + (b.z - a.z) * t;
          const d = planDistance(f, a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t);
          dense = Math.max(dense, widestBetween(tool, f.zMin - z, f.zMax - z) - d);
        }
        const found = touch(tool, f, a.x, a.y, a.z, b.x, b.y, b.z)?.depth ?? 0;
        // a ring more or less where the height just passes one
        expect(Math.abs(found - dense)).toBeLessThan(3 / 16 + 0.03);
        if (dense === 0) expect(found).toBeLessThan(0.03);
      }),
      { seed: SEED, numRuns: 200 },
    );
  });
});

describe("small things", () => {
  test("the circle through a row of heights", () => {
    for (const R of [60, 184, 305, 508]) {
      const ys = Array.from({ length: 41 }, (_, k) => -25 + k * 1.25);
      expect(
        1 /
          curvature(
            ys,
            ys.map((y) => 5 + Math.sqrt(R * R - y * y) - R),
          ),
      ).toBeCloseTo(R, 1);
      const off = ys.map((y) => y + 7);
      expect(
        1 /
          curvature(
            off.slice(0, 30),
            off.slice(0, 30).map((y) => Math.sqrt(R * R - (y - 2) ** 2)),
          ),
      ).toBeGreaterThan(R * 0.97);
    }
    expect(curvature([-1, 0, 1, 2], [3, 3, 3, 3])).toBeCloseTo(0, 12);
  });

  test("a rotation is rigid; a stretch, a shear and a mirror are not", () => {
    const c = Math.cos(0.3);
    const s = Math.sin(0.3);
    expect(notRigid([c, -s, 0, 5, s, c, 0, 6, 0, 0, 1, 7])).toBeLessThan(1e-12);
    expect(notRigid([1.001, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0])).toBeGreaterThan(1e-3);
    expect(notRigid([1, 0.01, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0])).toBeGreaterThan(1e-3);
    expect(notRigid([1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0])).toBe(2);
    expect(notRigid([Number.NaN, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0])).toBe(Number.POSITIVE_INFINITY);
  });

  test("rule ids are of this stage and unique", () => {
    const ids = PF_RULES.map((r) => r.id);
    expect(new Set(ids).size).toBe(ids.length);
    expect(ids.every((id) => /^PF-\d{3}$/.test(id))).toBe(true);
    expect(READER_RULES.every((r) => ids.includes(r.id))).toBe(true);
    expect(PF_RULES.every((r) => r.says.length > 20 && r.says.endsWith("."))).toBe(true);
  });

  test("G64 with P is told with its bound, without P as unbounded", () => {
    const path = (t: string): number[] =>
      interpretProgram(`${t}\nm2`)
        .events.filter((e) => e.kind === "path")
        .map((e) => e.value);
    expect(path("g64 p0.005\ng61\ng64")).toEqual([0.005, 0, -1]);
  });
});
