import type { Holding } from "../holding/types.ts";
import { bounds } from "../kernel/bounds.ts";
import { MoveKind } from "../kernel/moves.ts";
import type { Neck } from "../neck/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { PA } from "./rules.ts";
import type { Cut } from "./types.ts";

/** Farthest a cut may reach beyond the blank, mm: the widest cutter and its run-out. */
const SURROUNDINGS = 15;

/** Measures of rightness of the moves alone: safe beginnings and ends, rapids across at the safe height only, no wandering off. */
export function checkPlan(_neck: Neck, holding: Holding, cuts: readonly Cut[]): Finding[] {
  const out: Finding[] = [];
  for (const cut of cuts) {
    const side = holding.sides[cut.side];
    const m = cut.moves;
    let x = m.start[0];
    let y = m.start[1];
    let z = m.start[2];
    let low: number | null = z < side.safeZ - 1e-6 ? z : null;
    for (let k = 0; k < m.count; k++) {
      if (m.kind[k] === MoveKind.rapid && (m.x[k] !== x || m.y[k] !== y) && Math.min(z, m.z[k]) < side.safeZ - 1e-6)
        low = Math.min(low ?? Number.POSITIVE_INFINITY, z, m.z[k]);
      x = m.x[k];
      y = m.y[k];
      z = m.z[k];
    }
    if (m.count > 0 && z < side.safeZ - 1e-6) low = Math.min(low ?? Number.POSITIVE_INFINITY, z);
    if (low !== null)
      out.push(
        finding(PA.unsafeStart, {
          where: cut.id,
          value: low,
          limit: side.safeZ,
          unit: "mm",
          says: "The cut travels across, begins or ends below the safe height.",
          tryThis: "This is a fault of the plan itself; do not cut.",
        }),
      );
    const box = bounds(m);
    const over = Math.max(
      side.stock.min[0] - box.min[0],
      side.stock.min[1] - box.min[1],
      box.max[0] - side.stock.max[0],
      box.max[1] - side.stock.max[1],
    );
    if (over > SURROUNDINGS || box.min[2] < side.bed)
      out.push(
        finding(PA.outsideTravel, {
          where: cut.id,
          value: Math.round(Math.max(over, side.bed - box.min[2]) * 100) / 100,
          limit: SURROUNDINGS,
          unit: "mm",
          says: "The cut leaves the blank's surroundings or goes below the bed.",
          tryThis: "This is a fault of the plan itself; do not cut.",
        }),
      );
  }
  return out;
}
