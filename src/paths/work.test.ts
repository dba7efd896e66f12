import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { planKept } from "../../test/kept.ts";
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import type { CutPlan } from "./types.ts";
import type { WorkSpec } from "./work.ts";

const text = (name: string): string => readFileSync(`examples/${name}`, "utf8");

function plan(work: WorkSpec | undefined, change: (shop: ReturnType<typeof stiff>) => ReturnType<typeof stiff> = (s) => s): CutPlan {
  const file = JSON.parse(text("loan-ukulele.order.json"));
  const order = parseOrder(JSON.stringify({ ...file, cutting: { ...file.cutting, ...(work ? { work } : {}) } })).value;
  if (!order) throw new Error("the example must be sound");
  const shop = change(stiff());
  const neck = makeNeck(order);
  return planKept(neck, planHolding(neck, shop.machine), shop);
}

function stiff() {
  const shop = parseShop(text("stiff-router.shop.json")).value;
  if (!shop) throw new Error("the example must be sound");
  return shop;
}

const ids = (p: CutPlan): string[] => p.steps.flatMap((s) => (s.kind === "cut" ? [s.cut] : []));
const rules = (p: CutPlan): string[] => [...new Set(p.findings.map((f) => f.rule))].sort();

describe("the maker's hand on the order of work", () => {
  const straight = plan(undefined);

  test("nothing asked, nothing changed; every cut says why it stands where it does", () => {
    expect(rules(straight)).toEqual([]);
    expect(plan({}).steps).toEqual(straight.steps);
    for (const c of straight.cuts) expect(c.why.length).toBeGreaterThan(10);
  });

  test("the plan with a rest roughs both sides, rests, and finishes both; the same cuts, more left by roughing", () => {
    const rest = plan({ plan: "rest" });
    expect(rules(rest)).toEqual([]);
    expect(ids(rest).sort()).toEqual(ids(straight).sort());
    const says = rest.steps.map((s) => (s.kind === "cut" ? s.cut : s.hand));
    const at = (part: string): number => says.findIndex((s) => s.includes(part));
    expect(at("rest for days")).toBeGreaterThan(at("board-headstock-rough"));
    expect(at("rest for days")).toBeGreaterThan(at("carve-carve-rough"));
    for (const later of ["board-headstock-face", "board-board-radius", "board-outline", "carve-carve-finish", "carve-outline-through"])
      expect(at(later), later).toBeGreaterThan(at("rest for days"));
    expect(at("board-outline")).toBeLessThan(at("carve-back-flats"));
    const low = (p: CutPlan): number => Math.min(...(p.cuts.find((c) => c.id === "board-headstock-rough")?.moves.z ?? []));
    expect(low(rest) - low(straight)).toBeCloseTo(0.5, 6);
  });

  test("a cut left out is said: PA-012; one that is not there: PA-013", () => {
    const p = plan({ drop: ["board-scribe", "carve-nothing"] });
    expect(ids(p)).not.toContain("board-scribe");
    expect(p.cuts.some((c) => c.id === "board-scribe")).toBe(false);
    expect(rules(p)).toEqual(["PA-012", "PA-013"]);
  });

  test("a cut moved stands where it was asked; what it then follows wrongly is said: PA-011", () => {
    const p = plan({ before: [{ cut: "carve-carve-finish", before: "carve-carve-rough" }] });
    expect(ids(p).indexOf("carve-carve-finish")).toBe(ids(p).indexOf("carve-carve-rough") - 1);
    expect(rules(p)).toEqual(["PA-011"]);
    expect(rules(plan({ before: [{ cut: "board-nut-seat", before: "board-tuner-bores" }] }))).toEqual([]);
  });

  test("the outline before something else is a stop: PA-010", () => {
    const p = plan({ before: [{ cut: "carve-outline-through", before: "carve-carve-finish" }] });
    // and the clean laps stand before what they are planned for
    expect(rules(p)).toEqual(["PA-010", "PA-011"]);
    expect(p.findings.find((f) => f.rule === "PA-010")?.severity).toBe("stop");
    expect(rules(plan({ before: [{ cut: "carve-outline-rough", before: "carve-carve-finish" }] }))).toEqual(["PA-010"]);
  });

  test("a cut run again has the same moves and an id of its own", () => {
    const p = plan({ again: ["carve-carve-finish", "carve-carve-finish"] });
    expect(rules(p)).toEqual([]);
    expect(ids(p).filter((i) => i.startsWith("carve-carve-finish"))).toEqual([
      "carve-carve-finish",
      "carve-carve-finish-3",
      "carve-carve-finish-2",
    ]);
    const of = (id: string) => p.cuts.find((c) => c.id === id)?.moves;
    expect(of("carve-carve-finish-2")).toEqual(of("carve-carve-finish"));
  });
});

describe("holder and reach", () => {
  test("a holder that would come too near a block asks for so much more reach: PA-014, and with it all is well", () => {
    // without the long cutter that would take its place
    const wide = (reach: number, others = (n: number) => n !== 15) =>
      plan(undefined, (s) => ({
        ...s,
        cutters: s.cutters
          .filter((c) => others(c.number))
          .map((c) => (c.number === 11 ? { ...c, reach, holder: [{ diameter: 150, length: 40 }] } : c)),
      }));
    const short = wide(stiff().cutters.find((c) => c.number === 11)?.reach ?? 0).findings.filter((f) => f.rule === "PA-014");
    expect(short.length).toBeGreaterThan(0);
    expect(short[0].says).toMatch(/needs [\d.]+ mm more reach/);
    const enough = Math.max(...short.map((f) => Number(f.limit)));
    expect(wide(enough).findings.filter((f) => f.rule === "PA-014")).toEqual([]);
    expect(wide(enough - 0.2).findings.filter((f) => f.rule === "PA-014").length).toBeGreaterThan(0);
    // with it, it gives way and says so
    const other = wide(stiff().cutters.find((c) => c.number === 11)?.reach ?? 0, () => true);
    expect(other.findings.filter((f) => f.rule === "PA-014")).toEqual([]);
    const instead = other.cuts.filter((c) => c.why.includes("the holder of cutter 11 would meet"));
    expect(instead.map((c) => c.cutter)).toContain(15);
  });
});
