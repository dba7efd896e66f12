/**
 * Necks whose headstock tilts back, whole: planned, written, proved, and spoiled in one place. Coarse cells: what is looked for here does
 * not hide between them.
 */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { planHolding } from "../../src/holding/index.ts";
import type { SideName } from "../../src/holding/types.ts";
import { cuspsOf, engagementOf } from "../../src/job/job-file.ts";
import { groupCuts } from "../../src/job/programs.ts";
import { writePrograms } from "../../src/job/write-programs.ts";
import { flatten } from "../../src/kernel/contour.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { headBackPlane, headFacePlane, heelPlane, type Leaning, planeRows, upward } from "../../src/paths/operations/planes.ts";
import { contextOf } from "../../src/paths/plan.ts";
import { proveSide } from "../../src/proof/index.ts";
import type { ProofInput } from "../../src/proof/types.ts";
import { parseOrder, parseShop } from "../../src/spec/index.ts";
import { planKept, proveKept } from "../kept.ts";

const example = (name: string): string => readFileSync(new URL(`../../examples/${name}`, import.meta.url), "utf8");
const shop = parseShop(example("stiff-router.shop.json")).value;
if (!shop) throw new Error("the example must be sound");

/** `cutting`: coarser ridges where nothing hangs on them, so that there are fewer rows. */
function jobOf(name: string, only: readonly SideName[] = ["board", "carve"], cutting: object = {}): ProofInput {
  const file = JSON.parse(example(`${name}.order.json`));
  const order = parseOrder(JSON.stringify({ ...file, cutting: { ...file.cutting, ...cutting } })).value;
  if (!order || !shop) throw new Error("the examples must be sound");
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine, shop.cutters);
  const plan = planKept(neck, holding, shop, { sides: only });
  expect([...holding.findings, ...plan.findings].filter((f) => f.severity === "stop")).toEqual([]);
  const { groups, steps } = groupCuts(plan);
  const { programs } = writePrograms(groups, order, "0".repeat(64), shop, holding);
  return {
    neck,
    machine: shop.machine,
    cutters: shop.cutters,
    sides: [holding.sides.board, holding.sides.carve],
    programs,
    steps,
    cusps: cuspsOf(plan),
    engagement: engagementOf(plan),
    cell: 0.8,
  };
}

const rules = (p: { readonly findings: readonly { readonly severity: string; readonly rule: string }[] }): string[] =>
  [...new Set(p.findings.filter((f) => f.severity === "stop").map((f) => f.rule))].sort();

describe("rows over a leaning plane", () => {
  test.each(["loan-guitar-set", "loan-guitar-seven", "loan-guitar-twelve"])(
    "%s: the ball touches it everywhere and covers the outline",
    (name) => {
      const order = parseOrder(example(`${name}.order.json`)).value;
      if (!order || !shop) throw new Error("the examples must be sound");
      const neck = makeNeck(order);
      const holding = planHolding(neck, shop.machine, shop.cutters);
      const at = (side: "board" | "carve", plane: Leaning, from: number, to: number): void => {
        const ctx = contextOf(neck, holding.sides[side], shop);
        const r = 4;
        const cusp = 0.01;
        const path = planeRows(ctx, plane, r, cusp, from, to, 0.5);
        const [nx, ny, n] = upward(ctx, plane);
        expect(Math.hypot(nx, ny, n)).toBeCloseTo(1, 12);
        const rows: number[][] = [];
        for (let k = 0; k < path.length; k += 3) {
          // the ball's middle stands its radius off the plane: exact, whatever the way to it
          const [x, y, z] = [ctx.frame.nx(path[k]), ctx.frame.ny(path[k + 1]), path[k + 2] + r];
          const off = (z - ctx.frame.z(plane.z(x, y))) * n;
          expect(off).toBeCloseTo(r, 6);
          rows.push([x, y]);
        }
        // neighbouring rows leave no more than the cusp: apart on the plane by no more than a ball leaves that on
        for (let k = 2; k < rows.length; k += 2) {
          const [ax, ay] = rows[k - 1];
          const by = rows[k - 2][1];
          const apart = Math.abs((rows[k][0] - ax - plane.slope * (rows[k][1] - ay)) / Math.hypot(1, plane.slope)) / n;
          expect(r - Math.sqrt(r * r - (apart * apart) / 4)).toBeLessThan(cusp * 1.05);
          // alternately forward and back
          expect(Math.sign(by - ay)).toBe(k % 4 === 2 ? Math.sign(rows[0][1] - rows[1][1]) : -Math.sign(rows[0][1] - rows[1][1]));
        }
        const ring = flatten(neck.outline, 0.05);
        const d = (x: number, y: number): number => (x - plane.slope * y - plane.x0) / Math.hypot(1, plane.slope);
        for (let k = 0; k < ring.length; k += 2) {
          const here = d(ring[k], ring[k + 1]);
          if (here < from || here > to) continue;
          const near = rows.filter(([x, y]) => Math.abs(d(x - r * nx, y - r * ny) - here) < 0.7);
          expect(Math.min(...near.map(([, y]) => y - r * ny))).toBeLessThan(ring[k + 1] + 1e-6);
          expect(Math.max(...near.map(([, y]) => y - r * ny))).toBeGreaterThan(ring[k + 1] - 1e-6);
        }
      };
      at("board", headFacePlane(neck), -100, 0);
      at("carve", headBackPlane(neck), -80, 0);
      at("carve", heelPlane(neck), 0, neck.places.shaftEnd - neck.places.heelFront);
    },
  );
});

