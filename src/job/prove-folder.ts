import { join } from "node:path";
import { neckBudget } from "../holding/budget/neck.ts";
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { fitRecesses } from "../paths/index.ts";
import type { Proof } from "../proof/index.ts";
import type { ProofProgram } from "../proof/types.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { type Disk, realDisk } from "./disk.ts";
import { InputError, throwIfCancelled } from "./errors.ts";
import { type JobFile, type ProofFile, parseJobFile } from "./files.ts";
import { sha256 } from "./hash.ts";
import { checkFolder, MAX_JOB_BYTES, MAX_PROGRAM_BYTES, readInput, readText } from "./input.ts";
import { cuttersOf, jobCutter, jobSides, programOf } from "./job-file.ts";
import { readOrderSource } from "./order-source.ts";
import { shownOf } from "./papers.ts";
import type { Pool, Progress } from "./pool.ts";
import { HOLDING_CHANGED, NOTHING_TO_PROVE, ORDER_CHANGED, PROGRAM_CHANGED, PROGRAM_FOREIGN, PROGRAM_MISSING } from "./rules.ts";
import { cuttersUsed, planBothSides, proofFile, proveAll } from "./sides.ts";
import { MAX_SOURCE_BYTES, readOrder, readShop } from "./source.ts";
import { judge } from "./verdict.ts";

export interface ProveOptions {
  /** Cell of the stock maps, mm; null: as when the folder was made. */
  readonly cell: number | null;
  readonly pool: Pool;
  readonly progress?: Progress;
  readonly signal?: AbortSignal;
  readonly disk?: Disk;
}

export interface Proved {
  readonly job: JobFile;
  readonly proof: ProofFile;
  /** With the stock that is left. */
  readonly measured: Proof;
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
  readonly findings: readonly Finding[];
  readonly blocking: readonly Finding[];
  readonly overridden: OrderSpec["overrides"];
}

/**
 * Repeats the proof of a folder that was made earlier, from the programs as they lie there now. The neck comes from the
 * folder's order, sides and cutters from its job.json; where those no longer agree with each other, a finding stops it.
 */
export async function proveFolder(folder: string, options: ProveOptions): Promise<Proved> {
  const disk = options.disk ?? realDisk;
  const progress = options.progress ?? (() => undefined);
  await checkFolder(folder, "made folder", disk);
  const jobPath = join(folder, "job.json");
  const job = parseJobFile(await readText(jobPath, "job file", MAX_JOB_BYTES, disk), jobPath);
  const findings: Finding[] = [];
  const orderSource = await readOrderSource(join(folder, "order.json"), disk);
  const order = readOrder(orderSource);
  const shop = readShop({
    path: join(folder, "shop.json"),
    bytes: await readInput(join(folder, "shop.json"), "shop", MAX_SOURCE_BYTES, disk),
  });
  if (order.value === null || shop.value === null) {
    const first = [...order.findings, ...shop.findings].find((f) => f.severity === "stop");
    throw new InputError(
      join(folder, order.value === null ? "order.json" : "shop.json"),
      first?.says ?? "this file cannot be read",
      "make the folder again",
    );
  }
  // the order's hash is of its drawing too: say which of the two it was
  const { drawing } = job.order;
  const redrawn = drawing !== undefined && orderSource.drawing !== undefined && sha256(orderSource.drawing) !== drawing.sha256;
  for (const [file, was, is] of [
    [redrawn ? drawing.file : "order.json", job.order.sha256, order.sha256],
    ["shop.json", job.shop.sha256, shop.sha256],
  ] as const) {
    if (was !== is) findings.push(changed(file, was, is));
  }
  const ordered = fitRecesses(order.value, shop.value).order;
  const neck = makeNeck(ordered);
  const holding = planHolding(neck, shop.value.machine, shop.value.cutters);
  if (!sameJson(job.sides, jobSides(holding))) {
    findings.push(mismatch("sides", "The sides in job.json are not those that the folder's order and shop give."));
  }
  if (!sameJson(job.cutters, cuttersUsed(job.programs, shop.value).map(jobCutter))) {
    findings.push(mismatch("cutters", "The cutters in job.json are not those that the folder's shop gives."));
  }
  const programs = await readPrograms(folder, job, disk, findings);
  throwIfCancelled(options.signal);

  const cell = options.cell ?? job.cell;
  const proved = await proveAll(
    {
      order: ordered,
      shop: { ...shop.value, cutters: cuttersOf(job, shop.value) },
      sides: job.sides,
      programs,
      steps: job.steps.filter((s) => !("program" in s) || programs.some((p) => p.file === s.program)),
      cusps: job.cusps,
      ...(job.engagement && { engagement: job.engagement }),
      cell,
    },
    options.pool,
    progress,
  );
  const proof = proofFile(job.order, cell, proved);
  const all = [...findings, ...proof.findings];
  const { blocking, overridden } = judge(all, ordered.overrides);
  return { job, proof, measured: proved, order: ordered, shop: shop.value, findings: all, blocking, overridden };
}

