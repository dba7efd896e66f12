import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { BOW_LIMIT, contactsOf, planningForce, worstBow } from "../bow.ts";
import { extent } from "../extent.ts";
import { pressOf } from "../press.ts";
import { HO } from "../rules.ts";
import type { Holding, Side } from "../types.ts";
import { noSections } from "./places.ts";
import { settingOf } from "./setting.ts";
import type { SectionPlan } from "./types.ts";

const r1 = (v: Mm): Mm => Math.round(v * 10) / 10;

/** The stock's extent across alone, in a setting: along, it may stand out over the bed. */
export function acrossOnly(side: Side, [dx, dy]: readonly [Mm, Mm] = [0, 0]): Side["stock"] {
  const { min, max } = side.stock;
  return Math.abs(side.neckToProgram[0]) < 0.5
    ? { min: [min[0] - dx, 0, min[2]], max: [max[0] - dx, 0, max[2]] }
    : { min: [0, min[1] - dy, min[2]], max: [0, max[1] - dy, max[2]] };
}

/** From the finished sides: every section is held by blocks at two places at least, or from below, and all that holds it lies on the bed. */
export function checkSections(neck: Neck, machine: MachineSpec, sides: Holding["sides"], plan: SectionPlan): Finding[] {
  const out: Finding[] = [];
  for (const s of neck.order.holding.supports ? (sides.carve.sections ?? []) : []) {
    const contacts = contactsOf({ holding: settingOf(sides.carve, s.number).holding, neckToProgram: sides.carve.neckToProgram });
    const force = planningForce(machine);
    const bow = worstBow(neck, contacts, force);
    if (bow === null || bow.bow < BOW_LIMIT) continue;
    out.push(
      finding(HO.bow, {
        where: `carve side, section ${s.number} of ${plan.count}`,
        value: Math.round(bow.bow * 1000) / 1000,
        limit: BOW_LIMIT,
        unit: "mm",
        says: `Between two supports the turned piece bows ${bow.bow.toFixed(3)} mm under ${Math.round(force)} N at ${Math.round(bow.at)} mm from the nut, and is carved that much too thick there.`,
        tryThis: "Lay a strip under it there by hand, or cut with less depth.",
      }),
    );
  }
  for (const side of [sides.board, sides.carve])
    for (const s of side.sections ?? []) {
      const where = `${side.name} side, section ${s.number} of ${plan.count}`;
      const noses = s.holding.filter((h) => h.role === "block" && !h.name.endsWith("foot")).length;
      if (noses < 2 && pressOf(neck, side.name) === undefined)
        out.push(
          noSections(
            where,
            noses,
            2,
            machine.grid === undefined
              ? "There is no wood for two blocks in this section."
              : `Over the bed's holes, ${machine.grid.pitch} mm apart, there is no wood for two blocks in this section.`,
            machine.grid === undefined
              ? "Take a wider blank or a shorter grip (holding.block.grip)."
              : "Take a wider blank, a shorter grip (holding.block.grip), or a plate whose holes are nearer to each other.",
          ),
        );
      const e = extent(acrossOnly(side, s.shift), s.holding);
      const [zx, zy] = side.zeroOnBed;
      const over = Math.max(-(e.minX + zx), e.maxX + zx - machine.bed.x, -(e.minY + zy), e.maxY + zy - machine.bed.y);
      if (over > 1e-6)
        out.push(
          noSections(
            where,
            over,
            0,
            `Pins and blocks stand ${r1(over)} mm out over the bed.`,
            "Use shorter blocks, a narrower blank, or a larger machine.",
          ),
        );
    }
  return out;
}
