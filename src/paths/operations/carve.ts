import { profileOf } from "../../cutting/shape.ts";
import { PAST_FLATS } from "../../holding/sweep.ts";
import { makeDropper } from "../../kernel/drop.ts";
import { offsetPolygon } from "../../kernel/offset.ts";
import { fillerTop } from "../../neck/filler.ts";
import { isTilted } from "../../neck/places.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { PA } from "../rules.ts";
import type { Path } from "../strategies/common.ts";
import { levels } from "../strategies/levels.ts";
import { rows } from "../strategies/rows.ts";
import { finishBall } from "./carve-finish.ts";
import { ACROSS, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "./context.ts";
import { flatRows } from "./flats.ts";
import { bounded, FULL_WIDTH, fullWidth } from "./rough.ts";
import { carveTarget } from "./targets.ts";

/** Cell of roughing's target map; what it leaves is many times as much. */
const ROUGH_CELL: Mm = 0.25;
/** Rows of roughing, as a share of the diameter: what they leave on slopes is what finishing meets. */
const ROW_STEP = 0.4;
/** Every side's program has its zero on the bed. */
const BED_Z: Mm = 0;
/** Air between the cleared strip's floor and the bed. */
const STRIP_AIR: Mm = 0.5;

/** Clears the back by levels, and strips beside the shaft so that the finishing ball reaches its edges. */
export function carveRough(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  const head = {
    id: "carve-rough",
    title: "Back, roughing",
    why: "Most of the wood goes before anything is finished; what the wood does then is still in the allowance. In rows at the full width's depth: the strips beside the shaft are hardly two cutters wide, and each row that opens a level is a slot.",
  };
  const ball = finishBall(ctx);
  const radius = ball ? ball.diameter / 2 : 3;
  const stripFloor = frame.z(0) - radius - STRIP_AIR;
  const findings: Finding[] = [];
  const bed = BED_Z;
  if (stripFloor < bed + STRIP_AIR)
    findings.push(
      finding(PA.stripFloor, {
        where: "blank.boardThickness",
        value: Math.round((stripFloor - bed) * 100) / 100,
        limit: STRIP_AIR,
        unit: "mm",
        says: "Beside the shaft the cutter would come too near the bed.",
        tryThis: "Use a smaller round-nosed cutter or a thicker board.",
      }),
    );
  const depth = frame.topZ - stripFloor;
  const result = withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: depth, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const leave = order.cutting.roughLeave;
    const strip = Math.max(2 * radius + 1.2, cutter.diameter + leave + 0.2);
    // beside a tilted headstock, which stands deep in the waste, room for the ball that follows its back
    const margin = isTilted(order) ? strip + 1.5 : r + 1;
    const target = carveTarget(neck, frame, stripFloor, strip, margin, ROUGH_CELL);
    const dropper = makeDropper(target.map, profileOf(cutter));
    const cond = fullWidth(ctx, cutter, depth);
    const region = offsetPolygon([ctx.outline], strip);
    // the target grown by what is left: sideways by half of it, upward by all of it
    const cl = (x: Mm, y: Mm): Mm => {
      const q = leave * 0.7;
      return (
        Math.max(
          dropper.dropAt(x, y),
          dropper.dropAt(x - q, y),
          dropper.dropAt(x + q, y),
          dropper.dropAt(x, y - q),
          dropper.dropAt(x, y + q),
        ) + leave
      );
    };
    const step = cutter.diameter * ROW_STEP;
    const made = draft(ctx, head, cutter, cond, null, (b, m) =>
      levels(b, region, cl, { ...m, top: frame.topZ, depth: cond.depth, step, floor: stripFloor, sampling: 0.5 }),
    );
    return bounded(made, FULL_WIDTH, cond.depth);
  });
  return { ...result, findings: [...findings, ...result.findings] };
}

