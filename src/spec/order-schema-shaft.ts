import * as z from "zod";
import { length, none, place, whole, word } from "./fields.ts";
import type { OrderFile } from "./order-file.ts";

/* The keys of an order that say what lies inside the shaft beside the rod. */

export const bars: z.ZodType<NonNullable<OrderFile["bars"]>> = z
  .union([
    none("no bars"),
    z.strictObject({
      count: whole(1, 2, "Number of bars", "1 on the centreline (without a rod), 2 on both sides of it.").meta({ derived: "2" }).optional(),
      width: length(1, 15, "Bar width", "Across the neck, its fit included.").meta({ derived: "4" }).optional(),
      height: length(1, 20, "Bar height", "Of the bar itself.").meta({ derived: "6" }).optional(),
      offset: length(0, 40, "Offset", "From the centreline to the middle of each bar.").meta({ derived: "10" }).optional(),
      roof: length(0, 20, "Roof", "0: let in from the glue plane. More: from the back, with so much wood above.")
        .meta({ derived: "0" })
        .optional(),
      from: place("From", "Where the bars begin.").meta({ derived: "10 mm from the nut" }).optional(),
      to: place("To", "Where they end.").meta({ derived: "30 mm before the end of the shaft" }).optional(),
      material: word(["carbon", "steel", "hardwood"], "Material", "For stiffness and mass.").meta({ derived: "carbon" }).optional(),
    }),
  ])
  .meta({ title: "Bars", description: "Stiffening bars let into the shaft beside the rod." }) as never;

export const rod: z.ZodType<NonNullable<OrderFile["rod"]>> = z
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
      action: word(["single", "double"], "Action", "single: works one way in a curved channel. double: both ways in a flat one.")
        .meta({ derived: "double" })
        .optional(),
      sag: length(0.2, 8, "Sag", "single action: how much deeper the channel's floor lies midway.").meta({ derived: "0" }).optional(),
    }),
  ])
  .meta({ title: "Rod", description: '"none", or the channel for a truss rod or a stiffening bar.' });
