import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { makeNeck } from "../../neck/index.ts";
import { parseOrder } from "../../spec/index.ts";
import { svg, svgParts } from "../draw/svg.ts";
import { stationDrawing, stripDrawings, wholeNeck } from "./strips.ts";

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
    const { open, parts } = svgParts(d, { flow: true, idPrefix: "p-" });
    expect([open, ...parts, "</svg>", ""].join("\n")).toBe(svg(d, { flow: true, idPrefix: "p-" }));
    // each part is one element, so that a screen can put it in place of the one before
    for (const part of parts) expect(part).toMatch(/^<(\w+)\b(?:[\s\S]*<\/\1>|[^<]*\/>)$/);
    for (const part of parts.filter((t) => t.startsWith("<g "))) expect(part.match(/<g /g)?.length).toBe(1);
  }
});
