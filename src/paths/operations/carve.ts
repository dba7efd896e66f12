import { rowSpacing } from "../../cutting/cusp.ts";
import { profileOf } from "../../cutting/shape.ts";
import type { Cutter } from "../../cutting/types.ts";
import { makeDropper } from "../../kernel/drop.ts";
import { offsetPolygon } from "../../kernel/offset.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { PA } from "../rules.ts";
import type { Path } from "../strategies/common.ts";
import { levels } from "../strategies/levels.ts";
import { rows } from "../strategies/rows.ts";
import { backRows } from "./contact.ts";
import { ACROSS, ALONG, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "./context.ts";
import { pickCutter } from "./cutters.ts";
import { flatRows } from "./flats.ts";
import { carveTarget } from "./targets.ts";

/** Cell of roughing's target map; what it leaves is many times as much. */
const ROUGH_CELL: Mm = 0.25;
/** Every side's program has its zero on the bed. */
const BED_Z: Mm = 0;
/** Air between the cleared strip's floor and the bed. */
const STRIP_AIR: Mm = 0.5;

/** The round-nosed cutter for the back: the largest that the transitions let in. */
export function carveBall(ctx: Context): Cutter | null {
  return pickCutter(ctx.cutters, carveAsk(ctx));
}

function carveAsk(ctx: Context): Parameters<typeof pickCutter>[1] {
  const { neck, frame } = ctx;
  const p = neck.places;
  const { order } = neck;
  // radius of the inward curve where a transition meets the carve, at the neck's edge
  const inward = (length: Mm, flat: Mm): Mm => (length * length) / (6 * flat);
  const tight = Math.min(
    inward(p.carveStart - p.headBack, order.headstock.drop + order.headstock.thickness),
    inward(p.heelFront - p.carveEnd, order.heel.thickness - order.board.thickness),
  );
  // beside the shaft the tip hangs its own radius below the glue plane, over the bed
  const room = frame.z(0) - BED_Z - STRIP_AIR - 0.5;
  const most = 2 * Math.min(tight / 1.02, room);
  return { shapes: ["ball"], most, flute: 2, reach: frame.topZ - frame.z(0) + most / 2 + 2 };
}

/** Clears the back by levels, and strips beside the shaft so that the finishing ball reaches its edges. */
export function carveRough(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  const head = {
    id: "carve-rough",
    title: "Back, roughing",
    why: "Most of the wood goes before anything is finished; what the wood does then is still in the allowance.",
  };
  const ball = carveBall(ctx);
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
    const margin = r + 1;
    const target = carveTarget(neck, frame, stripFloor, strip, margin, ROUGH_CELL);
    const dropper = makeDropper(target.map, profileOf(cutter));
    const cond = conditions(ctx, cutter, { step: cutter.diameter * 0.4, kind: "slot" });
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
    return draft(ctx, head, cutter, cond, null, (b, m) =>
      levels(b, region, cl, { ...m, top: frame.topZ, depth: cond.depth, step: cutter.diameter * 0.4, floor: stripFloor, sampling: 0.5 }),
    );
  });
  return { ...result, findings: [...findings, ...result.findings] };
}

/** The flats of headstock back and heel, and the step under an overhanging board. */
export function backFlats(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  const p = neck.places;
  const head = { id: "back-flats", title: "Headstock back and heel", why: "True flats first: the carve's rows run out onto them." };
  const step0 = frame.topZ - frame.z(0);
  const overhang = p.end > p.shaftEnd + 1e-6;
  const depth = overhang ? step0 : frame.topZ - Math.min(frame.z(neck.section(p.headBack).flat), frame.z(heelFlat(ctx)));
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
    const lines: Path[] = [
      flatRows(ctx, p.tip, p.headBack - r + 1, r, step, 3, frame.z(neck.section(p.headBack).flat)),
      flatRows(ctx, p.heelFront + r - 1, overhang ? p.shaftEnd : p.end, r, step, 3, frame.z(heelFlat(ctx))),
    ];
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
    out.push(Float64Array.from([frame.x(wall), lo - 3, z, frame.x(wall), hi + 3, z]));
  }
  out.push(flatRows(ctx, Math.max(wall, end), wall, r, step, 3, to));
  return out;
}

