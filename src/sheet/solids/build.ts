import { curveBounds } from "../../kernel/contour.ts";
import type { Point } from "../../kernel/curve.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { type Cell, closeBody, makeShop, NoBody, reverseRun } from "./body.ts";
import { addFeatures } from "./features.ts";
import { crossings, cutRim, makePlan, type Place, type Plan, type Rim } from "./plan.ts";
import { backBreaks, boardPiece, carvePiece, faceOf, type Piecewise, plane } from "./surfaces.ts";
import type { Body, PieceUse, PlanVertex } from "./types.ts";

export interface Built {
  readonly body: Body;
  /** Features that are not in the body, each with the reason. */
  readonly leftOut: readonly { readonly id: string; readonly why: string }[];
}

/** A line or crease right across the plan, from its bass rim to its treble rim. */
interface Cut {
  readonly name: string;
  /** Negative before it (toward the tip), positive after. */
  readonly f: (p: Point) => number;
  /** The pieces from the bass vertex to the treble vertex. */
  readonly draw: (plan: Plan, bass: PlanVertex, treble: PlanVertex) => PieceUse[];
}

/** What covers the plan up to the next cut. */
interface Span extends Piecewise {
  readonly name: string;
}

/** The finished neck as a closed body. Throws `NoBody` where its surfaces do not close. */
export function buildBody(neck: Neck, plain: boolean): Built {
  const plan = makePlan();
  const top = topSpans(neck, plain);
  const back = backSpans(neck, plain);
  const cuts = [...top.cuts, ...back.cuts];
  const places: Place[] = [];
  for (const cut of cuts) {
    const found = crossings(neck.outline, cut.f);
    if (found.length !== 2)
      throw new NoBody(
        cut.name,
        { x: neck.places.tip, y: 0 },
        `The ${cut.name} meets the outline in ${found.length} places instead of two.`,
      );
    places.push(...found);
  }
  const rim = cutRim(plan, neck.outline, places);
  const ends = cuts.map((_, i) => {
    const pair = [rim.at[2 * i], rim.at[2 * i + 1]] as const;
    const [a, b] = pair.map((k) => rim.vertices[k]);
    return a.y <= b.y ? { bass: pair[0], treble: pair[1] } : { bass: pair[1], treble: pair[0] };
  });
  const across = cuts.map((cut, i) => cut.draw(plan, rim.vertices[ends[i].bass], rim.vertices[ends[i].treble]));
  const n = top.cuts.length;
  const cells = [
    ...cellsBetween("top", rim, top.cuts, top.spans, ends.slice(0, n), across.slice(0, n)),
    ...cellsBetween("back", rim, back.cuts, back.spans, ends.slice(n), across.slice(n)),
  ];
  const shop = makeShop();
  const leftOut = plain ? [] : addFeatures(neck, plan, shop, cells);
  return { body: closeBody(shop, cells), leftOut };
}

function cellsBetween(
  side: "top" | "back",
  rim: Rim,
  cuts: readonly Cut[],
  spans: readonly Span[],
  ends: readonly { bass: number; treble: number }[],
  across: readonly PieceUse[][],
): Cell[] {
  apart(cuts, across);
  return spans.map((span, i) => {
    const before = i > 0 ? i - 1 : null;
    const after = i < cuts.length ? i : null;
    let loop: PieceUse[];
    if (before === null && after === null) loop = rim.run(0, rim.vertices.length - 1).concat(rim.run(rim.vertices.length - 1, 0));
    else if (before === null && after !== null) loop = [...rim.run(ends[after].treble, ends[after].bass), ...across[after]];
    else if (before !== null && after === null) loop = [...rim.run(ends[before].bass, ends[before].treble), ...reverseRun(across[before])];
    else {
      const [p, q] = [ends[before as number], ends[after as number]];
      loop = [
        ...rim.run(p.bass, q.bass),
        ...across[after as number],
        ...rim.run(q.treble, p.treble),
        ...reverseRun(across[before as number]),
      ];
      if (loop.length > rim.pieces.length + across[before as number].length + across[after as number].length)
        throw new NoBody(span.name, rim.vertices[p.bass], "Two lines across the neck cross each other at its edge.");
    }
    return { name: span.name, side, z: span.z, surface: span.surface, loops: [loop], openings: [] };
  });
}

/** Every cut lies wholly after the one before it. */
function apart(cuts: readonly Cut[], across: readonly PieceUse[][]): void {
  for (let i = 1; i < cuts.length; i++)
    for (const [cut, line] of [
      [cuts[i - 1], across[i]],
      [cuts[i], across[i - 1]],
    ] as const) {
      const sign = cut === cuts[i - 1] ? 1 : -1;
      for (const { piece } of line)
        for (let k = 0; k <= 16; k++) {
          const p = piece.at(k / 16);
          if (sign * cut.f(p) < 1e-4)
            throw new NoBody(
              `${cuts[i - 1].name}, ${cuts[i].name}`,
              p,
              `The ${cuts[i - 1].name} and the ${cuts[i].name} run into one another.`,
            );
        }
    }
}

