import * as z from "zod";
import { angle, flag, length, none, place, ratio, text, whole, word } from "./fields.ts";
import type {
  BlankSpec,
  BoardSpec,
  CarveStation,
  CuttingSpec,
  FretsSpec,
  HeadstockSpec,
  HeelSpec,
  HoldingSpec,
  MarkersSpec,
  NutSpec,
  OrderSpec,
  Place,
  RodSpec,
  StringsSpec,
  TunersSpec,
} from "./types.ts";

/*
 * The order file, order/1: what a person may write. Lengths come out in mm, angles in radians; what is left out stays out
 * and is filled in by order-defaults.ts. Titles, units and reasons here are what editors and docs/order.md show.
 */

export type Some<T> = { readonly [K in keyof T]?: T[K] | undefined };
type Channel = Extract<RodSpec, { kind: "channel" }>;

export type GivenTuners = Some<Omit<TunersSpec, "bush">> & { readonly bush?: "none" | number | undefined };

/** A rod channel as written: ends as places, everything else optional. */
export type GivenRod =
  | "none"
  | (Some<Omit<Channel, "kind" | "from" | "from_x" | "to_x" | "access">> & {
      readonly cutFrom?: "back" | "face" | undefined;
      readonly from?: Place | undefined;
      readonly to?: Place | undefined;
      readonly access?: "none" | NonNullable<Channel["access"]> | undefined;
    });

export interface OrderFile {
  readonly $schema?: string | undefined;
  readonly neckwright: "order/1";
  readonly name: string;
  readonly title?: string | undefined;
  readonly instrument: OrderSpec["instrument"];
  readonly hand?: OrderSpec["hand"] | undefined;
  readonly scale?: number | undefined;
  readonly strings?: Some<StringsSpec> | undefined;
  readonly frets?: Some<FretsSpec> | undefined;
  readonly nut?: Some<NutSpec> | undefined;
  readonly board?: Some<BoardSpec> | undefined;
  readonly headstock?: (Some<Omit<HeadstockSpec, "tuners">> & { readonly tuners?: GivenTuners | undefined }) | undefined;
  readonly carve?: { readonly stations: readonly CarveStation[] } | undefined;
  readonly heel?:
    | (Some<Omit<HeelSpec, "kind" | "screws">> & { readonly screws?: "none" | Some<HeelSpec["screws"]> | undefined })
    | undefined;
  readonly rod?: GivenRod | undefined;
  readonly markers?:
    | { readonly face?: "none" | Some<MarkersSpec["face"]> | undefined; readonly side?: "none" | Some<MarkersSpec["side"]> | undefined }
    | undefined;
  readonly wood?: Some<OrderSpec["wood"]> | undefined;
  readonly blank?:
    | (Some<Omit<BlankSpec, "tipFromEnd" | "centreFromDatum">> & {
        readonly tipFromEnd?: "centred" | number | undefined;
        readonly centreFromDatum?: "centred" | number | undefined;
      })
    | undefined;
  readonly holding?:
    | Some<{
        way: "datum-edge";
        turn: "x" | "y";
        pin: Some<HoldingSpec["pin"]>;
        block: Some<HoldingSpec["block"]>;
        screw: Some<HoldingSpec["screw"]>;
        supports: boolean;
      }>
    | undefined;
  readonly cutting?:
    | (Some<Omit<CuttingSpec, "release">> & {
        readonly release?: Some<{ kind: "tabs" | "skin"; thickness: number; width: number }> | undefined;
      })
    | undefined;
  readonly overrides?: OrderSpec["overrides"] | undefined;
}

const NAME = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;

const fretList = (title: string, description: string): z.ZodType<readonly number[]> =>
  z
    .array(whole(1, 60, "Fret", "A fret by its number."))
    .max(60)
    .meta({ title, description }) as never;

const strings = z
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
    spacing: word(
      ["gaps", "centres"],
      "Spacing",
      "Equal gaps between the strings feel even under the hand; equal distances between centres are simpler to mark out.",
    )
      .meta({ derived: "gaps if diameters are given, else centres" })
      .optional(),
  })
  .meta({ title: "Strings", description: "How many, and how they lie." });

const frets = z
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
  })
  .meta({ title: "Frets", description: "Fret n stands at scale x (1 - 2^(-n/12)) from the nut." });

