import { join, resolve } from "node:path";
import { z } from "zod";
import type { SideName } from "../../holding/types.ts";
import type { Mm } from "../../units/index.ts";
import type { Disk } from "../disk.ts";
import { InputError } from "../errors.ts";
import { checkFormat } from "../files.ts";
import { sha256 } from "../hash.ts";
import { MAX_JOB_BYTES, MAX_PROGRAM_BYTES, readInput, readText } from "../input.ts";
import { type MadeJob, openMade } from "../made.ts";

export const BATCH_FORMAT = "neckwright-batch/1";

const text = z.string();
const inside = text.regex(/^(?!\/)(?!.*(?:^|\/)\.\.(?:\/|$))[^\\\0]+$/);
const schema = z.object({
  pieces: z
    .array(
      z.object({
        number: z.int().positive(),
        order: z.object({ name: text, sha256: text }),
        out: z.boolean(),
        folder: text.optional(),
        made: text.optional(),
      }),
    )
    .min(2),
  gap: z.number().positive(),
  cell: z.number().positive(),
  programs: z.array(
    z.object({
      file: inside,
      sha256: text,
      side: z.enum(["board", "carve"]),
      cutter: z.number(),
      cuts: z.array(text),
      seconds: z.number(),
    }),
  ),
  resumed: z.object({ file: text }).optional(),
});

/** What a batch's folder says of itself, and its programs as they were proved. */
export interface OpenBatch {
  readonly folder: string;
  readonly gap: Mm;
  readonly cell: Mm;
  /** Numbers of the pieces that had dropped out before. */
  readonly out: readonly number[];
  readonly pieces: readonly MadeJob[];
  /** Where the pieces' folders lie, as this process finds them. */
  readonly folders: readonly string[];
  readonly programs: readonly {
    readonly file: string;
    readonly sha256: string;
    readonly side: SideName;
    readonly cutter: number;
    readonly cuts: readonly string[];
    readonly text: Uint8Array;
  }[];
  /** Of batch.json. */
  readonly sha256: string;
}

/** One hash of all that a made folder's programs are: so a batch knows its pieces again. */
export const madeHash = (made: MadeJob): string =>
  sha256(new TextEncoder().encode([made.job.order.sha256, made.job.shop.sha256, ...made.job.programs.map((p) => p.sha256)].join(" ")));

export const isBatch = async (folder: string, disk: Disk): Promise<boolean> => (await disk.kind(join(folder, "batch.json"))) !== null;

/** Opens a batch's folder and its pieces'. Throws InputError where any of them is not as it was made. `moved`: folders of pieces that lie elsewhere now, by number. */
export async function openBatch(folder: string, moved: ReadonlyMap<number, string>, disk: Disk): Promise<OpenBatch> {
  const path = join(folder, "batch.json");
  const bytes = await readInput(path, "batch file", MAX_JOB_BYTES, disk);
  const again = "write the batch again (neckwright batch)";
  let data: unknown;
  try {
    data = JSON.parse(await readText(path, "batch file", MAX_JOB_BYTES, disk));
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw new InputError(path, `this is not JSON, or only part of it: ${error instanceof Error ? error.message : String(error)}`, again);
  }
  checkFormat(data, BATCH_FORMAT, path, again);
  const read = schema.safeParse(data);
  if (!read.success) {
    const [first] = read.error.issues;
    throw new InputError(path, `${first.path.join(".") || "the file"}: ${first.message}`, again);
  }
  const { pieces, programs, gap, cell, resumed } = read.data;
  if (resumed !== undefined)
    throw new InputError(
      folder,
      `this is the rest of a batch that went on after ${resumed.file} stopped; its programs do not show what was cut before`,
      "name the batch's own folder, with the place by a position or a pass, and --without as before",
    );
  for (const n of moved.keys())
    if (!pieces.some((p) => p.number === n))
      throw new InputError(`--piece ${n}`, "the batch has no such piece", `pieces are 1 to ${pieces.length}`);
  const texts = [];
  for (const p of programs) {
    const bytesOf = await readInput(join(folder, p.file), "program", MAX_PROGRAM_BYTES, disk);
    if (sha256(bytesOf) !== p.sha256)
      throw new InputError(join(folder, p.file), "this program was changed since it was written and proved", again);
    texts.push({ ...p, text: bytesOf });
  }
  const opened: MadeJob[] = [];
  const folders: string[] = [];
  for (const p of pieces) {
    const said = moved.get(p.number) ?? (p.folder === undefined ? undefined : resolve(folder, p.folder));
    const name = `piece ${p.number} (${p.order.name})`;
    if (said === undefined)
      throw new InputError(path, `it does not say where the folder of ${name} lies`, `name it: --piece "${p.number}=DIR"`);
    if ((await disk.kind(said))?.kind !== "folder")
      throw new InputError(said, `the folder of ${name} is not there any more`, `name it where it is now: --piece "${p.number}=DIR"`);
    const made = await openMade(said, disk);
    if (made.job.order.sha256 !== p.order.sha256 || (p.made !== undefined && p.made !== madeHash(made)))
      throw new InputError(
        said,
        `this is not the folder of ${name} that the batch was made of: its order, shop or programs are others`,
        `name the right one (--piece "${p.number}=DIR"), or write the batch again`,
      );
    opened.push(made);
    folders.push(said);
  }
  return {
    folder,
    gap,
    cell,
    out: pieces.filter((p) => p.out).map((p) => p.number),
    pieces: opened,
    folders,
    programs: texts,
    sha256: sha256(bytes),
  };
}
