import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding } from "../../units/index.ts";
import { freeOf } from "../placed.ts";
import { HO } from "../rules.ts";
import type { Side, SideName, Solid } from "../types.ts";

/*
 * What a neck in sections cannot be combined with. Its pins and blocks stand along the blank's edges, section by section, where bed, seams and
 * index holes leave room; nothing of that follows a grid of holes, a place by hand or a hold from below.
 */

/** `sides`: as they were planned before they were divided. */
export function checkCombined(neck: Neck, machine: MachineSpec, sides: Readonly<Record<SideName, Pick<Side, "holding">>>): Finding[] {
  const { holding } = neck.order;
  const out: Finding[] = [];
  if (machine.grid !== undefined)
    out.push(
      finding(HO.noHole, {
        where: "machine.grid",
        value: `every ${machine.grid.pitch} mm`,
        limit: null,
        unit: "",
        says: "The neck is longer than the bed and cut in sections, and the bed has a grid of holes: pins and blocks of sections are not put onto holes.",
        tryThis: "Lay a spoil board or a sub-plate on the bed and leave the grid out of the shop (machine.grid), or use a longer machine.",
      }),
    );
  if (holding.press !== undefined)
    out.push(
      finding(HO.press, {
        where: "holding.press",
        value: holding.press.kind,
        limit: null,
        unit: "",
        says: "The neck is longer than the bed and cut in sections: part of it stands out over the bed, where nothing draws at it.",
        tryThis: "Leave holding.press out: sections are held by blocks.",
      }),
    );
  (holding.placed ?? []).forEach((p, k) => {
    const roles = new Set(
      ["board", "carve"].flatMap((n) => sides[n as SideName].holding.filter((s) => s.name === p.name).map((s) => s.role)),
    );
    if (roles.size === 0 || [...roles].every((r) => mayBePlaced(r))) return;
    out.push(
      finding(HO.placed, {
        where: `holding.placed.${k}`,
        value: p.name,
        limit: null,
        unit: "",
        says: `The neck is longer than the bed and cut in sections: "${p.name}" stands in each of them where bed, seams and index holes leave room, not where it was put.`,
        tryThis: "Take the entry away; screws and strips keep the places they were given.",
      }),
    );
  });
  return out;
}

/** What is carried into the sections from where it stood: what may be moved along the blank and does not touch its edge. */
const mayBePlaced = (role: Solid["role"]): boolean => freeOf(role).x && freeOf(role).y;
