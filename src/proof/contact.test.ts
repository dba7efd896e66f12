import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Solid } from "../holding/types.ts";
import { bandsOf, makeBlock } from "../kernel/make-stock.ts";
import { MoveBuilder, type MoveList } from "../kernel/moves.ts";
import { profileHeight } from "../kernel/profile.ts";
import type { Rows } from "../kernel/stock.ts";
import type { Finding } from "../units/index.ts";
import { blockInput, FLAT } from "./block.test-data.ts";
import { Contact, contactFindings } from "./contact.ts";
import { footprintOf } from "./solids.ts";
import { toolOf } from "./tool.ts";

const CELL = 0.2;
const BLOCK: Solid = { kind: "box", min: [20, -6, -10], max: [40, 2, 4], name: "end block", role: "block" };
const [side] = blockInput([], CELL, [BLOCK]).sides;
// short enough for its shank and its holder to come down to the wood
const tool = toolOf({ ...FLAT, fluteLength: 4, reach: 7 }, profileHeight);

const place = fc.record({
  x: fc.double({ min: -6, max: 66, noNaN: true }),
  y: fc.double({ min: -6, max: 36, noNaN: true }),
  z: fc.double({ min: -11, max: 6, noNaN: true }),
  rapid: fc.boolean(),
});

function path(places: readonly { readonly x: number; readonly y: number; readonly z: number; readonly rapid: boolean }[]): MoveList {
  const b = new MoveBuilder([0, 0, 20]);
  for (const q of places) {
    if (q.rapid) b.rapid(q.x, q.y, q.z);
    else b.lineTo(q.x, q.y, q.z, 20);
  }
  const list = b.list();
  return { ...list, line: Uint32Array.from({ length: list.count }, (_, k) => k + 5) };
}

function found(moves: MoveList, bands: readonly (Rows | undefined)[]): readonly Finding[] {
  const all = bands.map((rows, k) => {
    const stock = makeBlock(0, 0, 60, 30, CELL, 0, rows);
    const contact = new Contact("a.ngc", side, tool, side.holding.map(footprintOf), stock, [0, 0], k === 0);
    contact.run(moves);
    return contact.touched();
  });
  return contactFindings("a.ngc", side, CELL, [0, 0], all);
}

describe("what is touched", () => {
  test("is the same whether the wood is cut whole or in bands: rules, lines, depths", () => {
    const rules = new Set<string>();
    fc.assert(
      fc.property(fc.array(place, { minLength: 2, maxLength: 12 }), (places) => {
        const moves = path(places);
        const whole = found(moves, [undefined]);
        for (const f of whole) rules.add(f.rule);
        for (const parts of [2, 4]) {
          const bands = found(moves, bandsOf(150, parts));
          const told = (fs: readonly Finding[]): string[] =>
            fs.map((f) => `${f.rule} ${f.where} ${f.says.replace(/\d+\.\d+/g, "")}`).sort();
          expect(told(bands)).toEqual(told(whole));
          for (const f of bands) {
            const same = whole.find((w) => w.rule === f.rule && w.where === f.where)!;
            expect(Math.abs(Number(f.value) - Number(same.value))).toBeLessThan(1e-3);
          }
        }
      }),
      { seed: 20260301, numRuns: 150 },
    );
    // all of them were met: rapid and feed into the block, the bed, a rapid through wood, shank and holder
    expect(rules.size).toBe(6);
  });

  test("a rapid that takes a little of two bands is judged by both together", () => {
    const take = { touches: [], rapids: [{ move: 3, depth: 0.01, removed: 0.6e-3 * CELL ** 2, line: 8, at: [1, 2, 3] as const }] };
    expect(contactFindings("a.ngc", side, CELL, [0, 0], [take])).toEqual([]);
    expect(contactFindings("a.ngc", side, CELL, [0, 0], [take, take]).map((f) => f.where)).toEqual(["a.ngc:8"]);
  });
});