/** The carve and its transitions: rows of a ball that touch the exact surface, evenly spaced along the section. */
export function carveFinish(ctx: Context): Result {
  const { neck, frame } = ctx;
  const p = neck.places;
  const { cusp } = neck.order.cutting;
  const head = { id: "carve-finish", title: "Back, finishing", why: "While headstock and heel are still held in the full blank." };
  if (!(p.carveEnd > p.carveStart && p.headBack < p.carveStart && p.heelFront > p.carveEnd)) return NOTHING_TO_CUT;
  return withCutter(ctx, head, carveAsk(ctx), (cutter) => {
    const r = cutter.diameter / 2;
    const from = p.headBack - 1.5;
    const to = p.heelFront + 1.5;
    const back = backRows(neck, r, from, to, 0.001);
    const spacing = rowSpacing(r, cusp, Math.max(3, back.tightest));
    const n = Math.ceil(back.arc / spacing);
    const cond = conditions(ctx, cutter, {
      step: spacing,
      kind: "finish",
      depth: neck.order.cutting.roughLeave,
      wood: ALONG,
      layers: true,
    });
    const lines: Path[] = [];
    // where the transitions pass into the flats their edges are sharp: rows there lie closer
    const extra: number[] = [];
    for (let k = 1; k <= 10; k++) if (k % 4 !== 0) extra.push((k * spacing) / 4 / back.arc);
    for (let k = 0; k <= n; k++) lines.push(back.row(k / n, from, to));
    for (const u of extra)
      for (const v of [u, 1 - u])
        for (const [a, b] of [
          [from, p.carveStart],
          [p.carveEnd, to],
        ] as const)
          lines.push(back.row(v, a, b));
    const paths = joinRows(
      lines.map((l) => toFrame(ctx, l)),
      2 * spacing,
      (x) => x <= p.headBack || x >= p.heelFront,
      frame.nx,
    );
    // one layer, or as many as the machine needs to stand still enough
    const { roughLeave } = neck.order.cutting;
    const layers = Math.ceil(roughLeave / cond.depth - 1e-9);
    return draft(ctx, head, cutter, cond, cusp, (b, m) => {
      for (let k = layers - 1; k >= 0; k--) {
        const up = (k * roughLeave) / layers;
        rows(b, k === 0 ? paths : paths.map((l) => l.map((v, i) => (i % 3 === 2 ? v + up : v))), {
          ...m,
          entry: "plunge",
          direction: "one-way",
        });
      }
    });
  });
}

/** Points of the neck frame (x, y, height over the glue plane toward the spindle) to the side's frame. */
export function toFrame(ctx: Context, p: Float64Array): Path {
  const out = new Float64Array(p.length);
  const { frame } = ctx;
  for (let k = 0; k < p.length; k += 3) {
    out[k] = frame.x(p[k]);
    out[k + 1] = frame.y(p[k + 1]);
    out[k + 2] = p[k + 2] + frame.tz;
  }
  return out;
}

/** Joins rows back and forth into one path where both ends lie on a level place (`level` of the neck's x) and near each other. */
export function joinRows(lines: readonly Path[], near: Mm, level: (x: Mm) => boolean, nx: (x: Mm) => Mm): Path[] {
  const out: number[][] = [];
  let last: number[] | null = null;
  for (const line of lines) {
    const n = line.length;
    if (last) {
      const m = last.length;
      const ex = last[m - 3];
      const ey = last[m - 2];
      const ends = [0, n - 3].map((k) => ({ k, d: Math.hypot(line[k] - ex, line[k + 1] - ey) }));
      const best = ends[0].d <= ends[1].d ? ends[0] : ends[1];
      if (best.d <= near && level(nx(ex)) && level(nx(line[best.k]))) {
        if (best.k === 0) for (let k = 0; k < n; k++) last.push(line[k]);
        else for (let k = n - 3; k >= 0; k -= 3) last.push(line[k], line[k + 1], line[k + 2]);
        continue;
      }
    }
    last = Array.from(line);
    out.push(last);
  }
  return out.map((p) => Float64Array.from(p));
}
