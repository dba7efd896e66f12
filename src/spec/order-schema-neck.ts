import * as z from "zod";
import { length, none, pitch, place, ratio, whole, word } from "./fields.ts";
import type { OrderFile } from "./order-file.ts";
import type { CarveStation } from "./types.ts";

/* The keys of an order that say what the neck is. Titles, units and reasons here are what editors and docs/order.md show. */

const fretList = (title: string, description: string): z.ZodType<readonly number[]> =>
  z
    .array(whole(1, 60, "Fret", "A fret by its number."))
    .max(60)
    .meta({ title, description }) as never;

export const scale: z.ZodType<NonNullable<OrderFile["scale"]>> = z
  .union([
    length(100, 1500, "Scale length", "Nut to bridge along the centreline."),
    z.strictObject({
      bass: length(100, 1500, "Bass scale", "Of the outermost string on the bass side."),
      treble: length(100, 1500, "Treble scale", "Of the outermost string on the treble side."),
      square: ratio(0, 36, "Square fret", "The fret that stands square to the centreline: 0 the nut, fractions between frets."),
    }),
  ])
  .meta({ title: "Scale length", description: "One length, or one for each side of a multi-scale neck.", unit: "mm" }) as never;

export const strings: z.ZodType<NonNullable<OrderFile["strings"]>> = z
  .strictObject({
    count: whole(1, 12, "Number of strings", "One tuner each.").optional(),
    spreadAtNut: length(0, 150, "Spread at the nut", "Between the centres of the outer strings, at the nut. 0 for one string.")
      .meta({
        derived: "guitar 35.5 (6 strings), bass 33 (4), ukulele 29 (4); other numbers of strings keep the distance between neighbours",
      })
      .optional(),
    spreadAtBridge: length(
      0,
      250,
      "Spread at the bridge",
      "Between the centres of the outer strings, at the bridge: it sets how the strings fan out and with them the margins along the board.",
    )
      .meta({
        derived: "guitar 52.5 (6 strings), bass 57 (4), ukulele 42 (4); other numbers of strings keep the distance between neighbours",
      })
      .optional(),
    diameters: z
      .array(length(0.1, 6, "String diameter", "One string."))
      .max(12)
      .meta({ title: "String diameters", description: "Bass to treble, one per string; needed for equal gaps. Empty: not known." })
      .optional(),
    courses: z
      .array(whole(1, 4, "Strings in a course", "1 alone, 2 a pair."))
      .min(1)
      .max(12)
      .meta({
        title: "Courses",
        derived: "single strings",
        description: "Strings per course, bass to treble, for pairs; together they make the number of strings. Left out: single strings.",
      })
      .optional(),
    courseGap: length(1, 8, "Course gap", "Between the centres of neighbouring strings of one course.").meta({ derived: "2.5" }).optional(),
    pitches: z
      .array(pitch("Pitch", 'A note like "E2", or hertz.'))
      .max(12)
      .meta({
        title: "Pitches",
        description: "Bass to treble, one per string: for tension, relief and intonation.",
        derived: "usual tunings of a 6- or 7-string guitar, a 4- or 5-string bass, a 4-string ukulele; others: not known",
      })
      .optional(),
    gauges: z
      .array(length(0.1, 6, "Gauge", "One string."))
      .max(12)
      .meta({
        title: "Gauges",
        description: "Diameters bass to treble for the figures alone; unlike diameters they leave the spacing of the strings as it is.",
        derived: "the diameters if given, else a usual set of the instrument",
      })
      .optional(),
    cores: z
      .array(length(0.1, 6, "Core", "A wound string's core, a plain string's diameter."))
      .max(12)
      .meta({
        title: "Cores",
        description: "Bass to treble, what bears the pull in each string.",
        derived: "0.4 of a wound string, the whole of a plain one",
      })
      .optional(),
    unitWeights: z
      .array(ratio(0.02, 60, "Unit weight", "One string.", "g/m"))
      .max(12)
      .meta({
        title: "Unit weights",
        description: "Grams per metre, bass to treble, from the strings' maker: goes before what is worked out from diameters.",
        derived: "plain: from the density; wound: estimated",
      })
      .optional(),
    material: word(["steel", "nylon"], "Material", "Of plain strings and cores.").meta({ derived: "steel; on a ukulele nylon" }).optional(),
    spacing: word(
      ["gaps", "centres"],
      "Spacing",
      "Equal gaps between the strings feel even under the hand; equal distances between centres are simpler to mark out.",
    )
      .meta({ derived: "gaps if diameters are given, else centres" })
      .optional(),
  })
  .meta({ title: "Strings", description: "How many, and how they lie." });

