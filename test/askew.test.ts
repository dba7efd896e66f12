import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { planHolding } from "../src/holding/index.ts";
import { apply } from "../src/holding/transform.ts";
import type { Transform } from "../src/holding/types.ts";
import { readOrder } from "../src/job/source.ts";
import { makeNeck } from "../src/neck/index.ts";
import { prove, proveSide } from "../src/proof/index.ts";
import { checkSetup } from "../src/proof/setup.ts";
import { centreAt, markingDrawing } from "../src/sheet/drawings/marking.ts";
import { parseShop } from "../src/spec/index.ts";
import type { OrderSpec, ShopSpec } from "../src/spec/types.ts";
import { degToRad, isStop } from "../src/units/index.ts";
import { orderSource } from "./examples.ts";
import { plannedOf } from "./jobs.ts";
import { root } from "./sources.ts";

/* A neck that lies askew in its blank: planned and proved as it lies, and every wrong sign of its turn is seen. */

const order = readOrder(orderSource(join(root, "examples/loan-ukulele.order.json"))).value as OrderSpec;
const shop = parseShop(readFileSync(join(root, "examples/stiff-router.shop.json"))).value as ShopSpec;
const askew = (degrees: number): OrderSpec => ({ ...order, blank: { ...order.blank, rotation: degToRad(degrees) } });
const stops = (p: { readonly findings: readonly Parameters<typeof isStop>[0][] }): Set<string> =>
  new Set(p.findings.filter(isStop).map((f) => f.rule));

test("0.8 degrees askew, a neck is cut from both sides, proved whole, and no other lie of it passes", () => {
  const { input, findings } = plannedOf(askew(0.8), shop, 0.8);
  expect(findings.filter(isStop)).toEqual([]);
  const proof = prove(input);
  expect(proof.findings.filter(isStop)).toEqual([]);
  // all that is measured of a neck along the datum edge is measured of this one too: frets, bores, outline, thickness
  const measured = [...proof.sides.flatMap((s) => s.measures), ...proof.measures];
  expect(measured.filter((m) => m.id.startsWith("fret-")).length).toBe(6 * order.frets.count);
  expect(measured.filter((m) => m.id.startsWith("thickness")).length).toBeGreaterThanOrEqual(5);
  const [board, carve] = input.sides;
  const bent = (t: Transform, k: readonly number[]): Transform => t.map((v, n) => (k.includes(n) ? -v : v)) as unknown as Transform;
  // the carve side turned the same way as the board side: no turn of the piece does that
  const same = { ...carve, neckToProgram: bent(carve.neckToProgram, [1, 4]) };
  expect(stops({ findings: checkSetup({ ...input, sides: [board, same] }, "carve") })).toContain("PF-203");
  // both sides turned the other way, programs and all: not what the order says
  const other = makeNeck(askew(-0.8));
  const mirrored = planHolding(other, shop.machine).sides;
  expect(stops({ findings: checkSetup({ ...input, neck: other }, "board") })).toContain("PF-209");
  // programs that were turned the wrong way are nowhere right
  const wrong = stops(proveSide({ ...input, neck: other, sides: [mirrored.board, mirrored.carve] }, "board"));
  for (const rule of ["PF-241", "PF-244", "PF-254"]) expect(wrong).toContain(rule);
});

test("the lie in the blank is that of the order: tip, centreline and turn are each held to it", () => {
  const placed = { tipFromEnd: 40, centreFromDatum: 52, rotation: degToRad(-2) };
  for (const along of ["x", "y"] as const)
    for (const datumEdge of ["bass", "treble"] as const) {
      const machine = { ...shop.machine, along, bed: { x: 900, y: 900 } };
      const here = (change: object): ReturnType<typeof makeNeck> =>
        makeNeck({ ...order, blank: { ...order.blank, ...placed, datumEdge, ...change } });
      const { sides } = planHolding(here({}), machine);
      const input = { machine, cutters: shop.cutters, sides: [sides.board, sides.carve], programs: [], steps: [], cusps: {}, cell: 2 };
      const wrong = (change: object): readonly string[] =>
        proveSide({ ...input, neck: here(change) }, "board")
          .findings.filter((f) => f.rule === "PF-209")
          .map((f) => f.where);
      expect(wrong({})).toEqual([]);
      expect(wrong({ rotation: degToRad(-1.99) })).toEqual(["blank.rotation"]);
      expect(wrong({ rotation: degToRad(2) })).toEqual(["blank.rotation"]);
      expect(wrong({ tipFromEnd: 40.01 })).toEqual(["blank.tipFromEnd"]);
      expect(wrong({ centreFromDatum: 51.99 })).toEqual(["blank.centreFromDatum"]);
    }
});

test("marked out, the centreline crosses both ends of the blank where the board side's transform has it", () => {
  for (const degrees of [0, 0.8, -2])
    for (const datumEdge of ["bass", "treble"] as const) {
      const neck = makeNeck({ ...order, blank: { ...order.blank, datumEdge, rotation: degToRad(degrees) } });
      const { sides, placement, blank } = planHolding(neck, shop.machine);
      const [a, b] = [-200, 500].map((x) => apply(sides.board.neckToProgram, x, 0, 0));
      for (const fromEnd of [0, blank.length]) {
        const across = a[1] + ((fromEnd - a[0]) * (b[1] - a[1])) / (b[0] - a[0]);
        expect(centreAt(neck, placement, fromEnd)).toBeCloseTo(Math.abs(across), 9);
      }
      const { says } = markingDrawing(neck, { placement, blank }, 1);
      expect(/at the body end/.test(says)).toBe(degrees !== 0);
    }
});
