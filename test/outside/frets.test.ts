import { describe, expect, test } from "vitest";
import { centsBetween } from "../../src/materials/strings.ts";
import { fretDistance } from "../../src/neck/frets.ts";

/* Twelve-tone equal temperament: identities that need no table, and the constant every maker knows. */
describe("identities", () => {
  const L = 648;

  test("fret 12 halves the string, fret 24 leaves a quarter", () => {
    expect(fretDistance(L, 12)).toBeCloseTo(L / 2, 12);
    expect(fretDistance(L, 24)).toBeCloseTo((3 * L) / 4, 12);
    expect(fretDistance(L, 0)).toBe(0);
  });

  test("fret 7 at 0.332580 L, 1.955 cents flat of the pure fifth; fret 5 at 0.250846 L, as much sharp of the pure fourth", () => {
    expect(fretDistance(1, 7)).toBeCloseTo(0.33258, 6);
    expect(fretDistance(1, 5)).toBeCloseTo(0.250846, 6);
    // The string left sounds at 1 / (1 - d) of the open pitch.
    expect(centsBetween(3 / 2, 1 / (1 - fretDistance(1, 7)))).toBeCloseTo(-1.955, 4);
    expect(centsBetween(4 / 3, 1 / (1 - fretDistance(1, 5)))).toBeCloseTo(1.955, 4);
  });

  test("each fret takes 1/17.817153745 of the string left", () => {
    for (let n = 1; n <= 24; n++) {
      const left = L - fretDistance(L, n - 1);
      expect(left / (fretDistance(L, n) - fretDistance(L, n - 1))).toBeCloseTo(17.8171537451, 8);
    }
  });

  test("a maker's rounded 17.817 puts fret 12 of 650 at 325.0020, the rule of 18 at 322.6364: ours is neither", () => {
    const stepwise = (divisor: number): number => 650 * (1 - (1 - 1 / divisor) ** 12);
    expect(stepwise(17.817)).toBeCloseTo(325.002, 4);
    expect(stepwise(18)).toBeCloseTo(322.6364, 4);
    expect(fretDistance(650, 12)).toBe(325);
  });
});

/* L (1 - 2^(-n/12)) to four decimals, mm, worked out apart from this program; no published table was found to copy. */
const SPOTS: readonly (readonly [number, number, number])[] = [
  [430, 1, 24.134],
  [430, 7, 143.0094],
  [430, 19, 286.5047],
  [628.65, 1, 35.2834],
  [628.65, 9, 254.8525],
  [635, 5, 159.2875],
  [635, 22, 456.8091],
  [647.7, 3, 103.0514],
  [647.7, 17, 405.0866],
  [648, 1, 36.3694],
  [648, 2, 70.6976],
  [648, 5, 162.5485],
  [648, 13, 342.1847],
  [648, 21, 455.3484],
  [648, 22, 466.1611],
  [650, 4, 134.0947],
  [650, 19, 433.0885],
  [660.4, 8, 244.3741],
  [660.4, 23, 485.4826],
  [762, 1, 42.7678],
  [762, 20, 521.985],
  [863.6, 10, 378.9209],
  [863.6, 21, 606.8502],
  [864, 1, 48.4926],
  [864, 15, 500.7327],
];
test.each(SPOTS)("scale %d mm, fret %d: %d mm", (scale, n, d) => {
  expect(Number(fretDistance(scale, n).toFixed(4))).toBe(d);
});
