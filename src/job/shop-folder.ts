import { randomUUID } from "node:crypto";
import { mkdir, open, readdir, rename, rm } from "node:fs/promises";
import { dirname, join } from "node:path";
import { parseOrder } from "../spec/index.ts";
import { type Disk, realDisk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { parseJobFile } from "./files.ts";
import { sha256 } from "./hash.ts";
import { MAX_JOB_BYTES, readInput, textOf } from "./input.ts";
import { makeJob } from "./make.ts";
import { readOrderSource } from "./order-source.ts";
import { makePool } from "./pool.ts";
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

/** A file's text and the mark of its content: a save names the mark it started from. */
export interface Opened {
  readonly text: string;
  readonly mark: string;
}

export type Saved = { readonly mark: string } | { readonly conflict: Opened };

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

const NAME = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;
const FILE = /^([a-z0-9]+(?:-[a-z0-9]+)*)\.(order|shop)\.json$/;

const named = (name: string, kind: "order" | "shop"): string => {
  if (!NAME.test(name) || name.length > 60)
    throw new InputError(name.slice(0, 60), `no ${kind} can be called so`, "use small letters, digits and dashes");
  return `${name}.${kind}.json`;
};

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
  /** Of the proof's maps, mm. */
  private readonly cell: number;
  private readonly jobs = new Map<string, Running>();
  /** Saves of one order wait for each other. */
  private readonly turns = new Map<string, Promise<unknown>>();

  constructor(folder: string, options: { readonly disk?: Disk; readonly workers?: number; readonly cell?: number } = {}) {
    this.folder = folder;
    this.disk = options.disk ?? realDisk;
    this.workers = options.workers ?? 2;
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

  async open(name: string, kind: "order" | "shop"): Promise<Opened> {
    const path = join(this.folder, named(name, kind));
    const bytes = await readInput(path, kind, MAX_SOURCE_BYTES, this.disk);
    return { text: textOf(bytes, path, kind), mark: sha256(bytes) };
  }

  /** The headstock drawing that an order asks for; null when it asks for none. */
  async drawing(name: string): Promise<Uint8Array | null> {
    return (await readOrderSource(join(this.folder, named(name, "order")), this.disk)).drawing ?? null;
  }

  /** Saves an order that the caller last saw as `base`. When the file is another by now nothing is written, and it comes back. */
  async save(name: string, text: string, base: string): Promise<Saved> {
    const file = named(name, "order");
    if (new TextEncoder().encode(text).length > MAX_SOURCE_BYTES) throw new InputError(file, "the order is too large", "shorten it");
    return this.inTurn(file, async () => {
      const now = await this.open(name, "order");
      if (now.mark !== base) return { conflict: now };
      if (text !== now.text) await replaceFile(join(this.folder, file), text);
      return { mark: sha256(new TextEncoder().encode(text)) };
    });
  }

  private async inTurn<T>(key: string, work: () => Promise<T>): Promise<T> {
    const before = this.turns.get(key) ?? Promise.resolve();
    const mine = before.then(work, work);
    this.turns.set(key, mine);
    try {
      return await mine;
    } finally {
      if (this.turns.get(key) === mine) this.turns.delete(key);
    }
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

  /** Starts making an order; the one already running for it goes on and is given back. */
  async start(order: string, shop: string): Promise<JobState> {
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
    void this.work(job, source, { path: shopPath, bytes: shopBytes }, tell);
    return job.state;
  }

  private async work(
    job: Running,
    source: Parameters<typeof makeJob>[0],
    shop: Parameters<typeof makeJob>[1],
    tell: (part: Partial<JobState>) => void,
  ): Promise<void> {
    const { signal } = job.cancel;
    const pool = makePool(this.workers, signal);
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
      await writeFolder(folder, made.files, { disk: this.disk, signal, replace: true });
      const n = made.job?.programs.length ?? 0;
      tell({
        state: made.blocking.length > 0 ? "stopped" : "done",
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
    await Promise.all(ended);
  }
}

/** Writes beside the file, pushes it to the medium, and takes its name: a crash leaves the old or the new, never half. */
async function replaceFile(path: string, text: string): Promise<void> {
  const temporary = `${path}.${randomUUID().slice(0, 8)}.tmp`;
  try {
    const file = await open(temporary, "wx");
    try {
      await file.writeFile(text, "utf8");
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, path);
    const folder = await open(dirname(path), "r");
    try {
      await folder.sync();
    } finally {
      await folder.close();
    }
  } catch (error) {
    await rm(temporary, { force: true });
    throw error;
  }
}
