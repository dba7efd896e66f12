import { describe, expect, test } from "vitest";
import { bruteDrop, numbers, PROFILES } from "./brute.ts";
import { makeDropper } from "./drop.ts";
import { makeMap, NOTHING, sampleMap } from "./heightmap.ts";

const rough = makeMap(0, 0, 21, 17, 0.3);
const r = numbers(3);
sampleMap(rough, (x, y) => (y > 14 && x < 5 ? NOTHING : x > 9 && x < 11 ? -3 : 5 + Math.sin(x) + 0.3 * Math.cos(3 * y) + 0.4 * r()));

describe("drop against brute force", () => {
  for (const [name, p] of Object.entries(PROFILES)) {
    test(`${name}: anywhere, along rows and over the map`, () => {
      const d = makeDropper(rough, p);
      const q = numbers(5);
      const xs = Float64Array.from({ length: 300 }, () => -4 + 29 * q());
      const ys = Float64Array.from({ length: 300 }, () => -4 + 25 * q());
      const out = new Float64Array(300);
      d.dropAlong(xs, ys, out);
      for (let k = 0; k < 300; k++) {
        const want = bruteDrop(rough, p, xs[k], ys[k]);
        expect(Math.abs(out[k] - want)).toBeLessThan(2e-6);
        expect(d.dropAt(xs[k], ys[k])).toBe(out[k]);
      }
      d.dropRow(7.123, -5, 0.17, 180, out);
      for (let k = 0; k < 180; k++) expect(Math.abs(out[k] - bruteDrop(rough, p, -5 + k * 0.17, 7.123))).toBeLessThan(2e-6);
      const full = d.dropMap();
      for (let k = 0; k < 200; k++) {
        const i = Math.floor(q() * full.nx);
        const j = Math.floor(q() * full.ny);
        const want = bruteDrop(rough, p, full.x0 + i * full.cell, full.y0 + j * full.cell);
        expect(Math.abs(full.z[j * full.nx + i] - want)).toBeLessThan(2e-6);
      }
    });
  }
});
