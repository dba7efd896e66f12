/*
 * The drawing list: what a page shows, in millimetres of paper, y downward from the top left corner. Every writer (SVG,
 * PDF, DXF) reads the same list. Line kinds are those of ISO 128-2; dimensions are laid out as ISO 129-1 has them.
 */

export type XY = readonly [number, number];

/**
 * heavy: continuous, twice wide (edges of cut wood, frames). wide: continuous wide (visible edges). narrow: continuous narrow
 * (dimensions, hatching, leaders). hidden: dashed narrow. centre: long-dashed dotted narrow. phantom: long-dashed
 * double-dotted narrow (the blank round the neck, adjacent parts, strings). hair: half of narrow, for rules in tables.
 */
export type LineKind = "heavy" | "wide" | "narrow" | "hidden" | "centre" | "phantom" | "hair";

/** ink and soft ink, the one accent, the ground of the paper, or a colour that stands for a quantity ("#rrggbb"). */
export type Ink = "ink" | "soft" | "accent" | "paper" | "shade" | `#${string}`;

/** One step of a path. Arc: centre, radius, angle of its start and signed sweep, both measured in the page's axes (x right, y down). */
export type PathStep =
  | { readonly to: "move"; readonly x: number; readonly y: number }
  | { readonly to: "line"; readonly x: number; readonly y: number }
  | {
      readonly to: "arc";
      readonly cx: number;
      readonly cy: number;
      readonly r: number;
      readonly start: number;
      readonly sweep: number;
      readonly x: number;
      readonly y: number;
    }
  | {
      readonly to: "cubic";
      readonly x1: number;
      readonly y1: number;
      readonly x2: number;
      readonly y2: number;
      readonly x: number;
      readonly y: number;
    }
  | { readonly to: "close" };

interface Styled {
  /** Default "ink". */
  readonly ink?: Ink;
  /** Name of the DXF layer: what the item is. Items without one stay off the DXF. */
  readonly layer?: string;
}

export interface LineItem extends Styled {
  readonly kind: "line";
  readonly line: LineKind;
  readonly a: XY;
  readonly b: XY;
}
export interface PolylineItem extends Styled {
  readonly kind: "polyline";
  readonly line: LineKind | "none";
  readonly points: readonly XY[];
  readonly closed: boolean;
  readonly fill?: Ink;
}
export interface PathItem extends Styled {
  readonly kind: "path";
  readonly line: LineKind | "none";
  readonly steps: readonly PathStep[];
  readonly fill?: Ink;
}
export interface CircleItem extends Styled {
  readonly kind: "circle";
  readonly line: LineKind | "none";
  readonly centre: XY;
  readonly radius: number;
  readonly fill?: Ink;
}
export interface TextItem extends Styled {
  readonly kind: "text";
  /** Anchor on the baseline. */
  readonly at: XY;
  readonly text: string;
  /** Font size in mm (the em; capitals are 0.73 of it). */
  readonly size: number;
  readonly anchor: "start" | "middle" | "end";
  readonly bold?: boolean;
  /** Degrees, clockwise on the page, about the anchor. */
  readonly turn?: number;
  /** A patch of paper under the text, so that lines beneath stay out of the figures. */
  readonly ground?: boolean;
}
/** A linear dimension between two points, measured along x, along y, or straight. */
export interface DimensionItem extends Styled {
  readonly kind: "dimension";
  readonly a: XY;
  readonly b: XY;
  readonly along: "x" | "y" | "straight";
  /** x: the y of the dimension line. y: its x. straight: signed distance from a-b, to the left of a->b on the page. */
  readonly line: number;
  readonly text: string;
  /** A patch of paper under the figure. */
  readonly ground?: boolean;
  /** Font size, default 2.5 mm. */
  readonly size?: number;
}
/** Cut material: `end` shows growth rings, `long` the run of the fibres, `filler` close fibres, `metal` lines at 45 degrees. */
export interface HatchItem extends Styled {
  readonly kind: "hatch";
  /** Even-odd rings. */
  readonly rings: readonly (readonly XY[])[];
  readonly grain: "end" | "long" | "filler" | "metal";
  /** Distance between lines on paper, mm. */
  readonly spacing: number;
  /** Turns the pattern so that neighbouring parts differ, degrees. */
  readonly turn?: number;
}
export interface ImageItem {
  readonly kind: "image";
  readonly at: XY;
  readonly width: number;
  readonly height: number;
  /** RGB PNG without transparency. */
  readonly png: Uint8Array;
  readonly alt: string;
}

/** What every writer draws; dimensions and hatches are broken down into these by `plainItems`. */
export type PlainItem = LineItem | PolylineItem | PathItem | CircleItem | TextItem | ImageItem;
export type Item = PlainItem | DimensionItem | HatchItem;

export interface Drawing {
  readonly id: string;
  readonly title: string;
  /** What the drawing shows, in a sentence or two, for people who cannot see it. */
  readonly says: string;
  /** Of the page, mm. */
  readonly width: number;
  readonly height: number;
  /** Width of the wide line, mm (ISO 128-2 group: 0.25, 0.35, 0.5); narrow is half of it. */
  readonly group: number;
  readonly items: readonly Item[];
  /** Paper millimetres per millimetre of the thing drawn (0.5 = 1:2); null when nothing is to scale. */
  readonly scale: number | null;
  /** Place of the model's origin on the page; DXF coordinates count from here, y up. */
  readonly origin?: XY;
}
