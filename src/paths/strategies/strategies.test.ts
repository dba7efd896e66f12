import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { MoveBuilder, MoveKind, type MoveList } from "../../kernel/moves.ts";
import { offsetPolygon } from "../../kernel/offset.ts";
import { circlePolygon, polygonArea, signedDistance } from "../../kernel/polygon.ts";
import {
  bore,
  boreSteps,
  channel,
  contour,
  feedInside,
  levels,
  longestStraight,
  type Motion,
  peck,
  rows,
  slot,
  THIN,
  thinPath,
} from "./index.ts";

const motion: Motion = { feed: 40, ramp: 20, plunge: 10, safeZ: 35, approachZ: 21 };
const run = (f: (b: MoveBuilder) => void): MoveList => {
  const b = new MoveBuilder([0, 0, 35]);
  f(b);
  return b.list();
};
const part = Float64Array.from([0, 0, 100, 0, 100, 20, 0, 20]);
const ring = offsetPolygon([part], 3)[0];
const base = { ...motion, cutterDiameter: 6, zTop: 20, zBottom: 14, depth: 3 } as const;

/** Signed area of what the level moves at the lowest z enclose: positive counter-clockwise. */
function turnOf(m: MoveList): number {
  let zMin = Infinity;
  for (let k = 0; k < m.count; k++) zMin = Math.min(zMin, m.z[k]);
  const p: number[] = [];
  for (let k = 0; k < m.count; k++) if (m.kind[k] === MoveKind.line && m.z[k] === zMin) p.push(m.x[k], m.y[k]);
  return polygonArea(Float64Array.from(p));
}

describe("thinPath", () => {
  test("every dropped point is within the tolerance of the path that is left; ends are kept", () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.double({ min: 0, max: 0.4, noNaN: true }),
            fc.double({ min: -0.002, max: 0.002, noNaN: true }),
            fc.double({ min: -0.002, max: 0.002, noNaN: true }),
          ),
          {
            minLength: 3,
            maxLength: 120,
          },
        ),
        (steps) => {
          let x = 0;
          const p = Float64Array.from(
            steps.flatMap(([dx, y, z]) => {
              x += dx + 0.01;
              return [x, y, z];
            }),
          );
          const q = thinPath(p);
          expect([...q.slice(0, 3)]).toEqual([...p.slice(0, 3)]);
          expect([...q.slice(-3)]).toEqual([...p.slice(-3)]);
          for (let k = 0; k < p.length; k += 3) {
            let ok = false;
            for (let i = 0; i + 5 < q.length && !ok; i += 3) {
              const t = (p[k] - q[i]) / (q[i + 3] - q[i]);
              if (t < -1e-3 || t > 1 + 1e-3) continue;
              const dy = Math.abs(p[k + 1] - q[i + 1] - t * (q[i + 4] - q[i + 1]));
              const dz = Math.abs(p[k + 2] - q[i + 2] - t * (q[i + 5] - q[i + 2]));
              ok = dy <= THIN.lateral * 1.01 && dz <= THIN.vertical * 1.02;
            }
            expect(ok).toBe(true);
          }
        },
      ),
      { seed: 20260101, numRuns: 200 },
    );
  });
  test("a straight row is two points, a radius of 250 mm about one a millimetre", () => {
    const straight = Float64Array.from(Array.from({ length: 1000 }, (_, k) => [0.1 * k, 0, 0.01 * k]).flat());
    expect(thinPath(straight).length).toBe(6);
    const arc = Float64Array.from(
      Array.from({ length: 501 }, (_, k) => [0, 0.1 * k - 25, Math.sqrt(250 ** 2 - (0.1 * k - 25) ** 2)]).flat(),
    );
    expect(thinPath(arc).length / 3).toBeLessThan(80);
  });
  test("a path that turns back keeps its turning point", () => {
    expect([...thinPath(Float64Array.from([0, 0, 0, 10, 0, 0, 4, 0, 0]))]).toEqual([0, 0, 0, 10, 0, 0, 4, 0, 0]);
  });
});

