import { afterEach, describe, expect, test } from "vitest";
import { bruteDropNear, numbers, PROFILES } from "./brute.ts";
import { makeDropper } from "./drop.ts";
import { makeMap, NOTHING, sampleMap } from "./heightmap.ts";
import { ballProfile } from "./profile.ts";
import { useKernel } from "./wasm/load.ts";

afterEach(() => useKernel("wasm"));

const map = makeMap(0, 0, 33, 27, 0.2);
const r = numbers(3);
// an edge, a slot, a ripple, noise, a corner that is missing and a region of nothing wider than the cutter
sampleMap(map, (x, y) => {
  if ((y > 20 && x < 5) || (x > 20 && y < 9)) return NOTHING;
  return x > 9 && x < 11 ? -3 : 5 + Math.sin(x) + 0.3 * Math.cos(3 * y) + (y > 15 ? 0.4 * r() : 0);
});

describe("rows of 16 samples at a time", () => {
  for (const [name, p] of Object.entries(PROFILES))
    test(`${name}: WebAssembly, plain TypeScript and brute force agree, whole map and rows at any phase, on and off the map`, () => {
      const fast = makeDropper(map, p);
      useKernel("plain");
      const slow = makeDropper(map, p);
      const a = fast.dropMap().z;
      expect(Buffer.compare(Buffer.from(a.buffer), Buffer.from(slow.dropMap().z.buffer))).toBe(0);
      for (let j = 0, k = 0; j < map.ny; j++)
        for (let i = 0; i < map.nx; i++, k++) {
          const x = map.x0 + i * map.cell;
          const y = map.y0 + j * map.cell;
          const want = k % 37 ? slow.dropAt(x, y) : bruteDropNear(map, p, x, y);
          if (Math.abs(a[k] - want) > 2e-6) expect.fail(`cell ${i} ${j}: ${a[k]}, wanted ${want}`);
        }
      for (const dx of [0.2, 0.1, 0.6, 0.05, 0.3, 0.17]) {
        for (const x0 of [-6, 0.1, 0.137, 30]) {
          const ys = [-5, -3.9, 0.1, 7.77, 8.05, 26.93, 29, 31.5];
          const n = 61;
          const out = new Float64Array(n * ys.length);
          const plain = new Float64Array(n * ys.length);
          fast.dropRows(ys, x0, dx, n, out);
          slow.dropRows(ys, x0, dx, n, plain);
          expect(plain).toEqual(out);
          for (let row = 0; row < ys.length; row++)
            for (let k = 0; k < n; k++) {
              const want = slow.dropAt(x0 + k * dx, ys[row]);
              if (Math.abs(out[row * n + k] - want) > 2e-6)
                expect.fail(`dx ${dx}, x ${x0 + k * dx}, y ${ys[row]}: ${out[row * n + k]}, wanted ${want}`);
            }
        }
      }
    });
});

test("a nose of 100 cells and more, at whole phases and others, on the map and beside it", () => {
  const cell = 0.05;
  const fine = makeMap(0, 0, 20, 3, cell);
  sampleMap(fine, (x, y) => Math.sin(x) + Math.cos(3 * y));
  for (const cells of [100, 127.5]) {
    const p = ballProfile(2 * cells * cell);
    const rows = makeDropper(fine, p);
    const one = makeDropper(fine, p);
    for (const [dx, x0] of [
      [1, -130.3],
      [0.5, 7.77],
      [3, 380],
    ]) {
      const ys = [-4.9, 0.013, 1.7, 7.5];
      const n = 200;
      const out = new Float64Array(n * ys.length);
      rows.dropRows(ys, x0 * cell, dx * cell, n, out);
      for (let row = 0; row < ys.length; row++)
        for (let k = 0; k < n; k += 9) expect(Math.abs(out[row * n + k] - one.dropAt((x0 + k * dx) * cell, ys[row]))).toBeLessThan(2e-6);
    }
  }
});
