import { randomUUID } from "node:crypto";
import { mkdir, readdir, realpath } from "node:fs/promises";
import { dirname, join } from "node:path";
import { parseOrder } from "../spec/index.ts";
import type { CacheOptions } from "./cache/store.ts";
import { type Disk, realDisk } from "./disk.ts";
import { InputError } from "./errors.ts";
import type { Exported, ExportKind } from "./export.ts";
import { type JobFile, parseJobFile } from "./files.ts";
import { sha256 } from "./hash.ts";
import { MAX_JOB_BYTES, readInput, textOf } from "./input.ts";
import { makeJob } from "./make.ts";
import { readOrderSource } from "./order-source.ts";
import type { Paper } from "./papers.ts";
import { makePool, type Pool } from "./pool.ts";
import { fileOf as named, type Opened, PlainRecords, type Records, type Saved } from "./records.ts";
import { MAX_SOURCE_BYTES } from "./source.ts";
import { writeFolder } from "./write.ts";

/*
 * A shop's folder as the bench works in it: NAME.order.json and NAME.shop.json lie in it, what was made of an order in jobs/NAME. Names come from
 * outside and are held to letters, digits and dashes, so that no path can be built from one.
 */

export interface OrderHead {
  readonly name: string;
  readonly title: string;
}

export type { Opened, Saved } from "./records.ts";

/** How far a job is, as the bench shows it. */
export interface JobState {
  readonly id: string;
  readonly order: string;
  readonly shop: string;
  readonly orderMark: string;
  readonly state: "working" | "done" | "stopped" | "failed" | "cancelled";
  readonly share: number;
  readonly says: string;
}

const FILE = /^([a-z0-9]+(?:-[a-z0-9]+)*)\.(order|shop)\.json$/;

/** The thread that exports is kept for this long after it was last asked, ms. */
const EXPORTS_REST_MS = 30_000;

interface Running {
  state: JobState;
  readonly cancel: AbortController;
  readonly listeners: Set<(state: JobState) => void>;
}

/** One shop's folder. Files are written whole or not at all; one job runs at a time for each order. */
export class ShopFolder {
  readonly folder: string;
  private readonly disk: Disk;
  private readonly workers: number;
  /** Where the jobs' results are kept; null: nowhere. */
  private readonly cache: CacheOptions | null;
  /** Of the proof's maps, mm. */
  private readonly cell: number;
  private readonly jobs = new Map<string, Running>();
  private exporting: Promise<unknown> = Promise.resolve();
  private exporter: Pool | null = null;
  private exporterEnds: NodeJS.Timeout | null = null;
  private readonly records: Records;

  constructor(
    folder: string,
    options: {
      readonly disk?: Disk;
      readonly workers?: number;
      readonly cell?: number;
      readonly records?: Records;
      readonly cache?: CacheOptions | null;
    } = {},
  ) {
    this.folder = folder;
    this.disk = options.disk ?? realDisk;
    this.records = options.records ?? new PlainRecords(folder, this.disk);
    this.workers = options.workers ?? 2;
    this.cache = options.cache ?? null;
    this.cell = options.cell ?? 0.1;
  }

  async shelf(): Promise<{ readonly orders: readonly OrderHead[]; readonly shops: readonly string[] }> {
    const files = (await readdir(this.folder)).map((f) => FILE.exec(f)).filter((m) => m !== null);
    const orders: OrderHead[] = [];
    for (const name of files
      .filter((m) => m[2] === "order")
      .map((m) => m[1])
      .sort())
      orders.push({ name, title: await this.titleOf(name) });
    return {
      orders,
      shops: files
        .filter((m) => m[2] === "shop")
        .map((m) => m[1])
        .sort(),
    };
  }

  private async titleOf(name: string): Promise<string> {
    try {
      return parseOrder((await this.open(name, "order")).text).value?.title ?? name;
    } catch {
      return name;
    }
  }

  open(name: string, kind: "order" | "shop"): Promise<Opened> {
    return this.records.open(name, kind);
  }

  /** The headstock drawing that an order asks for; null when it asks for none. */
  async drawing(name: string): Promise<Uint8Array | null> {
    return (await readOrderSource(join(this.folder, named(name, "order")), this.disk)).drawing ?? null;
  }

  /** Saves an order or a shop that the caller last saw as `base`. When the file is another by now nothing is written, and it comes back. */
  save(name: string, text: string, base: string, kind: "order" | "shop" = "order", by?: string): Promise<Saved> {
    return this.records.save(name, kind, text, base, by);
  }

  /** Where what was made of an order lies. */
  jobFolder(order: string): string {
    named(order, "order");
    return join(this.folder, "jobs", order);
  }

  /** The job of an order: the one at work or last at work here, else what lies made in its folder from before. */
  async last(order: string): Promise<JobState | null> {
    const here = this.jobs.get(order)?.state;
    if (here !== undefined) return here;
    const folder = this.jobFolder(order);
    try {
      const bytes = await readInput(join(folder, "order.json"), "order", MAX_SOURCE_BYTES, this.disk);
      const path = join(folder, "job.json");
      const job = parseJobFile(textOf(await readInput(path, "job", MAX_JOB_BYTES, this.disk), path, "job"), path);
      const n = job.programs.length;
      return {
        id: `made-${sha256(bytes).slice(0, 16)}`,
        order,
        shop: job.shop.name,
        orderMark: sha256(bytes),
        state: job.stopped ? "stopped" : "done",
        share: 1,
        says: job.stopped ? "Stopped by findings: no programs were written." : `Made and proved: ${n} programs.`,
      };
    } catch {
      // nothing made, or nothing that can be read: the order has no job
      return null;
    }
  }

