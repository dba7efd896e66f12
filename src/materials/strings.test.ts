import fc from "fast-check";
import { expect, test } from "vitest";
import { stringModel } from "./intonation.ts";
import {
  balance,
  centsBetween,
  inharmonicity,
  musicWireStrength,
  noteFrequency,
  partialCents,
  plainUnitWeight,
  stringFrequency,
  stringStress,
  tension,
  woundUnitWeight,
} from "./strings.ts";

const RUNS = { seed: 20260101, numRuns: 300 };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

test("tension and pitch undo each other; twice the length or pitch, four times the tension", () => {
  fc.assert(
    fc.property(number(300, 900), number(30, 700), number(1e-4, 2e-2), (length, f, mu) => {
      const t = tension(length, f, mu);
      expect(stringFrequency(length, t, mu)).toBeCloseTo(f, 8);
      expect(tension(2 * length, f, mu) / t).toBeCloseTo(4, 10);
      expect(tension(length, 2 * f, mu) / t).toBeCloseTo(4, 10);
    }),
    RUNS,
  );
});

test("the stress of a plain string does not know its thickness", () => {
  fc.assert(
    fc.property(number(0.2, 0.6), number(0.2, 0.6), number(60, 400), (d1, d2, f) => {
      const stress = (d: number): number => stringStress(tension(648, f, plainUnitWeight(d)), d);
      expect(stress(d1) / stress(d2)).toBeCloseTo(1, 10);
    }),
    RUNS,
  );
});

test("notes: twelve semitones an octave, sharps meet flats, anything else is refused by name", () => {
  expect(noteFrequency("E4") / noteFrequency("E3")).toBeCloseTo(2, 12);
  expect(noteFrequency("A#2")).toBe(noteFrequency("Bb2"));
  expect(centsBetween(noteFrequency("E3"), noteFrequency("F3"))).toBeCloseTo(100, 9);
  expect(noteFrequency("A4", 442)).toBe(442);
  for (const bad of ["H3", "E", "", "e4", "E#b3"]) expect(() => noteFrequency(bad)).toThrow(`note "${bad}"`);
});

test("a wound string weighs more than its core and less than a solid rod of its outside, for wire of one kind", () => {
  fc.assert(
    fc.property(number(0.3, 1), number(0.05, 1), (core, wrap) => {
      const outside = core + 2 * wrap;
      const mu = woundUnitWeight(core, outside, 7800, 7800);
      expect(mu).toBeGreaterThan(plainUnitWeight(core));
      expect(mu).toBeLessThan(plainUnitWeight(outside));
      // A tight layer of round wire fills pi/4 of its ring.
      const ring = plainUnitWeight(outside) - plainUnitWeight(core);
      expect((mu - plainUnitWeight(core)) / ring).toBeCloseTo(Math.PI / 4, 9);
    }),
    RUNS,
  );
  expect(() => woundUnitWeight(0.5, 0.4, 7800, 7800)).toThrow("0.4 mm");
});

test("inharmonicity: Fletcher's B is pi^2 times the square of the intonation model's", () => {
  fc.assert(
    fc.property(number(0.2, 1), number(30, 150), (d, force) => {
      const m = stringModel({ scale: 650, diameter: d, modulus: 190_000, tension: force, b: 0, c: 0, d: 0 });
      expect(inharmonicity(d, 190_000, force, 650) / (Math.PI ** 2 * m.stiffness ** 2)).toBeCloseTo(1, 10);
      expect(partialCents(inharmonicity(d, 190_000, force, 650), 1)).toBe(0);
    }),
    RUNS,
  );
});

test("wire strength falls as wire thickens, and is the row's on a row", () => {
  let last = Number.POSITIVE_INFINITY;
  for (let d = 0.2286; d <= 0.4572; d += 0.005) {
    const strength = musicWireStrength(d)!;
    expect(strength).toBeLessThan(last);
    last = strength;
  }
});

test("balance: ratios average to one; an empty set is refused", () => {
  const set = balance([60, 70, 80]);
  expect(set.total).toBe(210);
  expect(set.ratios.reduce((a, b) => a + b) / 3).toBeCloseTo(1, 12);
  expect(() => balance([])).toThrow("no strings");
});
