import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { anyOrder, hostileText, likelyOrder, soundOrder } from "../../test/arbitrary.ts";
import { degToRad, isStop } from "../units/index.ts";
import { parseOrder, parseOrderObject } from "./order.ts";
import { parseShop } from "./shop.ts";
import type { OrderSpec } from "./types.ts";
import { writeOrder } from "./write.ts";

type Doc = Record<string, unknown>;
const minimal = (more: Doc = {}): Doc => ({ neckwright: "order/1", name: "test", instrument: "guitar", ...more });
const rulesOf = (doc: unknown): string[] => [...new Set(parseOrderObject(doc).findings.map((f) => f.rule))];
const orderOf = (doc: unknown): OrderSpec => {
  const p = parseOrderObject(doc);
  if (p.value === undefined) throw new Error(JSON.stringify(p.findings));
  return p.value;
};

describe("orders", () => {
  test.each(["guitar", "bass", "ukulele"])("the smallest order for a %s is complete and sound", (instrument) => {
    const p = parseOrderObject(minimal({ instrument }));
    expect(p.findings).toEqual([]);
    expect(p.value?.scale).toBe({ guitar: 648, bass: 864, ukulele: 432 }[instrument]);
  });

  test("units are turned once: mm, radians, Infinity for flat, places as frets", () => {
    const o = orderOf(
      minimal({
        scale: "25 1/2 in",
        board: { radius: "flat" },
        headstock: { tuners: { sideAngle: "5 deg" } },
        carve: {
          stations: [
            { at: 20, thickness: 21 },
            { at: "fret 9", thickness: "23 mm", exponent: { bass: 2.5, treble: 2 } },
          ],
        },
      }),
    );
    expect(o.scale).toBe(647.7);
    expect(o.board.radius).toEqual({ nut: Number.POSITIVE_INFINITY, end: Number.POSITIVE_INFINITY });
    expect(o.headstock.tuners.sideAngle).toBe(degToRad(5));
    expect(o.carve.stations).toEqual([
      { at: { kind: "x", x: 20 }, thickness: 21, bassExponent: 2, trebleExponent: 2 },
      { at: { kind: "fret", fret: 9 }, thickness: 23, bassExponent: 2.5, trebleExponent: 2 },
    ]);
  });

  test("what follows from other keys follows from them", () => {
    expect(orderOf(minimal({ frets: { tangWidth: 0.53, tangDepth: 1.6 } })).frets).toMatchObject({ kerf: 0.5, depth: 2 });
    expect(orderOf(minimal({ strings: { count: 7 } })).headstock.tuners).toMatchObject({ bass: 7, treble: 0 });
    expect(orderOf(minimal({ strings: { count: 7 }, headstock: { tuners: { layout: "split" } } })).headstock.tuners).toMatchObject({
      bass: 4,
      treble: 3,
    });
    expect(orderOf(minimal({ headstock: { tuners: { bush: "none" } } })).headstock.tuners.bushDepth).toBe(0);
    expect(orderOf(minimal({ blank: { kind: "shaft-alone" }, rod: { cutFrom: "face" } })).blank.boardThickness).toBe(0);
    expect(orderOf(minimal({ rod: { from: "fret 1", to: 400 } })).rod).toMatchObject({ from_x: 648 * (1 - 2 ** (-1 / 12)), to_x: 400 });
  });

  test("an unknown key is refused with the nearest one", () => {
    const near = (doc: Doc): unknown[] => parseOrderObject(doc).findings.map((f) => [f.rule, f.where, f.limit]);
    expect(near(minimal({ sclae: 648 }))).toEqual([["SP-010", "sclae", "scale"]]);
    expect(near(minimal({ headstock: { tuners: { pich: 25 } } }))).toEqual([["SP-010", "headstock.tuners.pich", "pitch"]]);
    expect(near(minimal({ board: { radius: { nut: 300, end: 300, ende: 1 } } }))).toEqual([["SP-010", "board.radius.ende", "end"]]);
    expect(near(minimal({ rod: { heigth: 9 } }))).toEqual([["SP-010", "rod.heigth", "height"]]);
    expect(
      near(
        minimal({
          carve: {
            stations: [
              { at: 1, thickness: 20, exponnt: 2 },
              { at: 100, thickness: 20 },
            ],
          },
        }),
      ),
    ).toEqual([["SP-010", "carve.stations[0].exponnt", "exponent"]]);
  });

  /** One order per rule: what is changed in a sound order, and the rules that answer. */
  const cases: readonly [string, Doc, readonly string[]][] = [
    ["format missing", { neckwright: undefined }, ["SP-008"]],
    ["format of a shop", { neckwright: "shop/1" }, ["SP-008"]],
    ["format from the future", { neckwright: "order/2" }, ["SP-008"]],
    ["name missing", { name: undefined }, ["SP-011"]],
    ["name with a slash", { name: "../etc" }, ["SP-017"]],
    ["name empty", { name: "" }, ["SP-017"]],
    ["instrument unknown", { instrument: "gitar" }, ["SP-015"]],
    ["scale as a list", { scale: [648] }, ["SP-012"]],
    ["scale null", { scale: null }, ["SP-012"]],
    ["scale NaN", { scale: Number.NaN }, ["SP-013"]],
    ["scale infinite", { scale: Number.POSITIVE_INFINITY }, ["SP-013"]],
    ["scale ambiguous", { scale: "1,234" }, ["SP-013"]],
    ["scale negative", { scale: -648 }, ["SP-014"]],
    ["scale in inches without a unit", { scale: 25.5 }, ["SP-014"]],
    ["no strings", { strings: { count: 0 } }, ["SP-014"]],
    ["thirteen strings", { strings: { count: 13 } }, ["SP-014"]],
    ["half a fret", { frets: { count: 21.5 } }, ["SP-012"]],
    ["sixty-one frets", { frets: { count: 61 } }, ["SP-014"]],
    ["one station", { carve: { stations: [{ at: "fret 1", thickness: 21 }] } }, ["SP-016"]],
    ["an order that is a list", { frets: [] }, ["SP-012"]],
    ["other without scale and strings", { instrument: "other" }, ["SP-100"]],
    ["tuners do not make the strings", { headstock: { tuners: { layout: "split", bass: 3, treble: 2 } } }, ["SP-101"]],
    ["in line on both sides", { headstock: { tuners: { bass: 3, treble: 3 } } }, ["SP-101"]],
    ["in line on the other side", { headstock: { tuners: { side: "bass", bass: 0, treble: 6 } } }, ["SP-101"]],
    ["five diameters for six strings", { strings: { diameters: [1, 1, 1, 1, 1] } }, ["SP-102", "SP-105"]],
    ["spread wider than the board", { strings: { spreadAtNut: 44 } }, ["SP-103"]],
    ["gaps without diameters", { strings: { spacing: "gaps" } }, ["SP-105"]],
    ["strings that touch", { strings: { spreadAtNut: 2 } }, ["SP-106"]],
    ["five pitches for six strings", { strings: { pitches: ["A2", "D3", "G3", "B3", "E4"] } }, ["SP-107"]],
    ["two unit weights for six strings", { strings: { unitWeights: [1, 2] } }, ["SP-107"]],
    ["a pitch that is none", { strings: { pitches: ["H2", 110, 147, 196, 247, 330] } }, ["SP-013"]],
    ["a pitch nobody hears", { strings: { pitches: ["1 Hz", 110, 147, 196, 247, 330] } }, ["SP-014"]],
    [
      "a core thicker than its string",
      { strings: { gauges: [1.2, 0.9, 0.6, 0.4, 0.3, 0.25], cores: [0.5, 0.4, 0.4, 0.5, 0.3, 0.25] } },
      ["SP-108"],
    ],
    ["strings that fall toward the bridge", { setup: { nut: 1, twelfth: 0.8 } }, ["SP-109"]],
    ["a climate under water", { climate: { home: { humidity: 90, swing: 20 } } }, ["SP-196"]],
    ["a shop of 70 degrees", { climate: { shop: { temperature: 70 } } }, ["SP-014"]],
    ["rings that are none", { wood: { rings: { board: "slab" } } }, ["SP-015"]],
    ["a strip of a wood nobody knows", { wood: { strips: [{ wood: "xyz", width: 90 }] } }, ["SP-194"]],
    ["a marker without its fret", { markers: { face: { frets: [3, 24] } } }, ["SP-110"]],
    ["a marker twice", { markers: { side: { frets: [3, 3] } } }, ["SP-110"]],
    ["a double marker that is no marker", { markers: { face: { frets: [3], doubleAt: [12] } } }, ["SP-111"]],
    ["double markers that meet", { markers: { face: { spread: 6 } } }, ["SP-112"]],
    ["markers through the board", { markers: { face: { depth: 6.5 } } }, ["SP-113"]],
    [
      "stations in the wrong order",
      {
        carve: {
          stations: [
            { at: "fret 12", thickness: 23 },
            { at: "fret 1", thickness: 21 },
          ],
        },
      },
      ["SP-120"],
    ],
    [
      "a station off the neck",
      {
        carve: {
          stations: [
            { at: "fret 1", thickness: 21 },
            { at: 900, thickness: 23 },
          ],
        },
      },
      ["SP-120"],
    ],
    [
      "a neck thinner than its board",
      {
        rod: "none",
        carve: {
          stations: [
            { at: "fret 1", thickness: 7 },
            { at: "fret 12", thickness: 23 },
          ],
        },
      },
      ["SP-121"],
    ],
    [
      "a station at a fret that is not there",
      {
        carve: {
          stations: [
            { at: "fret 1", thickness: 21 },
            { at: "fret 23", thickness: 23 },
          ],
        },
      },
      ["SP-120", "SP-122"],
    ],
    [
      "blind margins that meet",
      { frets: { ends: "blind", blindMargin: 10 }, board: { width: { nut: 20, end: 56 } }, strings: { spreadAtNut: 15 } },
      ["SP-130"],
    ],
    ["slot wider than the tang", { frets: { kerf: 0.6 } }, ["SP-131"]],
    ["slot much narrower than the tang", { frets: { kerf: 0.4 } }, ["SP-131"]],
    ["slot shallower than the tang", { frets: { depth: 1.5 } }, ["SP-132"]],
    [
      "slot through the board",
      { frets: { depth: 5 }, board: { thickness: 4.8 }, markers: { face: "none" }, blank: { boardThickness: 6 } },
      ["SP-133"],
    ],
    ["little board below the slot", { frets: { depth: 4.5 }, board: { thickness: 5 } }, ["SP-134"]],
    ["no land behind the seat", { nut: { land: 1 } }, ["SP-141"]],
    ["board narrower at its end", { board: { width: { nut: 60, end: 56 } } }, ["SP-147"]],
    ["a board mostly without shaft", { scale: 200, board: { overhang: 100 } }, ["SP-148"]],
    ["an end beyond a half circle", { board: { end: { bow: 40 } } }, ["SP-149"]],
    ["bush narrower than the post", { headstock: { tuners: { bush: 8 } } }, ["SP-150"]],
    ["bush through the headstock", { headstock: { tuners: { bushDepth: 20 } } }, ["SP-150"]],
    ["bores that run together", { headstock: { tuners: { pitch: 11 } } }, ["SP-151"]],
    ["rows that run together", { headstock: { tuners: { layout: "split", pitch: 38, rowAtLast: 5 } } }, ["SP-153"]],
    ["first tuner in the ramp", { headstock: { tuners: { first: 25 } } }, ["SP-154"]],
    ["ramp longer than the throat", { headstock: { throat: 15 } }, ["SP-155"]],
    ["screws past the heel", { heel: { length: 40 } }, ["SP-160"]],
    ["one screw", { heel: { screws: { count: 1 } } }, ["SP-160"]],
    ["screws in the heel's sides", { heel: { screws: { across: 50 } } }, ["SP-161"]],
    ["screws into the board", { heel: { screws: { depth: 19 } } }, ["SP-162"]],
    ["a heel thinner than its board", { heel: { thickness: 6.5, screws: "none" } }, ["SP-163"]],
    ["rod from the face of a glued blank", { rod: { cutFrom: "face" } }, ["SP-170"]],
    ["bars from the face of a glued blank", { bars: { count: 1, roof: 0 } }, ["SP-170"]],
    ["rod that ends before it begins", { rod: { from: "fret 12", to: "fret 3" } }, ["SP-171"]],
    ["rod too high for the carve", { rod: { height: 14 } }, ["SP-172"]],
    ["channel shallower than its rod", { blank: { kind: "shaft-alone" }, rod: { cutFrom: "face", height: 9, depth: 8 } }, ["SP-173"]],
    ["roof over an open channel", { blank: { kind: "shaft-alone" }, rod: { cutFrom: "face", roof: 1 } }, ["SP-173"]],
    ["pocket narrower than the channel", { rod: { access: { end: "heel", length: 20, width: 5, depth: 9 } } }, ["SP-174"]],
    ["blank too thin", { blank: { shaftThickness: 19 } }, ["SP-180"]],
    ["blank much too thick", { blank: { shaftThickness: 40 } }, ["SP-181"]],
    ["blank's board too thin", { blank: { boardThickness: 6 } }, ["SP-182"]],
    ["board on a shaft alone", { blank: { kind: "shaft-alone", boardThickness: 6.5 } }, ["SP-182"]],
    ["blank too short", { blank: { length: 650 } }, ["SP-183"]],
    ["blank too narrow", { blank: { width: 60 } }, ["SP-184"]],
    ["block all over the blank", { holding: { block: { grip: 50 } } }, ["SP-190"]],
    ["pins above the blank", { holding: { pin: { height: 40 } } }, ["SP-190"]],
    [
      "scribing through a thin shaft",
      { cutting: { scribeDepth: 2 }, board: { thickness: 1.1 }, blank: { shaftThickness: 5, boardThickness: 1.5 } },
      ["SP-191"],
    ],
    ["a skin thicker than half the blank", { cutting: { release: { kind: "skin", thickness: 16 } } }, ["SP-192"]],
    ["rough leave below the cusp", { cutting: { cusp: 0.2, roughLeave: 0.1 } }, ["SP-193"]],
    ["a wood nobody knows", { wood: { shaft: "hard mapel" } }, ["SP-194"]],
    [
      "a rule overridden twice",
      {
        overrides: [
          { rule: "NK-001", reason: "a" },
          { rule: "NK-001", reason: "b" },
        ],
      },
      ["SP-195"],
    ],
    ["an override that is no rule id", { overrides: [{ rule: "all", reason: "a" }] }, ["SP-017"]],
  ];
  test.each(cases)("%s", (_what, change, rules) => {
    const found = parseOrderObject(minimal(change)).findings;
    expect(found.map((f) => f.rule)).toEqual(expect.arrayContaining([...rules]));
    for (const f of found) {
      expect(f.where).not.toBe("");
      expect(f.says).toMatch(/\.$/);
      expect(f.tryThis).toMatch(/\.$/);
      if (typeof f.value === "number") expect(Number.isFinite(f.value)).toBe(true);
      if (typeof f.limit === "number") expect(Number.isFinite(f.limit)).toBe(true);
    }
  });

  test("an override names its rule and reason", () => {
    const overrides = [{ rule: "NK-005", reason: "The tuners have small plates." }];
    expect(orderOf(minimal({ overrides })).overrides).toEqual(overrides);
  });

  test("a finding says place, value and limit", () => {
    const [f] = parseOrderObject(minimal({ headstock: { tuners: { first: 500 } } })).findings;
    expect(f).toMatchObject({ rule: "SP-014", severity: "stop", where: "headstock.tuners.first", value: 500, limit: 200, unit: "mm" });
  });
});

