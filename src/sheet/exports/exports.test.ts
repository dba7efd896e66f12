import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { pointOn } from "../../kernel/contour.ts";
import type { Curve } from "../../kernel/curve.ts";
import { makeNeck } from "../../neck/index.ts";
import type { OrderSpec } from "../../spec/types.ts";
import { checkDrawings } from "../check.ts";
import { sampleOrder } from "../sample.ts";
import { blankOf, type ExportInput, FLAT_KINDS, flatExport } from "./index.ts";
import { nutBlank } from "./nut-blank.ts";
import { sampled } from "./sampled.ts";
import { cutChain, cutOff, partOf } from "./split.ts";
import { OVERLAP, tilesOf } from "./tiles.ts";

const seeded = { seed: 20260101, numRuns: 60 };
const guitar = sampleOrder();

const VARIANTS: Readonly<Record<string, Partial<OrderSpec>>> = {
  guitar: {},
  "left-handed": { hand: "left" },
  "flat board, shelf, no rod": {
    board: { ...guitar.board, radius: { nut: Number.POSITIVE_INFINITY, end: Number.POSITIVE_INFINITY }, overhang: 0 },
    nut: { ...guitar.nut, kind: "shelf", land: 6 },
    rod: { kind: "none" },
  },
  "two scales, angled": {
    fan: { bass: 666, treble: 630, square: 5 },
    headstock: { ...guitar.headstock, kind: "angled", angle: 0.2 },
  },
  "no frets, one string": {
    board: { ...guitar.board, pastLastFret: 440 },
    frets: { ...guitar.frets, count: 0 },
    strings: { ...guitar.strings, count: 1, spreadAtNut: 0, spreadAtBridge: 0, diameters: [] },
    markers: { face: { ...guitar.markers.face, frets: [] }, side: { ...guitar.markers.side, frets: [] } },
  },
  "bound, with lines and a curved end": {
    frets: { ...guitar.frets, kind: "lines" },
    board: { ...guitar.board, binding: 1.5, end: { shape: "curved", bow: 4 }, relief: { to: 12, depth: 0.15 } },
  },
  "strips and a volute": {
    wood: {
      ...guitar.wood,
      strips: [
        { wood: "hard maple", width: 50 },
        { wood: "black walnut", width: 55 },
      ],
    },
    carve: { ...guitar.carve, volute: { at: -10, length: 20, height: 3 } },
  },
};

describe.each(Object.entries(VARIANTS))("%s", (_name, change) => {
  const neck = makeNeck({ ...guitar, ...change });
  const input: ExportInput = {
    orderName: "a-neck",
    orderTitle: "A neck",
    orderHash: "0123456789abcdef".repeat(4),
    neck,
    blocking: [],
    blank: blankOf(neck),
    hardware: null,
    version: "0.0.0",
  };
  test("no number goes astray, and every page passes the measure of sheets: nothing off the page, bars where something is to scale, every character in the font", () => {
    for (const paper of ["A4", "Letter"] as const)
      for (const kind of FLAT_KINDS) {
        const made = flatExport(kind, input, paper);
        for (const t of made.texts) expect(t.text, t.path).not.toMatch(/NaN|Infinity|undefined/);
        for (const { sheet, path } of made.sheets) {
          expect(checkDrawings(sheet.pages), path).toEqual([]);
          const words = sheet.pages.flatMap((p) => p.items.flatMap((i) => (i.kind === "text" || i.kind === "dimension" ? [i.text] : [])));
          expect(words.join("\n"), path).not.toMatch(/NaN|Infinity|undefined/);
          expect(JSON.stringify(sheet.pages.map((p) => p.items)), path).not.toContain("null");
          expect(words.some((w) => w.includes(input.orderHash))).toBe(true);
        }
        expect(made.none === null).toBe(made.texts.length + made.sheets.length > 0);
      }
  });
});

const coordinate = fc.double({ min: -50, max: 50, noNaN: true });
const point = fc.record({ x: coordinate, y: coordinate });
const curve: fc.Arbitrary<Curve> = fc.oneof(
  fc.record({ kind: fc.constant("line" as const), a: point, b: point }),
  fc.record({ kind: fc.constant("cubic" as const), p0: point, p1: point, p2: point, p3: point }),
  fc.record({
    kind: fc.constant("arc" as const),
    centre: point,
    radius: fc.double({ min: 1, max: 40, noNaN: true }),
    start: fc.double({ min: -7, max: 7, noNaN: true }),
    sweep: fc.double({ min: -6.2, max: 6.2, noNaN: true }),
  }),
);

