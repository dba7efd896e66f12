import { signedDistance } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { extent, SWATH } from "../extent.ts";
import { AIR } from "../grid.ts";
import { pressOf } from "../press.ts";
import { apply, inverse } from "../transform.ts";
import type { Holding, Side, Solid } from "../types.ts";
import { edgeBlocks } from "./blocks.ts";
import { wishFor } from "./put.ts";
import { blankFrame, INSIDE, type Lattice, type Reach } from "./reach.ts";
import { endStrips } from "./strips.ts";
import type { SectionPlan } from "./types.ts";

/** Holders pass so far beside a hole that is being bored (radius of a spindle nose, and air). */
const HOLDER: Mm = 24;

/** What of the blank lies on the bed when it is shifted by so much. */
export const bedIn = (reach: Reach, shift: Mm): readonly [Mm, Mm] => [
  reach.start + shift + INSIDE,
  reach.start + shift + reach.span - INSIDE,
];

/** One section of a side: which, how its blank is shifted, and over which holes of the bed. */
export interface Setting {
  /** From 0. */
  readonly k: number;
  readonly shift: readonly [along: Mm, across: Mm];
  readonly lattice: Lattice | null;
  readonly reach: Reach;
  readonly outline: Float64Array;
  readonly clear: (parts: readonly Solid[]) => boolean;
}