describe("a set neck: tilted headstock, volute, tenon, heel at an angle, hollow rod channel", () => {
  const job = jobOf("loan-guitar-set", ["board", "carve"], { cusp: 0.03 });

  test("is proved whole", () => {
    const proof = proveKept(job);
    expect(rules(proof)).toEqual([]);
    const regions = proof.sides.flatMap((s) => s.regions.map((r) => r.region));
    for (const r of ["headstock face", "headstock back", "rod channel", "tenon", "tenon's cheeks", "carve", "heel"])
      expect(regions).toContain(r);
    expect(proof.sides.flatMap((s) => s.measures).filter((m) => m.id === "tenon")).toHaveLength(4);
  });

  test("a tilted face cut 0.1 mm too deep is told: PF-241", () => {
    const programs = job.programs.map((p) => {
      if (!p.file.includes("headstock-face")) return p;
      const text = new TextDecoder().decode(p.text).replace(/Z(-?\d+\.\d+)/g, (_, v) => `Z${(Number(v) - 0.1).toFixed(5)}`);
      return { ...p, text: new TextEncoder().encode(text) };
    });
    const { findings } = proveSide({ ...job, programs, engagement: {} }, "board");
    expect(findings.filter((f) => f.rule === "PF-241").map((f) => f.where)).toEqual(["board side, headstock face"]);
  });

  test("a tenon cut 0.1 mm to one side is told: PF-247", () => {
    const across = job.sides[1].neckToProgram[5] === 0 ? "X" : "Y";
    const programs = job.programs.map((p) => {
      if (!p.file.includes("tenon")) return p;
      const text = new TextDecoder().decode(p.text);
      // the tenon's own cut comes first in its program
      const end = text.search(/^\(CUT 2 OF/m);
      const cut = (end < 0 ? text : text.slice(0, end)).replace(
        new RegExp(`${across}(-?\\d+\\.\\d+)`, "g"),
        (_, v) => `${across}${(Number(v) + 0.1).toFixed(5)}`,
      );
      return { ...p, text: new TextEncoder().encode(cut + (end < 0 ? "" : text.slice(end))) };
    });
    expect(rules(proveSide({ ...job, programs, engagement: {} }, "carve"))).toContain("PF-247");
  });
});

describe("a slotted headstock", () => {
  test("an opening that is left out is told: PF-246", () => {
    const job = jobOf("loan-guitar-twelve", ["board"]);
    const kept = job.programs.filter((p) => !p.file.includes("head-slots"));
    expect(kept.length).toBe(job.programs.length - 1);
    const steps = job.steps.filter((s) => !("program" in s) || !s.program.includes("head-slots"));
    const spoiled = proveSide({ ...job, programs: kept, steps, engagement: {} }, "board");
    expect(rules(spoiled)).toContain("PF-246");
    expect(rules(proveSide({ ...job, engagement: {} }, "board"))).toEqual([]);
  });
});

describe("a scarfed headstock behind a slanted nut, channels from the back of a thick blank", () => {
  test("is proved whole", () => {
    const proof = proveKept(jobOf("loan-guitar-seven", ["board", "carve"], { cusp: 0.05 }));
    expect(rules(proof)).toEqual([]);
    expect(proof.sides.flatMap((s) => s.regions.map((r) => r.region))).toContain("head transition");
  });
});
