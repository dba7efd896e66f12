import type { Mm } from "../../units/index.ts";
import { SAME } from "./plan.ts";
import type { Body, CircleForm, Edge, Face, Group, Piece, PieceUse, PlanVertex, Strip, Surface, Use, Vertex, XYZ } from "./types.ts";

/** Why there is no body, with its place. */
export class NoBody extends Error {
  readonly at: { readonly x: Mm; readonly y: Mm };
  readonly where: string;
  constructor(where: string, at: { readonly x: Mm; readonly y: Mm }, says: string) {
    super(says);
    this.where = where;
    this.at = { x: at.x, y: at.y };
  }
}

/** An area of the plan with one surface over it (side top) or under it (side back). */
export interface Cell {
  readonly name: string;
  readonly side: "top" | "back";
  readonly z: (x: Mm, y: Mm) => Mm;
  readonly surface: Surface;
  /** Outer loop counter-clockwise in the plan, then holes clockwise. */
  readonly loops: PieceUse[][];
  /** Further holes that are no pieces of the plan: edges, clockwise in the plan. */
  readonly openings: Use[][];
}

/** Heights nearer than this are one vertex. */
const LEVEL = 1e-6;

const flip = (uses: readonly Use[]): Use[] => [...uses].reverse().map((u) => ({ edge: u.edge, forward: !u.forward }));
export const reverseRun = (run: readonly PieceUse[]): PieceUse[] =>
  [...run].reverse().map((u) => ({ piece: u.piece, forward: !u.forward }));

/** Faces, edges and vertices as they are made. */
export interface Shop {
  readonly body: { readonly faces: Face[]; readonly edges: Edge[]; readonly vertices: Vertex[] };
  vertex(p: XYZ): Vertex;
  edge(a: Vertex, b: Vertex, at: (t: number) => XYZ, form: Edge["form"], group: Group | null): Edge;
}

export function makeShop(): Shop {
  const body = { faces: [] as Face[], edges: [] as Edge[], vertices: [] as Vertex[] };
  return {
    body,
    vertex: (p) => {
      const v: Vertex = { id: body.vertices.length, p };
      body.vertices.push(v);
      return v;
    },
    edge: (a, b, at, form, group) => {
      const e: Edge = { id: body.edges.length, a, b, at, form, group };
      body.edges.push(e);
      group?.edges.push(e);
      return e;
    },
  };
}

/**
 * Closes the cells of top and back into one body: an edge over (or under) every piece of the plan at the height of the cell on
 * each side of it, one face a cell, and upright walls wherever the heights on the two sides of a piece differ.
 */
export function closeBody(shop: Shop, cells: readonly Cell[]): Body {
  const { body } = shop;
  const level = (v: PlanVertex, z: Mm): Vertex => {
    for (const known of v.levels) if (Math.abs(known.p[2] - z) < LEVEL) return known;
    const made = shop.vertex([v.x, v.y, z]);
    v.levels.push(made);
    return made;
  };
  const overPiece = new Map<Piece, Edge[]>();
  /** The edge over a piece at the height of a cell; cells that agree along the piece share it. */
  const lifted = (piece: Piece, z: (x: Mm, y: Mm) => Mm): Edge => {
    const a = level(piece.a, z(piece.a.x, piece.a.y));
    const b = level(piece.b, z(piece.b.x, piece.b.y));
    const at = (t: number): XYZ => {
      if (t <= 0) return a.p;
      if (t >= 1) return b.p;
      const p = piece.at(t);
      return [p.x, p.y, z(p.x, p.y)];
    };
    const known = overPiece.get(piece) ?? [];
    overPiece.set(piece, known);
    for (const e of known)
      if (e.a === a && e.b === b && [0.11, 0.31, 0.5, 0.73, 0.93].every((t) => Math.abs(e.at(t)[2] - at(t)[2]) < LEVEL)) return e;
    const e = shop.edge(a, b, at, formOf(piece, at), piece.group);
    known.push(e);
    return e;
  };

  interface Sides {
    left: { cell: Cell; edge: Edge } | null;
    right: { cell: Cell; edge: Edge } | null;
  }
  const along = { top: new Map<Piece, Sides>(), back: new Map<Piece, Sides>() };
  for (const cell of cells) {
    const loops = cell.loops.map((loop) =>
      loop.map(({ piece, forward }): Use => {
        const edge = lifted(piece, cell.z);
        const sides = along[cell.side].get(piece) ?? { left: null, right: null };
        along[cell.side].set(piece, sides);
        if (sides[forward ? "left" : "right"])
          throw new NoBody(cell.name, piece.a, "Two surfaces lie on the same side of one line of the plan.");
        sides[forward ? "left" : "right"] = { cell, edge };
        return { edge, forward };
      }),
    );
    const all = [...loops, ...cell.openings];
    body.faces.push({
      name: cell.name,
      surface: cell.surface,
      loops: cell.side === "top" ? all : all.map(flip),
      strip: null,
      side: cell.side,
    });
  }

  // every height on a plan vertex is known from here on: uprights between neighbours are shared by all walls that meet there
  const uprights = new Map<string, Edge>();
  const upright = (v: PlanVertex, low: Vertex, high: Vertex): Edge[] => {
    if (low === high) return [];
    const stack = [...v.levels].sort((a, b) => a.p[2] - b.p[2]).filter((l) => l.p[2] >= low.p[2] && l.p[2] <= high.p[2]);
    return stack.slice(1).map((b, k) => {
      const a = stack[k];
      const key = `${a.id},${b.id}`;
      const known = uprights.get(key);
      if (known) return known;
      const made = shop.edge(a, b, (t) => [a.p[0], a.p[1], a.p[2] + (b.p[2] - a.p[2]) * t], { kind: "line" }, null);
      uprights.set(key, made);
      return made;
    });
  };
  /** `left`: the wood is on the left of the piece. */
  const wall = (name: string, piece: Piece, low: Edge, high: Edge, left: boolean): void => {
    if (low === high) return;
    const gap = [0, 0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1].map((t) => high.at(t)[2] - low.at(t)[2]);
    const under = gap.findIndex((g) => g < -LEVEL);
    if (under >= 0)
      throw new NoBody(
        name,
        piece.at([0, 0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1][under]),
        `No wood is left here: it would be ${gap[under].toFixed(3)} mm thick.`,
      );
    const start = upright(piece.a, low.a, high.a);
    const end = upright(piece.b, low.b, high.b);
    const up = (edges: readonly Edge[]): Use[] => edges.map((edge) => ({ edge, forward: true }));
    // wood on the left, seen from the right: low forward, up, high back, down
    const loop: Use[] = [{ edge: low, forward: true }, ...up(end), { edge: high, forward: false }, ...flip(up(start))];
    const strip: Strip = { low: { edge: low, forward: true }, high: { edge: high, forward: true }, start, end, right: left };
    body.faces.push({ name, surface: wallSurface(piece, left), loops: [left ? loop : flip(loop)], strip, side: null });
  };
  for (const [piece, top] of along.top) {
    const back = along.back.get(piece);
    if (back) {
      // the rim, or the rim of a hole right through: one side is air
      const t = top.left ?? top.right;
      const b = back.left ?? back.right;
      if (!t || !b || (top.left && top.right) || (back.left && back.right) || !!top.left !== !!back.left)
        throw new NoBody(t?.cell.name ?? "plan", piece.a, "Top and back do not end in the same place.");
      wall(t.cell.name === b.cell.name ? t.cell.name : `${t.cell.name} edge`, piece, b.edge, t.edge, !!top.left);
    } else if (top.left && top.right) {
      const leftHigh = heightOf(top.left.edge) > heightOf(top.right.edge);
      const [low, high] = leftHigh ? [top.right, top.left] : [top.left, top.right];
      wall(`${low.cell.name} wall`, piece, low.edge, high.edge, leftHigh);
    } else throw new NoBody((top.left ?? top.right)?.cell.name ?? "plan", piece.a, "The top has an open edge.");
  }
  for (const [piece, back] of along.back) {
    if (along.top.has(piece)) continue;
    if (!back.left || !back.right) throw new NoBody((back.left ?? back.right)?.cell.name ?? "plan", piece.a, "The back has an open edge.");
    const leftLow = heightOf(back.left.edge) < heightOf(back.right.edge);
    const [low, high] = leftLow ? [back.left, back.right] : [back.right, back.left];
    wall(`${high.cell.name} wall`, piece, low.edge, high.edge, leftLow);
  }
  return body;
}

