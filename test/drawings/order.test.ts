/** An order that names a drawing: where it may lie, how it is placed, what it changes, and that it is never left out in silence. */
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, truncateSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterAll, describe, expect, test } from "vitest";
import { checkSources } from "../../src/job/check.ts";
import { drawOrder } from "../../src/job/draw.ts";
import { fretTable } from "../../src/job/frets.ts";
import { sha256 } from "../../src/job/hash.ts";
import { readOrderSource } from "../../src/job/order-source.ts";
import { readOrder, type Source } from "../../src/job/source.ts";
import { contourBounds, flatten } from "../../src/kernel/contour.ts";
import type { Contour } from "../../src/kernel/curve.ts";
import { polygonArea } from "../../src/kernel/polygon.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { readOutline } from "../../src/spec/drawing/index.ts";
import { parseOrder } from "../../src/spec/index.ts";
import { writeOrder } from "../../src/spec/write.ts";
import { root } from "../sources.ts";
import { apart, outlineArb } from "./outlines.ts";
import { bytes, dxfFile, entity, pathStep, svgFile } from "./write.ts";

const dir = mkdtempSync(join(tmpdir(), "drawn-"));
afterAll(() => rmSync(dir, { recursive: true, force: true }));
const ORDER = JSON.parse(readFileSync(join(root, "examples/loan-guitar-drawn.order.json"), "utf8"));
const DRAWING = readFileSync(join(root, "examples/drawings/loan-head.svg"));

/** The example order, with other words about its outline or its hand. */
const order = (outline: object = {}, more: object = {}): Uint8Array =>
  bytes(JSON.stringify({ ...ORDER, ...more, headstock: { ...ORDER.headstock, outline: { ...ORDER.headstock.outline, ...outline } } }));
const given = (outline: object = {}, more: object = {}): Source => ({
  path: "a.order.json",
  bytes: order(outline, more),
  drawing: DRAWING,
});
const neckOf = (source: Source): ReturnType<typeof makeNeck> => {
  const { value, findings } = readOrder(source);
  if (value === null) throw new Error(findings.map((f) => f.says).join(" "));
  return makeNeck(value);
};

describe("an order with a drawing", () => {
  test("check, draw and frets take it", () => {
    expect(checkSources(given(), null).findings.map((f) => f.rule)).toEqual(["SP-324"]);
    expect(drawOrder(given(), null).files?.length).toBeGreaterThan(3);
    expect(fretTable(given()).rows?.length).toBe(22);
  });

  test("the neck's outline is the drawn one, to its tip", () => {
    const neck = neckOf(given());
    expect(neck.places.tip).toBeCloseTo(-197, 9);
    expect(neck.findings).toEqual([]);
    const area = polygonArea(flatten({ name: "head", curves: neck.outline.curves }, 1e-4));
    const family = makeNeck({ ...neck.order, headstock: { ...neck.order.headstock, outline: undefined, drawing: undefined } as never });
    expect(Math.abs(area - polygonArea(flatten(family.outline, 1e-4)))).toBeGreaterThan(50);
  });

  test("a left-handed neck has the mirror image", () => {
    const [right, left] = [neckOf(given()), neckOf(given({}, { hand: "left" }))];
    expect(
      apart(
        right.outline.curves,
        left.outline,
        (p) => ({ x: p.x, y: -p.y }),
        (p) => ({ x: p.x, y: -p.y }),
      ),
    ).toBeLessThan(1e-9);
  });

  test("a tilted headstock's drawing is of its face: seen from above it is shorter by the cosine", () => {
    const tilt = (12 * Math.PI) / 180;
    const flat = neckOf(given());
    const tilted = makeNeck({ ...flat.order, headstock: { ...flat.order.headstock, kind: "angled", angle: tilt } });
    const hinge = tilted.places.rampTop;
    expect(tilted.places.tip).toBeCloseTo(hinge + (-197 - hinge) * Math.cos(tilt), 6);
  });

  test("without its bytes it is no order; the bare value makes a neck that says so", () => {
    const { drawing: _, ...bare } = given();
    const read = readOrder(bare);
    expect(read.value).toBeNull();
    expect(read.findings.map((f) => f.rule)).toEqual(["JB-009"]);
    const { value } = parseOrder(bare.bytes);
    expect(value && makeNeck(value).findings.map((f) => f.rule)).toContain("NK-043");
  });

  test("with a drawing that cannot be read it is no order, and says what of which file", () => {
    const read = readOrder({ ...given(), drawing: bytes(svgFile('<path d="M0 0H99"/>')) });
    expect(read.value).toBeNull();
    expect(read.findings.at(-1)).toMatchObject({ rule: "SP-311", where: expect.stringContaining("drawings/loan-head.svg") });
  });

  test("its hash is of both files, one after the other", () => {
    expect(readOrder(given()).sha256).toBe(sha256(Buffer.concat([order(), DRAWING])));
    expect(readOrder({ ...given(), drawing: Buffer.concat([DRAWING, Buffer.from("\n")]) }).sha256).not.toBe(readOrder(given()).sha256);
  });

  test("written back, the order still names it", () => {
    const { value } = parseOrder(order({ unit: "mm", closeWithin: 0.1, scale: 1, seen: "front" }));
    if (!value) throw new Error("the example must be readable");
    expect(parseOrder(JSON.stringify(writeOrder(value))).value).toEqual(value);
    expect(writeOrder(neckOf(given()).order).headstock).toMatchObject({ outline: ORDER.headstock.outline });
  });

  test("placement: however it is turned, shifted or seen, the outline comes to the same place", () => {
    const ways = [
      ["left", 1, 0, 0, 1],
      ["up", 0, 1, -1, 0],
      ["right", -1, 0, 0, -1],
      ["down", 0, -1, 1, 0],
    ] as const;
    const real = fc.double({ min: -300, max: 300, noNaN: true });
    fc.assert(
      fc.property(
        outlineArb(["line", "arc", "cubic"]),
        fc.constantFrom(...ways),
        fc.boolean(),
        fc.boolean(),
        real,
        real,
        (curves, way, back, asSvg, x, y) => {
          // from the neck's frame to the drawing (y up): mirrored when the back is seen, turned, shifted
          const [toward, a, b, c, d] = way;
          const draw = (p: { x: number; y: number }): { x: number; y: number } => {
            const v = back ? -p.y : p.y;
            return { x: a * p.x + b * v + x, y: c * p.x + d * v + (asSvg ? -y : y) };
          };
          const drawn = curves.map((k) => moved(k, draw, a * d - b * c < 0 !== back));
          const file = asSvg ? svgFile(`<path d="${path(drawn)}"/>`) : dxfFile(drawn.flatMap((k) => entity(k)));
          const request = {
            drawing: asSvg ? "a.svg" : "a.dxf",
            nutAt: { x, y },
            toward,
            seen: back ? ("back" as const) : ("front" as const),
          };
          const got = readOutline(bytes(file), request).outline as Contour;
          expect(apart(curves, got)).toBeLessThan(1e-3);
          expect(polygonArea(flatten(got, 0.01))).toBeGreaterThan(0);
        },
      ),
      { seed: 20260101, numRuns: 40 },
    );
  });
});

