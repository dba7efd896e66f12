import { randomBytes } from "node:crypto";
import { basename, dirname, join, resolve } from "node:path";
import { type Disk, realDisk } from "./disk.ts";
import { codeOfError, DiskError, InputError, throwIfCancelled } from "./errors.ts";
import { filesOfJob, type JobFile } from "./files.ts";
import { sha256 } from "./hash.ts";

/** One file of a job folder: its path inside the folder (forward slashes) and its bytes. */
export interface OutFile {
  readonly path: string;
  readonly bytes: Uint8Array;
}

export interface WriteOptions {
  readonly disk?: Disk;
  readonly signal?: AbortSignal;
  /** Replace the folder even when it holds files that are not ours, or that somebody changed. */
  readonly replace?: boolean;
}

const marker = (folder: string, state: "new" | "old"): string => join(dirname(folder), `.${basename(folder)}.neckwright-${state}-`);

/**
 * Puts files where `folder` stands, in one swap: everything is written and pushed to the medium in a new folder beside it,
 * then the two names are exchanged. Until then the old folder stays as it was; on any error, and when `signal` fires,
 * the new one is removed again.
 */
export async function writeFolder(folder: string, files: readonly OutFile[], options: WriteOptions = {}): Promise<void> {
  const disk = options.disk ?? realDisk;
  const target = resolve(folder);
  const id = `${process.pid}-${randomBytes(4).toString("hex")}`;
  const fresh = marker(target, "new") + id;
  const old = marker(target, "old") + id;
  let made = false;
  try {
    await restoreInterrupted(disk, target);
    await checkTarget(disk, target, options.replace ?? false);
    throwIfCancelled(options.signal);
    await disk.makeFolder(dirname(target));
    await disk.makeFolder(fresh);
    made = true;
    const folders = new Set<string>([fresh]);
    for (const file of files) {
      throwIfCancelled(options.signal);
      const path = join(fresh, file.path);
      if (!folders.has(dirname(path))) {
        await disk.makeFolder(dirname(path));
        folders.add(dirname(path));
      }
      await disk.writeNew(path, file.bytes);
    }
    for (const path of folders) await disk.syncFolder(path);
    throwIfCancelled(options.signal);
    // From here on it goes through: two renames, and the second is taken back when it fails.
    const replaces = (await disk.kind(target)) !== null;
    if (replaces) await disk.rename(target, old);
    try {
      await disk.rename(fresh, target);
    } catch (error) {
      if (replaces) await disk.rename(old, target);
      throw error;
    }
    made = false;
    // The new folder stands, whole. A failing sync only means that a power cut now could still bring the old one back.
    await disk.syncFolder(dirname(target)).catch(() => undefined);
    if (replaces) await disk.remove(old);
  } catch (error) {
    if (made) await disk.remove(fresh).catch(() => undefined);
    throw asDiskError(error, target);
  }
}

/**
 * Puts single files into a folder, which is made when it is not there: each is written whole beside its place and then
 * renamed over what stood there. Nothing else in the folder is touched.
 */
export async function writeFiles(
  folder: string,
  files: readonly OutFile[],
  options: Pick<WriteOptions, "disk" | "signal"> = {},
): Promise<void> {
  const disk = options.disk ?? realDisk;
  const target = resolve(folder);
  const id = `${process.pid}-${randomBytes(4).toString("hex")}`;
  const waiting: { readonly from: string; readonly to: string }[] = [];
  try {
    const found = await disk.kind(target);
    if (found !== null && found.kind !== "folder")
      throw new InputError(target, "a file of this name is in the way of the folder", "choose another --out");
    for (const file of files) {
      throwIfCancelled(options.signal);
      const to = join(target, file.path);
      if ((await disk.kind(to))?.kind === "folder") throw new InputError(to, "a folder of this name is in the way", "choose another --out");
      await disk.makeFolder(dirname(to));
      const from = join(dirname(to), `.${basename(to)}.neckwright-new-${id}`);
      waiting.push({ from, to });
      await disk.writeNew(from, file.bytes);
    }
    for (const { from, to } of waiting) await disk.rename(from, to);
  } catch (error) {
    for (const { from } of waiting) await disk.remove(from).catch(() => undefined);
    throw asDiskError(error, target);
  }
}

