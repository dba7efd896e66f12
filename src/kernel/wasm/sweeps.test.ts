import { afterEach, describe, expect, test } from "vitest";
import { numbers, PROFILES } from "../brute.ts";
import { type HeightMap, makeMap, sampleMap } from "../heightmap.ts";
import { makeBlock, makeStock } from "../make-stock.ts";
import { MoveBuilder, type MoveList } from "../moves.ts";
import { kernelInUse, useKernel } from "./load.ts";

afterEach(() => useKernel("wasm"));

/** Passes along x and across, slopes, plunges, arcs, winding and zig-zag parts; off the map as well. */
function program(seed: number): MoveList {
  const r = numbers(seed);
  const b = new MoveBuilder([-3, 5, 20]);
  for (let k = 0; k < 6; k++) {
    const y = 4 + 3.1 * k;
    for (let i = 0; i <= 60; i++) {
      const x = k & 1 ? 55 - i : -5 + i;
      b.lineTo(x + 0.3 * r(), y, 8 + 4 * Math.sin(0.2 * x) + (i % 7 ? 0 : 0.5 * r()), 30);
    }
  }
  b.rapid(b.px, b.py, 20);
  b.rapid(20, 12, 20);
  b.lineTo(20, 12, 6, 10);
  b.arcTo(28, 12, 6, 24, 12, 0, -Math.PI, 30);
  b.arcTo(28, 20, 8, 28, 16, 0, Math.PI, 30);
  for (let k = 0; k < 400; k++)
    b.lineTo(25 + 12 * Math.cos(k * 0.03) + 3 * Math.cos(k * 0.2), 14 + 8 * Math.sin(k * 0.02), 7 + 2 * Math.sin(k * 0.05), 30);
  for (let k = 0; k < 25; k++) b.lineTo(-4 + 60 * r(), -4 + 34 * r(), 5 + 5 * r(), 30);
  return b.list();
}

function wood(nx: number): HeightMap {
  const map = makeMap(0, 0, nx * 0.2, 28, 0.2);
  sampleMap(map, (x, y) => (x < 2 && y < 2 ? -1e9 : 12 + Math.sin(x) * Math.cos(y)));
  return map;
}

describe("WebAssembly against plain TypeScript", () => {
  test("the engine here has WebAssembly with SIMD", () => {
    expect(kernelInUse()).toBe("wasm");
    useKernel("plain");
    expect(kernelInUse()).toBe("plain");
  });
  for (const [name, p] of Object.entries(PROFILES))
    test(`${name}: the same heights to the last bit, the same volume, the same penetration`, () => {
      // 250 columns: the last block of a row is not whole
      for (const nx of [250, 256]) {
        const moves = program(nx);
        const fast = wood(nx);
        const slow = wood(nx);
        useKernel("wasm");
        const a = makeStock(fast);
        useKernel("plain");
        const b = makeStock(slow);
        expect(fast.z).toBe(a.map.z);
        const va = a.cut(p, moves, 0, moves.count);
        const vb = b.cut(p, moves, 0, moves.count);
        expect(Buffer.compare(Buffer.from(fast.z.slice().buffer), Buffer.from(slow.z.buffer))).toBe(0);
        expect(Math.abs(va - vb)).toBeLessThan(1e-6 * vb);
        const r = numbers(9);
        for (let k = 0; k < 50; k++) {
          const q = [-5 + 60 * r(), -5 + 38 * r(), 5 + 8 * r(), -5 + 60 * r(), -5 + 38 * r(), 5 + 8 * r()] as const;
          const radius = 0.1 + 3 * r();
          expect(a.penetration(radius, ...q)).toBe(b.penetration(radius, ...q));
        }
      }
    });

  test("a block made level, wood put back in a box of it, is cut like the map that holds the same", () => {
    const moves = program(250);
    const r = numbers(11);
    for (const kind of ["wasm", "plain"] as const) {
      useKernel(kind);
      const block = makeBlock(0, 0, 50, 28, 0.2, 12);
      block.cut(PROFILES.flat, moves, 0, moves.count);
      const [i0, j0] = [Math.floor(180 * r()), Math.floor(90 * r())];
      for (let j = j0; j <= j0 + 37; j++) for (let i = i0; i <= i0 + 61; i++) block.map.z[j * block.map.nx + i] = 13;
      block.refresh(i0, j0, i0 + 61, j0 + 37);
      const whole = makeStock({ ...block.map, z: block.map.z.slice() });
      expect(block.cut(PROFILES.ball, moves, 0, moves.count)).toBe(whole.cut(PROFILES.ball, moves, 0, moves.count));
      expect(Buffer.compare(Buffer.from(block.map.z.slice().buffer), Buffer.from(whole.map.z.slice().buffer))).toBe(0);
    }
  });
});
