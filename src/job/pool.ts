import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { Worker } from "node:worker_threads";
import { type Keeper, keeperOf } from "./cache/keeper.ts";
import { type CacheOptions, openCache } from "./cache/store.ts";
import { Cancelled, throwIfCancelled } from "./errors.ts";
import type { TaskInput, TaskName, TaskOutput } from "./tasks.ts";

export type Progress = (share: number, says: string) => void;

/** Runs tasks, each a pure function of its input; the results do not depend on how many run at once. */
export interface Pool {
  /** `soon`: before the tasks that wait, for one that others will have to wait for. */
  run<K extends TaskName>(name: K, input: TaskInput<K>, progress?: Progress, soon?: boolean): Promise<TaskOutput<K>>;
  /** Work is coming: starts the threads, so that they read their programs while this one prepares. */
  warm(): void;
  /** What was made before, for whoever wires the stages; null without a cache. */
  readonly keeper: Keeper | null;
  /** Ends the workers; tasks that still run are rejected. */
  close(): Promise<void>;
}

/** What a worker is sent, and what it sends back. */
export interface Request {
  readonly id: number;
  readonly name: TaskName;
  readonly input: unknown;
}
export type Reply =
  | { readonly id: number; readonly share: number; readonly says: string }
  | { readonly id: number; readonly output: unknown }
  | { readonly id: number; readonly error: { readonly name: string; readonly message: string; readonly stack: string } };

/** Tasks in this thread, one after another; the event loop turns between them. */
export function inProcess(signal?: AbortSignal, cache: CacheOptions | null = null): Pool {
  let last: Promise<unknown> = Promise.resolve();
  const keeper = cache === null ? null : keeperOf(openCache(cache));
  return {
    keeper,
    warm() {},
    run<K extends TaskName>(name: K, input: TaskInput<K>, progress: Progress = () => undefined): Promise<TaskOutput<K>> {
      const next = last.then(async () => {
        // loaded when there is something to do: a process with workers does not compute itself
        const { TASKS } = await import("./tasks.ts");
        const task = TASKS[name] as (
          input: TaskInput<K>,
          progress: Progress,
          keeper: Keeper | null,
        ) => TaskOutput<K> | Promise<TaskOutput<K>>;
        await new Promise((resolve) => setImmediate(resolve));
        throwIfCancelled(signal);
        const output = await task(input, progress, keeper);
        await new Promise((resolve) => setImmediate(resolve));
        throwIfCancelled(signal);
        return output;
      });
      last = next.catch(() => undefined);
      return next;
    },
    async close() {},
  };
}

/** The worker's bundle: beside the command's, or in dist/ seen from a source or from another bundle. */
function workerFile(): string | null {
  for (const place of ["./worker.mjs", "../worker.mjs", "../../dist/worker.mjs"]) {
    const path = fileURLToPath(new URL(place, import.meta.url));
    if (existsSync(path)) return path;
  }
  return null;
}

/** Room for what is thrown away soon, MB a worker: with the engine's own 48 half a second of a job goes into collecting it. */
const YOUNG = 96;

interface Job {
  readonly request: Request;
  readonly progress: Progress;
  readonly resolve: (output: unknown) => void;
  readonly reject: (error: unknown) => void;
  /** How often a worker has died over it by itself, and how often one was ended from outside. */
  died: number;
  ended: number;
}

/** When a task is given up. */
export interface Patience {
  /** Workers that died over it by themselves: out of memory, an error that nothing caught. */
  readonly died: number;
  /** Workers that were ended over it from outside, which says nothing about the task. */
  readonly ended: number;
}

/**
 * A task that is at fault is at fault again, so few tries tell; one that was hit is tried on: even where two of three tries are hit, one
 * task in a thousand million is given up.
 */
const PATIENCE: Patience = { died: 3, ended: 50 };

/** Ends from outside after which the task is begun again at once; then it waits, twice as long each time, up to the longest, ms. */
const AT_ONCE = 8;
const FIRST_WAIT = 10;
const LONGEST_WAIT = 1000;

/**
 * `count` worker threads, started when first needed. Falls back to this thread when count is 0 or the worker's bundle is
 * not there. `signal` ends the workers at once, whatever they are doing. `cache`: where results are kept, by all of them.
 * A task whose worker dies is given to another, until `patience` ends. `onStart` sees every worker that is started.
 */
