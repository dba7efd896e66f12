import { type Mm, type Rad, radToDeg } from "../../units/index.ts";
import { slip } from "./odd.ts";
import { RANGES } from "./posting.ts";
import type { Effect, Found } from "./types.ts";

const r2 = (v: number): number => Math.round(v * 100) / 100;
/** What a reading with a rule or calliper to a tenth leaves, mm. */
export const READING: Mm = 0.05;

/** How far the carve side came out from the board side, along x and y of the carve program, from marks that both sides cut. */
export function readStep(x: Mm, y: Mm): Found<{ readonly x: Mm; readonly y: Mm }> {
  for (const [axis, v] of [
    ["x", x],
    ["y", y],
  ] as const) {
    if (Math.abs(v) <= RANGES.turn) continue;
    // any small step is believed, so only a slipped digit can be guessed
    const guess = Math.abs(v / 10) <= RANGES.turn ? `was ${r2(v / 10)} meant` : null;
    return {
      ok: false,
      says: `Along ${axis} the two sides' marks would stand ${r2(v)} mm apart; pins and end stop leave no more than ${RANGES.turn} mm.`,
      tryThis:
        guess === null
          ? "Do not cut on. Was the piece turned about the other axis, or is a chip between it and a pin? Seat it again and measure."
          : `Look at it again: ${guess}? If it is really so, do not cut on: seat the piece against its pins and measure again.`,
    };
  }
  if (x === 0 && y === 0) return { ok: false, says: "The marks meet: there is no step to put right.", tryThis: "Cut on." };
  return { ok: true, value: { x, y } };
}

/** A mark that both sides cut: where it is in the carve program, and how far the carve side's stands from the board side's. */
export interface MarkReading {
  readonly x: Mm;
  readonly y: Mm;
  readonly dx: Mm;
  readonly dy: Mm;
}

/** Marks nearer to each other than this tell nothing of an angle: half a tenth over it turns a neck's far end by a quarter of a millimetre. */
const APART: Mm = 150;
/** Wood does not stretch: readings at two marks may differ along the line between them by this much. */
const STRETCH: Mm = 0.3;

/** How the carve side came out from the board side, shifted and askew, from two marks or more (the turn that fits them best). */
export function readMarks(marks: readonly MarkReading[]): Found<{ readonly x: Mm; readonly y: Mm; readonly angle: Rad }> {
  const n = marks.length;
  const mean = (of: (m: MarkReading) => number): number => marks.reduce((s, m) => s + of(m), 0) / n;
  const apart = Math.max(0, ...marks.flatMap((a) => marks.map((b) => Math.hypot(a.x - b.x, a.y - b.y))));
  if (n < 2 || apart < APART)
    return {
      ok: false,
      says: n < 2 ? "One mark shows how far the piece is shifted, not how it lies askew." : `The marks are ${r2(apart)} mm apart at most.`,
      tryThis: `Measure at two marks or more that are at least ${APART} mm apart, one near each end of the neck.`,
    };
  for (const m of marks) {
    const each = readStep(m.dx, m.dy);
    if (!each.ok && (m.dx !== 0 || m.dy !== 0)) return { ...each, says: `Mark at ${r2(m.x)}, ${r2(m.y)}: ${each.says}` };
  }
  const [cx, cy, sx, sy] = [mean((m) => m.x), mean((m) => m.y), mean((m) => m.dx), mean((m) => m.dy)];
  let dot = 0;
  let cross = 0;
  for (const m of marks) {
    const [px, py] = [m.x - cx, m.y - cy];
    const [qx, qy] = [px + m.dx - sx, py + m.dy - sy];
    dot += px * qx + py * qy;
    cross += px * qy - py * qx;
  }
  const angle = Math.atan2(cross, dot) as Rad;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const off = Math.max(
    ...marks.map((m) => {
      const [px, py] = [m.x - cx, m.y - cy];
      return Math.hypot(m.x + m.dx - (cx + sx + cos * px - sin * py), m.y + m.dy - (cy + sy + sin * px + cos * py));
    }),
  );
  if (off > STRETCH)
    return {
      ok: false,
      says: `No shift and turn of the piece brings the marks together: one stays ${r2(off)} mm off.`,
      tryThis: "Wood does not stretch. Look at the signs (positive: further along +x or +y) and measure again.",
    };
  if (Math.abs(angle) > RANGES.askew)
    return {
      ok: false,
      says: `By these marks the turned piece lies ${r2(radToDeg(Math.abs(angle)))} degrees askew; pins leave no more than ${r2(radToDeg(RANGES.askew))}.`,
      tryThis: "Do not cut on. Look for a chip between the datum edge and a pin, seat the piece again and measure again.",
    };
  const [x, y] = [cx + sx - (cos * cx - sin * cy), cy + sy - (sin * cx + cos * cy)];
  if (marks.every((m) => m.dx === 0 && m.dy === 0))
    return { ok: false, says: "The marks meet: there is nothing to put right.", tryThis: "Cut on." };
  return { ok: true, value: { x, y, angle } };
}

/** A blank's thickness as measured, believed when it is within 4 mm of the ordered one. */
export function readBlank(what: string, ordered: Mm, measured: Mm): Found<Mm> {
  const near = (v: Mm): boolean => v > 0 && Math.abs(v - ordered) <= 4;
  if (near(measured)) return { ok: true, value: measured };
  const guess = slip(measured, near);
  return {
    ok: false,
    says: `The ${what} reads ${r2(measured)} mm thick, ordered were ${r2(ordered)} mm.`,
    tryThis:
      guess === null
        ? "Is it the right piece of wood? Then change the order itself (blank), not its correction."
        : `Look at it again: ${guess}?`,
  };
}

/** Errors in mm before, and what half a reading's step leaves after. */
export const effectOf = (what: string, before: Mm): Effect => ({ what, unit: "mm", before, after: READING });
