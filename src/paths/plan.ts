import { feedsAlong } from "../cutting/feeds-along.ts";
import type { Holding, Side, SideName } from "../holding/types.ts";
import { inBlankOf } from "../holding/where.ts";
import { fitArcs } from "../kernel/arc-fit.ts";
import { flatten } from "../kernel/contour.ts";
import type { MoveList } from "../kernel/moves.ts";
import { type Polygon, polygonArea, reversedPolygon } from "../kernel/polygon.ts";
import { woodByName } from "../materials/woods.ts";
import { faceDrop } from "../neck/places.ts";
import type { Neck } from "../neck/types.ts";
import type { ShopSpec } from "../spec/types.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { checkPlan } from "./check.ts";
import { checkClear, sideClearances } from "./clearance.ts";
import { arcTolerance, type Context, type Draft, heedAxes, type Result } from "./operations/context.ts";
import { frameOf } from "./operations/frame.ts";
import { inwardRadius } from "./operations/inward.ts";
import { type Operation, restOf, WORK } from "./order-of-work.ts";
import { checkReach, reachWanted } from "./reach.ts";
import { PA } from "./rules.ts";
import { indexHoles } from "./sections/holes.ts";
import { inSections } from "./sections/plan.ts";
import { turnMoves } from "./turn.ts";
import type { Cut, CutPlan, WorkStep } from "./types.ts";
import { arrangeWork, inStages } from "./work.ts";

/** One cut with its moves as the machine makes them, and what its planning found. */
export interface PlannedCut {
  readonly cut: Cut | null;
  readonly findings: readonly Finding[];
}

/** `name` says which cut of which side; its moves follow from the context and the side's transform alone, never from other cuts. */
export type Remember = (name: string, ctx: Context, side: Side, plan: (ctx: Context) => PlannedCut) => PlannedCut;

export interface PlanOptions {
  /** Sides to plan; default both. */
  readonly sides?: readonly SideName[];
  /** Gives what the same cut was for the same inputs before; calls `plan` where it knows none. */
  readonly remember?: Remember;
  readonly progress?: (share: number, says: string) => void;
}

/**
 * The default plan: every cut of both sides with its moves, and the steps of work, hand steps included. Throws only when an
 * operation is handed numbers that make no path; such a cut is reported as a stop instead.
 */
export function planCuts(neck: Neck, holding: Holding, shop: ShopSpec, options: PlanOptions = {}): CutPlan {
  const cuts: Cut[] = [];
  const steps: WorkStep[] = [];
  const findings: Finding[] = [];
  const sides = options.sides ?? (["board", "carve"] as const);
  const total = sides.reduce((n, s) => n + WORK[s].length, 0);
  const remember: Remember = options.remember ?? ((_name, ctx, _side, plan) => plan(ctx));
  const rests = neck.order.cutting.work?.plan === "rest";
  let done = 0;
  for (const side of sides) {
    const ctx = contextOf(neck, holding.sides[side], shop);
    let left = 0;
    const mine: Cut[] = [];
    const order: WorkStep[] = [];
    if (rests) order.push({ kind: "hand", side, hand: restOf(neck, side), fills: [], stage: 2 });
    for (const item of WORK[side]) {
      const stage = rests ? ({ stage: item.rough ? 1 : 2 } as const) : {};
      options.progress?.(done++ / total, `${side} side`);
      if ("hand" in item) {
        // sections say for each of them how it is laid on its pins
        if (item.id === "onto-pins" && holding.sections !== undefined) continue;
        if (item.when(neck))
          order.push({
            kind: "hand",
            side,
            hand: typeof item.hand === "string" ? item.hand : item.hand(neck),
            fills: filled(neck, item.fills, side),
            ...stage,
          });
        continue;
      }
      if (item.needsBoard && neck.order.blank.kind === "shaft-alone") {
        left++;
        continue;
      }
      const name = `${side}-${WORK[side].indexOf(item)}`;
      const { cut, findings: found } = clearOfHolding(name, item.cut, ctx, holding.sides[side], remember);
      findings.push(...found);
      if (!cut) continue;
      mine.push(cut);
      order.push({ kind: "cut", cut: cut.id, ...stage });
    }
    const arranged = arrangeWork(side, neck.order.cutting.work, mine, inStages(order));
    findings.push(...arranged.findings);
    const divided = divide(neck, holding, shop, side, arranged, ctx);
    cuts.push(...divided.cuts);
    steps.push(...divided.steps);
    findings.push(...divided.findings);
    if (left > 0)
      findings.push(
        finding(PA.boardAhead, {
          where: "blank.kind",
          value: left,
          limit: null,
          unit: "",
          says: `${left} cuts of the board (markers, nut, radius, slots) are left out: the blank is the shaft alone.`,
          tryThis: "Glue the board on and order the neck again with blank.kind board-glued.",
        }),
      );
  }
  findings.push(...notYet(neck));
  options.progress?.(1, "cuts");
  const clear = sideClearances(holding, cuts, shop.cutters);
  return {
    cuts,
    steps: inStages(steps),
    findings: [
      ...findings,
      ...checkPlan(neck, holding, cuts),
      ...checkReach(holding, cuts, shop.cutters),
      ...checkClear(holding, cuts, shop.cutters, clear),
    ],
    clear,
  };
}

