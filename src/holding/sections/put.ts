import type { Neck } from "../../neck/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { baseName, freeOf, middleOf } from "../placed.ts";
import { HO } from "../rules.ts";
import type { Side, SideName, Solid } from "../types.ts";
import { blankFrame } from "./reach.ts";
import { settingOf } from "./setting.ts";

/*
 * What the order places by hand, in sections. Places count from the blank's own end and edge, whatever the section; a part of a section
 * bears the section's number in its name, so that a name says in which setting it stands. What cannot stand where it was put says why.
 */

/** The order's word about a part, the last one said. */
export function wishFor(neck: Neck, side: SideName, name: string): { readonly x?: Mm; readonly y?: Mm } | undefined {
  return (neck.order.holding.placed ?? []).findLast((p) => p.name === name && (p.side === undefined || p.side === side));
}

const r1 = (v: Mm): string => String(Math.round(v * 10) / 10);

/** Parts that stand elsewhere than the order put them. `bedOf`: what of the blank lies on the bed in a section; `pitch`: of a grid of holes. */
export function checkPut(
  neck: Neck,
  sides: Readonly<Record<SideName, Side>>,
  bedOf: (side: SideName, section: number) => readonly [Mm, Mm],
  pitch: Mm | undefined,
): Finding[] {
  return (neck.order.holding.placed ?? []).flatMap((p, k) => {
    const say = (value: string | number, limit: string | null, says: string, tryThis: string): Finding[] => [
      finding(HO.placed, { where: `holding.placed.${k}`, value, limit, unit: limit === null ? "" : "mm", says, tryThis }),
    ];
    for (const name of ["board", "carve"] as const) {
      if (p.side !== undefined && p.side !== name) continue;
      const side = sides[name];
      const frame = blankFrame(side);
      for (const { number } of side.sections ?? []) {
        const s = settingOf(side, number).holding.find((h) => h.name === p.name);
        if (s === undefined) continue;
        const free = freeOf(s.role, s.name);
        if (s.role === "index pin" && (p.x !== undefined || p.y !== undefined))
          return say(
            p.name,
            null,
            `"${p.name}" of section ${number} goes up into a hole that the section before has bored for it; it cannot stand elsewhere.`,
            "Take the entry away: seam and holes are placed where they harm least.",
          );
        const [x, y] = placeOf(s, frame);
        const near = pitch ?? 0;
        const off = [
          free.x && p.x !== undefined ? ([p.x, x, "x"] as const) : null,
          free.y && p.y !== undefined ? ([p.y, y, "y"] as const) : null,
        ].find((o) => o !== null && Math.abs(o[0] - o[1]) > near + 1e-6);
        if (off === null || off === undefined) continue;
        const [from, to] = bedOf(name, number).map((v) => Math.min(neck.order.blank.length, Math.max(0, v)));
        const range = off[2] === "x" ? `${r1(from)} to ${r1(to)}` : `0 to ${r1(neck.order.blank.width)}`;
        return say(
          off[0],
          range,
          `"${p.name}" cannot stand at ${off[2]} ${r1(off[0])}: in section ${number} the bed bears the blank from ${r1(from)} to ${r1(to)} mm${pitch === undefined ? "" : ", and the part stands over a hole of the bed"}.`,
          `Put it between them, clear of pins and index holes, or take the entry away: the plan has it at ${off[2]} ${r1(off[1])}.`,
        );
      }
    }
    return [];
  });
}

/** A part's middle as the order counts it. */
function placeOf(s: Solid, frame: ReturnType<typeof blankFrame>): readonly [Mm, Mm] {
  const [x, y] = middleOf(s, { along: 1, up: 1 });
  return frame.turned ? [y * frame.along, -x * frame.up] : [x * frame.along, y * frame.up];
}

/** Screws and strips of the plan that lie on the bed in none of the sections. */
export function nowhere(neck: Neck, whole: readonly Solid[], side: Pick<Side, "sections" | "name">): Finding[] {
  const there = new Set((side.sections ?? []).flatMap((s) => s.holding.map(baseName)));
  return (neck.order.holding.placed ?? []).flatMap((p, k) =>
    (p.side === undefined || p.side === side.name) &&
    whole.some((s) => s.name === p.name && (s.role === "support" || s.role === "screw")) &&
    !there.has(p.name)
      ? [
          finding(HO.placed, {
            where: `holding.placed.${k}`,
            value: p.name,
            limit: null,
            unit: "",
            says: `Where it was put, "${p.name}" lies whole on the bed and clear of pins and index holes in no section of the ${side.name} side.`,
            tryThis: "Put it some way off the seams and the blank's ends, or take the entry away.",
          }),
        ]
      : [],
  );
}
