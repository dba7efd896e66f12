import * as z from "zod";
import type { ForceFigure } from "../materials/cutting-force.ts";
import { shopCorrections } from "./corrections.ts";
import { angle, feed, flag, length, ratio, text, whole, word } from "./fields.ts";
import { hardware } from "./hardware-schema.ts";
import type { Some } from "./order-file.ts";
import type { CutterShape, CutterSpec, HardwareSpec, MachineSpec, Measured, ShopSpec } from "./types.ts";

/* The shop file, shop/1: the machine with what it can bear, and the cutters. Feeds come out in mm/min, accelerations in mm/s2. */

interface Axes {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}
/** One number for all three axes, or one for each. */
type PerAxis = number | Axes;

export interface GivenMachine {
  readonly name: string;
  readonly note?: string | undefined;
  readonly bed: MachineSpec["bed"];
  readonly along: "x" | "y";
  readonly travel: Axes;
  readonly clearance?: number | undefined;
  readonly approach?: number | undefined;
  readonly feed: PerAxis;
  readonly rapid?: PerAxis | undefined;
  readonly acceleration: PerAxis;
  readonly junctionDeviation?: number | undefined;
  readonly repeat: number;
  readonly stiffness: PerAxis;
  readonly spindle: {
    readonly min: number;
    readonly max: number;
    readonly power: number;
    readonly curve?: readonly ({ readonly rpm: number } & ({ readonly power: number } | { readonly torque: number }))[] | undefined;
  };
  readonly controller: {
    readonly dialect: "full" | "reduced";
    readonly arcs?: boolean | undefined;
    readonly decimals?: number | undefined;
  };
  readonly measured?: Some<Record<"x" | "y" | "z", Measured>> | undefined;
  readonly grid?: MachineSpec["grid"] | undefined;
  readonly sections?: boolean | undefined;
}

export interface GivenCoefficients extends Some<Record<ForceFigure, number>> {
  readonly source: string;
}

export type GivenCutter = Pick<CutterSpec, "number" | "diameter" | "flutes" | "fluteLength" | "reach"> &
  Some<Omit<CutterSpec, "number" | "shape" | "diameter" | "flutes" | "fluteLength" | "reach">> & {
    readonly shape: CutterShape;
    readonly note?: string | undefined;
  };

export interface ShopFile {
  readonly $schema?: string | undefined;
  readonly neckwright: "shop/1";
  readonly name: string;
  readonly title?: string | undefined;
  readonly note?: string | undefined;
  readonly machine: GivenMachine;
  readonly cutters: readonly GivenCutter[];
  readonly hardware?: HardwareSpec | undefined;
  readonly corrections?: ShopSpec["corrections"] | undefined;
  readonly coefficients?: GivenCoefficients | undefined;
  readonly boardRadius?: ShopSpec["boardRadius"] | undefined;
  readonly costs?:
    | { readonly currency: string; readonly machineHour?: number | undefined; readonly cutterChange?: number | undefined }
    | undefined;
}

const perAxis = (one: () => z.ZodType<number>, title: string, description: string): z.ZodType<PerAxis> =>
  z
    .union([one(), z.strictObject({ x: one(), y: one(), z: one() })])
    .meta({ title, description: `${description} One value for all axes, or one for each.` }) as unknown as z.ZodType<PerAxis>;

const curvePoint = z
  .union([
    z.strictObject({
      rpm: ratio(10, 100000, "Speed", "Of this point.", "rpm"),
      power: ratio(1, 20000, "Power", "At the cutter at this speed.", "W"),
    }),
    z.strictObject({
      rpm: ratio(10, 100000, "Speed", "Of this point.", "rpm"),
      torque: ratio(0.001, 1000, "Moment", "At the cutter at this speed.", "N m"),
    }),
  ])
  .meta({ title: "Point", description: "Power or moment at a speed." });

const day = text(10, /^\d{4}-\d{2}-\d{2}$/, "Date", "The day, as 2026-03-31.");
const measured = z
  .strictObject({ date: day, note: text(500, null, "Note", "How it was measured.") })
  .meta({ title: "Measured", description: "When and how; written by the command that measures." });

