import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { correctedTrials } from "../../../test/correcting.ts";
import { faults, measureScribe } from "../../../test/machine.ts";
import { guitar } from "../../neck/fixture.test-data.ts";
import { makeNeck } from "../../neck/neck.ts";
import { machine } from "../holding.test-data.ts";
import { marginInBlank, placementProblem, toPlacement } from "../placement/neck.ts";
import { marginAt } from "../placement/solve.ts";
import { planHolding } from "../plan.ts";
import { centsOfScale, effectOfScale, readPattern, readSlot, readThickness, toProgram, trueOf } from "./machine.ts";
import { readScribe, readTouches } from "./scribe.ts";

const neck = makeNeck(guitar);
const at = { ...planHolding(neck, machine).placement, rotation: 0 };
const still = { axes: { x: 1, y: 1, square: 0 }, blank: { y: 0, turn: 0 }, worn: 0, runOut: 0, high: 0 };
const stations = [-80, 60, 250, 440];
const says = (r: { readonly ok: boolean; readonly says?: string; readonly tryThis?: string }): string =>
  r.ok ? "" : `${r.says} ${r.tryThis}`;

describe("the simulated machine, measured to a tenth and put right", () => {
  it("comes within the budget of its readings in at least 99 of 100 trials", () => {
    const { trials, within, worst } = correctedTrials(40, 1);
    expect(trials).toBe(40);
    expect(within / trials, JSON.stringify(worst)).toBeGreaterThanOrEqual(0.99);
  });
  it("what is programmed by the inverse comes to lie right, to 1e-9", () => {
    fc.assert(
      fc.property(faults, fc.double({ min: -900, max: 900, noNaN: true }), fc.double({ min: -200, max: 200, noNaN: true }), (f, x, y) => {
        const [u, v] = trueOf(f.axes, ...toProgram(f.axes, x, y));
        expect(Math.hypot(u - x, v - y)).toBeLessThan(1e-9);
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });
  it("a twelfth fret of a half per cent too long a scale is sharp by the ratio of the lengths", () => {
    expect(centsOfScale(1.005, 12)).toBeCloseTo(1200 * Math.log2(0.5 / (1 - 1.005 * 0.5)), 12);
    expect(centsOfScale(1, 7)).toBe(0);
    expect(effectOfScale(1.002, 300, 0.1, 648)[0].before).toBeCloseTo(0.648, 9);
  });
});

describe("a scribe in a blank with more than two edges", () => {
  const withBlank = (blank: Partial<typeof guitar.blank>) => makeNeck({ ...guitar, blank: { ...guitar.blank, ...blank } });
  const found = (n: typeof neck, blank: { readonly y: number; readonly turn: number }) => {
    const r = readScribe(n, at, measureScribe(n, at, { ...still, blank }, stations));
    if (!r.ok) throw new Error(r.says);
    return r.value;
  };
  it("has the margin of the plan where it lies as planned, knots and blocks counted", () => {
    const w = guitar.blank.width;
    const corner = { x: 300, y: w };
    const knotted = withBlank({ regions: [{ kind: "knot", points: [{ x: 310, y: w - 34 }, corner, { x: 300, y: w - 34 }] }] });
    for (const n of [neck, knotted]) expect(Math.abs(found(n, { y: 0, turn: 0 }).now - marginInBlank(n, at).margin)).toBeLessThan(0.1);
    expect(found(knotted, { y: 0, turn: 0 }).now).toBeLessThan(found(neck, { y: 0, turn: 0 }).now - 1);
  });
  it("a knot moves with the datum edge: the blank further out by 3 mm, the neck follows by 3 mm and has what it had", () => {
    const w = guitar.blank.width;
    const n = withBlank({
      regions: [
        {
          kind: "knot",
          points: [
            { x: 300, y: w - 20 },
            { x: 310, y: w - 20 },
            { x: 305, y: w },
          ],
        },
      ],
    });
    const [a, b] = [found(n, { y: 0, turn: 0 }), found(n, { y: 3, turn: 0 })];
    expect(Math.abs(a.slid.margin - b.slid.margin)).toBeLessThan(0.11);
    expect(
      marginAt(placementProblem(n), toPlacement(n, { ...b.slid.to, centreFromDatum: b.slid.to.centreFromDatum - 3 })).margin,
    ).toBeGreaterThan(b.slid.margin - 0.11);
  });
  it("stations are not read in a blank given by its corners", () => {
    const outline = [
      { x: 0, y: 0 },
      { x: guitar.blank.length, y: 0 },
      { x: guitar.blank.length, y: 80 },
      { x: 0, y: guitar.blank.width },
    ];
    const good = measureScribe(neck, at, still, stations);
    expect(says(readScribe(withBlank({ outline }), at, good))).toMatch(/by its corners.*without --at/);
  });
});

describe("bad measurements are caught with a sentence", () => {
  const good = measureScribe(neck, at, still, stations);
  it("good ones are not", () => {
    expect(says(readScribe(neck, at, good))).toBe("");
    expect(
      says(
        readTouches(
          [
            [40, 0],
            [600, 0.4],
            [0, 60],
          ],
          750,
        ),
      ),
    ).toBe("");
  });
  it("three touches on one line", () => {
    expect(
      says(
        readTouches(
          [
            [40, 0],
            [600, 0],
            [300, 0.2],
          ],
          750,
        ),
      ),
    ).toMatch(/on one line.*nothing of the end/);
  });
  it("touches too near together, or with x and y exchanged", () => {
    expect(
      says(
        readTouches(
          [
            [40, 0],
            [90, 0],
            [0, 60],
          ],
          750,
        ),
      ),
    ).toMatch(/50 mm apart/);
    expect(
      says(
        readTouches(
          [
            [40, 0],
            [300, 200],
            [0, 60],
          ],
          750,
        ),
      ),
    ).toMatch(/degrees askew.*exchanged/);
  });
  it("readings of two stations that changed places", () => {
    const swapped = good.map((r, k) => (k === 0 ? { ...good[3], x: r.x } : k === 3 ? { ...good[0], x: r.x } : r));
    expect(says(readScribe(neck, at, swapped))).toMatch(/change places/);
  });
  it("50 typed for 5, 5 for 50, and inches", () => {
    const first = (near: number) => good.map((r, k) => (k === 1 ? { ...r, near } : r));
    expect(says(readScribe(neck, at, first(Math.round(good[1].near * 100) / 10)))).toMatch(/was .* meant/);
    expect(says(readScribe(neck, at, first(Math.round(good[1].near) / 10)))).toMatch(/was .* meant/);
    expect(says(readScribe(neck, at, first(good[1].near / 25.4)))).toMatch(/inches/);
  });
  it("stations too few, too near, or off the neck", () => {
    expect(says(readScribe(neck, at, good.slice(0, 1)))).toMatch(/One station/);
    expect(says(readScribe(neck, at, measureScribe(neck, at, still, [100, 130])))).toMatch(/within 30 mm/);
    expect(says(readScribe(neck, at, [{ ...good[0], x: -400 }, good[3]]))).toMatch(/no neck at station/);
  });
  it("a test pattern in inches, with x and y exchanged, with one slipped digit, or that is no rectangle", () => {
    const p = { along: 300, across: 100, x: [300.3, 300.3], y: [99.9, 99.9], diagonals: [316.5, 316.5] } as const;
    expect(says(readPattern(p))).toBe("");
    const inch = (v: readonly [number, number]) => v.map((x) => x / 25.4) as unknown as readonly [number, number];
    expect(says(readPattern({ ...p, x: inch(p.x), y: inch(p.y), diagonals: inch(p.diagonals) }))).toMatch(/inches/);
    expect(says(readPattern({ ...p, x: p.y, y: p.x }))).toMatch(/changed over/);
    expect(says(readPattern({ ...p, x: [30.03, 300.3] }))).toMatch(/300.3 meant/);
    expect(says(readPattern({ ...p, diagonals: [319, 317.8] }))).toMatch(/do not belong to one rectangle/);
  });
  it("a slot narrower than its cutter, of another cutter, or a thickness nobody can believe", () => {
    expect(says(readSlot(6, 5.9, 6.0))).toMatch(/cannot leave a slot/);
    expect(says(readSlot(6, 60, null))).toMatch(/was 6 meant/);
    expect(says(readSlot(6, 8, null))).toMatch(/right cutter/);
    expect(says(readThickness(21, 2.1))).toMatch(/was 21 meant/);
    expect(says(readThickness(21, 27))).toMatch(/Do not cut on/);
    expect(readSlot(6, 6.04, 5.98)).toEqual({ ok: true, value: { diameter: 6.04, runOut: expect.closeTo(0.06, 9) } });
    expect(readThickness(21, 21.3)).toEqual({ ok: true, value: expect.closeTo(0.3, 9) });
  });
});
