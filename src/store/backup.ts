import { randomBytes } from "node:crypto";
import { existsSync, lstatSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { InputError } from "../job/errors.ts";
import { hashOf, isPlainWay, type List, makeList, readArchive, writeArchive } from "./archive.ts";
import { FolderMemory, MEMORY, PAPER, syncFolder } from "./folder.ts";
import { SqliteStore } from "./sqlite.ts";
import { StoreError } from "./types.ts";

/*
 * Everything of a shop's folder as one ZIP: a copy of the database as it stood at one moment, the orders and shops as that database has them,
 * and every other plain file (drawings, what was made). Nothing has to stop for it.
 */

/** The database inside the archive. */
const DB = "shop.db";
/** Files change while they are read: how often it is begun anew. */
const TRIES = 5;

export interface BackedUp {
  readonly files: number;
  readonly bytes: number;
  readonly content: string;
}

/** Writes the backup to a new file, then restores it beside and compares: what this returns from can be restored. */
export async function backUp(folder: string, path: string, at: string): Promise<BackedUp> {
  if (existsSync(path)) throw new InputError(path, "there is something of this name", "choose another name; backups are not written over");
  if (lstatSync(folder, { throwIfNoEntry: false })?.isDirectory() !== true)
    throw new InputError(folder, "there is no such folder", "name a shop's folder");
  const target = resolve(path);
  const work = mkdtempSync(join(dirname(target), `.${basename(target)}.neckwright-`));
  try {
    const memory = new FolderMemory(folder, { now: () => at });
    try {
      for (let k = 1; ; k++) {
        memory.takeInAll();
        const zip = join(work, `${k}.zip`);
        const changed = await pack(memory, join(work, `${k}`), zip, at);
        if (changed === null) {
          const list = readArchive(zip, made(join(work, "check")));
          checkRestored(join(work, "check"), list, zip);
          renameSync(zip, target);
          syncFolder(dirname(target));
          return { files: list.files.length, bytes: list.files.reduce((n, f) => n + f.bytes, 0), content: list.content };
        }
        if (k === TRIES)
          throw new InputError(join(folder, changed), "this file keeps changing while it is backed up", "wait until it is written");
      }
    } finally {
      memory.close();
    }
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** One try. Returns the file that changed meanwhile, or null. */
async function pack(memory: FolderMemory, stage: string, zip: string, at: string): Promise<string | null> {
  mkdirSync(stage);
  await memory.store.copyTo(join(stage, DB));
  const copy = new SqliteStore(join(stage, DB));
  const staged = new Map<string, string>([[DB, join(stage, DB)]]);
  let content: string;
  try {
    content = copy.digest();
    for (const kind of ["order", "shop"] as const)
      for (const { name } of copy.list(kind)) {
        const file = `${name}.${kind}.json`;
        writeFileSync(join(stage, file), copy.get(kind, name)?.text ?? "");
        staged.set(file, join(stage, file));
      }
  } finally {
    copy.close();
  }
  const from = (file: string): string => staged.get(file) ?? join(memory.folder, file);
  // papers that the memory could not take in (not JSON) and everything else, as it lies there
  const others = plainFiles(memory.folder).filter((f) => !staged.has(f) && !(f === DB || (PAPER.test(f) && isKept(memory, f))));
  const files: { file: string; bytes: number; sha256: string }[] = [];
  for (const file of [...staged.keys(), ...others]) {
    try {
      files.push({ file, ...hashOf(from(file)) });
    } catch {
      return file;
    }
  }
  try {
    return writeArchive(zip, makeList(at, content, files), from);
  } catch (e) {
    if (e instanceof Error && "code" in e && e.code === "ENOENT") return "a file";
    throw e;
  }
}

/** A paper that came after the copy was made: the copy does not have it, and the next backup will. */
const isKept = (memory: FolderMemory, file: string): boolean => {
  const m = PAPER.exec(file) as RegExpExecArray;
  return memory.store.get(m[2] as "order" | "shop", m[1]) !== null;
};

/** Plain files of a folder and below, without links, hidden ones and what is being written. */
function plainFiles(folder: string): string[] {
  const found: string[] = [];
  const walk = (dir: string, prefix: string): void => {
    for (const e of readdirSync(dir, { withFileTypes: true })) {
      if (e.name.startsWith(".") || e.name.endsWith(".tmp") || !isPlainWay(prefix + e.name)) continue;
      if (e.isDirectory()) walk(join(dir, e.name), `${prefix}${e.name}/`);
      else if (e.isFile()) found.push(prefix + e.name);
    }
  };
  walk(folder, "");
  return found.sort();
}

const made = (folder: string): string => {
  mkdirSync(folder, { recursive: true });
  return folder;
};

/** Restores a backup as a new folder. Everything is unpacked and checked beside it first: the folder stands whole or not at all. */
export function restore(path: string, folder: string): BackedUp {
  if (lstatSync(path, { throwIfNoEntry: false })?.isFile() !== true)
    throw new InputError(path, "there is no such file", "name a file that `neckwright backup` wrote");
  const target = resolve(folder);
  const there = lstatSync(target, { throwIfNoEntry: false });
  if (there !== undefined && !(there.isDirectory() && readdirSync(target).length === 0))
    throw new InputError(
      folder,
      "there is something of this name",
      "choose the name of a new folder; nothing is restored over what is there",
    );
  mkdirSync(dirname(target), { recursive: true });
  const fresh = join(dirname(target), `.${basename(target)}.neckwright-new-${randomBytes(4).toString("hex")}`);
  mkdirSync(fresh);
  try {
    const list = readArchive(path, fresh);
    checkRestored(fresh, list, path);
    renameSync(fresh, target);
    syncFolder(dirname(target));
    return { files: list.files.length, bytes: list.files.reduce((n, f) => n + f.bytes, 0), content: list.content };
  } catch (e) {
    rmSync(fresh, { recursive: true, force: true });
    throw e;
  }
}

/** Puts the database in its place and holds it against the list. */
function checkRestored(folder: string, list: List, path: string): void {
  const bad = (says: string): InputError => new InputError(path, says, "use another backup; nothing was restored from this one");
  if (!list.files.some((f) => f.file === DB)) throw bad("there is no database in it");
  mkdirSync(join(folder, MEMORY), { mode: 0o700 });
  renameSync(join(folder, DB), join(folder, MEMORY, DB));
  let store: SqliteStore | null = null;
  try {
    store = new SqliteStore(join(folder, MEMORY, DB), { readOnly: true });
    const wrong = store.check();
    if (wrong.length > 0) throw bad(`the database is damaged: ${wrong[0]}`);
    if (store.digest() !== list.content) throw bad("the database does not say what was backed up");
    for (const kind of ["order", "shop"] as const)
      for (const h of store.list(kind)) {
        const file = list.files.find((f) => f.file === `${h.name}.${kind}.json`);
        if (file?.sha256 !== h.mark) throw bad(`${h.name}.${kind}.json is not the version that the database has`);
      }
  } catch (e) {
    if (e instanceof StoreError) throw bad(e.message);
    throw e;
  } finally {
    store?.close();
  }
  syncFolder(join(folder, MEMORY));
  syncFolder(folder);
}