describe("cutting curves", () => {
  test("law: a part lies where the whole does", () => {
    fc.assert(
      fc.property(curve, fc.double({ min: 0, max: 0.5, noNaN: true }), fc.double({ min: 0.5, max: 1, noNaN: true }), (c, t0, t1) => {
        const part = partOf(c, t0, t1);
        for (const t of [0, 0.3, 1]) {
          const [p, q] = [pointOn(part, t), pointOn(c, t0 + (t1 - t0) * t)];
          expect(Math.hypot(p.x - q.x, p.y - q.y)).toBeLessThan(1e-9);
        }
      }),
      seeded,
    );
  });

  test("law: what a line cuts off lies on its side, and both sides together are the whole", () => {
    fc.assert(
      fc.property(curve, coordinate, (c, at) => {
        const lines = 400;
        const [low, high] = [cutChain([c], { a: 1, b: 0, c: at }), cutChain([c], { a: -1, b: 0, c: -at })];
        for (const run of low.flat()) for (const t of [0.1, 0.5, 0.9]) expect(pointOn(run, t).x).toBeLessThan(at + 1e-6);
        const share = (runs: Curve[][]): number => runs.flat().reduce((s, r) => s + lengthOf(r, lines), 0);
        expect(Math.abs(share(low) + share(high) - lengthOf(c, lines))).toBeLessThan(0.02 * (1 + lengthOf(c, lines)));
      }),
      seeded,
    );
  });

  test("a square cut off is a smaller square, wherever its chain begins", () => {
    const corners = [
      { x: 0, y: 0 },
      { x: 10, y: 0 },
      { x: 10, y: 10 },
      { x: 0, y: 10 },
    ];
    for (let k = 0; k < 4; k++) {
      const chain = corners.map((_, i): Curve => ({ kind: "line", a: corners[(i + k) % 4], b: corners[(i + k + 1) % 4] }));
      const left = cutOff(chain, { a: 1, b: 0, c: 4 })!;
      const area = left.reduce((s, c) => (c.kind === "line" ? s + (c.a.x * c.b.y - c.b.x * c.a.y) / 2 : s), 0);
      expect(area).toBeCloseTo(40, 9);
      expect(left.every((c, i) => c.kind === "line" && same(c.b, (left[(i + 1) % left.length] as typeof c).a))).toBe(true);
    }
    expect(cutOff([{ kind: "line", a: corners[0], b: corners[1] }], { a: 1, b: 0, c: -1 })).toBeNull();
  });
});

const same = (p: { x: number; y: number }, q: { x: number; y: number }): boolean => Math.hypot(p.x - q.x, p.y - q.y) < 1e-9;

function lengthOf(c: Curve, n: number): number {
  let sum = 0;
  for (let k = 0; k < n; k++) {
    const [p, q] = [pointOn(c, k / n), pointOn(c, (k + 1) / n)];
    sum += Math.hypot(q.x - p.x, q.y - p.y);
  }
  return sum;
}

test("law: chords of a sampled circle stay within their tolerance, straight runs come out as one line", () => {
  fc.assert(
    fc.property(fc.double({ min: 0.5, max: 500, noNaN: true }), fc.double({ min: 0.1, max: 6, noNaN: true }), (r, turn) => {
      const points = sampled((a) => [r * Math.cos(a), r * Math.sin(a)], 0, turn);
      for (let k = 0; k + 1 < points.length; k++) {
        const [a, b] = [points[k], points[k + 1]];
        expect(r - Math.hypot((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)).toBeLessThan(0.0005);
      }
    }),
    seeded,
  );
  expect(sampled((t) => [t, 2 * t], 0, 100, [30])).toEqual([
    [0, 0],
    [100, 200],
  ]);
});

test("law: windows cover the whole, overlap enough, and are no larger than the room", () => {
  const size = fc.double({ min: 20, max: 1500, noNaN: true });
  fc.assert(
    fc.property(size, size, (w, h) => {
      const tiles = tilesOf(w, h, 267, 152);
      const columns = tiles.filter((t) => t.name.startsWith("A"));
      expect(columns[0].x).toBe(0);
      expect(columns.at(-1)!.x + columns.at(-1)!.width).toBeCloseTo(w, 6);
      for (let k = 1; k < columns.length; k++)
        expect(columns[k - 1].x + columns[k - 1].width - columns[k].x).toBeGreaterThan(OVERLAP - 1e-6);
      expect(Math.max(...tiles.map((t) => t.height))).toBeLessThan(152 + 1e-9);
    }),
    seeded,
  );
});

test("the nut of a left-handed neck is that of the right-handed one, measured from the bass", () => {
  const [right, left] = [makeNeck(guitar), makeNeck({ ...guitar, hand: "left" })].map((n) => nutBlank(n, null));
  expect(left.slots.map((s) => s.fromBass)).toEqual(right.slots.map((s) => expect.closeTo(s.fromBass, 9)));
  expect(left.slots.map((s) => s.front)).toEqual(right.slots.map((s) => expect.closeTo(s.front, 9)));
  expect(left.slots.map((s) => s.aside)).toEqual(right.slots.map((s) => expect.closeTo(s.aside, 9)));
});