const coefficients = z
  .strictObject({
    source: text(500, null, "Source", "Where the figures come from: your own trial cuts, a book. Stands on the sheets."),
    edge: ratio(0.01, 1000, "Edge", "Force at no chip, per mm of edge, sharp.", "N/mm").meta({ derived: "4.5, from memory" }).optional(),
    perChip: ratio(0.01, 10000, "Per chip", "Force for the chip's section.", "N/mm2").meta({ derived: "10, from memory" }).optional(),
    density: ratio(50, 2000, "Density", "Of the wood the two above were found in.", "kg/m3").meta({ derived: "700" }).optional(),
    densityPower: ratio(0, 4, "Density's power", "Force goes with density to this power.").meta({ derived: "1, from memory" }).optional(),
    endGrain: ratio(1, 10, "End grain", "How many times the force into end grain.").meta({ derived: "1.8, from memory" }).optional(),
    perMoisture: ratio(0, 0.2, "Per moisture", "Share of force lost for each percent of moisture above 12.")
      .meta({ derived: "0.015, from memory" })
      .optional(),
    dull: ratio(1, 10, "Dull", "How many times the force of a dull edge.").meta({ derived: "1.5, from memory" }).optional(),
    normal: ratio(0, 2, "Normal", "Force square to the edge's way, as a share of the force along it.")
      .meta({ derived: "0.3, from memory" })
      .optional(),
  })
  .meta({
    title: "Coefficients",
    description:
      "The law of cutting forces: F per mm of edge = edge + perChip x chip. What is left out is the program's own figure, from memory, and is labelled so.",
    derived: "all from memory",
  } as never);

const costs = z
  .strictObject({
    currency: text(12, null, "Currency", "As it stands behind a figure."),
    machineHour: ratio(0, 100000, "Machine hour", "Machine and person, per hour of program.").meta({ derived: "no figure" }).optional(),
    cutterChange: ratio(0, 7200, "Cutter change", "Added to each program's time for its cost: changing and touching off.", "s")
      .meta({ derived: "0" })
      .optional(),
  })
  .meta({ title: "Costs", description: "Rates; a cost is shown only with them.", derived: "no cost is shown" } as never);

