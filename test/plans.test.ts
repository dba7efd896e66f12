/** docs/plans.md as a person reads it; that it is what `npm run plans` writes now is checked by `npm run soak` (planning takes seconds). */
import { describe, expect, test } from "vitest";
import { PLANS_ORDER, PLANS_SHOPS } from "../bench/plans-text.ts";
import { CUT_HEADS } from "../src/sheet/cut-rows.ts";
import { read } from "./sources.ts";

const sections = read("docs/plans.md").split("\n## ").slice(1);
const rowsOf = (section: string): string[][] =>
  section
    .split("\n")
    .filter((l) => l.startsWith("| ") && !l.startsWith(`| ${CUT_HEADS[0]} |`))
    .map((l) => l.slice(2, -2).split(" | "));
const column = (name: string): number => CUT_HEADS.indexOf(name);

describe("docs/plans.md", () => {
  test("has every cut of both shops, each with what limited it", () => {
    expect(read("docs/plans.md")).toContain(PLANS_ORDER);
    expect(sections.length).toBe(PLANS_SHOPS.length);
    const ids = sections.map((s) => rowsOf(s).map((r) => r[0]));
    expect(ids[0].length).toBeGreaterThan(10);
    expect(new Set(ids[0])).toEqual(new Set(ids[1]));
    for (const row of sections.flatMap(rowsOf)) {
      expect(row.length).toBe(CUT_HEADS.length);
      expect(row[column("limited by")]).toMatch(/^(depth by .+; )?feed by .+/);
      for (const what of ["depth", "feed", "chip", "force", "bend", "power", "time"]) expect(Number(row[column(what)])).toBeGreaterThan(0);
    }
  });

  test("the light router's plan is another one: shallower, longer, less force", () => {
    const [light, stiff] = sections.map((s) => new Map(rowsOf(s).map((r) => [r[0], r])));
    const sum = (m: Map<string, string[]>, what: string): number => [...m.values()].reduce((a, r) => a + Number(r[column(what)]), 0);
    expect(sum(light, "time")).toBeGreaterThan(1.8 * sum(stiff, "time"));
    for (const id of ["board-outline-rough", "carve-carve-rough", "carve-outline-rough"]) {
      expect(Number(light.get(id)![column("depth")])).toBeLessThan(0.5 * Number(stiff.get(id)![column("depth")]));
      expect(Number(light.get(id)![column("force")])).toBeLessThan(0.5 * Number(stiff.get(id)![column("force")]));
    }
  });

  test("says where the forces come from", () => expect(read("docs/plans.md")).toContain("all coefficients are from memory"));
});