describe("laws of orders", () => {
  test("any order within the schema's ranges is read without a crash, with finite numbers, the same way twice", () => {
    fc.assert(
      fc.property(anyOrder(), (doc) => {
        const text = JSON.stringify(doc);
        const a = parseOrder(text);
        expect(parseOrder(text)).toEqual(a);
        // within ranges: only rules of sense may answer, or an "other" without scale
        for (const f of a.findings) expect(f.rule >= "SP-100", `${f.rule} at ${f.where}: ${f.says}`).toBe(true);
        if (a.value !== undefined) assertFinite(a.value, "");
      }),
      { seed: 20260101, numRuns: 400 },
    );
  });

  test("a blank with an outline and a placement found at the machine is written out and read in one order of keys", () => {
    const corner = (x: number, y: number) => ({ x, y });
    const { value } = parseOrder(
      JSON.stringify({
        neckwright: "order/1",
        name: "loan",
        instrument: "guitar",
        blank: { outline: [corner(0, 0), corner(800, 0), corner(800, 130), corner(0, 130)], grainTurn: 2 },
        corrections: [{ kind: "placement", tipFromEnd: 42, centreFromDatum: 61, rotation: 0.5, date: "2026-03-31", reason: "scribed" }],
      }),
    );
    expect(value?.blank.rotation).toBeCloseTo(0.5 * (Math.PI / 180), 12);
    expect(JSON.stringify(parseOrder(JSON.stringify(writeOrder(value!))).value)).toBe(JSON.stringify(value));
  });

  test("an order written out in full reads back the same to the bit", () => {
    fc.assert(
      fc.property(fc.oneof(anyOrder(), likelyOrder()), (doc) => {
        const value = parseOrderObject(doc).value;
        if (value === undefined) return;
        const again = parseOrder(JSON.stringify(writeOrder(value)));
        expect(again.value).toEqual(value);
      }),
      { seed: 20260102, numRuns: 400 },
    );
  });

  test("most likely orders are sound, and sound ones have no stop", () => {
    const docs = fc.sample(likelyOrder(), { seed: 20260101, numRuns: 300 });
    const sound = docs.filter((d) => !parseOrderObject(d).findings.some(isStop)).length;
    expect(sound).toBeGreaterThan(150);
    for (const o of fc.sample(soundOrder(), { seed: 20260101, numRuns: 50 })) expect(o.blank.shaftThickness).toBeGreaterThan(0);
  });

  test("hostile texts give findings, never an exception", () => {
    const valid = readFileSync("examples/loan-guitar.order.json", "utf8");
    fc.assert(
      fc.property(hostileText(valid), (text) => {
        for (const parse of [parseOrder, parseShop]) {
          const p = parse(text);
          if (p.value === undefined) expect(p.findings.some(isStop)).toBe(true);
        }
      }),
      { seed: 20260101, numRuns: 1500 },
    );
  });

  test("objects that are no plain data are refused, and prototypes stay clean", () => {
    for (const odd of [
      null,
      1,
      "x",
      [],
      new Map(),
      Object.create({ neckwright: "order/1" }),
      JSON.parse('{"__proto__": {"neckwright": "order/1"}}'),
      () => 1,
    ]) {
      expect(parseOrderObject(odd).findings.some(isStop)).toBe(true);
    }
    expect(rulesOf(JSON.parse(`{"neckwright":"order/1","name":"a","instrument":"guitar","__proto__":{"a":1}}`))).toEqual(["SP-010"]);
    expect(rulesOf(minimal({ constructor: 1 }))).toEqual(["SP-010"]);
    const cyclic: Doc = minimal();
    cyclic.board = cyclic;
    expect(parseOrderObject(cyclic).findings.some(isStop)).toBe(true);
  });

  test("many faults are counted, not all told", () => {
    const found = parseOrderObject(minimal(Object.fromEntries(Array.from({ length: 5000 }, (_, i) => [`key${i}`, 1])))).findings;
    expect(found.length).toBe(101);
    expect(found[100]?.says).toMatch(/4900 more/);
  });
});

function assertFinite(v: unknown, path: string): void {
  if (typeof v === "number") expect(Number.isNaN(v) || (v === Number.POSITIVE_INFINITY && !path.includes("radius")), path).toBe(false);
  else if (typeof v === "object" && v !== null) for (const [k, inner] of Object.entries(v)) assertFinite(inner, `${path}.${k}`);
}
