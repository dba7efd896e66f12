import { describe, expect, test } from "vitest";
import { fitClearance, limitsOf } from "../../src/materials/fits.ts";

/* ISO 286-2, nominal sizes over 6 up to and including 10 mm, micrometres (copies: JIS B 0401 and DIN ISO 286 tables). */
const ROW = `f7 -13/-28; g5 -5/-11; g6 -5/-14; h5 0/-6; h6 0/-9; h7 0/-15; h8 0/-22; h9 0/-36; h10 0/-58; h11 0/-90; js6 4.5/-4.5; k5 7/1; k6 10/1;
m5 12/6; m6 15/6; n6 19/10; p6 24/15; r6 28/19; s6 32/23; H7 15/0; H8 22/0; H9 36/0; H10 58/0; H11 90/0; G6 14/5; G7 20/5; F7 28/13; E8 47/25; D9 76/40`;

test.each(ROW.split(";").map((cell) => cell.trim().split(/[ /]/)))("10 %s: %s / %s", (zone, upper, lower) => {
  expect(limitsOf(10, zone)).toMatchObject({ upper: Number(upper), lower: Number(lower) });
});

/* Clearances of 10 mm fits follow from the rows by subtraction; worked by hand, micrometres. */
const FITS =
  "H7/m6 -15 9; H7/h6 0 24; H7/g6 5 29; H7/k6 -10 14; H7/h8 0 37; H7/f7 13 43; H7/p6 -24 0; H8/m6 -15 16; G7/m6 -10 14; G7/h6 5 29; F7/m6 -2 22; F7/h6 13 37";
test.each(FITS.split("; ").map((cell) => cell.split(/[ /]/)))("10 %s/%s: %s to %s", (hole, shaft, min, max) => {
  const fit = fitClearance(10, hole, shaft)!;
  expect(fit.min * 1000).toBeCloseTo(Number(min), 9);
  expect(fit.max * 1000).toBeCloseTo(Number(max), 9);
});

/* Worked example in a shop reference: 50 H7/g6 has 9 to 50 of clearance, 50 H7/p6 1 to 42 of interference. */
test("50 H7/g6 and 50 H7/p6", () => {
  expect(fitClearance(50, "H7", "g6")).toEqual({ min: 0.009, max: 0.05 });
  expect(fitClearance(50, "H7", "p6")).toEqual({ min: -0.042, max: -0.001 });
});

describe("the edge of a range belongs to the lower row", () => {
  test("10.000 takes the row 6 to 10, 10.001 the next", () => {
    expect(limitsOf(10, "h6")).toMatchObject({ lower: -9 });
    expect(limitsOf(10.001, "h6")).toMatchObject({ lower: -11 });
    expect(limitsOf(6, "h6")).toMatchObject({ lower: -8 });
    expect(limitsOf(6.001, "h6")).toMatchObject({ lower: -9 });
  });

  test("what was not seen has no answer", () => {
    expect(limitsOf(10.001, "H7")).toBeUndefined();
    expect(limitsOf(0, "m6")).toBeUndefined();
    expect(limitsOf(10, "z9")).toBeUndefined();
    expect(fitClearance(15, "H7", "m6")).toBeUndefined();
  });
});
