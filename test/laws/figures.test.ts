import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { polygonArea } from "../../src/kernel/polygon.ts";
import { compositeSection, transformedSection } from "../../src/materials/beam.ts";
import { type Figures, figuresOf, type Tolerances, USUAL_TOLERANCES } from "../../src/neck/figures/index.ts";
import { boardFigure, partsAt, shaftFigure } from "../../src/neck/figures/section.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { parseOrderObject } from "../../src/spec/index.ts";
import type { OrderSpec } from "../../src/spec/types.ts";
import { isStop } from "../../src/units/index.ts";
import { soundOrder } from "../arbitrary.ts";

/* Laws of what a neck means: mirror, size, one scale or two equal ones, tension, sections, bands. */

const RUNS = { seed: 20260101, numRuns: 6 };

/** Orders whose neck stands: the only ones whose figures are given. */
const standing = (): fc.Arbitrary<OrderSpec> => soundOrder().filter((o) => !makeNeck(o).findings.some(isStop));
const byId = (f: Figures): Map<string, number> => new Map(f.figures.map((q) => [q.id, q.value]));
const guitar = (change: object = {}): OrderSpec => {
  const { value } = parseOrderObject({ neckwright: "order/1", name: "law", instrument: "guitar", ...change });
  if (!value) throw new Error("the guitar of these laws is not an order");
  return value;
};
const near = (a: number, b: number, relative: number): void => {
  expect(Math.abs(a - b)).toBeLessThanOrEqual(relative * Math.max(1, Math.abs(a), Math.abs(b)));
};

describe("a mirrored order", () => {
  it("has every number of the one it mirrors", () => {
    fc.assert(
      fc.property(standing(), (order) => {
        const one = figuresOf(makeNeck(order));
        const other = figuresOf(makeNeck({ ...order, hand: order.hand === "left" ? "right" : "left" }));
        expect(other.figures.map((f) => f.id)).toEqual(one.figures.map((f) => f.id));
        one.figures.forEach((f, i) => {
          for (const key of ["value", "low", "high"] as const) near(other.figures[i][key], f[key], 1e-7);
        });
        expect(other.findings.map((f) => f.rule)).toEqual(one.findings.map((f) => f.rule));
      }),
      RUNS,
    );
  });

  it("mirrors a laminated shaft too", () => {
    const strips = [
      { wood: "hard maple", width: 60 },
      { wood: "black walnut", width: 10 },
      { wood: "mahogany (american)", width: 60 },
    ];
    const right = byId(figuresOf(makeNeck(guitar({ wood: { strips } }))));
    const left = byId(figuresOf(makeNeck(guitar({ wood: { strips }, hand: "left" }))));
    for (const [id, value] of right) near(left.get(id) ?? Number.NaN, value, 1e-7);
  });
});

/**
 * Every length of an order times s. Held: pitches and unit weights (so tension grows with the square of s, and stress, stretch and stiffness
 * of a string stay what they are), angles, exponents, counts, moisture.
 */
function scaledBy(order: OrderSpec, s: number): OrderSpec {
  const held = new Set([
    "count",
    "bassExponent",
    "trebleExponent",
    "exponent",
    "roundness",
    "bass_count",
    "moisture",
    "square",
    "fret",
    "frets",
  ]);
  const heldPaths =
    /tuners\.(bass|treble|sideAngle)$|angle$|grain$|pitches|unitWeights|fallAway\.from$|relief\.to$|doubleAt|courses|climate/i;
  const walk = (v: unknown, key: string, path: string): unknown => {
    if (heldPaths.test(path) || (held.has(key) && path !== "frets")) return v;
    if (typeof v === "number") return v * s;
    if (Array.isArray(v)) return v.map((q, i) => walk(q, String(i), `${path}[]`));
    if (v !== null && typeof v === "object")
      return Object.fromEntries(Object.entries(v).map(([k, q]) => [k, walk(q, k, path === "" ? k : `${path}.${k}`)]));
    return v;
  };
  return walk(order, "", "") as OrderSpec;
}

