import { join } from "node:path";
import { MAX_FILE_BYTES } from "../spec/json.ts";
import { type Disk, realDisk } from "./disk.ts";
import { codeOfError, InputError } from "./errors.ts";

/** Larger orders and shops are not opened. */
export const MAX_SOURCE_BYTES: number = MAX_FILE_BYTES;
/** Orders and shops are a few kilobytes, job files a few hundred, programs of a neck a few megabytes. */
export const MAX_JOB_BYTES: number = 8 * 1024 * 1024;
export const MAX_PROGRAM_BYTES: number = 64 * 1024 * 1024;

const megabytes = (n: number): string => `${(n / 1024 / 1024).toFixed(n < 10 * 1024 * 1024 ? 1 : 0)} MB`;

/** Reads a file that a person named; looks at its kind and size before it reads a byte. */
export async function readInput(path: string, what: string, maxBytes: number, disk: Disk = realDisk): Promise<Uint8Array> {
  try {
    const found = await disk.kind(path);
    if (found === null) throw new InputError(path, `there is no such file (the ${what})`, "check the spelling and the folder you are in");
    if (found.kind === "folder") throw new InputError(path, `this is a folder, but the ${what} is a file`, "name the file inside it");
    if (found.kind === "other") throw new InputError(path, `this is not a plain file, but the ${what} is`, "copy it to a plain file first");
    if (found.size > maxBytes) {
      throw new InputError(
        path,
        `the ${what} has ${megabytes(found.size)}; the limit is ${megabytes(maxBytes)}`,
        "check that this is the right file",
      );
    }
    return await disk.read(path);
  } catch (error) {
    throw asInputError(error, path, what);
  }
}

/** Turns a system error into words; passes everything else on. */
export function asInputError(error: unknown, path: string, what: string): unknown {
  const code = codeOfError(error);
  if (code === "EACCES" || code === "EPERM") {
    return new InputError(path, `the ${what} may not be read (${code})`, "give yourself the right to read it, or copy it elsewhere");
  }
  if (code === "ENOENT" || code === "ENOTDIR") {
    return new InputError(path, `there is no such file (the ${what})`, "check the spelling and the folder you are in");
  }
  if (code !== "") return new InputError(path, `the ${what} cannot be read (${code})`, "check the medium it lies on");
  return error;
}

/** UTF-8 text without a byte order mark; anything that is not UTF-8 is refused. */
export function textOf(bytes: Uint8Array, path: string, what: string): string {
  let text: string;
  try {
    text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    throw new InputError(path, `the ${what} is not text in UTF-8`, "save it as UTF-8");
  }
  if (text.trim() === "")
    throw new InputError(
      path,
      `the ${what} is empty`,
      what === "order" || what === "shop" ? "start from one of the examples" : "take its backup, or write it again",
    );
  return text;
}

export const readText = async (path: string, what: string, maxBytes: number, disk: Disk = realDisk): Promise<string> =>
  textOf(await readInput(path, what, maxBytes, disk), path, what);

/** Checks that a path is a folder that can be listed. */
export async function checkFolder(path: string, what: string, disk: Disk = realDisk): Promise<void> {
  try {
    const found = await disk.kind(path);
    if (found === null) throw new InputError(path, `there is no such folder (the ${what})`, "check the spelling and the folder you are in");
    if (found.kind !== "folder") throw new InputError(path, `this is a file, but the ${what} is a folder`, "name the folder it lies in");
    if ((await disk.kind(join(path, "job.json"))) === null) {
      throw new InputError(path, "there is no job.json in this folder", "name a folder that `neckwright make` wrote");
    }
  } catch (error) {
    throw asInputError(error, path, what);
  }
}
