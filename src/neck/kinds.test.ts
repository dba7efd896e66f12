import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { closestOnContour, contourBounds } from "../kernel/contour.ts";
import type { OrderSpec } from "../spec/types.ts";
import { guitar } from "./fixture.test-data.ts";
import { makeNeck } from "./neck.ts";
import { plankThickness, scarfOf } from "./scarf.ts";

const seeded = { seed: 20260101, numRuns: 60 };
const fanned: OrderSpec = { ...guitar, scale: 648, fan: { bass: 666, treble: 630, square: 7 } };

describe("multi-scale", () => {
  it("with two equal scales it is the single-scale neck to 1e-9", () => {
    const one = makeNeck(guitar);
    const two = makeNeck({ ...guitar, fan: { bass: 648, treble: 648, square: 7.5 } });
    expect(two.places).toEqual(one.places);
    one.features.frets.forEach((f, i) => {
      expect(two.features.frets[i].bass.x).toBeCloseTo(f.bass.x, 9);
      expect(two.features.frets[i].treble.y).toBeCloseTo(f.treble.y, 9);
    });
  });

  it("divides every string by the same shares, stands square where asked, and keeps the nut on x = 0", () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 20, noNaN: true }), fc.double({ min: 0, max: 40, noNaN: true }), (square, spread) => {
        const fan = { bass: 648 + spread / 2, treble: 648 - spread / 2, square };
        const n = makeNeck({ ...guitar, fan });
        expect(Math.abs(n.fretSlope(square))).toBeLessThan(1e-12);
        expect(Math.abs(n.fretAt(0))).toBeLessThan(1e-9);
        expect(n.scaleOf(6)).toBeCloseTo(fan.bass, 6);
        expect(n.scaleOf(1)).toBeCloseTo(fan.treble, 6);
        // along string 3: from its nut crossing to fret 12's line is half of its own scale
        const cross = (line: number, s: number): number => {
          let x = n.fretAt(line);
          for (let k = 0; k < 40; k++) x = n.fretAt(line) + n.fretSlope(line) * n.stringAt(s, x);
          return x;
        };
        for (const s of [1, 3, 6]) expect((cross(12, s) - cross(0, s)) / n.scaleOf(s)).toBeCloseTo(0.5, 9);
      }),
      seeded,
    );
  });

  it("slots end exactly on the board's edges, and the whole mirrors with the hand", () => {
    const right = makeNeck(fanned);
    const left = makeNeck({ ...fanned, hand: "left" });
    right.features.frets.forEach((f, i) => {
      expect(f.bass.y).toBeCloseTo(right.boardEdges(f.bass.x)[0], 9);
      expect(f.treble.y).toBeCloseTo(right.boardEdges(f.treble.x)[1], 9);
      expect(left.features.frets[i].bass.y).toBe(-f.bass.y);
    });
    expect(left.top(10, 5)).toBe(right.top(10, -5));
    expect(right.findings).toEqual([]);
  });

  it("the outline's edges lie on its own contour at a slanted end", () => {
    const n = makeNeck(fanned);
    for (let x = n.places.boardEnd - 12; x < n.places.end; x += 0.7)
      for (const y of n.edges(x)) expect(closestOnContour(n.outline, x, y).distance).toBeLessThan(1e-6);
  });
});

describe("laws of scale", () => {
  it("an order scaled by s scales every length by s", () => {
    const s = 1.25;
    const scaled = scaleOrder(guitar, s);
    const a = makeNeck(guitar);
    const b = makeNeck(scaled);
    const box = (n: typeof a): number[] => Object.values(contourBounds(n.outline));
    box(a).forEach((v, i) => {
      expect(box(b)[i]).toBeCloseTo(v * s, 6);
    });
    for (const x of [-100, -20, 50, 300, 420]) expect(b.back(x * s, 5 * s)).toBeCloseTo(a.back(x, 5) * s, 6);
    expect(b.features.frets.map((f) => f.bass.x / s)).toEqual(a.features.frets.map((f) => expect.closeTo(f.bass.x, 9)));
  });
});

