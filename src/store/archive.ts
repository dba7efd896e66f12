import { createHash, type Hash } from "node:crypto";
import { closeSync, fsyncSync, mkdirSync, openSync, readSync, statSync, writeSync } from "node:fs";
import { dirname, join } from "node:path";
import { Unzip, UnzipInflate, Zip, ZipDeflate, ZipPassThrough } from "fflate";
import * as z from "zod";
import { InputError } from "../job/errors.ts";

/*
 * Many files as one ZIP, with a list of them in front: name, size and SHA-256 of each. Reading one believes nothing: what is not in the list,
 * is larger than the list says, has another hash or a name that leads out of the folder ends the reading, before more than that has been
 * unpacked. Both ways a few kilobytes at a time.
 */

export const LIST = "backup.json";
const FORMAT = "neckwright-backup/1";
const MOST_LIST = 16 * 1024 * 1024;
const MOST_FILES = 100_000;
const MOST_TOTAL: number = 8 * 1024 ** 3;
/** Deflate makes at most 1032 of one: so much can come at once from a piece. */
const PIECE = 16 * 1024;

export interface Listed {
  readonly file: string;
  readonly bytes: number;
  readonly sha256: string;
}

export interface List {
  readonly format: typeof FORMAT;
  readonly at: string;
  /** SHA-256 of all that the database says. */
  readonly content: string;
  readonly files: readonly Listed[];
}

/** A plain way below the folder: no empty part, none that begins with a dot, nothing that a system reads otherwise. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is refused
const PART = /^(?!\.)[^\\/:*?"<>|\u0000-\u001f\u007f]{1,200}$/;
export const isPlainWay = (path: string): boolean => path.length <= 1000 && path.split("/").every((p) => PART.test(p) && !/[. ]$/.test(p));

const listSchema = z.strictObject({
  format: z.literal(FORMAT),
  at: z.string().max(40),
  content: z.string().regex(/^[0-9a-f]{64}$/),
  files: z
    .array(
      z.strictObject({
        file: z.string().refine(isPlainWay, "this name leads out of the folder, or cannot be a file's"),
        bytes: z.number().int().min(0).max(MOST_TOTAL),
        sha256: z.string().regex(/^[0-9a-f]{64}$/),
      }),
    )
    .max(MOST_FILES),
});

export const makeList = (at: string, content: string, files: readonly Listed[]): List => ({ format: FORMAT, at, content, files });

/** Reads a file piece by piece. */
export function eachPiece(path: string, size: number, take: (piece: Uint8Array) => void): void {
  const fd = openSync(path, "r");
  try {
    for (;;) {
      const piece = new Uint8Array(size);
      const n = readSync(fd, piece, 0, size, null);
      if (n === 0) return;
      take(piece.subarray(0, n));
    }
  } finally {
    closeSync(fd);
  }
}

export function hashOf(path: string): Omit<Listed, "file"> {
  const hash = createHash("sha256");
  let bytes = 0;
  eachPiece(path, 1 << 18, (p) => {
    hash.update(p);
    bytes += p.length;
  });
  return { bytes, sha256: hash.digest("hex") };
}

/** Writes the archive to a new file. `from`: where each listed file lies. Returns the first that is no longer as listed, or null. */
export function writeArchive(path: string, list: List, from: (file: string) => string): string | null {
  const fd = openSync(path, "wx", 0o600);
  try {
    let failed: Error | null = null;
    const zip = new Zip((error, data) => {
      if (error) failed = error;
      else for (let at = 0; at < data.length; ) at += writeSync(fd, data, at);
    });
    const head = new ZipDeflate(LIST);
    zip.add(head);
    head.push(new TextEncoder().encode(`${JSON.stringify(list, null, 1)}\n`), true);
    for (const f of list.files) {
      const entry = /\.(?:jpe?g|png|webp|pdf|3mf)$/i.test(f.file) ? new ZipPassThrough(f.file) : new ZipDeflate(f.file, { level: 6 });
      zip.add(entry);
      const hash = createHash("sha256");
      eachPiece(from(f.file), 1 << 18, (piece) => {
        hash.update(piece);
        entry.push(piece, false);
      });
      entry.push(new Uint8Array(0), true);
      if (hash.digest("hex") !== f.sha256) return f.file;
      if (failed !== null) throw failed;
    }
    zip.end();
    if (failed !== null) throw failed;
    fsyncSync(fd);
    return null;
  } finally {
    closeSync(fd);
  }
}

