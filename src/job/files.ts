import * as z from "zod";
import type { SideName, Transform } from "../holding/types.ts";
import type { Measure, ProgramFigure, RegionFigure } from "../proof/types.ts";
import type { Finding } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { FEATURES_SCHEMA, type JobFeatures } from "./features.ts";

/*
 * job.json, the file that lets anyone check the programs without our code. Lengths mm, angles degrees, feeds mm/min, times s.
 * Beside it lie order.json and shop.json (the bytes that were given), proof.json, programs/, sheets/, drawings/, models/.
 */

type Vec3 = readonly [number, number, number];
type Vec2 = readonly [number, number];

/** In its side's program frame. */
export type JobSolid = (
  | { readonly kind: "box"; readonly min: Vec3; readonly max: Vec3 }
  | {
      readonly kind: "cylinder";
      readonly x: number;
      readonly y: number;
      readonly diameter: number;
      readonly zMin: number;
      readonly zMax: number;
    }
  | { readonly kind: "prism"; readonly points: readonly Vec2[]; readonly zMin: number; readonly zMax: number }
) & { readonly name: string; readonly role: "fence pin" | "end stop" | "block" | "screw" | "support" | "index pin" };

export interface JobSide {
  readonly name: SideName;
  /** Rigid, row-major 3x4: p' = M p + t. */
  readonly neckToProgram: Transform;
  /** The blank before any cut, in this side's program frame. */
  readonly stock: { readonly min: Vec3; readonly max: Vec3 };
  readonly bed: number;
  readonly holding: readonly JobSolid[];
  readonly safeZ: number;
  readonly zeroOnBed: Vec2;
  readonly zeroSays: string;
  /**
   * Of a neck that is cut in sections: the blank lies elsewhere in each. A place in a section's program and its `shift` make the place
   * in the side's program frame; its `holding` is in its own program's frame. `from` and `to`: seams, along the blank from the end stop.
   */
  readonly sections?: readonly {
    readonly number: number;
    readonly from: number;
    readonly to: number;
    readonly shift: Vec2;
    readonly holding: readonly JobSolid[];
  }[];
  /** What the machine makes of this side's programs (corrections in force), row-major 3x4: true = M programmed + t. Absent: what they say. */
  readonly real?: Transform;
}

export interface JobCutter {
  readonly number: number;
  readonly name: string;
  readonly shape: "flat" | "ball" | "bull" | "taper" | "vee" | "drill";
  /** Largest diameter of the cutting part. */
  readonly diameter: number;
  readonly cornerRadius: number;
  readonly tipDiameter: number;
  /** Included, degrees. */
  readonly tipAngle: number;
  readonly fluteLength: number;
  /** From the tip to the holder. */
  readonly reach: number;
  readonly shankDiameter: number;
  /** From the collet nut upward. */
  readonly holder: readonly { readonly diameter: number; readonly length: number }[];
}

export interface JobProgram {
  /** "programs/01-board-scribe.ngc", from the job folder. */
  readonly file: string;
  readonly sha256: string;
  readonly side: SideName;
  readonly cutter: number;
  readonly cuts: readonly string[];
  readonly feedLength: number;
  readonly seconds: number;
  /** Of all moves, program frame. */
  readonly bounds: { readonly min: Vec3; readonly max: Vec3 };
  /** Lines of the text that tell the machine something, comments left out. */
  readonly blocks?: number;
  /** Moves of its cuts before runs of them became arcs. */
  readonly points?: number;
  /** Number of the side's section that it is for. */
  readonly section?: number;
}

export type JobStep =
  | { readonly program: string }
  | { readonly hand: string; readonly side: SideName /** Feature ids that glued wood fills. */; readonly fills: readonly string[] };

/** A cut: why it stands where it does, and what it asks of cutter and machine in its steady passes. */
export interface JobCut {
  readonly cut: string;
  readonly title: string;
  readonly why: string;
  readonly cutter?: number;
  /** mm, rpm, mm/min, N, W; bend is what of it shows on the finished surface. */
  readonly asks?: {
    readonly depth: number;
    readonly step: number;
    readonly rpm: number;
    readonly feed: number;
    readonly chip: number;
    readonly force: number;
    readonly bend: number;
    readonly power: number;
    readonly limitedBy: string;
  };
}

