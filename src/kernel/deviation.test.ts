import fc from "fast-check";
import { afterEach, describe, expect, test } from "vitest";
import { type Deviation, type DeviationTally, openDeviation, TOGETHER } from "./deviation.ts";
import { useKernel } from "./wasm/load.ts";

afterEach(() => useKernel("wasm"));

const ROWS = 40;
const CELL = 0.1;

/** A dome with a step in it, and edges beyond which nothing is wanted. */
const wanted = (i: number, j: number): number =>
  j < 2 || j > ROWS - 4 ? Number.NaN : 3 - 0.002 * (i - 5) ** 2 - 0.004 * (j - 20) ** 2 - (i > 8 ? 2 : 0);

interface Made {
  readonly tallies: readonly DeviationTally[];
  readonly out: Float32Array;
  readonly hard: readonly number[];
}

function run(kind: "wasm" | "plain", up: 1 | -1, heights: readonly number[], ranges: readonly (readonly [number, number])[]): Made {
  useKernel(kind);
  const d: Deviation = openDeviation(ROWS, { up, zero: 20, step: 2 * CELL, crease: 0.2 * CELL });
  d.out.fill(Number.NaN);
  d.got.fill(20);
  d.begin(0, 0.01, 0.05);
  d.begin(1, 0.1, 0.2);
  const hard: number[] = [];
  for (const [n, [a, b]] of ranges.entries()) {
    const i = n % TOGETHER;
    for (let c = 0; c < 3; c++) for (let j = 0; j < ROWS; j++) d.want[c * d.stride + j] = wanted(i - 1 + c, j);
    for (let j = 0; j < ROWS; j++) {
      const want = wanted(i, j);
      d.got[i * d.stride + j] = 20 + up * ((Number.isNaN(want) ? 0 : want) + (heights[(n * ROWS + j) % heights.length] ?? 0));
    }
    const left = d.column(n % 2, i, i, 0, 1, 2, a, b);
    for (let k = 0; k < left; k++) hard.push(n, d.hard[k]);
  }
  const { stride } = d;
  const out = Float32Array.from({ length: TOGETHER * ROWS }, (_, k) => d.out[Math.floor(k / ROWS) * stride + (k % ROWS)]);
  return { tallies: [d.tally(0), d.tally(1)], out, hard };
}

describe("columns of cells beside what is wanted", () => {
  test("WebAssembly and plain TypeScript give the same to the last bit, and leave the same rows", () => {
    const range = fc.tuple(fc.integer({ min: 1, max: ROWS - 2 }), fc.integer({ min: 0, max: ROWS - 2 }));
    const height = fc.oneof(fc.double({ min: -0.2, max: 0.3, noNaN: true }), fc.double({ min: -3, max: 3, noNaN: true }));
    fc.assert(
      fc.property(
        fc.array(height, { minLength: 7, maxLength: 60 }),
        fc.array(range, { minLength: 1, maxLength: 40 }),
        fc.constantFrom(1 as const, -1 as const),
        (heights, ranges, up) => {
          expect(run("wasm", up, heights, ranges)).toEqual(run("plain", up, heights, ranges));
        },
      ),
      { seed: 20261126, numRuns: 60 },
    );
  });

  test("a ramp of slope 1 left 0.1 mm high lies off by 0.1 / sqrt(2), and every such row is counted once", () => {
    for (const kind of ["wasm", "plain"] as const) {
      useKernel(kind);
      const d = openDeviation(ROWS, { up: 1, zero: 0, step: 2 * CELL, crease: 0.2 * CELL });
      d.begin(0, 0.01, 0.05);
      for (let c = 0; c < 3; c++) for (let j = 0; j < ROWS; j++) d.want[c * d.stride + j] = j * CELL;
      for (let j = 0; j < ROWS; j++) d.got[j] = j * CELL + 0.1;
      expect(d.column(0, 7, 0, 0, 1, 2, 1, ROWS - 2)).toBe(0);
      const t = d.tally(0);
      expect(t.cells).toBe(ROWS - 2);
      expect(t.aboveCount).toBe(ROWS - 2);
      expect(t.belowCount).toBe(0);
      expect(t.above).toBeCloseTo(0.1 / Math.SQRT2, 6);
      expect(t.sum / t.cells).toBeCloseTo(0.1 / Math.SQRT2, 6);
      expect(t.aboveAt[0]).toBe(7);
      expect(d.out[5]).toBeCloseTo(0.1 / Math.SQRT2, 6);
    }
  });
});