export const frets: z.ZodType<NonNullable<OrderFile["frets"]>> = z
  .strictObject({
    count: whole(1, 60, "Number of frets", "On the board.").optional(),
    tangWidth: length(0.2, 1.5, "Tang width", "Of the fret wire; measure yours.").optional(),
    tangDepth: length(0.5, 4, "Tang depth", "Of the fret wire; measure yours.").optional(),
    kerf: length(
      0.1,
      1.5,
      "Slot width",
      "As wide as the tang or a little narrower, by the wood's hardness; one slot cutter of this diameter cuts it in one line.",
    )
      .meta({ derived: "the tang width less 0.03 mm; on a ukulele the tang width" })
      .optional(),
    depth: length(
      0.5,
      5,
      "Slot depth",
      "Below the finished board surface, everywhere along the slot: deeper than the tang so that the fret seats.",
    )
      .meta({ derived: "the tang depth and 0.4 mm" })
      .optional(),
    ends: word(
      ["through", "blind"],
      "Slot ends",
      "Through both edges of the board, or stopping short of them so that no slot shows at the edge.",
    ).optional(),
    blindMargin: length(0.5, 10, "Blind margin", "How far blind slots stop short of the board's edges.").optional(),
    kind: word(["frets", "lines", "none"], "Kind", "frets; lines: slots for inlaid lines on a fretless board; none: no slots.")
      .meta({ derived: "frets" })
      .optional(),
  })
  .meta({ title: "Frets", description: "Fret n stands at scale x (1 - 2^(-n/12)) from the nut." });

export const nut: z.ZodType<NonNullable<OrderFile["nut"]>> = z
  .strictObject({
    kind: word(
      ["seat", "shelf"],
      "Kind of nut seat",
      "seat: a groove across the board with wood on both sides. shelf: the board ends at the nut, which stands on a flat step.",
    ).optional(),
    width: length(1, 20, "Nut width", "Along the neck.").optional(),
    floor: length(-10, 15, "Seat floor", "Height of the seat's floor above the glue plane between board and shaft.").optional(),
    land: length(0, 30, "Land", "Board left behind a nut in a seat, or the length of the step behind a nut on a shelf.").optional(),
    zeroFret: length(
      0.5,
      20,
      "Zero fret",
      "A fret stands where the scale starts, and the nut's face this far behind it. Left out: no zero fret.",
    )
      .meta({ derived: "none" })
      .optional(),
  })
  .meta({ title: "Nut", description: "Its board-side edge is where the scale starts." });

const radius = z
  .union([
    z.literal("flat").transform(() => ({ nut: Number.POSITIVE_INFINITY, end: Number.POSITIVE_INFINITY })),
    length(50, 5000, "Radius", "The same all along.").transform((r) => ({ nut: r, end: r })),
    z.strictObject({
      nut: length(50, 5000, "Radius at the nut", "Where the scale starts."),
      end: length(50, 5000, "Radius at the board's end", "Between the two it changes evenly along the board."),
    }),
  ])
  .meta({ title: "Board radius", description: 'The arc across the board: "flat", one radius, or one at the nut and one at the end.' });

const boardWidth = z
  .union([
    z
      .strictObject({
        nut: length(5, 200, "Width at the nut", "Edge to edge."),
        end: length(5, 250, "Width at the board's end", "Edge to edge."),
      })
      .transform((w) => ({ kind: "widths" as const, ...w })),
    z
      .strictObject({
        margin: z
          .union([
            length(0.5, 30, "Margin", "From the outer strings' centres to the board's edges, the same on both sides.").transform((m) => ({
              bass: m,
              treble: m,
            })),
            z.strictObject({
              bass: length(0.5, 30, "Bass margin", "From the bass string's centre to the board's edge."),
              treble: length(0.5, 30, "Treble margin", "From the treble string's centre to the board's edge."),
            }),
          ])
          .meta({ title: "Margin", description: "From the outer strings' centres to the board's edges: one, or one for each side." }),
      })
      .transform((w) => ({ kind: "margins" as const, ...w.margin })),
  ])
  .meta({ title: "Board width", description: "Two widths, or a margin outside the outer strings." });

