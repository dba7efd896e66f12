import { copyFileSync, existsSync, mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { parseOrder, parseShop } from "../spec/index.ts";
import { cli } from "./ran.test-data.ts";

const folder = mkdtempSync(join(tmpdir(), "neckwright-correct-"));
const order = join(folder, "own.order.json");
const shop = join(folder, "own.shop.json");
copyFileSync("examples/loan-guitar.order.json", order);
copyFileSync("examples/stiff-router.shop.json", shop);
const given = { order: readFileSync(order, "utf8"), shop: readFileSync(shop, "utf8") };
const untouched = (): void => {
  expect(readFileSync(order, "utf8")).toBe(given.order);
  expect(readFileSync(shop, "utf8")).toBe(given.shop);
};
const { blank } = parseOrder(given.order).value!;
const axes = (x: string[], y: string[], d: string[], ...more: string[]) =>
  cli(
    "correct",
    shop,
    "axes",
    ...x.flatMap((v) => ["--x", v]),
    ...y.flatMap((v) => ["--y", v]),
    ...d.flatMap((v) => ["--diagonal", v]),
    ...more,
  );

describe("measurements that cannot be are refused with a sentence, and nothing is stored", () => {
  const bad: readonly (readonly [what: string, argv: readonly string[], says: RegExp])[] = [
    ["axes in inches", ["axes", "--x=15.78", "--x=15.78", "--y=5.89", "--y=5.89", "--diagonal=16.84", "--diagonal=16.84"], /inches/],
    [
      "axes, x and y changed over",
      ["axes", "--x=150", "--x=150", "--y=400", "--y=400", "--diagonal=427.2", "--diagonal=427.2"],
      /changed over/,
    ],
    [
      "axes, a digit slipped",
      ["axes", "--x=40.08", "--x=400.8", "--y=150", "--y=150", "--diagonal=427.2", "--diagonal=427.2"],
      /400.8 meant/,
    ],
    ["axes, no rectangle", ["axes", "--x=400", "--x=400", "--y=150", "--y=150", "--diagonal=430", "--diagonal=429"], /one rectangle/],
    ["axes, one reading short", ["axes", "--x=400", "--y=150", "--y=150", "--diagonal=427.2", "--diagonal=427.2"], /--x twice/],
    ["a slot in inches", ["cutter", "--cutter", "2", "--slot", "0.2362"], /inches/],
    ["60 for 6", ["cutter", "--cutter", "2", "--slot", "60"], /was 6 meant/],
    ["slot and cutter exchanged", ["cutter", "--cutter", "2", "--slot", "5.9", "--calliper", "6.1"], /cannot leave a slot/],
    ["another cutter", ["cutter", "--cutter", "2", "--slot", "8"], /right cutter/],
    ["a step of 5 for 0.5", ["turn", "--y", "5"], /was 0.5 meant/],
    ["one mark", ["turn", "--mark=60:-60:0.1:0.2"], /One mark shows/],
    ["marks side by side", ["turn", "--mark=60:-60:0.1:0.2", "--mark=60:-20:0.1:0.2"], /40 mm apart/],
    ["marks that stretch the wood", ["turn", "--mark=60:-60:-0.8:0.2", "--mark=600:-60:0.8:0.2"], /Wood does not stretch/],
    ["a sign of a mark", ["turn", "--mark=60:-60:0:2.8", "--mark=600:-60:0:-2.8"], /degrees askew; pins/],
    ["a mark's step of 5 for 0.5", ["turn", "--mark=60:-60:0:5", "--mark=600:-60:0:0.5"], /Mark at 60, -60.*was 0.5 meant/],
    ["a mark and a step", ["turn", "--mark=60:-60:0:0.5", "--y=0.5"], /give the marks alone/],
    ["a step nobody can believe", ["turn", "--x", "70"], /Do not cut on|do not cut on/],
    ["thickness in inches", ["height", "--side", "carve", "--expected", "21", "--measured", "0.827"], /inches/],
    ["210 for 21", ["height", "--side", "carve", "--expected", "21", "--measured", "210"], /was 21 meant/],
    ["expected and measured of two places", ["height", "--side", "board", "--expected", "21", "--measured", "27"], /Do not cut on/],
    ["a blank in inches", ["blank", `--shaft=${(blank.shaftThickness / 25.4).toFixed(3)}`], /inches/],
    ["a blank's digit slipped", ["blank", `--shaft=${(blank.shaftThickness * 10).toFixed(0)}`], /meant/],
    ["a length that is none", ["height", "--side", "board", "--expected", "21", "--measured", "twenty"], /twenty/],
  ];
  test.each(bad)("%s", async (_what, argv, says) => {
    const file = argv[0] === "axes" || argv[0] === "cutter" ? shop : order;
    const ran = await cli("correct", file, ...argv, "--store");
    expect(ran.code).toBe(2);
    expect(ran.err.replace(/\s+/g, " ")).toMatch(says);
    untouched();
  });
  test("the wrong file, and a day that is none", async () => {
    expect((await cli("correct", order, "axes", "--x=1")).err).toMatch(/shop/);
    expect((await cli("correct", order, "turn", "--y=0.3", "--date", "yesterday")).err).toMatch(/not a day/);
    untouched();
  });
});

describe("pieces that are cut to be measured", () => {
  /** The X words of a program, comments left out. */
  const xsOf = (text: string): number[] =>
    text
      .split("\n")
      .filter((line) => !line.startsWith("("))
      .flatMap((line) => /X(-?[\d.]+)/.exec(line)?.[1] ?? [])
      .map(Number);
  test.each([
    ["pattern", "pattern.ngc"],
    ["slot", "slot-t2.ngc"],
  ])("a %s is planned, posted and proved, with its form", async (kind, file) => {
    const ran = await cli("correct", shop, kind, "--cutter", "2", "--size", "200 x 80", "--out", join(folder, kind));
    expect(ran.err + ran.out).toContain("made and proved");
    const text = readFileSync(join(folder, kind, file), "utf8");
    expect(text).toContain("CAUTION EYES");
    const xs = xsOf(text);
    expect(Math.max(...xs) - Math.min(...xs)).toBeCloseTo(kind === "pattern" ? 210 : 60, 3);
    const form = readFileSync(join(folder, kind, file.replace(".ngc", "-form.txt")), "utf8");
    expect(form).toMatch(kind === "pattern" ? /correct SHOP axes --size "200 x 80"/ : /correct SHOP cutter --cutter 2/);
    expect(form).toContain("Run it in air first");
  });
  test("a pattern that the bed has no room for, a vee's slot, a cutter that is not there: nothing is written", async () => {
    expect((await cli("correct", shop, "pattern", "--cutter", "2", "--size", "1200 x 80", "--out", join(folder, "no"))).code).toBe(1);
    expect((await cli("correct", shop, "slot", "--cutter", "99", "--out", join(folder, "no"))).err).toMatch(/no cutter of this number/);
    expect((await cli("correct", shop, "pattern", "--cutter", "2", "--size", "20 x 20", "--out", join(folder, "no"))).err).toMatch(
      /50 mm or more/,
    );
    expect(existsSync(join(folder, "no"))).toBe(false);
  });
});

describe("what is measured is shown, stored, listed and undone", () => {
  test("axes: before and after in mm and cents; stored it stands in the shop, a second pattern times the first, undone it is gone", async () => {
    const x = ["400.8", "400.8"];
    const y = ["149.6", "149.6"];
    const d = ["427.7", "427.9"];
    const ran = await axes(x, y, d);
    expect(ran.code).toBe(0);
    expect(ran.out).toMatch(/note at fret 12 +3\.\d+ cent/);
    expect(ran.out).toContain("Nothing is stored");
    untouched();
    expect((await axes(x, y, d, "--store", "--date", "2026-03-31")).code).toBe(0);
    expect(parseShop(readFileSync(shop)).value?.machine.real?.x).toBeCloseTo(1.002, 9);
    await axes(["400.4", "400.4"], ["150", "150"], ["427.6", "427.6"], "--store", "--date", "2026-04-01", "--reason", "after a new belt");
    expect(parseShop(readFileSync(shop)).value?.machine.real?.x).toBeCloseTo(1.002 * 1.001, 6);
    const list = await cli("correct", shop, "--list");
    expect(list.out).toMatch(/1 {2}2026-03-31 {2}axes: x \+0\.200 %/);
    expect(list.out).toContain("after a new belt");
    expect((await cli("correct", shop, "--undo", "--entry", "1", "--date", "2026-04-02")).code).toBe(0);
    expect(parseShop(readFileSync(shop)).value?.machine.real?.x).toBeCloseTo(1.001, 6);
    expect((await cli("correct", shop, "--undo")).code).toBe(0);
    expect(parseShop(readFileSync(shop)).value?.machine.real).toBeUndefined();
    expect((await cli("correct", shop, "--undo")).code).toBe(2);
    expect((await cli("correct", shop)).out).toMatch(/undone 2026-04-02/);
  });
  test("a cutter's width, with what of it is running out of true", async () => {
    expect((await cli("correct", shop, "cutter", "--cutter", "2", "--slot", "6.08", "--calliper", "6.02", "--store")).code).toBe(0);
    const read = parseShop(readFileSync(shop)).value;
    expect(read?.cutters.find((c) => c.number === 2)?.diameter).toBe(6.08);
    expect(read?.corrections?.at(-1)).toMatchObject({ kind: "cutter", runOut: 0.06 });
  });
  test("turn, height and blank stand in the order", async () => {
    for (const argv of [
      ["turn", "--y=-0.3"],
      ["turn", "--mark=60:-60:0:0.2", "--mark=610:-60:0:-0.9"],
      ["height", "--side", "carve", "--expected", "21", "--measured", "21.2"],
      ["blank", `--shaft=${blank.shaftThickness - 0.4}`],
    ])
      expect((await cli("correct", order, ...argv, "--store", "--date", "2026-03-31")).code).toBe(0);
    const o = parseOrder(readFileSync(order, "utf8")).value;
    expect(o?.corrections).toMatchObject([
      { kind: "turn", x: 0, y: -0.3 },
      { kind: "turn", angle: Math.atan2(-1.1, 550) },
      { kind: "height", side: "carve", by: 0.2 },
      { kind: "blank", shaftThickness: blank.shaftThickness - 0.4 },
    ]);
    expect(o?.blank.shaftThickness).toBe(blank.shaftThickness - 0.4);
    expect(JSON.parse((await cli("correct", order, "--json")).out).corrections).toHaveLength(4);
  });
});