/** What of a side's holding comes nearest to anything that turns. */
export interface JobClearance {
  readonly side: SideName;
  readonly of: string;
  readonly role: string;
  readonly mm: number;
  readonly part: "cutter" | "shank" | "holder";
  readonly cut: string;
}

export interface JobFile {
  readonly format: "neckwright-job/1";
  readonly units: "mm";
  /** The hash is of order.json, followed by its drawing where it has one. */
  readonly order: {
    readonly name: string;
    readonly sha256: string;
    readonly drawing?: { readonly file: string; readonly sha256: string };
  };
  readonly shop: { readonly name: string; readonly sha256: string };
  /** True when stop findings kept the programs from being written; `programs` and `steps` are then empty. */
  readonly stopped: boolean;
  /** Stops that the order overrides by name, with its reason. */
  readonly overridden: readonly { readonly rule: string; readonly reason: string }[];
  readonly blank: { readonly length: number; readonly width: number; readonly thickness: number; readonly boardThickness: number };
  /** `rotation` (rad): of a neck that lies askew in its blank, about the nut's middle, from the length toward the far edge. */
  readonly placement: { readonly tipFromEnd: number; readonly centreFromDatum: number; readonly rotation?: number };
  readonly sides: readonly JobSide[];
  readonly cutters: readonly JobCutter[];
  readonly programs: readonly JobProgram[];
  /** In the order of work. */
  readonly steps: readonly JobStep[];
  /** Every cut in the order of work, with why it stands there. */
  readonly work?: readonly JobCut[];
  /** Height of the cusps that each cut may leave on the finished surface. */
  readonly cusps: Readonly<Record<string, number>>;
  /** Most of the rim (rad) that may meet wood of the depth given (mm), by roughing cut. */
  readonly engagement?: Readonly<Record<string, { readonly limit: number; readonly depth: number }>>;
  /** Of each side what stands nearest to the cutters' ways, and which strip lies nearest. */
  readonly clear?: readonly JobClearance[];
  /** Cell of the proof's stock maps. */
  readonly cell: number;
  readonly features: JobFeatures;
  /** Of the stages before the proof; the proof's own are in proof.json. */
  readonly findings: readonly Finding[];
  /** Every other file of the folder. */
  readonly files: readonly { readonly file: string; readonly sha256: string }[];
}

/** proof.json: what the proof of the programs' text measured. */
export interface ProofFile {
  readonly format: "neckwright-proof/1";
  readonly units: "mm";
  readonly order: { readonly name: string; readonly sha256: string };
  readonly cell: number;
  /** No stop among the findings. */
  readonly sound: boolean;
  readonly sides: readonly {
    readonly side: SideName;
    readonly programs: readonly ProgramFigure[];
    readonly regions: readonly RegionFigure[];
    readonly measures: readonly Measure[];
  }[];
  /** What only both sides together show: thickness. */
  readonly both: { readonly measures: readonly Measure[] };
  readonly findings: readonly Finding[];
}

const num = z.number();
const vec3 = z.tuple([num, num, num]);
const vec2 = z.tuple([num, num]);
const side = z.enum(["board", "carve"]);
const text = z.string();

const named = { name: text, role: z.enum(["fence pin", "end stop", "block", "screw", "support", "index pin"]) };
const solid = z.discriminatedUnion("kind", [
  z.object({ kind: z.literal("box"), min: vec3, max: vec3, ...named }),
  z.object({ kind: z.literal("cylinder"), x: num, y: num, diameter: num, zMin: num, zMax: num, ...named }),
  z.object({ kind: z.literal("prism"), points: z.array(vec2), zMin: num, zMax: num, ...named }),
]);

/** A file inside the job folder: no absolute path, no "..", no backslash. */
const inside = text.regex(/^(?!\/)(?!.*(?:^|\/)\.\.(?:\/|$))[^\\\0]+$/);

const finding = z.object({
  rule: text,
  severity: z.enum(["stop", "warn", "note"]),
  where: text,
  value: z.union([num, text, z.null()]),
  limit: z.union([num, text, z.null()]),
  unit: text,
  says: text,
  tryThis: text,
});

