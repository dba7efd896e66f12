import fc from "fast-check";
import { closestOnCurve, pointOn } from "../../src/kernel/contour.ts";
import type { Contour, Curve, Point } from "../../src/kernel/curve.ts";
import { samplesOf } from "./write.ts";

/* Closed outlines of a headstock's size that do not cross themselves, and how far two of them are apart. */

const real = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

/** Corners around a centre, joined by lines, arcs and cubics that stay near their chords. */
export function outlineArb(kinds: readonly Curve["kind"][]): fc.Arbitrary<readonly Curve[]> {
  const corner = fc.record({
    r: real(45, 70),
    turn: real(-0.15, 0.15),
    kind: fc.constantFrom(...kinds),
    a: real(-0.07, 0.07),
    b: real(-0.07, 0.07),
  });
  return fc
    .record({ corners: fc.array(corner, { minLength: 5, maxLength: 9 }), x: real(-150, 150), y: real(-90, 90) })
    .map(({ corners, x, y }) => {
      const n = corners.length;
      const at = corners.map(({ r, turn }, k): Point => {
        const angle = (2 * Math.PI * (k + turn)) / n;
        return { x: x + r * Math.cos(angle), y: y + r * Math.sin(angle) };
      });
      return corners.map(({ kind, a, b }, k) => between(at[k], at[(k + 1) % n], kind, a, b));
    });
}

function between(p: Point, q: Point, kind: Curve["kind"], a: number, b: number): Curve {
  const [dx, dy] = [q.x - p.x, q.y - p.y];
  if (kind === "arc" && Math.abs(a) > 1e-3) {
    // sagitta of a times the chord, to the right when positive: bulge 2a
    const bulge = 2 * a;
    const off = (1 - bulge * bulge) / (4 * bulge);
    const centre = { x: (p.x + q.x) / 2 - off * dy, y: (p.y + q.y) / 2 + off * dx };
    const radius = Math.hypot(p.x - centre.x, p.y - centre.y);
    return { kind: "arc", centre, radius, start: Math.atan2(p.y - centre.y, p.x - centre.x), sweep: 4 * Math.atan(bulge) };
  }
  if (kind === "cubic") {
    const on = (t: number, s: number): Point => ({ x: p.x + t * dx + s * dy, y: p.y + t * dy - s * dx });
    return { kind: "cubic", p0: p, p1: on(1 / 3, a), p2: on(2 / 3, b), p3: q };
  }
  return { kind: "line", a: p, b: q };
}

/** Farthest that any place of the one lies from the other, both ways; `map` carries `drawn` into the place of `read`, `back` reverses it. */
export function apart(drawn: readonly Curve[], read: Contour, map = (p: Point): Point => p, back = (p: Point): Point => p): number {
  const gap = (p: Point, curves: readonly Curve[]): number => Math.min(...curves.map((c) => closestOnCurve(c, p.x, p.y).distance));
  const there = samplesOf(drawn).map((p) => gap(map(p), read.curves));
  // from the middles of pieces too, so that a piece too many is seen
  const here = [...samplesOf(read.curves), ...read.curves.map((c) => pointOn(c, 0.37))].map((p) => gap(back(p), drawn));
  return Math.max(...there, ...here);
}
