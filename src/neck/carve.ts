import type { OrderSpec, Place } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { fretDistance } from "./frets.ts";
import { monotoneCubic } from "./interpolate.ts";
import type { BackSection, NeckPlaces } from "./types.ts";

export const placeX = (order: OrderSpec, at: Place): Mm => (at.kind === "x" ? at.x : fretDistance(order.scale, at.fret));

/** The back of the neck, right-handed. */
export interface BackSurface {
  section(x: Mm): BackSection;
  z(x: Mm, y: Mm): Mm;
  distance(x: Mm, y: Mm, z: Mm): Mm;
  normal(x: Mm, y: Mm, z: Mm): readonly [number, number, number];
}

/**
 * Carve: at every x a half oval under the glue plane, one exponent on each side,
 *     depth(y) = D (1 - |y/w|^p)^(1/p),   w = distance from the centreline to the board's edge on that side;
 * D and p run through the stations as monotone cubics (C1). Toward headstock and heel the depth passes to a flat by
 *     z = -(1 - s) depth(y) + s flat,   s = 3t^2 - 2t^3 along x (C1 at both ends).
 */
export function backSurface(order: OrderSpec, places: NeckPlaces, edges: (x: Mm) => readonly [Mm, Mm]): BackSurface {
  const stations = order.carve.stations;
  const xs = stations.map((s) => placeX(order, s.at));
  const depthAt = monotoneCubic(
    xs,
    stations.map((s) => s.thickness - order.board.thickness),
  );
  const bassAt = monotoneCubic(
    xs,
    stations.map((s) => s.bassExponent),
  );
  const trebleAt = monotoneCubic(
    xs,
    stations.map((s) => s.trebleExponent),
  );
  const headFlat = -(order.headstock.drop + order.headstock.thickness);
  const heelFlat = -(order.heel.thickness - order.board.thickness);
  const { headBack, carveStart, carveEnd, heelFront, shaftEnd } = places;
  const smooth = (t: number): number => (t <= 0 ? 0 : t >= 1 ? 1 : t * t * (3 - 2 * t));

  let lastX = Number.NaN;
  let last: BackSection | null = null;
  const section = (x: Mm): BackSection => {
    if (last && x === lastX) return last;
    const head = smooth((carveStart - x) / (carveStart - headBack));
    const heel = smooth((x - carveEnd) / (heelFront - carveEnd));
    const [yMin, yMax] = edges(x);
    last = {
      yMin,
      yMax,
      depth: depthAt(x),
      exponentMinus: bassAt(x),
      exponentPlus: trebleAt(x),
      blend: Math.max(head, heel),
      flat: head >= heel ? headFlat : heelFlat,
    };
    lastX = x;
    return last;
  };
  const z = (x: Mm, y: Mm): Mm => {
    if (x > shaftEnd) return 0;
    return sectionZ(section(x), y);
  };
  const normal = (x: Mm, y: Mm, zz: Mm): readonly [number, number, number] => {
    const s = section(x);
    if (s.blend > 0.9999 || x > shaftEnd) return [0, 0, -1];
    const w = y < 0 ? -s.yMin : s.yMax;
    const p = y < 0 ? s.exponentMinus : s.exponentPlus;
    const depth = Math.max(0, (s.blend * s.flat - zz) / (1 - s.blend));
    const gy = ((p * Math.abs(y / w) ** (p - 1)) / w) * Math.sign(y);
    const gz = -(p * (depth / s.depth) ** (p - 1)) / (s.depth * (1 - s.blend));
    const h = 1e-4;
    const gx = (level(section(x + h), y, zz) - level(section(x - h), y, zz)) / (2 * h);
    const n = Math.hypot(gx, gy, gz);
    return [gx / n, gy / n, gz / n];
  };
  const distance = (x: Mm, y: Mm, zz: Mm): Mm => {
    if (x > shaftEnd) return -zz;
    const s = section(x);
    const dv = sectionZ(s, y) - zz;
    const h = 1e-3;
    const gx = s.blend === 0 && s.depth === 0 ? 0 : slopeX(sectionZ(section(x + h), y), sectionZ(section(x - h), y), h);
    const dh = sideways(s, y, zz);
    // distance to a plane from its distances along the axes: 1/d^2 = 1/dz^2 + 1/dy^2 + 1/dx^2, with dx = dz / gx
    const inv = (1 + gx * gx) / (dv * dv) + 1 / (dh * dh);
    return dv === 0 ? 0 : Math.sign(dv) / Math.sqrt(inv);
  };
  return { section, z, distance, normal };
}

function slopeX(a: number, b: number, h: number): number {
  const g = (a - b) / (2 * h);
  return Number.isFinite(g) ? g : 0;
}

/** z of the back in a section; NaN outside its edges. */
export function sectionZ(s: BackSection, y: Mm): Mm {
  const w = y < 0 ? -s.yMin : s.yMax;
  const p = y < 0 ? s.exponentMinus : s.exponentPlus;
  const q = Math.abs(y / w);
  if (q > 1) return s.blend === 1 ? s.flat : Number.NaN;
  return s.blend * s.flat - (1 - s.blend) * s.depth * (1 - q ** p) ** (1 / p);
}

/** The section's implicit form: |y/w|^p + (depth/D)^p - 1, 0 on the surface, positive outside. */
function level(s: BackSection, y: Mm, z: Mm): number {
  const w = y < 0 ? -s.yMin : s.yMax;
  const p = y < 0 ? s.exponentMinus : s.exponentPlus;
  const depth = Math.max(0, (s.blend * s.flat - z) / (1 - s.blend));
  return Math.abs(y / w) ** p + (depth / s.depth) ** p - 1;
}

/** How far, along y, the point lies outside the section at its own height; Infinity where the section has no such height. */
function sideways(s: BackSection, y: Mm, z: Mm): number {
  if (s.blend >= 1) return Number.POSITIVE_INFINITY;
  const w = y < 0 ? -s.yMin : s.yMax;
  const p = y < 0 ? s.exponentMinus : s.exponentPlus;
  const q = (s.blend * s.flat - z) / ((1 - s.blend) * s.depth);
  if (q >= 1) return Number.POSITIVE_INFINITY;
  const at = q <= 0 ? w : w * (1 - q ** p) ** (1 / p);
  const d = Math.abs(y) - at;
  return d === 0 ? 1e-12 : d;
}