const schema = z.object({
  format: z.literal("neckwright-job/1"),
  units: z.literal("mm"),
  order: z.object({ name: text, sha256: text, drawing: z.object({ file: inside, sha256: text }).optional() }),
  shop: z.object({ name: text, sha256: text }),
  stopped: z.boolean(),
  overridden: z.array(z.object({ rule: text, reason: text })),
  blank: z.object({ length: num, width: num, thickness: num, boardThickness: num }),
  placement: z.object({ tipFromEnd: num, centreFromDatum: num, rotation: num.optional() }),
  sides: z.array(
    z.object({
      name: side,
      neckToProgram: z.tuple([num, num, num, num, num, num, num, num, num, num, num, num]),
      stock: z.object({ min: vec3, max: vec3 }),
      bed: num,
      holding: z.array(solid),
      safeZ: num,
      zeroOnBed: vec2,
      zeroSays: text,
      sections: z.array(z.object({ number: num, from: num, to: num, shift: vec2, holding: z.array(solid) })).optional(),
      real: z.tuple([num, num, num, num, num, num, num, num, num, num, num, num]).optional(),
    }),
  ),
  cutters: z.array(
    z.object({
      number: num,
      name: text,
      shape: z.enum(["flat", "ball", "bull", "taper", "vee", "drill"]),
      diameter: num,
      cornerRadius: num,
      tipDiameter: num,
      tipAngle: num,
      fluteLength: num,
      reach: num,
      shankDiameter: num,
      holder: z.array(z.object({ diameter: num, length: num })),
    }),
  ),
  programs: z.array(
    z.object({
      file: inside,
      sha256: text,
      side,
      cutter: num,
      cuts: z.array(text),
      feedLength: num,
      seconds: num,
      bounds: z.object({ min: vec3, max: vec3 }),
      blocks: num.optional(),
      points: num.optional(),
      section: num.optional(),
    }),
  ),
  work: z
    .array(
      z.object({
        cut: text,
        title: text,
        why: text,
        cutter: num.optional(),
        asks: z
          .object({ depth: num, step: num, rpm: num, feed: num, chip: num, force: num, bend: num, power: num, limitedBy: text })
          .optional(),
      }),
    )
    .optional(),
  steps: z.array(z.union([z.object({ program: inside }), z.object({ hand: text, side, fills: z.array(text) })])),
  cusps: z.record(text, num),
  engagement: z.record(text, z.object({ limit: num, depth: num.positive() })).optional(),
  clear: z.array(z.object({ side, of: text, role: text, mm: num, part: z.enum(["cutter", "shank", "holder"]), cut: text })).optional(),
  cell: num.positive(),
  features: FEATURES_SCHEMA,
  findings: z.array(finding),
  files: z.array(z.object({ file: inside, sha256: text })),
});

/** Throws InputError where a file says that it is of another kind or version than is read here. */
export function checkFormat(data: unknown, format: string, path: string, tryThis: string): void {
  const said = typeof data === "object" && data !== null && "format" in data ? data.format : undefined;
  if (said === format) return;
  throw new InputError(
    path,
    `its format is ${said === undefined ? "not stated" : JSON.stringify(said)}; read here is "${format}"`,
    tryThis,
  );
}

/** Reads job.json; throws InputError with the first place that is wrong. */
export function parseJobFile(source: string, path: string): JobFile {
  let data: unknown;
  try {
    data = JSON.parse(source);
  } catch (error) {
    const says = error instanceof Error ? error.message : String(error);
    throw new InputError(path, `this is not JSON, or only part of it: ${says}`, "make the folder again");
  }
  checkFormat(data, "neckwright-job/1", path, "make the folder again, with this version of the program");
  const result = schema.safeParse(data);
  if (!result.success) {
    const first = result.error.issues[0];
    throw new InputError(path, `${first.path.join(".") || "the file"}: ${first.message}`, "make the folder again");
  }
  return result.data as JobFile;
}

const listed = z.object({ format: z.literal("neckwright-job/1"), files: z.array(z.object({ file: z.string(), sha256: z.string() })) });

/** The files that a job file says make has written, with their hashes; null when it is no job file. Nothing else of it is looked at. */
export function filesOfJob(source: string): JobFile["files"] | null {
  try {
    const found = listed.safeParse(JSON.parse(source));
    return found.success ? found.data.files : null;
  } catch {
    return null;
  }
}

/** Two-space JSON with a line end; numbers as JavaScript prints them; the same bytes for the same value. */
export const jsonBytes = (value: unknown): Uint8Array => new TextEncoder().encode(`${JSON.stringify(value, null, 2)}\n`);