describe("angled and scarfed headstocks", () => {
  const angle = (13 * Math.PI) / 180;
  const angled = makeNeck({ ...guitar, headstock: { ...guitar.headstock, kind: "angled", angle } });

  it("the face tilts by the angle and the back runs parallel to it", () => {
    const { headBack, tip, rampTop } = angled.places;
    const slope = (angled.top(headBack - 10, 0) - angled.top(headBack - 60, 0)) / 50;
    expect(Math.atan(slope)).toBeCloseTo(angle, 9);
    expect(angled.top(rampTop - 1e-9, 0)).toBeCloseTo(0, 6);
    for (const x of [headBack - 5, tip + 5]) expect((angled.top(x, 0) - angled.back(x, 0)) * Math.cos(angle)).toBeCloseTo(14.5, 6);
  });

  it("posts keep their pitch along the face, and distances from the face are true", () => {
    const xs = angled.features.tuners.slice(0, 3).map((t) => t.x);
    expect((xs[0] - xs[1]) / Math.cos(angle)).toBeCloseTo(38, 9);
    const x = angled.places.headBack - 20;
    const z = angled.top(x, 3);
    expect(angled.topDistance(x - Math.sin(angle) * 0.3, 3, z + Math.cos(angle) * 0.3)).toBeCloseTo(0.3, 9);
  });

  it("a scarf's pieces follow from plane geometry", () => {
    const n = makeNeck({ ...guitar, headstock: { ...guitar.headstock, kind: "scarfed", angle } });
    const s = scarfOf(n, 18);
    expect(s?.face).toBeCloseTo(18 / Math.sin(angle), 9);
    expect(s && s.bodyEnd - s.headEnd).toBeCloseTo(s?.face ?? 0, 9);
    // T / sin a - T / tan a = T tan(a / 2): how far past the hinge the turned piece reaches
    expect(s && s.bodyEnd - n.places.rampTop).toBeCloseTo(18 * Math.tan(angle / 2), 9);
    expect(scarfOf(angled)).toBeNull();
    expect(plankThickness(angled).forTilt).toBeGreaterThan(15);
  });
});

describe("set necks, bars, volutes", () => {
  it("the neck angle puts the string at the asked action over fret 12", () => {
    const setUp = { bridgeHeight: 15, action: 1.8, boardAtBody: 4 };
    const n = makeNeck({ ...guitar, heel: { ...guitar.heel, kind: "set", tenon: { length: 70, width: 38, depth: 14 }, setUp } });
    // the board's plane, 4 mm over the body at its end, meets the bridge at bridge height less twice the action
    const plane = setUp.boardAtBody + Math.tan(n.neckAngle) * (guitar.scale - n.places.boardEnd);
    expect(plane).toBeCloseTo(setUp.bridgeHeight - 2 * setUp.action, 9);
    expect(n.features.screws).toEqual([]);
    expect(n.features.tenon?.width).toBe(38);
  });

  it("a volute swells the back where it stands and nowhere else", () => {
    const plain = makeNeck(guitar);
    const v = makeNeck({ ...guitar, carve: { ...guitar.carve, volute: { at: -4, length: 14, height: 2.5 } } });
    expect(plain.back(-4, 0) - v.back(-4, 0)).toBeCloseTo(2.5, 9);
    for (const x of [-20, 12, 60]) expect(v.back(x, 0)).toBe(plain.back(x, 0));
  });

  it("the oval begins below its shoulder and reaches the ordered thickness", () => {
    const n = makeNeck({ ...guitar, carve: { stations: guitar.carve.stations.map((s) => ({ ...s, shoulder: 2 })) } });
    const x = n.fretAt(5);
    const [lo] = n.edges(x);
    expect(n.back(x, lo)).toBeCloseTo(-2, 6);
    expect(n.top(n.fretAt(12), 0) - n.back(n.fretAt(12), 0)).toBeCloseTo(23, 9);
  });

  it("a curved rod channel leaves least wood where it is deepest", () => {
    const rod = { ...guitar.rod, action: "single" as const, sag: 3 } as OrderSpec["rod"];
    const n = makeNeck({ ...guitar, rod });
    const flat = makeNeck(guitar);
    expect((flat.woodUnderRod(203) ?? 0) - (n.woodUnderRod(203) ?? 0)).toBeCloseTo(3, 3);
    expect(n.woodUnderRod(6)).toBeCloseTo(flat.woodUnderRod(6) ?? 0, 9);
  });
});

/** Every length of an order times s; angles, counts and exponents stay. */
function scaleOrder(o: OrderSpec, s: number): OrderSpec {
  const keep = new Set([
    "count",
    "fret",
    "bass",
    "treble",
    "bassExponent",
    "trebleExponent",
    "roundness",
    "sideAngle",
    "frets",
    "doubleAt",
    "square",
    "moisture",
  ]);
  const walk = (v: unknown, key: string, path: string): unknown => {
    if (typeof v === "number") return keep.has(key) && !path.includes("width") ? v : v * s;
    if (Array.isArray(v)) return keep.has(key) ? v : v.map((q) => walk(q, key, path));
    if (v && typeof v === "object")
      return Object.fromEntries(Object.entries(v).map(([k, q]) => [k, k === "frets" && path !== "" ? q : walk(q, k, `${path}.${k}`)]));
    return v;
  };
  return walk(o, "", "") as OrderSpec;
}
