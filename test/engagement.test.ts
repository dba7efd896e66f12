/** What roughing meets when the blank is larger than the order says, by the margin that its plan grants. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { planHolding } from "../src/holding/index.ts";
import { engagementOf } from "../src/job/job-file.ts";
import { groupCuts } from "../src/job/programs.ts";
import { readOrder } from "../src/job/source.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { makeNeck } from "../src/neck/index.ts";
import { BLANK_MARGIN } from "../src/paths/operations/rough.ts";
import { contextOf, cutsAhead, planCut } from "../src/paths/plan.ts";
import { type Audit, auditEngagement } from "../src/proof/engagement.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import { parseShop } from "../src/spec/index.ts";
import { orderSource } from "./examples.ts";
import { root } from "./sources.ts";

/** Audits the headstock's roughing alone on a blank that stands out by `more` on every side. */
function headstockOn(order: string, shop: string): (more: number) => Audit {
  const o = readOrder(orderSource(join(root, `examples/${order}.order.json`))).value;
  const s = parseShop(readFileSync(join(root, `examples/${shop}.shop.json`))).value;
  if (!o || !s) throw new Error("the examples must be readable");
  const neck = makeNeck(o);
  const holding = planHolding(neck, s.machine);
  // the cut that takes longest to plan, without the others
  const [first] = cutsAhead(neck, ["board"]);
  const { cut } = planCut(first.name, contextOf(neck, holding.sides.board, s), holding.sides.board);
  if (cut?.id !== "board-headstock-rough") throw new Error(`${first.name} is ${cut?.id}`);
  const { groups } = groupCuts({ cuts: [cut], steps: [{ kind: "cut", cut: cut.id }] });
  const [program] = writePrograms(groups, o, "0".repeat(64), s, holding).programs;
  const side = holding.sides.board;
  const { min, max } = side.stock;
  const read = interpretProgram(program.text, { start: [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, side.safeZ] });
  const cutter = s.cutters.find((c) => c.number === program.cutter);
  const asked = engagementOf({ cuts: [cut] })[cut.id];
  if (cutter === undefined || asked === undefined) throw new Error("roughing states its cutter and its limit");
  return (more) =>
    auditEngagement({ xMin: min[0] - more, yMin: min[1] - more, xMax: max[0] + more, yMax: max[1] + more }, max[2], [
      { file: program.file, ...read, cutter, cuts: [{ id: cut.id, asked }] },
    ]);
}

test("loan-ukulele on stiff-router: nothing meets more wood than asked on a blank that stands out by the margin on every side", () => {
  const audit = headstockOn("loan-ukulele", "stiff-router");
  for (const more of [0, BLANK_MARGIN / 2, BLANK_MARGIN]) {
    const { findings, figures } = audit(more);
    expect(findings).toEqual([]);
    expect([...figures.values()].flat().length).toBe(1);
  }
});