/** Unpacks an archive into an empty folder and returns its list. Throws InputError on anything that is not as listed; the folder is then of no use. */
export function readArchive(path: string, folder: string): List {
  const bad = (says: string): InputError => new InputError(path, says, "use another backup; nothing was restored from this one");
  let list: List | null = null;
  let wanted = new Map<string, Listed>();
  const done = new Set<string>();
  let open: { name: string; fd: number | null; hash: Hash; bytes: number; text: Uint8Array[] } | null = null;

  const end = (): void => {
    if (open === null) return;
    const { name, fd, hash, bytes, text } = open;
    open = null;
    if (fd === null) {
      list = readList(Buffer.concat(text), bad);
      wanted = new Map(list.files.map((f) => [f.file, f]));
      if (wanted.size !== list.files.length) throw bad("the list names a file twice");
      if (list.files.reduce((sum, f) => sum + f.bytes, 0) > MOST_TOTAL) throw bad("this would unpack to more than 8 GB");
      return;
    }
    fsyncSync(fd);
    closeSync(fd);
    const f = wanted.get(name) as Listed;
    if (bytes !== f.bytes || hash.digest("hex") !== f.sha256) throw bad(`${name} is not what was backed up: its SHA-256 is another`);
    done.add(name);
  };
  const unzip = new Unzip((entry) => {
    const first = list === null;
    if (first ? entry.name !== LIST || open !== null : !wanted.has(entry.name) || done.has(entry.name))
      throw bad(
        first ? `this is no backup: it does not begin with ${LIST}` : `${entry.name.slice(0, 80)} is not in the list, or is there twice`,
      );
    let fd: number | null = null;
    if (!first) {
      mkdirSync(dirname(join(folder, entry.name)), { recursive: true });
      fd = openSync(join(folder, entry.name), "wx");
    }
    const here = { name: entry.name, fd, hash: createHash("sha256"), bytes: 0, text: [] as Uint8Array[] };
    open = here;
    const most = first ? MOST_LIST : (wanted.get(entry.name) as Listed).bytes;
    entry.ondata = (error, data, final) => {
      if (error) throw bad(`${entry.name} cannot be unpacked: ${error.message}`);
      here.bytes += data.length;
      if (here.bytes > most) throw bad(`${entry.name} unpacks to more than the list says`);
      if (fd === null) here.text.push(data.slice());
      else {
        here.hash.update(data);
        for (let at = 0; at < data.length; ) at += writeSync(fd, data, at);
      }
      if (final) end();
    };
    entry.start();
  });
  unzip.register(UnzipInflate);
  if (statSync(path).size > MOST_TOTAL) throw bad("this is larger than 8 GB");
  try {
    eachPiece(path, PIECE, (piece) => unzip.push(piece, false));
    unzip.push(new Uint8Array(0), true);
  } catch (e) {
    const left = open as { fd: number | null } | null;
    if (left !== null && left.fd !== null) closeSync(left.fd);
    if (e instanceof InputError) throw e;
    throw bad(`this cannot be unpacked: ${e instanceof Error ? e.message : String(e)}`);
  }
  if (list === null) throw bad("this is no backup");
  const missing = (list as List).files.find((f) => !done.has(f.file));
  if (missing !== undefined) throw bad(`${missing.file} is in the list, but not there: the archive is cut short`);
  return list;
}

function readList(bytes: Uint8Array, bad: (says: string) => InputError): List {
  let data: unknown;
  try {
    data = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
  } catch {
    throw bad(`${LIST} is no JSON`);
  }
  const read = listSchema.safeParse(data);
  if (!read.success) throw bad(`${LIST}: ${read.error.issues[0].path.join(".")}: ${read.error.issues[0].message}`);
  return read.data;
}
