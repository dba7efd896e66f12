import { clockLimits } from "../../cutting/clock-limits.ts";
import { rowSpacing } from "../../cutting/cusp.ts";
import type { Cutter } from "../../cutting/types.ts";
import { timeOf } from "../../kernel/clock.ts";
import { MoveKind } from "../../kernel/moves.ts";
import { isTilted } from "../../neck/places.ts";
import type { Mm, Rad, Seconds } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import { rows } from "../strategies/rows.ts";
import { type BackRows, backRows } from "./contact.ts";
import {
  ACROSS,
  ALONG,
  type Asked,
  type Context,
  type CutHead,
  conditions,
  draft,
  NOTHING_TO_CUT,
  type Result,
  withSoundCutter,
} from "./context.ts";
import { type CutterAsk, fittingCutters, noCutter } from "./cutters.ts";
import { joinRows, toFrame } from "./join.ts";
import { inwardRanges, type Reach, reachOf } from "./reach-map.ts";

/*
 * The carve and its transitions: rows of a round-nosed cutter that touch the exact surface. The largest that the bed lets in cuts
 * all that it reaches; where the surface curves in tighter than its nose (seen by letting it down on a map of the wanted surface) a
 * smaller one cuts the rest, and only there.
 */

/** Air that finishing keeps over the bed. */
const OVER_BED: Mm = 1;
/** A cutter that leaves no more than this anywhere reaches everywhere: what the map itself errs by on steep places, and as much again. */
const REACHES: Mm = 0.003;
/** Where none does, the smallest will do if it leaves no more than this. */
const ENOUGH: Mm = 0.01;
/** A row is one of the rest where the larger cutter would stand so much higher than where it touches. */
const LIFTED: Mm = 0.002;
/** The rest's rows begin and end so far out on what the larger cutter has finished: both touch the same surface there, so no line shows. */
const OVERLAP: Mm = 1.5;
/** Links of the rest's rows. */
const LINK: Mm = 3;
/** Air under a link. */
const LINK_GAP: Mm = 0.05;
/** Changing to another cutter and setting its length. From memory. */
const CHANGE: Seconds = 120;
/** Rows across the neck end where it is steeper than this; rows along it go on as level passes down the edges. */
export const STEEP: Rad = (60 * Math.PI) / 180;
/** Rows go across only when that saves this share of the time. */
const WORTH = 0.03;

interface Rest {
  readonly ball: Cutter;
  readonly reach: Reach;
  /** Of the larger ball, along the normal. */
  readonly left: Mm;
  /** Rows of the smaller ball, neck frame. */
  readonly lines: readonly Float64Array[];
}

interface FinishPlan {
  readonly ball: Cutter;
  readonly rest: Rest | null;
}

/** The round-nosed cutter for the back, which needs its room beside the shaft; null where none fits. */
export function finishBall(ctx: Context): Cutter | null {
  const plan = finishPlan(ctx);
  return "ball" in plan ? plan.ball : null;
}

