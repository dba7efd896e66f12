import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { Worker } from "node:worker_threads";
import { InputError } from "./errors.ts";

/* Files from outside are read in a thread of their own that may take so much time and memory and no more. */

export type UploadKind = "photo" | "svg" | "dxf";

/** What the thread sends back. */
export type UploadReply =
  | { readonly media: string; readonly width: number; readonly height: number; readonly bytes: Uint8Array }
  | { readonly refused: string; readonly tryThis: string };

export type Upload = Exclude<UploadReply, { readonly refused: string }>;

export interface UploadLimits {
  readonly ms: number;
  readonly megabytes: number;
  /** The thread's bundle; default: beside the command's. */
  readonly script?: string;
}

const LIMITS: UploadLimits = { ms: 10_000, megabytes: 192 };
/** Threads at once; others wait. */
const MOST_AT_ONCE = 2;
let busy = 0;
const waiting: (() => void)[] = [];
const MOST_WAITING = 20;

function scriptFile(): string {
  for (const place of ["./upload-worker.mjs", "../upload-worker.mjs", "../../dist/upload-worker.mjs"]) {
    const path = fileURLToPath(new URL(place, import.meta.url));
    if (existsSync(path)) return path;
  }
  throw new Error("dist/upload-worker.mjs is not built: run npm run build");
}

/** Reads a file from outside. Throws InputError when it is not what it should be, or takes too much time or memory. */
export async function readUpload(kind: UploadKind, bytes: Uint8Array, limits: UploadLimits = LIMITS): Promise<Upload> {
  if (busy >= MOST_AT_ONCE) {
    if (waiting.length >= MOST_WAITING) throw new InputError("the upload", "too many files come in at once", "send it again in a moment");
    await new Promise<void>((go) => waiting.push(go));
  } else busy++;
  try {
    return await inThread(kind, bytes, limits);
  } finally {
    // whoever waits takes this place
    const next = waiting.shift();
    if (next === undefined) busy--;
    else next();
  }
}

function inThread(kind: UploadKind, bytes: Uint8Array, limits: UploadLimits): Promise<Upload> {
  const worker = new Worker(limits.script ?? scriptFile(), {
    workerData: { kind, bytes },
    resourceLimits: { maxOldGenerationSizeMb: limits.megabytes, maxYoungGenerationSizeMb: 32, stackSizeMb: 4 },
    // it needs nothing of this process's surroundings
    env: {},
    execArgv: [],
  });
  return new Promise<Upload>((resolve, reject) => {
    const refuse = (says: string, tryThis: string): void => reject(new InputError("the upload", says, tryThis));
    const timer = setTimeout(() => refuse(`reading it took longer than ${limits.ms / 1000} s`, "send a smaller file"), limits.ms);
    worker.once("message", (reply: UploadReply) => {
      clearTimeout(timer);
      if ("refused" in reply) refuse(reply.refused, reply.tryThis);
      else resolve(reply);
    });
    worker.once("error", (e: Error & { code?: string }) => {
      clearTimeout(timer);
      if (e.code === "ERR_WORKER_OUT_OF_MEMORY")
        refuse(`reading it took more than ${limits.megabytes} MB of memory`, "send a smaller file");
      else reject(e);
    });
    worker.once("exit", () => {
      clearTimeout(timer);
      refuse("it could not be read", "look at it in another program");
    });
  }).finally(() => worker.terminate());
}
