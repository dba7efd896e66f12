import { cuspHeight, rowSpacing } from "../../cutting/cusp.ts";
import { PAST_BOARD } from "../../holding/sweep.ts";
import type { Mm } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import { rows } from "../strategies/rows.ts";
import { boardRow } from "./contact.ts";
import { ACROSS, ALONG, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter, withSoundCutter } from "./context.ts";
import { flatRows } from "./flats.ts";
import { joinRows, toFrame } from "./join.ts";
import { bounded, FULL_WIDTH } from "./rough.ts";

/** Rows of roughing, as a share of the ball's diameter. */
const ROUGH_STEP = 0.25;

/** Left on the board for its finishing rows, mm. */
const BOARD_LEAVE = 0.4;

/** The part of a row that lies below `top`, its ends where it comes out there; null where none does. */
function below(row: Path, top: Mm): Path | null {
  const n = row.length / 3;
  let first = 0;
  while (first < n && row[3 * first + 2] >= top) first++;
  if (first === n) return null;
  let last = n - 1;
  while (row[3 * last + 2] >= top) last--;
  const crossing = (a: number, b: number): number[] => {
    const t = (top - row[3 * a + 2]) / (row[3 * b + 2] - row[3 * a + 2]);
    return [0, 1, 2].map((i) => row[3 * a + i] + t * (row[3 * b + i] - row[3 * a + i]));
  };
  const path = [
    ...(first > 0 ? crossing(first - 1, first) : []),
    ...row.subarray(3 * first, 3 * last + 3),
    ...(last < n - 1 ? crossing(last, last + 1) : []),
  ];
  return path.length < 6 ? null : Float64Array.from(path);
}

/**
 * Takes a radiused board down to a little above its surface in wide rows, so that the finishing rows meet an even, thin layer.
 *
 *   blank's face   ____________________      layers follow the board's curve, so that the upper ones lie in wood along both edges
 *                  ##.---------.###          only. Each is cut from the crown outward: the row before has opened one side of
 *                  .-----------.#            the row that comes, and only the crown itself meets wood on both sides; it is
 *                .               .           opened in steps no deeper than a slot may be.
 */
export function boardRough(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { board } = neck.order;
  const head = {
    id: "board-rough",
    title: "Board radius, roughing",
    why: "After the markers' glue has cured; what finishing meets is then thin and even. From the crown outward, so that one side of the cutter is always free.",
  };
  if (!Number.isFinite(board.radius.nut) && !Number.isFinite(board.radius.end)) return NOTHING_TO_CUT;
  return withCutter(ctx, head, { shapes: ["ball"], most: 12, flute: 2, reach: 10 }, (cutter) => {
    const step = cutter.diameter * ROUGH_STEP;
    const lines = boardRows(ctx, cutter.diameter / 2, step);
    // the rows reach past the board's edges, and are deepest there
    const lowest = Math.min(...lines.map((l) => l.reduce((z, v, i) => (i % 3 === 2 ? Math.min(z, v) : z), Infinity)));
    const depth = frame.topZ - lowest - BOARD_LEAVE;
    if (depth <= BOARD_LEAVE) return NOTHING_TO_CUT;
    const cond = conditions(ctx, cutter, { step, kind: "side", depth, wood: ALONG });
    const slot = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth: cond.depth, wood: ALONG });
    const layers = Math.max(1, Math.ceil(depth / cond.depth - 1e-9));
    const layer = depth / layers;
    // the crown's row: the middle one, or the first of the right half
    const crown = lines.length >> 1;
    const raised = (k: number, by: Mm): Path[] => {
      const row = below(
        lines[k].map((v, i) => (i % 3 === 2 ? v + BOARD_LEAVE + by : v)),
        frame.topZ,
      );
      return row === null ? [] : [row];
    };
    const half = (from: number, way: 1 | -1, by: Mm): Path[] => {
      const out: Path[] = [];
      for (let k = from; k >= 0 && k < lines.length; k += way) out.push(...raised(k, by));
      return joinRows(out, 3 * step, () => true, frame.nx);
    };
    return bounded(
      draft(ctx, head, cutter, { ...cond, depth: layer }, null, (b, m) => {
        const cut = (paths: readonly Path[]): void => rows(b, paths, { ...m, entry: "ramp", direction: "one-way" });
        for (let k = layers - 1; k >= 0; k--) {
          const steps = Math.ceil(layer / slot.depth - 1e-9);
          for (let s = steps - 1; s > 0; s--) cut(raised(crown, (k + s / steps) * layer));
          cut(half(crown, 1, k * layer));
          cut(half(crown - 1, -1, k * layer));
        }
      }),
      FULL_WIDTH,
      layer,
    );
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
  const half = Math.max(...neck.boardEdges(p.boardEnd).map(Math.abs)) + PAST_BOARD;
  const from = p.boardFront - 1 - Math.abs(p.nutSlope) * half;
  const to = Math.max(p.end, p.boardEnd) + 1;
  const widths = [from, to].map((x) => neck.boardEdges(x)[1] - neck.boardEdges(x)[0]);
  // shares of the half width, reaching PAST_BOARD past the edge at the narrow end
  const end = 1 + (2 * PAST_BOARD) / Math.min(...widths);
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
  const half = Math.max(...neck.boardEdges(p.boardEnd).map(Math.abs)) + PAST_BOARD;
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
      const path = flatRows(ctx, from, to, cutter.diameter / 2, cutter.diameter * 0.45, PAST_BOARD, frame.z(board.thickness));
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
