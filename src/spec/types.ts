import type { Contour } from "../kernel/curve.ts";
import type { Mm, Rad } from "../units/index.ts";
import type { BlankPoint, BlankRegion, OrderCorrection } from "./corrections.ts";
import type { DrawingRequest } from "./drawing/types.ts";
import type { ClimateSpec, Rings, SetupSpec } from "./setup-types.ts";

export type { ClimateSpec, Rings, SetupSpec } from "./setup-types.ts";
export type * from "./shop-types.ts";

/*
 * The order and the shop as every later stage takes them: complete (defaults filled in), in mm, radians, seconds.
 * The files themselves (order/1, shop/1) are looser: units at the door, defaults left out; `parseOrder` and `parseShop`
 * turn them into these values or into findings. "bass" and "treble" name sides of the instrument; which side of the neck
 * frame that is follows from `hand` and is decided once, in neck/.
 */

/** A place along the neck: a distance from the nut's board-side edge, or a fret by its number (0 = the nut). */
export type Place = { readonly kind: "x"; readonly x: Mm } | { readonly kind: "fret"; readonly fret: number };

export interface OrderSpec {
  readonly name: string;
  readonly title: string;
  readonly instrument: "guitar" | "bass" | "ukulele" | "other";
  readonly hand: "right" | "left";
  /** Scale length, nut to bridge along the centreline. */
  readonly scale: Mm;
  readonly strings: StringsSpec;
  readonly frets: FretsSpec;
  readonly nut: NutSpec;
  readonly board: BoardSpec;
  readonly headstock: HeadstockSpec;
  readonly carve: CarveSpec;
  readonly heel: HeelSpec;
  readonly rod: RodSpec;
  readonly markers: MarkersSpec;
  readonly wood: {
    readonly shaft: string;
    readonly board: string;
    /** Laminated shaft: strips across it from the bass edge of the blank to the treble edge; absent: one piece. */
    readonly strips?: readonly {
      readonly wood: string;
      readonly width: Mm;
      readonly rings?: Rings;
      /** Of its fibres to the centreline, seen from the face: toward the treble side on the way to the bridge; absent: 0. */
      readonly grain?: Rad;
    }[];
    /** Angle of the shaft's grain to the centreline, seen from the side; absent: 0. */
    readonly grain?: Rad;
    /** How the growth rings lie in each piece; absent: not known. */
    readonly rings?: { readonly shaft?: Rings; readonly board?: Rings };
    /** Angle of the board's grain to its face along the neck; absent: 0. */
    readonly boardGrain?: Rad;
  };
  readonly blank: BlankSpec;
  readonly holding: HoldingSpec;
  readonly cutting: CuttingSpec;
  /** Rules whose stop the maker overrides, each with a reason that is printed on the sheets. */
  readonly overrides: readonly { readonly rule: string; readonly reason: string }[];
  /** What was measured of this piece at the machine and put right. */
  readonly corrections?: readonly OrderCorrection[];
  /** Multi-scale: bass and treble scale, and the fret that stands square (also between frets). `scale` is then their mean, the centreline's. */
  readonly fan?: FanSpec;
  /** Stiffening bars let in beside the rod. */
  readonly bars?: BarsSpec;
  /** How the strings stand over the frets, as it is to be set up; absent: by instrument (setup.ts). */
  readonly setup?: SetupSpec;
  /** The air where the neck is made and where it will live; absent: setup.ts. */
  readonly climate?: ClimateSpec;
}

export interface StringsSpec {
  /** 1 to 12. */
  readonly count: number;
  /** Between the centres of the outer strings. 0 for one string. */
  readonly spreadAtNut: Mm;
  readonly spreadAtBridge: Mm;
  /** Diameters bass to treble; empty when not given (then gaps are between centres). */
  readonly diameters: readonly Mm[];
  /** Equal gaps between strings (needs diameters) or equal distances between centres. */
  readonly spacing: "gaps" | "centres";
  /** Strings per course, bass to treble (pairs: 2); absent: every string on its own. Courses then stand equally far apart. */
  readonly courses?: readonly number[];
  /** Between the centres of neighbouring strings of one course; absent: 2.5. */
  readonly courseGap?: Mm;
  /** Pitches bass to treble: notes ("E2") or hertz; absent: usual ones where they are known. */
  readonly pitches?: readonly (string | number)[];
  /** Gauges bass to treble for the figures alone: they do not move the strings apart as `diameters` do. */
  readonly gauges?: readonly Mm[];
  /** Diameters of what bears the pull, bass to treble: a wound string's core, a plain string itself. */
  readonly cores?: readonly Mm[];
  /** Grams per metre, bass to treble, from the strings' maker. */
  readonly unitWeights?: readonly number[];
  /** absent: steel; on a ukulele nylon. */
  readonly material?: "steel" | "nylon";
}