function finishPlan(ctx: Context): FinishPlan | CutterAsk {
  const { neck, frame } = ctx;
  const p = neck.places;
  const { order } = neck;
  // beside the shaft the tip hangs its own radius below the glue plane, over the bed
  const room = frame.z(0) - OVER_BED;
  const down = frame.topZ - frame.z(0) + 2;
  // radius of the inward curve where a transition meets the carve, were it a straight line's: the true one is never tighter
  const inward = (length: Mm, flat: Mm): Mm => (length * length) / (6 * flat);
  const tilted = isTilted(order);
  const tight = Math.min(
    tilted ? Number.POSITIVE_INFINITY : inward(p.carveStart - p.headBack, order.headstock.drop + order.headstock.thickness),
    inward(p.heelFront - p.carveEnd, order.heel.thickness - order.board.thickness),
  );
  // in a blank that a tilted headstock makes thick the waste beside the shaft stands higher than most flutes are long
  const flute = tilted ? down : 2;
  const all = fittingCutters(ctx.cutters, { shapes: ["ball"], most: 2 * room, flute, reach: down }).filter(
    (c) => c.reach >= down + c.diameter / 2,
  );
  const most = 2 * Math.min(tight / 1.02, room);
  const ask: CutterAsk = { shapes: ["ball"], most, flute, reach: down + most / 2 };
  if (all.length === 0) return ask;
  const ranges = inwardRanges(neck);
  const found = all.map((ball) => ({ ball, reach: null as Reach | null, left: 0 }));
  let fine = -1;
  for (let k = 0; k < found.length && fine < 0; k++) {
    const f = found[k];
    if (!(order.carve.volute === undefined && !tilted && f.ball.diameter / 2 <= tight / 1.02)) {
      f.reach = reachOf(neck, f.ball, ranges);
      f.left = f.reach.leaves().most;
    }
    if (f.left <= REACHES) fine = k;
  }
  if (fine < 0 && found[found.length - 1].left <= ENOUGH) fine = found.length - 1;
  if (fine < 0) return ask;
  const small = found[fine].ball;
  const large = found[0];
  if (fine === 0 || large.reach === null) return { ball: small, rest: null };
  const rest: Rest = { ball: small, reach: large.reach, left: large.left, lines: restLines(ctx, large.ball, small, large.reach) };
  // rows by their length over the feed: what turns and lifts add is much the same for both
  const { cusp } = order.cutting;
  const [from, to] = span(ctx);
  const seconds = (ball: Cutter, lines?: readonly Float64Array[]): Seconds => {
    const back = backRows(neck, ball.diameter / 2, from, to, 0.01);
    const step = rowSpacing(ball.diameter / 2, cusp, Math.max(3, back.tightest));
    const { feed } = conditions(ctx, ball, { step, kind: "finish", depth: order.cutting.roughLeave, wood: ALONG, layers: true });
    return (lines ? lines.reduce((sum, l) => sum + lengthOf(l), 0) : (back.arc / step) * (to - from)) / feed;
  };
  const both = seconds(large.ball) + seconds(small, rest.lines) + CHANGE;
  return both < seconds(small) ? { ball: large.ball, rest } : { ball: small, rest: null };
}

/** From the headstock's flat to the heel's, a little way out on both. */
function span(ctx: Context): readonly [Mm, Mm] {
  const p = ctx.neck.places;
  return [p.headBack - 1.5, p.heelFront + 1.5];
}

/** Stretches of the smaller ball's rows where the larger one could not touch, and OVERLAP more at their ends. */
function restLines(ctx: Context, large: Cutter, small: Cutter, reach: Reach): Float64Array[] {
  const { neck } = ctx;
  const [from, to] = span(ctx);
  const touches = backRows(neck, large.diameter / 2, from, to, 0.001);
  const back = backRows(neck, small.diameter / 2, from, to, 0.001);
  const spacing = rowSpacing(small.diameter / 2, neck.order.cutting.cusp, Math.max(3, back.tightest));
  const n = Math.ceil(back.arc / spacing);
  // where the transitions pass into the flats their edges are sharp: rows there lie closer
  const shares = Array.from({ length: n + 1 }, (_, k) => k / n);
  for (const e of edgeShares(spacing, back.arc)) shares.push(e, 1 - e);
  shares.sort((a, b) => a - b);
  const out: Float64Array[] = [];
  const step = 0.25;
  for (const u of shares) {
    for (const [a, b] of inwardRanges(neck)) {
      let open = Number.NaN;
      for (let x = Math.max(from, a - 1.5); x <= Math.min(to, b + 1.5) + step; x += step) {
        const inside = x <= Math.min(to, b + 1.5);
        const [cx, cy, h] = inside ? touches.at(x, u) : [0, 0, 0];
        const lifted = inside && reach.drop(cx, cy) > h + LIFTED;
        if (lifted && Number.isNaN(open)) open = x;
        if (!lifted && !Number.isNaN(open)) {
          const row = back.row(u, Math.max(from, open - step - OVERLAP), Math.min(to, x + OVERLAP));
          if (row.length >= 6) out.push(row);
          open = Number.NaN;
        }
      }
    }
  }
  return out;
}

/** Shares of the arc, between the plain rows, for the closer rows beside its ends. */
const edgeShares = (spacing: Mm, arc: Mm): number[] =>
  Array.from({ length: 10 }, (_, k) => k + 1)
    .filter((k) => k % 4 !== 0)
    .map((k) => (k * spacing) / 4 / arc);

