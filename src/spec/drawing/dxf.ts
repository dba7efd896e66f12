import DxfParser from "dxf-parser";
import type { Point } from "../../kernel/curve.ts";
import type { Finding } from "../../units/index.ts";
import { type Affine, after, mapPiece, SAME, shift, stretch, turn } from "./affine.ts";
import { checkDxf } from "./dxf-groups.ts";
import { bulged, circular } from "./oval.ts";
import { FLAT, FORM, LIMIT, MAX_CURVES, MAX_NESTING, NUMBER, OUTSIDE, refuse, SPLINE, UNREAD } from "./rules.ts";
import type { Sink } from "./sink.ts";
import { splineFault } from "./spline.ts";
import type { Piece, Strokes } from "./types.ts";
import { INS_UNITS } from "./units.ts";

/** An entity as pairs of group code and value, in the order of the file; a polyline also with its vertices. */
interface Entity {
  readonly type: string;
  readonly handle: string;
  readonly codes: number[];
  readonly values: (string | number)[];
  readonly vertices: Entity[];
}
interface Block {
  readonly name: string;
  readonly handle: string;
  readonly type?: number;
  readonly xrefPath?: string;
  readonly position?: { readonly x: number; readonly y: number; readonly z?: number };
  readonly entities?: readonly Entity[];
}
interface Scanner {
  next(): { readonly code: number; readonly value: string | number };
  readonly lastReadGroup: { readonly code: number; readonly value: string | number };
}

/** Kinds that the parser hands over pair by pair: its own handlers drop weights, extrusions and vertices with ids. */
const KINDS = ["LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE", "SPLINE", "INSERT"] as const;

function pairs(scanner: Scanner, type: string): Entity {
  const e: Entity & { handle: string } = { type, handle: "", codes: [], values: [], vertices: [] };
  for (;;) {
    const g = scanner.next();
    if (g.code === 0) return e;
    if (g.code === 5) e.handle = String(g.value);
    else {
      e.codes.push(g.code);
      e.values.push(g.value);
    }
  }
}

function parserOf(): DxfParser {
  const parser = new DxfParser();
  for (const kind of KINDS) {
    const handler = class {
      ForEntityName = kind;
      parseEntity(scanner: Scanner): Entity {
        const e = pairs(scanner, kind);
        if (kind === "POLYLINE") {
          while (scanner.lastReadGroup.value === "VERTEX") e.vertices.push(pairs(scanner, "VERTEX"));
          pairs(scanner, "SEQEND");
        }
        return e;
      }
    };
    parser.registerEntityHandler(handler as unknown as Parameters<DxfParser["registerEntityHandler"]>[0]);
  }
  return parser;
}

const last = (e: Entity, code: number): string | number | undefined => {
  const k = e.codes.lastIndexOf(code);
  return k < 0 ? undefined : e.values[k];
};
const num = (e: Entity, code: number, otherwise: number): number => (last(e, code) as number | undefined) ?? otherwise;
/** All values of a code, in order. */
const every = (e: Entity, code: number): number[] => e.values.filter((_, k) => e.codes[k] === code) as number[];
const placeOf = (e: Entity): string => `${e.type} at line ${e.handle}`;

/** Strokes of a DXF text, in its units, with all blocks resolved. `layer`: asked for by name, so read even if it is off. Throws a Refusal. */
export function dxfStrokes(text: string, layer: string | undefined, findings: Finding[], sink: Sink): Strokes {
  const checked = checkDxf(text, findings);
  let parsed: { entities: Entity[]; blocks?: Record<string, Block> };
  try {
    parsed = parserOf().parse(checked.text) as unknown as typeof parsed;
  } catch (e) {
    refuse(
      FORM,
      "the drawing",
      `The DXF file cannot be read: ${e instanceof Error ? e.message.slice(0, 120) : "?"}.`,
      "Save it again as DXF.",
    );
  }
  for (const [kind, n] of checked.skipped) sink.skipped.set(kind, n);
  const hidden = new Map(checked.hidden);
  if (layer !== undefined) hidden.delete(layer.toUpperCase());
  const walk = new Walk(new Map(Object.entries(parsed.blocks ?? {})), hidden, sink);
  walk.entities(parsed.entities, SAME, null, []);
  const unit = checked.insUnits === null ? undefined : INS_UNITS.get(checked.insUnits);
  return {
    strokes: sink.strokes,
    unit: unit === undefined ? null : { ...unit, from: `$INSUNITS ${checked.insUnits}` },
  };
}

class Walk {
  private readonly blocks: ReadonlyMap<string, Block>;
  private readonly hidden: ReadonlyMap<string, "off" | "frozen">;
  private readonly sink: Sink;
  private visits = 0;
  private readonly layerLists = new Map<string, readonly string[]>();

  constructor(blocks: ReadonlyMap<string, Block>, hidden: ReadonlyMap<string, "off" | "frozen">, sink: Sink) {
    this.blocks = blocks;
    this.hidden = hidden;
    this.sink = sink;
  }

