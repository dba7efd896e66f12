import { describe, expect, test } from "vitest";
import {
  inharmonicity,
  MUSIC_WIRE_STRENGTH,
  musicWireStrength,
  noteFrequency,
  partialCents,
  plainUnitWeight,
  stringStress,
  tension,
} from "../../src/materials/strings.ts";

/* ISO 16:1975 (A = 440 Hz) and equal temperament, f = 440 2^(k/12), worked by hand to four decimals. */
const PITCHES: readonly (readonly [string, number])[] = [
  ["D1", 36.7081],
  ["E1", 41.2034],
  ["A1", 55],
  ["E2", 82.4069],
  ["G2", 97.9989],
  ["A2", 110],
  ["D3", 146.8324],
  ["G3", 195.9977],
  ["B3", 246.9417],
  ["C4", 261.6256],
  ["E4", 329.6276],
  ["A4", 440],
];
test.each(PITCHES)("%s is %d Hz", (note, hertz) => {
  expect(Number(noteFrequency(note).toFixed(4))).toBe(hertz);
});

/*
 * T = (2 L f)^2 mu and B = pi^3 E d^4 / (64 T L^2) (Fletcher, J. Acoust. Soc. Am. 36, 203, 1964; Fletcher and Rossing, 2nd ed., 2.18), worked
 * by hand for L 648 mm, 7850 kg/m3, E 200 GPa: inches, note, unit weight kg/m, N, B, cents of the second partial, MPa.
 */
const CASES: readonly (readonly [number, string, number, number, number, number, number])[] = [
  [0.009, "E4", 3.2219e-4, 58.799, 1.0717e-5, 0.0278, 1432.6],
  [0.01, "E4", 3.97765e-4, 72.591, 1.3231e-5, 0.0344, 1432.6],
  [0.013, "B3", 6.72223e-4, 68.851, 3.9842e-5, 0.1035, 804],
  [0.017, "G3", 1.14954e-3, 74.171, 1.0815e-4, 0.2808, 506.5],
];
test.each(CASES)("plain %d in at %s", (inches, note, weight, force, b, cents, stress) => {
  const d = inches * 25.4;
  const mu = plainUnitWeight(d, 7850);
  expect(Number(mu.toPrecision(6))).toBe(weight);
  const t = tension(648, noteFrequency(note), mu);
  expect(Number(t.toFixed(3))).toBe(force);
  const got = inharmonicity(d, 200_000, t, 648);
  expect(Number(got.toPrecision(5))).toBe(b);
  expect(Number(partialCents(got, 2).toFixed(4))).toBe(cents);
  expect(Number(stringStress(t, d).toFixed(1))).toBe(stress);
});

/* ASTM A228 tensile strength, ksi, as copied by a wire seller; 1 ksi = 6.894757 MPa. */
describe("music wire, ASTM A228", () => {
  const TABLE: readonly (readonly [number, number, number])[] = [
    [0.009, 393, 434],
    [0.01, 387, 428],
    [0.011, 382, 422],
    [0.012, 377, 417],
    [0.013, 373, 412],
    [0.016, 362, 400],
    [0.018, 356, 393],
  ];
  test("rows in MPa", () => {
    expect(MUSIC_WIRE_STRENGTH.length).toBe(TABLE.length);
    for (const [i, [inches, min, max]] of TABLE.entries()) {
      expect(MUSIC_WIRE_STRENGTH[i].diameter).toBeCloseTo(inches * 25.4, 12);
      expect(MUSIC_WIRE_STRENGTH[i].min / 6.894757).toBeCloseTo(min, 4);
      expect(MUSIC_WIRE_STRENGTH[i].max / 6.894757).toBeCloseTo(max, 4);
    }
  });

  test("0.010 in: 2668 MPa, of which a string at E4 uses 0.537", () => {
    expect(musicWireStrength(0.254)).toBeCloseTo(2668, 0);
    expect(Number((1432.6 / musicWireStrength(0.254)!).toFixed(3))).toBe(0.537);
  });

  test("no answer outside the rows seen", () => {
    expect(musicWireStrength(0.2)).toBeUndefined();
    expect(musicWireStrength(0.5)).toBeUndefined();
    expect(musicWireStrength(0.017 * 25.4)).toBeGreaterThan(356 * 6.894);
  });
});
