import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { guitar } from "../neck/fixture.test-data.ts";
import { makeNeck } from "../neck/neck.ts";
import type { GridSpec, MachineSpec, OrderSpec } from "../spec/types.ts";
import { checkGrid, holeOf } from "./grid.ts";
import { machine } from "./holding.test-data.ts";
import { planHolding } from "./plan.ts";
import type { Side, Solid } from "./types.ts";

const order: OrderSpec = { ...guitar, holding: { ...guitar.holding, screw: { count: 2, head: 8, height: 3 } } };
const on = (grid: GridSpec, along: "x" | "y" = "x"): MachineSpec => ({
  ...machine,
  along,
  bed: { x: 1000, y: 1000 },
  travel: { ...machine.travel, x: 1000, y: 1000 },
  grid,
});
const grid: GridSpec = { holes: "threaded", pitch: 25, first: { x: 15, y: 20 }, diameter: 6 };
const neck = makeNeck(order);

/** What a bolt or pin goes through, on the bed: of a block all of its foot's middle line. */
function fastened(
  side: Side,
  s: Solid,
  along: "x" | "y",
): { readonly x: readonly [number, number]; readonly y: readonly [number, number] } {
  const [zx, zy] = side.zeroOnBed;
  if (s.kind === "cylinder") return { x: [s.x + zx, s.x + zx], y: [s.y + zy, s.y + zy] };
  if (s.kind !== "box") throw new Error("no prism is fastened");
  const mid = (k: 0 | 1): number => (s.min[k] + s.max[k]) / 2;
  return along === "x"
    ? { x: [s.min[0] + zx + 5, s.max[0] + zx - 5], y: [mid(1) + zy, mid(1) + zy] }
    : { x: [mid(0) + zx, mid(0) + zx], y: [s.min[1] + zy + 5, s.max[1] + zy - 5] };
}

const ways = fc.record({
  along: fc.constantFrom("x" as const, "y" as const),
  turn: fc.constantFrom("x" as const, "y" as const),
  datumEdge: fc.constantFrom("bass" as const, "treble" as const),
  rotation: fc.constantFrom(0, 0.012),
  pitch: fc.constantFrom(20, 25, 30),
  x: fc.integer({ min: 0, max: 30 }),
  y: fc.integer({ min: 0, max: 30 }),
});

describe("a bed with a grid of holes", () => {
  it("has a hole under every pin, stop, screw and block's foot, on both sides; the blank still lies against pins and stop", () => {
    fc.assert(
      fc.property(ways, ({ along, turn, datumEdge, rotation, pitch, x, y }) => {
        const g = { ...grid, pitch, first: { x, y } };
        const m = on(g, along);
        const n = makeNeck({ ...order, blank: { ...order.blank, datumEdge, rotation }, holding: { ...order.holding, turn } });
        const h = planHolding(n, m);
        expect(h.findings.filter((f) => f.severity === "stop")).toEqual([]);
        for (const side of [h.sides.board, h.sides.carve]) {
          const parts = side.holding.filter((s) => s.role !== "support" && (s.role !== "block" || s.name.endsWith("foot")));
          expect(parts.filter((s) => s.role === "block")).toHaveLength(4);
          for (const s of parts) {
            const at = fastened(side, s, along);
            for (const a of ["x", "y"] as const) {
              // some hole lies between, or exactly there
              const k = Math.ceil((at[a][0] - g.first[a]) / pitch - 1e-6);
              expect(g.first[a] + k * pitch, `${s.name} ${a}`).toBeLessThanOrEqual(at[a][1] + 1e-6);
              expect(k).toBeGreaterThanOrEqual(0);
              expect(g.first[a] + k * pitch).toBeLessThanOrEqual(1000);
            }
            expect(holeOf(s, side, m)).not.toBeNull();
          }
          // the pins touch: their middles stand half their width off the datum edge's line and the end's
          const long = along === "x" ? 0 : 1;
          for (const s of parts) {
            if (s.kind !== "cylinder" || s.role === "screw") continue;
            const p = [s.x, s.y];
            expect(Math.abs(p[s.role === "fence pin" ? 1 - long : long])).toBeCloseTo(s.diameter / 2, 9);
          }
        }
      }),
      { seed: 20260101, numRuns: 25 },
    );
  });
  it("goes as near as a hole allows to where the maker wants a part", () => {
    const wanted = { ...order, holding: { ...order.holding, placed: [{ name: "fence pin 1", x: 161 }] } };
    const m = on(grid);
    const h = planHolding(makeNeck(wanted), m);
    const pin = h.sides.board.holding.find((s) => s.name === "fence pin 1");
    expect(pin?.kind === "cylinder" && Math.abs(pin.x - 161)).toBeLessThanOrEqual(12.5);
  });
  it("HO-022: a grid too wide for the blank, a part that was moved off its hole, two parts in one hole, and sections", () => {
    const rules = (m: MachineSpec, n = neck): string[] => planHolding(n, m).findings.map((f) => f.rule);
    expect(rules(on({ ...grid, pitch: 60 }))).toContain("HO-022");
    const m = on(grid);
    const { sides } = planHolding(neck, m);
    expect(checkGrid(m, sides)).toEqual([]);
    const moved = (name: string, like: (s: Solid) => Solid) => ({
      ...sides,
      board: { ...sides.board, holding: sides.board.holding.map((s) => (s.name === name ? like(s) : s)) },
    });
    // what to try is worth trying
    const coarse = (
      o: OrderSpec,
      pitch: number,
    ): readonly { readonly rule: string; readonly where: string; readonly says: string; readonly tryThis: string }[] =>
      planHolding(makeNeck(o), on({ ...grid, pitch })).findings.filter((f) => f.rule === "HO-022");
    const few = coarse(order, 50);
    expect(few.map((f) => f.where)).toEqual(["board", "carve"].map((s) => `${s} side, block, headstock end, far side`));
    const [, width, pitch] = /a blank (\d+) mm wide, a plate whose holes are (\d+) mm apart/.exec(few[0].tryThis) as RegExpExecArray;
    expect(coarse({ ...order, blank: { ...order.blank, width: Number(width) } }, 50)).toEqual([]);
    expect(coarse(order, Number(pitch))).toEqual([]);
    const off = checkGrid(
      m,
      moved("end stop", (s) => ({ ...s, y: s.kind === "cylinder" ? s.y + 0.1 : 0 }) as Solid),
    );
    expect(off.map((f) => f.where)).toEqual(["board side, end stop"]);
    const first = sides.board.holding.find((s) => s.name === "fence pin 1") as Solid;
    const twice = checkGrid(
      m,
      moved("fence pin 2", (s) => ({ ...first, name: s.name }) as Solid),
    );
    expect(twice.map((f) => f.says).join()).toMatch(/would share hole/);
    expect(rules({ ...on(grid), bed: { x: 400, y: 300 }, travel: { ...machine.travel, x: 400, y: 300 } })).toContain("HO-022");
  });
});
