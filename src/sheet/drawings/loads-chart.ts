import { num } from "../draw/plain.ts";
import { rgbPng } from "../draw/png.ts";
import type { Drawing } from "../draw/types.ts";
import type { LoadKind, LoadPanel, LoadSeries } from "../load-series.ts";
import { hexOf, rampColour, rampTable } from "../ramp.ts";
import { timeText } from "../words.ts";
import { SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

/*
 * Loads along a program: five panels over one axis of time. Each column of a panel runs from the least to the most of what falls into it,
 * coloured by the most on the scale of left-over wood (light to dark, so that a grey print keeps it); limits are lines.
 *
 *   engagement  |##  ###  ##|  - - limit
 *   chip        |## .#.#  ##|  - - most, least
 *   ...          0    time   end
 */

/** Columns of a chart; one pixel of its picture each. */
export const CHART_COLUMNS = 640;
/** Rows of a panel's picture. */
const ROWS = 48;
const GROUND = [251, 248, 241] as const;

const NAMES: Readonly<Record<LoadKind, string>> = {
  engagement: "engagement",
  chip: "chip",
  force: "force",
  bend: "bend",
  power: "power",
};

/** A round number at or a little above v: 1, 2, 2.5 or 5 times a power of ten. */
export function roundUp(v: number): number {
  if (!(v > 0)) return 1;
  const base = 10 ** Math.floor(Math.log10(v));
  return [1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10].map((k) => k * base).find((k) => k >= v * (1 - 1e-9)) ?? 10 * base;
}

/** Full scale of a panel: what is reached, and its limits where they are not far beyond. */
export function fullScale(p: LoadPanel): number {
  const near = p.limits.map((l) => l.value).filter((v) => v <= 2.5 * p.peak);
  return roundUp(Math.max(p.peak * 1.05, ...near.map((v) => v * 1.05), 1e-6));
}

/** The picture of a panel: columns from least to most, coloured by the most. */
export function panelPng(p: LoadPanel, top: number): Uint8Array {
  const w = p.most.length;
  const table = rampTable("above");
  return rgbPng(w, ROWS, (data) => {
    // the ground all over: one dot, then twice as many each time
    data.set(GROUND);
    for (let n = GROUND.length; n < data.length; n *= 2) data.copyWithin(n, 0, n);
    for (let x = 0; x < w; x++) {
      const high = Math.min(1, p.most[x]! / top);
      if (!(high > 0)) continue;
      const low = Math.min(high, p.least[x]! / top);
      const c = 3 * Math.round(40 + 215 * high);
      // at least one row, so that a steady value shows
      const y0 = Math.min(ROWS - 1, Math.floor((1 - high) * ROWS));
      const y1 = Math.max(y0, Math.min(ROWS - 1, Math.ceil((1 - low) * ROWS) - 1));
      for (let y = y0; y <= y1; y++) {
        const o = (y * w + x) * 3;
        data[o] = table[c]!;
        data[o + 1] = table[c + 1]!;
        data[o + 2] = table[c + 2]!;
      }
    }
  });
}

const digits = (v: number): number => (v < 0.2 ? 4 : v < 2 ? 3 : v < 20 ? 1 : 0);
const show = (v: number): string => num(v, digits(v));

/** What a chart says in words: for those who do not see it, and for the caption. */
export function seriesSays(s: LoadSeries): string {
  const parts = s.panels.map((p) => {
    const upper = p.limits
      .filter((l) => (l.name === "limit" || l.name === "most") && l.value > 0)
      .map((l) => ({ ...l, share: mostIn(p, l.from, l.to) / l.value }));
    const nearest = upper.reduce<(typeof upper)[number] | null>((w, l) => (w === null || l.share > w.share ? l : w), null);
    const limit =
      nearest === null
        ? ""
        : ` (${(100 * nearest.share).toFixed(0)} % of the limit ${show(nearest.value)}${nearest.share > 1.02 ? ": PASSED" : ""})`;
    const audited = p.limits.filter((l) => l.name === "audited").map((l) => l.value);
    const seen = audited.length === 0 ? "" : `, ${show(Math.max(...audited))} audited in the program's text`;
    return `${NAMES[p.kind]} at most ${show(p.peak)} ${p.unit}, ${show(p.mean)} on average${seen}${limit}`;
  });
  const thin = s.thin < 0.005 ? "" : ` The chip is under the cutter's least for ${(100 * s.thin).toFixed(0)} % of the time in wood.`;
  return `${timeText(s.seconds)}, of which ${timeText(s.inWood)} in feed below the blank's face; ${s.moves} moves. ${parts.join("; ")}.${thin}`;
}

/** The most within a span of columns; where cuts meet in one column it belongs to both, so the ends count only when nothing else does. */
export function mostIn(p: LoadPanel, from: number, to: number): number {
  let most = 0;
  const inner = to - from > 1 ? 1 : 0;
  for (let c = from + inner; c <= to - inner && c < p.most.length; c++) most = Math.max(most, p.most[c]!);
  return most;
}

/** The chart of a program, `width` mm wide. */
export function loadsChart(s: LoadSeries, id: string, title: string, width: number): Drawing {
  const pen = new Pen();
  const left = 27;
  const plot = width - left - 24;
  const tall = 15;
  const gap = 4.5;
  let y = 5;
  const across = (column: number): number => left + (plot * column) / s.columns;
  for (const p of s.panels) {
    const top = fullScale(p);
    const says = `${NAMES[p.kind]} over time: at most ${show(p.peak)} ${p.unit}`;
    pen.items.push({ kind: "image", at: [left, y], width: plot, height: tall, png: panelPng(p, top), alt: says });
    pen.rect("narrow", [left, y], [left + plot, y + tall]);
    pen.text([0, y + 4], NAMES[p.kind], SIZE.figure, { bold: true });
    pen.text([0, y + 8], p.unit, SIZE.small, { ink: "soft" });
    for (const share of [0, 0.5, 1]) {
      const at = y + tall * (1 - share);
      pen.line("narrow", [left - 1, at], [left, at]);
      pen.text([left - 1.6, at + 0.8], show(top * share), SIZE.small, { anchor: "end" });
    }
    const told = new Set<string>();
    const used: number[] = [];
    for (const l of p.limits) {
      const beyond = l.value > top;
      const label = `${l.name} ${show(l.value)}`;
      if (!beyond)
        pen.line("hidden", [across(l.from), y + tall * (1 - l.value / top)], [across(l.to + 1), y + tall * (1 - l.value / top)], {
          ink: "accent",
        });
      if (told.has(label) || told.size > 3) continue;
      let row = beyond ? y + 2 : y + tall * (1 - l.value / top) + 0.8;
      while (used.some((u) => Math.abs(u - row) < 2.7)) row += 0.1;
      used.push(row);
      pen.text([left + plot + 1.2, row], beyond ? `${label} ↑` : label, SIZE.small, { ink: "accent" });
      told.add(label);
    }
    y += tall + gap;
  }
  y -= gap;
  for (const c of s.cuts) {
    const x = across(c.from);
    if (c.from > 0) pen.line("narrow", [x, 5], [x, y], { ink: "soft" });
    pen.text([x + 0.6, 3.6], c.id, SIZE.small, { ink: "soft" });
  }
  for (const share of [0, 0.25, 0.5, 0.75, 1]) {
    const x = left + plot * share;
    pen.line("narrow", [x, y], [x, y + 1]);
    pen.text([x, y + 3.6], share === 0 ? "0" : timeText(s.seconds * share), SIZE.small, { anchor: "middle" });
  }
  y += 6;
  const n = 24;
  const bar = 30;
  for (let k = 0; k < n; k++) {
    const x = left + (bar * k) / n;
    pen.rect("none", [x, y], [Math.min(left + bar, x + (1.6 * bar) / n), y + 2.4], {
      fill: hexOf(rampColour("above", (40 + (215 * (k + 0.5)) / n) / 255)),
    });
  }
  pen.rect("narrow", [left, y], [left + bar, y + 2.4]);
  pen.text([left + bar + 2, y + 2], "nothing to full scale of each panel; every column from its least to its most", SIZE.small, {
    ink: "soft",
  });
  return { id, title, says: seriesSays(s), width, height: y + 4, group: 0.35, items: pen.items, scale: null };
}
