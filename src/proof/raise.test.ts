import fc from "fast-check";
import { expect, test } from "vitest";
import { bandsOf, makeBlock } from "../kernel/make-stock.ts";
import { blockInput } from "./block.test-data.ts";
import { frameOf, stadium } from "./place.ts";
import { raise } from "./simulate.ts";

const CELL = 0.2;
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

test("glued wood stands in every cell whose centre the fill reaches, and in no other; in bands too, on a neck that lies askew", () => {
  fc.assert(
    fc.property(number(5, 55), number(5, 25), number(0, 30), number(0.3, 6), number(-0.2, 0.2), (x, y, length, r, askew) => {
      const [side] = blockInput([], CELL).sides;
      const [c, s] = [Math.cos(askew), Math.sin(askew)];
      const frame = frameOf({ ...side, neckToProgram: [c, -s, 0, 1.3, s, c, 0, -0.7, 0, 0, 1, 0] });
      const distance = stadium(x, y, x + length, y, r);
      const region = { distance, xMin: x - r, xMax: x + length + r, yMin: y - r, yMax: y + r, top: -2 };
      for (const rows of [undefined, ...bandsOf(150, 2)]) {
        const stock = makeBlock(0, 0, 60, 30, CELL, -5, rows);
        raise(stock, frame, region, 0);
        const { nx, x0, y0, z } = stock.map;
        const [first, end] = stock.rows;
        for (let j = first; j < end; j++)
          for (let i = 0; i < nx; i++) {
            const inside = distance(...frame.neckXY(x0 + i * CELL, y0 + j * CELL)) <= 0.03;
            if (z[j * nx + i] !== (inside ? -2 : -5)) expect.fail(`cell ${i}, ${j} stands at ${z[j * nx + i]}`);
          }
        // its maxima know of it: a disc over it meets the raised wood
        const [px, py] = frame.xy(x, y);
        if (rows === undefined && px > 1 && px < 59 && py > 1 && py < 29) expect(stock.penetration(0.5, px, py, -4, px, py, -4)).toBe(2);
      }
    }),
    { seed: 20260302, numRuns: 25 },
  );
});