export const board: z.ZodType<NonNullable<OrderFile["board"]>> = z
  .strictObject({
    thickness: length(1, 20, "Board thickness", "Finished, on the centreline.").optional(),
    radius: radius.optional(),
    width: boardWidth.optional(),
    pastLastFret: length(0, 100, "Past the last fret", "From the last fret to the board's end on the centreline.").optional(),
    end: z
      .union([
        z.literal("square").transform(() => ({ shape: "square" as const, bow: 0 })),
        z
          .strictObject({ bow: length(0.1, 50, "Bow", "How far the arc bulges past the corners, toward the bridge.") })
          .transform((e) => ({ shape: "curved" as const, bow: e.bow })),
      ])
      .meta({ title: "Board end", description: '"square", or an arc that bulges.' })
      .optional(),
    overhang: length(0, 100, "Overhang", "How far the board reaches past the end of the shaft.").optional(),
    fallAway: z
      .strictObject({
        from: whole(1, 60, "From fret", "Past this fret the board falls away."),
        drop: length(0.05, 3, "Drop", "At the board's end."),
      })
      .meta({ title: "Fall-away", description: "A board that falls away past the body's joint, on a parabola." })
      .optional(),
    relief: z
      .strictObject({ to: whole(1, 60, "To fret", "From the nut to this fret."), depth: length(0.02, 1, "Depth", "Midway.") })
      .meta({ title: "Built-in relief", description: "A hollow cut into the board along x, a parabola." })
      .optional(),
    binding: length(0.3, 6, "Binding", "Thickness of a binding along the edges: slots stop short of it. Left out: none.")
      .meta({ derived: "none" })
      .optional(),
  })
  .meta({ title: "Board", description: "The fretboard, glued on the shaft." });

const EXPONENT = "2 is half an oval; larger is fuller in the hand, smaller is more pointed.";
const station = z
  .strictObject({
    at: place("Place", "Where along the neck."),
    thickness: length(5, 60, "Thickness", "On the centreline, board included."),
    exponent: z
      .union([
        ratio(1.2, 8, "Exponent", EXPONENT).transform((p) => ({ bass: p, treble: p })),
        z.strictObject({ bass: ratio(1.2, 8, "Bass exponent", EXPONENT), treble: ratio(1.2, 8, "Treble exponent", EXPONENT) }),
      ])
      .meta({
        derived: "2",
        title: "Exponent",
        description: `Fullness of the section. ${EXPONENT} The same on both sides or one for each.`,
      })
      .optional(),
    shoulder: length(0, 20, "Shoulder", "How far below the glue plane the oval begins; above it the sides stay upright.")
      .meta({ derived: "0" })
      .optional(),
  })
  .transform(
    (s): CarveStation => ({
      at: s.at,
      thickness: s.thickness,
      bassExponent: s.exponent?.bass ?? 2,
      trebleExponent: s.exponent?.treble ?? 2,
      ...(s.shoulder ? { shoulder: s.shoulder } : {}),
    }),
  )
  .meta({ title: "Station", description: "One section of the carve." });

export const carve: z.ZodType<NonNullable<OrderFile["carve"]>> = z
  .strictObject({
    stations: z
      .array(station)
      .min(2)
      .max(12)
      .meta({
        title: "Stations",
        description: "Two or more, nut to bridge; between them thickness and exponents pass smoothly.",
        derived: "fret 1 and fret 12: guitar 21 and 23, bass 21.5 and 24, ukulele 15.5 and 17.5 mm",
      })
      .optional(),
    volute: z
      .strictObject({
        at: length(-100, 100, "Place", "Where it is highest; behind the nut is negative."),
        length: length(3, 80, "Length", "Over which it fades out to either side."),
        height: length(0.2, 10, "Height", "At its highest."),
      })
      .meta({ title: "Volute", description: "A swelling of the back behind the nut that stiffens the headstock's root." })
      .optional(),
  })
  .meta({ title: "Carve", description: "The feel of the back." });

