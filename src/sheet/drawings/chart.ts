import { num } from "../draw/plain.ts";
import type { Ink, LineKind, XY } from "../draw/types.ts";
import { SIZE } from "./common.ts";
import type { Pen } from "./pen.ts";

/* A plain chart: paper ground, thin rules, one line, its band as a shade. No colour means anything here, so a grey print loses nothing. */

export interface Axis {
  readonly min: number;
  readonly max: number;
  readonly ticks: readonly number[];
}

/** An axis from about `min` to about `max` with some `count` round steps (1, 2 or 5 times a power of ten), both ends on a step. */
export function roundAxis(min: number, max: number, count: number): Axis {
  const span = max - min;
  const [lo, hi] = span > 0 ? [min, max] : [min - 0.5 * Math.max(1e-6, Math.abs(min)), max + 0.5 * Math.max(1e-6, Math.abs(max))];
  const rough = (hi - lo) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((k) => k * power >= rough * (1 - 1e-9)) ?? 10) * power;
  const first = Math.floor(lo / step + 1e-9);
  const last = Math.ceil(hi / step - 1e-9);
  const ticks = Array.from({ length: last - first + 1 }, (_, i) => Number(((first + i) * step).toPrecision(12)));
  return { min: ticks[0], max: ticks[ticks.length - 1], ticks };
}

/** A plot area on the page: its corners, and where a value falls. */
export interface Plot {
  readonly x: Axis;
  readonly y: Axis;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  at(x: number, y: number): XY;
}

export function plotOf(
  x: Axis,
  y: Axis,
  box: { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number },
): Plot {
  const { left, right, top, bottom } = box;
  return {
    x,
    y,
    ...box,
    at: (vx, vy) => [
      left + ((right - left) * (vx - x.min)) / (x.max - x.min),
      bottom - ((bottom - top) * (Math.min(y.max, Math.max(y.min, vy)) - y.min)) / (y.max - y.min),
    ],
  };
}

/** A value as an axis shows it, with a real minus. */
export const tickText = (v: number): string => num(v, 6).replace("-", "−");

/** Rules at the ticks and figures beside them; `below` false leaves the x axis's figures out. */
export function drawAxes(
  pen: Pen,
  p: Plot,
  o: { readonly below?: boolean; readonly beside?: boolean; readonly xText?: (v: number) => string } = {},
): void {
  const { below = true, beside = true, xText = tickText } = o;
  for (const t of p.y.ticks) {
    const [, y] = p.at(p.x.min, t);
    pen.line(t === 0 ? "narrow" : "hair", [p.left, y], [p.right, y], { ink: t === 0 ? "ink" : "soft" });
    if (beside) pen.text([p.left - 1.2, y + 0.8], tickText(t), SIZE.small, { anchor: "end", ink: "soft" });
  }
  for (const t of p.x.ticks) {
    const [x] = p.at(t, p.y.min);
    pen.line("hair", [x, p.top], [x, p.bottom], { ink: "soft" });
    if (below) pen.text([x, p.bottom + 3], xText(t), SIZE.small, { anchor: "middle", ink: "soft" });
  }
}

/** A line through values. */
export function drawLine(pen: Pen, p: Plot, xs: readonly number[], ys: readonly number[], line: LineKind, ink: Ink = "ink"): void {
  pen.polyline(
    line,
    xs.map((x, i) => p.at(x, ys[i])),
    { ink },
  );
}

/** The band between two lines, a shade with a thin rim. */
export function drawBand(pen: Pen, p: Plot, xs: readonly number[], low: readonly number[], high: readonly number[]): void {
  const points = [...xs.map((x, i) => p.at(x, high[i])), ...[...xs].reverse().map((x, i) => p.at(x, low[xs.length - 1 - i]))];
  pen.polyline("hair", points, { closed: true, fill: "shade", ink: "soft" });
}