/** Mean height, to tell which of two edges over one piece is the higher. */
const heightOf = (e: Edge): number => [0.07, 0.25, 0.5, 0.75, 0.93].reduce((s, t) => s + e.at(t)[2], 0);

/** What an edge over a piece is exactly. */
function formOf(piece: Piece, at: (t: number) => XYZ): Edge["form"] {
  const ts = [0.1, 0.27, 0.5, 0.71, 0.9];
  const a = at(0);
  const b = at(1);
  const flat = ts.every((t) => Math.abs(at(t)[2] - a[2] - (b[2] - a[2]) * t) < 1e-9);
  const { curve } = piece;
  if (curve?.kind === "line" && flat) return { kind: "line" };
  if (curve?.kind === "arc" && flat && Math.abs(a[2] - b[2]) < 1e-9) {
    const up = curve.sweep > 0 ? 1 : -1;
    return { kind: "circle", centre: [curve.centre.x, curve.centre.y, a[2]], axis: [0, 0, up], radius: curve.radius } satisfies CircleForm;
  }
  if (!curve && flat) {
    // a crease that happens to be straight
    const straight = ts.every((t) => {
      const p = at(t);
      const cross = (p[0] - a[0]) * (b[1] - a[1]) - (p[1] - a[1]) * (b[0] - a[0]);
      return Math.abs(cross) < 1e-9 * Math.hypot(b[0] - a[0], b[1] - a[1]);
    });
    if (straight) return { kind: "line" };
  }
  return { kind: "curve" };
}

function wallSurface(piece: Piece, left: boolean): Surface {
  const { curve } = piece;
  const a = piece.at(0);
  const b = piece.at(1);
  const L = Math.hypot(b.x - a.x, b.y - a.y);
  const s = left ? 1 : -1;
  const straight =
    curve?.kind === "line" ||
    [0.2, 0.4, 0.6, 0.8].every((t) => {
      const p = piece.at(t);
      return Math.abs((p.x - a.x) * (b.y - a.y) - (p.y - a.y) * (b.x - a.x)) < SAME * 1e-2 * L;
    });
  if (straight) return { kind: "plane", origin: [a.x, a.y, 0], normal: [(s * (b.y - a.y)) / L, (-s * (b.x - a.x)) / L, 0] };
  // wood on the left of a counter-clockwise arc is inside the circle
  if (curve?.kind === "arc")
    return {
      kind: "cylinder",
      origin: [curve.centre.x, curve.centre.y, 0],
      axis: [0, 0, 1],
      radius: curve.radius,
      hollow: curve.sweep > 0 !== left,
    };
  return { kind: "upright", piece, left };
}
