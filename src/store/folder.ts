import { randomBytes } from "node:crypto";
import {
  closeSync,
  fsyncSync,
  lstatSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  writeSync,
} from "node:fs";
import { join } from "node:path";
import { codeOfError, InputError } from "../job/errors.ts";
import { sha256 } from "../job/hash.ts";
import { textOf } from "../job/input.ts";
import { checkSize, fileOf, type MadeRecord, type Opened, type PaperKind, type Records, type Saved } from "../job/records.ts";
import { MAX_SOURCE_BYTES } from "../job/source.ts";
import { withLock } from "./lock.ts";
import { keepParts } from "./parts.ts";
import { SqliteStore } from "./sqlite.ts";
import { type Said, type Store, StoreError } from "./types.ts";

/*
 * A shop's folder with its memory: the orders and shops stay plain files that any editor can change, and every version of them is kept in
 * .neckwright/shop.db. A save writes the file and pushes it to the medium, then the database, under one lock that holds across processes. Killed
 * between the two, the file is newer than the database: like any file that somebody changed from outside, it is taken in when it is next
 * looked at. So the file is what counts, and what was acknowledged is in both.
 */

/** Of the folder in which the memory lies. */
export const MEMORY = ".neckwright";
export const PAPER: RegExp = /^([a-z0-9]+(?:-[a-z0-9]+)*)\.(order|shop)\.json$/;

export interface MemoryOptions {
  /** ISO 8601, UTC. */
  readonly now?: () => string;
}

export class FolderMemory implements Records {
  readonly folder: string;
  readonly store: Store;
  private readonly now: () => string;
  private readonly home: string;

  /** Opens a folder's memory and makes one where there is none. */
  constructor(folder: string, options: MemoryOptions = {}) {
    this.folder = realpathSync(folder);
    this.now = options.now ?? (() => new Date().toISOString());
    this.home = join(this.folder, MEMORY);
    for (const path of [this.home, join(this.home, "locks")]) {
      const s = lstatSync(path, { throwIfNoEntry: false });
      if (s === undefined) mkdirSync(path, { recursive: true, mode: 0o700 });
      else if (!s.isDirectory()) throw new StoreError(`${path} is a link or a file.`, "Put a plain folder there.");
    }
    this.store = new SqliteStore(join(this.home, "shop.db"));
  }

  said(by: string): Said {
    return { at: this.now(), by };
  }

  /** What stands in the file; null without one. Links are not followed: they would lead out of the folder. */
  private read(name: string, kind: PaperKind): Opened | null {
    const path = join(this.folder, fileOf(name, kind));
    try {
      const s = lstatSync(path);
      if (!s.isFile()) throw new InputError(path, "this is not a plain file", "copy the file itself into the shop's folder");
      if (s.size > MAX_SOURCE_BYTES)
        throw new InputError(path, `this has ${s.size} bytes; at most ${MAX_SOURCE_BYTES} are read`, "check that this is the right file");
      const bytes = readFileSync(path);
      return { text: textOf(bytes, path, kind), mark: sha256(bytes) };
    } catch (e) {
      if (codeOfError(e) === "ENOENT") return null;
      if (codeOfError(e) !== "") throw new InputError(path, `this cannot be read (${codeOfError(e)})`, "look at the file and its rights");
      throw e;
    }
  }

  /** Takes in what stands in the file, when the memory does not know it as the last version. Half-written JSON waits until it is whole. */
  private takeIn(name: string, kind: PaperKind, by = "file"): Opened | null {
    const file = this.read(name, kind);
    const kept = this.store.get(kind, name);
    if (file === null) {
      if (kept !== null) this.store.remove(kind, name, kept.mark, this.said(by));
      return null;
    }
    if (file.mark !== kept?.mark) this.keep(name, kind, file.text, kept?.mark ?? null, this.said(by));
    return file;
  }

  private keep(name: string, kind: PaperKind, text: string, base: string | null, said: Said): void {
    try {
      this.store.put(kind, name, text, base, said);
    } catch (e) {
      // a file that is no JSON is opened and shown as it is; there is no version to keep of it
      if (e instanceof StoreError) return;
      throw e;
    }
    if (kind === "shop") keepParts(this.store, name, text, said);
  }