/** Filler strips that were glued into a roughed back, down to what roughing has left beside them. */
export function fillerLevel(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  const top = fillerTop(neck);
  const channels = neck.features.rod.filter((c) => c.from === "carve");
  if (top === null) return NOTHING_TO_CUT;
  const head = {
    id: "filler-level",
    title: "Filler strips, levelling",
    why: "So that the finishing rows meet the same thin layer everywhere.",
  };
  const zTop = frame.z(top);
  const floor = Math.min(...channels.flatMap((c) => [c.xMin, (c.xMin + c.xMax) / 2, c.xMax].map((x) => frame.z(neck.back(x, c.y ?? 0)))));
  // the cutter stays over what is roughed: holder and shank want the blank's depth
  return withCutter(ctx, head, { shapes: ["flat"], most: 8, flute: zTop - floor + 1, reach: frame.topZ - floor + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const leave = order.cutting.roughLeave;
    const target = carveTarget(neck, frame, frame.z(0) - r, 3 * r, 3 * r, ROUGH_CELL);
    const dropper = makeDropper(target.map, profileOf(cutter));
    const cond = fullWidth(ctx, cutter, zTop - floor);
    const half = cutter.diameter * ROW_STEP;
    const region = channels.map((c) => {
      const y = frame.y(c.y ?? 0);
      const [a, e] = [frame.x(c.xMin - 1), frame.x(c.xMax + 1)].sort((p, q) => p - q);
      return Float64Array.from([a, y - half, e, y - half, e, y + half, a, y + half]);
    });
    const made = draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const one of region)
        levels(b, [one], (x, y) => dropper.dropAt(x, y) + leave, {
          ...m,
          approachZ: Math.min(m.approachZ, zTop + ctx.machine.approach),
          top: zTop,
          depth: cond.depth,
          step: half,
          sampling: 0.5,
        });
    });
    return bounded(made, FULL_WIDTH, cond.depth);
  });
}

/** The flats of headstock back and heel, and the step under an overhanging board. */
export function backFlats(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  const p = neck.places;
  const step0 = frame.topZ - frame.z(0);
  const overhang = p.end > p.shaftEnd + 1e-6;
  // what leans is cut by rows of a ball (tilted.ts)
  const tilted = isTilted(order);
  const levelHeel = neck.neckAngle === 0;
  const round = order.heel.kind === "contoured";
  const levels = [...(tilted ? [] : [neck.section(p.headBack).flat]), ...(levelHeel && !round ? [heelFlat(ctx)] : [])];
  if (levels.length === 0 && !overhang) return NOTHING_TO_CUT;
  const head = {
    id: "back-flats",
    title: levels.length === 0 ? "Shaft's end" : tilted ? "Heel" : levels.length === 1 ? "Headstock back" : "Headstock back and heel",
    why: "True flats first: the carve's rows run out onto them.",
  };
  const depth = overhang ? step0 : frame.topZ - Math.min(...levels.map(frame.z));
  return withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: depth, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const cond = conditions(ctx, cutter, {
      step: cutter.diameter * 0.45,
      kind: "finish",
      depth: order.cutting.roughLeave,
      wood: ACROSS,
      slope: 0,
    });
    const step = cutter.diameter * 0.45;
    const lines: Path[] = [];
    if (!tilted) lines.push(flatRows(ctx, p.tip, p.headBack - r + 1, r, step, PAST_FLATS, frame.z(neck.section(p.headBack).flat)));
    if (levelHeel && !round)
      lines.push(flatRows(ctx, p.heelFront + r - 1, overhang ? p.shaftEnd : p.end, r, step, PAST_FLATS, frame.z(heelFlat(ctx))));
    if (overhang) lines.push(...overhangRows(ctx, r, step, cond.depth));
    return draft(ctx, head, cutter, cond, 0, (b, m) => rows(b, lines, { ...m, entry: "ramp", direction: "one-way" }));
  });
}

const heelFlat = (ctx: Context): Mm => -(ctx.neck.order.heel.thickness - ctx.neck.order.board.thickness);

/** The upright end of the shaft in passes, then the board's underside beyond it. */
function overhangRows(ctx: Context, r: Mm, step: Mm, _depth: Mm): Path[] {
  const { neck, frame } = ctx;
  const { shaftEnd, end } = neck.places;
  const from = frame.z(heelFlat(ctx));
  const to = frame.z(0);
  const wall = shaftEnd + r;
  const [lo, hi] = neck
    .boardEdges(shaftEnd)
    .map(frame.y)
    .sort((a, b) => a - b);
  const n = Math.max(1, Math.ceil((from - to) / 5));
  const out: Path[] = [];
  for (let k = 1; k < n; k++) {
    const z = from + ((to - from) * k) / n;
    out.push(Float64Array.from([frame.x(wall), lo - PAST_FLATS, z, frame.x(wall), hi + PAST_FLATS, z]));
  }
  out.push(flatRows(ctx, Math.max(wall, end), wall, r, step, PAST_FLATS, to));
  return out;
}