const straight = (name: string, x0: Mm, slope: number): Cut => ({
  name,
  f: (p) => p.x - x0 - slope * p.y,
  draw: (plan, bass, treble) => [{ piece: plan.line(bass, treble), forward: true }],
});

function topSpans(neck: Neck, plain: boolean): { cuts: Cut[]; spans: Span[] } {
  const { places, features, order } = neck;
  const face = faceOf(neck);
  const cuts: Cut[] = [];
  const spans: Span[] = [{ name: "headstock face", ...face.flat }];
  const box = boxOf(neck);
  const board = (name: string, down: Mm): Span => ({ name, ...boardPiece(neck, down, box) });
  const to = (cut: Cut, span: Span): void => {
    cuts.push(cut);
    spans.push(span);
  };
  const shelf = !plain && features.nut.kind === "shelf";
  if (!face.tilted) to(straight("ramp's foot", places.rampFoot, places.nutSlope), { name: "ramp", ...face.ramp });
  if (shelf) {
    const { xMin, xMax, zFloor, slope } = features.nut;
    to(straight("nut shelf's back", xMin, slope), { name: "nut shelf", ...plane(() => zFloor, true) });
    to(straight("nut shelf's front", xMax, slope), board("board", 0));
  } else {
    to(face.tilted ? straight("hinge of the face", places.rampTop, places.nutSlope) : crease(neck, face), board("board behind the nut", 0));
    if (!plain) {
      const { xMin, xMax, zFloor, slope } = features.nut;
      if (xMax - xMin > 0) {
        to(straight("nut seat's back", xMin, slope), { name: "nut seat", ...plane(() => zFloor, true) });
        to(straight("nut seat's front", xMax, slope), board("board", 0));
      }
    }
  }
  if (plain) return { cuts, spans };
  for (const slot of features.frets) {
    if (slot.ends === "blind") continue;
    const { bass, treble, kerf, depth, id } = slot;
    const slope = (treble.x - bass.x) / (treble.y - bass.y);
    const half = (kerf / 2) * Math.hypot(1, slope);
    const x0 = bass.x - slope * bass.y;
    to(straight(`${id} slot, nut side`, x0 - half, slope), board(`${id} slot`, depth));
    to(straight(`${id} slot, bridge side`, x0 + half, slope), board(`board past ${id}`, 0));
  }
  void order;
  return { cuts, spans };
}

/** Where the ramp reaches the board: along the nut's line where it stands upright, else where it is as high as the board. */
function crease(neck: Neck, face: ReturnType<typeof faceOf>): Cut {
  const r = face.radius;
  const { nutSlope, rampFoot } = neck.places;
  const along = Math.hypot(1, nutSlope);
  // negative while the ramp is lower than the board
  const f = (p: Point): number => {
    const d = face.fromFoot(p.x, p.y);
    if (d <= 0) return -1;
    if (d >= r) return 1;
    return face.ramp.z(p.x, p.y) - neck.boardTop(p.x, p.y);
  };
  const xAt = (y: Mm): Mm => {
    let lo = rampFoot + nutSlope * y;
    let hi = lo + r * along;
    for (let k = 0; k < 70; k++) {
      const m = (lo + hi) / 2;
      if (f({ x: m, y }) < 0) lo = m;
      else hi = m;
    }
    return hi;
  };
  /** The board stands above the ramp's upright end at y: positive, there is a step. */
  const step = (y: Mm): number => neck.boardTop(rampFoot + nutSlope * y + r * along, y) - (r - neck.order.headstock.drop);
  const draw = (plan: Plan, bass: PlanVertex, treble: PlanVertex): PieceUse[] => {
    // the step, if any, is about the crown: from where it begins to where it ends
    const ys = [bass.y];
    const n = 64;
    for (let k = 0; k < n; k++) {
      let lo = bass.y + ((treble.y - bass.y) * k) / n;
      let hi = bass.y + ((treble.y - bass.y) * (k + 1)) / n;
      const s = step(lo) > 1e-9;
      if (step(hi) > 1e-9 === s) continue;
      for (let i = 0; i < 60; i++) {
        const m = (lo + hi) / 2;
        if (step(m) > 1e-9 === s) lo = m;
        else hi = m;
      }
      ys.push((lo + hi) / 2);
    }
    ys.push(treble.y);
    const vs = ys.map((y, k) => (k === 0 ? bass : k === ys.length - 1 ? treble : plan.vertex(xAt(y), y)));
    return vs.slice(1).map((b, k) => {
      const a = vs[k];
      if (step((a.y + b.y) / 2) > 1e-9) return { piece: plan.line(a, b), forward: true };
      return {
        piece: plan.free(a, b, (t) => {
          const y = a.y + (b.y - a.y) * t;
          return { x: t <= 0 ? a.x : t >= 1 ? b.x : xAt(y), y };
        }),
        forward: true,
      };
    });
  };
  return { name: "top of the ramp", f, draw };
}

