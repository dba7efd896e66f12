import { randomUUID } from "node:crypto";
import { open, rename, rm } from "node:fs/promises";
import { dirname, join } from "node:path";
import { type Disk, realDisk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { sha256 } from "./hash.ts";
import { readInput, textOf } from "./input.ts";
import { MAX_SOURCE_BYTES } from "./source.ts";

/* The orders and shops of a shop's folder, as whoever works in it opens and saves them: as plain files here, with all their versions in store/. */

/** A file's text and the mark of its content: a save names the mark it started from. */
export interface Opened {
  readonly text: string;
  readonly mark: string;
}

export type Saved = { readonly mark: string } | { readonly conflict: Opened };
export type PaperKind = "order" | "shop";

/** What was made of an order. */
export interface MadeRecord {
  readonly id: string;
  readonly order: string;
  readonly orderMark: string;
  readonly shop: string;
  readonly state: "done" | "stopped";
  readonly programs: readonly { readonly file: string; readonly sha256: string }[];
}

export interface Records {
  open(name: string, kind: PaperKind): Promise<Opened>;
  /** Saves what the caller last saw as `base` ("": there was none). When it is another by now nothing is written, and it comes back. */
  save(name: string, kind: PaperKind, text: string, base: string, by?: string): Promise<Saved>;
  made(record: MadeRecord, by?: string): Promise<void>;
  /** Runs while nobody else, in whatever process, writes what was made of this order. */
  alone<T>(order: string, act: () => Promise<T>): Promise<T>;
}

const NAME = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;

/** The file of an order or a shop. Names come from outside: letters, digits and dashes, so that no path can be built from one. */
export const fileOf = (name: string, kind: PaperKind): string => {
  if (!NAME.test(name) || name.length > 60)
    throw new InputError(name.slice(0, 60), `no ${kind} can be called so`, "use small letters, digits and dashes");
  return `${name}.${kind}.json`;
};

export function checkSize(text: string, where: string): void {
  if (new TextEncoder().encode(text).length > MAX_SOURCE_BYTES) throw new InputError(where, "this is too large", "shorten it");
}

/** Plain files, one process: saves of one file wait for each other. */
export class PlainRecords implements Records {
  private readonly folder: string;
  private readonly disk: Disk;
  private readonly turns = new Map<string, Promise<unknown>>();

  constructor(folder: string, disk: Disk = realDisk) {
    this.folder = folder;
    this.disk = disk;
  }

  async open(name: string, kind: PaperKind): Promise<Opened> {
    const path = join(this.folder, fileOf(name, kind));
    const bytes = await readInput(path, kind, MAX_SOURCE_BYTES, this.disk);
    return { text: textOf(bytes, path, kind), mark: sha256(bytes) };
  }

  async save(name: string, kind: PaperKind, text: string, base: string): Promise<Saved> {
    const file = fileOf(name, kind);
    checkSize(text, file);
    return this.alone(file, async () => {
      const path = join(this.folder, file);
      const now = (await this.disk.kind(path)) === null ? null : await this.open(name, kind);
      if (now === null && base !== "") await this.open(name, kind);
      if (now !== null && now.mark !== base) return { conflict: now };
      if (text !== now?.text) await replaceFile(path, text);
      return { mark: sha256(text) };
    });
  }

  made(): Promise<void> {
    // what was made lies in its own folder
    return Promise.resolve();
  }

  async alone<T>(key: string, act: () => Promise<T>): Promise<T> {
    const before = this.turns.get(key) ?? Promise.resolve();
    const mine = before.then(act, act);
    this.turns.set(key, mine);
    try {
      return await mine;
    } finally {
      if (this.turns.get(key) === mine) this.turns.delete(key);
    }
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
    await realDisk.syncFolder(dirname(path));
  } catch (error) {
    await rm(temporary, { force: true });
    throw error;
  }
}
