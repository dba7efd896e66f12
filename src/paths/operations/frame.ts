import { alongNeck } from "../../holding/check.ts";
import { inverse } from "../../holding/transform.ts";
import type { Side, Transform } from "../../holding/types.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm } from "../../units/index.ts";

/**
 * One side as the cuts see it: x along the neck, whatever the machine's long axis and however the neck is turned in its blank. A point of the neck frame and one of this
 * frame differ by sign and shift only, so the map is written out:
 *     x' = sx x + tx,   y' = sy y + ty,   z' = sz z + tz.
 */
export interface Frame {
  readonly sx: number;
  readonly tx: Mm;
  readonly sy: number;
  readonly ty: Mm;
  readonly sz: number;
  readonly tz: Mm;
  /** The blank's corners, counter-clockwise: a rectangle that lies askew when the neck does in it. */
  readonly blank: Polygon;
  readonly askew: boolean;
  /** The box around them. */
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  /** Upper face of the blank. */
  readonly topZ: Mm;
  readonly safeZ: Mm;
  readonly x: (x: Mm) => Mm;
  readonly y: (y: Mm) => Mm;
  readonly z: (z: Mm) => Mm;
  /** Back to the neck frame. */
  readonly nx: (x: Mm) => Mm;
  readonly ny: (y: Mm) => Mm;
  readonly nz: (z: Mm) => Mm;
  readonly toNeck: Transform;
}

export function frameOf(side: Side): Frame {
  const { neckToFrame: t, blank, stock, turn } = alongNeck(side);
  const [sx, , , tx, , sy, , ty, , , sz, tz] = t;
  return {
    sx,
    tx,
    sy,
    ty,
    sz,
    tz,
    blank,
    askew: turn.sin !== 0,
    stock,
    topZ: stock.max[2],
    safeZ: side.safeZ,
    x: (x) => sx * x + tx,
    y: (y) => sy * y + ty,
    z: (z) => sz * z + tz,
    nx: (x) => sx * (x - tx),
    ny: (y) => sy * (y - ty),
    nz: (z) => sz * (z - tz),
    toNeck: inverse(t),
  };
}