describe("an order times s", () => {
  const gauges = [1.17, 0.91, 0.66, 0.43, 0.33, 0.25];
  const base = guitar({
    strings: {
      pitches: ["E2", "A2", "D3", "G3", "B3", "E4"],
      gauges,
      cores: gauges.map((d) => Math.min(d, 0.4)),
      unitWeights: [6, 3.6, 1.9, 1.1, 0.67, 0.39],
    },
    setup: { nut: 0.4, twelfth: 1.9, finger: 10 },
  });
  const one = makeNeck(base);
  const before = figuresOf(one);

  it.each([0.8, 1.25, 1.5])("has lengths times %d, areas times its square, cents as they were", (s) => {
    const neck = makeNeck(scaledBy(base, s));
    const after = figuresOf(neck);
    for (let n = 1; n <= base.frets.count; n++) near(neck.fretAt(n), s * one.fretAt(n), 1e-12);
    const now = byId(after);
    // a station one millimetre from the nut does not grow with the neck
    const grown = before.figures.filter((f) => !f.id.endsWith("-nut"));
    let [lengths, areas, cents] = [0, 0, 0];
    for (const f of grown) {
      const value = now.get(f.id) ?? Number.NaN;
      if (/^(girth|saddle|nut-|balance$|wood-under)/.test(f.id)) {
        lengths++;
        near(value, s * f.value, 1e-6);
      } else if (f.id.startsWith("area")) {
        areas++;
        near(value, s * s * f.value, 1e-6);
      } else if (/^cents-(before|saddle|after)/.test(f.id)) {
        cents++;
        near(value, f.value, 1e-6);
      } else if (/^tension/.test(f.id)) near(value, s * s * f.value, 1e-9);
      else if (/^stress/.test(f.id)) near(value, f.value, 1e-9);
      else if (f.id === "mass") near(value, s ** 3 * f.value, 1e-6);
    }
    expect(Math.min(lengths, areas, cents)).toBeGreaterThan(3);
    before.strings.forEach((t, k) => {
      for (const key of ["before", "afterSaddle", "after"] as const)
        t[key].forEach((c, n) => {
          near(after.strings[k][key][n], c, 1e-6);
        });
    });
  });
});

describe("a multi-scale neck with equal scales", () => {
  it("equals the single-scale one to 1e-9", () => {
    fc.assert(
      fc.property(fc.double({ min: 600, max: 700, noNaN: true }), fc.integer({ min: 0, max: 12 }), (scale, square) => {
        const single = makeNeck(guitar({ scale }));
        const fan = makeNeck(guitar({ scale: { bass: scale, treble: scale, square } }));
        for (let n = 1; n <= 22; n++) near(fan.fretAt(n), single.fretAt(n), 1e-9);
        single.features.frets.forEach((f, i) => {
          for (const end of ["bass", "treble"] as const) {
            near(fan.features.frets[i][end].x, f[end].x, 1e-9);
            near(fan.features.frets[i][end].y, f[end].y, 1e-9);
          }
        });
        const values = byId(figuresOf(fan));
        for (const f of figuresOf(single).figures) near(values.get(f.id) ?? Number.NaN, f.value, 1e-9);
      }),
      RUNS,
    );
  });
});

describe("relief", () => {
  it("grows with the tension, string by string and all together", () => {
    fc.assert(
      fc.property(fc.double({ min: 1.02, max: 1.6, noNaN: true }), fc.integer({ min: 0, max: 5 }), (more, which) => {
        const weights = [6, 3.6, 1.9, 1.1, 0.67, 0.39];
        const of = (unitWeights: number[]): number =>
          byId(figuresOf(makeNeck(guitar({ strings: { unitWeights } })))).get("relief") ?? Number.NaN;
        const now = of(weights);
        const one = of(weights.map((w, i) => (i === which ? w * more : w)));
        const all = of(weights.map((w) => w * more));
        expect(one).toBeGreaterThan(now);
        expect(all).toBeGreaterThan(one);
        // linear: twice the pull, twice the relief
        near(all / now, more, 1e-9);
      }),
      RUNS,
    );
  });
});