/**
 * A cutter whose holder would meet what holds the piece gives way to the next one that fits the cut, where the shop has one and its holder
 * clears; what the first would have met stands in the cut's `why`. Of a neck in sections each setting is judged later.
 */
function clearOfHolding(name: string, operation: Operation, ctx: Context, side: Side, remember: Remember): PlannedCut {
  const first = remember(name, ctx, side, planner(operation, side));
  if (side.sections !== undefined) return first;
  const meets = (p: PlannedCut): ReturnType<typeof reachWanted> | null => {
    const cutter = ctx.cutters.find((c) => c.number === p.cut?.cutter);
    if (p.cut === null || cutter === undefined) return null;
    const found = reachWanted(p.cut, cutter, side);
    return found.more > 1e-6 ? found : null;
  };
  const met = meets(first);
  let cutters = ctx.cutters;
  for (let tried = first; met !== null && tried.cut !== null; ) {
    const { cutter } = tried.cut;
    cutters = cutters.filter((c) => c.number !== cutter);
    tried = remember(`${name}-${cutters.length}`, { ...ctx, cutters }, side, planner(operation, side));
    if (tried.cut === null || tried.findings.length > first.findings.length || meets(tried) !== null) continue;
    return {
      ...tried,
      cut: {
        ...tried.cut,
        why: `${tried.cut.why} With cutter ${tried.cut.cutter}: the holder of cutter ${first.cut?.cutter} would meet the ${met.what}.`,
      },
    };
  }
  return first;
}

const planner =
  (operation: Operation, side: Side): ((ctx: Context) => PlannedCut) =>
  (ctx) => {
    const result = attempt(operation, ctx);
    return { cut: result.draft && finish(result.draft, ctx, side), findings: result.findings };
  };

/** A cut that can be planned on its own: what `Remember` calls it, and its share of the work, in parts of a small cut's. */
export interface CutAhead {
  readonly name: string;
  readonly weight: number;
}

/** The cuts that planning these sides of a neck comes to, those that take long first. */
export function cutsAhead(neck: Neck, sides: readonly SideName[]): CutAhead[] {
  const bare = neck.order.blank.kind === "shaft-alone";
  return sides
    .flatMap((side) =>
      WORK[side].flatMap((item, at) =>
        "hand" in item || (item.needsBoard && bare) ? [] : [{ name: `${side}-${at}`, weight: item.weight ?? 1 }],
      ),
    )
    .sort((a, b) => b.weight - a.weight);
}

/** One of `cutsAhead`, in the context of its side (`contextOf`): what `planCuts` then takes from `remember`. */
export function planCut(name: string, ctx: Context, side: Side, remember: Remember = (_name, c, _side, plan) => plan(c)): PlannedCut {
  const item = WORK[ctx.side][Number(name.slice(ctx.side.length + 1))];
  if (item === undefined || "hand" in item) throw new Error(`there is no cut ${name}`);
  return clearOfHolding(name, item.cut, ctx, side, remember);
}

/** The side's work as it is, or in sections with the index holes that those need. */
function divide(
  neck: Neck,
  holding: Holding,
  shop: ShopSpec,
  side: SideName,
  work: Pick<CutPlan, "cuts" | "steps">,
  ctx: Context,
): Pick<CutPlan, "cuts" | "steps" | "findings"> {
  const plan = holding.sections;
  if (plan === undefined) return { ...work, findings: [] };
  const findings: Finding[] = [];
  const index = new Map<number, Cut>();
  if (side === "board")
    for (let number = 1; number < plan.count; number++) {
      const holes = plan.holes.filter((h) => h.section === number + 1);
      const result = attempt((c) => indexHoles(c, holes, inBlankOf(neck, holding.placement)), ctx);
      findings.push(...result.findings);
      if (result.draft !== null) index.set(number, finish(result.draft, ctx, holding.sides[side]));
    }
  return inSections(neck, holding, shop, side, { ...work, findings }, index);
}

