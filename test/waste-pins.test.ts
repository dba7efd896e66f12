import { readFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { planHolding } from "../src/holding/index.ts";
import { apply } from "../src/holding/transform.ts";
import { groupCuts } from "../src/job/programs.ts";
import { readOrder } from "../src/job/source.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { flatten } from "../src/kernel/contour.ts";
import { signedDistance } from "../src/kernel/polygon.ts";
import { makeNeck } from "../src/neck/index.ts";
import { contextOf, cutsAhead, planCut } from "../src/paths/plan.ts";
import type { Cut } from "../src/paths/types.ts";
import { checkPinHoles } from "../src/proof/pin-holes.ts";
import type { ProofInput } from "../src/proof/types.ts";
import { parseShop } from "../src/spec/index.ts";
import type { OrderSpec, ShopSpec } from "../src/spec/types.ts";
import { degToRad } from "../src/units/index.ts";
import { orderSource } from "./examples.ts";
import { root } from "./sources.ts";

/* Turned on two pins through holes that the board side bores into the waste. */

const given = readOrder(orderSource(join(root, "examples/loan-ukulele.order.json"))).value as OrderSpec;
const shop = parseShop(readFileSync(join(root, "examples/stiff-router.shop.json"))).value as ShopSpec;
type Change = { readonly blank?: Partial<OrderSpec["blank"]>; readonly holding?: Partial<OrderSpec["holding"]>; readonly hand?: "left" };
const order = ({ blank, holding, hand }: Change = {}): OrderSpec => ({
  ...given,
  ...(hand === undefined ? {} : { hand }),
  blank: { ...given.blank, ...blank },
  holding: { ...given.holding, way: "waste-pins", ...holding },
});
const wide = { ...shop.machine, bed: { x: 900, y: 900 }, travel: { ...shop.machine.travel, x: 900, y: 900 } };

const ways = fc.record({
  along: fc.constantFrom("x" as const, "y" as const),
  turn: fc.constantFrom("x" as const, "y" as const),
  datumEdge: fc.constantFrom("bass" as const, "treble" as const),
  degrees: fc.constantFrom(0, 0.8, -1.5),
  pitch: fc.constantFrom(0, 17.3, 20),
});

describe("pins through the waste", () => {
  it("stand where the board side bores, to 1e-9, with wood around every hole, over holes of a grid where there is one", () => {
    fc.assert(
      fc.property(ways, ({ along, turn, datumEdge, degrees, pitch }) => {
        const neck = makeNeck(order({ blank: { datumEdge, rotation: degToRad(degrees) }, holding: { turn } }));
        const grid = pitch === 0 ? {} : { grid: { holes: "plain" as const, pitch, first: { x: 12, y: 7 }, diameter: 6 } };
        const { sides, findings } = planHolding(neck, { ...wide, along, ...grid });
        expect(findings.filter((f) => f.severity === "stop")).toEqual([]);
        const pins = sides.carve.holding.filter((s) => s.role === "index pin");
        expect(pins).toHaveLength(2);
        expect(sides.carve.holding.some((s) => s.role === "fence pin" || s.role === "end stop")).toBe(false);
        const outline = [flatten(neck.outline, 0.01)];
        sides.board.bores?.forEach((bore, k) => {
          const pin = pins[k];
          if (pin.kind !== "cylinder") throw new Error("pins are round");
          const middle = [0, 1].map((a) => (bore.from[a] + bore.to[a]) / 2);
          const [x, y] = apply(sides.carve.neckToProgram, middle[0], middle[1], 0);
          expect(Math.hypot(x - pin.x, y - pin.y)).toBeLessThan(1e-9);
          // its rim on the board side: inside the blank by 4 mm, off the neck by what the outline's cutter takes and 4 mm
          for (const end of [bore.from, bore.to]) {
            const [u, v] = apply(sides.board.neckToProgram, end[0], end[1], 0);
            const { min, max } = sides.board.stock;
            expect(Math.min(u - min[0], max[0] - u, v - min[1], max[1] - v)).toBeGreaterThanOrEqual(9 - 1e-6);
            expect(signedDistance(outline, end[0], end[1])).toBeGreaterThanOrEqual(5 + 10 + 4 - 0.03);
          }
        });
        expect(pins.every((s) => s.kind === "cylinder" && s.zMax < sides.carve.stock.max[2])).toBe(true);
      }),
      { seed: 20260101, numRuns: 20 },
    );
  });

  it("HO-023: no room beyond the neck's ends; in sections the index holes are the pins'", () => {
    const rules = (o: OrderSpec, m = shop.machine): string[] => planHolding(makeNeck(o), m).findings.map((f) => f.rule);
    expect(rules(order({ holding: { pin: { diameter: 24, height: 12 } } }))).toContain("HO-023");
    expect(rules(order())).not.toContain("HO-023");
    const small = { ...shop.machine, bed: { x: 400, y: 300 }, travel: { ...shop.machine.travel, x: 400, y: 300 } };
    expect(rules(order(), small)).not.toContain("HO-023");
  });

  it("PF-262: bored by the board side's own program, the pins find their holes; elsewhere, or without the program, they meet wood", () => {
    const neck = makeNeck(order({ blank: { rotation: degToRad(0.8) } }));
    const holding = planHolding(neck, shop.machine);
    const { board, carve } = holding.sides;
    const ctx = contextOf(neck, board, shop);
    const { cut } = planCut(cutsAhead(neck, ["board"]).find((c) => c.name === "board-3")?.name ?? "", ctx, board);
    expect(cut?.id).toBe("board-pin-holes");
    const cuts = [cut as Cut];
    const { groups, steps } = groupCuts({ cuts, steps: cuts.map((c) => ({ kind: "cut", cut: c.id })) });
    const { programs } = writePrograms(groups, neck.order, "0".repeat(64), shop, holding);
    const input: ProofInput = {
      neck,
      machine: shop.machine,
      cutters: shop.cutters,
      sides: [board, carve],
      programs,
      steps,
      cusps: {},
      cell: 1,
    };
    expect(checkPinHoles(input, carve)).toEqual([]);
    const rules = (i: ProofInput, dx = 0, dy = 0) =>
      checkPinHoles(i, {
        ...carve,
        holding: carve.holding.map((s) => (s.role === "index pin" && s.kind === "cylinder" ? { ...s, x: s.x + dx, y: s.y + dy } : s)),
      }).map((f) => [f.rule, f.where]);
    // along, the slotted hole lets its pin; across neither does
    expect(rules(input, 0.3)).toEqual([["PF-262", "side carve, turn pin 1"]]);
    expect(rules(input, 0, 0.3)).toHaveLength(2);
    expect(rules({ ...input, programs: [], steps: [] })).toHaveLength(2);
  });
});
