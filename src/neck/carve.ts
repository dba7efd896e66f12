import type { OrderSpec, Place } from "../spec/types.ts";
import type { Mm, Rad } from "../units/index.ts";
import { fretDistance } from "./frets.ts";
import { monotoneCubic } from "./interpolate.ts";
import { tiltOf } from "./places.ts";
import type { BackSection, NeckPlaces } from "./types.ts";

export const placeX = (order: OrderSpec, at: Place): Mm => (at.kind === "x" ? at.x : fretDistance(order.scale, at.fret));

/** The back of the neck, right-handed. */
export interface BackSurface {
  section(x: Mm): BackSection;
  z(x: Mm, y: Mm): Mm;
  distance(x: Mm, y: Mm, z: Mm): Mm;
  normal(x: Mm, y: Mm, z: Mm): readonly [number, number, number];
  readonly neckAngle: Rad;
}

/**
 * Carve: at every x a half oval under the glue plane, one exponent on each side,
 *     depth(y) = D (1 - |y/w|^p)^(1/p),   w = distance from the centreline to the board's edge on that side;
 * D and p run through the stations as monotone cubics (C1). Toward headstock and heel the depth passes to a flat by
 *     z = -(1 - s) depth(y) + s flat,   s = 3t^2 - 2t^3 along x (C1 at both ends).
 */
