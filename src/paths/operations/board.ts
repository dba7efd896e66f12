import { rowSpacing } from "../../cutting/cusp.ts";
import { rows } from "../strategies/rows.ts";
import { joinRows, toFrame } from "./carve.ts";
import { boardRow } from "./contact.ts";
import { type Context, conditions, draft, type Result, withCutter } from "./context.ts";
import { flatRows } from "./flats.ts";

/** Past the board's edges the surface goes on by this much, so that the slot cutter's shank finds no wood there. */
const BEYOND = 4.5;

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
      const cond = conditions(ctx, cutter, { step: cutter.diameter * 0.45, kind: "finish", depth: frame.topZ - frame.z(board.thickness) });
      const path = flatRows(ctx, from, to, cutter.diameter / 2, cutter.diameter * 0.45, BEYOND, frame.z(board.thickness));
      return draft(ctx, head, cutter, cond, 0, (b, m) => rows(b, [path], { ...m, entry: "ramp" }));
    });
  return withCutter(ctx, head, { shapes: ["ball"], most: 12, flute: 2, reach: 10 }, (cutter) => {
    const r = cutter.diameter / 2;
    const tight = Math.min(board.radius.nut, board.radius.end);
    const spacing = rowSpacing(r, cutting.cusp, tight);
    const wide = Math.max(...[from, to].map((x) => neck.boardEdges(x)[1] - neck.boardEdges(x)[0]));
    const narrow = Math.min(...[from, to].map((x) => neck.boardEdges(x)[1] - neck.boardEdges(x)[0]));
    // shares of the half width, reaching BEYOND past the edge at the narrow end
    const end = 1 + (2 * BEYOND) / narrow;
    const n = Math.ceil((wide * end) / spacing);
    const cond = conditions(ctx, cutter, { step: spacing, kind: "finish", depth: frame.topZ - frame.z(neck.top(p.boardEnd, wide / 2)) });
    const lines = Array.from({ length: n + 1 }, (_, k) =>
      toFrame(ctx, boardRow(neck, r, -end + (2 * end * k) / n, from, to, 0.0005).points),
    );
    const paths = joinRows(lines, 3 * spacing, () => true, frame.nx);
    return draft(ctx, head, cutter, cond, cutting.cusp, (b, m) => rows(b, paths, { ...m, entry: "plunge" }));
  });
}
