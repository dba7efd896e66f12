import type { Curve, Point } from "../../kernel/curve.ts";
import type { Neck, TunerBore } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { type Cell, reverseRun, type Shop } from "./body.ts";
import { circleCurves, obroundCurves, type Plan, ring } from "./plan.ts";
import { boardPiece, faceOf, type Piecewise, plane } from "./surfaces.ts";
import type { Edge, Group, PieceUse, Use, XYZ } from "./types.ts";

type LeftOut = { readonly id: string; readonly why: string };

/** Wood that must stay between a hole and the lines around it, so that no two edges touch. */
const ROOM = 1e-3;

/** Cuts every feature that is exact into the cells; says which are left out, and why. */
export function addFeatures(neck: Neck, plan: Plan, shop: Shop, cells: Cell[]): LeftOut[] {
  const { features } = neck;
  const left: LeftOut[] = [];
  const tops = (): Cell[] => cells.filter((c) => c.side === "top");
  const backs = (): Cell[] => cells.filter((c) => c.side === "back");
  /** A hole with upright walls and, when `floor` is given, a floor; false when no cell holds it whole. */
  const pocket = (side: "top" | "back", name: string, curves: readonly Curve[], floor: Piecewise): Cell | null => {
    const host = hostOf(side === "top" ? tops() : backs(), outlineOf(curves));
    if (!host) return null;
    const loop = ring(plan, curves);
    host.loops.push(reverseRun(loop));
    const cell: Cell = { name, side, z: floor.z, surface: floor.surface, loops: [loop], openings: [] };
    cells.push(cell);
    return cell;
  };
  const crosses = "it crosses a line where the surface around it changes";
  const tell = (id: string, ok: unknown, why = crosses): void => {
    if (!ok) left.push({ id, why });
  };

  const board = neck.board.curves.length > 0 ? boxAround(cells) : ([0, 0, 0, 0] as const);
  for (const slot of features.frets)
    if (slot.ends === "blind")
      tell(
        slot.id,
        pocket("top", `${slot.id} slot`, obroundCurves(slot.bass, slot.treble, slot.kerf), boardPiece(neck, slot.depth, board)),
      );
  for (const m of features.markers)
    tell(
      m.id,
      pocket(
        "top",
        m.id,
        circleCurves(m.x, m.y, m.diameter / 2),
        plane(() => m.zFloor, true),
      ),
    );
  for (const s of features.screws)
    tell(
      s.id,
      pocket(
        "back",
        s.id,
        circleCurves(s.x, s.y, s.diameter / 2),
        plane(() => s.zTo, false),
      ),
    );

  for (const t of features.tuners) {
    if (t.tilt) tell(t.id, leaningBore(neck, shop, cells, t));
    else tell(t.id, uprightBore(plan, cells, t));
  }
  for (const h of features.headSlots) {
    const curves = obroundCurves({ x: h.xMin, y: h.y }, { x: h.xMax, y: h.y }, h.width);
    tell(h.id, through(plan, cells, curves));
  }
  for (const c of features.rod) {
    if (c.id !== "rod-access") continue;
    const y = c.y ?? 0;
    const curves = obroundCurves({ x: c.xMin, y }, { x: c.xMax, y }, c.width);
    if (c.from === "carve")
      tell(
        c.id,
        pocket(
          "back",
          "rod access",
          curves,
          plane(() => c.zFloor, false),
        ),
      );
    else tell(c.id, false, "it runs in under the board, where the channel is closed");
  }
  const { tenon } = features;
  if (tenon) tell(tenon.id, tenonCell(neck, plan, cells), "no board reaches past it");
  for (const c of features.rod)
    if (c.id !== "rod-access") left.push({ id: c.id, why: "it is filled (rod or bar, strip, board) when the neck is finished" });
  for (const s of features.sideMarkers) left.push({ id: s.id, why: "bored from the board's edge by hand" });
  for (const r of features.rollers) left.push({ id: r.id, why: "bored from the headstock's edge by hand" });
  return left;
}

/** Polygon of closed curves. */
function outlineOf(curves: readonly Curve[]): Point[] {
  const out: Point[] = [];
  for (const c of curves) {
    const n = c.kind === "line" ? 8 : 24;
    for (let k = 0; k < n; k++) {
      const t = k / n;
      if (c.kind === "line") out.push({ x: c.a.x + (c.b.x - c.a.x) * t, y: c.a.y + (c.b.y - c.a.y) * t });
      else if (c.kind === "arc") {
        const a = c.start + c.sweep * t;
        out.push({ x: c.centre.x + c.radius * Math.cos(a), y: c.centre.y + c.radius * Math.sin(a) });
      }
    }
  }
  return out;
}

const polygonOf = (loop: readonly PieceUse[]): Point[] =>
  loop.flatMap(({ piece, forward }) => {
    const n = piece.curve?.kind === "line" ? 1 : 24;
    return Array.from({ length: n }, (_, k) => piece.at(forward ? k / n : 1 - k / n));
  });

