import { type Box, contourBounds } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import { num } from "../draw/plain.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { Pen, shifted } from "./pen.ts";

/** Text sizes on paper, mm (em). Capitals come out at 0.73 of them; nothing on a drawing is smaller than `small`. */
export const SIZE = { small: 2.2, figure: 2.5, note: 2.8, title: 4 } as const;

/** A length as a dimension shows it: hundredths, without trailing zeros. */
export const dim = (v: number): string => num(v, 2);

/** Ratio as drawings state it (ISO 5455): 1:3, 1:1, 2:1. */
export const scaleText = (scale: number): string => (scale >= 1 ? `${num(scale, 2)}:1` : `1:${num(1 / scale, 2)}`);

/** The largest scale of the usual ones at which `mm` fits into `room` mm of paper. */
export function scaleToFit(mm: number, room: number): number {
  const usual = [5, 2, 1.5, 1, 1 / 1.5, 1 / 2, 1 / 2.5, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10];
  return usual.find((s) => mm * s <= room) ?? 1 / 20;
}

/** Which edge of the neck lies at +y: the treble of a right-handed instrument, the bass of a left-handed one. */
export const upperSide = (neck: Neck): "treble" | "bass" => (neck.order.hand === "left" ? "bass" : "treble");

/** How the neck lies on the sheet, in words. */
export const liesSays = (neck: Neck): string =>
  neck.order.hand === "left"
    ? "Left-handed: nut left, bridge right, bass side up (treble is at the lower edge)."
    : "Nut left, bridge right, treble side up.";

/** The extent of a neck along x and y, on its outline. */
export const extentOf = (neck: Neck): Box => contourBounds(neck.outline);

/** Length of the check bars, mm on paper. */
export const CHECK_BAR = 100;

/** A bar of 100 mm with end ticks and its figure, along x or along y, starting at `at`. */
export function checkBar(pen: Pen, at: XY, along: "x" | "y"): void {
  const [x, y] = at;
  const end: XY = along === "x" ? [x + CHECK_BAR, y] : [x, y - CHECK_BAR];
  pen.line("wide", at, end, { layer: "check-bar" });
  for (let k = 0; k <= 10; k++) {
    const h = k % 10 === 0 ? 2 : k === 5 ? 1.6 : 0.9;
    const p: XY = along === "x" ? [x + k * 10, y] : [x, y - k * 10];
    pen.line("narrow", p, along === "x" ? [p[0], p[1] - h] : [p[0] + h, p[1]], { layer: "check-bar" });
  }
  const says = `${CHECK_BAR} mm: measure this bar`;
  if (along === "x") pen.text([x + CHECK_BAR / 2, y - 2.2], says, SIZE.small, { anchor: "middle", ink: "soft", ground: true });
  else pen.text([x + 4.4, y - CHECK_BAR / 2], says, SIZE.small, { anchor: "middle", turn: -90, ink: "soft", ground: true });
}

export interface Stamp {
  readonly order: string;
  readonly hash: string;
}

/** First digits of a hash, as sheets and headers print it. */
export const shortHash = (hash: string): string => hash.slice(0, 12);

/**
 * A drawing to hand out alone: the figure on a ground with a frame, a line that says what it is, of which order and at what scale, and a
 * 100 mm bar in both axes when there is room for it.
 */
export function framed(d: Drawing, stamp: Stamp): Drawing {
  const margin = 8;
  const foot = 16;
  const barY = d.height >= CHECK_BAR;
  const left = margin + (barY ? 8 : 0);
  const width = Math.max(d.width + left + margin, CHECK_BAR + 130);
  const height = d.height + margin * 2 + foot;
  const pen = new Pen();
  pen.rect("narrow", [4, 4], [width - 4, height - 4]);
  const base = height - 4 - foot;
  pen.line("narrow", [4, base], [width - 4, base]);
  pen.text([8, base + 6.2], d.title, SIZE.title, { bold: true });
  const scale = d.scale === null ? "not to scale" : `scale ${scaleText(d.scale)}`;
  pen.text([8, base + 12], `Order ${stamp.order}, ${shortHash(stamp.hash)}. ${cap(scale)}. Dimensions in mm.`, SIZE.small, { ink: "soft" });
  checkBar(pen, [width - 12 - CHECK_BAR, base + 10], "x");
  if (barY) checkBar(pen, [8.5, margin + (d.height + CHECK_BAR) / 2], "y");
  const origin: XY | undefined = d.origin && [d.origin[0] + left, d.origin[1] + margin];
  return { ...d, width, height, items: [...shifted(d.items, left, margin), ...pen.items], ...(origin ? { origin } : {}) };
}

export const cap = (s: string): string => s.charAt(0).toUpperCase() + s.slice(1);
