import { afterEach, describe, expect, test } from "vitest";
import { numbers, PROFILES } from "./brute.ts";
import { bandsOf, makeBlock } from "./make-stock.ts";
import { MoveBuilder, type MoveList } from "./moves.ts";
import { useKernel } from "./wasm/load.ts";

afterEach(() => useKernel("wasm"));

/** Lines, runs along x and y, level arcs, helices and arcs in upright planes, with rapids between. */
function winding(seed: number): MoveList {
  const r = numbers(seed);
  const b = new MoveBuilder([3, 3, 12]);
  for (let k = 0; k < 60; k++) {
    const z = 5 + 6 * r();
    const what = Math.floor(6 * r());
    if (what === 0) b.rapid(-4 + 48 * r(), -4 + 38 * r(), 12);
    else if (what === 1) for (let n = 0; n < 25; n++) b.lineTo(b.px + 0.6, b.py, z + Math.sin(n / 3), 20);
    else if (what === 2) for (let n = 0; n < 25; n++) b.lineTo(b.px + 0.01 * n, b.py + 0.5, z + Math.cos(n / 3), 20);
    else if (what === 3) b.lineTo(-4 + 48 * r(), -4 + 38 * r(), z, 20);
    else {
      const [cx, cy] = [b.px + 3 - 6 * r(), b.py + 3 - 6 * r()];
      const rho = Math.hypot(b.px - cx, b.py - cy);
      const sweep = (what === 4 ? 1 : -1) * (0.3 + 5 * r());
      const at = Math.atan2(b.py - cy, b.px - cx) + sweep;
      b.arcTo(cx + rho * Math.cos(at), cy + rho * Math.sin(at), r() < 0.5 ? b.pz : z, cx, cy, 0, sweep, 20);
    }
  }
  return b.list();
}

describe("a block in bands of rows", () => {
  for (const kernel of ["wasm", "plain"] as const)
    for (const [name, profile] of Object.entries(PROFILES))
      test(`${name}, ${kernel}: leaves what the whole block does, to the last bit`, () => {
        useKernel(kernel);
        for (const seed of [1, 2, 3]) {
          const moves = winding(seed);
          const whole = makeBlock(0, 0, 40, 30, 0.2, 12);
          const volume = whole.cut(profile, moves, 0, moves.count);
          const { nx, ny } = whole.map;
          for (const parts of [2, 3, 7]) {
            let sum = 0;
            const together = new Float32Array(nx * ny);
            const depths: number[] = [];
            for (const rows of bandsOf(ny, parts)) {
              const band = makeBlock(0, 0, 40, 30, 0.2, 12, rows);
              sum += band.cut(profile, moves, 0, moves.count);
              together.set(band.map.z.subarray(rows[0] * nx, rows[1] * nx), rows[0] * nx);
              depths.push(band.penetration(2.5, 4, 3, 6, 33, 25, 7));
            }
            expect(Buffer.compare(Buffer.from(together.buffer), Buffer.from(whole.map.z.slice().buffer))).toBe(0);
            expect(Math.abs(sum - volume)).toBeLessThan(1e-6 * volume);
            expect(Math.max(...depths)).toBe(whole.penetration(2.5, 4, 3, 6, 33, 25, 7));
          }
        }
      });

  test("bands cover every row once", () => {
    for (const ny of [1, 15, 16, 17, 47, 48, 150, 1100, 1101])
      for (const parts of [1, 2, 3, 8]) {
        const bands = bandsOf(ny, parts);
        expect(bands[0][0]).toBe(0);
        expect(bands[bands.length - 1][1]).toBe(ny);
        for (let k = 1; k < bands.length; k++) expect(bands[k][0]).toBe(bands[k - 1][1]);
        for (const [from] of bands) expect(from % 16).toBe(0);
      }
  });

  test("a band that is none is refused", () => {
    for (const rows of [
      [8, 32],
      [0, 151],
      [32, 32],
      [-16, 16],
    ] as const)
      expect(() => makeBlock(0, 0, 40, 30, 0.2, 12, rows)).toThrow(RangeError);
  });
});

test("a block made in memory that another has given back is like one in fresh memory", () => {
  const moves = winding(4);
  const cut = (rows?: readonly [number, number]): { readonly z: Float32Array; readonly depth: number } => {
    const stock = makeBlock(0, 0, 400, 300, 0.2, 12, rows);
    stock.cut(PROFILES.ball, moves, 0, moves.count);
    const out = { z: stock.map.z.slice(...stock.rows.map((j) => j * stock.map.nx)), depth: stock.penetration(2.5, 4, 3, 6, 33, 25, 7) };
    stock.release();
    return out;
  };
  const fresh = cut();
  const bands = [cut([0, 752]), cut([752, 1500])];
  const again = cut();
  expect(Buffer.compare(Buffer.from(again.z.buffer), Buffer.from(fresh.z.buffer))).toBe(0);
  expect(again.depth).toBe(fresh.depth);
  expect(bands[0].z.length + bands[1].z.length).toBe(fresh.z.length);
  expect(Buffer.compare(Buffer.from(bands[0].z.buffer), Buffer.from(fresh.z.buffer, 0, bands[0].z.byteLength))).toBe(0);
  expect(bands[0].depth).toBe(fresh.depth);
});