describe("section integrals", () => {
  it("equal polygon integrals of the sampled section to 1e-6", () => {
    fc.assert(
      fc.property(standing(), fc.double({ min: 0.05, max: 0.9, noNaN: true }), (order, at) => {
        const neck = makeNeck(order);
        const x = neck.places.carveStart + (neck.places.carveEnd - neck.places.carveStart) * at;
        fc.pre(x > 0);
        const [lo, hi] = neck.edges(x);
        const n = 60_000;
        const back: number[] = [];
        const face: number[] = [];
        for (let k = 0; k <= n; k++) {
          // close together at the edges, where an oval stands upright
          const c = k / n < 0.5 ? (2 * k) / n : 2 - (2 * k) / n;
          const y = k / n < 0.5 ? lo * (1 - c ** 3) : hi * (1 - c ** 3);
          const held = Math.min(hi, Math.max(lo, y));
          back.push(held, neck.back(x, held));
          face.push(held, neck.top(x, held));
        }
        const close = (points: number[], z: number): Float64Array => Float64Array.from([lo, z, ...points, hi, z]);
        const shaft = shaftFigure(neck, x);
        near(shaft.area / Math.abs(polygonArea(close(back, 0))), 1, 1e-6);
        const board = boardFigure(neck, x);
        if (board) near(board.area / Math.abs(polygonArea(close(face, 0))), 1, 1e-6);
        // second moments of the polygon about its own centroid, by Green's theorem
        const [area, first, second] = momentsOf(close(back, 0));
        near(first / area / shaft.centroid, 1, 1e-6);
        near((second - (first * first) / area) / shaft.inertia, 1, 1e-6);
      }),
      RUNS,
    );
  });

  it("add up to the same stiffness by both routes, rod and bars in it", () => {
    const neck = makeNeck(guitar({ bars: { count: 2, width: 4, height: 6, offset: 10, roof: 2 } }));
    for (let x = 15; x < 380; x += 20) {
      const parts = partsAt(neck, x, 12_600, 12_300);
      near(transformedSection(parts, 12_600).inertia * 12_600, compositeSection(parts).bending, 1e-12);
    }
  });
});

/** Area, and first and second moment about y = 0 of the second coordinate, signed alike. */
function momentsOf(p: Float64Array): readonly [number, number, number] {
  let [area, first, second] = [0, 0, 0];
  const n = p.length / 2;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const [y0, z0, y1, z1] = [p[2 * i], p[2 * i + 1], p[2 * j], p[2 * j + 1]];
    const cross = y0 * z1 - y1 * z0;
    area += cross / 2;
    first += (cross * (z0 + z1)) / 6;
    second += (cross * (z0 * z0 + z0 * z1 + z1 * z1)) / 12;
  }
  return area < 0 ? [-area, -first, -second] : [area, first, second];
}

describe("bands", () => {
  const keys = Object.keys(USUAL_TOLERANCES) as (keyof Tolerances)[];
  const wide = (f: number): Tolerances => Object.fromEntries(keys.map((k) => [k, USUAL_TOLERANCES[k] * f])) as never;

  it("hold their value, and are finite", () => {
    fc.assert(
      fc.property(standing(), (order) => {
        for (const f of figuresOf(makeNeck(order)).figures) {
          expect([f.id, Number.isFinite(f.low) && Number.isFinite(f.high)]).toEqual([f.id, true]);
          expect([f.id, f.low <= f.value && f.value <= f.high]).toEqual([f.id, true]);
        }
      }),
      RUNS,
    );
  });

  it.each(["loan", "laminated", "angled"])("never narrow when an input's tolerance widens: %s", (kind) => {
    const change =
      kind === "laminated"
        ? {
            wood: {
              strips: [
                { wood: "hard maple", width: 70 },
                { wood: "black walnut", width: 70 },
              ],
            },
          }
        : kind === "angled"
          ? { headstock: { kind: "angled", angle: 10 }, wood: { grain: 1 } }
          : {};
    const neck = makeNeck(guitar(change));
    const base = figuresOf(neck, wide(0.5)).figures;
    for (const key of keys) {
      const more = figuresOf(neck, { ...wide(0.5), [key]: USUAL_TOLERANCES[key] }).figures;
      base.forEach((f, i) => {
        expect([key, f.id, more[i].low <= f.low + 1e-9 * Math.abs(f.low) + 1e-12]).toEqual([key, f.id, true]);
        expect([key, f.id, more[i].high >= f.high - 1e-9 * Math.abs(f.high) - 1e-12]).toEqual([key, f.id, true]);
      });
    }
  });

  it("every tolerance moves at least one figure", () => {
    const neck = makeNeck(guitar());
    const base = figuresOf(neck, wide(0.5)).figures;
    for (const key of keys) {
      const more = figuresOf(neck, { ...wide(0.5), [key]: 2 * USUAL_TOLERANCES[key] }).figures;
      expect([key, base.some((f, i) => more[i].high > f.high + 1e-9)]).toEqual([key, true]);
    }
  });
});
