import type { Curve, Point } from "../../kernel/curve.ts";
import type { Mm } from "../../units/index.ts";
import type { Piece } from "./types.ts";

type Oval = Extract<Piece, { kind: "oval" }>;

/** Ellipses become cubics that stay this close. Circles stay arcs. */
export const OVAL_TOLERANCE: Mm = 1e-6;

export function onOval(o: Oval, t: number): Point {
  const c = Math.cos(t);
  const s = Math.sin(t);
  return { x: o.c.x + o.u.x * c + o.v.x * s, y: o.c.y + o.u.y * c + o.v.y * s };
}

/** One arc where the oval is a circle to 1e-12 of its radius, cubics within OVAL_TOLERANCE otherwise. */
export function ovalCurves(o: Oval): Curve[] {
  const ru = Math.hypot(o.u.x, o.u.y);
  const rv = Math.hypot(o.v.x, o.v.y);
  const cross = o.u.x * o.v.y - o.u.y * o.v.x;
  const dot = o.u.x * o.v.x + o.u.y * o.v.y;
  if (Math.abs(ru - rv) <= 1e-12 * ru && Math.abs(dot) <= 1e-12 * ru * ru) {
    const turned = Math.atan2(o.u.y, o.u.x);
    const sign = cross > 0 ? 1 : -1;
    return [{ kind: "arc", centre: o.c, radius: (ru + rv) / 2, start: turned + sign * o.start, sweep: sign * o.sweep }];
  }
  /*
   * A circle's piece of angle d as one cubic with handles (4/3) tan(d/4) is off by 4/27 sin^6(d/4) / cos^2(d/4) of the radius
   * (expand x^2 + y^2 of the cubic: its excess over 1 peaks there; measured again in the test). The affine image is off by no more than that
   * times the map's stretch.
   */
  const most = Math.hypot(ru, rv);
  let n = Math.max(1, Math.ceil(Math.abs(o.sweep) / (Math.PI / 2) - 1e-9));
  const error = (k: number): number => {
    const q = Math.abs(o.sweep) / k / 4;
    return (most * 4 * Math.sin(q) ** 6) / (27 * Math.cos(q) ** 2);
  };
  while (error(n) > OVAL_TOLERANCE && n < 4096) n = Math.ceil(n * Math.max(1.02, (error(n) / OVAL_TOLERANCE) ** (1 / 6)));
  const step = o.sweep / n;
  const h = (4 / 3) * Math.tan(step / 4);
  const out: Curve[] = [];
  let p0 = onOval(o, o.start);
  for (let k = 0; k < n; k++) {
    const a = o.start + step * k;
    const b = k === n - 1 ? o.start + o.sweep : a + step;
    const p3 = onOval(o, b);
    const da = { x: -o.u.x * Math.sin(a) + o.v.x * Math.cos(a), y: -o.u.y * Math.sin(a) + o.v.y * Math.cos(a) };
    const db = { x: -o.u.x * Math.sin(b) + o.v.x * Math.cos(b), y: -o.u.y * Math.sin(b) + o.v.y * Math.cos(b) };
    out.push({
      kind: "cubic",
      p0,
      p1: { x: p0.x + h * da.x, y: p0.y + h * da.y },
      p2: { x: p3.x - h * db.x, y: p3.y - h * db.y },
      p3,
    });
    p0 = p3;
  }
  return out;
}

/** A polyline's piece with bulge = tan(included angle / 4), counter-clockwise positive; a line for bulge 0. */
export function bulged(a: Point, b: Point, bulge: number): Piece {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  if (bulge === 0 || (dx === 0 && dy === 0)) return { kind: "line", a, b };
  // centre off the chord's middle by (1 - k^2) / 4k of the chord, to the left
  const q = (1 - bulge * bulge) / (4 * bulge);
  const c = { x: (a.x + b.x) / 2 - q * dy, y: (a.y + b.y) / 2 + q * dx };
  const u = { x: a.x - c.x, y: a.y - c.y };
  return { kind: "oval", c, u, v: { x: -u.y, y: u.x }, start: 0, sweep: 4 * Math.atan(bulge) };
}

/** A circle's piece from `start` through `sweep` (counter-clockwise positive). */
export const circular = (c: Point, radius: number, start: number, sweep: number): Piece => ({
  kind: "oval",
  c,
  u: { x: radius, y: 0 },
  v: { x: 0, y: radius },
  start,
  sweep,
});

/**
 * SVG's elliptical arc from `a` to `b` by its exact centre form (SVG 1.1, appendix F.6.5 and F.6.6): radii lose their sign and
 * grow until they reach, a radius of 0 makes a line, equal ends make nothing.
 */
export function svgArc(a: Point, rx: number, ry: number, degrees: number, large: boolean, sweepFlag: boolean, b: Point): Piece | null {
  if (a.x === b.x && a.y === b.y) return null;
  let [p, q] = [Math.abs(rx), Math.abs(ry)];
  if (p === 0 || q === 0) return { kind: "line", a, b };
  const phi = (degrees * Math.PI) / 180;
  const [cos, sin] = [Math.cos(phi), Math.sin(phi)];
  const hx = (a.x - b.x) / 2;
  const hy = (a.y - b.y) / 2;
  const x1 = cos * hx + sin * hy;
  const y1 = -sin * hx + cos * hy;
  const over = (x1 / p) ** 2 + (y1 / q) ** 2;
  let factor = 0;
  if (over >= 1) {
    p *= Math.sqrt(over);
    q *= Math.sqrt(over);
  } else factor = (large === sweepFlag ? -1 : 1) * Math.sqrt((1 - over) / over);
  const cx1 = (factor * p * y1) / q;
  const cy1 = (-factor * q * x1) / p;
  const c = { x: cos * cx1 - sin * cy1 + (a.x + b.x) / 2, y: sin * cx1 + cos * cy1 + (a.y + b.y) / 2 };
  const start = Math.atan2((y1 - cy1) / q, (x1 - cx1) / p);
  const end = Math.atan2((-y1 - cy1) / q, (-x1 - cx1) / p);
  let sweep = end - start;
  if (sweepFlag && sweep < 0) sweep += 2 * Math.PI;
  if (!sweepFlag && sweep > 0) sweep -= 2 * Math.PI;
  return { kind: "oval", c, u: { x: p * cos, y: p * sin }, v: { x: -q * sin, y: q * cos }, start, sweep };
}
