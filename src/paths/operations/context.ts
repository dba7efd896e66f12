import { checkConditions, checkCutter } from "../../cutting/check.ts";
import { type Ask, conditionsFor } from "../../cutting/conditions.ts";
import { feedsAlong } from "../../cutting/feeds-along.ts";
import type { Conditions, Cutter, Machine } from "../../cutting/types.ts";
import type { SideName, WasteBore } from "../../holding/types.ts";
import { fitArcs } from "../../kernel/arc-fit.ts";
import type { MoveList } from "../../kernel/moves.ts";
import { MoveBuilder, MoveKind } from "../../kernel/moves.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import type { ForceModel } from "../../materials/cutting-force.ts";
import type { Neck } from "../../neck/types.ts";
import type { Finding, Mm, Rad } from "../../units/index.ts";
import type { ClearOptions } from "../strategies/clear.ts";
import type { Motion } from "../strategies/common.ts";
import { type CutterAsk, fittingCutters, noCutter, pickCutter } from "./cutters.ts";
import type { Frame } from "./frame.ts";

/** What every operation of one side works from. */
export interface Context {
  readonly neck: Neck;
  readonly side: SideName;
  readonly frame: Frame;
  readonly machine: Machine;
  readonly cutters: readonly Cutter[];
  /** Of the harder of the two woods, kg/m3. */
  readonly density: number;
  /** The shop's law of cutting forces; absent: the default one. */
  readonly coefficients?: ForceModel;
  /** Kind of cutter that the shop prefers for a board's radius; absent: ball. */
  readonly boardRadius?: "ball" | "bull" | "flat";
  /** The neck's outline in the side's frame, counter-clockwise, within 1 um. */
  readonly outline: Polygon;
  /** Tightest inward curve of the outline (Infinity when it never curves inward). */
  readonly inward: Mm;
  /** Holes through the waste that this side bores for pins of the other. */
  readonly bores?: readonly WasteBore[];
  /** Height (neck frame) the board-side outline goes down to. */
  readonly zSet: Mm;
  /** Gives the slabs of a clearing where they are planned elsewhere. */
  readonly slabs?: ClearOptions["slabs"];
}

/** A cut before it is turned to the machine's axes. */
export interface Draft {
  readonly id: string;
  readonly title: string;
  readonly why: string;
  readonly cutter: Cutter;
  readonly conditions: Conditions;
  readonly cusp: Mm | null;
  readonly moves: MoveList;
  /** Number of moves before runs of them became arcs. */
  readonly points: number;
  /** Most of the rim that meets wood of the depth given, where the cut bounds it. */
  readonly engagement?: { readonly limit: Rad; readonly depth: Mm };
}

/** What an operation gives: its cut (null when there is nothing to cut or no cutter for it) and what it found. */
export interface Result {
  readonly draft: Draft | null;
  readonly findings: readonly Finding[];
}

export const NOTHING_TO_CUT: Result = { draft: null, findings: [] };

export interface CutHead {
  readonly id: string;
  readonly title: string;
  readonly why: string;
  /** On which side of the way the wood stands, where the whole cut has it on one. */
  readonly wood?: "left" | "right";
}

/** Chooses the cutter, or says which one the shop lacks. */
export function withCutter(ctx: Context, head: CutHead, ask: CutterAsk, make: (cutter: Cutter) => Result): Result {
  const cutter = pickCutter(ctx.cutters, ask);
  return cutter ? make(cutter) : { draft: null, findings: [noCutter(head.id, head.title, ask)] };
}

/**
 * The same for a cut that may be made with any of several cutters: the first whose conditions have nothing against them (a chip
 * too thin, too much bend, too little power), said in the cut's `why`; the first of all where each has something.
 */
export function withSoundCutter(ctx: Context, head: CutHead, ask: CutterAsk, make: (cutter: Cutter) => Result): Result {
  const fit = fittingCutters(ctx.cutters, ask);
  if (fit.length === 0) return { draft: null, findings: [noCutter(head.id, head.title, ask)] };
  const first = make(fit[0]);
  if (first.draft === null || first.findings.length === 0) return first;
  for (const cutter of fit.slice(1)) {
    if (cutter.shape !== fit[0].shape) break;
    const r = make(cutter);
    if (r.draft === null || r.findings.length > 0) continue;
    const why = `${r.draft.why} With cutter ${cutter.number}: cutter ${fit[0].number} would do it worse (${first.findings.map((f) => f.rule).join(", ")}).`;
    return { ...r, draft: { ...r.draft, why } };
  }
  return first;
}