const nut = z
  .strictObject({
    kind: word(
      ["seat", "shelf"],
      "Kind of nut seat",
      "seat: a groove across the board with wood on both sides. shelf: the board ends at the nut, which stands on a flat step.",
    ).optional(),
    width: length(1, 20, "Nut width", "Along the neck.").optional(),
    floor: length(-10, 15, "Seat floor", "Height of the seat's floor above the glue plane between board and shaft.").optional(),
    land: length(0, 30, "Land", "Board left behind a nut in a seat, or the length of the step behind a nut on a shelf.").optional(),
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

const board = z
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
  })
  .meta({ title: "Board", description: "The fretboard, glued on the shaft." });

const tuners = z
  .strictObject({
    layout: word(["in-line", "split"], "Layout", "All tuners on one side, or some on each.").optional(),
    side: word(["bass", "treble"], "Side", "Of tuners in line.").optional(),
    bass: whole(0, 12, "Tuners on the bass side", "For split tuners; bass and treble make the number of strings.")
      .meta({ derived: "half the strings, the odd one here; all or none when in line" })
      .optional(),
    treble: whole(0, 12, "Tuners on the treble side", "For split tuners.").meta({ derived: "the rest of the strings" }).optional(),
    first: length(5, 200, "First tuner", "From the nut toward the tip.").optional(),
    pitch: length(5, 100, "Pitch", "From tuner to tuner along the neck; the bodies need it.").optional(),
    rowAtFirst: length(2, 100, "Row at the first tuner", "Split tuners: distance of the first tuner from the centreline.").optional(),
    rowAtLast: length(2, 100, "Row at the last tuner", "Split tuners: distance of the last tuner from the centreline.").optional(),
    post: length(2, 30, "Post bore", "Through the headstock.").optional(),
    bush: z
      .union([none("no bush"), length(2, 40, "Bush bore", "From the face down to the bush depth.")])
      .meta({ title: "Bush bore", description: 'Wider than the post, from the face; "none" without a bush.' })
      .optional(),
    bushDepth: length(0.5, 30, "Bush depth", "How deep the bush goes from the face.").optional(),
    winding: length(1, 30, "Winding diameter", "Of the post where the string winds on; strings touch it there.").optional(),
    sideAngle: angle(
      0,
      30,
      "Side angle",
      "Most by which a string may turn aside at the nut: more, and it sticks there when tuned.",
    ).optional(),
    clearance: length(5, 80, "Clearance", "Least distance between two tuners' centres, from the hardware.").optional(),
  })
  .meta({ title: "Tuners", description: "Where they stand and what bores they need." });

const headstock = z
  .strictObject({
    thickness: length(5, 30, "Headstock thickness", "What the tuners can clamp.").optional(),
    drop: length(0, 30, "Drop", "Headstock face below the glue plane.").optional(),
    rampRadius: length(2, 200, "Ramp radius", "Of the concave ramp from the face up to the board.").optional(),
    throat: length(0, 150, "Throat", "From the nut toward the tip: how far the sides stay as wide as the board.").optional(),
    backFrom: length(
      -50,
      100,
      "Back from",
      "Place along the neck (bridge positive) where the back begins to pass from the carve to the headstock's flat back.",
    ).optional(),
    backLength: length(5, 200, "Back length", "Length of that passage, toward the tip.").optional(),
    edge: length(3, 80, "Edge", "From tuner centres to the headstock's edge.").optional(),
    tip: length(3, 100, "Tip", "From the last tuner to the tip.").optional(),
    blend: length(1, 150, "Blend", "Length of the S-curve after the throat.").optional(),
    roundness: ratio(0, 1, "Roundness", "Of the tip, 0 (blunt) to 1 (round).").optional(),
    tuners: tuners.optional(),
  })
  .meta({ title: "Headstock", description: "Flat, stepped down from the board by a ramp." });

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
  })
  .transform(
    (s): CarveStation => ({
      at: s.at,
      thickness: s.thickness,
      bassExponent: s.exponent?.bass ?? 2,
      trebleExponent: s.exponent?.treble ?? 2,
    }),
  )
  .meta({ title: "Station", description: "One section of the carve." });