export interface FretsSpec {
  readonly count: number;
  readonly tangWidth: Mm;
  readonly tangDepth: Mm;
  /** Width of the slot. */
  readonly kerf: Mm;
  /** Depth of the slot below the finished board surface. */
  readonly depth: Mm;
  /** Through both board edges, or stopping `blindMargin` short of them. */
  readonly ends: "through" | "blind";
  readonly blindMargin: Mm;
  /** frets (when absent), lines: slots for inlaid lines on a fretless board, or none: no slots at all. */
  readonly kind?: "frets" | "lines" | "none";
}

export interface NutSpec {
  /** seat: a groove across the board, wood on both sides. shelf: the board ends at the nut; the nut stands on a flat step. */
  readonly kind: "seat" | "shelf";
  /** Along x. */
  readonly width: Mm;
  /** Height of the seat's floor above the glue plane. */
  readonly floor: Mm;
  /** Board left behind the seat (seat) or length of the flat step behind the nut (shelf). */
  readonly land: Mm;
  /** Zero fret: a fret stands at x = 0 and the nut's face this far behind it. Absent: none. */
  readonly zeroFret?: Mm;
}

export interface BoardSpec {
  /** On the centreline, finished. */
  readonly thickness: Mm;
  /** Radius at the nut (x = 0) and at the board's end; Infinity is flat. Between them it varies linearly with x. */
  readonly radius: { readonly nut: Mm; readonly end: Mm };
  readonly width:
    | { readonly kind: "widths"; readonly nut: Mm; readonly end: Mm }
    | { readonly kind: "margins"; readonly bass: Mm; readonly treble: Mm };
  /** From the last fret to the board's end on the centreline. */
  readonly pastLastFret: Mm;
  /** square, or curved: an arc that bulges `bow` past the corners toward the bridge. */
  readonly end: { readonly shape: "square" | "curved"; readonly bow: Mm };
  /** How far the board reaches past the end of the shaft (no wood of the shaft under it). */
  readonly overhang: Mm;
  /** The board falls away past a fret, by `drop` at its end, on a parabola that leaves the surface smoothly. */
  readonly fallAway?: { readonly from: number; readonly drop: Mm };
  /** Relief built into the board: a hollow of `depth` midway between nut and fret `to`, a parabola along x. */
  readonly relief?: { readonly to: number; readonly depth: Mm };
  /** Binding glued to the board's edges, this thick: slots stop short of it. */
  readonly binding?: Mm;
}

export interface TunersSpec {
  /** in-line: all on `side`. split: `bass` tuners on the bass side, `treble` on the treble side. */
  readonly layout: "in-line" | "split";
  readonly side: "bass" | "treble";
  readonly bass: number;
  readonly treble: number;
  /** x distance from the nut (x = 0) to the first tuner, measured toward the tip. */
  readonly first: Mm;
  readonly pitch: Mm;
  /** split only: distance of the first and the last tuner of a row from the centreline. */
  readonly rowAtFirst: Mm;
  readonly rowAtLast: Mm;
  /** Bore for the post through the headstock, and for the bush from the face to `bushDepth`. No bush: bushDepth 0. */
  readonly post: Mm;
  readonly bush: Mm;
  readonly bushDepth: Mm;
  /** Diameter of the post where the string winds on. */
  readonly winding: Mm;
  /** Largest angle by which a string may turn aside at the nut. */
  readonly sideAngle: Rad;
  /** Least distance between tuner bodies' centres, from the hardware. */
  readonly clearance: Mm;
}

