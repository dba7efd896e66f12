import { cuspHeight, rowSpacing } from "../../cutting/cusp.ts";
import type { Mm } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import { rows } from "../strategies/rows.ts";
import { boardRow } from "./contact.ts";
import { ACROSS, ALONG, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter, withSoundCutter } from "./context.ts";
import { flatRows } from "./flats.ts";
import { joinRows, toFrame } from "./join.ts";

/** Past the board's edges the surface goes on by this much, so that the slot cutter's shank finds no wood there. */
const BEYOND = 4.5;

/** Rows of roughing, as a share of the ball's diameter. */
const ROUGH_STEP = 0.25;

/** Left on the board for its finishing rows, mm. */
const BOARD_LEAVE = 0.4;

/** Takes a radiused board down to a little above its surface in wide rows, so that the finishing rows meet an even, thin layer. */
export function boardRough(ctx: Context): Result {
  const { neck, frame } = ctx;
  const p = neck.places;
  const { board } = neck.order;
  const head = {
    id: "board-rough",
    title: "Board radius, roughing",
    why: "After the markers' glue has cured; what finishing meets is then thin and even.",
  };
  if (!Number.isFinite(board.radius.nut) && !Number.isFinite(board.radius.end)) return NOTHING_TO_CUT;
  return withCutter(ctx, head, { shapes: ["ball"], most: 12, flute: 2, reach: 10 }, (cutter) => {
    const step = cutter.diameter * ROUGH_STEP;
    const depth = frame.topZ - frame.z(neck.top(p.boardEnd, neck.boardEdges(p.boardEnd)[1]));
    if (depth <= 2 * BOARD_LEAVE) return NOTHING_TO_CUT;
    const cond = conditions(ctx, cutter, { step, kind: "side", depth: depth - BOARD_LEAVE, wood: ALONG });
    const lines = boardRows(ctx, cutter.diameter / 2, step);
    // in layers no deeper than the machine bears, the last BOARD_LEAVE above the surface
    const layers = Math.max(1, Math.ceil((depth - BOARD_LEAVE) / cond.depth - 1e-9));
    const raised = (by: Mm): Path[] => lines.map((l) => l.map((v, i) => (i % 3 === 2 ? v + by : v)));
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (let k = layers - 1; k >= 0; k--)
        rows(
          b,
          joinRows(raised(BOARD_LEAVE + (k * (depth - BOARD_LEAVE)) / layers), 3 * step, () => true, frame.nx),
          { ...m, entry: "plunge" },
        );
    });
  });
}

/**
 * Shares of the half width for steps of a flat cutter's edge, each as high as the cusp allows where the board falls most: the fall
 * goes with the square of the share, so K steps of one height stand at the roots of k / K. From the crown to `end`, one side.
 */
export function stepShares(fall: Mm, cusp: Mm, end: number): number[] {
  const n = Math.max(1, Math.ceil(fall / cusp));
  return Array.from({ length: n + 1 }, (_, k) => end * Math.sqrt(k / n));
}

/** Rows over the whole board and a little past its edges and ends, `spacing` apart at the widest. */
function boardRows(ctx: Context, radius: Mm, spacing: Mm, corner: Mm = radius, cusp: Mm | null = null): Path[] {
  const { neck } = ctx;
  const p = neck.places;
  const half = Math.max(...neck.boardEdges(p.boardEnd).map(Math.abs)) + BEYOND;
  const from = p.boardFront - 1 - Math.abs(p.nutSlope) * half;
  const to = Math.max(p.end, p.boardEnd) + 1;
  const widths = [from, to].map((x) => neck.boardEdges(x)[1] - neck.boardEdges(x)[0]);
  // shares of the half width, reaching BEYOND past the edge at the narrow end
  const end = 1 + (2 * BEYOND) / Math.min(...widths);
  const n = Math.ceil((Math.max(...widths) * end) / spacing);
  const row = (u: number): Path => toFrame(ctx, boardRow(neck, radius, u, from, to, 0.0005, corner).points);
  if (corner < radius) {
    // both sides from the crown outward; one row on each side of it
    const shares = corner > 0 ? Array.from({ length: Math.ceil(n / 2) + 1 }, (_, k) => (end * k) / Math.ceil(n / 2)) : flatShares();
    return [...shares.map((u) => row(-u)).reverse(), ...shares.map(row)];
  }
  function flatShares(): number[] {
    const fall = (x: Mm): Mm => {
      const [lo, hi] = neck.boardEdges(x);
      return neck.boardTop(x, (lo + hi) / 2) - neck.boardTop(x, (lo + hi) / 2 + (end * (hi - lo)) / 2);
    };
    return stepShares(Math.max(fall(from), fall((from + to) / 2), fall(to)), cusp ?? spacing, end);
  }
  return Array.from({ length: n + 1 }, (_, k) => toFrame(ctx, boardRow(neck, radius, -end + (2 * end * k) / n, from, to, 0.0005).points));
}

