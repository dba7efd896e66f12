import type { Cutter } from "../cutting/types.ts";
import { settingOf } from "../holding/sections/setting.ts";
import type { Holding, Side, Solid } from "../holding/types.ts";
import { MoveKind } from "../kernel/moves.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { PA } from "./rules.ts";
import type { Cut } from "./types.ts";

/*
 * How far a cutter must stick out: at every place of every cut the holder (each of its steps) clears what holds the piece and the
 * blank's whole face beside it, or the finding says by how much more the cutter would have to reach. Judged from the moves
 * and the solids alone; the proof sees what wood is really there.
 */

/** Air between the holder and anything that does not turn, mm; common practice, no source. */
export const HOLDER_AIR: Mm = 1;
/** Places of a move no farther apart than this are looked at; joins the air. */
const EVERY: Mm = 1;

/** Distance in plan from a point to an upright solid, 0 inside. */
export function planDistance(s: Solid, x: Mm, y: Mm): Mm {
  if (s.kind === "cylinder") return Math.max(0, Math.hypot(x - s.x, y - s.y) - s.diameter / 2);
  if (s.kind === "box") return Math.hypot(Math.max(0, s.min[0] - x, x - s.max[0]), Math.max(0, s.min[1] - y, y - s.max[1]));
  let best = Number.POSITIVE_INFINITY;
  let inside = false;
  for (let k = 0, j = s.points.length - 1; k < s.points.length; j = k++) {
    const [ax, ay] = s.points[j];
    const [bx, by] = s.points[k];
    if (by > y !== ay > y && x < ((ax - bx) * (y - by)) / (ay - by) + bx) inside = !inside;
    const d2 = (bx - ax) ** 2 + (by - ay) ** 2;
    const t = d2 > 0 ? Math.min(1, Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / d2)) : 0;
    best = Math.min(best, Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay)));
  }
  return inside ? 0 : best;
}

export const topOf = (s: Solid): Mm => (s.kind === "box" ? s.max[2] : s.zMax);

/** A circle around a solid, in plan. */
export function roundOf(s: Solid): { readonly x: Mm; readonly y: Mm; readonly radius: Mm } {
  if (s.kind === "cylinder") return { x: s.x, y: s.y, radius: s.diameter / 2 };
  const at = s.kind === "box" ? [s.min, [s.max[0], s.min[1]], s.max, [s.min[0], s.max[1]]] : s.points;
  const x = at.reduce((sum, p) => sum + p[0], 0) / at.length;
  const y = at.reduce((sum, p) => sum + p[1], 0) / at.length;
  return { x, y, radius: Math.max(...at.map((p) => Math.hypot(p[0] - x, p[1] - y))) };
}

/** By how much more a cut's cutter would have to stick out to clear what holds the piece (0 or less: it clears), and what it meets. */
export function reachWanted(
  cut: Cut,
  cutter: Cutter,
  side: Pick<Side, "holding">,
): { readonly more: Mm; readonly what: string; readonly z: Mm } {
  const m = cut.moves;
  let worst = { more: Number.NEGATIVE_INFINITY, what: "", z: 0 };
  const steps: { readonly radius: Mm; readonly from: Mm }[] = [];
  let from = cutter.reach;
  for (const h of cutter.holder) {
    steps.push({ radius: h.diameter / 2, from });
    from += h.length;
  }
  const widest = Math.max(0, ...steps.map((h) => h.radius)) + HOLDER_AIR;
  const solids = side.holding.map((s) => ({ s, top: topOf(s) + HOLDER_AIR, ...roundOf(s) }));
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    const qx = m.x[k];
    const qy = m.y[k];
    const qz = m.z[k];
    const feed = m.kind[k] === MoveKind.line || m.kind[k] === MoveKind.arc;
    const low = Math.min(pz, qz);
    // arcs by their box of ends and radius: never too small
    const r =
      m.kind[k] === MoveKind.arc && m.plane[k] === 0 ? Math.hypot(px - m.cx[k], py - m.cy[k]) * Math.min(1, Math.abs(m.sweep[k]) / 2) : 0;
    if (feed) {
      const L = Math.sqrt((qx - px) * (qx - px) + (qy - py) * (qy - py));
      const near = L / 2 + r + widest + EVERY;
      for (const { s, top, x, y, radius } of solids) {
        if (low + cutter.reach >= top && top - low - cutter.reach <= worst.more) continue;
        const mx = (px + qx) / 2 - x;
        const my = (py + qy) / 2 - y;
        if (mx * mx + my * my > (near + radius) * (near + radius) * (1 + 1e-9)) continue;
        if (planDistance(s, (px + qx) / 2, (py + qy) / 2) > near) continue;
        const n = Math.max(1, Math.ceil(L / EVERY));
        for (let i = 0; i <= n; i++) {
          const d = planDistance(s, px + ((qx - px) * i) / n, py + ((qy - py) * i) / n) - r;
          const z = m.kind[k] === MoveKind.arc ? low : pz + ((qz - pz) * i) / n;
          for (const h of steps) {
            if (d >= h.radius + HOLDER_AIR) continue;
            const more = top - (z + h.from);
            if (more > worst.more) worst = { more, what: s.name, z };
          }
        }
      }
    }
    px = qx;
    py = qy;
    pz = qz;
  }
  return worst;
}

/** A finding for every cut whose holder would come too near to what holds the piece. */
export function checkReach(holding: Holding, cuts: readonly Cut[], cutters: readonly Cutter[]): Finding[] {
  return cuts.flatMap((cut) => {
    const cutter = cutters.find((c) => c.number === cut.cutter);
    if (cutter === undefined) return [];
    const { more, what, z } = reachWanted(cut, cutter, settingOf(holding.sides[cut.side], cut.section));
    if (!(more > 1e-6)) return [];
    const short = Math.ceil(more * 10) / 10;
    return [
      finding(PA.reach, {
        where: cut.id,
        value: cutter.reach,
        limit: cutter.reach + short,
        unit: "mm",
        says: `With T${cutter.number} ${cutter.name} sticking out ${cutter.reach} mm, the holder comes nearer than ${HOLDER_AIR} mm to the ${what} when the tip is at z ${z.toFixed(1)}: it needs ${short} mm more reach.`,
        tryThis: `Let the cutter stick out ${cutter.reach + short} mm or more, use a slimmer holder, or lower or move the ${what}.`,
      }),
    ];
  });
}