function lengthOf(l: Float64Array): Mm {
  let sum = 0;
  for (let k = 3; k < l.length; k += 3) sum += Math.hypot(l[k] - l[k - 3], l[k + 1] - l[k - 2], l[k + 2] - l[k - 1]);
  return sum;
}

const carved = (ctx: Context): boolean => {
  const p = ctx.neck.places;
  return p.carveEnd > p.carveStart && p.headBack < p.carveStart && p.heelFront > p.carveEnd;
};

/** The back's finished surface by the larger (or only) round-nosed cutter. */
export function carveFinish(ctx: Context): Result {
  const head = { id: "carve-finish", title: "Back, finishing", why: "While headstock and heel are still held in the full blank." };
  if (!carved(ctx)) return NOTHING_TO_CUT;
  const plan = finishPlan(ctx);
  if (!("ball" in plan)) return { draft: null, findings: [noCutter(head.id, head.title, plan)] };
  const { ball, rest } = plan;
  if (rest) return backDraft(ctx, { ...head, why: `${head.why} Where it cannot reach, a smaller cutter follows.` }, ball, rest.reach);
  const down = ctx.frame.topZ - ctx.frame.z(0) + 2;
  const ask = {
    shapes: ["ball"],
    most: ball.diameter,
    flute: isTilted(ctx.neck.order) ? down : 2,
    reach: down + ball.diameter / 2,
  } as const;
  return withSoundCutter(ctx, head, ask, (cutter) => backDraft(ctx, head, cutter, null));
}

/** What the larger cutter could not reach, by the largest that can: only there, and a little over its edges. */
export function carveRest(ctx: Context): Result {
  if (!carved(ctx)) return NOTHING_TO_CUT;
  const plan = finishPlan(ctx);
  if (!("ball" in plan) || plan.rest === null || plan.rest.lines.length === 0) return NOTHING_TO_CUT;
  const { ball, reach: _reach, left, lines } = plan.rest;
  const { neck, frame } = ctx;
  const { cusp, roughLeave } = neck.order.cutting;
  const head = {
    id: "carve-rest",
    title: "Back, what the larger cutter could not reach",
    why: `Cutter ${plan.ball.number} leaves up to ${left.toFixed(2)} mm where the back curves in tighter than its nose; cutter ${ball.number} takes it, and goes nowhere else.`,
  };
  const own = reachOf(neck, ball, inwardRanges(neck));
  const back = backRows(neck, ball.diameter / 2, ...span(ctx), 0.01);
  const step = rowSpacing(ball.diameter / 2, cusp, Math.max(3, back.tightest));
  const depth = Math.min(left, 2 * roughLeave);
  const cond = conditions(ctx, ball, { step, kind: "finish", depth, wood: ALONG, layers: true });
  const layers = Math.ceil(depth / cond.depth - 1e-9);
  const surface = (x: Mm, y: Mm): Mm => own.drop(frame.nx(x), frame.ny(y)) + frame.tz;
  return draft(ctx, head, ball, cond, cusp, (b, m) => {
    for (let k = layers - 1; k >= 0; k--) {
      const up = (k * depth) / layers;
      const paths = lines.map((l) => toFrame(ctx, l)).map((l) => (k === 0 ? l : l.map((v, i) => (i % 3 === 2 ? v + up : v))));
      rows(b, paths, { ...m, entry: "plunge", surface, maxLink: LINK, linkGap: LINK_GAP + up });
    }
  });
}

/**
 * Rows of one ball over the whole back, kept above where it can go: along the neck or across it, whichever is faster for the same
 * cusp. A sample of rows says whether across is worth looking at; if so the clock decides between both whole cuts.
 */
