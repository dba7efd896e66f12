import { readFileSync } from "node:fs";
import { join } from "node:path";
import DxfParser from "dxf-parser";
import { expect } from "vitest";
import { EXPORT_KINDS, type Exported, type ExportKind, exportOrder } from "../../src/job/export.ts";
import { pointOn } from "../../src/kernel/contour.ts";
import type { Curve } from "../../src/kernel/curve.ts";
import { makeNeck } from "../../src/neck/index.ts";
import type { Neck } from "../../src/neck/types.ts";
import { parseOrder } from "../../src/spec/index.ts";
import { root } from "../sources.ts";

/* What the checks of exported files share: the orders, the files, a reader of DXF that is not ours, and distances. */

export const FLAT: readonly ExportKind[] = EXPORT_KINDS.filter((k) => k !== "stl" && k !== "3mf" && k !== "step");

/** The orders whose files are read back. */
export const NAMES = [
  "loan-guitar",
  "loan-guitar-left",
  "loan-guitar-seven",
  "loan-guitar-twelve",
  "loan-cittern",
  "loan-bass-fretless",
] as const;
export const TEMPLATES = ["plan", "profile", "headstock", "gauges"] as const;

export interface Case {
  readonly name: string;
  readonly neck: Neck;
  readonly made: Exported;
  readonly file: (ending: string) => Uint8Array;
  readonly text: (ending: string) => string;
}

/** The bytes of an example's order, changed where asked. */
export function orderBytes(name: string, change: (order: Record<string, unknown>) => void = () => undefined): Uint8Array {
  const order = JSON.parse(readFileSync(join(root, `examples/${name}.order.json`), "utf8")) as Record<string, unknown>;
  change(order);
  return new TextEncoder().encode(JSON.stringify(order));
}

/** The neck of an example's order. */
export function neckOf(name: string): Neck {
  const { value } = parseOrder(orderBytes(name));
  if (!value) throw new Error("the order must be readable");
  return makeNeck(value);
}

export async function caseOf(bytes: Uint8Array, kinds: readonly ExportKind[] = FLAT, paper: "A4" | "Letter" = "A4"): Promise<Case> {
  const value = parseOrder(bytes).value;
  if (!value) throw new Error("the order must be readable");
  const made = await exportOrder({ path: value.name, bytes }, null, kinds, paper);
  const file = (ending: string): Uint8Array => {
    const found = made.files?.find((f) => f.path === `${value.name}${ending}`);
    if (!found) throw new Error(`${value.name}${ending} was not written`);
    return found.bytes;
  };
  return { name: value.name, neck: makeNeck(value), made, file, text: (ending) => new TextDecoder().decode(file(ending)) };
}

export type XY = readonly [number, number];

/** A piece read from a file: a straight piece, or an arc counter-clockwise from `from` by `turn` (radians, negative clockwise). */
export type Piece =
  | { readonly kind: "line"; readonly a: XY; readonly b: XY }
  | { readonly kind: "arc"; readonly c: XY; readonly r: number; readonly from: number; readonly turn: number };

interface Vertex {
  readonly x: number;
  readonly y: number;
  readonly bulge?: number;
}

/** Pieces of a DXF by layer, as the library dxf-parser reads it; bulge = tan(included angle / 4), DXF reference, VERTEX group 42. */
export function dxfPieces(text: string): Map<string, Piece[]> {
  const parsed = new DxfParser().parseSync(text);
  if (!parsed) throw new Error("no DXF");
  const out = new Map<string, Piece[]>();
  for (const e of parsed.entities as unknown as (Record<string, unknown> & { type: string; layer: string })[]) {
    const list = out.get(e.layer) ?? [];
    out.set(e.layer, list);
    if (e.type === "LINE") {
      const [a, b] = e.vertices as Vertex[];
      list.push({ kind: "line", a: [a.x, a.y], b: [b.x, b.y] });
    } else if (e.type === "CIRCLE") {
      const c = e.center as Vertex;
      list.push({ kind: "arc", c: [c.x, c.y], r: e.radius as number, from: 0, turn: 2 * Math.PI });
    } else if (e.type === "ARC") {
      const c = e.center as Vertex;
      const [s, t] = [e.startAngle as number, e.endAngle as number];
      list.push({ kind: "arc", c: [c.x, c.y], r: e.radius as number, from: s, turn: t > s ? t - s : t - s + 2 * Math.PI });
    } else if (e.type === "POLYLINE") {
      const v = e.vertices as Vertex[];
      const n = e.shape ? v.length : v.length - 1;
      for (let k = 0; k < n; k++) list.push(pieceOf(v[k], v[(k + 1) % v.length]));
    }
  }
  return out;
}

