import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { flatten } from "../kernel/contour.ts";
import { polygonArea, signedDistance } from "../kernel/polygon.ts";
import { guitar } from "./fixture.test-data.ts";
import { makeNeck } from "./neck.ts";
import type { Neck } from "./types.ts";

const seeded = { seed: 20260101, numRuns: 300 };
const neck = makeNeck(guitar);
const { places } = neck;

/** A place on the neck by two shares of its length and of its width there. */
const onNeck = fc.record({ u: fc.double({ min: 0.002, max: 0.998, noNaN: true }), v: fc.double({ min: 0.01, max: 0.99, noNaN: true }) });
const place = (n: Neck, { u, v }: { u: number; v: number }): [number, number] => {
  const x = n.places.tip + (n.places.shaftEnd - 0.01 - n.places.tip) * u;
  const [lo, hi] = n.edges(x);
  return [x, lo + (hi - lo) * v];
};

describe("the demo-like guitar neck", () => {
  it("has no findings", () => expect(neck.findings).toEqual([]));

  it("has an outline that runs counter-clockwise and holds every bore", () => {
    const poly = flatten(neck.outline, 0.005);
    expect(polygonArea(poly)).toBeGreaterThan(0);
    for (const t of neck.features.tuners) expect(signedDistance([poly], t.x, t.y)).toBeLessThan(-t.steps[0].diameter / 2);
  });

  it("knows its edges: they lie on the outline's polygon", () => {
    const poly = flatten(neck.outline, 0.001);
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 0.999, noNaN: true }), (u) => {
        const x = places.tip + (places.boardEnd - places.tip) * u;
        for (const y of neck.edges(x)) expect(Math.abs(signedDistance([poly], x, y))).toBeLessThan(0.003);
      }),
      seeded,
    );
  });

  it("passes smoothly along x: the back's slope never jumps on the centreline", () => {
    const slope = (x: number): number => (neck.back(x + 1e-4, 0) - neck.back(x - 1e-4, 0)) / 2e-4;
    for (let x = places.tip + 1; x < places.shaftEnd - 1; x += 0.25) expect(Math.abs(slope(x + 0.01) - slope(x))).toBeLessThan(0.02);
  });

  it("meets its stations: ordered thickness at their frets", () => {
    for (const s of guitar.carve.stations) {
      const x = s.at.kind === "fret" ? neck.fretAt(s.at.fret) : s.at.x;
      expect(neck.top(x, 0) - neck.back(x, 0)).toBeCloseTo(s.thickness, 9);
    }
  });
});

describe("distances from the finished surfaces", () => {
  it("a point lifted off the back along its normal stands that far off", () => {
    fc.assert(
      fc.property(onNeck, fc.double({ min: -0.05, max: 0.05, noNaN: true }), (at, lift) => {
        const [x, y] = place(neck, at);
        const z = neck.back(x, y);
        const [nx, ny, nz] = neck.backNormal(x, y, z);
        const [lo, hi] = neck.edges(x + nx * lift);
        const yy = y + ny * lift;
        fc.pre(yy > lo + 0.2 && yy < hi - 0.2);
        expect(neck.backDistance(x + nx * lift, yy, z + nz * lift)).toBeCloseTo(lift, 3);
      }),
      seeded,
    );
  });

  it("the top's distance is the height over a level place and never more than the height", () => {
    fc.assert(
      fc.property(onNeck, fc.double({ min: -0.05, max: 0.05, noNaN: true }), (at, lift) => {
        const [x, y] = place(neck, at);
        const d = neck.topDistance(x, y, neck.top(x, y) + lift);
        expect(Math.abs(d)).toBeLessThanOrEqual(Math.abs(lift) * 1.0001 + 1e-9);
        if (x < places.rampFoot) expect(d).toBeCloseTo(lift, 9);
      }),
      seeded,
    );
  });
});

describe("laws", () => {
  it("a left-handed neck is the mirror image of the right-handed one", () => {
    const left = makeNeck({ ...guitar, hand: "left" });
    fc.assert(
      fc.property(onNeck, (at) => {
        const [x, y] = place(neck, at);
        expect(left.top(x, -y)).toBe(neck.top(x, y));
        expect(left.back(x, -y)).toBe(neck.back(x, y));
        expect(left.edges(x)[0]).toBe(-neck.edges(x)[1]);
        expect(left.backNormal(x, -y, neck.back(x, y))[1]).toBeCloseTo(-neck.backNormal(x, y, neck.back(x, y))[1], 12);
      }),
      seeded,
    );
    expect(left.features.frets.map((f) => f.bass.y)).toEqual(neck.features.frets.map((f) => -f.bass.y));
    expect(polygonArea(flatten(left.outline, 0.01))).toBeCloseTo(polygonArea(flatten(neck.outline, 0.01)), 6);
    expect(left.findings.map((f) => f.rule)).toEqual(neck.findings.map((f) => f.rule));
  });

  it("frets fall on the 12-tone series and the octave halves the scale", () => {
    expect(neck.fretAt(12)).toBe(324);
    for (let n = 1; n <= 22; n++) expect((648 - neck.fretAt(n)) / (648 - neck.fretAt(n - 1))).toBeCloseTo(2 ** (-1 / 12), 12);
  });

  it("in-line tuners let every string run straight", () => {
    const t = guitar.headstock.tuners;
    const inline = makeNeck({
      ...guitar,
      headstock: {
        ...guitar.headstock,
        throat: 32,
        edge: 13,
        tuners: { ...t, layout: "in-line", side: "bass", bass: 6, treble: 0, first: 62, pitch: 25 },
      },
    });
    for (const b of inline.features.tuners) {
      expect(b.stringAngle).toBeLessThan(1e-12);
      expect(b.y + t.winding / 2).toBeCloseTo(inline.stringAt(b.string, b.x), 9);
    }
  });
});
