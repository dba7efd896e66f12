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