/** What holds the piece in a section, in the side's whole program frame. */
export function solidsOf(neck: Neck, plan: Holding, side: Side, sections: SectionPlan, setting: Setting): Solid[] {
  const { k, lattice, reach, outline } = setting;
  const frame = blankFrame(side);
  const { pin } = neck.order.holding;
  const { width, length } = neck.order.blank;
  const r = pin.diameter / 2;
  const bed = bedIn(reach, setting.shift[0]);
  const over = (places: readonly Mm[], to: Mm, may: (v: Mm) => boolean): Mm | undefined =>
    places
      .filter(may)
      .reduce<Mm | undefined>((best, v) => (best === undefined || Math.abs(v - to) < Math.abs(best - to) ? v : best), undefined);
  const cylinder = (name: string, role: Solid["role"], u: Mm, v: Mm): Solid => {
    const [x, y] = frame.xy(u, v);
    return { kind: "cylinder", name, role, x, y, diameter: pin.diameter, zMin: 0, zMax: pin.height };
  };
  const out: Solid[] = [];
  const keep: [Mm, Mm][] = [];
  const pins = pinsIn(neck, side, sections, k);
  if (pins.length === 0) {
    // fence pins at the ends of what the bed and the holes leave
    const last = Math.min(sections.seams[0].at - 30, bed[1] - 60);
    const ends: readonly (readonly [string, Mm])[] = [
      ["fence pin 1", Math.max(length * 0.05, 20)],
      ["fence pin 2", last],
    ];
    for (const [name, u0] of ends) {
      const may = (u: Mm): boolean => u >= r + AIR && u <= bed[1] - r && keep.every(([at]) => Math.abs(u - at) >= 2 * pin.diameter);
      const put = wishFor(neck, side.name, name)?.x;
      const wish = put !== undefined && may(put) ? put : u0;
      const u = lattice === null ? wish : (over(lattice.columns, wish, may) ?? wish);
      out.push(cylinder(name, "fence pin", u, -r));
      keep.push([u, r + 2]);
    }
    const put = wishFor(neck, side.name, "end stop")?.y;
    const wish = put !== undefined && put >= r && put <= width - r ? put : width / 2;
    const v = lattice === null ? wish : (over(lattice.rows, wish, (q) => q >= r + AIR && q <= width - r - AIR) ?? wish);
    out.push(cylinder("end stop", "end stop", -r, v));
  } else
    for (const h of pins) {
      out.push(cylinder(`index pin, ${h.slot > 0 ? "far" : "datum"} side`, "index pin", h.along, h.across));
      keep.push([h.along, r + 2]);
    }
  // holes that this section bores
  if (side.name === "board" || pins.every((h) => h.section !== k + 2))
    for (const h of sections.holes.filter((q) => q.section === k + 2)) keep.push([h.along, h.diameter / 2 + HOLDER]);
  if (pressOf(neck, side.name) === undefined)
    out.push(...edgeBlocks(neck, plan, side, { number: k + 1, bed, keep, lattice, outline, clear: setting.clear }));
  const inBed = (s: Solid): boolean => {
    const e = extent({ min: [Infinity, Infinity, 0], max: [-Infinity, -Infinity, 0] }, [s]);
    const ends = (frame.turned ? [e.minY, e.maxY] : [e.minX, e.maxX]).map((v) => v * frame.along);
    return Math.min(...ends) >= bed[0] && Math.max(...ends) <= bed[1];
  };
  const onTheWay = (u: Mm, radius: Mm): boolean => keep.some(([at, room]) => Math.abs(u - at) <= room + radius);
  const standsFree = (s: Solid): boolean =>
    out.every((o) => o.kind !== "box" || s.kind !== "cylinder" || boxGap(o, s.x, s.y) >= s.diameter / 2 + AIR);
  for (const s of side.holding) {
    if (s.role === "support" && inBed(s)) out.push(s);
    if (s.role !== "screw" || s.kind !== "cylinder") continue;
    const there = lattice === null ? s : overHole(s, lattice);
    if (there === null || !inBed(there) || !standsFree(there)) continue;
    if (!onTheWay((frame.turned ? there.y : there.x) * frame.along, there.diameter / 2)) out.push(there);
  }
  out.push(...endStrips(neck, side, plan, out, bed));
  return out;

  /** The screw over the nearest hole in the waste on its own side of the neck; null where there is none within a pitch. */
  function overHole(s: Extract<Solid, { kind: "cylinder" }>, { columns, rows }: Lattice): typeof s | null {
    const half = s.diameter / 2;
    const [u0, v0] = frame.turned ? [s.y * frame.along, -s.x * frame.up] : [s.x * frame.along, s.y * frame.up];
    const near = v0 < width / 2;
    const inv = inverse(side.neckToProgram);
    const pitch = columns.length < 2 ? 0 : columns[1] - columns[0];
    let best: { readonly d: Mm; readonly at: readonly [Mm, Mm] } | null = null;
    for (const u of columns)
      for (const v of rows) {
        if (Math.abs(u - u0) > pitch || v < width / 2 !== near || v - half < AIR || v + half > width - AIR || u - half < 0) continue;
        if (onTheWay(u, half) || u + half > length) continue;
        const at = frame.xy(u, v);
        const p = apply(inv, at[0], at[1], 0);
        const d = Math.hypot(u - u0, v - v0);
        if (signedDistance([outline], p[0], p[1]) < SWATH + half || (best !== null && d >= best.d)) continue;
        if (standsFree({ ...s, x: at[0], y: at[1] })) best = { d, at };
      }
    return best === null ? null : { ...s, x: best.at[0], y: best.at[1] };
  }
}

/**
 * The holes that a section is found by: those bored for it. Turned on pins through the waste, the first section goes onto the holes that
 * the board side bored for the second.
 */
export function pinsIn(neck: Neck, side: Pick<Side, "name">, sections: SectionPlan, k: number): SectionPlan["holes"] {
  const onPins = side.name === "carve" && neck.order.holding.way === "waste-pins";
  return k > 0 ? sections.holes.filter((h) => h.section === k + 1) : onPins ? sections.holes.filter((h) => h.section === 2) : [];
}

function boxGap(o: Extract<Solid, { kind: "box" }>, x: Mm, y: Mm): Mm {
  return Math.hypot(Math.max(0, o.min[0] - x, x - o.max[0]), Math.max(0, o.min[1] - y, y - o.max[1]));
}
