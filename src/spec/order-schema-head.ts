import * as z from "zod";
import { angle, length, none, ratio, whole, word } from "./fields.ts";
import type { OrderFile } from "./order-file.ts";
import { outline } from "./order-schema-outline.ts";

/* The keys of an order that say what the headstock is. */

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

export const headstock: z.ZodType<NonNullable<OrderFile["headstock"]>> = z
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
    outline: outline.optional(),
    kind: word(
      ["flat", "angled", "scarfed"],
      "Kind of headstock",
      "flat: stepped down by a ramp. angled: tilted back, from one piece. scarfed: tilted back, joined.",
    )
      .meta({ derived: "flat" })
      .optional(),
    angle: angle(1, 30, "Tilt", "Of an angled or scarfed headstock.").meta({ derived: "none" }).optional(),
    slotted: z
      .strictObject({
        width: length(4, 40, "Opening width", "Across the neck."),
        wall: length(2, 60, "Wall", "Wood between opening and edge."),
        from: length(5, 200, "From", "From the nut to the openings' near ends."),
        length: length(20, 250, "Opening length", "Along the neck."),
        rollerBore: length(2, 20, "Roller bore", "From the side."),
        rollerDepth: length(5, 80, "Roller bore depth", "From the headstock's edge."),
      })
      .meta({ title: "Slotted headstock", description: "Openings for tuners whose rollers lie across; tuner rows give their middles." })
      .optional(),
  })
  .meta({ title: "Headstock", description: "Flat and stepped down from the board by a ramp, or tilted back." });
