import { describe, expect, it } from "vitest";
import { neckBudget } from "../src/holding/budget/neck.ts";
import { draw, uniform } from "../src/holding/budget/random.ts";
import { machine } from "../src/holding/holding.test-data.ts";
import { mapPoint } from "../src/kernel/map-moves.ts";
import { guitar } from "../src/neck/fixture.test-data.ts";
import { makeNeck } from "../src/neck/neck.ts";
import { madeBy } from "./machine.ts";

/* The budget reckons with sensitivities, to first order; the simulated machine knows none of them and maps the places themselves. */

describe("the error budget beside the simulated machine", () => {
  const neck = makeNeck(guitar);
  const { outcomes } = neckBudget(neck, machine, { scale: 0.5, square: 0.5 });
  const next = uniform(99);
  const half = Math.max(...[neck.places.tip + 1, 0, neck.places.end - 1].flatMap((x) => neck.edges(x).map(Math.abs)));
  const trials = 20_000;
  const fret = new Float64Array(trials);
  const cents = new Float64Array(trials);
  const still = { blank: { y: 0, turn: 0 }, worn: 0, runOut: 0, high: 0 };
  const square = { turn: { x: 0, y: 0, angle: 0 }, high: { board: 0, carve: 0 } };
  const per = (h: number): number => draw({ kind: "uniform", half: h / 1000 }, next);
  const repeat = (): number => draw({ kind: "normal", sigma: machine.repeat / 2 }, next);
  for (let k = 0; k < trials; k++) {
    const made = madeBy({ ...still, axes: { x: 1 + per(0.5), y: 1, square: per(0.5) } }, square, "board");
    const nut = mapPoint(made, 0, 0, 0)[0] + repeat();
    const at = (x: number): number => mapPoint(made, x, half, 0)[0] + repeat() - nut;
    fret[k] = at(neck.places.boardEnd) - neck.places.boardEnd;
    const d = neck.fretAt(12);
    // the saddle stays where it belongs: the note is the ratio of what is left of the string
    cents[k] = 1200 * Math.log2((guitar.scale - d) / (guitar.scale - at(d)));
  }
  const sigma = (a: Float64Array): number => {
    const m = a.reduce((s, v) => s + v, 0) / a.length;
    return Math.sqrt(a.reduce((s, v) => s + (v - m) ** 2, 0) / (a.length - 1));
  };
  it.each([
    ["fret", fret],
    ["cents", cents],
  ] as const)("%s: deviation within 3 %, 99 of 100 within 5 %", (id, drawn) => {
    const b = outcomes.find((o) => o.id === id)!;
    expect(Math.abs(sigma(drawn) / b.sigma - 1)).toBeLessThan(0.03);
    const sizes = drawn.map(Math.abs).sort();
    expect(Math.abs(sizes[Math.ceil(0.99 * trials) - 1]! / b.drawn.within99 - 1)).toBeLessThan(0.05);
  });
});
