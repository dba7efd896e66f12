import * as z from "zod";
import { blankOutline, blankRegions } from "./corrections.ts";
import { angle, flag, length, ratio, text, whole, word } from "./fields.ts";
import type { OrderFile } from "./order-file.ts";

/* The keys of an order that say how the neck is made. */

export const blank: z.ZodType<NonNullable<OrderFile["blank"]>> = z
  .strictObject({
    kind: word(
      ["board-glued", "shaft-alone"],
      "Kind of blank",
      "board-glued: the board is already on the shaft. shaft-alone: the programs stop at the glue plane.",
    ).optional(),
    length: length(50, 4000, "Blank length", "Along the neck.")
      .meta({ derived: "the neck and 80 mm for blocks at its ends, rounded up to 5" })
      .optional(),
    width: length(20, 1000, "Blank width", "Across the neck.")
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
    rotation: angle(-10, 10, "Rotation", "Of the neck in the blank, about the nut's middle, from the blank's length toward its far edge.")
      .meta({ derived: "0" })
      .optional(),
    outline: blankOutline.optional(),
    regions: blankRegions.optional(),
    grainTurn: angle(0, 10, "Grain", "How far the grain lets the neck be turned in the blank.").meta({ derived: "3" }).optional(),
  })
  .meta({ title: "Blank", description: "The timber the neck is cut from." });

export const holding: z.ZodType<NonNullable<OrderFile["holding"]>> = z
  .strictObject({
    way: word(
      ["datum-edge", "waste-pins"],
      "Way of holding",
      "datum-edge: a planed edge against two fence pins, with an end stop, on both sides. waste-pins: the same for the board side, which bores two holes through the waste; turned, the blank goes onto two pins through them.",
    ).optional(),
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
    press: z
      .strictObject({
        kind: word(["vacuum", "tape"], "Kind", "vacuum: drawn down. tape: stuck down on both faces of a double tape."),
        pressure: ratio(
          1,
          2000,
          "Pressure",
          "vacuum: what its gauge shows below the air's, at the piece. tape: what it bears in shear, by trial.",
          "kPa",
        ),
        friction: ratio(0.05, 1, "Friction", "Of the piece on its ground; of vacuum.").meta({ derived: "0.3, from memory" }).optional(),
        side: word(["board", "carve"], "Side", "Held so; both if left out.").meta({ derived: "both" }).optional(),
      })
      .meta({
        title: "Held from below",
        description: "By vacuum or tape instead of blocks on its face; pins and stop locate it as ever.",
        derived: "blocks hold it",
      })
      .optional(),
    placed: z
      .array(
        z.strictObject({
          name: text(
            60,
            null,
            "Name",
            'As the holding drawing names it: "fence pin 1", "block, body end, far side", "screw 2, datum side".',
          ),
          side: word(["board", "carve"], "Side", "Of the two lays; both if left out.").meta({ derived: "both" }).optional(),
          x: length(-500, 4500, "x", "Of its middle, from the end stop's line. Blocks and the stop keep theirs.")
            .meta({ derived: "as planned" })
            .optional(),
          y: length(-500, 1500, "y", "Of its middle, from the datum edge. Fence pins keep theirs.")
            .meta({ derived: "as planned" })
            .optional(),
        }),
      )
      .max(60)
      .meta({
        title: "Placed by hand",
        description: "Pins, blocks, screws and strips put elsewhere than planned.",
        derived: "all as planned",
      })
      .optional(),
  })
  .meta({ title: "Holding", description: "How the blank lies on the machine." });

/** "board-scribe", "carve-outline-through", ... */
const CUT_ID = /^(board|carve)-[a-z0-9-]+$/;

export const cutting: z.ZodType<NonNullable<OrderFile["cutting"]>> = z
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
    work: z
      .strictObject({
        plan: word(
          ["straight", "rest"],
          "Plan",
          "straight: one side after the other, straight through. rest: both sides are roughed, the wood rests for days, the datum is made anew, then both are finished.",
        )
          .meta({ derived: "straight" })
          .optional(),
        drop: z
          .array(text(60, CUT_ID, "Cut", "Its id, as the sheets name it."))
          .max(40)
          .meta({ title: "Drop", description: "Cuts to leave out; their wood stays.", derived: "none" })
          .optional(),
        before: z
          .array(
            z.strictObject({
              cut: text(60, CUT_ID, "Cut", "The cut to move."),
              before: text(60, CUT_ID, "Before", "The cut of the same side that it is to stand before."),
            }),
          )
          .max(40)
          .meta({ title: "Before", description: "Cuts to move to another place in the order of work.", derived: "none" })
          .optional(),
        again: z
          .array(text(60, CUT_ID, "Cut", "Its id, as the sheets name it."))
          .max(10)
          .meta({ title: "Again", description: "Cuts to run a second time, for what bend has left.", derived: "none" })
          .optional(),
      })
      .meta({ title: "Work", description: "Changes to the order of work. The checks say what then stands where it should not." })
      .optional(),
  })
  .meta({ title: "Cutting", description: "What the cuts leave." });

export const overrides: z.ZodType<NonNullable<OrderFile["overrides"]>> = z
  .array(
    z.strictObject({
      rule: text(8, /^[A-Z]{2}-\d{3}$/, "Rule", "Its id, as in RULES.md."),
      reason: text(500, null, "Reason", "Printed on the sheets."),
    }),
  )
  .max(50)
  .meta({ title: "Overrides", description: "Rules whose stop the maker takes on, each with a reason." });