const carve = z
  .strictObject({
    stations: z.array(station).min(2).max(12).meta({
      title: "Stations",
      description: "Two or more, nut to bridge; between them thickness and exponents pass smoothly.",
      derived: "fret 1 and fret 12: guitar 21 and 23, bass 21.5 and 24, ukulele 15.5 and 17.5 mm",
    }),
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

const heel = z
  .strictObject({
    length: length(5, 250, "Heel length", "From the end of the shaft to where the heel is flat.").optional(),
    thickness: length(5, 80, "Heel thickness", "Board included.").optional(),
    transition: length(3, 150, "Transition", "Along the neck, from the flat heel to the full carve.").optional(),
    screws: screws.meta({ title: "Screws", description: "Bores in the heel's underside." }).optional(),
  })
  .meta({ title: "Heel", description: "Bolted to the body." });

const rod = z
  .union([
    none("no rod, no channel"),
    z.strictObject({
      cutFrom: word(
        ["back", "face"],
        "Cut from",
        "back: from the carve side, closed with a filler strip. face: from the glue plane, before the board goes on (shaft-alone blanks).",
      ).optional(),
      width: length(2, 30, "Channel width", "The rod's own width plus its fit.").optional(),
      height: length(2, 40, "Rod height", "Of the rod itself.").meta({ derived: "9; on a ukulele, whose default is no rod, 6" }).optional(),
      roof: length(
        0,
        20,
        "Roof",
        "Cut from the back: wood between the glue plane and the channel's floor. Must be 0 when cut from the face.",
      )
        .meta({ derived: "1.5 from the back, 0 from the face" })
        .optional(),
      depth: length(
        2,
        40,
        "Channel depth",
        "Cut from the face: below the glue plane. Ignored from the back, where the blank's back is the opening.",
      )
        .meta({ derived: "the height of the rod" })
        .optional(),
      from: place("From", "Where the channel begins (headstock end).").meta({ derived: "8 mm from the nut" }).optional(),
      to: place("To", "Where it ends (heel end).").meta({ derived: "20 mm before the end of the shaft (bass: 22)" }).optional(),
      minimumUnder: length(
        0.5,
        20,
        "Least wood under the rod",
        "Between the rod and the finished back: thinner wood cracks when the rod is tightened.",
      ).optional(),
      access: z
        .union([
          none("no pocket"),
          z.strictObject({
            end: word(["head", "heel"], "End", "Which end of the channel the rod is adjusted from."),
            length: length(2, 100, "Pocket length", "Along the neck."),
            width: length(2, 40, "Pocket width", "Across the neck."),
            depth: length(1, 40, "Pocket depth", "Cut from the face: below the glue plane."),
          }),
        ])
        .meta({ title: "Access pocket", description: "Room for the nut of the rod and the key." })
        .optional(),
    }),
  ])
  .meta({ title: "Rod", description: '"none", or the channel for a truss rod or a stiffening bar.' });

const markers = z
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

const blank = z
  .strictObject({
    kind: word(
      ["board-glued", "shaft-alone"],
      "Kind of blank",
      "board-glued: the board is already on the shaft. shaft-alone: the programs stop at the glue plane.",
    ).optional(),
    length: length(50, 4000, "Blank length", "Along the neck.")
      .meta({ derived: "the neck and 80 mm for blocks at its ends, rounded up to 5" })
      .optional(),
    width: length(20, 500, "Blank width", "Across the neck.")
      .meta({ derived: "the neck's widest place and 26 mm on either side for the outline's channel and a frame, rounded up to 2" })
      .optional(),
    shaftThickness: length(5, 100, "Shaft thickness", "Of the blank below the glue plane.")
      .meta({ derived: "the depth of heel, headstock and carve and 0.6 mm, rounded up to 0.5" })
      .optional(),
    boardThickness: length(
      0,
      25,
      "Board thickness",
      "Of the blank above the glue plane: a little more than the finished board. 0 for a shaft alone.",
    )
      .meta({ derived: "the finished board and 0.3 mm; 0 for a shaft alone" })
      .optional(),
    datumEdge: word(["bass", "treble"], "Datum edge", "The planed edge that rests on the fence pins.").optional(),
    tipFromEnd: z
      .union([z.literal("centred"), length(0, 1000, "Tip from the end", "A length.")])
      .meta({ title: "Tip from the end", description: 'From the blank\'s headstock end to the tip of the headstock, or "centred".' })
      .optional(),
    centreFromDatum: z
      .union([z.literal("centred"), length(0, 500, "Centreline from the datum", "A length.")])
      .meta({ title: "Centreline from the datum", description: 'From the datum edge to the neck\'s centreline, or "centred".' })
      .optional(),
    margin: length(0, 100, "Margin", "Least wood between the neck's outline and the blank's edges.").optional(),
    moisture: ratio(0, 30, "Moisture", "Moisture content the wood is cut at.", "%").optional(),
  })
  .meta({ title: "Blank", description: "The timber the neck is cut from." });

const holding = z
  .strictObject({
    way: word(["datum-edge"], "Way of holding", "A planed edge against two fence pins, with an end stop.").optional(),
    turn: word(["x", "y"], "Turn about", "The axis the piece is turned about for its second side; x is along the neck.").optional(),
    pin: z
      .strictObject({
        diameter: length(2, 40, "Pin diameter", "Of fence pins and end stop.").optional(),
        height: length(2, 60, "Pin height", "Above the bed.").optional(),
      })
      .meta({ title: "Pins", description: "The piece is pushed against them." })
      .optional(),
    block: z
      .strictObject({
        length: length(5, 300, "Block length", "Along the neck.").optional(),
        width: length(5, 200, "Block width", "Across the neck.").optional(),
        height: length(2, 100, "Block height", "Above the bed.").optional(),
        grip: length(0, 60, "Grip", "How far a block reaches over the blank.").optional(),
      })
      .meta({ title: "Blocks", description: "Hold the blank down at its ends." })
      .optional(),
    screw: z
      .strictObject({
        count: whole(0, 20, "Screws", "Through the waste, per side of the blank; 0 for none.").optional(),
        head: length(2, 30, "Head diameter", "Of the screw.").optional(),
        height: length(0, 20, "Head height", "Above the wood.").optional(),
      })
      .meta({ title: "Screws", description: "Through the waste into the bed's spoil board." })
      .optional(),
    supports: flag(
      "Supports",
      "Strips under the edges of a radiused board while its back is cut, so that it does not rock on its crown.",
    ).optional(),
  })
  .meta({ title: "Holding", description: "How the blank lies on the machine." });

const cutting = z
  .strictObject({
    cusp: length(0.001, 0.5, "Cusp", "Height of the ridges that finishing rows may leave; they are scraped off by hand.").optional(),
    roughLeave: length(0.05, 3, "Rough leave", "Wood that roughing leaves for finishing.").optional(),
    scribeDepth: length(0.05, 2, "Scribe depth", "Of the first shallow outline that shows where the neck will fall.").optional(),
    outlineBelowFace: length(
      0,
      30,
      "Outline below the face",
      "How far below the headstock face the board side cuts the outline; the carve side cuts the rest.",
    ).optional(),
    release: z
      .strictObject({
        kind: word(["tabs", "skin"], "Kind", "tabs: short bridges. skin: a thin sheet all around.").optional(),
        thickness: length(0.1, 20, "Thickness", "Of what holds the neck in the waste.")
          .meta({ derived: "1.5 for tabs, 0.6 for a skin" })
          .optional(),
        width: length(1, 60, "Tab width", "Tabs only.").optional(),
      })
      .meta({ title: "Release", description: "What holds the neck in the waste until it is freed by hand." })
      .optional(),
    breakThrough: length(
      0,
      5,
      "Break-through",
      "How far tuner bores go past the finished back of the headstock into the waste.",
    ).optional(),
  })
  .meta({ title: "Cutting", description: "What the cuts leave." });

const overrides = z
  .array(
    z.strictObject({
      rule: text(8, /^[A-Z]{2}-\d{3}$/, "Rule", "Its id, as in RULES.md."),
      reason: text(500, null, "Reason", "Printed on the sheets."),
    }),
  )
  .max(50)
  .meta({ title: "Overrides", description: "Rules whose stop the maker takes on, each with a reason." });

/** The schema of an order file. */
export const ORDER_FILE: z.ZodType<OrderFile> = z
  .strictObject({
    $schema: z.string().max(500).meta({ title: "Schema", description: "Where an editor finds this schema." }).optional(),
    neckwright: z.literal("order/1").meta({ title: "Format", description: "This kind of file and its version." }),
    name: text(60, NAME, "Name", "Short name: small letters, digits and dashes. Files are named after it."),
    title: text(200, null, "Title", "As it stands on the sheets. The name if left out.").meta({ derived: "the name" }).optional(),
    instrument: word(
      ["guitar", "bass", "ukulele", "other"],
      "Instrument",
      "Chooses the defaults. other: takes the guitar's, and asks for scale and number of strings.",
    ),
    hand: word(["right", "left"], "Hand", "A left-handed neck is the mirror image.").optional(),
    scale: length(100, 1500, "Scale length", "Nut to bridge along the centreline.").optional(),
    strings: strings.optional(),
    frets: frets.optional(),
    nut: nut.optional(),
    board: board.optional(),
    headstock: headstock.optional(),
    carve: carve.optional(),
    heel: heel.optional(),
    rod: rod.optional(),
    markers: markers.optional(),
    wood: z
      .strictObject({
        shaft: text(60, null, "Shaft wood", "By its common name.").optional(),
        board: text(60, null, "Board wood", "By its common name.").optional(),
      })
      .meta({ title: "Wood", description: "For stiffness, moisture and how hard the cutters work." })
      .optional(),
    blank: blank.optional(),
    holding: holding.optional(),
    cutting: cutting.optional(),
    overrides: overrides.optional(),
  })
  .meta({ title: "Order", description: "One instrument neck, as it is to be built." });