/** Single files do not go into a folder whose files all belong together. Throws InputError where the folder is one. */
export async function refuseMade(out: string, disk: Disk): Promise<void> {
  for (const [file, what] of [
    ["job.json", "a made folder, whose programs are all proved together"],
    ["batch.json", "a batch's folder, whose programs are all proved together"],
  ] as const)
    if ((await disk.kind(join(out, file))) !== null) throw new InputError(`--out ${out}`, `this is ${what}`, "choose another folder");
}

/** A run that died between the two renames left the old folder under another name: put it back. */
async function restoreInterrupted(disk: Disk, target: string): Promise<void> {
  if ((await disk.kind(target)) !== null || (await disk.kind(dirname(target))) === null) return;
  const prefix = basename(marker(target, "old"));
  const left = (await disk.names(dirname(target))).filter((name) => name.startsWith(prefix)).sort();
  if (left.length > 0) await disk.rename(join(dirname(target), left[left.length - 1]), target);
}

/** May the folder be written? Asked before the work is done, so that nobody waits for a refusal; throws InputError when not. */
export async function checkWritable(folder: string, options: Pick<WriteOptions, "disk" | "replace"> = {}): Promise<void> {
  const target = resolve(folder);
  try {
    await checkTarget(options.disk ?? realDisk, target, options.replace ?? false);
  } catch (error) {
    throw asDiskError(error, target);
  }
}

/** Refuses to replace what `make` did not write: a foreign folder, a file somebody put there, a program changed by hand. */
async function checkTarget(disk: Disk, target: string, replace: boolean): Promise<void> {
  const found = await disk.kind(target);
  if (found === null) return;
  if (found.kind !== "folder") throw new InputError(target, "a file of this name is in the way of the folder", "choose another --out");
  await disk.checkWritable(dirname(target));
  const present = await disk.list(target);
  if (present.length === 0 || replace) return;
  const files = await listedIn(disk, target);
  if (files === null) {
    throw new InputError(
      target,
      `this folder holds files but no job of ours (${present.slice(0, 3).join(", ")}${present.length > 3 ? ", ..." : ""})`,
      "choose another --out, or give --replace to lose what is in it",
    );
  }
  const known = new Map(files.map((f) => [f.file, f.sha256]));
  for (const path of present) {
    if (path === "job.json") continue;
    const was = known.get(path);
    if (was === undefined) {
      throw new InputError(join(target, path), "this file was not written by make and would be lost", "move it away, or give --replace");
    }
    if (sha256(await disk.read(join(target, path))) !== was) {
      throw new InputError(
        join(target, path),
        "this file was changed since make wrote it, and the change would be lost",
        "keep a copy, or give --replace",
      );
    }
  }
}

/** What the folder's job file lists; null without one. */
async function listedIn(disk: Disk, target: string): Promise<JobFile["files"] | null> {
  const path = join(target, "job.json");
  if ((await disk.kind(path))?.kind !== "file") return null;
  return filesOfJob(new TextDecoder().decode(await disk.read(path)));
}

function asDiskError(error: unknown, target: string): unknown {
  const code = codeOfError(error);
  const stays = "what stood there before is unchanged";
  if (code === "ENOSPC" || code === "EDQUOT") {
    return new DiskError(target, `the disk is full (${code}); nothing was written, ${stays}`, "make room, or choose another --out", error);
  }
  if (code === "EACCES" || code === "EPERM" || code === "EROFS") {
    return new InputError(target, `this folder may not be written (${code})`, "choose another --out");
  }
  if (code === "ENOTDIR") return new InputError(target, "a file is in the way of the folder", "choose another --out");
  if (code !== "") return new DiskError(target, `writing failed (${code}); ${stays}`, "check the medium, or choose another --out", error);
  return error;
}
