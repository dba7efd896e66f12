import type { Contour, Point } from "../kernel/curve.ts";
import type { OrderSpec } from "../spec/types.ts";
import type { Finding, Mm, Rad } from "../units/index.ts";

/*
 * The neck frame: x from the nut's board-side edge (x = 0) toward the bridge, headstock at x < 0; z = 0 the glue plane,
 * +z out of the face; +y the treble side of a right-handed instrument. Left-handed necks are the mirror image in y.
 */

export interface FretSlot {
  readonly id: string; // "fret-1"
  readonly number: number;
  /** Exact ends of the slot's centreline on the plan: at the board's edges (through) or short of them (blind). */
  readonly bass: Point;
  readonly treble: Point;
  readonly kerf: Mm;
  /** Below the finished board surface, everywhere along the slot. */
  readonly depth: Mm;
  readonly ends: "through" | "blind";
}

export interface TunerBore {
  readonly id: string; // "tuner-1", string 1 is the treble-most
  readonly string: number;
  readonly x: Mm;
  readonly y: Mm;
  /** From the face down; each step's zTop is the zBottom of the one before. Diameters fall. */
  readonly steps: readonly { readonly diameter: Mm; readonly zTop: Mm; readonly zBottom: Mm }[];
  /** Angle by which the string turns aside at the nut on its way to this post. */
  readonly stringAngle: Rad;
  /** The bore leans back by this much with an angled headstock's face; x, y and zTop are where it opens. Absent: upright. */
  readonly tilt?: Rad;
}

/** An opening through a slotted headstock, with round ends, along x about y. */
export interface HeadSlot {
  readonly id: string; // "head-slot-bass"
  readonly xMin: Mm;
  readonly xMax: Mm;
  readonly y: Mm;
  readonly width: Mm;
}

/** A bore from the headstock's side for a tuner's roller: out of a three-axis machine's reach, drilled by a guide. */
export interface RollerBore {
  readonly id: string; // "roller-1"
  readonly string: number;
  readonly side: "bass" | "treble";
  readonly x: Mm;
  /** On the headstock's edge. */
  readonly y: Mm;
  readonly z: Mm;
  readonly diameter: Mm;
  readonly depth: Mm;
  readonly stringAngle: Rad;
}

/** The tenon of a set neck: what stays of the shaft's end below the board. */
export interface Tenon {
  readonly id: "tenon";
  readonly xMin: Mm;
  readonly xMax: Mm;
  readonly width: Mm;
  /** Depth below the glue plane at its front (xMin); its underside tilts by `angle`. */
  readonly depth: Mm;
  readonly angle: Rad;
}

export interface NutSeat {
  readonly id: "nut-seat";
  readonly kind: "seat" | "shelf";
  /** The groove (or step) spans xMin..xMax, from edge to edge of the board. */
  readonly xMin: Mm;
  readonly xMax: Mm;
  readonly zFloor: Mm;
  /** Slope dx/dy of its lines (an angled nut); xMin and xMax are on the centreline. */
  readonly slope: number;
}

export interface MarkerRecess {
  readonly id: string; // "marker-3", "marker-12a"
  readonly fret: number;
  readonly x: Mm;
  readonly y: Mm;
  /** Of the recess (marker plus fit). */
  readonly diameter: Mm;
  readonly zFloor: Mm;
}

export interface SideMarker {
  readonly id: string; // "side-3", "side-12a"
  readonly fret: number;
  readonly x: Mm;
  readonly y: Mm;
  readonly z: Mm;
  readonly diameter: Mm;
  readonly depth: Mm;
}

/** A straight channel along x about y (0 when absent) with round ends (radius width/2) reaching exactly to xMin and xMax. */
export interface RodChannel {
  readonly id: "rod-channel" | "rod-access" | "bar-channel-1" | "bar-channel-2";
  readonly y?: Mm;
  /** Midway the floor lies this much further from the glue plane, on a parabola over xMin..xMax (single-action rods). */
  readonly sag?: Mm;
  readonly from: "board" | "carve";
  readonly xMin: Mm;
  readonly xMax: Mm;
  readonly width: Mm;
  readonly zFloor: Mm;
  /** Wood the rod itself fills, from the floor; the filler strip fills the rest. */
  readonly rodHeight: Mm;
}

export interface ScrewBore {
  readonly id: string; // "heel-screw-1"
  readonly x: Mm;
  readonly y: Mm;
  readonly diameter: Mm;
  /** Opens at the heel's underside (zFrom) and ends at zTo > zFrom. Cut from the carve side. */
  readonly zFrom: Mm;
  readonly zTo: Mm;
}

