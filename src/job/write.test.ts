import { mkdirSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { type Disk, realDisk } from "./disk.ts";
import { Cancelled, DiskError, InputError } from "./errors.ts";
import { jsonBytes } from "./files.ts";
import { sha256 } from "./hash.ts";
import { type OutFile, writeFolder } from "./write.ts";

const bytes = (s: string): Uint8Array => new TextEncoder().encode(s);

/** The least that counts as a job folder of ours. */
function jobFolder(files: readonly OutFile[]): OutFile[] {
  const job = {
    format: "neckwright-job/1",
    units: "mm",
    order: { name: "a", sha256: "" },
    shop: { name: "b", sha256: "" },
    stopped: false,
    overridden: [],
    blank: { length: 1, width: 1, thickness: 1, boardThickness: 0 },
    placement: { tipFromEnd: 0, centreFromDatum: 0 },
    sides: [],
    cutters: [],
    programs: [],
    steps: [],
    cusps: {},
    cell: 0.1,
    features: {
      outline: { neck: [], board: [], chord: 0 },
      frets: [],
      tuners: [],
      nut: { id: "nut-seat", kind: "seat", xMin: 0, xMax: 0, zFloor: 0, slope: 0 },
      markers: [],
      rod: [],
      screws: [],
      sideMarkers: [],
      headSlots: [],
      rollers: [],
      tenon: null,
    },
    findings: [],
    files: files.map((f) => ({ file: f.path, sha256: sha256(f.bytes) })),
  };
  return [...files, { path: "job.json", bytes: jsonBytes(job) }];
}

const first = jobFolder([
  { path: "programs/01-board-scribe.ngc", bytes: bytes("first") },
  { path: "proof.json", bytes: bytes("{}") },
]);
const second = jobFolder([{ path: "programs/01-board-scribe.ngc", bytes: bytes("second") }]);

let dir: string;
let out: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-"));
  out = join(dir, "job");
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

const program = (): string => readFileSync(join(out, "programs/01-board-scribe.ngc"), "utf8");

describe("writeFolder", () => {
  test("writes a new folder, also below folders that are not there yet, and leaves nothing beside it", async () => {
    out = join(dir, "a/b/job");
    await writeFolder(out, first);
    expect(program()).toBe("first");
    expect(readdirSync(join(dir, "a/b"))).toEqual(["job"]);
    expect(readdirSync(out).sort()).toEqual(["job.json", "programs", "proof.json"]);
  });

  test("replaces the whole folder: nothing of the old one stays", async () => {
    await writeFolder(out, first);
    await writeFolder(out, second);
    expect(program()).toBe("second");
    expect(readdirSync(out).sort()).toEqual(["job.json", "programs"]);
    expect(readdirSync(dir)).toEqual(["job"]);
  });

  test("fills a folder that is empty", async () => {
    mkdirSync(out);
    await writeFolder(out, first);
    expect(program()).toBe("first");
  });

  test.each(["ENOSPC", "EIO"])("an error (%s) at any single step leaves the old folder whole and nothing beside it", async (code) => {
    await writeFolder(out, first);
    // run again and again, failing one call later each time, until a run goes through
    for (let failAt = 1; ; failAt++) {
      let calls = 0;
      const step = <A extends unknown[], R>(f: (...a: A) => Promise<R>) => {
        return async (...a: A): Promise<R> => {
          if (++calls === failAt) throw Object.assign(new Error("simulated"), { code });
          return f(...a);
        };
      };
      const disk: Disk = {
        ...realDisk,
        makeFolder: step(realDisk.makeFolder),
        writeNew: step(realDisk.writeNew),
        syncFolder: step(realDisk.syncFolder),
        rename: step(realDisk.rename),
      };
      const error = await writeFolder(out, second, { disk }).then(
        () => null,
        (e: unknown) => e,
      );
      expect(readdirSync(dir)).toEqual(["job"]);
      if (error === null) {
        expect(failAt).toBeGreaterThan(7);
        break;
      }
      expect(error).toBeInstanceOf(DiskError);
      expect(program()).toBe("first");
    }
    expect(program()).toBe("second");
  });

  test("a full disk half way through a file is said in words", async () => {
    const disk: Disk = {
      ...realDisk,
      async writeNew(path, b) {
        await realDisk.writeNew(path, b.slice(0, b.length >> 1));
        throw Object.assign(new Error("ENOSPC: no space left on device"), { code: "ENOSPC" });
      },
    };
    await expect(writeFolder(out, first, { disk })).rejects.toThrow(/disk is full .*nothing was written/);
    expect(readdirSync(dir)).toEqual([]);
  });

  test("stopping at any file leaves the old folder whole and nothing beside it", async () => {
    await writeFolder(out, first);
    for (let stopAt = 0; stopAt < second.length; stopAt++) {
      const control = new AbortController();
      let written = 0;
      const disk: Disk = {
        ...realDisk,
        async writeNew(path, b) {
          await realDisk.writeNew(path, b);
          if (written++ === stopAt) control.abort();
        },
      };
      await expect(writeFolder(out, second, { disk, signal: control.signal })).rejects.toBeInstanceOf(Cancelled);
      expect(program()).toBe("first");
      expect(readdirSync(dir)).toEqual(["job"]);
    }
  });

  test("a run that died between the two renames is mended by the next one", async () => {
    await writeFolder(out, first);
    renameSync(out, join(dir, ".job.neckwright-old-1-abcd"));
    const control = new AbortController();
    control.abort();
    await expect(writeFolder(out, second, { signal: control.signal })).rejects.toBeInstanceOf(Cancelled);
    expect(program()).toBe("first");
  });

  test("refuses a folder that is not ours, a file somebody added, and a program somebody changed; --replace replaces", async () => {
    mkdirSync(out);
    writeFileSync(join(out, "diary.txt"), "dear diary");
    await expect(writeFolder(out, first)).rejects.toThrow(/no job of ours \(diary.txt\)/);
    rmSync(out, { recursive: true });

    await writeFolder(out, first);
    writeFileSync(join(out, "notes.txt"), "blank is quilted");
    await expect(writeFolder(out, second)).rejects.toThrow(/not written by make/);
    rmSync(join(out, "notes.txt"));
    await writeFolder(out, second);

    writeFileSync(join(out, "programs/01-board-scribe.ngc"), "by hand");
    await expect(writeFolder(out, first)).rejects.toThrow(/changed since make wrote it/);
    expect(program()).toBe("by hand");
    await writeFolder(out, first, { replace: true });
    expect(program()).toBe("first");
  });

  test("refuses a file in the place of the folder, or of one above it", async () => {
    writeFileSync(out, "a file");
    await expect(writeFolder(out, first)).rejects.toBeInstanceOf(InputError);
    await expect(writeFolder(join(out, "deeper"), first)).rejects.toBeInstanceOf(InputError);
    expect(readFileSync(out, "utf8")).toBe("a file");
  });
});