describe("contour", () => {
  test("climbs clockwise round a part and counter-clockwise inside a hole, whichever way the ring was given", () => {
    for (const given of [ring, Float64Array.from(ring).reverse()]) {
      // reversing the numbers swaps x and y as well: turn it into pairs again
      const p =
        given === ring
          ? ring
          : Float64Array.from(Array.from({ length: given.length / 2 }, (_, k) => [given[2 * k + 1], given[2 * k]]).flat());
      expect(turnOf(run((b) => contour(b, p, { ...base, keep: "inside", overlap: 0 })))).toBeLessThan(0);
      expect(turnOf(run((b) => contour(b, p, { ...base, keep: "outside", overlap: 0 })))).toBeGreaterThan(0);
      expect(turnOf(run((b) => contour(b, p, { ...base, keep: "inside", overlap: 0, milling: "conventional" })))).toBeGreaterThan(0);
    }
  });
  test("starts in the middle of the longest straight, the lower one of two, or where it is told", () => {
    expect(longestStraight(ring).x).toBeCloseTo(50, 2);
    expect(longestStraight(ring).y).toBeCloseTo(-3, 4);
    const split = Float64Array.from([0, 0, 30, 0, 60, 0, 100, 0, 100, 20, 50, 25, 0, 20]);
    expect(longestStraight(split)).toEqual({ x: 50, y: 0 });
    const m = run((b) => contour(b, ring, { ...base, keep: "inside", startAt: { x: 20, y: 30 } }));
    expect([m.x[0], m.y[0]]).toEqual([20, 23]);
  });
  test("leaves a skin", () => {
    const m = run((b) => contour(b, ring, { ...base, keep: "inside", skin: 0.6 }));
    expect(Math.min(...m.z)).toBeCloseTo(14.6, 12);
  });
  test("leads in and out by tangent arcs outside the part when there is room, and does without when there is not", () => {
    const options = { ...base, zTop: 14.4, zBottom: 14, approachZ: 16, keep: "inside" } as const;
    const m = run((b) => contour(b, ring, { ...options, lead: { radius: 5, room: () => true } }));
    const arcs: number[] = [];
    for (let k = 0; k < m.count; k++) if (m.kind[k] === MoveKind.arc) arcs.push(k);
    expect(arcs.length).toBe(2);
    for (const k of arcs) {
      // both ends of the arc stand outside the part by the cutter's radius or more
      expect(signedDistance([part], m.x[k], m.y[k])).toBeGreaterThan(3 - 1e-3);
      expect(signedDistance([part], m.x[k - 1], m.y[k - 1])).toBeGreaterThan(3 - 1e-3);
      // tangent: at the ring the arc runs along it, so its centre lies square off the straight
      expect(m.cx[k]).toBeCloseTo(50, 2);
      expect(m.cy[k]).toBeCloseTo(-8, 3);
    }
    const none = run((b) => contour(b, ring, { ...options, lead: { radius: 5, room: () => false } }));
    expect([...none.kind]).not.toContain(MoveKind.arc);
  });
  test("a ring too short for its depth goes down in more laps, none steeper than the ramp angle", () => {
    const small = circlePolygon(0, 0, 2, 0.01);
    const m = run((b) => contour(b, small, { ...base, keep: "outside" }));
    for (let k = 1; k < m.count; k++) {
      if (m.kind[k] !== MoveKind.line || m.z[k] >= m.z[k - 1] || m.z[k - 1] > 20) continue;
      const L = Math.hypot(m.x[k] - m.x[k - 1], m.y[k] - m.y[k - 1]);
      expect((m.z[k - 1] - m.z[k]) / L).toBeLessThanOrEqual(Math.tan((5 * Math.PI) / 180) + 1e-9);
    }
  });
});

describe("feeds", () => {
  test("inside a curve the centre runs slower so that the rim keeps its feed", () => {
    expect(feedInside(40, 3, 3)).toBe(20);
    const m = run((b) => bore(b, 0, 0, { diameter: 12, zTop: 20, zBottom: 15 }, { ...motion, cutterDiameter: 6, depth: 1 }));
    for (let k = 0; k < m.count; k++) if (m.kind[k] === MoveKind.arc) expect(m.feed[k]).toBeLessThanOrEqual(20);
  });
});

describe("what makes no path is refused before any move is made", () => {
  const o = { ...motion, cutterDiameter: 6, depth: 1, step: 2 };
  const cases: readonly [string, (b: MoveBuilder) => void, string][] = [
    ["bore too narrow", (b) => bore(b, 0, 0, { diameter: 6, zTop: 20, zBottom: 15 }, o), "too narrow"],
    ["bore upside down", (b) => bore(b, 0, 0, { diameter: 9, zTop: 15, zBottom: 20 }, o), "no depth"],
    ["channel narrower than its cutter", (b) => channel(b, { from: [0, 0], to: [9, 0], width: 5.9, zTop: 20, zBottom: 15 }, o), "narrower"],
    [
      "step wider than the cutter",
      (b) => channel(b, { from: [0, 0], to: [9, 0], width: 20, zTop: 20, zBottom: 15 }, { ...o, step: 7 }),
      "ridges",
    ],
    ["feed of nothing", (b) => peck(b, 0, 0, 20, 10, { ...motion, feed: 0, peck: 2 }), "feed"],
    ["approach above safe", (b) => peck(b, 0, 0, 20, 10, { ...motion, approachZ: 40, peck: 2 }), "approachZ"],
    ["row of one point", (b) => rows(b, [Float64Array.from([0, 0, 0])], motion), "row 0"],
    ["row with a hole in it", (b) => rows(b, [Float64Array.from([0, 0, 0, 1, Number.NaN, 0])], motion), "row 0"],
    [
      "blind slot shorter than its cutter",
      (b) =>
        slot(b, Float64Array.from([0, 0, 0, 0.5]), () => 10, { ...motion, cutterDiameter: 0.6, passDepth: 0.5, depth: 2, ends: "blind" }),
      "too short",
    ],
    [
      "slot of one point",
      (b) =>
        slot(b, Float64Array.from([0, 0, 0, 0]), () => 10, { ...motion, cutterDiameter: 0.6, passDepth: 0.5, depth: 2, ends: "blind" }),
      "equal points",
    ],
    ["field without a bottom", (b) => levels(b, [part], () => -Infinity, { ...motion, top: 20, depth: 2, step: 2 }), "no lowest place"],
    ["field that is not a number", (b) => levels(b, [part], () => Number.NaN, { ...motion, top: 20, depth: 2, step: 2 }), "not a number"],
    [
      "tab wider than its ring",
      (b) => contour(b, circlePolygon(0, 0, 3, 0.01), { ...base, keep: "inside", tabs: [{ at: { s: 0 }, width: 9, zTop: 16 }] }),
      "does not fit",
    ],
  ];
  test.each(cases)("%s", (_, make, says) => {
    const b = new MoveBuilder([0, 0, 35]);
    expect(() => make(b)).toThrow(says);
    expect(b.count).toBe(0);
  });
  test("a step that widens downward is refused", () => {
    const b = new MoveBuilder([0, 0, 35]);
    expect(() =>
      boreSteps(
        b,
        0,
        0,
        [
          { diameter: 8, zTop: 20, zBottom: 18 },
          { diameter: 10, zTop: 18, zBottom: 12 },
        ],
        o,
      ),
    ).toThrow("narrow downward");
    expect(b.count).toBe(0);
  });
});