/** Feeds and heights for a strategy: rapids down end `approach` above the blank's face. */
export function motionOf(ctx: Context, c: Conditions): Motion {
  return { feed: c.feed, ramp: c.ramp, plunge: c.plunge, safeZ: ctx.frame.safeZ, approachZ: ctx.frame.topZ + ctx.machine.approach };
}

/** Conditions with the kind of pass they were asked for, which decides how they are judged. */
export type Asked = Conditions & { readonly kind: Ask["kind"] };

export const conditions = (ctx: Context, cutter: Cutter, ask: Ask): Asked => ({
  ...conditionsFor(cutter, ctx.machine, ctx.density, { ...ask, wood: { ...woodOf(ctx), ...ask.wood } }),
  kind: ask.kind,
});

/** Moisture of the blank and the shop's coefficients. */
const woodOf = (ctx: Context): NonNullable<Ask["wood"]> => ({
  moisture: ctx.neck.order.blank.moisture,
  ...(ctx.coefficients ? { model: ctx.coefficients } : {}),
});

/** Directions of the feed to the grain, for cuts that have one. */
export const ALONG: { readonly grain: Rad } = { grain: 0 };
export const ACROSS: { readonly grain: Rad } = { grain: Math.PI / 2 };

/**
 * How far an arc may lie from the straight moves that it replaces, mm: 0.0035 where a cut leaves no finished surface, 0.002
 * where it does. With the rounding of ends and centre to the text's decimals (0.0002 at four) and the chords that stand for an
 * arc which rounding would spoil (0.0009), text with arcs stays within 0.005 mm of text without.
 */
export const arcTolerance = (cusp: Mm | null): Mm => (cusp === null ? 0.0035 : 0.002);

/** Lowered feeds stand on a ladder of steps of 3 %, so that neighbouring moves keep one feed and can become one arc. */
const FEED_STEP = 0.97;

/** Lowers the feed of moves that ask an axis for more than it can do: the machine would, and then no chip is what was planned. */
export function heedAxes(m: MoveList, machine: Machine): void {
  const { x: fx, y: fy, z: fz } = machine.feed;
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    const dx = Math.abs(m.x[k] - px);
    const dy = Math.abs(m.y[k] - py);
    const dz = Math.abs(m.z[k] - pz);
    const len = Math.hypot(dx, dy, dz);
    // whole mm/min, as programs write them
    if (m.kind[k] === MoveKind.line && len > 0) {
      const most = Math.min(dx > 0 ? (fx * len) / dx : Infinity, dy > 0 ? (fy * len) / dy : Infinity, dz > 0 ? (fz * len) / dz : Infinity);
      const over = m.feed[k] / (most * 0.97);
      if (over > 1) {
        const steps = Math.ceil(-Math.log(over) / Math.log(FEED_STEP) - 1e-9);
        m.feed[k] = Math.max(1, Math.floor(m.feed[k] * FEED_STEP ** steps * 60)) / 60;
      }
    }
    px = m.x[k];
    py = m.y[k];
    pz = m.z[k];
  }
}

/** Runs `work` on a builder that stands above the blank's middle at the safe height, and wraps the moves up. */
export function draft(
  ctx: Context,
  head: CutHead,
  cutter: Cutter,
  cond: Asked,
  cusp: Mm | null,
  work: (b: MoveBuilder, m: Motion) => void,
): Result {
  const { stock, safeZ } = ctx.frame;
  const b = new MoveBuilder([(stock.min[0] + stock.max[0]) / 2, (stock.min[1] + stock.max[1]) / 2, safeZ]);
  work(b, motionOf(ctx, cond));
  const planned = b.list();
  heedAxes(planned, ctx.machine);
  // arcs seen from above first, so that each gets one feed by its radius; arcs on edge only after the moves are turned to the machine
  const tolerance = arcTolerance(cusp);
  const curved = ctx.machine.controller.arcs ? fitArcs(planned, { tolerance, planes: [0], straights: false }) : planned;
  const moves = feedsAlong(curved, {
    acceleration: ctx.machine.acceleration,
    plunge: cond.plunge,
    least: (cutter.chip.min * (cond.thinning ?? 1) * cutter.flutes * cond.rpm) / 60,
    cutterRadius: cutter.diameter / 2,
    ...(cond.engagement === undefined ? {} : { engagement: cond.engagement }),
    ...(head.wood === undefined ? {} : { wood: head.wood }),
  });
  const findings = [
    ...checkCutter(cutter),
    ...checkConditions(cutter, ctx.machine, cond, { where: `${ctx.side}-${head.id}`, kind: cond.kind }),
  ];
  const { id, title, why } = head;
  return { draft: { id, title, why, cutter, conditions: cond, cusp, moves, points: planned.count }, findings };
}