export function makePool(
  count: number,
  signal?: AbortSignal,
  cache: CacheOptions | null = null,
  onStart: (worker: Worker) => void = () => undefined,
  patience: Patience = PATIENCE,
): Pool {
  const file = count > 0 ? workerFile() : null;
  if (file === null) return inProcess(signal, cache);
  const keeper = cache === null ? null : keeperOf(openCache(cache));
  const waiting: Job[] = [];
  const idle: Worker[] = [];
  const busy = new Map<Worker, Job>();
  const resting = new Map<Job, NodeJS.Timeout>();
  let nextId = 1;
  let closed = false;

  const settle = (worker: Worker): Job | undefined => {
    const job = busy.get(worker);
    busy.delete(worker);
    return job;
  };

  const onMessage = (worker: Worker, reply: Reply): void => {
    if ("share" in reply) {
      busy.get(worker)?.progress(reply.share, reply.says);
      return;
    }
    const job = settle(worker);
    idle.push(worker);
    if (job !== undefined) {
      if ("output" in reply) job.resolve(reply.output);
      else job.reject(Object.assign(new Error(reply.error.message), { name: reply.error.name, stack: reply.error.stack }));
    }
    next();
  };

  /** A worker has died; what it was at begins again with another, at once or after a wait. */
  const lost = (worker: Worker, byItself: boolean, error: unknown): void => {
    const at = idle.indexOf(worker);
    if (at >= 0) idle.splice(at, 1);
    const job = settle(worker);
    if (job !== undefined) {
      if (byItself) job.died++;
      else job.ended++;
      if (closed || job.died >= patience.died || job.ended >= patience.ended) job.reject(error);
      else if (job.ended <= AT_ONCE) waiting.unshift(job);
      else {
        const again = (): void => {
          resting.delete(job);
          waiting.unshift(job);
          next();
        };
        resting.set(job, setTimeout(again, Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** (job.ended - AT_ONCE - 1))));
      }
    }
    next();
  };

  const start = (path: string): Worker => {
    const worker = new Worker(path, { workerData: { cache }, resourceLimits: { maxYoungGenerationSizeMb: YOUNG } });
    worker.on("message", (reply: Reply) => onMessage(worker, reply));
    worker.on("error", (error) => lost(worker, true, error));
    // Node tells of an end from outside with this alone, with one code or another
    worker.on("exit", (code) => lost(worker, false, new Error(`a worker ended with code ${code} before it had answered`)));
    onStart(worker);
    return worker;
  };

  const next = (): void => {
    while (waiting.length > 0 && !closed) {
      const worker = idle.pop() ?? (busy.size < count ? start(file) : undefined);
      if (worker === undefined) return;
      const job = waiting.shift()!;
      busy.set(worker, job);
      // copied, not handed over: when the worker dies the task is sent again
      worker.postMessage(job.request);
    }
  };

  let stopping: Promise<unknown> | null = null;
  const stop = async (error: unknown): Promise<void> => {
    closed = true;
    for (const timer of resting.values()) clearTimeout(timer);
    for (const job of [...waiting.splice(0), ...resting.keys(), ...busy.values()]) job.reject(error);
    resting.clear();
    const workers = [...busy.keys(), ...idle];
    busy.clear();
    idle.length = 0;
    stopping = Promise.all([stopping, ...workers.map((w) => w.terminate())]);
    await stopping;
  };
  const onAbort = (): void => void stop(new Cancelled());
  signal?.addEventListener("abort", onAbort, { once: true });

  return {
    keeper,
    warm() {
      while (!closed && !signal?.aborted && idle.length + busy.size < count) idle.push(start(file));
    },
    run<K extends TaskName>(name: K, input: TaskInput<K>, progress: Progress = () => undefined, soon = false): Promise<TaskOutput<K>> {
      return new Promise((resolve, reject) => {
        if (closed || signal?.aborted) {
          reject(new Cancelled());
          return;
        }
        const job: Job = {
          request: { id: nextId++, name, input },
          progress,
          resolve: (output) => resolve(output as TaskOutput<K>),
          reject,
          died: 0,
          ended: 0,
        };
        if (soon) waiting.unshift(job);
        else waiting.push(job);
        next();
      });
    },
    async close() {
      signal?.removeEventListener("abort", onAbort);
      await stop(new Cancelled());
    },
  };
}
