import { describe, expect, it } from "vitest";
import { polygonArea } from "../../kernel/polygon.ts";
import { compositeSection } from "../../materials/beam.ts";
import { guitar } from "../fixture.test-data.ts";
import { makeNeck } from "../neck.ts";
import { type Figures, figuresOf } from "./index.ts";
import { boardFigure, girth, partsAt, planeFigure, shaftFigure } from "./section.ts";

const neck = makeNeck(guitar);
const value = (f: Figures, id: string): number => f.figures.find((q) => q.id === id)?.value ?? Number.NaN;

describe("section integrals", () => {
  it("of a rectangle are those of the closed form", () => {
    const f = planeFigure(
      () => -22,
      () => 0,
      -27.5,
      27.5,
    );
    expect(f.area).toBeCloseTo(55 * 22, 6);
    expect(f.centroid).toBeCloseTo(-11, 9);
    expect(f.inertia).toBeCloseTo((55 * 22 ** 3) / 12, 5);
  });

  it("of half an ellipse are those of the closed form", () => {
    const [a, b] = [25, 15];
    const f = planeFigure(
      (y) => -b * Math.sqrt(Math.max(0, 1 - (y / a) ** 2)),
      () => 0,
      -a,
      a,
    );
    expect(f.area / ((Math.PI * a * b) / 2)).toBeCloseTo(1, 6);
    expect(f.centroid / ((-4 * b) / (3 * Math.PI))).toBeCloseTo(1, 6);
  });

  it("of the neck equal polygon integrals of the sampled section to 1e-6", () => {
    for (const x of [20, 150, 300]) {
      const [lo, hi] = neck.edges(x);
      const pts: number[] = [];
      const n = 40_000;
      for (let k = 0; k <= n; k++) {
        const c = -Math.cos((Math.PI * k) / n);
        const y = c < 0 ? -c * lo : c * hi;
        pts.push(y, neck.back(x, Math.min(hi, Math.max(lo, y))));
      }
      expect(shaftFigure(neck, x).area / Math.abs(polygonArea(Float64Array.from(pts)))).toBeCloseTo(1, 5);
      expect(boardFigure(neck, x)?.area).toBeGreaterThan(200);
    }
  });
});

describe("laws of the figures", () => {
  it("mirroring the order keeps every number", () => {
    const left = figuresOf(makeNeck({ ...guitar, hand: "left" }));
    for (const f of figuresOf(neck).figures) expect(value(left, f.id)).toBeCloseTo(f.value, 6);
  });

  it("more strings pull more and bow the neck more; a thicker carve bows less and weighs more", () => {
    const seven = figuresOf(
      makeNeck({
        ...guitar,
        strings: { ...guitar.strings, count: 7 },
        headstock: { ...guitar.headstock, tuners: { ...guitar.headstock.tuners, bass: 4 } },
      }),
    );
    const thick = figuresOf(
      makeNeck({ ...guitar, carve: { stations: guitar.carve.stations.map((s) => ({ ...s, thickness: s.thickness + 2 })) } }),
    );
    const base = figuresOf(neck);
    expect(value(seven, "pull")).toBeGreaterThan(value(base, "pull"));
    expect(value(seven, "relief")).toBeGreaterThan(value(base, "relief"));
    expect(value(thick, "relief")).toBeLessThan(value(base, "relief"));
    expect(value(thick, "mass")).toBeGreaterThan(value(base, "mass"));
    expect(
      girth(makeNeck({ ...guitar, carve: { stations: guitar.carve.stations.map((s) => ({ ...s, thickness: s.thickness + 2 })) } }), 100),
    ).toBeGreaterThan(girth(neck, 100));
  });

  it("a channel takes stiffness away, carbon bars bring it back", () => {
    // the rod itself, which bends beside the wood, left aside
    const ei = (o: typeof guitar): number =>
      compositeSection(partsAt(makeNeck(o), 200, 12_600, 12_300).filter((p) => p.area !== 0)).bending;
    const bare = ei({ ...guitar, rod: { kind: "none" } });
    const bars = { count: 2, width: 4, height: 6, offset: 9, roof: 2, from_x: 10, to_x: 380, material: "carbon" as const };
    expect(ei(guitar)).toBeLessThan(bare);
    expect(ei({ ...guitar, bars })).toBeGreaterThan(bare);
  });

  it("every figure lies in its band and names its source", () => {
    for (const f of figuresOf(neck).figures) {
      expect(f.low).toBeLessThanOrEqual(f.value + 1e-9);
      expect(f.high).toBeGreaterThanOrEqual(f.value - 1e-9);
      expect(f.source.length).toBeGreaterThan(10);
    }
  });
});

describe("rules of the figures", () => {
  const { rod: channel } = guitar;
  if (channel.kind !== "channel") throw new Error("the guitar of these tests has a rod");
  const thin = guitar.carve.stations.map((s) => ({ ...s, thickness: 11 }));
  it.each<[string, typeof guitar]>([
    ["NK-101", { ...guitar, rod: { kind: "none" }, carve: { stations: thin }, strings: { ...guitar.strings, count: 12 } }],
    [
      "NK-102",
      { ...guitar, headstock: { ...guitar.headstock, kind: "angled", angle: 0.34, thickness: 7 }, wood: { ...guitar.wood, grain: 0.3 } },
    ],
    ["NK-103", { ...guitar, blank: { ...guitar.blank, moisture: 16 } }],
    ["NK-104", { ...guitar, scale: 860, strings: { ...guitar.strings, diameters: [1.2, 0.9, 0.66, 0.43, 0.33, 0.254] } }],
    ["NK-105", { ...guitar, wood: { ...guitar.wood, grain: 0.2 } }],
    ["NK-106", { ...guitar, strings: { ...guitar.strings, gauges: [1.17, 0.91, 0.66, 0.43, 0.33, 0.5] } }],
    ["NK-107", { ...guitar, strings: { ...guitar.strings, gauges: [1.17, 0.91, 0.66, 0.5, 0.33, 0.25] }, setup: { nut: 2, twelfth: 2 } }],
    ["NK-108", { ...guitar, setup: { relief: 2 }, rod: { ...channel, action: "single", sag: 2 } }],
    ["NK-109", { ...guitar, carve: { stations: thin }, strings: { ...guitar.strings, count: 12 }, wood: { ...guitar.wood, grain: 0.5 } }],
    ["NK-110", { ...guitar, blank: { ...guitar.blank, moisture: 13 } }],
    ["NK-111", { ...guitar, wood: { ...guitar.wood, boardGrain: 0.2 } }],
  ])("%s is broken by an order that earns it", (id, order) => {
    expect(figuresOf(makeNeck(order)).findings.map((f) => f.rule)).toContain(id);
    expect(figuresOf(neck).findings).toEqual([]);
  });
});
