import * as z from "zod";
import type { Mm, Rad } from "../units/index.ts";
import { angle, length, ratio, text, whole, word } from "./fields.ts";

/*
 * What was measured at the machine and put right, in the order (this piece) and in the shop (this machine). Each entry says when and
 * why; the last of a kind counts, or all together where they add up. An entry that was undone stays, with the day it was undone.
 */

interface Entry {
  /** ISO 8601, a day. */
  readonly date: string;
  readonly reason: string;
  readonly undone?: string | undefined;
}

/** Of one piece. */
export type OrderCorrection = Entry &
  (
    | { readonly kind: "placement"; readonly tipFromEnd: Mm; readonly centreFromDatum: Mm; readonly rotation: Rad }
    /** Where the carve side came out against the board side, in its program's frame: what both sides cut stands this far apart. */
    /** Turned by `angle` about that program's zero (from +x toward +y), then shifted by x and y. */
    | { readonly kind: "turn"; readonly x: Mm; readonly y: Mm; readonly angle?: Rad | undefined }
    /** How much too high (positive: wood left) a side came out. */
    | { readonly kind: "height"; readonly side: "board" | "carve"; readonly by: Mm }
    | { readonly kind: "blank"; readonly shaftThickness?: Mm | undefined; readonly boardThickness?: Mm | undefined }
  );

/** Of the machine and its cutters. */
export type ShopCorrection = Entry &
  /** True way per programmed way along each axis; how far the y axis leans toward +x. */
  (
    | { readonly kind: "axes"; readonly x: number; readonly y: number; readonly z: number; readonly square: Rad }
    /** The width a cutter really cuts; `runOut` is what of it comes from running out of true. */
    | { readonly kind: "cutter"; readonly number: number; readonly diameter: Mm; readonly runOut?: Mm | undefined }
  );

const day = (title: string, description: string): z.ZodType<string> => text(10, /^\d{4}-\d\d-\d\d$/, title, description);
const entry = {
  date: day("Date", "When it was measured, as 2026-03-31."),
  reason: text(300, null, "Reason", "What was measured; printed on the sheets."),
  undone: day("Undone", "Since this day the entry no longer counts.").meta({ derived: "it counts" }).optional(),
};

export const orderCorrections: z.ZodType<readonly OrderCorrection[]> = z
  .array(
    z.union([
      z
        .strictObject({
          kind: word(["placement"], "Kind", "Where the neck lies in the blank."),
          ...entry,
          tipFromEnd: length(0, 1000, "Tip from the end", "Headstock end of the blank to the headstock's tip, along the blank."),
          centreFromDatum: length(0, 500, "Centreline from the datum", "Datum edge to the centreline at the nut."),
          rotation: angle(-10, 10, "Rotation", "Of the neck in the blank; positive from the blank's length toward the far edge."),
        })
        .meta({ title: "Placement", description: "After the scribe: the neck lies elsewhere." }),
      z
        .strictObject({
          kind: word(["turn"], "Kind", "A step between the sides."),
          ...entry,
          x: length(-5, 5, "x", "How far the carve side came out from the board side, in the carve program's frame."),
          y: length(-5, 5, "y", "The same in y."),
          angle: angle(-2, 2, "Angle", "How far it came out turned about the carve program's zero, from +x toward +y.")
            .meta({ derived: "not turned" })
            .optional(),
        })
        .meta({ title: "Turn", description: "After turning: the piece lies elsewhere than planned." }),
      z
        .strictObject({
          kind: word(["height"], "Kind", "A thickness that came out otherwise."),
          ...entry,
          side: word(["board", "carve"], "Side", "The side whose zero is put right."),
          by: length(-5, 5, "By", "How much too high it came out; negative: too deep."),
        })
        .meta({ title: "Height", description: "After a first pass: wood left, or too much gone." }),
      z
        .strictObject({
          kind: word(["blank"], "Kind", "A blank of another thickness than ordered."),
          ...entry,
          shaftThickness: length(5, 100, "Shaft thickness", "As measured.").meta({ derived: "as ordered" }).optional(),
          boardThickness: length(0, 25, "Board thickness", "As measured.").meta({ derived: "as ordered" }).optional(),
        })
        .meta({ title: "Blank", description: "The blank as it was measured." }),
    ]),
  )
  .max(200)
  .meta({
    title: "Corrections",
    description: "What was measured of this piece and put right, in order; written by the command.",
    derived: "none",
  });

