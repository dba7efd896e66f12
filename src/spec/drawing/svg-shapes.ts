import type { Point } from "../../kernel/curve.ts";
import { NUMBER, refuse } from "./rules.ts";
import { subPaths } from "./svg-path.ts";
import { numberList, userLength } from "./svg-text.ts";
import type { Piece } from "./types.ts";

export interface Shape {
  /** None when the element draws nothing (a radius of 0, say). */
  readonly pieces: readonly Piece[];
  readonly closed: boolean;
}

const NOTHING: readonly Shape[] = [{ pieces: [], closed: false }];

/** Shapes of one element in its own user units; null when it is no shape. Throws a Refusal. */
export function shapeOf(tag: string, attribute: (name: string) => string | undefined, where: string): readonly Shape[] | null {
  const length = (name: string, otherwise: number): number => {
    const v = attribute(name);
    return v === undefined ? otherwise : userLength(v, name, where);
  };
  const size = (name: string, otherwise = 0): number => {
    const v = length(name, otherwise);
    if (v < 0) refuse(NUMBER, where, `${name} is ${v}.`, "Draw it again.", { value: v, limit: 0 });
    return v;
  };
  switch (tag) {
    case "path":
      return subPaths(attribute("d") ?? "", where);
    case "line":
      return [{ pieces: chain([pt(length("x1", 0), length("y1", 0)), pt(length("x2", 0), length("y2", 0))], false), closed: false }];
    case "polyline":
    case "polygon": {
      const v = numberList(attribute("points") ?? "", "points", where);
      if (v.length % 2 === 1) refuse(NUMBER, where, `points has ${v.length} numbers, an odd count.`, "Draw it again.", { value: v.length });
      const points: Point[] = [];
      for (let k = 0; k < v.length; k += 2) points.push(pt(v[k], v[k + 1]));
      return points.length < 2 ? NOTHING : [{ pieces: chain(points, tag === "polygon"), closed: tag === "polygon" }];
    }
    case "circle": {
      const r = size("r");
      return r === 0 ? NOTHING : [{ pieces: [oval(length("cx", 0), length("cy", 0), r, r, 0, 2 * Math.PI)], closed: true }];
    }
    case "ellipse": {
      const [rx, ry] = radii(attribute, size);
      return rx === 0 || ry === 0 ? NOTHING : [{ pieces: [oval(length("cx", 0), length("cy", 0), rx, ry, 0, 2 * Math.PI)], closed: true }];
    }
    case "rect": {
      const [w, h] = [size("width"), size("height")];
      if (w === 0 || h === 0) return NOTHING;
      const [x, y] = [length("x", 0), length("y", 0)];
      const asked = radii(attribute, size);
      return [{ pieces: rectangle(x, y, w, h, Math.min(asked[0], w / 2), Math.min(asked[1], h / 2)), closed: true }];
    }
    default:
      return null;
  }
}

/** rx and ry; one that is missing or "auto" takes the other's value. */
function radii(attribute: (name: string) => string | undefined, size: (name: string) => number): [number, number] {
  const has = (name: string): boolean => attribute(name) !== undefined && attribute(name)?.trim() !== "auto";
  const rx = has("rx") ? size("rx") : null;
  const ry = has("ry") ? size("ry") : null;
  return [rx ?? ry ?? 0, ry ?? rx ?? 0];
}

const pt = (x: number, y: number): Point => ({ x, y });

function chain(points: readonly Point[], closed: boolean): Piece[] {
  const out: Piece[] = [];
  for (let k = 1; k < points.length; k++) out.push({ kind: "line", a: points[k - 1], b: points[k] });
  if (closed) out.push({ kind: "line", a: points[points.length - 1], b: points[0] });
  return out;
}

const oval = (x: number, y: number, rx: number, ry: number, start: number, sweep: number): Piece => ({
  kind: "oval",
  c: pt(x, y),
  u: pt(rx, 0),
  v: pt(0, ry),
  start,
  sweep,
});

/** Corners of rx by ry, in the order that SVG 1.1, section 9.2, gives. */
function rectangle(x: number, y: number, w: number, h: number, rx: number, ry: number): Piece[] {
  if (rx === 0 || ry === 0) return chain([pt(x, y), pt(x + w, y), pt(x + w, y + h), pt(x, y + h)], true);
  const q = Math.PI / 2;
  const line = (a: Point, b: Point): Piece => ({ kind: "line", a, b });
  return [
    line(pt(x + rx, y), pt(x + w - rx, y)),
    oval(x + w - rx, y + ry, rx, ry, -q, q),
    line(pt(x + w, y + ry), pt(x + w, y + h - ry)),
    oval(x + w - rx, y + h - ry, rx, ry, 0, q),
    line(pt(x + w - rx, y + h), pt(x + rx, y + h)),
    oval(x + rx, y + h - ry, rx, ry, q, q),
    line(pt(x, y + h - ry), pt(x, y + ry)),
    oval(x + rx, y + ry, rx, ry, 2 * q, q),
  ];
}
