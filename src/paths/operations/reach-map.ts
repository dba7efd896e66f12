import { profileOf } from "../../cutting/shape.ts";
import type { Cutter } from "../../cutting/types.ts";
import { type Dropper, makeDropper } from "../../kernel/drop.ts";
import { type HeightMap, makeMap, NOTHING } from "../../kernel/heightmap.ts";
import type { Profile } from "../../kernel/profile.ts";
import { sectionZ } from "../../neck/carve.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";

/*
 * Where a cutter cannot touch the back: the wanted surface as a height map (heights h = -z, as seen from the back), let down on by
 * the cutter (its locus), and the locus filled again from below by the same cutter (what it leaves).
 *
 *      locus    .-''-.____.-''-.      the tip, let down until it touches
 *      leaves   \________......__     wanted surface ___, what stays above it ....: where the surface curves in tighter than the nose
 */

/** Cell of the map; coarser for a wide nose, which is blunter by as much. */
const CELL: Mm = 0.1;
const CELLS_PER_RADIUS = 64;
/** Surfaces steeper than this to the horizontal (85 degrees) are left out of what is measured: cells there are longer than what is looked for. */
const STEEPEST = Math.cos((85 * Math.PI) / 180);

export interface Reach {
  /** Lowest height of the tip at (x, y) of the neck frame, NOTHING off the ranges. */
  drop(x: Mm, y: Mm): Mm;
  /** The most that is left, along the surface's normal, and where. */
  leaves(): { readonly most: Mm; readonly x: Mm; readonly y: Mm };
}

/** Stretches of x where the back curves inward: its transitions to headstock and heel, and a volute. Sorted, none touching another. */
export function inwardRanges(neck: Neck): readonly (readonly [Mm, Mm])[] {
  const p = neck.places;
  const { volute } = neck.order.carve;
  const all: [Mm, Mm][] = [
    [p.headBack, p.carveStart],
    [p.carveEnd, p.heelFront],
    ...(volute ? ([[volute.at - volute.length, volute.at + volute.length]] as [Mm, Mm][]) : []),
  ];
  all.sort((a, b) => a[0] - b[0]);
  const out: [Mm, Mm][] = [];
  for (const r of all) {
    const last = out[out.length - 1];
    if (last && r[0] <= last[1] + 1) last[1] = Math.max(last[1], r[1]);
    else out.push(r);
  }
  return out;
}

/** The reach of a cutter over ranges of x of the back. */
export function reachOf(neck: Neck, cutter: Cutter, ranges: readonly (readonly [Mm, Mm])[]): Reach {
  const profile = profileOf(cutter);
  const radius = cutter.diameter / 2;
  const cell = Math.max(CELL, radius / CELLS_PER_RADIUS);
  const windows = ranges.map(([a, b]) => {
    const map = backMap(neck, a - 3 * radius - 2, b + 3 * radius + 2, radius + 1, cell);
    return { a: a - radius - 2, b: b + radius + 2, map, dropper: makeDropper(map, profile, { refine: true }) };
  });
  return {
    drop(x, y) {
      for (const w of windows) if (x >= w.a && x <= w.b) return w.dropper.dropAt(x, y);
      return NOTHING;
    },
    leaves() {
      let best = { most: 0, x: Number.NaN, y: Number.NaN };
      for (const [k, w] of windows.entries()) {
        const found = mostLeft(w.map, profile, ranges[k]);
        if (found.most > best.most) best = found;
      }
      return best;
    },
  };
}

/** The back over x = a..b, its plan only, with room of `beside` on both sides for the cutter. */
function backMap(neck: Neck, a: Mm, b: Mm, beside: Mm, cell: Mm): HeightMap {
  const { tip, shaftEnd } = neck.places;
  const [from, to] = [Math.max(tip, a), Math.min(shaftEnd, b)];
  let lo = 0;
  let hi = 0;
  for (let k = 0; k <= 40; k++) {
    const [l, h] = neck.edges(from + ((to - from) * k) / 40);
    lo = Math.min(lo, l);
    hi = Math.max(hi, h);
  }
  const map = makeMap(from, lo - beside, to, hi + beside, cell);
  const { nx, ny, x0, y0, z } = map;
  for (let i = 0; i < nx; i++) {
    const s = neck.section(x0 + i * cell);
    for (let j = 0; j < ny; j++) {
      const y = y0 + j * cell;
      const h = y < s.yMin || y > s.yMax ? Number.NaN : -sectionZ(s, y);
      if (Number.isFinite(h)) z[j * nx + i] = h;
    }
  }
  return map;
}

/** The locus filled from below by the cutter, less the map, along the normal; within `range` only. */
function mostLeft(map: HeightMap, profile: Profile, [a, b]: readonly [Mm, Mm]): { most: Mm; x: Mm; y: Mm } {
  const { nx, ny, cell, x0, y0, z } = map;
  const locus: Dropper = makeDropper(map, profile);
  const upsideDown: HeightMap = { ...map, z: locus.dropMap().z.map((v) => (v === NOTHING ? NOTHING : -v)) };
  const filled = makeDropper(upsideDown, profile).dropMap().z;
  let best = { most: 0, x: Number.NaN, y: Number.NaN };
  const i0 = Math.max(1, Math.ceil((a - x0) / cell));
  const i1 = Math.min(nx - 2, Math.floor((b - x0) / cell));
  for (let j = 1; j < ny - 1; j++)
    for (let i = i0; i <= i1; i++) {
      const k = j * nx + i;
      const around = [z[k], z[k - 1], z[k + 1], z[k - nx], z[k + nx]];
      if (Math.min(...around) <= 0.5 * NOTHING) continue;
      const gx = (z[k + 1] - z[k - 1]) / (2 * cell);
      const gy = (z[k + nx] - z[k - nx]) / (2 * cell);
      const nz = 1 / Math.hypot(gx, gy, 1);
      const left = (-filled[k] - z[k]) * nz;
      if (nz > STEEPEST && left > best.most) best = { most: left, x: x0 + i * cell, y: y0 + j * cell };
    }
  return best;
}
