import { placeX } from "../../neck/carve.ts";
import { isTilted, tiltOf } from "../../neck/places.ts";
import type { BackSection, Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import type { Patch, Surface, XYZ } from "./types.ts";

/*
 * The finished top and back piece by piece, each piece smooth and defined a little beyond its own border: neck.top and
 * neck.back are the same heights, but step from one piece to the next exactly on the border, where a vertex has to stand.
 */

export interface Piecewise {
  readonly z: (x: Mm, y: Mm) => Mm;
  readonly surface: Surface;
}

/** A plane over the plan through (x, y, z(x, y)), its normal up or down. */
export function plane(z: (x: Mm, y: Mm) => Mm, up: boolean): Piecewise {
  const z0 = z(0, 0);
  const gx = z(1, 0) - z0;
  const gy = z(0, 1) - z0;
  const n = Math.hypot(gx, gy, 1);
  const s = up ? 1 : -1;
  return { z, surface: { kind: "plane", origin: [0, 0, z0], normal: [(-s * gx) / n, (-s * gy) / n, s / n] } };
}

export interface Face {
  readonly tilted: boolean;
  /** Distance from the ramp's foot (or the hinge of an angled face), square to the nut's line, toward the board. */
  readonly fromFoot: (x: Mm, y: Mm) => Mm;
  readonly flat: Piecewise;
  readonly ramp: Piecewise;
  readonly radius: Mm;
  /** Outward unit normal of the face's plane. */
  readonly normal: XYZ;
}

/** The headstock's face and its ramp, as the neck's top has them. */
export function faceOf(neck: Neck): Face {
  const { drop, rampRadius: r } = neck.order.headstock;
  const { rampFoot, rampTop, nutSlope } = neck.places;
  const tilted = isTilted(neck.order);
  const tangent = Math.tan(tiltOf(neck.order));
  const square = 1 / Math.hypot(1, nutSlope);
  const foot = tilted ? rampTop : rampFoot;
  const fromFoot = (x: Mm, y: Mm): Mm => (x - nutSlope * y - foot) * square;
  const flat = plane(tilted ? (x, y) => fromFoot(x, y) * tangent : () => -drop, true);
  const rampZ = (x: Mm, y: Mm): Mm => {
    const d = Math.min(r, Math.max(0, fromFoot(x, y)));
    return -drop + r - Math.sqrt(Math.max(0, r * r - d * d));
  };
  return {
    tilted,
    fromFoot,
    flat,
    ramp: {
      z: rampZ,
      surface: { kind: "cylinder", origin: [rampFoot, 0, r - drop], axis: [nutSlope * square, square, 0], radius: r, hollow: true },
    },
    radius: r,
    normal: flat.surface.kind === "plane" ? flat.surface.normal : [0, 0, 1],
  };
}

/** The board's own surface, `down` below it: over the rectangle x0..x1, y0..y1 of the plan. */
export function boardPiece(neck: Neck, down: Mm, box: readonly [Mm, Mm, Mm, Mm]): Piecewise {
  const { board } = neck.order;
  const z = (x: Mm, y: Mm): Mm => neck.boardTop(x, y) - down;
  const level = !board.fallAway && !board.relief;
  const same = board.radius.nut === board.radius.end;
  if (level && same && !Number.isFinite(board.radius.nut)) return plane(z, true);
  if (level && same) {
    const R = board.radius.nut;
    return { z, surface: { kind: "cylinder", origin: [0, 0, board.thickness - down - R], axis: [1, 0, 0], radius: R, hollow: false } };
  }
  const [x0, x1, y0, y1] = box;
  const patch: Patch = {
    kind: "patch",
    box: [x0, x1, y0, y1],
    at: (x, y) => [x, y, z(x, y)],
    uv: (x, y) => [x, y],
    outward: true,
    crowd: [],
  };
  return { z, surface: patch };
}

/** Places along x where the back's formula changes, in order. */
export function backBreaks(neck: Neck): Mm[] {
  const { places: p, order } = neck;
  const { volute } = order.carve;
  const xs = [
    p.headBack,
    p.carveStart,
    p.carveEnd,
    p.heelFront,
    ...order.carve.stations.map((s) => placeX(order, s.at)),
    ...(volute ? [volute.at - volute.length, volute.at, volute.at + volute.length] : []),
  ];
  return [...new Set(xs)].sort((a, b) => a - b).filter((x, k, all) => k === 0 || x - all[k - 1] > 1e-3);
}

/**
 * The carved back between x0 and x1, over the angle a in its sections: with q = |y| / w and c the share of the depth,
 *     q^p + c^p = 1,  q = r(a) sin a,  c = r(a) cos a,  r = (|sin a|^p + |cos a|^p)^(-1/p),
 * which has no steep place, where z over y has one at the edges.
 */
export function carvePiece(neck: Neck, x0: Mm, x1: Mm): Piecewise {
  const at = (x: Mm, a: number): XYZ => {
    const s = neck.section(x);
    const w = a < 0 ? -s.yMin : s.yMax;
    const p = a < 0 ? s.exponentMinus : s.exponentPlus;
    const sine = Math.min(1, Math.abs(Math.sin(a)));
    const cosine = Math.max(0, Math.cos(a));
    const r = (sine ** p + cosine ** p) ** (-1 / p);
    const y = Math.sign(a) * r * sine * w;
    return [x, y, backZ(s, y, cosine * r)];
  };
  const uv = (x: Mm, y: Mm): readonly [number, number] => {
    const s = neck.section(x);
    const w = y < 0 ? -s.yMin : s.yMax;
    const p = y < 0 ? s.exponentMinus : s.exponentPlus;
    const q = Math.min(1, Math.abs(y / w));
    const c = (1 - q ** p) ** (1 / p);
    // on the border the angle is the border's own, not that of the last bits of q
    return [x, q > 1 - 1e-9 ? (Math.sign(y) * Math.PI) / 2 : Math.sign(y) * Math.atan2(q, c)];
  };
  const patch: Patch = { kind: "patch", box: [x0, x1, -Math.PI / 2, Math.PI / 2], at, uv, outward: false, crowd: [0] };
  return { z: (x, y) => at(...uv(x, y))[2], surface: patch };
}

const backZ = (s: BackSection, y: Mm, share: number): Mm =>
  s.blend * (s.flat + s.flatSlope * y) - (1 - s.blend) * (s.shoulder + (s.depth - s.shoulder) * share);