export interface HeadstockSpec {
  readonly thickness: Mm;
  /** Face below the glue plane. */
  readonly drop: Mm;
  /** Radius of the concave ramp from the face up to the board. */
  readonly rampRadius: Mm;
  /** From x = 0 toward the tip: how far the sides stay as wide as the board. */
  readonly throat: Mm;
  /** Along x: the back passes from the carve to the flat headstock back between `backFrom` (x, usually 0) and backFrom - backLength. */
  readonly backFrom: Mm;
  readonly backLength: Mm;
  /** Outline: distance from tuner centres to the edge; from the last tuner to the tip; length of the S-curve after the throat; roundness of the tip 0..1. */
  readonly edge: Mm;
  readonly tip: Mm;
  readonly blend: Mm;
  readonly roundness: number;
  readonly tuners: TunersSpec;
  /** flat (when absent): stepped down from the board. angled: the whole headstock tilts back, from one piece of wood. scarfed: the same, joined. */
  readonly kind?: "flat" | "angled" | "scarfed";
  /** Tilt of an angled or scarfed headstock; its face leaves the glue plane behind the nut. `drop` and `rampRadius` then do not count. */
  readonly angle?: Rad;
  /** Slotted: two openings along x for tuners whose rollers lie across. Width of each, wood between it and the edge, from the nut to its near end. */
  readonly slotted?: {
    readonly width: Mm;
    readonly wall: Mm;
    readonly from: Mm;
    readonly length: Mm;
    readonly rollerBore: Mm;
    readonly rollerDepth: Mm;
  };
  /** The file of the maker's own outline; `drawing` is what was read of it. */
  readonly outline?: DrawingRequest;
  /** The maker's own outline, closed, in the neck frame as drawn for a right-handed neck; replaces the family of shapes beyond the throat. */
  readonly drawing?: Contour;
}

export interface CarveStation {
  readonly at: Place;
  /** Thickness on the centreline, board included. */
  readonly thickness: Mm;
  readonly bassExponent: number;
  readonly trebleExponent: number;
  /** The oval begins this far below the glue plane; above it the sides stay upright. Absent: 0. */
  readonly shoulder?: Mm;
}

export interface CarveSpec {
  /** Two or more, in order of x. Between them monotone cubics; constant outside. */
  readonly stations: readonly CarveStation[];
  /** A volute: a swelling of the back, highest at x = `at` (negative: behind the nut), fading out over `length` to either side. */
  readonly volute?: { readonly at: Mm; readonly length: Mm; readonly height: Mm };
}

export interface HeelSpec {
  /** bolt-on: a flat block. contoured: bolt-on with its edges rounded like the carve. set: glued in with a tenon. */
  readonly kind: "bolt-on" | "contoured" | "set";
  /** From the end of the shaft to where the heel is flat. */
  readonly length: Mm;
  /** Board included. */
  readonly thickness: Mm;
  /** Along x, from the flat heel to the full carve. */
  readonly transition: Mm;
  readonly screws: {
    /** 0, 2, 3 or 4. */
    readonly count: number;
    readonly along: Mm;
    readonly across: Mm;
    /** From the end of the shaft to the nearest screw row. */
    readonly fromEnd: Mm;
    readonly bore: Mm;
    readonly depth: Mm;
  };
  /** contoured: exponent of the rounded heel's section. */
  readonly exponent?: number;
  /** set: the tenon, `length` from the shaft's end, `width` wide, down to `depth` below the glue plane (at its front). */
  readonly tenon?: { readonly length: Mm; readonly width: Mm; readonly depth: Mm };
  /** What the neck's angle follows from: height of the saddle's top over the body, action at fret 12, board's height over the body at its end. The heel's underside (or tenon) tilts by it. */
  readonly setUp?: { readonly bridgeHeight: Mm; readonly action: Mm; readonly boardAtBody: Mm };
}

export type RodSpec =
  | { readonly kind: "none" }
  | {
      readonly kind: "channel";
      /** back: cut from the back, closed with a filler strip. face: cut from the glue plane before the board goes on. */
      readonly from: "back" | "face";
      readonly width: Mm;
      /** Height of the rod itself. */
      readonly height: Mm;
      /** back: wood between the glue plane and the channel's floor. face: 0, the channel opens at the glue plane. */
      readonly roof: Mm;
      /** Depth of the channel below its opening for `face`; ignored for `back`, where the blank's back is the opening. */
      readonly depth: Mm;
      readonly from_x: Mm;
      readonly to_x: Mm;
      /** Least wood between rod and finished back. */
      readonly minimumUnder: Mm;
      readonly access: { readonly end: "head" | "heel"; readonly length: Mm; readonly width: Mm; readonly depth: Mm } | null;
      /** single: the channel's floor is curved, `sag` deeper (further from the glue plane) midway. double (when absent): flat. */
      readonly action?: "single" | "double";
      readonly sag?: Mm;
    };

export interface MarkersSpec {
  readonly face: {
    readonly frets: readonly number[];
    readonly doubleAt: readonly number[];
    readonly diameter: Mm;
    /** Depth of the recess below the finished board surface at its centre. */
    readonly depth: Mm;
    /** Between the two of a double marker, centre to centre. */
    readonly spread: Mm;
    /** Recess diameter minus marker diameter. */
    readonly fit: Mm;
  };
  readonly side: { readonly frets: readonly number[]; readonly diameter: Mm; readonly depth: Mm; readonly edge: "bass" | "treble" };
}

