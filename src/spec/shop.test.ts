import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { anyShop } from "../../test/arbitrary.ts";
import { parseShop, parseShopObject } from "./shop.ts";
import { writeShop } from "./write.ts";

type Doc = Record<string, unknown>;
const FLAT: Doc = { number: 1, shape: "flat", diameter: 6, flutes: 2, fluteLength: 22, reach: 30 };
const MACHINE: Doc = {
  name: "router",
  bed: { x: 600, y: 900 },
  along: "y",
  travel: { x: 610, y: 910, z: 90 },
  feed: "2500 mm/min",
  acceleration: 300,
  repeat: 0.05,
  stiffness: 100,
  spindle: { min: 10000, max: 27000, power: 600 },
  controller: { dialect: "reduced" },
};
const shop = (machine: Doc = {}, ...cutters: Doc[]): Doc => ({
  neckwright: "shop/1",
  name: "test",
  machine: { ...MACHINE, ...machine },
  cutters: cutters.length === 0 ? [FLAT] : cutters.map((c, i) => ({ ...FLAT, number: i + 1, ...c })),
});
const rulesOf = (doc: Doc): string[] => parseShopObject(doc).findings.map((f) => f.rule);

describe("shops", () => {
  test("the smallest shop is complete: mm/s inside, the same for all axes", () => {
    const p = parseShopObject(shop());
    expect(p.findings).toEqual([]);
    expect(p.value?.machine.feed).toEqual({ x: 2500 / 60, y: 2500 / 60, z: 2500 / 60 });
    expect(p.value?.machine.controller).toEqual({ dialect: "reduced", arcs: true, decimals: 4 });
    expect(p.value?.cutters[0]).toMatchObject({ name: "6 mm flat cutter", shankDiameter: 6, maxRpm: 27000, cornerRadius: 0 });
  });

  test("a ball's corner radius is half its diameter", () => {
    expect(parseShopObject(shop({}, { shape: "ball", diameter: 8 })).value?.cutters[0]?.cornerRadius).toBe(4);
  });

  const cases: readonly [string, Doc, string][] = [
    ["an order in its place", { ...shop(), neckwright: "order/1" }, "SP-008"],
    ["no cutters", { ...shop(), cutters: [] }, "SP-016"],
    ["a machine without a bed", shop({ bed: undefined }), "SP-011"],
    ["two cutters with one number", shop({}, {}, { number: 1 }), "SP-200"],
    ["travel in inches", shop({ travel: { x: 24 * 2.54, y: 910, z: 90 } }), "SP-201"],
    ["speeds exchanged", shop({ spindle: { min: 27000, max: 10000, power: 600 } }), "SP-202"],
    ["rapids slower than the cut", shop({ rapid: 1000 }), "SP-203"],
    ["approach above the clearance", shop({ clearance: 3, approach: 5 }), "SP-204"],
    [
      "a spindle's curve out of order",
      shop({
        spindle: {
          min: 10000,
          max: 27000,
          power: 600,
          curve: [
            { rpm: 20000, power: 500 },
            { rpm: 12000, power: 300 },
          ],
        },
      }),
      "SP-205",
    ],
    ["three decimals", shop({ controller: { dialect: "full", decimals: 3 } }), "SP-014"],
    ["a bull-nosed cutter without its corner", shop({}, { shape: "bull" }), "SP-210"],
    ["a flat cutter with a corner", shop({}, { cornerRadius: 1 }), "SP-210"],
    ["a taper whose ball is wider than its tip", shop({}, { shape: "taper", tipAngle: 10, tipDiameter: 3, cornerRadius: 2 }), "SP-210"],
    ["a vee without its angle", shop({}, { shape: "vee" }), "SP-211"],
    ["a vee as wide at the tip", shop({}, { shape: "vee", tipAngle: 60, tipDiameter: 6 }), "SP-211"],
    ["flutes longer than the reach", shop({}, { fluteLength: 40 }), "SP-212"],
    ["chips exchanged", shop({}, { chip: { min: 0.1, max: 0.05 } }), "SP-213"],
    ["a pass deeper than the flutes", shop({}, { maxDepth: 25 }), "SP-214"],
    ["a holder thinner than the shank", shop({}, { holder: [{ diameter: 5, length: 10 }] }), "SP-215"],
    ["a cutter too slow for the spindle", shop({}, { maxRpm: 8000 }), "SP-216"],
    ["a cone longer than its flutes", shop({}, { shape: "vee", tipAngle: 10 }), "SP-217"],
  ];
  test.each(cases)("%s", (_what, doc, rule) => expect(rulesOf(doc)).toContain(rule));

  test("per-axis values keep their places in findings", () => {
    const [f] = parseShopObject(shop({ stiffness: { x: 100, y: 100, zz: 1 } })).findings.filter((g) => g.rule === "SP-010");
    expect(f).toMatchObject({ where: "machine.stiffness.zz", limit: "z" });
  });

  test("law: any shop within the schema's ranges is read without a crash; only rules of sense answer", () => {
    fc.assert(
      fc.property(anyShop(), (doc) => {
        const p = parseShop(JSON.stringify(doc));
        for (const f of p.findings) expect(f.rule >= "SP-200", `${f.rule} at ${f.where}: ${f.says}`).toBe(true);
        expect(p.value).toBeDefined();
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("curve, coefficients, rates, life and what was measured are read, and written back the same", () => {
    const said = { date: "2026-03-31", note: "three readings" };
    const doc = {
      ...shop(
        {
          spindle: {
            min: 6000,
            max: 24000,
            power: 800,
            curve: [
              { rpm: 8000, torque: 0.4 },
              { rpm: 24000, power: 800 },
            ],
          },
          measured: { x: said },
        },
        { life: 120.5, price: 14, recess: { allowance: "0.05 mm", ...said } },
      ),
      coefficients: { source: "trial cuts in maple", edge: 5.5, perChip: 12 },
      costs: { currency: "EUR", machineHour: 18, cutterChange: 90 },
    };
    const { value, findings } = parseShopObject(doc);
    expect(findings).toEqual([]);
    expect(value?.machine.spindle.curve?.[0]).toEqual({ rpm: 8000, power: (0.4 * 2 * Math.PI * 8000) / 60 });
    expect(value?.machine.measured).toEqual({ x: said });
    // metres in the file
    expect(value?.cutters[0]).toMatchObject({ life: 120500, price: 14, recess: { allowance: 0.05, ...said } });
    expect(value?.coefficients).toMatchObject({ edge: 5.5, perChip: 12, endGrain: 1.8, source: "trial cuts in maple" });
    // what the shop did not give stays labelled as from memory
    expect(value?.coefficients?.memory).toEqual(["density", "densityPower", "endGrain", "perMoisture", "dull", "normal"]);
    expect(value?.costs).toEqual(doc.costs);
    if (value === undefined) return;
    expect(parseShop(JSON.stringify(writeShop(value))).value).toEqual({
      ...value,
      machine: { ...value.machine, feed: closeTo(value.machine.feed), rapid: closeTo(value.machine.rapid) },
    });
  });

  test.each(["light-router", "stiff-router"])("%s written out in full reads back the same", (name) => {
    const { value } = parseShop(readFileSync(`examples/${name}.shop.json`));
    if (value === undefined) throw new Error("unreadable");
    const again = parseShop(JSON.stringify(writeShop(value))).value;
    // feeds pass through mm/min and may move by the last bit
    expect(again).toEqual({
      ...value,
      machine: { ...value.machine, feed: closeTo(value.machine.feed), rapid: closeTo(value.machine.rapid) },
    });
  });
});

const closeTo = (v: { x: number; y: number; z: number }): unknown => ({
  x: expect.closeTo(v.x, 10),
  y: expect.closeTo(v.y, 10),
  z: expect.closeTo(v.z, 10),
});