/** The programs as they are now; what is missing, changed or not listed becomes a finding. */
async function readPrograms(folder: string, job: JobFile, disk: Disk, findings: Finding[]): Promise<ProofProgram[]> {
  const programs: ProofProgram[] = [];
  if (job.programs.length === 0) {
    findings.push(
      finding(NOTHING_TO_PROVE, {
        where: "job.json",
        value: 0,
        limit: 1,
        unit: "programs",
        says: "This job was stopped by findings; there are no programs to prove.",
        tryThis: "See the findings in job.json, mend the order or the shop, and make it again.",
      }),
    );
  }
  for (const p of job.programs) {
    try {
      const text = await readInput(join(folder, p.file), "program", MAX_PROGRAM_BYTES, disk);
      const now = sha256(text);
      if (now !== p.sha256) {
        findings.push(
          finding(PROGRAM_CHANGED, {
            where: p.file,
            value: now.slice(0, 12),
            limit: p.sha256.slice(0, 12),
            unit: "",
            says: "This program was changed since it was made; the proof is of the text as it is now.",
            tryThis: "If nobody meant to change it, make the folder again.",
          }),
        );
      }
      programs.push(programOf(p, text));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      findings.push(
        finding(PROGRAM_MISSING, {
          where: p.file,
          value: null,
          limit: null,
          unit: "",
          says: `This program belongs to the job, but ${error.message}.`,
          tryThis: "Make the folder again; without it the rest must not be run.",
        }),
      );
    }
  }
  const listed = new Set(job.programs.map((p) => p.file));
  for (const path of await disk.list(folder)) {
    if (!path.startsWith("programs/") || listed.has(path)) continue;
    findings.push(
      finding(PROGRAM_FOREIGN, {
        where: path,
        value: null,
        limit: null,
        unit: "",
        says: "This file lies among the programs but does not belong to the job; it was not proved.",
        tryThis: "Move it elsewhere, so that nobody runs it.",
      }),
    );
  }
  return programs;
}

const sameJson = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(sorted(b, a));

/** The value with its keys in the order the other has them, so that only contents are compared. */
function sorted(value: unknown, like: unknown): unknown {
  if (Array.isArray(value)) return value.map((v, k) => sorted(v, Array.isArray(like) ? like[k] : undefined));
  if (typeof value !== "object" || value === null) return value;
  const entries = new Map(Object.entries(value));
  const keys = typeof like === "object" && like !== null ? Object.keys(like) : [];
  const order = [...keys.filter((k) => entries.has(k)), ...[...entries.keys()].filter((k) => !keys.includes(k))];
  return Object.fromEntries(order.map((k) => [k, sorted(entries.get(k), (like as Record<string, unknown> | undefined)?.[k])]));
}

const changed = (file: string, was: string, is: string): Finding =>
  finding(ORDER_CHANGED, {
    where: file,
    value: is.slice(0, 12),
    limit: was.slice(0, 12),
    unit: "",
    says: `${file} is not the one the programs were made from.`,
    tryThis: "Make the folder again from the order you mean.",
  });

const mismatch = (where: string, says: string): Finding =>
  finding(HOLDING_CHANGED, { where: `job.json: ${where}`, value: null, limit: null, unit: "", says, tryThis: "Make the folder again." });

/** The report of a repeated proof, with the plan that the order gives and what the earlier stages had found. */
export async function reportOfProof(proved: Proved, pool: Pool): Promise<Uint8Array> {
  const { order, shop, job } = proved;
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine, shop.cutters);
  const plan = await planBothSides(order, shop, pool, () => undefined);
  const built = {
    order,
    shop,
    orderHash: job.order.sha256,
    neck,
    holding,
    budget: neckBudget(neck, shop.machine).outcomes,
    plan,
    steps: job.steps,
    programs: job.programs,
    proof: proved.measured,
  };
  const { reportBytes, reportInput } = await import("./paper-half.ts");
  return reportBytes(reportInput(shownOf(built), { findings: [...job.findings, ...proved.findings] }));
}