export interface FanSpec {
  readonly bass: Mm;
  readonly treble: Mm;
  /** Number of the fret that stands square to the centreline; 0 the nut, fractions between frets. */
  readonly square: number;
}

export interface BarsSpec {
  /** 1 (on the centreline; only without a rod) or 2 (one on each side). */
  readonly count: number;
  readonly width: Mm;
  readonly height: Mm;
  /** From the centreline to each bar's middle. */
  readonly offset: Mm;
  /** Wood between the glue plane and the bars (they are let in from the face when 0, from the back otherwise). */
  readonly roof: Mm;
  readonly from_x: Mm;
  readonly to_x: Mm;
  readonly material: "carbon" | "steel" | "hardwood";
}

export interface BlankSpec {
  /** board-glued: board already on the shaft. shaft-alone: the program stops at the glue plane. */
  readonly kind: "board-glued" | "shaft-alone";
  readonly length: Mm;
  readonly width: Mm;
  readonly shaftThickness: Mm;
  /** 0 for shaft-alone. */
  readonly boardThickness: Mm;
  /** The planed edge that rests on the fence pins. */
  readonly datumEdge: "bass" | "treble";
  /** From the blank's headstock end to the headstock's tip; null: centred. */
  readonly tipFromEnd: Mm | null;
  /** From the datum edge to the neck's centreline; null: centred. */
  readonly centreFromDatum: Mm | null;
  /** Least wood between the neck's outline and the blank's edges. */
  readonly margin: Mm;
  /** Moisture content the wood is cut at. */
  readonly moisture: number;
  /** Of the neck in the blank, about the nut's middle: from the blank's length toward its far edge; absent: along the datum edge. */
  readonly rotation?: Rad;
  /** Of a rough or tapered blank: x from the headstock end, y from the datum edge; absent: the rectangle. */
  readonly outline?: readonly BlankPoint[];
  readonly regions?: readonly BlankRegion[];
  /** How far the grain lets the neck be turned in the blank; absent: 3 degrees. */
  readonly grainTurn?: Rad;
}

/** What holds a side of the piece from below: as declared, checked against the cutting force. */
export interface PressSpec {
  readonly kind: "vacuum" | "tape";
  /** vacuum: what it draws at the piece. tape: what it bears in shear. */
  readonly kPa: number;
  /** Of the piece on its ground; of vacuum. */
  readonly friction: number;
  readonly side?: "board" | "carve";
}

export interface HoldingSpec {
  /** datum-edge: the same edge and end on both sides. waste-pins: turned, on two pins through holes that the board side bores. */
  readonly way: "datum-edge" | "waste-pins";
  readonly turn: "x" | "y";
  readonly pin: { readonly diameter: Mm; readonly height: Mm };
  readonly block: { readonly length: Mm; readonly width: Mm; readonly height: Mm; readonly grip: Mm };
  /** Screws through the waste: head diameter and height above the wood; count per side of the blank, 0 for none. */
  readonly screw: { readonly count: number; readonly head: Mm; readonly height: Mm };
  readonly supports: boolean;
  /** Held from below instead of by blocks: on one side, or on both. */
  readonly press?: PressSpec;
  /** Put elsewhere by hand: middles, x from the end stop's line, y from the datum edge; without a side: on both. */
  readonly placed?: readonly { readonly name: string; readonly side?: "board" | "carve"; readonly x?: Mm; readonly y?: Mm }[];
}

export interface CuttingSpec {
  /** Height of the cusps that finishing may leave. */
  readonly cusp: Mm;
  /** Left by roughing. */
  readonly roughLeave: Mm;
  readonly scribeDepth: Mm;
  /** Depth of the board-side outline below the headstock face. */
  readonly outlineBelowFace: Mm;
  readonly release:
    | { readonly kind: "tabs"; readonly thickness: Mm; readonly width: Mm }
    | { readonly kind: "skin"; readonly thickness: Mm };
  /** How far tuner bores go past the finished headstock back into the waste. */
  readonly breakThrough: Mm;
  /** The maker's hand on the order of work. Absent: the default plan, straight through. */
  readonly work?: {
    /** straight: side by side, straight through. rest: both sides roughed, the wood rests, the datum is made anew, then finishing. */
    readonly plan?: "straight" | "rest";
    /** Ids of cuts to leave out. */
    readonly drop?: readonly string[];
    /** Cuts to move just before others of their side. */
    readonly before?: readonly { readonly cut: string; readonly before: string }[];
    /** Cuts to run a second time, after themselves. */
    readonly again?: readonly string[];
  };
}