  /** Every order and shop of the folder as it stands now, taken in. */
  takeInAll(): void {
    const papers = readdirSync(this.folder).flatMap((f) => PAPER.exec(f) ?? []);
    const seen = new Set<string>();
    for (let k = 0; k < papers.length; k += 3) {
      const [, name, kind] = papers.slice(k, k + 3) as [string, string, PaperKind];
      seen.add(`${kind}/${name}`);
      try {
        this.store.together(() => this.takeIn(name, kind));
      } catch (e) {
        if (!(e instanceof InputError)) throw e;
      }
    }
    for (const kind of ["order", "shop"] as const)
      for (const head of this.store.list(kind))
        if (!seen.has(`${kind}/${head.name}`)) this.store.together(() => this.takeIn(head.name, kind));
  }

  open(name: string, kind: PaperKind): Promise<Opened> {
    return settled(() => {
      fileOf(name, kind);
      const file = this.read(name, kind);
      const known = file !== null && this.store.get(kind, name)?.mark === file.mark;
      const now = known ? file : this.store.together(() => this.takeIn(name, kind));
      if (now === null) throw missing(join(this.folder, fileOf(name, kind)), kind);
      return now;
    });
  }

  save(name: string, kind: PaperKind, text: string, base: string, by = "bench"): Promise<Saved> {
    return settled(() => {
      const file = fileOf(name, kind);
      checkSize(text, file);
      return this.store.together((): Saved => {
        const now = this.takeIn(name, kind);
        if (now === null && base !== "") throw missing(join(this.folder, file), kind);
        if (now !== null && now.mark !== base) return { conflict: now };
        if (now?.text === text) return { mark: now.mark };
        const put = this.store.put(kind, name, text, this.store.get(kind, name)?.mark ?? null, this.said(by));
        if (!("head" in put)) throw new Error("the lock did not hold");
        if (kind === "shop") keepParts(this.store, name, text, this.said(by));
        replaceFile(join(this.folder, file), text);
        return { mark: put.head.mark };
      });
    });
  }

  made(record: MadeRecord, by = "bench"): Promise<void> {
    return settled(() => this.store.putJob({ ...record, ...this.said(by) }));
  }

  alone<T>(order: string, act: () => Promise<T>): Promise<T> {
    fileOf(order, "order");
    return withLock(join(this.home, "locks", `${order}.lock`), act);
  }

  /** A folder of the shop's folder; never one that a link leads elsewhere. */
  inside(name: "drawings" | "jobs"): string {
    const path = join(this.folder, name);
    const s = lstatSync(path, { throwIfNoEntry: false });
    if (s !== undefined && !s.isDirectory()) throw new InputError(path, "this is a link or a file", "put a plain folder there");
    return path;
  }

  close(): void {
    this.store.close();
  }
}

/** The outcome of something that is done at once, as a promise. */
function settled<T>(act: () => T): Promise<T> {
  return new Promise((resolve) => resolve(act()));
}

const missing = (path: string, kind: PaperKind): InputError =>
  new InputError(path, `there is no such file (the ${kind})`, "check the spelling and the folder you are in");

/** Writes beside the file, pushes it to the medium, takes its name, and pushes that too. */
export function replaceFile(path: string, text: string): void {
  const temporary = `${path}.${randomBytes(4).toString("hex")}.tmp`;
  try {
    const fd = openSync(temporary, "wx");
    try {
      const bytes = Buffer.from(text, "utf8");
      for (let at = 0; at < bytes.length; ) at += writeSync(fd, bytes, at);
      fsyncSync(fd);
    } finally {
      closeSync(fd);
    }
    renameSync(temporary, path);
    syncFolder(join(path, ".."));
  } catch (e) {
    rmSync(temporary, { force: true });
    throw e;
  }
}

export function syncFolder(path: string): void {
  if (process.platform === "win32") return;
  const fd = openSync(path, "r");
  try {
    fsyncSync(fd);
  } finally {
    closeSync(fd);
  }
}
