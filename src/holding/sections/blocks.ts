import { signedDistance } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { SWATH } from "../extent.ts";
import { AIR } from "../grid.ts";
import type { Holding, Side, Solid } from "../types.ts";
import { inBlankOf } from "../where.ts";
import { wishFor } from "./put.ts";
import { blankFrame, type Lattice } from "./reach.ts";

/** Room between a block's nose and the outline: as much as a holder needs where there is wood for it, else what a cutter sweeps. */
const ROOMS: readonly Mm[] = [24, 16, SWATH];
/** Places are looked at so far apart on a plain bed, and two blocks of an edge stand at least so far from each other. */
const STEP: Mm = 2.5;
const APART: Mm = 5;

export interface BlockAsk {
  /** The section's number, from 1. */
  readonly number: number;
  /** What of the blank lies on the bed. */
  readonly bed: readonly [Mm, Mm];
  /** Places along the blank that stay free, each with its room. */
  readonly keep: readonly (readonly [at: Mm, room: Mm])[];
  readonly lattice: Lattice | null;
  readonly outline: Float64Array;
  /** Whether parts keep clear of what turns. */
  readonly clear: (parts: readonly Solid[]) => boolean;
}

/** Two blocks along each edge, as far apart as bed, wood, pins and holes allow, or where the order has put them. */
export function edgeBlocks(neck: Neck, plan: Holding, side: Side, ask: BlockAsk): Solid[] {
  const { bed, keep, lattice, outline } = ask;
  const { block } = neck.order.holding;
  const { length, width } = neck.order.blank;
  const frame = blankFrame(side);
  const at = inBlankOf(neck, plan.placement);
  const top = side.stock.max[2];
  const out: Solid[] = [];
  for (const edge of ["datum", "far"] as const) {
    const outward = edge === "datum" ? -1 : 1;
    const line = edge === "datum" ? 0 : width;
    const inner = line - outward * block.grip;
    const long = longOf(outward, line);
    if (long === null) continue;
    const parts = (u: Mm, n: number): readonly Solid[] => {
      const name = `block, section ${ask.number}, ${edge} side, ${n + 1}`;
      const outer = line + outward * long;
      const foot = long > 0.5 ? [box(`${name}, foot`, u, line + outward * 0.5, outer, 0, top)] : [];
      return [box(name, u, inner, outer, top, top + block.height), ...foot];
    };
    const onBed = (u: Mm): boolean =>
      u - block.width / 2 >= Math.max(0, bed[0]) - 1e-9 && u + block.width / 2 <= Math.min(bed[1], length) + 1e-9;
    const free = keep.length === 0 ? () => true : (u: Mm) => keep.every(([k, wide]) => Math.abs(u - k) > wide + block.width / 2);
    const places = lattice === null ? stepped(bed[0] + block.width / 2, Math.min(bed[1], length) - block.width / 2) : lattice.columns;
    const able = places.filter((u) => onBed(u) && free(u));
    let chosen: readonly Mm[] = [];
    for (const room of ROOMS) {
      const roomy = able.filter((u) => roomAt(u, inner) >= room);
      const clear = roomy.filter((u) => ask.clear(parts(u, 0)));
      const good = clear.length > 0 ? clear : room === SWATH ? roomy : [];
      if (good.length === 0 || (good[good.length - 1] - good[0] < 60 && room !== SWATH)) continue;
      const [a, b] = [good[0], good[good.length - 1]];
      chosen = b - a > block.width + APART ? [a, b] : [a];
      break;
    }
    for (const n of [0, 1]) {
      const wish = wishFor(neck, side.name, `block, section ${ask.number}, ${edge} side, ${n + 1}`)?.x;
      const put = wish === undefined ? undefined : nearest(lattice === null ? [wish] : lattice.columns, wish);
      const u = put !== undefined && onBed(put) ? put : chosen[n];
      if (u !== undefined) out.push(...parts(u, n));
    }
  }
  return out;

  /** How far a block stands out over the edge: as it was ordered, or as its bolt's row takes; null where no row of holes is left. */
  function longOf(outward: 1 | -1, line: Mm): Mm | null {
    const ordered = block.length - block.grip;
    if (lattice === null) return ordered;
    const bolt = lattice.bolt / 2 + AIR;
    const rows = lattice.rows.map((v) => (v - line) * outward).filter((d) => d >= 0.5 + bolt);
    return rows.length === 0 ? null : Math.max(ordered, Math.min(...rows) + bolt);
  }

  /** Least distance of a nose's inner edge from the outline. */
  function roomAt(u: Mm, inner: Mm): Mm {
    return Math.min(
      ...[-0.5, 0, 0.5].map((du) => {
        const v = u + du * block.width;
        return signedDistance([outline], at.x(v, inner), at.y(v, inner));
      }),
    );
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

const stepped = (from: Mm, to: Mm): Mm[] =>
  Array.from({ length: Math.max(0, Math.floor((to - from) / STEP + 1e-9) + 1) }, (_, k) => from + k * STEP);
const nearest = (places: readonly Mm[], to: Mm): Mm | undefined =>
  places.reduce<Mm | undefined>((best, v) => (best === undefined || Math.abs(v - to) < Math.abs(best - to) ? v : best), undefined);