const machine = z
  .strictObject({
    name: text(80, null, "Machine", "What the workshop calls it."),
    note: text(500, null, "Note", "Where the figures come from.").optional(),
    bed: z
      .strictObject({ x: length(50, 5000, "Bed x", "Usable bed."), y: length(50, 5000, "Bed y", "Usable bed.") })
      .meta({ title: "Bed", description: "What a blank can lie on." }),
    along: word(["x", "y"], "Neck along", "The machine axis the neck lies along."),
    travel: z
      .strictObject({
        x: length(50, 5000, "Travel x", "Full stroke."),
        y: length(50, 5000, "Travel y", "Full stroke."),
        z: length(10, 1000, "Travel z", "Full stroke."),
      })
      .meta({ title: "Travel", description: "How far the axes move." }),
    clearance: length(0.5, 100, "Clearance", "Rapids across travel this far above the highest thing on the bed.")
      .meta({ derived: "8" })
      .optional(),
    approach: length(0.2, 50, "Approach", "Rapids down stop this far above the wood.")
      .meta({ derived: "2, or the clearance if that is less" })
      .optional(),
    feed: perAxis(() => feed(10, 60000, "Feed", "Highest in the cut."), "Feed", "Highest in the cut."),
    rapid: perAxis(() => feed(10, 60000, "Rapid", "Rapid travel."), "Rapid", "Of rapid travel; as the feed if left out.")
      .meta({ derived: "as the feed" })
      .optional(),
    acceleration: perAxis(
      () => ratio(1, 20000, "Acceleration", "As set in the controller.", "mm/s2"),
      "Acceleration",
      "As set in the controller: the clock needs it.",
    ),
    junctionDeviation: length(
      0.001,
      1,
      "Junction deviation",
      "How far the controller may round a corner to keep moving; a setting of most controllers, or its path tolerance.",
    )
      .meta({ derived: "0.01" })
      .optional(),
    repeat: length(0.001, 1, "Repeat", "How exactly the machine comes back to a place."),
    stiffness: perAxis(
      () => ratio(1, 1e6, "Stiffness", "Of the whole machine at the cutter.", "N/mm"),
      "Stiffness",
      "Of the whole machine at the cutter: push with a spring balance, read a dial gauge.",
    ),
    spindle: z
      .strictObject({
        min: ratio(10, 100000, "Least speed", "Of the spindle.", "rpm"),
        max: ratio(10, 100000, "Highest speed", "Of the spindle.", "rpm"),
        power: ratio(10, 20000, "Power", "At the cutter.", "W"),
        curve: z
          .array(curvePoint)
          .min(2)
          .max(50)
          .meta({
            title: "Curve",
            description: "Power or moment by speed, in order of speed.",
            derived: "the rated power at the highest speed, less in proportion below it",
          } as never)
          .optional(),
      })
      .meta({ title: "Spindle", description: "Speeds and power." }),
    controller: z
      .strictObject({
        dialect: word(
          ["full", "reduced"],
          "Abilities",
          "full: RS274/NGC with tool changes and length offsets. reduced: no tool table, no canned cycles, one cutter per program.",
        ),
        arcs: flag("Arcs", "Whether it takes G2 and G3.").meta({ derived: "true" }).optional(),
        decimals: whole(4, 6, "Decimals", "Of a millimetre in the program text.").meta({ derived: "4" }).optional(),
      })
      .meta({ title: "Controller", description: "What it understands." }),
    measured: z
      .strictObject({ x: measured.optional(), y: measured.optional(), z: measured.optional() })
      .meta({ title: "Measured", description: "When and how the stiffness of an axis was measured.", derived: "not measured" } as never)
      .optional(),
    grid: z
      .strictObject({
        holes: word(
          ["threaded", "plain"],
          "Holes",
          "threaded: bolts and pins are screwed in. plain: bolts go through, pins are pushed in.",
        ),
        pitch: length(8, 500, "Pitch", "From hole to hole, along both axes."),
        first: z
          .strictObject({
            x: length(0, 5000, "First hole x", "From the bed's corner."),
            y: length(0, 5000, "First hole y", "From the bed's corner."),
          })
          .meta({ title: "First hole", description: "Its middle, from the corner of the bed." }),
        diameter: length(2, 40, "Diameter", "Of the bolts that go into them."),
      })
      .meta({
        title: "Grid",
        description: "Holes of the bed, or of a plate on it: pins, blocks and screws are then planned over holes.",
        derived: "no grid: they go into the bed anywhere",
      } as never)
      .optional(),
    sections: flag("Sections", "Whether a neck longer than the bed is cut in sections, with index pins between them.")
      .meta({ derived: "true" })
      .optional(),
  })
  .meta({ title: "Machine", description: "One three-axis router." });

