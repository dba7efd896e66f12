import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { crossEdge, fretLines, outerStrings } from "./fan.ts";

/**
 * Places of the strings across the nut, as distances from the bass-most centre, bass to treble; the last is `spread`.
 * With diameters and equal gaps the air between neighbouring strings is the same everywhere.
 */
export function stringOffsets(order: OrderSpec, spread: Mm): Mm[] {
  const { count, diameters, spacing, courses } = order.strings;
  if (count === 1) return [0];
  if (courses && courses.length > 1 && courses.reduce((a, b) => a + b, 0) === count)
    return courseOffsets(courses, order.strings.courseGap ?? 2.5, spread);
  if (spacing === "centres" || diameters.length !== count) return Array.from({ length: count }, (_, i) => (spread * i) / (count - 1));
  const inner = diameters.reduce((sum, d) => sum + d, 0) - (diameters[0] + diameters[count - 1]) / 2;
  const gap = (spread - inner) / (count - 1);
  const out = [0];
  for (let i = 1; i < count; i++) out.push(out[i - 1] + diameters[i - 1] / 2 + gap + diameters[i] / 2);
  return out;
}

/** Courses equally far apart, their strings `gap` apart, the outer strings `spread` apart. */
function courseOffsets(courses: readonly number[], gap: Mm, spread: Mm): Mm[] {
  const inner = courses.reduce((sum, n) => sum + (n - 1) * gap, 0);
  const between = (spread - inner) / (courses.length - 1);
  const out: Mm[] = [];
  let at = 0;
  for (const n of courses) {
    for (let k = 0; k < n; k++) out.push(at + k * gap);
    at += (n - 1) * gap + between;
  }
  return out;
}

/**
 * y (treble positive) of string s (1 = treble-most) at x: straight from its place on the nut's line to its place on the
 * bridge's. On a fan those lines slant; a string that divides both in the same ratio is then divided by every fret's line in
 * the same ratio as its neighbours are.
 */
export function stringLine(order: OrderSpec): (s: number, x: Mm) => Mm {
  const { count, spreadAtNut, spreadAtBridge } = order.strings;
  if (count === 1) return () => 0;
  const outer = outerStrings(order);
  const lines = fretLines(order, outer);
  /** Places along the line of nut or bridge, at the strings' shares of the spread. */
  const along = (n: number, spread: Mm): (readonly [Mm, Mm])[] => {
    const line = lines(n);
    const bass = crossEdge(line, (x) => outer(x)[0]);
    const treble = crossEdge(line, (x) => outer(x)[1]);
    return stringOffsets(order, spread).map((o) => {
      const t = spread === 0 ? 0 : o / spread;
      return [bass.x + (treble.x - bass.x) * t, bass.y + (treble.y - bass.y) * t] as const;
    });
  };
  const nut = along(0, spreadAtNut);
  const bridge = along(Number.POSITIVE_INFINITY, spreadAtBridge);
  return (s, x) => {
    // an order with more tuners than strings has been told so; its extra posts stand by the outermost string
    const i = Math.min(count - 1, Math.max(0, count - s));
    const a = nut[i];
    const b = bridge[i];
    return a[1] + ((b[1] - a[1]) * (x - a[0])) / (b[0] - a[0]);
  };
}

/** y of the board's edge lines (bass, treble) at x, right-handed; straight lines, also beyond the board's ends. */
export function boardEdgeLines(order: OrderSpec, boardEnd: Mm): (x: Mm) => readonly [Mm, Mm] {
  const { width } = order.board;
  if (width.kind === "widths") {
    const { nut, end } = width;
    return (x) => {
      const half = nut / 2 + ((end - nut) / 2) * (x / boardEnd);
      return [-half, half];
    };
  }
  const { count, spreadAtNut, spreadAtBridge } = order.strings;
  const a = count === 1 ? 0 : spreadAtNut;
  const b = count === 1 ? 0 : spreadAtBridge;
  return (x) => {
    const half = (a + (b - a) * (x / order.scale)) / 2;
    return [-half - width.bass, half + width.treble];
  };
}