type Curves = Contour["curves"];
function moved(c: Curves[number], f: (p: { x: number; y: number }) => { x: number; y: number }, mirrored: boolean): Curves[number] {
  if (c.kind === "line") return { kind: "line", a: f(c.a), b: f(c.b) };
  if (c.kind === "cubic") return { kind: "cubic", p0: f(c.p0), p1: f(c.p1), p2: f(c.p2), p3: f(c.p3) };
  const [centre, s] = [f(c.centre), f({ x: c.centre.x + c.radius * Math.cos(c.start), y: c.centre.y + c.radius * Math.sin(c.start) })];
  return { ...c, centre, start: Math.atan2(s.y - centre.y, s.x - centre.x), sweep: mirrored ? -c.sweep : c.sweep };
}
/** As path data, y down. */
function path(curves: Curves): string {
  const down = curves.map((c) => moved(c, (p) => ({ x: p.x, y: -p.y }), true));
  const c = down[0];
  const p =
    c.kind === "line"
      ? c.a
      : c.kind === "cubic"
        ? c.p0
        : { x: c.centre.x + c.radius * Math.cos(c.start), y: c.centre.y + c.radius * Math.sin(c.start) };
  return `M${p.x} ${p.y}${down.map(pathStep).join("")}Z`;
}

describe("where a drawing may lie", () => {
  const at = join(dir, "shop/orders");
  mkdirSync(join(at, "below"), { recursive: true });
  copyFileSync(join(root, "examples/drawings/loan-head.svg"), join(at, "below/head.svg"));
  writeFileSync(join(dir, "shop/outside.svg"), DRAWING);
  const load = (drawing: string): Promise<Source> => {
    writeFileSync(join(at, "a.order.json"), order({ drawing }));
    return readOrderSource(join(at, "a.order.json"));
  };

  test("in the order's folder or below", async () => {
    expect((await load("below/head.svg")).drawing).toEqual(DRAWING);
    expect(contourBounds(neckOf(await load("below/head.svg")).outline).xMin).toBeCloseTo(-197, 9);
  });

  test.each([
    "../outside.svg",
    "/etc/head.svg",
    "below/../../outside.svg",
    "C:/head.dxf",
    "below\\head.svg",
    "~/head.svg",
    "./head.svg",
    "head.pdf",
    "head",
    "a//b.svg",
    "http://localhost/head.svg",
  ])("%s is refused before any file is looked for", async (drawing) => {
    const { value, findings } = parseOrder(order({ drawing }));
    expect(value).toBeUndefined();
    expect(findings[0]).toMatchObject({ severity: "stop", where: expect.stringContaining("headstock.outline.drawing") });
    expect((await load(drawing)).drawing).toBeUndefined();
  });

  test("not behind a link that leads out, nor in a folder that is one", async () => {
    symlinkSync(join(dir, "shop/outside.svg"), join(at, "link.svg"));
    symlinkSync(join(dir, "shop"), join(at, "away"));
    await expect(load("link.svg")).rejects.toThrow(/outside of the order's folder/);
    await expect(load("away/outside.svg")).rejects.toThrow(/outside of the order's folder/);
    symlinkSync(join(at, "below/head.svg"), join(at, "within.svg"));
    expect((await load("within.svg")).drawing).toEqual(DRAWING);
  });

  test("missing, a folder, or 100 MB: said before a byte is read", async () => {
    await expect(load("gone.svg")).rejects.toThrow(/no such file/);
    mkdirSync(join(at, "folder.svg"));
    await expect(load("folder.svg")).rejects.toThrow(/folder/);
    writeFileSync(join(at, "huge.svg"), "");
    truncateSync(join(at, "huge.svg"), 100e6);
    await expect(load("huge.svg")).rejects.toThrow(/100000000 bytes; at most 24000000/);
  });
});