function backDraft(ctx: Context, head: CutHead, cutter: Cutter, reach: Reach | null): Result {
  const { neck } = ctx;
  const { cusp, roughLeave } = neck.order.cutting;
  const r = cutter.diameter / 2;
  const [from, to] = span(ctx);
  const back = backRows(neck, r, from, to, 0.001, reach === null ? null : (x, y) => reach.drop(x, y));
  const spacing = rowSpacing(r, cusp, Math.max(3, back.tightest));
  const n = Math.ceil(back.arc / spacing);
  const ask = { kind: "finish", depth: roughLeave, layers: true } as const;
  const along = conditions(ctx, cutter, { ...ask, step: spacing, wood: ALONG });
  // along the neck the surface is nearly straight, here and there a little hollow
  const apart = rowSpacing(r, cusp, -HOLLOW);
  const across = conditions(ctx, cutter, { ...ask, step: apart, wood: ACROSS });
  const ways: Ways = { n, spacing, apart, along, across };
  const shares = gentle(ctx, back);
  const guess = sampled(ctx, cutter, back, ways, shares);
  if (guess.across > guess.along * (1 - WORTH)) {
    const says = `Rows along the neck, level passes down its steep edges: ${minutes(guess.along)} min in the cut; rows across it would take ${minutes(guess.across)} for the same cusp.`;
    return wholeBack(ctx, { ...head, why: `${head.why} ${says}` }, cutter, back, ways, null);
  }
  const [one, other] = [null, shares].map((s) => wholeBack(ctx, head, cutter, back, ways, s));
  if (one.draft === null || other.draft === null) return one;
  const [slow, quick] = [one, other].map((r) => (r.draft === null ? Number.NaN : timeOf(r.draft.moves, clockLimits(ctx.machine)).seconds));
  const isAcross = quick < slow * (1 - WORTH);
  const says = isAcross
    ? `Rows across the neck where it is no steeper than ${Math.round((STEEP * 180) / Math.PI)} degrees, level passes along its edges: ${minutes(quick)} min; rows along it would take ${minutes(slow)} for the same cusp.`
    : `Rows along the neck, level passes down its steep edges: ${minutes(slow)} min; rows across it would take ${minutes(quick)} for the same cusp.`;
  const best = isAcross ? other : one;
  return best.draft === null ? best : { ...best, draft: { ...best.draft, why: `${head.why} ${says}` } };
}

const minutes = (s: Seconds): string => (s / 60).toFixed(1);

/** All rows of the back. `shares` of the arc between which rows run across the neck; null: all along it. */
function wholeBack(
  ctx: Context,
  head: CutHead,
  cutter: Cutter,
  back: BackRows,
  { n, spacing, apart, along, across }: Ways,
  shares: readonly [number, number] | null,
): Result {
  const { neck, frame } = ctx;
  const p = neck.places;
  const { cusp, roughLeave } = neck.order.cutting;
  const [from, to] = span(ctx);
  const [low, high] = shares ?? [1, 0];
  const lines: Float64Array[] = [];
  for (let k = 0; k <= n; k++) {
    const u = k / n;
    if (u <= low + 2 / n || u >= high - 2 / n) lines.push(back.row(u, from, to));
    else lines.push(back.row(u, from, p.carveStart + 1), back.row(u, p.carveEnd - 1, to));
  }
  // where the transitions pass into the flats their edges are sharp: rows there lie closer
  for (const u of edgeShares(spacing, back.arc))
    for (const v of [u, 1 - u]) lines.push(back.row(v, from, p.carveStart), back.row(v, p.carveEnd, to));
  const level = (x: Mm): boolean => x <= p.headBack || x >= p.heelFront;
  const inFrame = (ls: readonly Float64Array[]): Path[] => ls.map((l) => toFrame(ctx, l));
  let paths: Path[];
  if (shares !== null) {
    const N = Math.ceil((p.carveEnd - p.carveStart) / apart);
    const over = Array.from({ length: N + 1 }, (_, k) => back.across(p.carveStart + ((p.carveEnd - p.carveStart) * k) / N, low, high));
    const upTo = lines.filter((l) => nearEnd(l, p.carveStart));
    const after = lines.filter((l) => !nearEnd(l, p.carveStart));
    // neighbours end on the carve beside each other: the way between them is as good as straight
    const flat = (x: Mm): boolean => level(x) || (x > p.carveStart && x < p.carveEnd);
    paths = [upTo, after].flatMap((ls) => joinRows(inFrame(ls), 2 * spacing, flat, frame.nx));
    paths.push(...joinRows(inFrame(over), 2 * apart, () => true, frame.nx));
  } else paths = joinRows(inFrame(lines), 2 * spacing, level, frame.nx);
  const cond = shares === null ? along : across;
  // one layer, or as many as the machine needs to stand still enough
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
}

