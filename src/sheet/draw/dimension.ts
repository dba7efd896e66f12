import { textWidth } from "./metrics.ts";
import type { DimensionItem, Ink, PlainItem, XY } from "./types.ts";

/** Arrow: filled, 30 degrees or less between its sides (ISO 129-1), length in mm on paper. */
const ARROW = 2.2;
const ARROW_HALF_WIDTH = 0.38;
/** Extension lines start this far from the feature and end this far past the dimension line. */
const EXTENSION_GAP = 0.8;
const EXTENSION_PAST = 1.2;
/** Figures stand this far above the dimension line. */
const FIGURE_GAP = 0.7;
export const DIMENSION_SIZE = 2.5;

/** Breaks a dimension into lines, arrows and its figure, in page coordinates. */
export function dimensionItems(d: DimensionItem): PlainItem[] {
  const size = d.size ?? DIMENSION_SIZE;
  const ink: Ink = d.ink ?? "ink";
  const feet = feetOf(d);
  const [p, q] = feet;
  const length = Math.hypot(q[0] - p[0], q[1] - p[1]);
  if (length < 1e-9) return [];
  const u: XY = [(q[0] - p[0]) / length, (q[1] - p[1]) / length];
  const out: PlainItem[] = [];
  const line = (a: XY, b: XY): void => {
    out.push({ kind: "line", line: "narrow", a, b, ink });
  };
  for (const [from, foot] of [
    [d.a, p],
    [d.b, q],
  ] as const) {
    const run = Math.hypot(foot[0] - from[0], foot[1] - from[1]);
    if (run < EXTENSION_GAP) continue;
    const e: XY = [(foot[0] - from[0]) / run, (foot[1] - from[1]) / run];
    line(
      [from[0] + e[0] * EXTENSION_GAP, from[1] + e[1] * EXTENSION_GAP],
      [foot[0] + e[0] * EXTENSION_PAST, foot[1] + e[1] * EXTENSION_PAST],
    );
  }
  const width = textWidth(d.text, size);
  const inside = length >= 2 * ARROW + 1;
  if (inside) {
    line(p, q);
    out.push(arrow(p, [-u[0], -u[1]], ink), arrow(q, u, ink));
  } else {
    line([p[0] - u[0] * 2 * ARROW, p[1] - u[1] * 2 * ARROW], p);
    line(p, q);
    line(q, [q[0] + u[0] * 2 * ARROW, q[1] + u[1] * 2 * ARROW]);
    out.push(arrow(p, u, ink), arrow(q, [-u[0], -u[1]], ink));
  }
  // the figure reads from below or from the right: turn the direction of reading into -90..+90 degrees
  let angle = (Math.atan2(u[1], u[0]) * 180) / Math.PI;
  const reading: XY = angle > 90 - 1e-6 || angle <= -90 - 1e-6 ? [-u[0], -u[1]] : u;
  angle = (Math.atan2(reading[1], reading[0]) * 180) / Math.PI;
  if (Math.abs(angle - 90) < 1e-6) angle = -90;
  const up: XY = [reading[1], -reading[0]];
  const fitsBetween = width + 1 <= length;
  const past = q[0] * reading[0] + q[1] * reading[1] > p[0] * reading[0] + p[1] * reading[1] ? q : p;
  const away = (inside ? 0.8 : 2 * ARROW) + width / 2 + 0.4;
  const mid: XY = fitsBetween ? [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2] : [past[0] + reading[0] * away, past[1] + reading[1] * away];
  if (!fitsBetween) line(past, [past[0] + reading[0] * (away + width / 2), past[1] + reading[1] * (away + width / 2)]);
  out.push({
    kind: "text",
    at: [mid[0] + up[0] * FIGURE_GAP, mid[1] + up[1] * FIGURE_GAP],
    text: d.text,
    size,
    anchor: "middle",
    turn: Math.abs(angle) < 1e-6 ? 0 : angle,
    ink,
    ...(d.ground ? { ground: true } : {}),
  });
  return out;
}

/** Ends of the dimension line. */
function feetOf(d: DimensionItem): readonly [XY, XY] {
  if (d.along === "x")
    return [
      [d.a[0], d.line],
      [d.b[0], d.line],
    ];
  if (d.along === "y")
    return [
      [d.line, d.a[1]],
      [d.line, d.b[1]],
    ];
  const length = Math.hypot(d.b[0] - d.a[0], d.b[1] - d.a[1]) || 1;
  const left: XY = [(d.b[1] - d.a[1]) / length, -(d.b[0] - d.a[0]) / length];
  return [
    [d.a[0] + left[0] * d.line, d.a[1] + left[1] * d.line],
    [d.b[0] + left[0] * d.line, d.b[1] + left[1] * d.line],
  ];
}

/** A filled arrow with its tip at `tip`, pointing along the unit vector `u`. */
export function arrow(tip: XY, u: XY, ink: Ink = "ink"): PlainItem {
  const [bx, by] = [tip[0] - u[0] * ARROW, tip[1] - u[1] * ARROW];
  const w = ARROW_HALF_WIDTH;
  return {
    kind: "polyline",
    line: "none",
    closed: true,
    fill: ink,
    points: [tip, [bx - u[1] * w, by + u[0] * w], [bx + u[1] * w, by - u[0] * w]],
  };
}