const scale = (axis: string): z.ZodType<number> => ratio(0.95, 1.05, `Scale ${axis}`, "True way per programmed way.");

export const shopCorrections: z.ZodType<readonly ShopCorrection[]> = z
  .array(
    z.union([
      z
        .strictObject({
          kind: word(["axes"], "Kind", "Scale and squareness of the axes."),
          ...entry,
          x: scale("x"),
          y: scale("y"),
          z: scale("z"),
          square: angle(-2, 2, "Squareness", "How far the y axis leans toward +x."),
        })
        .meta({ title: "Axes", description: "From a scribed test pattern." }),
      z
        .strictObject({
          kind: word(["cutter"], "Kind", "The width a cutter really cuts."),
          ...entry,
          number: whole(1, 999, "Number", "Of the cutter."),
          diameter: length(0.1, 80, "Diameter", "As it cuts."),
          runOut: length(0, 1, "Run-out", "What of it comes from running out of true.").meta({ derived: "not measured" }).optional(),
        })
        .meta({ title: "Cutter", description: "From a test slot." }),
    ]),
  )
  .max(200)
  .meta({
    title: "Corrections",
    description: "What was measured of the machine and put right, in order; written by the command.",
    derived: "none",
  });

/** Entries that count. */
export const inForce = <T extends { readonly undone?: string | undefined }>(entries: readonly T[] | undefined): T[] =>
  (entries ?? []).filter((e) => e.undone === undefined);

/** The last entry of a kind that counts. */
export function lastOf<T extends { readonly kind: string; readonly undone?: string | undefined }, K extends T["kind"]>(
  entries: readonly T[] | undefined,
  kind: K,
): Extract<T, { kind: K }> | undefined {
  return inForce(entries).findLast((e): e is Extract<T, { kind: K }> => e.kind === kind);
}

export interface BlankPoint {
  readonly x: Mm;
  readonly y: Mm;
}

/** A part of the blank to keep out of, or figure that a part of the neck shall show. */
export interface BlankRegion {
  readonly kind: "knot" | "pith" | "sapwood" | "check" | "figure";
  readonly points: readonly BlankPoint[];
  /** Parts of the neck it concerns; absent: all of it. */
  readonly parts?: readonly ("headstock" | "shaft")[] | undefined;
}

const point = z.strictObject({
  x: length(-100, 5000, "x", "Along the datum edge from the headstock end."),
  y: length(-100, 2000, "y", "From the datum edge."),
});

export const blankOutline: z.ZodType<readonly BlankPoint[]> = z.array(point).min(3).max(200).meta({
  title: "Outline",
  description: "Of a rough or tapered blank, corner by corner; its datum edge on y = 0, its headstock end on x = 0.",
  derived: "the rectangle of length and width",
});

export const blankRegions: z.ZodType<readonly BlankRegion[]> = z
  .array(
    z.strictObject({
      kind: word(["knot", "pith", "sapwood", "check", "figure"], "Kind", "figure: to be kept in; all others: to be kept out of."),
      points: z.array(point).min(3).max(200).meta({ title: "Points", description: "Its corners, around." }),
      parts: z
        .array(word(["headstock", "shaft"], "Part", "Of the neck."))
        .min(1)
        .max(2)
        .meta({ title: "Parts", description: "Parts of the neck it concerns.", derived: "all of it" })
        .optional(),
    }),
  )
  .max(50)
  .meta({ title: "Regions", description: "Knots, pith, sapwood and checks to keep out of, figure to keep in." });
