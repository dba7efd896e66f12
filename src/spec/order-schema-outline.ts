import * as z from "zod";
import type { DrawingRequest } from "./drawing/types.ts";
import { DRAWING_UNITS } from "./drawing/units.ts";
import { length, ratio, text, word } from "./fields.ts";
import { TEXT } from "./rules.ts";

/* The keys of an order that name the maker's own drawing of a headstock. */

/** Below the order's folder: no root, no drive, no step up, forward slashes, no letters that some systems refuse. */
const INSIDE = /^(?![/~])(?!(?:.*\/)?\.{1,2}(?:\/|$))(?!.*\/\/)[^\\:*?"<>|]+\.(?:[dD][xX][fF]|[sS][vV][gG])$/;

const file = z
  .string()
  .min(1)
  .max(200)
  .meta({
    pattern: INSIDE.source,
    title: "Drawing",
    description:
      "File of the outline, .dxf or .svg, named from the order's folder, in it or below, with forward slashes. It is copied into the job folder.",
  })
  .superRefine((value, ctx) => {
    if (INSIDE.test(value) && [...value].every((c) => c >= " ")) return;
    const says = "The drawing is not a .dxf or .svg file named from the order's folder, in it or below.";
    const tryThis = 'Put the drawing beside the order and give its name, like "head.svg" or "drawings/head.dxf".';
    const params = { rule: TEXT, limit: "in the order's folder, .dxf or .svg", unit: "", says, tryThis };
    ctx.addIssue({ code: "custom", message: says, input: value, params });
  });

const place = (axis: string): z.ZodType<number> => length(-5000, 5000, `Nut ${axis}`, `${axis} of the nut's centre on the drawing.`);

export const outline: z.ZodType<DrawingRequest> = z
  .strictObject({
    drawing: file,
    unit: word(DRAWING_UNITS as unknown as ["mm"], "Unit", "Of the drawing's numbers; goes before what the file states.")
      .meta({ derived: "as the file states; needed when it does not" })
      .optional(),
    layer: text(200, null, "Layer", "Only what lies on this layer (DXF) or in the group of this id or label (SVG).")
      .meta({ derived: "all that is visible" })
      .optional(),
    closeWithin: length(0, 1, "Close within", "Gaps up to this are closed at their middle, and reported.")
      .meta({ derived: "0.05" })
      .optional(),
    scale: ratio(1e-4, 1e4, "Scale", "Factor on every length, after the unit.").meta({ derived: "1" }).optional(),
    nutAt: z
      .strictObject({ x: place("x"), y: place("y") })
      .meta({
        title: "Nut at",
        description:
          "Where the nut's centre (x 0 of the neck, on the centreline) lies on the drawing, as the file counts (an SVG counts y downward), after unit and scale. 0, 0 if left out.",
      })
      .optional(),
    toward: word(["left", "right", "up", "down"], "Toward", "Which way the headstock points on the drawing.")
      .meta({ derived: "left" })
      .optional(),
    seen: word(["front", "back"], "Seen", "Which face the drawing shows. From the front, headstock to the left, the treble side is up.")
      .meta({ derived: "front" })
      .optional(),
  })
  .meta({
    title: "Outline",
    description:
      "The maker's own outline in place of the family of shapes, drawn for a right-handed neck. Its sides run on past the throat along the board's edges.",
  }) as unknown as z.ZodType<DrawingRequest>;
