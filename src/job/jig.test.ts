import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { orderSource } from "../../test/examples.ts";
import { planHolding } from "../holding/index.ts";
import { fitClearance, limitsOf } from "../materials/fits.ts";
import { makeNeck } from "../neck/index.ts";
import { planJig } from "../paths/jig.ts";
import { provePiece } from "../proof/piece.ts";
import { parseShop } from "../spec/index.ts";
import { isStop } from "../units/index.ts";
import { type JigOptions, makeJig } from "./jig.ts";
import { readOrder, type Source } from "./source.ts";

const shopSource = (name: string, change = (t: string): string => t): Source => ({
  path: `${name}.shop.json`,
  bytes: new TextEncoder().encode(change(readFileSync(`examples/${name}.shop.json`, "utf8"))),
});
const demo = orderSource("examples/loan-guitar.order.json");
const OPTIONS: JigOptions = { hole: "H7", pin: "h6", sheet: { thickness: 18 }, paper: "A4" };
describe("location plate", () => {
  test("of the demo: every hole is programmed between its ISO 286 limits and proved in the wood from the program's text", async () => {
    const source = shopSource("stiff-router");
    const made = await makeJig(demo, source, OPTIONS);
    expect(made.findings.filter(isStop)).toEqual([]);
    expect(made.files.map((f) => f.path)).toEqual([
      "plate-holes-t1.ngc",
      "plate-marks-t6.ngc",
      "location-plate.pdf",
      "location-plate.svg",
      "location-plate.json",
    ]);
    const { jig } = made;
    // two fence pins a side and one stop that both sides share
    expect(jig?.holes.map((h) => h.sides.length)).toEqual([1, 1, 2, 1, 1]);
    const row = limitsOf(10, "H7");
    for (const h of jig?.holes ?? []) {
      expect(h.diameter).toBeGreaterThan(10 + row!.lower / 1000);
      expect(h.diameter).toBeLessThan(10 + row!.upper / 1000);
    }
    // circles of the text: path diameter and the cutter's own make the hole
    const text = new TextDecoder().decode(made.files[0]!.bytes);
    const radii = [...text.matchAll(/G[23][^\n]*? I(-?[\d.]+) J(-?[\d.]+)/g)].map((m) => Math.hypot(Number(m[1]), Number(m[2])));
    const walls = radii.map((r) => 2 * r + 8).filter((d) => d > 9.9);
    expect(walls.length).toBeGreaterThan(4);
    for (const d of walls) expect(Math.abs(d - 10.0075)).toBeLessThan(0.002);
    for (const m of made.proofs[0]!.measures) expect(Math.abs(m.measured - m.ordered), `${m.id} ${m.what}`).toBeLessThan(0.02);
    // H7 on a machine that repeats to 0.02 mm is said to be more than it can promise
    expect(made.findings.map((f) => f.rule)).toEqual(["PA-015"]);

    // the proof sees a hole that is elsewhere, and one that is not bored
    const shop = parseShop(source.bytes).value!;
    const last = jig!.holes.at(-1)!;
    const prove = (shift: number): string[] =>
      provePiece({
        side: {
          name: "board",
          neckToProgram: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
          stock: jig!.stock,
          bed: 0,
          holding: jig!.holding,
          zeroOnBed: [25, 0],
        },
        machine: shop.machine,
        cutter: shop.cutters.find((c) => c.number === 1)!,
        program: { file: "plate.ngc", side: "board", cutter: 1, cuts: ["holes"], text: new Uint8Array(made.files[0]!.bytes) },
        recesses: [{ id: last.id, x: last.x + shift, y: last.y, diameter: last.diameter, zFloor: last.zFloor }],
        cell: 0.2,
      })
        .findings.filter(isStop)
        .map((f) => f.rule);
    expect(prove(0)).toEqual([]);
    expect(prove(0.1).length).toBeGreaterThan(0);
    expect(prove(40).length).toBeGreaterThan(0);
  });

  test("has the turned blank on the same ground: each side's pins stand where its own plan has them from its zero", () => {
    const neck = makeNeck(readOrder(demo).value!);
    for (const name of ["light-router", "stiff-router"]) {
      const { machine, cutters } = parseShop(shopSource(name).bytes).value!;
      const holding = planHolding(neck, machine);
      const jig = planJig({ ...OPTIONS, hole: "H9", holding, machine, cutters });
      for (const side of [holding.sides.board, holding.sides.carve])
        for (const p of side.holding) {
          if (p.role !== "fence pin" && p.role !== "end stop") continue;
          if (p.kind !== "cylinder") throw new Error("a pin is round");
          const [x, y] = jig.zeros[side.name];
          const off = jig.holes.filter((h) => h.sides.includes(side.name)).map((h) => Math.hypot(h.x - x - p.x, h.y - y - p.y));
          expect(Math.min(...off), `${name} ${side.name} ${p.name}`).toBeLessThan(1e-9);
        }
      // without a vee cutter the marks are left to the maker, and said
      const blunt = planJig({ ...OPTIONS, holding, machine, cutters: cutters.filter((c) => c.shape !== "vee") });
      expect(blunt.cuts.map((c) => c.id)).toEqual(["holes"]);
      expect(blunt.findings.map((f) => f.rule)).toContain("PA-016");
      expect(jig.findings.map((f) => f.rule)).not.toContain("PA-016");
    }
  });

  test("is refused in words where there is none: a fit without published limits, a thin or a small sheet, a short bed", async () => {
    const source = shopSource("stiff-router");
    await expect(makeJig(demo, source, { ...OPTIONS, hole: "P9" })).rejects.toThrow(/no published limits at hand for P9\/h6/);
    await expect(makeJig(demo, source, { ...OPTIONS, sheet: { thickness: 6 } })).rejects.toThrow(/holds no pin of 10 mm upright/);
    await expect(makeJig(demo, source, { ...OPTIONS, sheet: { length: 300, width: 200, thickness: 18 } })).rejects.toThrow(
      /this plate needs/,
    );
    const high = await makeJig(demo, source, { ...OPTIONS, sheet: { thickness: 120 } });
    expect([high.files, high.findings.filter(isStop).map((f) => f.rule)]).toEqual([[], ["PA-006"]]);
    await expect(makeJig(demo, shopSource("small-router"), OPTIONS)).rejects.toThrow(/cut in sections/);
    expect(fitClearance(10, "H7", "h6")).toEqual({ min: 0, max: 0.024 });
  });
});
