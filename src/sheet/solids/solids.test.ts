import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { makeNeck } from "../../neck/index.ts";
import { parseOrder } from "../../spec/index.ts";
import { bodyOf, stlBytes } from "./index.ts";
import { splineCurve, splineSurface } from "./spline.ts";
import { SPLINE_TOLERANCE } from "./step.ts";
import type { XYZ } from "./types.ts";

const sampleOrder = () => parseOrder(readFileSync("examples/loan-guitar-twelve.order.json")).value!;

describe("rules of the solids", () => {
  const neck = makeNeck(sampleOrder());

  test("SH-031 names what is left out, and the file is written", () => {
    const made = stlBytes(neck, { tolerance: 0.1 });
    expect(made.bytes).not.toBeNull();
    const notes = made.findings.filter((f) => f.rule === "SH-031");
    expect(notes.some((f) => f.says.includes("roller-1"))).toBe(true);
    expect(made.findings.every((f) => f.severity === "note")).toBe(true);
  });

  test("SH-030: two slots that run into one another leave no solid, and the finding says where", () => {
    const [first, second, ...rest] = neck.features.frets;
    const moved = { ...second, bass: { x: first.bass.x + 0.2, y: first.bass.y }, treble: { x: first.treble.x + 0.2, y: first.treble.y } };
    const made = stlBytes({
      ...neck,
      features: { ...neck.features, frets: [{ ...first, ends: "through" }, { ...moved, ends: "through" }, ...rest] },
    });
    expect(made.bytes).toBeNull();
    const stop = made.findings.find((f) => f.rule === "SH-030");
    expect(stop?.severity).toBe("stop");
    expect(stop?.says).toMatch(/x [-\d.]+, y [-\d.]+ mm: .*run into one another/);
  });

  test("the same neck gives the same bytes, whatever was made before", () => {
    const again = makeNeck(sampleOrder());
    expect(stlBytes(again, { tolerance: 0.1 }).bytes).toEqual(stlBytes(neck, { tolerance: 0.1 }).bytes);
  });
});

/** de Boor's recurrence for the cubic splines of STEP: inner knots twice, the ends four times. */
function deBoor(knots: readonly number[], points: readonly XYZ[], t: number): XYZ {
  const k = knots.flatMap((v, i) => Array<number>(i === 0 || i === knots.length - 1 ? 4 : 2).fill(v));
  let s = 3;
  while (s < points.length - 1 && t >= k[s + 1]) s++;
  const d = [0, 1, 2, 3].map((j) => [...points[s - 3 + j]]);
  for (let r = 1; r <= 3; r++)
    for (let j = 3; j >= r; j--) {
      const a = (t - k[s - 3 + j]) / (k[s + 1 + j - r] - k[s - 3 + j]);
      for (let c = 0; c < 3; c++) d[j][c] = (1 - a) * d[j - 1][c] + a * d[j][c];
    }
  return [d[3][0], d[3][1], d[3][2]];
}

test("the splines of STEP stay as near to the exact edges and carve as the file says, also between the places they were made at", () => {
  const { body } = bodyOf(makeNeck(sampleOrder()), true).built!;
  const gap = (p: XYZ, q: XYZ): number => Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
  let worst = 0;
  for (const e of body.edges) {
    if (e.form.kind !== "curve") continue;
    const { knots, points } = splineCurve(e.at, SPLINE_TOLERANCE);
    for (let k = 0; k <= 97; k++) worst = Math.max(worst, gap(deBoor(knots, points, k / 97), e.at(k / 97)));
  }
  let patches = 0;
  for (const { surface: s } of body.faces) {
    if (s.kind !== "patch" || s.crowd.length === 0) continue;
    patches++;
    const fit = splineSurface(s.at, s.box, s.crowd, SPLINE_TOLERANCE);
    for (let i = 0; i <= 11; i++) {
      const u = s.box[0] + ((s.box[1] - s.box[0]) * i) / 11;
      const row = fit.points[0].map((_, j) =>
        deBoor(
          fit.uKnots,
          fit.points.map((r) => r[j]),
          u,
        ),
      );
      for (let j = 0; j <= 97; j++) {
        const v = s.box[2] + ((s.box[3] - s.box[2]) * j) / 97;
        worst = Math.max(worst, gap(deBoor(fit.vKnots, row, v), s.at(u, v)));
      }
    }
  }
  expect(patches).toBeGreaterThan(2);
  expect(worst).toBeGreaterThan(0);
  expect(worst).toBeLessThan(SPLINE_TOLERANCE);
});
