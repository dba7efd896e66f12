import { afterEach, describe, expect, test } from "vitest";
import { numbers, PROFILES } from "../brute.ts";
import { makeDropper } from "../drop.ts";
import { makeMap, NOTHING, sampleMap } from "../heightmap.ts";
import { useKernel } from "./load.ts";

afterEach(() => useKernel("wasm"));

const map = makeMap(0, 0, 33, 27, 0.2);
const r = numbers(3);
// an edge, a slot, a ripple, noise, a corner that is missing and a region of nothing wider than the cutter
sampleMap(map, (x, y) => {
  if ((y > 20 && x < 5) || (x > 20 && y < 9)) return NOTHING;
  return x > 9 && x < 11 ? -3 : 5 + Math.sin(x) + 0.3 * Math.cos(3 * y) + (y > 15 ? 0.4 * r() : 0);
});

describe("drops in WebAssembly against plain TypeScript", () => {
  for (const [name, p] of Object.entries(PROFILES))
    test(`${name}: whole map and rows at any phase, on and off the map`, () => {
      const fast = makeDropper(map, p);
      useKernel("plain");
      const slow = makeDropper(map, p);
      const a = fast.dropMap().z;
      useKernel("wasm");
      for (let j = 0, k = 0; j < map.ny; j++)
        for (let i = 0; i < map.nx; i++, k++) {
          const want = slow.dropAt(map.x0 + i * map.cell, map.y0 + j * map.cell);
          if (Math.abs(a[k] - want) > 2e-6) expect.fail(`cell ${i} ${j}: ${a[k]}, plain ${want}`);
        }
      for (const dx of [0.2, 0.1, 0.6, 0.05, 0.3, 0.17]) {
        for (const x0 of [-6, 0.1, 0.137, 30]) {
          const ys = [-5, -3.9, 0.1, 7.77, 8.05, 26.93, 29, 31.5];
          const n = 61;
          const out = new Float64Array(n * ys.length);
          const want = new Float64Array(n);
          fast.dropRows(ys, x0, dx, n, out);
          for (let row = 0; row < ys.length; row++) {
            for (let k = 0; k < n; k++) want[k] = slow.dropAt(x0 + k * dx, ys[row]);
            for (let k = 0; k < n; k++)
              if (Math.abs(out[row * n + k] - want[k]) > 2e-6)
                expect.fail(`dx ${dx}, x ${x0 + k * dx}, y ${ys[row]}: ${out[row * n + k]}, plain ${want[k]}`);
          }
        }
      }
    });
});