  /** `m` carries them into the drawing; `parent` is the layer that layer 0 of a block takes. */
  entities(list: readonly Entity[], m: Affine, parent: string | null, open: readonly string[]): void {
    for (const e of list) {
      if (++this.visits > 2 * MAX_CURVES) {
        refuse(
          LIMIT,
          placeOf(e),
          "Blocks within blocks multiply beyond all measure.",
          "Explode the blocks that make the outline, and save only those.",
        );
      }
      const own = String(last(e, 8) ?? "0");
      const layer = own === "0" && parent !== null ? parent : own;
      if (num(e, 67, 0) !== 0) this.sink.skip("in paper space");
      else if (num(e, 60, 0) !== 0) this.sink.skip("invisible");
      else if (e.type === "INSERT" && this.hidden.get(layer.toUpperCase()) !== "frozen") this.insert(e, m, layer, open);
      else if (this.hidden.has(layer.toUpperCase())) this.sink.skip(`on the hidden layer ${layer}`);
      else this.curve(e, m, layer);
    }
  }

  private insert(e: Entity, m: Affine, layer: string, open: readonly string[]): void {
    const name = String(last(e, 2));
    const said = name.slice(2);
    const block = this.blocks.get(name);
    const where = placeOf(e);
    if (block === undefined) refuse(FORM, where, `Block "${said}" is inserted, but not in the file.`, "Save the drawing with its blocks.");
    if (((block.type ?? 0) & 12) !== 0 || (block.xrefPath ?? "") !== "") {
      refuse(
        OUTSIDE,
        where,
        `Block "${said}" lies in another file, which is not opened.`,
        "Bind the other drawing into this one, then save it.",
      );
    }
    if (open.includes(name)) refuse(FORM, where, `Block "${said}" holds itself.`, "Explode the block and save the outline alone.");
    if (open.length >= MAX_NESTING)
      refuse(LIMIT, where, `Blocks are nested more than ${MAX_NESTING} deep.`, "Explode the blocks.", { limit: MAX_NESTING });
    const [columns, rows] = [Math.max(1, num(e, 70, 1)), Math.max(1, num(e, 71, 1))];
    if (columns * rows > 1000)
      refuse(LIMIT, where, `The block stands ${columns * rows} times.`, "Draw the outline once.", { value: columns * rows, limit: 1000 });
    const [sx, sy] = [num(e, 41, 1), num(e, 42, 1)];
    if (sx === 0 || sy === 0) refuse(NUMBER, where, `Block "${said}" is inserted with a scale of 0.`, "Insert it again.", { value: 0 });
    const base = block.position ?? { x: 0, y: 0 };
    const frame = after(after(after(m, ocs(e)), shift(num(e, 10, 0), num(e, 20, 0))), turn((num(e, 50, 0) * Math.PI) / 180));
    for (let r = 0; r < rows; r++) {
      for (let c = 0; c < columns; c++) {
        const cell = after(frame, shift(c * num(e, 44, 0), r * num(e, 45, 0)));
        this.entities(block.entities ?? [], after(after(cell, stretch(sx, sy)), shift(-base.x, -base.y)), layer, [...open, name]);
      }
    }
  }

  private curve(e: Entity, m: Affine, layer: string): void {
    let layers = this.layerLists.get(layer);
    if (layers === undefined) {
      layers = [layer];
      this.layerLists.set(layer, layers);
    }
    const { pieces, closed, own } = figureOf(e);
    const frame = own ? after(m, ocs(e)) : m;
    const placed = frame === SAME ? pieces : pieces.map((p) => mapPiece(frame, p));
    this.sink.figure(placed, closed, layers, placeOf(e));
  }
}

interface Figure {
  readonly pieces: readonly Piece[];
  readonly closed: boolean;
  /** Its coordinates are in the entity's own frame (its extrusion), not the world's. */
  readonly own: boolean;
}

function figureOf(e: Entity): Figure {
  switch (e.type) {
    case "LINE":
      level(e, [...every(e, 30), ...every(e, 31)]);
      return { pieces: [{ kind: "line", a: point(e, 10), b: point(e, 11) }], closed: false, own: false };
    case "ARC": {
      const start = (given(e, 50) * Math.PI) / 180;
      let degrees = (given(e, 51) - given(e, 50)) % 360;
      if (degrees <= 0) degrees += 360;
      return { pieces: [circular(point(e, 10), radius(e), start, (degrees * Math.PI) / 180)], closed: degrees === 360, own: true };
    }
    case "CIRCLE":
      return { pieces: [circular(point(e, 10), radius(e), 0, 2 * Math.PI)], closed: true, own: true };
    case "ELLIPSE":
      return ellipse(e);
    case "LWPOLYLINE":
      return polyline(lightVertices(e), (num(e, 70, 0) & 1) === 1, true);
    case "POLYLINE":
      return heavy(e);
    case "SPLINE":
      return { pieces: [spline(e)], closed: false, own: false };
    default:
      throw new Error(`no reader for ${e.type}`);
  }
}