/** What the design side knows and the plan does not cut yet: said, never left out in silence. */
function notYet(neck: Neck): Finding[] {
  const { places } = neck;
  const missing: [boolean, string, string][] = [
    [neck.order.heel.kind === "contoured", "heel.kind", "a contoured heel"],
    [places.endSlope !== 0 && neck.order.board.end.shape === "curved", "board.end", "a curved end on a slanted board"],
  ];
  return missing.flatMap(([is, where, what]) =>
    is
      ? [
          finding(PA.notYet, {
            where,
            value: null,
            limit: null,
            unit: "",
            says: `The plan cannot cut ${what} yet.`,
            tryThis: "Use check, draw and the sheets for it; cut it by other means.",
          }),
        ]
      : [],
  );
}

/** Ids of the features a hand step fills: all markers, or the channel cut from this side. */
function filled(neck: Neck, kinds: readonly string[], side: SideName): string[] {
  return kinds.flatMap((k) =>
    k === "marker"
      ? neck.features.markers.map((m) => m.id)
      : neck.features.rod.filter((c) => c.from === side && c.id === k).map((c) => c.id),
  );
}

function attempt(cut: Operation, ctx: Context): Result {
  try {
    return cut(ctx);
  } catch (e) {
    if (!(e instanceof RangeError)) throw e;
    return {
      draft: null,
      findings: [
        finding(PA.noPath, {
          where: `${ctx.side} side`,
          value: null,
          limit: null,
          unit: "",
          says: `A cut could not be planned: ${e.message}.`,
          tryThis: "Look at the other findings first; then change the feature or the cutter named here.",
        }),
      ],
    };
  }
}

export function contextOf(neck: Neck, side: Side, shop: ShopSpec): Context {
  const frame = frameOf(side);
  const flat = flatten(neck.outline, 0.0005);
  const outline = new Float64Array(flat.length);
  for (let k = 0; k < flat.length; k += 2) {
    outline[k] = frame.x(flat[k]);
    outline[k + 1] = frame.y(flat[k + 1]);
  }
  const ccw: Polygon = polygonArea(outline) < 0 ? reversedPolygon(outline) : outline;
  const wood = (name: string): number => woodByName(name)?.density ?? 800;
  return {
    neck,
    side: side.name,
    frame,
    machine: shop.machine,
    cutters: shop.cutters,
    density: Math.max(wood(neck.order.wood.shaft), side.name === "board" ? wood(neck.order.wood.board) : 0),
    ...(shop.coefficients ? { coefficients: shop.coefficients } : {}),
    ...(shop.boardRadius ? { boardRadius: shop.boardRadius } : {}),
    outline: ccw,
    inward: inwardRadius(neck.outline),
    ...(side.bores === undefined ? {} : { bores: side.bores }),
    zSet: zSet(neck),
  };
}

/** How deep the board side's outline goes: below the headstock's face by the ordered depth, but not into the waste under its back. */
export function zSet(neck: Neck): Mm {
  const { headstock, cutting } = neck.order;
  return -(faceDrop(neck.order) + Math.min(cutting.outlineBelowFace, headstock.thickness - 4));
}

function finish(d: Draft, ctx: Context, side: Side): Cut {
  const turned: MoveList = turnMoves(d.moves, side);
  // along the neck is no longer along an axis
  if (ctx.frame.askew) heedAxes(turned, ctx.machine);
  const fitted = ctx.machine.controller.arcs ? fitArcs(turned, { tolerance: arcTolerance(d.cusp) }) : turned;
  // what became an arc only now is held to its radius too
  const moves = feedsAlong(fitted, { acceleration: ctx.machine.acceleration });
  return {
    id: `${ctx.side}-${d.id}`,
    title: d.title,
    side: ctx.side,
    cutter: d.cutter.number,
    moves,
    why: d.why,
    cusp: d.cusp,
    conditions: d.conditions,
    points: d.points,
    ...(d.engagement === undefined ? {} : { engagement: d.engagement }),
  };
}