export interface NeckFeatures {
  readonly frets: readonly FretSlot[];
  readonly tuners: readonly TunerBore[];
  readonly nut: NutSeat;
  readonly markers: readonly MarkerRecess[];
  readonly sideMarkers: readonly SideMarker[];
  readonly rod: readonly RodChannel[];
  readonly screws: readonly ScrewBore[];
  readonly headSlots: readonly HeadSlot[];
  readonly rollers: readonly RollerBore[];
  readonly tenon: Tenon | null;
}

/** Where the kinds of surface meet, along x. All from the order alone. */
export interface NeckPlaces {
  readonly tip: Mm;
  /** Front end of the board (behind the nut), x < 0; for a shelf x = 0. */
  readonly boardFront: Mm;
  /** Where the headstock face ends and its ramp begins (tangent line), and where the ramp reaches the board's crown. */
  readonly rampFoot: Mm;
  readonly rampTop: Mm;
  /** The back: flat headstock for x <= headBack; pure carve between carveStart and carveEnd; flat heel from heelFront to shaftEnd. */
  readonly headBack: Mm;
  readonly carveStart: Mm;
  readonly carveEnd: Mm;
  readonly heelFront: Mm;
  readonly shaftEnd: Mm;
  /** On the centreline. */
  readonly boardEnd: Mm;
  /** Largest x of the plan: beyond boardEnd where the end slants. */
  readonly end: Mm;
  /** Slopes dx/dy of the nut's lines (ramp and board front too) and of the board's end; 0 on a single scale. */
  readonly nutSlope: number;
  readonly endSlope: number;
}

/** The shape of the back at one x (z downward from the glue plane is `depth` positive). */
export interface BackSection {
  readonly yMin: Mm;
  readonly yMax: Mm;
  /** Carve depth below the glue plane on the centreline, exponents on the -y and +y side. */
  readonly depth: Mm;
  readonly exponentMinus: number;
  readonly exponentPlus: number;
  /** 0 = pure carve, 1 = flat at `flat` (z, negative). */
  readonly blend: number;
  readonly flat: Mm;
  /** dz/dy of that flat: 0 but on an angled headstock behind a slanted nut. */
  readonly flatSlope: number;
  /** The oval begins this far below the glue plane. */
  readonly shoulder: Mm;
}

export interface Neck {
  readonly order: OrderSpec;
  /** The whole neck seen from above (headstock, board, all), counter-clockwise. */
  readonly outline: Contour;
  /** The board alone. */
  readonly board: Contour;
  readonly places: NeckPlaces;
  readonly features: NeckFeatures;
  /** Lowest and highest y of the outline at x (x within tip..boardEnd); exact to 1e-9. */
  edges(x: Mm): readonly [Mm, Mm];
  /** Half widths of the board's edge lines as y values, also beyond the board's ends (straight lines). */
  boardEdges(x: Mm): readonly [Mm, Mm];
  /** z of the finished top without features, smooth and defined also outside the plan (board continued, face continued). */
  top(x: Mm, y: Mm): Mm;
  /** The board's own surface, without the ramp or face that cut it off; defined everywhere. */
  boardTop(x: Mm, y: Mm): Mm;
  /** z of the finished back without features. NaN outside the plan's edges at x. Shaft end is a step to 0 under an overhang. */
  back(x: Mm, y: Mm): Mm;
  /** Signed normal distance, to first order, of a point near the finished top: positive outside the wood. */
  topDistance(x: Mm, y: Mm, z: Mm): Mm;
  /** Same for the back. */
  backDistance(x: Mm, y: Mm, z: Mm): Mm;
  /** Outward unit normal of the back at a point on it; z component negative or 0. */
  backNormal(x: Mm, y: Mm, z: Mm): readonly [number, number, number];
  section(x: Mm): BackSection;
  /** Radius of the board at x (Infinity: flat), crown height above the glue plane. */
  boardRadius(x: Mm): Mm;
  /** Wood between rod (or channel) and the finished back at x, on the centreline; null where there is no rod. */
  woodUnderRod(x: Mm): Mm | null;
  /** y of string s (1 = treble-most) at x, on the straight line from nut to bridge, continued behind the nut. */
  stringAt(s: number, x: Mm): Mm;
  /** Distance of fret n (any number) from the nut, on the centreline. */
  fretAt(n: number): Mm;
  /** Slope dx/dy of fret n's line. */
  fretSlope(n: number): number;
  /** Scale length of string s (1 = treble-most): along x between its crossings of the nut's and the bridge's lines. */
  scaleOf(s: number): Mm;
  /** Angle between board and body that the set-up asks for; 0 without one. */
  readonly neckAngle: Rad;
  readonly findings: readonly Finding[];
}
