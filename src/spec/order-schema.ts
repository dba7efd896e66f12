import * as z from "zod";
import { orderCorrections } from "./corrections.ts";
import { text, word } from "./fields.ts";
import type { OrderFile } from "./order-file.ts";
import { headstock } from "./order-schema-head.ts";
import { climate, setup, wood } from "./order-schema-meaning.ts";
import { board, carve, frets, heel, markers, nut, scale, strings } from "./order-schema-neck.ts";
import { bars, rod } from "./order-schema-shaft.ts";
import { blank, cutting, holding, overrides } from "./order-schema-work.ts";

/*
 * The order file, order/1: what a person may write. Lengths come out in mm, angles in radians; what is left out stays out
 * and is filled in by order-defaults.ts. Titles, units and reasons here are what editors and docs/order.md show.
 */

const NAME = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;

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
    scale: scale.optional(),
    strings: strings.optional(),
    frets: frets.optional(),
    nut: nut.optional(),
    board: board.optional(),
    headstock: headstock.optional(),
    carve: carve.optional(),
    heel: heel.optional(),
    rod: rod.optional(),
    bars: bars.optional(),
    markers: markers.optional(),
    wood: wood.optional(),
    setup: setup.optional(),
    climate: climate.optional(),
    blank: blank.optional(),
    holding: holding.optional(),
    cutting: cutting.optional(),
    overrides: overrides.optional(),
    corrections: orderCorrections.optional(),
  })
  .meta({ title: "Order", description: "One instrument neck, as it is to be built." });