const cutter = z
  .strictObject({
    number: whole(1, 999, "Number", "In the tool table and on the rack; never two the same."),
    name: text(80, null, "Name", "What the workshop calls it. Made from shape and diameter if left out.")
      .meta({ derived: "made from shape and diameter" })
      .optional(),
    note: text(500, null, "Note", "Where the figures come from.").optional(),
    shape: word(["flat", "ball", "bull", "taper", "vee", "drill"], "Shape", "Of the cutting part."),
    diameter: length(0.1, 80, "Diameter", "Largest of the cutting part."),
    cornerRadius: length(0, 40, "Corner radius", "Bull-nosed cutters, and the ball of a tapered cutter.")
      .meta({ derived: "0; half the diameter of a ball cutter" })
      .optional(),
    tipDiameter: length(0, 40, "Tip diameter", "Tapered and vee cutters; 0 for a point.").meta({ derived: "0" }).optional(),
    tipAngle: angle(0, 179, "Tip angle", "Included angle of tapered and vee cutters and drills.")
      .meta({ derived: "118 for drills; tapered and vee cutters must say" })
      .optional(),
    flutes: whole(1, 8, "Flutes", "Cutting edges."),
    fluteLength: length(0.2, 150, "Flute length", "From the tip up."),
    reach: length(1, 250, "Reach", "From the tip to the holder, as it is to be clamped."),
    shankDiameter: length(0.5, 40, "Shank diameter", "As the cutter if left out.").meta({ derived: "the diameter" }).optional(),
    holder: z
      .array(z.strictObject({ diameter: length(2, 200, "Diameter", "Of this part."), length: length(1, 300, "Length", "Of this part.") }))
      .max(8)
      .meta({ title: "Holder", description: "From the collet nut upward; checked against blank, blocks and bed." })
      .meta({ derived: "a collet nut of 20 x 18 and a nose of 43 x 40" })
      .optional(),
    chip: z
      .strictObject({
        min: length(0.0005, 2, "Least chip", "Below it the edge rubs."),
        max: length(0.001, 3, "Largest chip", "Above it the cutter or the wood tears."),
      })
      .meta({ title: "Chip", description: "Thickness per tooth in hardwood." })
      .meta({ derived: "0.005 and 0.016 of the diameter" })
      .optional(),
    maxDepth: length(0.05, 100, "Depth per pass", "Most in a full slot in hardwood on a stiff machine.")
      .meta({ derived: "the diameter, or the flute length if that is less" })
      .optional(),
    maxRpm: ratio(100, 200000, "Highest speed", "Marked on the cutter.", "rpm").meta({ derived: "the spindle's highest" }).optional(),
    modulus: ratio(10000, 1000000, "Modulus", "Stiffness of its material; carbide about 580000, high speed steel about 200000.", "MPa")
      .meta({ derived: "580000; drills 200000" })
      .optional(),
    life: ratio(0.1, 1e6, "Life", "How far it cuts before it is dull, length in wood.", "m").meta({ derived: "not known" }).optional(),
    price: ratio(0, 1e6, "Price", "In the currency of the costs.").meta({ derived: "not known" }).optional(),
    recess: z
      .strictObject({
        allowance: length(-0.5, 0.5, "Allowance", "Added to the diameter of recesses made with this cutter, as chosen on a coupon."),
        date: day,
        note: text(500, null, "Note", "How it was chosen."),
      })
      .meta({ title: "Recess", description: "Chosen on a coupon; written by the coupon command.", derived: "no allowance" } as never)
      .optional(),
  })
  .meta({ title: "Cutter", description: "One cutter as it is clamped." });

/** The schema of a shop file. */
export const SHOP_FILE: z.ZodType<ShopFile> = z
  .strictObject({
    $schema: z.string().max(500).meta({ title: "Schema", description: "Where an editor finds this schema." }).optional(),
    neckwright: z.literal("shop/1").meta({ title: "Format", description: "This kind of file and its version." }),
    name: text(60, /^[a-z0-9]+(?:-[a-z0-9]+)*$/, "Name", "Short name: small letters, digits and dashes."),
    title: text(200, null, "Title", "As it stands on the sheets. The name if left out.").meta({ derived: "the name" }).optional(),
    note: text(1000, null, "Note", "Where the figures come from.").optional(),
    machine,
    cutters: z.array(cutter).min(1).max(200).meta({ title: "Cutters", description: "What is on the rack." }),
    hardware: hardware.optional(),
    corrections: shopCorrections.optional(),
    coefficients: coefficients.optional(),
    boardRadius: z
      .enum(["ball", "bull", "flat"])
      .meta({
        title: "Board radius",
        description:
          "Kind of cutter for a radiused board's finishing rows: ball; bull, whose corners touch; or flat, whose edge leaves steps as high as a cusp may be.",
        derived: "ball",
      } as never)
      .optional(),
    costs: costs.optional(),
  })
  .meta({ title: "Shop", description: "The machine and the cutters of one workshop." });
