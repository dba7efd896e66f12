import { signedDistance } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { extent, SWATH } from "../extent.ts";
import type { Holding, Side, Solid } from "../types.ts";
import { endStrips } from "./strips.ts";
import type { SectionPlan } from "./types.ts";

/** A tip stays so far inside the travel's ends. */
export const INSIDE: Mm = 1;
/** Holders pass so far beside a hole that is being bored (radius of a spindle nose, and air). */
const HOLDER: Mm = 24;
/** Room between a block's nose and the outline: as much as a holder needs where there is wood for it, else what a cutter sweeps. */
const ROOMS: readonly Mm[] = [24, 16, SWATH];

/** Distances along the blank that the machine must reach, and what of them one setting reaches. */
export interface Reach {
  /** Of the bed and the travel the shorter. */
  readonly span: Mm;
  readonly first: Mm;
  readonly last: Mm;
  /** Bed's left end in section 1, along the blank. */
  readonly start: Mm;
}

/** +1 when the blank lies on the plus side of the datum edge's line on the board side (with x along the neck). */
export const upOf = ({ sides }: Holding): 1 | -1 => {
  const { neckToProgram: t, stock } = sides.board;
  return Math.abs(t[0]) > 0.5 ? (stock.max[1] > 0 ? 1 : -1) : stock.min[0] < 0 ? 1 : -1;
};

/** Maps places along and across the blank to a side's program frame. */
export interface BlankFrame {
  readonly turned: boolean;
  readonly along: 1 | -1;
  readonly up: 1 | -1;
  readonly xy: (along: Mm, across: Mm) => readonly [Mm, Mm];
}

/** The program frame's origin is where datum edge and end stop meet, so stock bounds tell where the blank lies from there. */
export function blankFrame(side: Pick<Side, "stock" | "neckToProgram">): BlankFrame {
  const turned = Math.abs(side.neckToProgram[0]) < 0.5;
  const { min, max } = side.stock;
  const along = turned ? (max[1] > 0 ? 1 : -1) : max[0] > 0 ? 1 : -1;
  const up = turned ? (min[0] < 0 ? 1 : -1) : max[1] > 0 ? 1 : -1;
  return { turned, along, up, xy: (u, v) => (turned ? [-up * v + 0, along * u] : [along * u, up * v]) };
}

/** What holds the piece in section k, in the side's whole program frame. */
export function solidsOf(
  neck: Neck,
  plan: Holding,
  side: Side,
  sections: SectionPlan,
  k: number,
  reach: Reach,
  outline: Float64Array,
): Solid[] {
  const frame = blankFrame(side);
  const { pin, block } = neck.order.holding;
  const { width } = neck.order.blank;
  const top = side.stock.max[2];
  const bed: readonly [Mm, Mm] = [reach.start + sections.shifts[k] + INSIDE, reach.start + sections.shifts[k] + reach.span - INSIDE];
  const cylinder = (name: string, role: Solid["role"], u: Mm, v: Mm): Solid => {
    const [x, y] = frame.xy(u, v);
    return { kind: "cylinder", name, role, x, y, diameter: pin.diameter, zMin: 0, zMax: pin.height };
  };
  const out: Solid[] = [];
  const keep: [Mm, Mm][] = [];
  if (k === 0) {
    // fence pins at the ends of what the bed and the holes leave
    const f1 = Math.max(neck.order.blank.length * 0.05, 20);
    const f2 = Math.min(sections.seams[0].at - 30, bed[1] - 60);
    out.push(cylinder("fence pin 1", "fence pin", f1, -pin.diameter / 2));
    out.push(cylinder("fence pin 2", "fence pin", f2, -pin.diameter / 2));
    out.push(cylinder("end stop", "end stop", -pin.diameter / 2, width / 2));
    keep.push([f1, pin.diameter / 2 + 2], [f2, pin.diameter / 2 + 2]);
  } else
    for (const h of sections.holes.filter((q) => q.section === k + 1)) {
      out.push(cylinder(`index pin, ${h.slot > 0 ? "far" : "datum"} side`, "index pin", h.along, h.across));
      keep.push([h.along, pin.diameter / 2 + 2]);
    }
  // holes that this section bores
  for (const h of sections.holes.filter((q) => q.section === k + 2)) keep.push([h.along, h.diameter / 2 + HOLDER]);
  out.push(...edgeBlocks());
  const inBed = (s: Solid): boolean => {
    const e = extent({ min: [Infinity, Infinity, 0], max: [-Infinity, -Infinity, 0] }, [s]);
    const ends = (frame.turned ? [e.minY, e.maxY] : [e.minX, e.maxX]).map((v) => v * frame.along);
    return Math.min(...ends) >= bed[0] && Math.max(...ends) <= bed[1];
  };
  const clear = (s: Solid): boolean => {
    if (s.kind !== "cylinder") return true;
    const u = (frame.turned ? s.y : s.x) * frame.along;
    return keep.every(([at, room]) => Math.abs(u - at) > room + s.diameter / 2);
  };
  for (const s of side.holding) if ((s.role === "support" && inBed(s)) || (s.role === "screw" && inBed(s) && clear(s))) out.push(s);
  out.push(...endStrips(neck, side, plan, out, bed));
  return out;

  /** Two blocks along each edge, as far apart as bed, wood, pins and holes allow. */
  function edgeBlocks(): Solid[] {
    const blocks: Solid[] = [];
    const { tipFromEnd, centreFromDatum } = plan.placement;
    const shift = tipFromEnd - neck.places.tip;
    const up = upOf(plan);
    for (const edge of ["datum", "far"] as const) {
      const inner = edge === "datum" ? block.grip : width - block.grip;
      const outer = edge === "datum" ? block.grip - block.length : width - block.grip + block.length;
      const rim = edge === "datum" ? -0.5 : width + 0.5;
      for (const room of ROOMS) {
        const free: Mm[] = [];
        for (let u = bed[0] + block.width / 2; u <= Math.min(bed[1], neck.order.blank.length) - block.width / 2; u += 2.5) {
          if (u - block.width / 2 < 0) continue;
          if (keep.some(([at, wide]) => Math.abs(u - at) <= wide + block.width / 2)) continue;
          let gap = Number.POSITIVE_INFINITY;
          for (const du of [-0.5, 0, 0.5]) {
            const y = (inner - centreFromDatum) * up;
            gap = Math.min(gap, signedDistance([outline], u + du * block.width - shift, y));
          }
          if (gap >= room) free.push(u);
        }
        if (free.length === 0 || (free[free.length - 1] - free[0] < 60 && room !== SWATH)) continue;
        const at = free[free.length - 1] - free[0] > block.width + 5 ? [free[0], free[free.length - 1]] : [free[0]];
        at.forEach((u, n) => {
          const name = `block, ${edge} side, ${n + 1}`;
          blocks.push(box(name, u, inner, outer, top, top + block.height));
          blocks.push(box(`${name}, foot`, u, rim, outer, 0, top));
        });
        break;
      }
    }
    return blocks;
  }

  function box(name: string, u: Mm, v0: Mm, v1: Mm, z0: Mm, z1: Mm): Solid {
    const [ax, ay] = frame.xy(u - block.width / 2, v0);
    const [bx, by] = frame.xy(u + block.width / 2, v1);
    return {
      kind: "box",
      name,
      role: "block",
      min: [Math.min(ax, bx), Math.min(ay, by), z0],
      max: [Math.max(ax, bx), Math.max(ay, by), z1],
    };
  }
}
