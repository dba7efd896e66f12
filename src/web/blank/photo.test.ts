import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Mark, onPhoto, projectionOf, straightened, type XY } from "./photo.ts";

const near = (a: XY, b: XY, digits = 5): void => {
  expect(a[0]).toBeCloseTo(b[0], digits);
  expect(a[1]).toBeCloseTo(b[1], digits);
};

/** A camera that looks at the board from anywhere above it. */
const camera = fc.record({
  tilt: fc.double({ min: -0.5, max: 0.5, noNaN: true }),
  lean: fc.double({ min: -0.4, max: 0.4, noNaN: true }),
  turn: fc.double({ min: -3, max: 3, noNaN: true }),
});
const seen =
  (c: { tilt: number; lean: number; turn: number }) =>
  ([x, y]: XY): XY => {
    const [u, v] = [x - 350, y - 60];
    const [s, t] = [u * Math.cos(c.turn) - v * Math.sin(c.turn), u * Math.sin(c.turn) + v * Math.cos(c.turn)];
    const depth = 1500 + s * Math.sin(c.lean) + t * Math.sin(c.tilt);
    return [2000 + (3000 * s * Math.cos(c.lean)) / depth, 1500 - (3000 * t * Math.cos(c.tilt)) / depth];
  };

describe("a photograph set to scale", () => {
  test("four marks take the perspective out: every place of the board is found again", () => {
    fc.assert(
      fc.property(camera, fc.double({ min: 0, max: 700, noNaN: true }), fc.double({ min: 0, max: 120, noNaN: true }), (c, x, y) => {
        const see = seen(c);
        const corners: XY[] = [
          [0, 0],
          [700, 5],
          [690, 120],
          [10, 110],
        ];
        const p = projectionOf(corners.map((board): Mark => ({ board, photo: see(board) })));
        if (typeof p === "string") throw new Error(p);
        near(onPhoto(p, [x, y]), see([x, y]), 4);
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("two marks turn, shift and scale; the board is not mirrored", () => {
    const p = projectionOf([
      { board: [0, 0], photo: [100, 500] },
      { board: [700, 0], photo: [1500, 500] },
    ]);
    if (typeof p === "string") throw new Error(p);
    // up the board is up the photograph, whose rows run down
    near(onPhoto(p, [350, 100]), [800, 300]);
  });

  test("marks that say nothing are refused: too few, on one another, three in a line", () => {
    const at = (x: number, y: number, u: number, v: number): Mark => ({ board: [x, y], photo: [u, v] });
    expect(projectionOf([at(0, 0, 1, 1)])).toBe("few");
    expect(projectionOf([at(0, 0, 1, 1), at(0, 0, 90, 90)])).toBe("together");
    expect(projectionOf([at(0, 0, 0, 0), at(100, 0, 100, 0), at(200, 0, 200, 0), at(0, 100, 0, 100)])).toBe("together");
  });

  test("the straightened picture shows at each place what the photograph has there", () => {
    const photo = { width: 40, height: 30, data: new Uint8ClampedArray(4 * 40 * 30) };
    for (let k = 0; k < 1200; k++) photo.data.set([k % 40, Math.floor(k / 40), 7, 255], 4 * k);
    const p = projectionOf([
      { board: [0, 0], photo: [0, 30] },
      { board: [20, 0], photo: [40, 30] },
    ]);
    if (typeof p === "string") throw new Error(p);
    const out = straightened(photo, p, { length: 20, width: 10 }, 2);
    expect([out.width, out.height]).toEqual([40, 20]);
    // the far edge lies 20 dots above the lower edge of the photograph
    expect([...out.data.slice(0, 4)]).toEqual([0, 10, 7, 255]);
    expect([...out.data.slice(4 * (19 * 40 + 39))]).toEqual([39, 29, 7, 255]);
  });
});