/** The cell that holds a polygon whole, clear of the cell's lines and of the holes it has already. */
function hostOf(cells: readonly Cell[], polygon: readonly Point[]): Cell | null {
  for (const cell of cells) {
    const loops = [...cell.loops.map(polygonOf), ...cell.openings.map((o) => o.flatMap((u) => pointOf(u.edge)))];
    if (!polygon.every((p) => loops.every((loop, k) => isInside(loop, p) === (k === 0) && clear(loop, p)))) continue;
    // nor may a hole of the cell lie inside the polygon
    if (loops.slice(1).some((loop) => loop.some((p) => isInside(polygon, p)))) continue;
    return cell;
  }
  return null;
}

const pointOf = (e: Edge): Point[] => Array.from({ length: 16 }, (_, k) => ({ x: e.at(k / 16)[0], y: e.at(k / 16)[1] }));

function isInside(loop: readonly Point[], p: Point): boolean {
  let inside = false;
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++) {
    const a = loop[i];
    const b = loop[j];
    if (a.y > p.y !== b.y > p.y && p.x < ((b.x - a.x) * (p.y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
  }
  return inside;
}

function clear(loop: readonly Point[], p: Point): boolean {
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++) {
    const a = loop[j];
    const b = loop[i];
    const dx = b.x - a.x;
    const dy = b.y - a.y;
    const q = dx * dx + dy * dy;
    const t = q > 0 ? Math.min(1, Math.max(0, ((p.x - a.x) * dx + (p.y - a.y) * dy) / q)) : 0;
    if (Math.hypot(a.x + t * dx - p.x, a.y + t * dy - p.y) < ROOM) return false;
  }
  return true;
}

/** An opening right through, upright. */
function through(plan: Plan, cells: Cell[], curves: readonly Curve[]): boolean {
  const polygon = outlineOf(curves);
  const top = hostOf(
    cells.filter((c) => c.side === "top"),
    polygon,
  );
  const back = hostOf(
    cells.filter((c) => c.side === "back"),
    polygon,
  );
  if (!top || !back) return false;
  const loop = ring(plan, curves);
  top.loops.push(reverseRun(loop));
  back.loops.push(reverseRun(loop));
  return true;
}

/** A stepped bore, upright: bush from the face, post to the back. */
function uprightBore(plan: Plan, cells: Cell[], t: TunerBore): boolean {
  const last = t.steps[t.steps.length - 1];
  const first = t.steps[0];
  const outer = circleCurves(t.x, t.y, first.diameter / 2);
  const top = hostOf(
    cells.filter((c) => c.side === "top"),
    outlineOf(outer),
  );
  const back = hostOf(
    cells.filter((c) => c.side === "back"),
    outlineOf(circleCurves(t.x, t.y, last.diameter / 2)),
  );
  if (!top || !back) return false;
  let host = top;
  for (const [k, step] of t.steps.entries()) {
    const loop = ring(plan, circleCurves(t.x, t.y, step.diameter / 2));
    host.loops.push(reverseRun(loop));
    if (k === t.steps.length - 1) back.loops.push(reverseRun(loop));
    else {
      const floor = plane(() => step.zBottom, true);
      const cell: Cell = { name: `${t.id} bush`, side: "top", z: floor.z, surface: floor.surface, loops: [loop], openings: [] };
      cells.push(cell);
      host = cell;
    }
  }
  return true;
}

/** A stepped bore square to a tilted face: circles on face, steps and back, cylinders between them. */
function leaningBore(neck: Neck, shop: Shop, cells: Cell[], t: TunerBore): boolean {
  const n = faceOf(neck).normal;
  const across: XYZ = [0, n[2], -n[1]];
  const m = Math.hypot(...across);
  const u: XYZ = [0, across[1] / m, across[2] / m];
  const v: XYZ = [n[1] * u[2] - n[2] * u[1], n[2] * u[0] - n[0] * u[2], n[0] * u[1] - n[1] * u[0]];
  const face: XYZ = [t.x, t.y, t.steps[0].zTop];
  const along = (depth: Mm): XYZ => [face[0] - n[0] * depth, face[1] - n[1] * depth, face[2] - n[2] * depth];
  const circle = (c: XYZ, r: Mm, a: number): XYZ => {
    const [s, k] = [r * Math.sin(a), r * Math.cos(a)];
    return [c[0] + k * u[0] + s * v[0], c[1] + k * u[1] + s * v[1], c[2] + k * u[2] + s * v[2]];
  };
  const flat = (c: XYZ, r: Mm): Point[] =>
    Array.from({ length: 48 }, (_, k) => {
      const p = circle(c, r, (k * Math.PI) / 24);
      return { x: p[0], y: p[1] };
    });
  const thickness = neck.order.headstock.thickness;
  const last = t.steps[t.steps.length - 1];
  const bottom = along(thickness);
  const top = hostOf(
    cells.filter((c) => c.side === "top"),
    flat(face, t.steps[0].diameter / 2),
  );
  const back = hostOf(
    cells.filter((c) => c.side === "back"),
    flat(bottom, last.diameter / 2),
  );
  if (!top || !back || top.surface.kind !== "plane" || back.surface.kind !== "plane") return false;

  const ringAt = (c: XYZ, r: Mm, groups: readonly Group[]): Edge[] => {
    const vs = [0, 1].map((k) => shop.vertex(circle(c, r, k * Math.PI)));
    return [0, 1].map((k) =>
      shop.edge(
        vs[k],
        vs[1 - k],
        (s) => (s <= 0 ? vs[k].p : s >= 1 ? vs[1 - k].p : circle(c, r, (k + s) * Math.PI)),
        { kind: "circle", centre: c, axis: n, radius: r },
        groups[k],
      ),
    );
  };
  const forward = (edges: readonly Edge[]): Use[] => edges.map((edge) => ({ edge, forward: true }));
  const backward = (edges: readonly Edge[]): Use[] => [...edges].reverse().map((edge) => ({ edge, forward: false }));
  let depth = 0;
  let open: { readonly ring: Edge[]; readonly at: XYZ } | null = null;
  for (const [k, step] of t.steps.entries()) {
    const groups: Group[] = [{ edges: [] }, { edges: [] }];
    const r = step.diameter / 2;
    const high = ringAt(along(depth), r, groups);
    const isLast = k === t.steps.length - 1;
    // depths are measured square to the face
    depth = isLast ? thickness : depth + (step.zTop - step.zBottom);
    const low = ringAt(along(depth), r, groups);
    const ups = [0, 1].map((j) => {
      const [a, b] = [low[j].a, high[j].a];
      return shop.edge(
        a,
        b,
        (s) => [a.p[0] + (b.p[0] - a.p[0]) * s, a.p[1] + (b.p[1] - a.p[1]) * s, a.p[2] + (b.p[2] - a.p[2]) * s],
        { kind: "line" },
        null,
      );
    });
    if (k === 0) top.openings.push(backward(high));
    else if (open) shop.body.faces.push(stepFace(t.id, open.at, n, open.ring, high));
    for (const j of [0, 1]) {
      const [start, end] = [ups[j], ups[1 - j]];
      // seen from the axis: low back, up at its start, high forward, down at its end
      shop.body.faces.push({
        name: `${t.id} bore`,
        surface: { kind: "cylinder", origin: face, axis: n, radius: r, hollow: true },
        loops: [
          [
            { edge: low[j], forward: false },
            { edge: start, forward: true },
            { edge: high[j], forward: true },
            { edge: end, forward: false },
          ],
        ],
        strip: { low: { edge: low[j], forward: true }, high: { edge: high[j], forward: true }, start: [start], end: [end], right: false },
        side: null,
      });
    }
    open = { ring: low, at: along(depth) };
    if (isLast) back.openings.push(backward(low));
  }
  return true;

  function stepFace(id: string, at: XYZ, normal: XYZ, outer: readonly Edge[], inner: readonly Edge[]) {
    return {
      name: `${id} bush`,
      surface: { kind: "plane" as const, origin: at, normal },
      loops: [forward(outer), backward(inner)],
      strip: null,
      side: "top" as const,
    };
  }
}

/** What stays of the shaft's end below the board: an area of its own in the board's underside. */
function tenonCell(neck: Neck, plan: Plan, cells: Cell[]): boolean {
  const { tenon } = neck.features;
  const under = cells.find((c) => c.name === "board's underside");
  if (!tenon || !under) return false;
  const half = tenon.width / 2;
  const loop = under.loops[0];
  const k = loop.findIndex(({ piece: q }) => q.curve?.kind === "line" && Math.abs(q.a.y + half) < 1e-9 && Math.abs(q.b.y - half) < 1e-9);
  if (k < 0) return false;
  const front = loop[k].piece;
  const c1 = plan.vertex(tenon.xMax, -half);
  const c2 = plan.vertex(tenon.xMax, half);
  const around: PieceUse[] = [plan.line(front.a, c1), plan.line(c1, c2), plan.line(c2, front.b)].map((piece) => ({ piece, forward: true }));
  loop.splice(k, 1, ...reverseRun(around));
  const tilt = Math.tan(tenon.angle);
  const floor = plane((x) => -tenon.depth + (x - tenon.xMin) * tilt, false);
  cells.push({
    name: "tenon",
    side: "back",
    z: floor.z,
    surface: floor.surface,
    loops: [[...around, { piece: front, forward: false }]],
    openings: [],
  });
  return true;
}

function boxAround(cells: readonly Cell[]): [Mm, Mm, Mm, Mm] {
  const all = cells.flatMap((c) => c.loops.flatMap(polygonOf));
  return [
    Math.min(...all.map((p) => p.x)) - 5,
    Math.max(...all.map((p) => p.x)) + 5,
    Math.min(...all.map((p) => p.y)) - 2,
    Math.max(...all.map((p) => p.y)) + 2,
  ];
}
