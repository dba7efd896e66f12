import type { Transform } from "./types.ts";

/** p' = M p + t for a row-major 3x4 transform. */
export function apply(t: Transform, x: number, y: number, z: number): [number, number, number] {
  return [t[0] * x + t[1] * y + t[2] * z + t[3], t[4] * x + t[5] * y + t[6] * z + t[7], t[8] * x + t[9] * y + t[10] * z + t[11]];
}

/** Inverse of a rigid transform: p = M^T (p' - t). */
export function inverse(t: Transform): Transform {
  const [a, b, c, tx, d, e, f, ty, g, h, i, tz] = t;
  return [a, d, g, -(a * tx + d * ty + g * tz), b, e, h, -(b * tx + e * ty + h * tz), c, f, i, -(c * tx + f * ty + i * tz)];
}

/** a after b. */
export function compose(a: Transform, b: Transform): Transform {
  const out: number[] = [];
  for (let r = 0; r < 3; r++) {
    for (let c = 0; c < 4; c++) {
      const v = a[4 * r] * b[c] + a[4 * r + 1] * b[4 + c] + a[4 * r + 2] * b[8 + c] + (c === 3 ? a[4 * r + 3] : 0);
      out.push(v + 0); // no negative zero in files
    }
  }
  return out as unknown as Transform;
}

/** Rotation of the whole set-up by a quarter turn about z: (x, y) -> (-y, x), for machines whose long axis is y. */
export const QUARTER_TURN: Transform = [0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0];
