import { describe, expect, it } from "vitest";
import { bruteForce, randomProblem } from "../../../test/placing.ts";
import { insidePolygon, type Polygon, polygonArea } from "../../kernel/polygon.ts";
import { convexParts, hollows, hull, type Nearest, nearest } from "./convex.ts";
import { marginAt, place } from "./solve.ts";

const F = (...a: number[]): Polygon => Float64Array.from(a);
const rect = (l: number, w: number): Polygon => F(0, 0, l, 0, l, w, 0, w);
const within = (polygon: Polygon) => [{ name: "blank", polygon }];
const one = (polygon: Polygon, need = 0) => [{ name: "neck", polygon, need }];

describe("convex pieces", () => {
  const star = F(0, 0, 4, 1, 8, 0, 7, 4, 8, 8, 4, 7, 0, 8, 1, 4);
  it("cover the polygon: hull less hollows, and convex parts, have its area", () => {
    const area = polygonArea(star);
    expect(convexParts(star).reduce((s, p) => s + polygonArea(p), 0)).toBeCloseTo(area, 9);
    expect(polygonArea(hull(star)) - hollows(star).reduce((s, p) => s + polygonArea(p), 0)).toBeCloseTo(area, 9);
    expect(hollows(star)).toHaveLength(4);
  });
  it("are nearest to each other where they should be", () => {
    const near: Nearest = { distance: 0, ax: 0, ay: 0, bx: 0, by: 0 };
    nearest(rect(1, 1), 3, 0, rect(1, 1), near);
    expect(near.distance).toBeCloseTo(2, 12);
    nearest(rect(1, 1), 4, 5, rect(1, 1), near);
    expect(near.distance).toBeCloseTo(5, 12);
    nearest(rect(1, 1), 0.5, 0.5, rect(1, 1), near);
    expect(near.distance).toBe(0);
    expect(near.ax).toBeGreaterThan(0.5);
    expect(near.ax).toBeLessThan(1);
  });
});

describe("placement with the largest smallest margin", () => {
  it("of a rectangle in a rectangle is the closed form, in the middle", () => {
    const p = place({ pieces: one(rect(100, 20)), within: within(rect(140, 40)), without: [], rotation: { min: 0, max: 0 } });
    expect(p.margin).toBeCloseTo(10, 6);
    expect(p.shift.x).toBeCloseTo(20, 6);
    expect(p.shift.y).toBeCloseTo(10, 6);
    expect(p.bound - p.margin).toBeLessThanOrEqual(1.0001e-4);
    expect(p.contacts.length).toBeGreaterThan(0);
  });
  it("of a square turned freely in a circle's polygon is its half diagonal off the circle", () => {
    const n = 64;
    const circle = Float64Array.from({ length: 2 * n }, (_, k) => {
      const a = (Math.PI * 2 * (k >> 1)) / n;
      return 50 * (k & 1 ? Math.sin(a) : Math.cos(a));
    });
    const p = place({
      pieces: one(F(-10, -10, 10, -10, 10, 10, -10, 10)),
      within: within(circle),
      without: [],
      rotation: { min: -0.8, max: 0.8 },
    });
    const inscribed = 50 * Math.cos(Math.PI / n);
    expect(p.margin).toBeGreaterThan(inscribed - 10 * Math.SQRT2 - 1e-3);
    expect(p.margin).toBeLessThan(50 - 10 * Math.SQRT2);
  });
  it("a rotation saves a blank in which no shift fits", () => {
    // a strip that runs askew through its plank, as a board sawn off the grain does
    const a = 0.04;
    const [c, s] = [Math.cos(a), Math.sin(a)];
    const strip = [
      [-350, -45],
      [350, -45],
      [350, 45],
      [-350, 45],
    ].flatMap(([x, y]) => [c * x - s * y, s * x + c * y]);
    const problem = { pieces: one(F(-330, -30, 330, -30, 330, 30, -330, 30), 5), within: within(F(...strip)), without: [] };
    const still = place({ ...problem, rotation: { min: 0, max: 0 } });
    const turned = place({ ...problem, rotation: { min: -0.1, max: 0.1 } });
    expect(still.fits).toBe(false);
    expect(still.bound).toBeLessThan(0);
    expect(turned.fits).toBe(true);
    expect(turned.margin).toBeCloseTo(10, 3);
    expect(turned.rotation).toBeGreaterThan(0.03);
  });
  it("keeps a piece off a knot and another inside its figure, each with its need", () => {
    const problem = {
      pieces: [
        { name: "shaft", polygon: rect(60, 10), need: 2 },
        { name: "head", polygon: F(-20, -5, 0, -5, 0, 15, -20, 15), need: 0 },
      ],
      within: [
        { name: "blank", polygon: rect(160, 60) },
        { name: "figure", polygon: F(10, 5, 60, 5, 60, 55, 10, 55), pieces: ["head"] },
      ],
      without: [{ name: "knot", polygon: F(70, 30, 90, 30, 90, 45, 70, 45), pieces: ["shaft"] }],
      rotation: { min: -0.2, max: 0.2 },
    };
    const p = place(problem);
    expect(p.fits).toBe(true);
    const again = marginAt(problem, p);
    expect(again.margin).toBeCloseTo(p.margin, 9);
    expect(new Set(again.contacts.map((k) => k.region)).size).toBeGreaterThan(0);
    const [c, s] = [Math.cos(p.rotation), Math.sin(p.rotation)];
    for (const [x, y] of [
      [-20, -5],
      [0, 15],
    ])
      expect(insidePolygon(problem.within[1].polygon, c * x - s * y + p.shift.x, s * x + c * y + p.shift.y)).toBe(true);
  });
  it("says by how much a blank is too small, and proves it", () => {
    const p = place({ pieces: one(rect(100, 20)), within: within(rect(90, 40)), without: [], rotation: { min: -0.05, max: 0.05 } });
    expect(p.fits).toBe(false);
    expect(p.margin).toBeLessThan(0);
    expect(p.bound - p.margin).toBeLessThanOrEqual(1.0001e-4);
  });
  it("is never beaten by brute force on random outlines, blanks and defects", () => {
    let fitted = 0;
    for (let k = 0; k < 12; k++) {
      const problem = randomProblem(k);
      const ours = place(problem);
      const best = bruteForce(problem, 40);
      if (best > 1e-3) expect(ours.margin, `problem ${k}`).toBeGreaterThan(best - 1e-3);
      if (ours.margin > 1e-3) {
        fitted++;
        expect(ours.bound - ours.margin, `problem ${k}`).toBeLessThanOrEqual(1.0001e-4);
        expect(ours.bound).toBeGreaterThan(best - 1e-9);
      }
    }
    expect(fitted).toBeGreaterThan(6);
  });
});
