import { createHash, randomBytes } from "node:crypto";
import {
  closeSync,
  fstatSync,
  mkdirSync,
  openSync,
  readdirSync,
  readSync,
  renameSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { homedir } from "node:os";
import { join } from "node:path";

/*
 * Results on the disk, each under the hash of what it was made from. A file is written whole under another name and then renamed, and
 * carries its own checksum: what is cut short, foreign or rotten is taken away and made again. The folder may be used by many
 * processes at once and deleted at any time; whatever goes wrong with it costs time, never a result.
 */

export interface CacheOptions {
  readonly folder: string;
  /** Most bytes kept; what was used longest ago goes first. */
  readonly limit: number;
}

export interface Cache extends CacheOptions {
  /** What was put under the key, or null. The key is 64 hex digits. */
  get(key: string): Uint8Array | null;
  put(key: string, bytes: Uint8Array): void;
  /** Takes away what was used longest ago until the folder is under its limit. */
  trim(): void;
}

export const DEFAULT_LIMIT: number = 2e9;

const MAGIC = Buffer.from("NECKWRIGHT CACHE 1\n");
const SUM = 32;
const HEAD = MAGIC.length + SUM + SUM + 8;
const KEY = /^[0-9a-f]{64}$/;
const SHELF = /^[0-9a-f]{2}$/;
const HALF = /^\.[0-9a-f]{64}\.[0-9a-z-]+$/;
/** Half-written files of a process that died are left for so long, ms. */
const HALF_AGE = 3_600_000;
/** Between a put and the next look at the folder's size: this share of the limit. */
const LOOK_EVERY = 1 / 16;

/** Where a person's caches lie on this system. */
export function defaultCacheFolder(env: NodeJS.ProcessEnv = process.env, platform: NodeJS.Platform = process.platform): string {
  const given = env.NECKWRIGHT_CACHE;
  if (given !== undefined && given !== "") return given;
  if (platform === "win32") return join(env.LOCALAPPDATA ?? join(homedir(), "AppData", "Local"), "neckwright", "Cache");
  if (platform === "darwin") return join(homedir(), "Library", "Caches", "neckwright");
  const xdg = env.XDG_CACHE_HOME;
  // the base directory specification: a path that is not absolute is to be ignored
  return join(xdg?.startsWith("/") ? xdg : join(homedir(), ".cache"), "neckwright");
}

/** Folder and limit (NECKWRIGHT_CACHE_MB) as the surroundings ask; null when NECKWRIGHT_CACHE is "off". */
export function defaultCache(env: NodeJS.ProcessEnv = process.env): CacheOptions | null {
  if (env.NECKWRIGHT_CACHE === "off") return null;
  const megabytes = Number(env.NECKWRIGHT_CACHE_MB);
  return { folder: defaultCacheFolder(env), limit: megabytes > 0 ? megabytes * 1e6 : DEFAULT_LIMIT };
}

export function openCache(options: CacheOptions): Cache {
  return new DiskCache(options.folder, options.limit);
}

class DiskCache implements Cache {
  readonly folder: string;
  readonly limit: number;
  private written = 0;
  private works = true;

  constructor(folder: string, limit: number) {
    this.folder = folder;
    this.limit = limit;
  }

  get(key: string): Uint8Array | null {
    const path = this.pathOf(key);
    let bytes: Buffer | null = null;
    try {
      bytes = readWhole(path, this.limit);
    } catch {
      return null;
    }
    const payload = bytes === null ? null : payloadOf(bytes, key);
    try {
      if (payload === null) rmSync(path, { force: true });
      else {
        const now = new Date();
        utimesSync(path, now, now);
      }
    } catch {
      // another process was faster, or the folder may not be written: the bytes are what counts
    }
    return payload;
  }

  put(key: string, bytes: Uint8Array): void {
    if (!this.works || HEAD + bytes.length > this.limit) return;
    const path = this.pathOf(key);
    const half = join(path, "..", `.${key}.${process.pid}-${randomBytes(4).toString("hex")}`);
    try {
      mkdirSync(join(path, ".."), { recursive: true });
      writeFileSync(half, Buffer.concat([headOf(key, bytes), bytes]), { flag: "wx" });
      renameSync(half, path);
    } catch {
      // full, read-only, gone: this process does without
      this.works = false;
      try {
        rmSync(half, { force: true });
      } catch {
        // there was no place for it in the first place
      }
      return;
    }
    this.written += HEAD + bytes.length;
    if (this.written > this.limit * LOOK_EVERY) this.trim();
  }

  trim(): void {
    this.written = 0;
    try {
      const files = this.files();
      let total = files.reduce((sum, f) => sum + f.size, 0);
      if (total <= this.limit) return;
      files.sort((a, b) => a.used - b.used);
      // a tenth below, so that the next put does not have to look again
      for (const f of files) {
        if (total <= this.limit * 0.9) return;
        rmSync(f.path, { force: true });
        total -= f.size;
      }
    } catch {
      // gone under our hands
    }
  }

  /** Our own files; whatever else lies in the folder is not looked at. */
  private files(): { readonly path: string; readonly size: number; readonly used: number }[] {
    const out: { path: string; size: number; used: number }[] = [];
    for (const shelf of readdirSync(this.folder).filter((n) => SHELF.test(n))) {
      for (const name of readdirSync(join(this.folder, shelf))) {
        const path = join(this.folder, shelf, name);
        const s = statSync(path, { throwIfNoEntry: false });
        if (s === undefined || !s.isFile()) continue;
        if (KEY.test(name)) out.push({ path, size: s.size, used: s.mtimeMs });
        else if (HALF.test(name) && Date.now() - s.mtimeMs > HALF_AGE) rmSync(path, { force: true });
      }
    }
    return out;
  }

  private pathOf(key: string): string {
    if (!KEY.test(key)) throw new RangeError(`a cache key is 64 hex digits, not ${key.slice(0, 80)}`);
    return join(this.folder, key.slice(0, 2), key);
  }
}

function readWhole(path: string, limit: number): Buffer | null {
  const file = openSync(path, "r");
  try {
    const { size } = fstatSync(file);
    if (size < HEAD || size > limit) return null;
    const bytes = Buffer.allocUnsafeSlow(size);
    for (let at = 0; at < size; ) {
      const n = readSync(file, bytes, at, size - at, at);
      if (n === 0) return null;
      at += n;
    }
    return bytes;
  } finally {
    closeSync(file);
  }
}

const sumOf = (bytes: Uint8Array): Buffer => createHash("sha256").update(bytes).digest();

function headOf(key: string, bytes: Uint8Array): Buffer {
  const head = Buffer.alloc(HEAD);
  MAGIC.copy(head);
  Buffer.from(key, "hex").copy(head, MAGIC.length);
  sumOf(bytes).copy(head, MAGIC.length + SUM);
  head.writeBigUInt64LE(BigInt(bytes.length), HEAD - 8);
  return head;
}

/** The bytes after the head, when head, key, length and checksum are right. */
function payloadOf(file: Buffer, key: string): Uint8Array | null {
  const payload = file.subarray(HEAD);
  return headOf(key, payload).equals(file.subarray(0, HEAD)) ? payload : null;
}