function ellipse(e: Entity): Figure {
  level(e, [0, ...every(e, 31)]);
  const u = point(e, 11);
  const down = ocs(e) !== SAME ? -1 : 1;
  const ratio = given(e, 40);
  if (ratio < 0)
    refuse(NUMBER, placeOf(e), `The axes of this ellipse have the ratio ${ratio}.`, "Draw it again.", { value: ratio, limit: 0 });
  const start = num(e, 41, 0);
  let sweep = (num(e, 42, 2 * Math.PI) - start) % (2 * Math.PI);
  if (sweep <= 1e-9) sweep += 2 * Math.PI;
  // files round the end parameter of a full ellipse
  const full = sweep > 2 * Math.PI - 1e-9;
  const v = { x: -u.y * ratio * down, y: u.x * ratio * down };
  return { pieces: [{ kind: "oval", c: point(e, 10), u, v, start, sweep: full ? 2 * Math.PI : sweep }], closed: full, own: false };
}

/** POLYLINE with its vertices: plain, with bulges, fitted, or in space but flat. */
function heavy(e: Entity): Figure {
  const flags = num(e, 70, 0);
  if ((flags & (16 | 64)) !== 0)
    refuse(UNREAD, placeOf(e), "A mesh is no outline.", "Draw the outline as lines, arcs and splines in the plane.");
  // 16 marks the frame of a spline that is drawn through other vertices
  const vertices = e.vertices.filter((v) => (num(v, 70, 0) & 16) === 0);
  level(
    e,
    vertices.map((v) => num(v, 30, 0)),
  );
  const inSpace = (flags & 8) !== 0;
  return polyline(
    vertices.map((v): Vertex => [point(v, 10), inSpace ? 0 : num(v, 42, 0)]),
    (flags & 1) === 1,
    !inSpace,
  );
}

type Vertex = readonly [Point, number];

function lightVertices(e: Entity): Vertex[] {
  const out: [{ x: number; y: number }, number][] = [];
  for (let k = 0; k < e.codes.length; k++) {
    const v = e.values[k] as number;
    if (e.codes[k] === 10) out.push([{ x: v, y: 0 }, 0]);
    else if (out.length > 0 && e.codes[k] === 20) out[out.length - 1][0].y = v;
    else if (out.length > 0 && e.codes[k] === 42) out[out.length - 1][1] = v;
  }
  return out;
}

function polyline(vertices: readonly Vertex[], closed: boolean, own: boolean): Figure {
  const pieces: Piece[] = [];
  const n = vertices.length;
  for (let k = 0; k + (closed ? 0 : 1) < n; k++) pieces.push(bulged(vertices[k][0], vertices[(k + 1) % n][0], vertices[k][1]));
  return { pieces, closed, own };
}

function spline(e: Entity): Piece {
  const where = placeOf(e);
  const xs = every(e, 10);
  const ys = every(e, 20);
  if (xs.length === 0) {
    refuse(
      SPLINE,
      where,
      "The spline has no control points.",
      every(e, 11).length > 0 ? "Save it with control points, not fit points alone." : "Draw it again.",
    );
  }
  level(e, every(e, 30));
  const weights = every(e, 41);
  const s = {
    kind: "spline" as const,
    degree: num(e, 71, 3),
    knots: every(e, 40),
    points: xs.map((x, k) => ({ x, y: ys[k] })),
    weights: weights.length > 0 ? weights : null,
  };
  const fault = splineFault(s);
  if (fault !== null)
    refuse(SPLINE, where, `The spline cannot be read: ${fault}.`, "Draw it again, or save it as polylines with bulges.", { value: fault });
  return s;
}

/** x is turned over for entities that are looked at from below (arbitrary axis algorithm for extrusion 0, 0, -1); other tilts are refused. */
function ocs(e: Entity): Affine {
  const [x, y, z] = [num(e, 210, 0), num(e, 220, 0), num(e, 230, 1)];
  if (Math.hypot(x, y) > 1e-9 * Math.abs(z) || z === 0) {
    refuse(
      FLAT,
      placeOf(e),
      `The curve is drawn on a tilted plane (extrusion ${x}, ${y}, ${z}).`,
      "Draw the outline in the plane of x and y.",
    );
  }
  return z > 0 ? SAME : TURNED_OVER;
}
const TURNED_OVER: Affine = [-1, 0, 0, 1, 0, 0];

function level(e: Entity, heights: readonly number[]): void {
  for (const z of heights) {
    if (Math.abs(z - heights[0]) <= 1e-6 * (1 + Math.abs(z))) continue;
    refuse(FLAT, placeOf(e), `The curve climbs from z ${heights[0]} to z ${z}.`, "Draw the outline in the plane of x and y.", {
      value: z,
      limit: heights[0],
    });
  }
}

function given(e: Entity, code: number): number {
  const v = last(e, code);
  if (v === undefined) refuse(FORM, placeOf(e), `${e.type} (line ${e.handle}) lacks group ${code}.`, "Draw it again.");
  return v as number;
}
const point = (e: Entity, code: number): Point => ({ x: given(e, code), y: given(e, code + 10) });
function radius(e: Entity): number {
  const r = given(e, 40);
  if (r < 0) refuse(NUMBER, placeOf(e), `The radius is ${r}.`, "Draw it again.", { value: r, limit: 0 });
  return r;
}