/** The carve's tightest hollow along the neck that rows across it reckon with. */
const HOLLOW: Mm = 200;

/** A row that ends by x, give or take what contact moves it. */
const nearEnd = (l: Float64Array, x: Mm): boolean => l[l.length - 3] < x + 10;

interface Ways {
  readonly n: number;
  readonly spacing: Mm;
  readonly apart: Mm;
  readonly along: Asked;
  readonly across: Asked;
}

/** The shares of the arc between which the carve is nowhere steeper than STEEP. */
function gentle(ctx: Context, back: BackRows): readonly [number, number] {
  const p = ctx.neck.places;
  let low = 0;
  let high = 1;
  for (let k = 0; k <= 12; k++) {
    const x = p.carveStart + ((p.carveEnd - p.carveStart) * k) / 12;
    for (const side of [0, 1]) {
      let a = side;
      let b = 0.5;
      for (let i = 0; i < 20; i++) {
        const m = (a + b) / 2;
        if (back.slope(x, m) > STEEP) a = m;
        else b = m;
      }
      if (side === 0) low = Math.max(low, b);
      else high = Math.min(high, b);
    }
  }
  return [low, high];
}

/** Time in the rows of both ways, from a dozen rows of each. */
function sampled(
  ctx: Context,
  cutter: Cutter,
  back: BackRows,
  w: Ways,
  [low, high]: readonly [number, number],
): { readonly along: Seconds; readonly across: Seconds } {
  const p = ctx.neck.places;
  const [from, to] = span(ctx);
  const N = Math.ceil((p.carveEnd - p.carveStart) / w.apart);
  const seconds = (cond: Asked, lines: readonly Float64Array[], near: Mm): Seconds => {
    const paths = joinRows(
      lines.map((l) => toFrame(ctx, l)),
      near,
      () => true,
      ctx.frame.nx,
    );
    const r = draft(ctx, SAMPLE, cutter, cond, null, (b, m) => rows(b, paths, { ...m, entry: "plunge", direction: "one-way" }));
    return r.draft === null ? Number.NaN : inRows(ctx, r.draft.moves);
  };
  // three groups of neighbours each
  const pick = (count: number): number[] =>
    [0.2, 0.5, 0.8].flatMap((s) => [0, 1, 2, 3].map((i) => Math.min(count, Math.round(s * count) + i)));
  const one = (cond: Asked, ls: readonly Float64Array[], near: Mm): Seconds => seconds(cond, ls, near) / 12;
  const layers = (c: Asked): number => Math.ceil(ctx.neck.order.cutting.roughLeave / c.depth - 1e-9);
  const row = one(
    w.along,
    pick(w.n).map((k) => back.row(k / w.n, from, to)),
    2 * w.spacing,
  );
  const over = one(
    w.across,
    pick(N).map((k) => back.across(p.carveStart + ((p.carveEnd - p.carveStart) * k) / N, low, high)),
    2 * w.apart,
  );
  const sides = (low + 1 - high) * w.n + 6;
  const ends = 1 - (p.carveEnd - p.carveStart - 2) / (to - from);
  return {
    along: (w.n + 1) * row * layers(w.along),
    across: (sides * row + (w.n + 1 - sides) * ends * row + (N + 1) * over) * layers(w.across),
  };
}

const SAMPLE: CutHead = { id: "sample", title: "", why: "" };

/** Time in the rows alone: what comes down to them and lifts off is left out. */
function inRows(ctx: Context, moves: Parameters<typeof timeOf>[0]): Seconds {
  const { perMove } = timeOf(moves, clockLimits(ctx.machine));
  let sum = 0;
  let [px, py] = moves.start;
  for (let k = 0; k < moves.count; k++) {
    if (moves.kind[k] !== MoveKind.rapid && (moves.x[k] !== px || moves.y[k] !== py)) sum += perMove[k];
    px = moves.x[k];
    py = moves.y[k];
  }
  return sum;
}
