import { mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { fitRecesses } from "../paths/index.ts";
import { provePiece } from "../proof/piece.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import { isStop } from "../units/index.ts";
import { type CouponOptions, makeCoupon, storeAllowance } from "./coupon.ts";
import { realDisk } from "./disk.ts";
import type { Source } from "./source.ts";

const shopSource = (name: string, change = (t: string): string => t): Source => ({
  path: `${name}.shop.json`,
  bytes: new TextEncoder().encode(change(readFileSync(`examples/${name}.shop.json`, "utf8"))),
});
const OPTIONS: CouponOptions = { cutter: 11, recess: 7.05, depth: 2.5, from: -0.1, to: 0.2, wood: "hard maple", paper: "A4" };
const COMMAND = "neckwright coupon own.shop.json --chose K";

describe("fit coupon", () => {
  test.each(["light-router", "stiff-router"])("%s: seven recesses, each proved in the wood from the program's text", async (name) => {
    const made = await makeCoupon(shopSource(name), OPTIONS, COMMAND);
    expect(made.findings.filter(isStop)).toEqual([]);
    expect(made.files.map((f) => f.path)).toEqual(["coupon-t11.ngc", "coupon-t11.pdf", "coupon-t11.json"]);
    const diameters = made.proof?.measures.filter((m) => m.what === "diameter") ?? [];
    expect(diameters.map((m) => Math.round(m.ordered * 1000) / 1000)).toEqual([6.95, 7, 7.05, 7.1, 7.15, 7.2, 7.25]);
    for (const m of made.proof?.measures ?? []) expect(Math.abs(m.measured - m.ordered)).toBeLessThan(0.02);
    const again = await makeCoupon(shopSource(name), OPTIONS, COMMAND);
    expect(again.files).toEqual(made.files);
  });

  test("is not written when a check stops it: flutes too short, a bed too small", async () => {
    const short = shopSource("stiff-router", (t) => {
      const shop = JSON.parse(t);
      shop.cutters.find((c: { number: number }) => c.number === 11).fluteLength = 2;
      shop.cutters.find((c: { number: number }) => c.number === 11).maxDepth = 2;
      return JSON.stringify(shop);
    });
    const made = await makeCoupon(short, OPTIONS, COMMAND);
    expect(made.files).toEqual([]);
    expect(made.findings.map((f) => f.rule)).toContain("CU-002");
    const small = shopSource("stiff-router", (t) =>
      t.replace('"bed": { "x": 1000, "y": 700 }', '"bed": { "x": 150, "y": 700 }').replace('"x": 1010', '"x": 200'),
    );
    expect((await makeCoupon(small, OPTIONS, COMMAND)).findings.map((f) => f.rule)).toContain("PA-006");
  });

  test("the proof sees a program that was changed: a recess elsewhere, a rapid through a block, a deeper floor", async () => {
    const source = shopSource("stiff-router");
    const made = await makeCoupon(source, OPTIONS, COMMAND);
    const shop = parseShop(source.bytes).value!;
    const cutter = shop.cutters.find((c) => c.number === 11)!;
    const text = new TextDecoder().decode(made.files[0]!.bytes);
    const prove = (changed: string): string[] =>
      provePiece({
        side: {
          name: "board",
          neckToProgram: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
          stock: made.coupon.stock,
          bed: 0,
          holding: made.coupon.holding,
          zeroOnBed: [30, 30],
        },
        machine: shop.machine,
        cutter,
        program: { file: "coupon.ngc", side: "board", cutter: 11, cuts: ["coupon"], text: new TextEncoder().encode(changed) },
        recesses: made.coupon.recesses.map((r) => ({ id: `recess-${r.position}`, x: r.x, y: r.y, diameter: r.diameter, zFloor: r.zFloor })),
        cell: 0.1,
      })
        .findings.filter(isStop)
        .map((f) => f.rule);
    expect(prove(text)).toEqual([]);
    expect(prove(text.replace(/Z9\.50000/g, "Z9.30000"))).toContain("PF-256");
    expect(prove(text.replace(/X45\.10000/g, "X60.10000"))).not.toEqual([]);
    const lines = text.split("\n");
    const first = lines.findIndex((l) => /^G1/.test(l));
    expect(prove([...lines.slice(0, first), "G0 X5 Y15 Z14", ...lines.slice(first)].join("\n"))).not.toEqual([]);
  });

  test("senseless numbers are refused in words", async () => {
    const source = shopSource("light-router");
    for (const [change, says] of [
      [{ cutter: 99 }, "no cutter of this number"],
      [{ cutter: 1 }, "too wide"],
      [{ cutter: 4 }, "no flat cutter"],
      [{ from: 0, to: 0.02 }, "no row"],
      [{ from: -0.5, to: 0.5 }, "too many"],
      [{ scrap: [100, 40, 12] as const }, "100 mm long"],
      [{ wood: "cheese" }, "not in the table"],
    ] as const)
      await expect(makeCoupon(source, { ...OPTIONS, ...change }, COMMAND)).rejects.toThrow(says);
  });

  test("the chosen position is stored for its cutter, and recesses are cut by it from then on", async () => {
    const path = join(mkdtempSync(join(tmpdir(), "neckwright-coupon-")), "own.shop.json");
    const before = readFileSync("examples/stiff-router.shop.json");
    writeFileSync(path, before);
    const order = parseOrder(readFileSync("examples/loan-guitar.order.json")).value!;
    expect(fitRecesses(order, parseShop(before).value!)).toEqual({ order, findings: [] });
    expect(await storeAllowance({ path, bytes: before }, OPTIONS, 4, "2026-03-31", realDisk)).toEqual({ allowance: 0.05, was: 0 });
    const shop = parseShop(readFileSync(path)).value!;
    const cutter = shop.cutters.find((c) => c.number === 11);
    expect(cutter?.recess).toEqual({ allowance: 0.05, date: "2026-03-31", note: "position 4 of a coupon of 7.05 mm recesses" });
    const fitted = fitRecesses(order, shop);
    expect(fitted.order.markers.face.fit).toBeCloseTo(order.markers.face.fit + 0.05, 9);
    expect(fitted.findings.map((f) => [f.rule, f.severity])).toEqual([["PA-009", "note"]]);
    // another cutter's allowance is not theirs
    const other = {
      ...shop,
      cutters: shop.cutters.map((c) =>
        c.number === 11 ? { ...c, diameter: 3.9 } : { ...c, ...(c.number === 1 ? { recess: cutter!.recess! } : {}) },
      ),
    };
    const { recess: _gone, ...plain } = other.cutters.find((c) => c.number === 11)!;
    expect(fitRecesses(order, { ...other, cutters: other.cutters.map((c) => (c.number === 11 ? plain : c)) }).order).toBe(order);
    await expect(storeAllowance({ path, bytes: readFileSync(path) }, OPTIONS, 9, "2026-03-31", realDisk)).rejects.toThrow(
      "positions 1 to 7",
    );
  });
});
