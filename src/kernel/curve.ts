import type { Mm, Rad } from "../units/index.ts";

/** Plane curves: lines, arcs and cubic Beziers, exact; polygons are derived with a stated chord tolerance. */
export interface Point {
  readonly x: Mm;
  readonly y: Mm;
}

export interface LineCurve {
  readonly kind: "line";
  readonly a: Point;
  readonly b: Point;
}
/** From angle `start` through `sweep` (counter-clockwise positive). */
export interface ArcCurve {
  readonly kind: "arc";
  readonly centre: Point;
  readonly radius: Mm;
  readonly start: Rad;
  readonly sweep: Rad;
}
export interface CubicCurve {
  readonly kind: "cubic";
  readonly p0: Point;
  readonly p1: Point;
  readonly p2: Point;
  readonly p3: Point;
}
export type Curve = LineCurve | ArcCurve | CubicCurve;

/** A closed curve, counter-clockwise seen from +z; each curve begins where the one before ends. */
export interface Contour {
  readonly name: string;
  readonly curves: readonly Curve[];
}
