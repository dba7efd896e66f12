import { basename, dirname, join } from "node:path";
import { makeNeck } from "../neck/index.ts";
import type { Neck } from "../neck/types.ts";
import { fitRecesses } from "../paths/index.ts";
import type { ProofProgram } from "../proof/types.ts";
import type { CutterSpec, OrderSpec, ShopSpec } from "../spec/types.ts";
import type { Disk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { type JobFile, parseJobFile } from "./files.ts";
import { sha256 } from "./hash.ts";
import { checkFolder, MAX_JOB_BYTES, MAX_PROGRAM_BYTES, readInput, readText } from "./input.ts";
import { cuttersOf, programOf } from "./job-file.ts";
import { readOrderSource } from "./order-source.ts";
import { MAX_SOURCE_BYTES, readOrder, readShop } from "./source.ts";

/** A made folder whose programs, order and shop are, byte for byte, those that were made and proved. */
export interface MadeJob {
  readonly folder: string;
  readonly job: JobFile;
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
  /** Cutters as job.json states them. */
  readonly cutters: readonly CutterSpec[];
  readonly neck: Neck;
  readonly programs: readonly ProofProgram[];
}

/** The folder that make wrote for an order of a shop's folder, or the folder itself. */
export function madeFolder(path: string): string {
  const order = /^(.+)\.order\.json$/.exec(basename(path));
  return order === null ? path : join(dirname(path), "jobs", order[1]);
}

/** Only job.json, without looking at what lies beside it. */
export async function readJob(path: string, disk: Disk): Promise<{ readonly folder: string; readonly job: JobFile }> {
  const folder = madeFolder(path);
  if ((await disk.kind(join(folder, "batch.json"))) !== null)
    throw new InputError(
      folder,
      "this is a batch of several pieces: pieces are corrected, recorded and made again one by one",
      "name a piece's own made folder (batch.json lists them); a program that stopped goes on with resume on the batch",
    );
  await checkFolder(folder, "made folder", disk);
  const file = join(folder, "job.json");
  return { folder, job: parseJobFile(await readText(file, "job file", MAX_JOB_BYTES, disk), file) };
}

/** Opens a made folder; throws InputError where anything in it is not as it was made: on that nothing further is built. */
export async function openMade(path: string, disk: Disk): Promise<MadeJob> {
  const { folder, job } = await readJob(path, disk);
  const orderSource = await readOrderSource(join(folder, "order.json"), disk);
  const shopPath = join(folder, "shop.json");
  const order = readOrder(orderSource);
  const shop = readShop({ path: shopPath, bytes: await readInput(shopPath, "shop", MAX_SOURCE_BYTES, disk) });
  for (const [file, read, was] of [
    ["order.json", order, job.order.sha256],
    ["shop.json", shop, job.shop.sha256],
  ] as const)
    if (read.value === null || read.sha256 !== was)
      throw new InputError(join(folder, file), "this is not the file that the programs were made from", "make the folder again");
  if (job.stopped || job.programs.length === 0)
    throw new InputError(folder, "this job was stopped by findings; it has no programs", "mend the order or the shop, and make it again");
  const programs: ProofProgram[] = [];
  for (const p of job.programs) {
    const path = join(folder, p.file);
    if ((await disk.kind(path)) === null)
      throw new InputError(
        path,
        "this program of the job is not there any more",
        "make the folder again; nothing of it is built on what is missing",
      );
    const text = await readInput(path, "program", MAX_PROGRAM_BYTES, disk);
    if (sha256(text) !== p.sha256)
      throw new InputError(join(folder, p.file), "this program was changed since it was made and proved", "make the folder again");
    programs.push(programOf(p, text));
  }
  const cutters = cuttersOf(job, shop.value!);
  const fitted = fitRecesses(order.value!, shop.value!).order;
  return { folder, job, order: fitted, shop: shop.value!, cutters, neck: makeNeck(fitted), programs };
}