export function backSurface(order: OrderSpec, places: Omit<NeckPlaces, "end">, edges: (x: Mm) => readonly [Mm, Mm]): BackSurface {
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
  const shoulderAt = monotoneCubic(
    xs,
    stations.map((s) => s.shoulder ?? 0),
  );
  const { headBack, carveStart, carveEnd, heelFront, shaftEnd, rampTop, nutSlope } = places;
  const tilt = tiltOf(order);
  const square = 1 / Math.hypot(1, nutSlope);
  const slope = Math.tan(tilt) * square;
  /** The headstock's flat back: parallel to its face. On the centreline; across, it leans with a slanted nut. */
  const headFlat = (x: Mm): Mm =>
    tilt > 0 ? (x - rampTop) * slope - order.headstock.thickness / Math.cos(tilt) : -(order.headstock.drop + order.headstock.thickness);
  const heelDeep = order.heel.thickness - order.board.thickness;
  const neckAngle = neckAngleOf(order, places);
  const heelFlat = (x: Mm): Mm => -heelDeep + Math.max(0, x - heelFront) * Math.tan(neckAngle);
  const contoured = order.heel.kind === "contoured";
  const heelExponent = order.heel.exponent ?? 6;
  const volute = order.carve.volute;
  /** Swelling of the back at its middle, C1 at its ends. */
  const swell = (x: Mm): Mm => {
    if (!volute) return 0;
    const t = Math.abs(x - volute.at) / volute.length;
    return t >= 1 ? 0 : volute.height * (1 - t * t) ** 2;
  };
  const smooth = (t: number): number => (t <= 0 ? 0 : t >= 1 ? 1 : t * t * (3 - 2 * t));

  let lastX = Number.NaN;
  let last: BackSection | null = null;
  const section = (x: Mm): BackSection => {
    if (last && x === lastX) return last;
    const head = smooth((carveStart - x) / (carveStart - headBack));
    const heel = smooth((x - carveEnd) / (heelFront - carveEnd));
    const [yMin, yMax] = edges(x);
    // a contoured heel stays an oval: deeper and fuller toward the body instead of flat
    const round = contoured ? heel : 0;
    const mix = (a: number, b: number): number => a + (b - a) * round;
    const blend = contoured ? head : Math.max(head, heel);
    const grown = swell(x);
    last = {
      yMin,
      yMax,
      depth: mix(depthAt(x), contoured ? -heelFlat(x) : 0) + (blend < 0.999 ? grown / (1 - blend) : 0),
      exponentMinus: mix(bassAt(x), heelExponent),
      exponentPlus: mix(trebleAt(x), heelExponent),
      blend,
      flat: head >= heel || contoured ? headFlat(x) : heelFlat(x),
      flatSlope: head >= heel && tilt > 0 ? -slope * nutSlope : 0,
      shoulder: mix(shoulderAt(x), 0),
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
    const h = 1e-4;
    if (x > shaftEnd) return [0, 0, -1];
    if (s.blend > 0.9999) {
      const gx = (section(x + h).flat - section(x - h).flat) / (2 * h);
      const n = Math.hypot(gx, s.flatSlope, 1);
      return [gx / n, s.flatSlope / n, -1 / n];
    }
    const w = y < 0 ? -s.yMin : s.yMax;
    const p = y < 0 ? s.exponentMinus : s.exponentPlus;
    const deep = s.depth - s.shoulder;
    const q = roundDepth(s, y, zz);
    const gq = (p * (q / deep) ** (p - 1)) / (deep * (1 - s.blend));
    const gy = ((p * Math.abs(y / w) ** (p - 1)) / w) * Math.sign(y) + gq * s.blend * s.flatSlope;
    const gz = -gq;
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
  return { section, z, distance, normal, neckAngle };
}

function slopeX(a: number, b: number, h: number): number {
  const g = (a - b) / (2 * h);
  return Number.isFinite(g) ? g : 0;
}

/** z of the back in a section; NaN outside its edges (a pure flat goes on). */
export function sectionZ(s: BackSection, y: Mm): Mm {
  const w = y < 0 ? -s.yMin : s.yMax;
  const p = y < 0 ? s.exponentMinus : s.exponentPlus;
  const q = Math.abs(y / w);
  const flat = s.flat + s.flatSlope * y;
  if (s.blend === 1) return flat;
  if (q > 1) return Number.NaN;
  return s.blend * flat - (1 - s.blend) * (s.shoulder + (s.depth - s.shoulder) * (1 - q ** p) ** (1 / p));
}

/** |y| of the back in a section at height z, on the side of `side`'s sign: the inverse of sectionZ where it is steep. */
export function sectionY(s: BackSection, z: Mm, side: number): Mm {
  const w = side < 0 ? -s.yMin : s.yMax;
  const p = side < 0 ? s.exponentMinus : s.exponentPlus;
  if (s.flatSlope !== 0) return outermostY(s, z, Math.sign(side), w);
  const q = Math.min(1, roundDepth(s, side, z) / (s.depth - s.shoulder));
  return w * (1 - q ** p) ** (1 / p);
}

/** The same where the flat leans across, so that no closed form is left: the outermost |y| of that height, by halving. */
function outermostY(s: BackSection, z: Mm, sign: number, w: Mm): Mm {
  const over = (y: Mm): number => sectionZ(s, sign * y) - z;
  if (over(w) <= 0) return w;
  // deeper and deeper inside the edge, until the section lies under z
  let out = w;
  let step = 1e-9 * w;
  let inner = w - step;
  while (inner > 0 && over(inner) > 0) {
    out = inner;
    step *= 3;
    inner = w - step;
  }
  inner = Math.max(0, inner);
  for (let k = 0; k < 60; k++) {
    const m = (inner + out) / 2;
    if (over(m) > 0) out = m;
    else inner = m;
  }
  return inner;
}

/** Depth of height z within the oval (below its shoulder), undoing the blend; never negative. */
function roundDepth(s: BackSection, y: Mm, z: Mm): number {
  return Math.max(0, (s.blend * (s.flat + s.flatSlope * y) - z) / (1 - s.blend) - s.shoulder);
}

/** The section's implicit form: |y/w|^p + (depth/D)^p - 1, 0 on the surface, positive outside. */
function level(s: BackSection, y: Mm, z: Mm): number {
  const w = y < 0 ? -s.yMin : s.yMax;
  const p = y < 0 ? s.exponentMinus : s.exponentPlus;
  return Math.abs(y / w) ** p + (roundDepth(s, y, z) / (s.depth - s.shoulder)) ** p - 1;
}

/** How far, along y, the point lies outside the section at its own height; Infinity where the section has no such height. */
function sideways(s: BackSection, y: Mm, z: Mm): number {
  if (s.blend >= 1) return Number.POSITIVE_INFINITY;
  if (roundDepth(s, y, z) >= s.depth - s.shoulder) return Number.POSITIVE_INFINITY;
  const d = Math.abs(y) - sectionY(s, z, y < 0 ? -1 : 1);
  return d === 0 ? 1e-12 : d;
}

/**
 * The angle between board and body: the plane over the frets' tops must pass under the saddle so that the string stands
 * `action` over fret 12 (plane geometry: the string falls twice the action from bridge to fret 12).
 *     height of the board's plane at the bridge = bridgeHeight - 2 action;  it is boardAtBody where the body begins.
 */
export function neckAngleOf(order: OrderSpec, places: Pick<NeckPlaces, "boardEnd">): Rad {
  const { setUp } = order.heel;
  if (!setUp) return 0;
  return Math.atan((setUp.bridgeHeight - 2 * setUp.action - setUp.boardAtBody) / (order.scale - places.boardEnd));
}
