import { constants } from "node:fs";
import { access, mkdir, open, readdir, readFile, realpath, rename, rm, stat } from "node:fs/promises";

/** The few things the job asks of a file system, so that tests can give one that fills up or refuses. */
export interface Disk {
  /** Makes a folder and those above it. */
  makeFolder(path: string): Promise<void>;
  /** Writes a new file whole and pushes it to the medium before it returns. */
  writeNew(path: string, bytes: Uint8Array): Promise<void>;
  /** Pushes a folder's entries to the medium, where the system can do that. */
  syncFolder(path: string): Promise<void>;
  rename(from: string, to: string): Promise<void>;
  /** Removes a file or a folder with all that is in it; silent when there is none. */
  remove(path: string): Promise<void>;
  /** null when there is nothing. */
  kind(path: string): Promise<{ kind: "file" | "folder" | "other"; size: number } | null>;
  /** Files below a folder, as paths relative to it with forward slashes, sorted; links are listed, not followed. */
  list(path: string): Promise<string[]>;
  /** Names in a folder, not below it. */
  names(path: string): Promise<string[]>;
  read(path: string): Promise<Uint8Array>;
  /** The path with every link followed. */
  real(path: string): Promise<string>;
  /** Throws when the folder cannot be written in. */
  checkWritable(path: string): Promise<void>;
}

export const realDisk: Disk = {
  async makeFolder(path) {
    await mkdir(path, { recursive: true });
  },
  async writeNew(path, bytes) {
    const file = await open(path, "wx");
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
  },
  async syncFolder(path) {
    // Windows cannot open a folder for syncing; its rename is journalled by the file system
    if (process.platform === "win32") return;
    const folder = await open(path, "r");
    try {
      await folder.sync();
    } finally {
      await folder.close();
    }
  },
  rename,
  async remove(path) {
    await rm(path, { recursive: true, force: true });
  },
  async kind(path) {
    try {
      const s = await stat(path);
      return { kind: s.isFile() ? "file" : s.isDirectory() ? "folder" : "other", size: s.size };
    } catch (error) {
      if (error instanceof Error && "code" in error && (error.code === "ENOENT" || error.code === "ENOTDIR")) return null;
      throw error;
    }
  },
  async list(path) {
    const found: string[] = [];
    const walk = async (dir: string, prefix: string): Promise<void> => {
      for (const entry of await readdir(dir, { withFileTypes: true })) {
        if (entry.isDirectory()) await walk(`${dir}/${entry.name}`, `${prefix}${entry.name}/`);
        else found.push(prefix + entry.name);
      }
    };
    await walk(path, "");
    return found.sort();
  },
  names: (path) => readdir(path),
  read: (path) => readFile(path),
  real: (path) => realpath(path),
  async checkWritable(path) {
    await access(path, constants.W_OK | constants.X_OK);
  },
};
