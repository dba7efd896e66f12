import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { makeNeck } from "../../neck/index.ts";
import { parseOrder } from "../../spec/index.ts";
import { svg, svgParts } from "../draw/svg.ts";
import { heightsFor, planView, stationDrawing, stripDrawings, wholeNeck } from "./strips.ts";

const neck = makeNeck(parseOrder(readFileSync("examples/loan-guitar.order.json")).value!);
const saidIn = (x: number): string => svg(stationDrawing(neck, x, 66, 70)).replaceAll(/<[^>]*>/g, " ");

test("the section at a station says what the hand goes around, measured here by 20,000 chords", () => {
  for (const x of [0, neck.fretAt(5), neck.fretAt(12)]) {
    const [lo, hi] = neck.boardEdges(x);
    const ring: (readonly [number, number])[] = [];
    const n = 10_000;
    // chords close up at the edges, where the back is steep
    const y = (k: number): number => (hi + lo) / 2 - ((hi - lo) / 2) * Math.cos((Math.PI * k) / n);
    for (let k = 1; k < n; k++) ring.push([y(k), neck.back(x, y(k))]);
    for (let k = n; k >= 0; k--) ring.push([y(k), neck.top(x, y(k))]);
    let around = 0;
    ring.forEach(([a, b], k) => {
      const [c, d] = ring[(k + 1) % ring.length]!;
      around += Math.hypot(c - a, d - b);
    });
    const said = Number(/around it ([\d.]+)/.exec(saidIn(x))?.[1]);
    expect(Math.abs(said - around), `x = ${x}`).toBeLessThan(0.1);
  }
  // the headstock has no board to go around
  expect(saidIn(neck.places.tip + 20)).not.toContain("around it");
});

test("a drawing in parts is the drawing", () => {
  const { face, side, back } = stripDrawings(neck, wholeNeck(neck, 180, [24, 37, 24], 2));
  for (const d of [face, side, back]) {
    const { open, groups } = svgParts(d, { flow: true, idPrefix: "p-" });
    const parts = groups.flatMap((g) => (g.open === "" ? g.within : [g.open, ...g.within, "</g>"]));
    expect([open, ...parts, "</svg>", ""].join("\n")).toBe(svg(d, { flow: true, idPrefix: "p-" }));
    for (const g of groups) {
      // each text is one element, so that a screen can put it in place of the one before, or only what differs in it
      for (const part of g.within) expect(part).toMatch(/^<(\w+)\b(?:[^<]*<\/\1>|[^<]*\/>)$/);
      expect(g.open === "" ? g.within.length : g.within.length > 0 && g.open.match(/</g)?.length).toBe(1);
    }
  }
});

test("a drawing for a screen has the same places, to 0.01 mm, in the same order", () => {
  const numbers = (text: string): number[] =>
    [...text.matchAll(/ (?:d|points|x1|y1|x2|y2|cx|cy|r|x|y)="([^"]*)"/g)].flatMap((m) =>
      (m[1]!.match(/-?\d+(?:\.\d+)?/g) ?? []).map((v) => Math.round(Number(v) * 100) / 100 + 0),
    );
  const { face, side, back } = stripDrawings(neck, wholeNeck(neck, 180, [24, 37, 24], 2));
  for (const d of [face, side, back, stationDrawing(neck, 100, 66, 70)]) {
    const text = (joined: boolean): string => {
      const { groups } = svgParts(d, { flow: true, joined });
      return groups.flatMap((g) => g.within).join("\n");
    };
    const [plain, joined] = [numbers(text(false)), numbers(text(true))];
    expect(joined.length).toBe(plain.length);
    expect(plain.length).toBeGreaterThan(100);
    for (const [k, v] of plain.entries()) expect(Math.abs(v - joined[k]!)).toBeLessThan(0.011);
    expect(text(true).length).toBeLessThan(text(false).length);
  }
});

test("lines of the back lie at their height, finely drawn and quickly, and a quick drawing leaves out places and nothing else", () => {
  const window = wholeNeck(neck, 180, [24, 37, 24], 2);
  const places: number[] = [];
  for (const quick of [false, true]) {
    const { back, side } = stripDrawings(neck, { ...window, quick });
    const view = planView(neck, window, "back");
    const lines = back.items.filter((i) => i.kind === "polyline" && i.line === "hair");
    expect(lines.length).toBeGreaterThan(8);
    let seen = 0;
    for (const line of lines) {
      const heights = (line.kind === "polyline" ? line.points : []).map(([px, py]) =>
        neck.back((px - view.origin[0]) / view.scale, (py - view.origin[1]) / (view.scale * view.ey[1])),
      );
      const level = 3 * Math.round(heights[0]! / 3);
      for (const z of heights) expect(z).toBeCloseTo(level, 2);
      seen += heights.length;
    }
    places.push(seen);
    expect(side.items.length).toBe(stripDrawings(neck, window).side.items.length);
    const said = (d: typeof side): string[] => d.items.flatMap((i) => (i.kind === "text" ? [i.text] : []));
    expect(said(side)).toEqual(said(stripDrawings(neck, window).side));
  }
  expect(places[1]! / places[0]!).toBeLessThan(0.6);
  const figures = (quick: boolean): string[] => svg(stationDrawing(neck, 100, 66, 70, quick)).match(/>[^<>]*\d[^<>]*</g) ?? [];
  expect(figures(true)).toEqual(figures(false));
});

test("the whole of every example lies in its strips, whatever their size", () => {
  for (const f of readdirSync("examples").filter((name) => name.endsWith(".order.json"))) {
    const order = parseOrder(readFileSync(`examples/${f}`)).value;
    if (order === undefined) continue;
    const one = makeNeck(order);
    for (const [width, height] of [
      [200, 84],
      [123, 62],
      [300, 60],
    ] as const) {
      const w = wholeNeck(one, width, heightsFor(one, width, height), 2);
      expect(w.heights.reduce((a, b) => a + b, 0)).toBeCloseTo(height, 9);
      for (const strip of ["face", "back"] as const) {
        const view = planView(one, w, strip);
        const tall = w.heights[strip === "face" ? 0 : 2];
        let room = Number.POSITIVE_INFINITY;
        for (let k = 0; k <= 200; k++) {
          const x = one.places.tip + 1e-3 + ((one.places.end - one.places.tip - 2e-3) * k) / 200;
          const px = view.origin[0] + view.scale * x;
          for (const y of one.edges(x)) {
            const py = view.origin[1] + view.scale * view.ey[1] * y;
            room = Math.min(room, px, width - px, py, tall - py);
          }
        }
        expect(room, f).toBeGreaterThan(0.5);
      }
    }
  }
});