const screws = z.union([
  none("no screws"),
  z.strictObject({
    count: whole(0, 4, "Number of screws", "0, 2 (on the centreline), 3 (two toward the body's end) or 4.").optional(),
    along: length(0, 200, "Along", "Between the screw rows, along the neck.").optional(),
    across: length(0, 200, "Across", "Between the screws of a row.").optional(),
    fromEnd: length(3, 150, "From the end", "From the end of the shaft to the nearest row.").optional(),
    bore: length(1, 15, "Bore", "Pilot for wood screws, more for inserts.").optional(),
    depth: length(2, 60, "Depth", "From the heel's underside.").optional(),
  }),
]);

export const heel: z.ZodType<NonNullable<OrderFile["heel"]>> = z
  .strictObject({
    length: length(5, 250, "Heel length", "From the end of the shaft to where the heel is flat.").optional(),
    thickness: length(5, 80, "Heel thickness", "Board included.").optional(),
    transition: length(3, 150, "Transition", "Along the neck, from the flat heel to the full carve.").optional(),
    screws: screws.meta({ title: "Screws", description: "Bores in the heel's underside." }).optional(),
    kind: word(
      ["bolt-on", "contoured", "set"],
      "Kind of heel",
      "bolt-on: a flat block. contoured: bolted, with its edges rounded like the carve. set: glued in with a tenon.",
    ).optional(),
    exponent: ratio(2, 20, "Heel exponent", "contoured: fullness of the rounded heel's section.").meta({ derived: "6" }).optional(),
    tenon: z
      .strictObject({
        length: length(10, 200, "Tenon length", "From the end of the shaft."),
        width: length(10, 120, "Tenon width", "Across the neck."),
        depth: length(5, 60, "Tenon depth", "Below the glue plane, at its front."),
      })
      .meta({ title: "Tenon", description: "Of a set neck." })
      .optional(),
    setUp: z
      .strictObject({
        bridgeHeight: length(0, 60, "Bridge height", "Top of the saddle over the body."),
        action: length(0.2, 8, "Action", "Of the strings over fret 12."),
        boardAtBody: length(-5, 40, "Board at the body", "The board's plane over the body at the board's end."),
      })
      .meta({ title: "Set-up", description: "What the angle between neck and body follows from." })
      .optional(),
  })
  .meta({ title: "Heel", description: "Bolted to the body, or glued in." });

export const markers: z.ZodType<NonNullable<OrderFile["markers"]>> = z
  .strictObject({
    face: z
      .union([
        none("no face markers"),
        z.strictObject({
          frets: fretList("Frets", "Marked on the face.")
            .meta({ derived: "3 5 7 9 12 15 17 19 21 24 as far as the order has them; on a ukulele 3 5 7 10 12 15" })
            .optional(),
          doubleAt: fretList("Double", "Frets of that list with two markers.")
            .meta({ derived: "12 and 24 where they are marked" })
            .optional(),
          diameter: length(1, 20, "Diameter", "Of the marker.").optional(),
          depth: length(0.3, 10, "Depth", "Of the recess, below the finished board surface at its centre.").optional(),
          spread: length(2, 100, "Spread", "Between the two of a double marker, centre to centre.").optional(),
          fit: length(0, 0.5, "Fit", "Recess diameter minus marker diameter.").optional(),
        }),
      ])
      .meta({ title: "Face markers", description: "Glued into round recesses between the frets; the board radius levels them." })
      .optional(),
    side: z
      .union([
        none("no side markers"),
        z.strictObject({
          frets: fretList("Frets", "Marked on the board's edge.")
            .meta({ derived: "3 5 7 9 12 15 17 19 21 24 as far as the order has them; on a ukulele 3 5 7 10 12 15" })
            .optional(),
          diameter: length(0.5, 6, "Diameter", "Of the bore.").optional(),
          depth: length(0.5, 10, "Depth", "Of the bore.").optional(),
          edge: word(["bass", "treble"], "Edge", "The one the player sees.").optional(),
        }),
      ])
      .meta({ title: "Side markers", description: "Bored by hand; their places go on the drawing." })
      .optional(),
  })
  .meta({ title: "Markers", description: "Position markers." });