/** The finished face of the board: long rows of a ball that touch the exact surface; a flat board is faced with a flat cutter. */
export function boardRadius(ctx: Context): Result {
  const { neck, frame } = ctx;
  const p = neck.places;
  const { board, cutting } = neck.order;
  const flat = !Number.isFinite(board.radius.nut) && !Number.isFinite(board.radius.end);
  const head = {
    id: "board-radius",
    title: flat ? "Board face" : "Board radius",
    why: "After the markers' glue has cured: it levels them with the board.",
  };
  // past both ends, slanted ones included
  const half = Math.max(...neck.boardEdges(p.boardEnd).map(Math.abs)) + BEYOND;
  const from = p.boardFront - 1 - Math.abs(p.nutSlope) * half;
  const to = Math.max(p.end, p.boardEnd) + 1;
  if (flat)
    return withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: 1, reach: 10 }, (cutter) => {
      const cond = conditions(ctx, cutter, {
        step: cutter.diameter * 0.45,
        kind: "finish",
        depth: frame.topZ - frame.z(board.thickness),
        wood: ACROSS,
      });
      const path = flatRows(ctx, from, to, cutter.diameter / 2, cutter.diameter * 0.45, BEYOND, frame.z(board.thickness));
      return draft(ctx, head, cutter, cond, 0, (b, m) => rows(b, [path], { ...m, entry: "ramp" }));
    });
  return withSoundCutter(ctx, head, { shapes: [ctx.boardRadius ?? "ball"], most: 12, flute: 2, reach: 10 }, (cutter) => {
    const r = cutter.diameter / 2;
    const corner = cutter.shape === "ball" ? r : (cutter.cornerRadius ?? 0);
    const tight = Math.min(board.radius.nut, board.radius.end);
    // a flat cutter's edge leaves steps: as wide on the whole as the width over their number
    const spacing = corner > 0 ? rowSpacing(corner, cutting.cusp, tight) : (2 * tight * cutting.cusp) / half;
    // what roughing left, and the ridges between its rows
    const depth = BOARD_LEAVE + cuspHeight(r, cutter.diameter * ROUGH_STEP);
    const slope = Math.asin(Math.min(1, half / tight));
    const cond = conditions(ctx, cutter, { step: spacing, kind: "finish", depth, wood: ALONG, slope, layers: true });
    const lines = boardRows(ctx, r, spacing, corner, cutting.cusp);
    const how =
      corner === r
        ? ""
        : ` ${lines.length} rows of ${corner > 0 ? "the bull's corner" : "the flat cutter's edge, in steps"} for a cusp of ${cutting.cusp} mm; a ball as wide needs ${boardRows(ctx, r, rowSpacing(r, cutting.cusp, tight)).length}.`;
    return draft(ctx, { ...head, why: head.why + how }, cutter, cond, cutting.cusp, (b, m) => {
      // one layer, or as many as the machine needs to stand still enough
      const layers = Math.ceil(depth / cond.depth - 1e-9);
      for (let k = layers - 1; k >= 0; k--) {
        const raised = k === 0 ? lines : lines.map((l) => l.map((v, i) => (i % 3 === 2 ? v + (k * BOARD_LEAVE) / layers : v)));
        rows(
          b,
          joinRows(raised, 3 * spacing, () => true, frame.nx),
          { ...m, entry: "plunge" },
        );
      }
    });
  });
}
