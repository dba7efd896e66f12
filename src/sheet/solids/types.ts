import type { ArcCurve, CubicCurve, LineCurve, Point } from "../../kernel/curve.ts";
import type { Mm } from "../../units/index.ts";

/*
 * A body by its boundary: faces on exact surfaces, meeting in edges that are exact curves, meeting in vertices. The mesh and
 * the STEP file are both read off it, so that neither has a gap the other lacks. Neck frame, mm.
 */

export type XYZ = readonly [number, number, number];

export interface Vertex {
  readonly id: number;
  readonly p: XYZ;
}

/** Edges that are sampled at the same parameters, because a ruled wall hangs between them. */
export interface Group {
  readonly edges: Edge[];
}

export interface Edge {
  readonly id: number;
  readonly a: Vertex;
  readonly b: Vertex;
  /** From a (t = 0) to b (t = 1). */
  readonly at: (t: number) => XYZ;
  /** A straight edge, a circle's arc, or a curve known by its points. */
  readonly form: { readonly kind: "line" } | CircleForm | { readonly kind: "curve" };
  /** null: straight up and down, never cut in pieces. */
  readonly group: Group | null;
}

/** An arc about `centre`, counter-clockwise about `axis`, beginning at the edge's a and ending at its b. */
export interface CircleForm {
  readonly kind: "circle";
  readonly centre: XYZ;
  readonly axis: XYZ;
  readonly radius: Mm;
}

/** An edge walked from a to b (forward) or back. */
export interface Use {
  readonly edge: Edge;
  readonly forward: boolean;
}

/** A place of the plan with the heights at which vertices stand on it. */
export interface PlanVertex {
  readonly id: number;
  readonly x: Mm;
  readonly y: Mm;
  readonly levels: Vertex[];
}

/** A curve of the plan between two plan vertices; edges stand above and below it. */
export interface Piece {
  readonly id: number;
  readonly a: PlanVertex;
  readonly b: PlanVertex;
  readonly at: (t: number) => Point;
  /** The plan curve exactly, where it is one of the kernel's; null for a crease. */
  readonly curve: LineCurve | ArcCurve | CubicCurve | null;
  readonly group: Group;
}

export interface PieceUse {
  readonly piece: Piece;
  readonly forward: boolean;
}

export type Surface =
  | { readonly kind: "plane"; readonly origin: XYZ; readonly normal: XYZ }
  /** Infinite along `axis`; `hollow`: the wood is outside it, so that the normal points to the axis. */
  | { readonly kind: "cylinder"; readonly origin: XYZ; readonly axis: XYZ; readonly radius: Mm; readonly hollow: boolean }
  /** Upright over a plan curve that is neither a line nor an arc. The wood is on the left of the curve, or on its right. */
  | { readonly kind: "upright"; readonly piece: Piece; readonly left: boolean }
  /** A patch: known by its points over a rectangle of parameters, smooth inside it. */
  | Patch;

export interface Patch {
  readonly kind: "patch";
  /** uMin, uMax, vMin, vMax */
  readonly box: readonly [number, number, number, number];
  readonly at: (u: number, v: number) => XYZ;
  /** Parameters of a place of the plan on it. */
  readonly uv: (x: Mm, y: Mm) => readonly [number, number];
  /** Its normal (du x dv) points out of the wood. */
  readonly outward: boolean;
  /** Parameters v at which the samples crowd, because a high derivative jumps there. */
  readonly crowd: readonly number[];
}

/** A wall's two long edges, sampled alike, both walked in the same direction, and the uprights at its ends, from low to high. */
export interface Strip {
  readonly low: Use;
  readonly high: Use;
  readonly start: readonly Edge[];
  readonly end: readonly Edge[];
  /** The triangles between low (going forward) and high face the right of the walk; else the left. */
  readonly right: boolean;
}

export interface Face {
  /** Where it is on the neck: "back", "fret-3 floor", "outline". */
  readonly name: string;
  readonly surface: Surface;
  /** Counter-clockwise seen from the air; the first is the outer one. */
  readonly loops: readonly (readonly Use[])[];
  /** A ruled wall; null for a face over (or under) an area of the plan. */
  readonly strip: Strip | null;
  /** Of a face over the plan: the side that its air is on. */
  readonly side: "top" | "back" | null;
}

export interface Body {
  readonly faces: readonly Face[];
  readonly edges: readonly Edge[];
  readonly vertices: readonly Vertex[];
}

/** Triangles: three vertex numbers each, counter-clockwise seen from the air; vertices x, y, z. */
export interface Mesh {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  /** The face of the body that each triangle stands for. */
  readonly faceOf: Uint32Array;
  /** Largest distance found between a triangle and the exact surface it stands for, mm. */
  readonly deviation: Mm;
}