function pieceOf(a: Vertex, b: Vertex): Piece {
  if (!a.bulge) return { kind: "line", a: [a.x, a.y], b: [b.x, b.y] };
  const turn = 4 * Math.atan(a.bulge);
  const chord = Math.hypot(b.x - a.x, b.y - a.y);
  const r = chord / (2 * Math.abs(Math.sin(turn / 2)));
  // from the chord's middle to the centre: left of the chord for a positive bulge of less than half a turn
  const h = (chord / 2 / Math.tan(turn / 2)) as number;
  const c: XY = [(a.x + b.x) / 2 - ((b.y - a.y) / chord) * h, (a.y + b.y) / 2 + ((b.x - a.x) / chord) * h];
  return { kind: "arc", c, r, from: Math.atan2(a.y - c[1], a.x - c[0]), turn };
}

export function alongPiece(p: Piece, t: number): XY {
  if (p.kind === "line") return [p.a[0] + (p.b[0] - p.a[0]) * t, p.a[1] + (p.b[1] - p.a[1]) * t];
  const a = p.from + p.turn * t;
  return [p.c[0] + p.r * Math.cos(a), p.c[1] + p.r * Math.sin(a)];
}

export function toPiece(q: XY, p: Piece): number {
  if (p.kind === "line") {
    const [dx, dy] = [p.b[0] - p.a[0], p.b[1] - p.a[1]];
    const n = dx * dx + dy * dy;
    const t = n > 0 ? Math.min(1, Math.max(0, ((q[0] - p.a[0]) * dx + (q[1] - p.a[1]) * dy) / n)) : 0;
    return Math.hypot(q[0] - p.a[0] - t * dx, q[1] - p.a[1] - t * dy);
  }
  const full = 2 * Math.PI;
  const angle = Math.atan2(q[1] - p.c[1], q[0] - p.c[0]);
  const into = ((((angle - p.from) * Math.sign(p.turn)) % full) + full) % full;
  if (into <= Math.abs(p.turn)) return Math.abs(Math.hypot(q[0] - p.c[0], q[1] - p.c[1]) - p.r);
  return Math.min(...[0, 1].map((t) => Math.hypot(q[0] - alongPiece(p, t)[0], q[1] - alongPiece(p, t)[1])));
}

/** Distance of a place from the nearest of many pieces; pieces whose box is farther than the best so far are passed over. */
export function nearest(pieces: readonly Piece[]): (q: XY) => number {
  const boxes = pieces.map((p): readonly [number, number, number, number] => {
    if (p.kind === "arc") return [p.c[0] - p.r, p.c[1] - p.r, p.c[0] + p.r, p.c[1] + p.r];
    return [Math.min(p.a[0], p.b[0]), Math.min(p.a[1], p.b[1]), Math.max(p.a[0], p.b[0]), Math.max(p.a[1], p.b[1])];
  });
  let last = 0;
  return (q) => {
    // neighbours ask for the same piece: begin with it
    let best = toPiece(q, pieces[last]);
    for (let k = 0; k < pieces.length; k++) {
      const [x0, y0, x1, y1] = boxes[k];
      if (q[0] < x0 - best || q[0] > x1 + best || q[1] < y0 - best || q[1] > y1 + best) continue;
      const d = toPiece(q, pieces[k]);
      if (d < best) {
        best = d;
        last = k;
      }
    }
    return best;
  };
}

/** The largest distance of a sample of one list of pieces from the nearest of the other. */
export function farthest(from: readonly Piece[], to: readonly Piece[], samples: number): number {
  const near = nearest(to);
  return Math.max(0, ...from.flatMap((p) => Array.from({ length: samples + 1 }, (_, k) => near(alongPiece(p, k / samples)))));
}

/** An exact chain as points close together: what a file must pass within 0.001 mm of. */
export const densely = (curves: readonly Curve[], n: number): XY[] =>
  curves.flatMap((c) => {
    const count = c.kind === "line" ? 12 : n;
    return Array.from({ length: count + 1 }, (_, k): XY => {
      const p = pointOn(c, k / count);
      return [p.x, p.y];
    });
  });

/** Both ways: points of the exact curves from the pieces, and points of the pieces from the exact curves (chords of 0.0001 mm). */
export function bothWays(pieces: readonly Piece[], exact: readonly XY[], exactDistance: (q: XY) => number): number {
  let worst = 0;
  const near = nearest(pieces);
  for (const q of exact) worst = Math.max(worst, near(q));
  for (const p of pieces) for (const t of [0, 0.5]) worst = Math.max(worst, exactDistance(alongPiece(p, t)));
  return worst;
}

/** Rows of a CSV file by column name. */
export function table(text: string): Record<string, number>[] {
  expect(text.endsWith("\r\n")).toBe(true);
  const [head, ...rows] = text
    .slice(0, -2)
    .split("\r\n")
    .map((l) => l.split(","));
  for (const r of rows) expect(r).toHaveLength(head.length);
  return rows.map((r) => Object.fromEntries(head.map((h, k) => [h, r[k] === "" ? Number.POSITIVE_INFINITY : Number(r[k])])));
}
