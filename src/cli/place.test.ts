import { createHash } from "node:crypto";
import { copyFileSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { makeNeck } from "../neck/index.ts";
import { parseOrder } from "../spec/index.ts";
import { setInJson } from "../spec/set-json.ts";
import { cli } from "./ran.test-data.ts";

const folder = mkdtempSync(join(tmpdir(), "neckwright-place-"));
const order = join(folder, "own.order.json");
const shop = join(folder, "own.shop.json");
copyFileSync("examples/loan-guitar.order.json", order);
copyFileSync("examples/stiff-router.shop.json", shop);
const given = readFileSync(order, "utf8");
const measured = ["--at=0:36:40", "--at", "440:28:34"];

describe("place and budget on the command line", () => {
  test("place says the margin, the best along the edge and the best turned, each with its bound", async () => {
    const ran = JSON.parse((await cli("place", order, "--shop", shop, "--json")).out);
    expect(ran.along.margin).toBeGreaterThanOrEqual(ran.now - 1e-6);
    expect(ran.turned.margin).toBeGreaterThanOrEqual(ran.along.margin - 1e-4);
    expect(ran.turned.bound - ran.turned.margin).toBeLessThan(1.001e-4);
    expect(readFileSync(order, "utf8")).toBe(given);
  });
  test("readings that cannot be are refused with a sentence, and nothing is stored", async () => {
    const ran = await cli("place", order, "--shop", shop, "--at=0:360:40", "--at", "440:28:34", "--store");
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/was 36 meant/);
    expect((await cli("place", order, "--shop", shop, "--at", "0:36")).err).toMatch(/STATION:DATUM:FAR/);
    expect(readFileSync(order, "utf8")).toBe(given);
  });
  test("what is stored moves the neck, keeps the rest of the file, and can be undone", async () => {
    const stored = await cli("place", order, "--shop", shop, ...measured, "--store", "--date", "2026-03-31");
    expect(stored.code).toBe(0);
    const text = readFileSync(order, "utf8");
    expect(text.startsWith(given.slice(0, given.lastIndexOf("}") - 1))).toBe(true);
    const moved = parseOrder(text).value;
    expect(moved?.corrections?.[0]).toMatchObject({
      kind: "placement",
      date: "2026-03-31",
      reason: "measured at the scribe: 0:36:40, 440:28:34",
    });
    expect(moved?.blank.centreFromDatum).toBeGreaterThan(63);
    expect((await cli("place", order, "--shop", shop, "--undo", "--date", "2026-04-01")).code).toBe(0);
    const back = parseOrder(readFileSync(order, "utf8")).value;
    expect(back?.blank).toEqual(parseOrder(given).value?.blank);
    expect(back?.corrections?.[0].undone).toBe("2026-04-01");
    expect((await cli("place", order, "--shop", shop, "--undo")).code).toBe(2);
  });
  const datum = parseOrder(given).value?.blank.datumEdge === "bass" ? 1 : -1;
  const touched = (...places: (readonly [number, number])[]) =>
    cli("place", order, "--shop", shop, ...places.map(([x, y]) => `--touch=${x}:${datum * y}`), "--json");
  test("three touches of a blank on its pins say what the plan says; of one further in, that much less", async () => {
    const plan = JSON.parse((await cli("place", order, "--shop", shop, "--json")).out);
    const seated = JSON.parse((await touched([60, 0], [600, 0], [0, 40])).out);
    expect(seated.now).toBeCloseTo(plan.now, 6);
    const moved = JSON.parse((await touched([60, -2], [600, -2], [0, 40])).out);
    expect(moved.along.to.centreFromDatum).toBeCloseTo(seated.along.to.centreFromDatum - 2, 2);
    expect(moved.along.margin).toBeCloseTo(seated.along.margin, 3);
  });
  test.each([
    [
      "three on one line",
      [
        [60, 0],
        [600, 0],
        [300, 0.2],
      ],
      /on one line/,
    ],
    [
      "two too near",
      [
        [60, 0],
        [90, 0],
        [0, 40],
      ],
      /30 mm apart/,
    ],
    [
      "x and y of one exchanged",
      [
        [60, 0],
        [300, 200],
        [0, 40],
      ],
      /exchanged/,
    ],
    [
      "inches",
      [
        [2.362, 0],
        [23.62, 0],
        [0, 1.575],
      ],
      /mm apart/,
    ],
    [
      "50 typed for 5",
      [
        [60, 50],
        [600, 50],
        [0, 90],
      ],
      /50 mm from where the pins have it.*Was 5 meant/,
    ],
    [
      "a digit slipped in one",
      [
        [60, 0.5],
        [600, 30],
        [0, 40],
      ],
      /degrees askew along its fence/,
    ],
    [
      "one is missing",
      [
        [60, 0],
        [600, 0],
      ],
      /Three touches are needed/,
    ],
  ] as const)("touches that cannot be: %s", async (_what, places, says) => {
    const ran = await touched(...places);
    expect(ran.code).toBe(2);
    expect((ran.err + ran.out).replace(/\s+/g, " ")).toMatch(says);
  });
  test("readings in inches, of exchanged stations, and 50 for 5 are told by what they are", async () => {
    const at = (...a: string[]) => cli("place", order, "--shop", shop, ...a.map((x) => `--at=${x}`), "--store");
    expect((await at("0:1.417:40", "440:28:34")).err).toMatch(/inches/);
    expect((await at("0:3.6:40", "440:28:34")).err).toMatch(/was 36 meant/);
    const neck = makeNeck(parseOrder(given).value!);
    const readings = [0, 440].map((x) => {
      const [lo, hi] = neck.edges(x);
      const rest = neck.order.blank.width - (hi - lo);
      return `${(0.45 * rest).toFixed(1)}:${(0.55 * rest).toFixed(1)}`;
    });
    expect((await at(`0:${readings[1]}`, `440:${readings[0]}`)).err.replace(/\s+/g, " ")).toMatch(/change places/);
  });
  test("with --out the neck's programs are made for its new place and proved; without --store there is none to make for", async () => {
    expect((await cli("place", order, "--shop", shop, "--out", join(folder, "no"))).err).toMatch(/add --store/);
    // a neck that its design stops is quickly made: a folder without programs, of the order as it was stored
    const thin = join(folder, "thin.order.json");
    writeFileSync(thin, setInJson(given, ["rod", "minimumUnder"], 9));
    const out = join(folder, "moved");
    const ran = await cli("place", thin, "--shop", shop, "--store", "--out", out, "--cell", "1", "--date", "2026-03-31", "--json");
    const said = JSON.parse(ran.out);
    const job = JSON.parse(readFileSync(join(out, "job.json"), "utf8"));
    expect(said.made.command).toBe("make");
    expect([ran.code, said.exitCode, said.made.exitCode, said.stored]).toEqual([1, 1, 1, true]);
    expect(job.placement.tipFromEnd).toBeCloseTo(said.along.to.tipFromEnd, 3);
    expect(job.order.sha256).toBe(createHash("sha256").update(readFileSync(thin)).digest("hex"));
  });
  test("what is stored lies along the datum edge, also where the order had it askew", async () => {
    const askew = join(folder, "askew.order.json");
    const turned = given.replace("{", '{ "blank": { "rotation": "0.5 deg" },');
    expect(parseOrder(turned).value?.blank.rotation).toBeGreaterThan(0);
    writeFileSync(askew, turned);
    expect((await cli("place", askew, "--shop", shop, "--store", "--date", "2026-03-31")).code).toBe(0);
    expect(parseOrder(readFileSync(askew, "utf8")).value?.blank.rotation).toBe(0);
  });
  test("where sliding does not do the neck is turned; its margin is then met, in sections too", async () => {
    // a blank that tapers: along the datum edge there is no room for the ordered margin
    const { blank } = parseOrder(given).value!;
    const corners = [
      { x: 0, y: 0 },
      { x: blank.length, y: 0 },
      { x: blank.length, y: 88 },
      { x: 0, y: 118 },
    ];
    const path = join(folder, "tapered.order.json");
    writeFileSync(path, setInJson(setInJson(given, ["blank", "outline"], corners), ["blank", "margin"], 16));
    const ran = JSON.parse((await cli("place", path, "--shop", shop, "--store", "--date", "2026-03-31", "--json")).out);
    expect(ran.along.margin).toBeLessThan(16);
    expect(ran.turned.margin).toBeGreaterThan(16);
    expect(ran.to).toEqual(ran.turned.to);
    const stored = parseOrder(readFileSync(path, "utf8")).value!;
    expect(stored.blank.rotation).toBeCloseTo(ran.to.rotation, 12);
    const again = JSON.parse((await cli("place", path, "--shop", shop, "--json")).out);
    expect(again.now).toBeCloseTo(ran.turned.margin, 2);
    const small = join(folder, "small.shop.json");
    copyFileSync("examples/small-router.shop.json", small);
    writeFileSync(path, setInJson(setInJson(given, ["blank", "outline"], corners), ["blank", "margin"], 16));
    const there = JSON.parse((await cli("place", path, "--shop", small, "--store", "--date", "2026-03-31", "--json")).out);
    expect(there.to).toEqual(ran.to);
    expect(there.to.rotation).not.toBe(0);
    expect((await cli("place", order, "--shop", shop, "--turned")).err).toMatch(/add --store/);
  });
  test("budget prints a row for each figure and what contributes most", async () => {
    const ran = await cli("budget", order, "--shop", shop);
    expect(ran.code).toBe(0);
    for (const what of ["Margin", "Step between", "Thickness", "Last fret", "Note at fret 12"]) expect(ran.out).toContain(what);
    expect(JSON.parse((await cli("budget", order, "--shop", shop, "--json")).out).outcomes[0].shares.length).toBeGreaterThan(2);
  });
});
