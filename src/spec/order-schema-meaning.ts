import * as z from "zod";
import { angle, length, ratio, text, word } from "./fields.ts";
import type { OrderFile } from "./order-file.ts";
import type { Rings } from "./types.ts";

/* The keys of an order that shape nothing: the woods, and what the figures ask of the strings' heights and of the air. Defaults in setup.ts. */

const rings = (title: string, description: string): z.ZodType<Rings> =>
  word(
    ["flat", "quarter", "rift"],
    title,
    `${description} flat: growth rings along the face. quarter: across it. rift: between. Left out: not known, and the band holds all.`,
  ).meta({ derived: "not known" }) as never;

export const setup: z.ZodType<NonNullable<OrderFile["setup"]>> = z
  .strictObject({
    nut: length(0, 5, "String height at the nut", "From the plane of the fret tops up to the strings, at the nut.")
      .meta({ derived: "guitar 0.4, bass 0.5, ukulele 0.5; with a zero fret 0" })
      .optional(),
    twelfth: length(0.2, 10, "String height at fret 12", "From the fret's top up to the strings: the action.")
      .meta({ derived: "heel.setUp's action if given, else guitar 1.9, bass 2.2, ukulele 2.5" })
      .optional(),
    relief: length(0, 2, "Asked relief", "Hollow the strings are to leave midway; the rod is asked for it.")
      .meta({ derived: "guitar 0.2, bass 0.3, ukulele 0.1" })
      .optional(),
    finger: length(0, 30, "Finger", "How far behind a fret a finger presses.").meta({ derived: "10" }).optional(),
  })
  .meta({ title: "Set-up", description: "How the strings are to stand over the frets; for intonation and relief." }) as never;

const temperature = (title: string): z.ZodType<number> => ratio(-10, 50, title, "Of the air.", "C");
const humidity = ratio(5, 95, "Relative humidity", "Of the air, through the year's middle.", "%");

export const climate: z.ZodType<NonNullable<OrderFile["climate"]>> = z
  .strictObject({
    shop: z
      .strictObject({
        temperature: temperature("Temperature")
          .meta({ derived: "20" } as never)
          .optional(),
        humidity: humidity.meta({ derived: "45" } as never).optional(),
      })
      .meta({ title: "Shop", description: "Where the neck is cut." })
      .optional(),
    home: z
      .strictObject({
        temperature: temperature("Temperature")
          .meta({ derived: "21" } as never)
          .optional(),
        humidity: humidity.meta({ derived: "45" } as never).optional(),
        swing: ratio(0, 45, "Swing", "How far the relative humidity moves to either side through a year.", "%")
          .meta({ derived: "10" } as never)
          .optional(),
      })
      .meta({ title: "Home", description: "Where the instrument will live." })
      .optional(),
  })
  .meta({ title: "Climate", description: "The air of the shop and of the instrument's home." }) as never;

export const wood: z.ZodType<NonNullable<OrderFile["wood"]>> = z
  .strictObject({
    shaft: text(60, null, "Shaft wood", "By its common name.").optional(),
    board: text(60, null, "Board wood", "By its common name.").optional(),
    strips: z
      .array(
        z.strictObject({
          wood: text(60, null, "Wood", "By its common name."),
          width: length(0.3, 150, "Strip width", "Across the neck."),
          rings: rings("Rings", "Of this strip.").optional(),
          grain: angle(
            -20,
            20,
            "Grain",
            "Of its fibres to the centreline, seen from the face: above 0 where they run toward the treble side.",
          )
            .meta({ derived: "0" })
            .optional(),
        }),
      )
      .max(15)
      .meta({ title: "Strips", description: "A laminated shaft: its strips from the bass side to the treble side." })
      .optional(),
    grain: angle(0, 45, "Grain angle", "Of the shaft's grain to the centreline, seen from the side: short grain breaks.")
      .meta({ derived: "0" })
      .optional(),
    rings: z
      .strictObject({ shaft: rings("Shaft", "Of the shaft.").optional(), board: rings("Board", "Of the board.").optional() })
      .meta({ title: "Rings", description: "How the growth rings lie: it decides what moves with the air, and how far." })
      .optional(),
    boardGrain: angle(0, 45, "Board grain", "Of the board's grain to its face along the neck.").meta({ derived: "0" }).optional(),
  })
  .meta({ title: "Wood", description: "For stiffness, moisture and how hard the cutters work." }) as never;
