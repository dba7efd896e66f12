import fc from "fast-check";
import { PNG } from "pngjs";
import { describe, expect, test } from "vitest";
import { clockLimits } from "../cutting/clock-limits.ts";
import { conditionsFor } from "../cutting/conditions.ts";
import { flat8, lightRouter } from "../cutting/examples.ts";
import { timeOf } from "../kernel/clock.ts";
import { MoveBuilder, MoveKind, type MoveList } from "../kernel/moves.ts";
import type { Cut } from "../paths/types.ts";
import { checkDrawings } from "./check.ts";
import { svg } from "./draw/svg.ts";
import { CHART_COLUMNS, fullScale, loadsChart, mostIn, panelPng, roundUp, seriesSays } from "./drawings/loads-chart.ts";
import { loadSeries } from "./load-series.ts";

const TOP = 20;
const conditions = conditionsFor(flat8, lightRouter, 700, { kind: "side", step: 3, depth: 2 });
const cutOf = (moves: MoveList, id = "trial"): Cut => ({ id, title: id, side: "board", cutter: 1, moves, why: "", cusp: null, conditions });
const { feed } = conditions;

describe("loads along a program", () => {
  test("a column holds the least and the most of what falls into it: as a slow look at every millisecond has it", () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 1, max: 40 }), fc.double({ min: 0.2, max: 1, noNaN: true }), fc.boolean()), {
          minLength: 3,
          maxLength: 25,
        }),
        (steps) => {
          const b = new MoveBuilder([0, 0, 30]);
          b.rapid(0, 0, 21);
          b.lineTo(0, 0, 15, feed / 4);
          steps.forEach(([length, share, air], k) => {
            const z = air ? 21 : 15;
            b.lineTo(b.px, b.py, z, feed / 4);
            b.lineTo(b.px + (k % 2 === 0 ? length : 0), b.py + (k % 2 === 0 ? 0 : length), z, feed * share);
          });
          const moves = b.list();
          const columns = 40;
          const s = loadSeries([cutOf(moves)], flat8, lightRouter, TOP, columns);
          const { perMove } = timeOf(moves, clockLimits(lightRouter));
          const chip = s.panels.find((p) => p.kind === "chip")!;
          let t = 0;
          let [px, py, pz] = moves.start;
          for (let k = 0; k < moves.count; k++) {
            const length = Math.hypot(moves.x[k] - px, moves.y[k] - py, moves.z[k] - pz);
            const wood = moves.kind[k] === MoveKind.line && Math.min(pz, moves.z[k]) < TOP && perMove[k] > 0;
            const v = wood ? (conditions.chip * length) / perMove[k] / feed : 0;
            for (let i = 0; perMove[k] > 0 && i <= 20; i++) {
              const c = Math.min(columns - 1, Math.floor(((t + (perMove[k] * i) / 20) / s.seconds) * columns));
              expect(chip.most[c]).toBeGreaterThanOrEqual(v - 1e-6);
              expect(chip.least[c]).toBeLessThanOrEqual(v + 1e-6);
            }
            t += perMove[k];
            [px, py, pz] = [moves.x[k], moves.y[k], moves.z[k]];
          }
          // nothing is thicker than planned, and what is slower is thinner
          expect(chip.peak).toBeLessThanOrEqual(conditions.chip * 1.0001);
          for (const p of s.panels) expect(Math.max(...p.most)).toBeCloseTo(p.peak, 4);
        },
      ),
      { seed: 20260101, numRuns: 40, endOnFailure: true },
    );
  });

  test("a million moves: the same picture size, one slow place among them still seen", () => {
    const n = 1_000_000;
    const b = new MoveBuilder([0, 0, 15], n + 8);
    for (let k = 1; k <= n; k++) b.lineTo(k * 0.3, 0, 15, k === 700_000 ? 0.5 : feed);
    const s = loadSeries([cutOf(b.list())], flat8, lightRouter, TOP, CHART_COLUMNS);
    expect(s.moves).toBe(n);
    const chip = s.panels.find((p) => p.kind === "chip")!;
    const slow = chip.least.findIndex((v, c) => c > 2 && c < CHART_COLUMNS - 3 && v < 0.3 * conditions.chip);
    expect(slow / CHART_COLUMNS).toBeCloseTo(0.7, 1);
    const d = loadsChart(s, "loads-trial", "Loads along a trial", 250);
    expect(svg(d, { flow: true, idPrefix: "t-" }).length).toBeLessThan(120_000);
    expect(checkDrawings([d])).toEqual([]);
  });

  test("limits are lines where they are near, words where they are far; a passed one is said", () => {
    const b = new MoveBuilder([0, 0, 15]);
    for (let k = 1; k < 40; k++) b.lineTo(30 * k, 0, 15, feed);
    const s = loadSeries([cutOf(b.list(), "one"), cutOf(b.list(), "two")], flat8, lightRouter, TOP, 100);
    expect(s.cuts).toEqual([
      { id: "one", from: 0, to: 50 },
      { id: "two", from: 50, to: 99 },
    ]);
    const chip = s.panels.find((p) => p.kind === "chip")!;
    expect(chip.limits.map((l) => l.name)).toEqual(["least", "most", "least", "most"]);
    expect(seriesSays(s)).toContain("bend at most");
    expect(seriesSays(s)).not.toContain("PASSED");
    const bend = s.panels.find((p) => p.kind === "bend")!;
    expect(mostIn(bend, 0, 99)).toBeCloseTo(bend.peak, 6);
    const tight = {
      ...s,
      panels: s.panels.map((p) => (p.kind === "bend" ? { ...p, limits: [{ from: 0, to: 99, value: p.peak / 2, name: "limit" }] } : p)),
    };
    expect(seriesSays(tight)).toContain("PASSED");
    const words = (x: typeof s): string => JSON.stringify(loadsChart(x, "i", "t", 250).items.filter((i) => i.kind === "text"));
    expect(words(s)).toContain("least");
    const far = {
      ...s,
      panels: s.panels.map((p) => (p.kind === "power" ? { ...p, limits: [{ from: 0, to: 99, value: p.peak * 9, name: "limit" }] } : p)),
    };
    expect(words(far)).toContain("↑");
  });

  test("what the proof audited stands beside what was planned", () => {
    const b = new MoveBuilder([0, 0, 15]);
    b.lineTo(300, 0, 15, feed);
    const s = loadSeries([cutOf(b.list())], flat8, lightRouter, TOP, 50, new Map([["trial", 91.5]]));
    expect(s.panels[0].limits).toEqual([{ from: 0, to: 49, value: 91.5, name: "audited" }]);
    expect(seriesSays(s)).toContain("92 audited in the program's text");
    // measured over the time, it takes the place of what was planned
    const measured = loadSeries([cutOf(b.list())], flat8, lightRouter, TOP, 50, new Map(), [0, 40, 75, 20]);
    expect(measured.panels[0].peak).toBe(75);
    expect(measured.panels[0].mean).toBeCloseTo(45, 6);
    expect([...new Set(measured.panels[0].most)]).toEqual([0, 40, 75, 20]);
  });

  test("a panel's picture: nothing where nothing is cut, darker where more is", () => {
    const most = Float32Array.from([0, 0.2, 0.5, 1]);
    const png = PNG.sync.read(
      Buffer.from(panelPng({ kind: "force", unit: "N", least: new Float32Array(4), most, limits: [], peak: 1, mean: 0.4 }, 1)),
    );
    const at = (x: number, y: number): number[] => [...png.data.subarray((y * png.width + x) * 4, (y * png.width + x) * 4 + 3)];
    const bottom = png.height - 1;
    const light = (rgb: number[]): number => 0.3 * rgb[0] + 0.6 * rgb[1] + 0.1 * rgb[2];
    expect(at(0, bottom)).toEqual([251, 248, 241]);
    expect(light(at(2, bottom))).toBeLessThan(light(at(1, bottom)));
    expect(light(at(3, bottom))).toBeLessThan(light(at(2, bottom)));
    expect(at(1, 0)).toEqual([251, 248, 241]);
    expect(at(3, 0)).toEqual(at(3, bottom));
  });

  test("scales are round and hold what they show", () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (v) => {
        expect(roundUp(v)).toBeGreaterThanOrEqual(v * (1 - 1e-9));
        expect(roundUp(v)).toBeLessThanOrEqual(2 * v * (1 + 1e-9));
      }),
      { seed: 20260101, numRuns: 200, endOnFailure: true },
    );
    expect(
      fullScale({ kind: "chip", unit: "mm", least: new Float32Array(1), most: new Float32Array(1), limits: [], peak: 0, mean: 0 }),
    ).toBeGreaterThan(0);
  });
});
