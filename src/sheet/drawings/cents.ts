import { answersOf, type StringAnswer, USUAL_TOLERANCES } from "../../neck/figures/index.ts";
import type { Neck } from "../../neck/types.ts";
import type { Drawing } from "../draw/types.ts";
import { drawAxes, drawLine, plotOf, roundAxis } from "./chart.ts";
import { dim, SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

const WIDTH = 180;
const ROW = 15;
const GAP = 3;
const TOP = 11;

/** Numbers of the frets that an axis names. */
export const namedFrets = (count: number): number[] =>
  [1, 3, 5, 7, 9, 12, 15, 17, 19, 21, 24, 27, 30, 33, 36, 42, 48, 54, 60].filter((n) => n <= count);

const worst = (v: readonly number[]): number => v.reduce((a, c) => Math.max(a, Math.abs(c)), 0);

/**
 * Cents by fret and by string: on the left with nut and saddle in their nominal places, on the right with the saddle moved (thin) and with
 * saddle and nut moved (wide), at a finer scale. Treble string on top, as the neck lies.
 */
export function centsDrawing(neck: Neck, width: number = WIDTH): Drawing {
  const { frets } = neck.order;
  const all = answersOf(neck, USUAL_TOLERANCES);
  const id = "cents";
  const title = "Cents by fret and string";
  const pen = new Pen();
  if (all === null || frets.count === 0 || frets.kind === "none") {
    const says =
      all === null ? "Pitches or gauges of the strings are not known: nothing can be said of cents." : "No frets: nothing to compensate.";
    pen.text([2, 8], says, SIZE.note);
    return { id, title, says, width, height: 12, group: 0.35, items: pen.items, scale: null };
  }
  // the treble side lies up, as on the plan; a left-handed neck has its bass side there
  const strings = neck.order.hand === "left" ? all : [...all].reverse();
  const named = namedFrets(frets.count);
  const fretAxis = { min: 0.5, max: frets.count + 0.5, ticks: named };
  const label = 17;
  const panel = (width - label - 38) / 2;
  const before = panelAxis(strings.flatMap((s) => s.before));
  const after = panelAxis(strings.flatMap((s) => [...s.afterSaddle, ...s.after]));
  const leftA = label + 7;
  const leftB = leftA + panel + 15;
  pen.text([leftA, 4], "nothing compensated", SIZE.note, { bold: true });
  pen.text([leftA, 7.6], `cents, ${tickNote(before)}`, SIZE.small, { ink: "soft" });
  pen.text([leftB, 4], "compensated", SIZE.note, { bold: true });
  pen.text([leftB, 7.6], `cents, ${tickNote(after)}; thin: saddle, wide: saddle and nut`, SIZE.small, { ink: "soft" });
  const xs = Array.from({ length: frets.count }, (_, n) => n + 1);
  strings.forEach((s, k) => {
    const top = TOP + k * (ROW + GAP);
    const bottom = top + ROW;
    const last = k === strings.length - 1;
    pen.text([0, top + ROW / 2 - 0.6], `${s.string}  ${s.pitch}`, SIZE.note, { bold: true });
    pen.text([0, top + ROW / 2 + 3], gaugeText(s), SIZE.small, { ink: "soft" });
    const a = plotOf(fretAxis, before, { left: leftA, right: leftA + panel, top, bottom });
    const b = plotOf(fretAxis, after, { left: leftB, right: leftB + panel, top, bottom });
    drawAxes(pen, a, { below: last });
    drawAxes(pen, b, { below: last });
    drawLine(pen, a, xs, s.before, "wide");
    drawLine(pen, b, xs, s.afterSaddle, "narrow");
    drawLine(pen, b, xs, s.after, "wide");
    for (const n of xs) pen.circle("none", b.at(n, s.after[n - 1]), 0.45, { fill: "ink" });
    pen.text([leftA + panel + 1, top + 2.4], `≤ ${worst(s.before).toFixed(1)}`, SIZE.small);
    pen.text([leftB + panel + 1, top + 2.4], `≤ ${worst(s.afterSaddle).toFixed(1)}`, SIZE.small, { ink: "soft" });
    pen.text([leftB + panel + 1, top + 5.6], `≤ ${worst(s.after).toFixed(1)}`, SIZE.small, { bold: true });
  });
  const foot = TOP + strings.length * (ROW + GAP) + 3.6;
  pen.text([leftA + panel / 2, foot], "fret", SIZE.small, { anchor: "middle", ink: "soft" });
  pen.text([leftB + panel / 2, foot], "fret", SIZE.small, { anchor: "middle", ink: "soft" });
  const most = (pick: (s: StringAnswer) => readonly number[]): string => Math.max(...strings.map((s) => worst(pick(s)))).toFixed(1);
  const says = `Uncompensated, the largest error of any string is ${most((s) => s.before)} cents; with each saddle in its best place ${most((s) => s.afterSaddle)}; with nut and saddle ${most((s) => s.after)}.${strings[0].assumed ? " Gauges are assumed: a usual set." : ""}`;
  return { id, title, says, width, height: foot + 2, group: 0.35, items: pen.items, scale: null };
}

/** One scale for all strings of a panel, zero among its ticks. */
const panelAxis = (values: readonly number[]): ReturnType<typeof roundAxis> =>
  roundAxis(Math.min(0, ...values), Math.max(0.5, ...values), 3);
const tickNote = (a: ReturnType<typeof roundAxis>): string => `a rule every ${dim(a.ticks[1] - a.ticks[0])}`;
const gaugeText = (s: StringAnswer): string => `${dim(s.diameter)} mm${s.wound ? ", wound" : ""}`;
