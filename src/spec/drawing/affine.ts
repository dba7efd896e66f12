import type { Point } from "../../kernel/curve.ts";
import type { Piece } from "./types.ts";

/** x' = a x + c y + e, y' = b x + d y + f, as in SVG's matrix(a b c d e f). */
export type Affine = readonly [a: number, b: number, c: number, d: number, e: number, f: number];

export const SAME: Affine = [1, 0, 0, 1, 0, 0];
export const shift = (x: number, y: number): Affine => [1, 0, 0, 1, x, y];
export const stretch = (x: number, y: number): Affine => [x, 0, 0, y, 0, 0];
export function turn(angle: number): Affine {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  return [c, s, -s, c, 0, 0];
}

/** First `n`, then `m`. */
export const after = (m: Affine, n: Affine): Affine => [
  m[0] * n[0] + m[2] * n[1],
  m[1] * n[0] + m[3] * n[1],
  m[0] * n[2] + m[2] * n[3],
  m[1] * n[2] + m[3] * n[3],
  m[0] * n[4] + m[2] * n[5] + m[4],
  m[1] * n[4] + m[3] * n[5] + m[5],
];

export const place = (m: Affine, p: Point): Point => ({ x: m[0] * p.x + m[2] * p.y + m[4], y: m[1] * p.x + m[3] * p.y + m[5] });
const direction = (m: Affine, p: Point): Point => ({ x: m[0] * p.x + m[2] * p.y, y: m[1] * p.x + m[3] * p.y });

/** The piece's image, exact: affine maps carry lines, ovals, cubics and splines into their own kind. */
export function mapPiece(m: Affine, p: Piece): Piece {
  switch (p.kind) {
    case "line":
      return { kind: "line", a: place(m, p.a), b: place(m, p.b) };
    case "oval":
      return { ...p, c: place(m, p.c), u: direction(m, p.u), v: direction(m, p.v) };
    case "cubic":
      return { kind: "cubic", p0: place(m, p.p0), p1: place(m, p.p1), p2: place(m, p.p2), p3: place(m, p.p3) };
    case "spline":
      return { ...p, points: p.points.map((q) => place(m, q)) };
  }
}

/** Every coordinate that shapes the piece. */
export function* numbersOf(p: Piece): Generator<number> {
  const points =
    p.kind === "line" ? [p.a, p.b] : p.kind === "oval" ? [p.c, p.u, p.v] : p.kind === "cubic" ? [p.p0, p.p1, p.p2, p.p3] : p.points;
  for (const q of points) {
    yield q.x;
    yield q.y;
  }
  if (p.kind === "oval") {
    yield p.start;
    yield p.sweep;
  }
}