  /** What lies made of an order; null without. */
  async made(order: string): Promise<JobFile | null> {
    const path = join(this.jobFolder(order), "job.json");
    if ((await this.disk.kind(path)) === null) return null;
    return parseJobFile(textOf(await readInput(path, "job", MAX_JOB_BYTES, this.disk), path, "job"), path);
  }

  /** Files of one kind that an order's neck leaves the house as, made anew from what stands there; one at a time, on a thread of its own. */
  exported(order: string, shop: string | null, kind: ExportKind, paper: Paper): Promise<Exported> {
    const make = async (): Promise<Exported> => {
      const source = await readOrderSource(join(this.folder, named(order, "order")), this.disk);
      const path = shop === null ? null : join(this.folder, named(shop, "shop"));
      const beside = path === null ? null : { path, bytes: await readInput(path, "shop", MAX_SOURCE_BYTES, this.disk) };
      if (this.exporterEnds !== null) clearTimeout(this.exporterEnds);
      this.exporter ??= makePool(Math.min(1, this.workers));
      try {
        return await this.exporter.run("exported", { order: source, shop: beside, kinds: [kind], paper });
      } finally {
        this.exporterEnds = setTimeout(() => void this.endExports(), EXPORTS_REST_MS);
        this.exporterEnds.unref();
      }
    };
    const mine = this.exporting.then(make);
    this.exporting = mine.catch(() => undefined);
    return mine;
  }

  private async endExports(): Promise<void> {
    if (this.exporterEnds !== null) clearTimeout(this.exporterEnds);
    const { exporter } = this;
    this.exporter = null;
    await exporter?.close();
  }

  byId(
    id: string,
  ): { readonly state: JobState; readonly listen: (f: (s: JobState) => void) => () => void; readonly cancel: () => void } | null {
    const found = [...this.jobs.values()].find((j) => j.state.id === id);
    if (found === undefined) return null;
    return {
      state: found.state,
      listen: (f) => {
        found.listeners.add(f);
        return () => found.listeners.delete(f);
      },
      cancel: () => found.cancel.abort(),
    };
  }

  /** How many jobs are at work. */
  working(): number {
    return [...this.jobs.values()].filter((j) => j.state.state === "working").length;
  }

  /** Starts making an order; the one already running for it goes on and is given back. */
  async start(order: string, shop: string, by?: string): Promise<JobState> {
    const running = this.jobs.get(order);
    if (running?.state.state === "working") return running.state;
    const source = await readOrderSource(join(this.folder, named(order, "order")), this.disk);
    const shopPath = join(this.folder, named(shop, "shop"));
    const shopBytes = await readInput(shopPath, "shop", MAX_SOURCE_BYTES, this.disk);
    const job: Running = {
      state: { id: randomUUID(), order, shop, orderMark: sha256(source.bytes), state: "working", share: 0, says: "reading the order" },
      cancel: new AbortController(),
      listeners: new Set(),
    };
    this.jobs.set(order, job);
    const tell = (part: Partial<JobState>): void => {
      job.state = { ...job.state, ...part };
      for (const f of job.listeners) f(job.state);
    };
    void this.work(job, source, { path: shopPath, bytes: shopBytes }, tell, by);
    return job.state;
  }

  private async work(
    job: Running,
    source: Parameters<typeof makeJob>[0],
    shop: Parameters<typeof makeJob>[1],
    tell: (part: Partial<JobState>) => void,
    by?: string,
  ): Promise<void> {
    const { signal } = job.cancel;
    const pool = makePool(this.workers, signal, this.cache);
    let at = 0;
    try {
      const made = await makeJob(source, shop, {
        cell: this.cell,
        paper: "A4",
        pool,
        signal,
        progress: (share, says) => {
          // no more messages than a screen can show
          if (share - at < 0.005 && share < 1) return;
          at = share;
          tell({ share, says });
        },
      });
      if (made.files === null) {
        tell({ state: "failed", says: made.findings.map((f) => `${f.where}: ${f.says}`).join(" ") });
        return;
      }
      const folder = this.jobFolder(job.state.order);
      await mkdir(dirname(folder), { recursive: true });
      // a link of this name would lead the files out of the shop's folder
      if ((await realpath(dirname(folder))) !== join(await realpath(this.folder), "jobs"))
        throw new InputError(dirname(folder), "this is a link out of the shop's folder", "put a plain folder there");
      const { id, order, orderMark, shop: shopName } = job.state;
      const { files } = made;
      await this.records.alone(order, () => writeFolder(folder, files, { disk: this.disk, signal, replace: true }));
      const programs = (made.job?.programs ?? []).map((p) => ({ file: p.file, sha256: p.sha256 }));
      const n = programs.length;
      const state = made.blocking.length > 0 ? "stopped" : "done";
      await this.records.made({ id, order, orderMark, shop: shopName, state, programs }, by);
      tell({
        state,
        share: 1,
        says:
          made.blocking.length > 0
            ? `Stopped by ${made.blocking.length} findings: no programs were written.`
            : `Made and proved: ${n} programs.`,
      });
    } catch (error) {
      if (signal.aborted) tell({ state: "cancelled", says: "Cancelled; what was made before is untouched." });
      else tell({ state: "failed", says: error instanceof Error ? error.message : String(error) });
    } finally {
      await pool.close();
    }
  }

  /** Ends every job and waits until their workers are gone. */
  async close(): Promise<void> {
    const ended = [...this.jobs.values()]
      .filter((j) => j.state.state === "working")
      .map((j) => {
        const end = new Promise<void>((done) => j.listeners.add((s) => s.state !== "working" && done()));
        j.cancel.abort();
        return end;
      });
    await Promise.all([...ended, this.endExports()]);
  }
}
