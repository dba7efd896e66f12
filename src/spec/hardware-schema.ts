import * as z from "zod";
import { length, text, word } from "./fields.ts";
import type { HardwareSpec } from "./types.ts";

/* The shelf of a shop: hardware by dimensions, generic names only. An order is compared with it; nothing is taken from it unasked. */

const name = text(80, null, "Name", "What it is, not who makes it.");
const list = <T>(item: z.ZodType<T>, title: string, description: string): z.ZodType<readonly T[]> =>
  z.array(item).max(100).meta({ title, description, derived: "none" }) as never;

const tuner = z.strictObject({
  name,
  post: length(2, 30, "Post bore", "Through the headstock."),
  bush: length(2, 40, "Bush bore", "From the face; as the post without a bush."),
  bushDepth: length(0, 30, "Bush depth", "From the face; 0 without a bush."),
  winding: length(1, 30, "Winding diameter", "Where the string winds on."),
  body: z
    .strictObject({ length: length(5, 100, "Body length", "Along the neck."), width: length(5, 100, "Body width", "Across the neck.") })
    .meta({ title: "Body", description: "Its footprint on the headstock's back." }),
  screws: z
    .array(
      z.strictObject({
        x: length(-60, 60, "x", "Along the neck from the post."),
        y: length(-60, 60, "y", "Across the neck from the post."),
      }),
    )
    .max(4)
    .meta({ title: "Screws", description: "Their places from the post's middle." }),
});
const rod = z.strictObject({
  name,
  action: word(["single", "double"], "Action", "One way or both ways."),
  width: length(2, 30, "Width", "Of the rod."),
  height: length(2, 40, "Height", "Of the rod."),
  length: length(50, 1000, "Length", "Of the rod."),
});
const bar = z.strictObject({
  name,
  material: word(["carbon", "steel", "hardwood"], "Material", "What it is made of."),
  width: length(1, 15, "Width", "Of the bar."),
  height: length(1, 20, "Height", "Of the bar."),
  length: length(50, 1000, "Length", "Of the bar."),
});
const bolt = z.strictObject({
  name,
  bore: length(1, 15, "Clearance bore", "Through the body."),
  pilot: length(1, 15, "Pilot bore", "Into the heel."),
  length: length(5, 120, "Length", "Under the head."),
  head: length(2, 30, "Head", "Its diameter."),
});
const insert = z.strictObject({ name, bore: length(2, 20, "Bore", "It is driven into."), length: length(3, 50, "Length", "Its own.") });
const wire = z.strictObject({
  name,
  crownWidth: length(0.5, 5, "Crown width", "Of the bead."),
  crownHeight: length(0.3, 3, "Crown height", "Of the bead."),
  tangWidth: length(0.2, 1.5, "Tang width", "Without its barbs."),
  tangDepth: length(0.5, 4, "Tang depth", "Below the bead."),
});
const nut = z.strictObject({
  name,
  length: length(10, 150, "Length", "Across the neck."),
  width: length(1, 20, "Width", "Along the neck."),
  height: length(3, 30, "Height", "Before it is shaped."),
});

export const hardware: z.ZodType<HardwareSpec> = z
  .strictObject({
    tuners: list(tuner, "Tuners", "Bores, body and screws."),
    rods: list(rod, "Rods", "Truss rods."),
    bars: list(bar, "Bars", "Stiffening bars."),
    bolts: list(bolt, "Bolts", "Neck bolts and screws."),
    inserts: list(insert, "Inserts", "Threaded inserts for the heel."),
    wires: list(wire, "Fret wires", "Crown and tang."),
    nuts: list(nut, "Nut blanks", "Before they are cut."),
  })
  .partial()
  .transform((h) => ({ tuners: [], rods: [], bars: [], bolts: [], inserts: [], wires: [], nuts: [], ...withoutMissing(h) }))
  .meta({ title: "Hardware", description: "What lies on the shelf. An order whose hardware is not among it gets a note." }) as never;

function withoutMissing<T extends object>(h: T): Partial<T> {
  return Object.fromEntries(Object.entries(h).filter(([, v]) => v !== undefined)) as Partial<T>;
}