function backSpans(neck: Neck, plain: boolean): { cuts: Cut[]; spans: Span[] } {
  const { places: p, order, features } = neck;
  const heelZ = (x: Mm): Mm => neck.section(x).flat;
  const cuts: Cut[] = [];
  const spans: Span[] = [];
  const s0 = neck.section(p.headBack - 1);
  const slopeX = s0.flat - neck.section(p.headBack - 2).flat;
  const head = plane((x, y) => s0.flat + slopeX * (x - p.headBack + 1) + s0.flatSlope * y, false);
  spans.push({ name: "headstock back", ...head });
  const contoured = order.heel.kind === "contoured";
  const end = contoured ? p.shaftEnd : p.heelFront;
  const breaks = backBreaks(neck).filter((x) => x > p.headBack + 1e-3 && x < end - 1e-3);
  if (!(p.carveStart <= p.carveEnd))
    throw new NoBody("carve", { x: p.carveStart, y: 0 }, "Headstock and heel leave no carve between them.");
  [p.headBack, ...breaks].forEach((x, k, all) => {
    cuts.push(straight(`back's line at x ${x.toFixed(1)}`, x, 0));
    const x1 = k + 1 < all.length ? all[k + 1] : end;
    inside(neck, x, x1);
    spans.push({ name: "carve", ...carvePiece(neck, x, x1) });
  });
  const heel = plane((x) => heelZ(p.heelFront) + (heelZ(p.heelFront + 1) - heelZ(p.heelFront)) * (x - p.heelFront), false);
  if (!contoured) {
    cuts.push(straight("heel's front", p.heelFront, 0));
    spans.push({ name: "heel", ...heel });
  }
  const { tenon } = features;
  const under = plane(() => 0, false);
  if (tenon && !plain) {
    if (tenon.xMin < p.heelFront + 0.01)
      throw new NoBody("tenon", { x: tenon.xMin, y: 0 }, "The tenon begins in front of the flat heel that it is cut from.");
    cuts.push(tenonFront(tenon.xMin, tenon.width / 2));
    spans.push({ name: "board's underside", ...under });
  } else if (p.shaftEnd < p.end - 1e-6) {
    cuts.push(straight("shaft's end", p.shaftEnd, 0));
    spans.push({ name: "board's underside", ...under });
  }
  return { cuts, spans };
}

/** The line at a tenon's front, in three: shoulder, tenon, shoulder. */
const tenonFront = (x: Mm, half: Mm): Cut => ({
  name: "tenon's front",
  f: (p) => p.x - x,
  draw: (plan, bass, treble) => {
    if (!(bass.y < -half - 0.01 && treble.y > half + 0.01))
      throw new NoBody("tenon", { x, y: half }, "The tenon is as wide as the neck, or wider.");
    const a = plan.vertex(x, -half);
    const b = plan.vertex(x, half);
    return [
      { piece: plan.line(bass, a), forward: true },
      { piece: plan.line(a, b), forward: true },
      { piece: plan.line(b, treble), forward: true },
    ];
  },
});

/** The outline stays within the width that the carve is made for. */
function inside(neck: Neck, x0: Mm, x1: Mm): void {
  for (let k = 0; k <= 40; k++) {
    const x = Math.min(neck.places.end, x0 + ((x1 - x0) * k) / 40);
    const s = neck.section(x);
    const [lo, hi] = neck.edges(x);
    if (lo < s.yMin - 1e-6 || hi > s.yMax + 1e-6)
      throw new NoBody(
        "carve",
        { x, y: lo < s.yMin - 1e-6 ? lo : hi },
        "The headstock is wider here than the carved back: the back has no shape outside the board's edge lines.",
      );
  }
}

/** Rectangle of the plan that holds the board with room to spare. */
function boxOf(neck: Neck): [Mm, Mm, Mm, Mm] {
  const b = neck.board.curves.map(curveBounds);
  return [
    Math.min(...b.map((k) => k.xMin), neck.places.rampFoot) - 5,
    Math.max(...b.map((k) => k.xMax)) + 5,
    Math.min(...b.map((k) => k.yMin)) - 2,
    Math.max(...b.map((k) => k.yMax)) + 2,
  ];
}
