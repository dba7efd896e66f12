import type { Mm } from "../../units/index.ts";
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
