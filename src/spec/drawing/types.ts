import type { Box } from "../../kernel/contour.ts";
import type { Contour, Point } from "../../kernel/curve.ts";
import type { Finding, Mm } from "../../units/index.ts";

/** Units a drawing may be in. `px` is the CSS pixel, 1/96 inch; `pt` is 1/72 inch. */
export type DrawingUnit = "mm" | "cm" | "m" | "in" | "ft" | "px" | "pt";

export interface DrawingOptions {
  /** What one unit of the drawing is; goes before what the file states. */
  readonly unit?: DrawingUnit;
  /** Only curves of this layer (DXF) or below the group so named by id, label or data-name (SVG); capitals do not count. */
  readonly layer?: string;
  /** Gaps up to this are closed. Default 0.05 mm, at most 1 mm. */
  readonly closeWithin?: Mm;
  /** Factor on every length, after the unit. Default 1. */
  readonly scale?: number;
}

export interface DrawingFacts {
  readonly unit: DrawingUnit | "other" | null;
  /** Where the unit comes from, in words: "the order", "$INSUNITS 4", "width 180mm over viewBox 180"; "" when nobody says. */
  readonly unitFrom: string;
  /** Millimetres per unit of the drawing, `options.scale` included; null while the unit is unknown. */
  readonly scale: number | null;
  /** Curves of the outline; 0 without one. */
  readonly curves: number;
  /** Widest gap that was closed; 0 when every curve began where the one before ended. */
  readonly closedGap: Mm;
  /** Exact bounds of the outline, y up; null without one. */
  readonly bounds: Box | null;
  readonly length: Mm;
  /** Enclosed area from the closed forms of its curves, mm2. */
  readonly area: number;
  /** Layers (DXF) or named groups (SVG) that hold curves, with their count, in the order of the file. */
  readonly layers: readonly { readonly name: string; readonly curves: number }[];
}

export interface DrawingRead {
  /** Counter-clockwise seen with y up, in the drawing's own place, mm; null with any finding of severity stop. */
  readonly outline: Contour | null;
  readonly findings: readonly Finding[];
  readonly facts: DrawingFacts;
}

/**
 * A curve as the file has it, in drawing units, before it becomes a Curve: every piece stays exact under any affine map.
 * An oval is c + u cos t + v sin t for t from `start` through `sweep`; circles, ellipses, arcs and bulges are ovals.
 */
export type Piece =
  | { readonly kind: "line"; readonly a: Point; readonly b: Point }
  | { readonly kind: "oval"; readonly c: Point; readonly u: Point; readonly v: Point; readonly start: number; readonly sweep: number }
  | { readonly kind: "cubic"; readonly p0: Point; readonly p1: Point; readonly p2: Point; readonly p3: Point }
  | {
      readonly kind: "spline";
      readonly degree: number;
      readonly knots: readonly number[];
      readonly points: readonly Point[];
      /** One per point, above 0; null for all the same. */
      readonly weights: readonly number[] | null;
    };

/** A piece with its place in the file. */
export interface Stroke {
  readonly piece: Piece;
  /** Its layer (DXF), or the names of the groups it lies in (SVG). */
  readonly layers: readonly string[];
  /** "line 120" of the file or "path outline". */
  readonly from: string;
  /** Starts where the stroke before it ends, because the file says so. */
  readonly follows: boolean;
  /** Ends where its figure starts, because the file closes the figure. */
  readonly closes: boolean;
}

/** What a reader of one file format gives. */
export interface Strokes {
  readonly strokes: readonly Stroke[];
  readonly unit: { readonly mm: number; readonly name: DrawingUnit | "other"; readonly from: string } | null;
}

/** How an order names its drawing and says how to read it; the bytes are read by whoever has a disk. */
export interface DrawingRequest extends DrawingOptions {
  /** Path of a .dxf or .svg file below the order's folder, with forward slashes. */
  readonly drawing: string;
  /** Where the nut's centre (the board's end of it, x = 0) lies, as the file counts, in mm after unit and scale. Default 0, 0. */
  readonly nutAt?: { readonly x: Mm; readonly y: Mm };
  /** Which way the headstock points on the drawing. Default left. */
  readonly toward?: "left" | "right" | "up" | "down";
  /** The face or the back is seen. Default front: with the headstock to the left, the treble side of a right-handed neck is up. */
  readonly seen?: "front" | "back";
}
