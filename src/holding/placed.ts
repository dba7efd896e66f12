import type { Neck } from "../neck/types.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { HO } from "./rules.ts";
import type { Lay } from "./solids.ts";
import type { SideName, Solid } from "./types.ts";

/*
 * Pins, blocks, screws and strips that the maker has put elsewhere than the plan would. Places are of a solid's middle, in the blank's own
 * words: x from the end stop's line, y from the datum edge. What touches the blank keeps touching it: a fence pin goes along the edge only, the
 * end stop and the blocks go across only.
 */

const FOOT = /, foot$/;
export const baseName = (s: Pick<Solid, "name">): string => s.name.replace(FOOT, "");

/** Blocks of a neck in sections grip the blank's edges, and their names say so. */
const EDGE_BLOCK = /^block, section \d+, /;
export const gripsEdge = (name: string): boolean => EDGE_BLOCK.test(name);

/** Which of its places a solid may have changed; of a block its name tells which way it grips. */
export function freeOf(role: Solid["role"], name = ""): { readonly x: boolean; readonly y: boolean } {
  if (role === "block" && gripsEdge(name)) return { x: true, y: false };
  return { x: role === "fence pin" || role === "screw" || role === "support", y: role !== "fence pin" && role !== "index pin" };
}

/** The middle of a solid seen from above, in the blank's words. */
export function middleOf(s: Solid, lay: Pick<Lay, "along" | "up">): readonly [Mm, Mm] {
  const [x, y] =
    s.kind === "box"
      ? [(s.min[0] + s.max[0]) / 2, (s.min[1] + s.max[1]) / 2]
      : s.kind === "cylinder"
        ? [s.x, s.y]
        : [s.points.reduce((a, p) => a + p[0], 0) / s.points.length, s.points.reduce((a, p) => a + p[1], 0) / s.points.length];
  return [x * lay.along, y * lay.up];
}

export function shifted(s: Solid, dx: Mm, dy: Mm): Solid {
  if (s.kind === "box") return { ...s, min: [s.min[0] + dx, s.min[1] + dy, s.min[2]], max: [s.max[0] + dx, s.max[1] + dy, s.max[2]] };
  if (s.kind === "cylinder") return { ...s, x: s.x + dx, y: s.y + dy };
  return { ...s, points: s.points.map(([x, y]) => [x + dx, y + dy] as const) };
}

/** The side's solids where the order has put them; before they are laid on the bed. */
export function putWhereOrdered(neck: Neck, side: SideName, solids: readonly Solid[], lay: Lay): Solid[] {
  const placed = (neck.order.holding.placed ?? []).filter((p) => p.side === undefined || p.side === side);
  if (placed.length === 0) return [...solids];
  return solids.map((s) => {
    const wish = placed.findLast((p) => p.name === baseName(s));
    if (wish === undefined) return s;
    // a block's foot goes with its nose, so the nose says how far
    const main = solids.find((m) => m.name === wish.name) ?? s;
    const [x, y] = middleOf(main, lay);
    const free = freeOf(s.role);
    return shifted(
      s,
      free.x && wish.x !== undefined ? (wish.x - x) * lay.along : 0,
      free.y && wish.y !== undefined ? (wish.y - y) * lay.up : 0,
    );
  });
}

/** Every name that the order places is one that the plan has; what is put has to stay on the blank, or touch it. */
export function checkPlaced(neck: Neck, sides: Readonly<Record<SideName, readonly Solid[]>>): Finding[] {
  const { placed } = neck.order.holding;
  return (placed ?? []).flatMap((p, k) => {
    const found = (["board", "carve"] as const).filter(
      (n) => (p.side === undefined || p.side === n) && sides[n].some((s) => s.name === p.name),
    );
    if (found.length > 0) return [];
    const names = [...new Set([...sides.board, ...sides.carve].filter((s) => !FOOT.test(s.name)).map((s) => s.name))];
    return [
      finding(HO.placed, {
        where: `holding.placed.${k}.name`,
        value: p.name,
        limit: null,
        unit: "",
        says: `The plan has nothing called "${p.name}"${p.side === undefined ? "" : ` on the ${p.side} side`}.`,
        tryThis: `Name one of: ${names.join("; ")}. Or take the entry away.`,
      }),
    ];
  });
}
