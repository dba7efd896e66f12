import type { AlongNeck } from "../../neck/figures/index.ts";
import type { Drawing } from "../draw/types.ts";
import { drawAxes, drawBand, drawLine, plotOf, roundAxis } from "./chart.ts";
import { cap, SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

const ROW = 44;
const PLOT = 27;

/** What runs along the neck, one small chart each, two beside each other: the value as a wide line, its band as a shade. */
export function alongDrawing(lines: readonly AlongNeck[], width: number): Drawing {
  const pen = new Pen();
  const title = "Along the neck";
  const each = (width - 12) / 2;
  lines.forEach((l, k) => {
    const left = (k % 2) * (each + 12) + 12;
    const top = Math.floor(k / 2) * ROW + 7;
    const right = left + each - 14;
    const bottom = top + PLOT;
    const [lo, hi] = [Math.min(...l.low), Math.max(...l.high)];
    // relief and stiffness are read from nothing; girth and area from where they lie
    const from = l.id === "relief" || l.id === "stiffness" ? Math.min(0, lo) : lo;
    const p = plotOf(roundAxis(0, l.xs[l.xs.length - 1], 5), roundAxis(from, hi, 4), { left, right, top, bottom });
    pen.text([left, top - 3], `${cap(l.what)}, ${l.unit}`, SIZE.note, { bold: true });
    drawBand(pen, p, l.xs, l.low, l.high);
    drawAxes(pen, p);
    drawLine(pen, p, l.xs, l.value, "wide");
    pen.text([right, bottom + 6.4], "mm from the nut", SIZE.small, { anchor: "end", ink: "soft" });
  });
  const says = lines
    .map((l) => {
      const most = l.value.reduce((best, v, i) => (v > l.value[best] ? i : best), 0);
      return `${cap(l.what)} is ${shown(Math.min(...l.value))} to ${shown(l.value[most])} ${l.unit}, most ${l.xs[most].toFixed(0)} mm from the nut.`;
    })
    .join(" ");
  return {
    id: "along",
    title,
    says: `${says} The shade is the band.`,
    width,
    height: Math.ceil(lines.length / 2) * ROW,
    group: 0.35,
    items: pen.items,
    scale: null,
  };
}

const shown = (v: number): string => (Math.abs(v) >= 100 ? v.toFixed(0) : v.toFixed(2));
