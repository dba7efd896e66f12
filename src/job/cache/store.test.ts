import { spawn } from "node:child_process";
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  truncateSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build } from "esbuild";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { sha256 } from "../hash.ts";
import { digest } from "./digest.ts";
import { pack, unpack } from "./pack.ts";
import { type Cache, defaultCache, defaultCacheFolder, openCache } from "./store.ts";

let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-cache-"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

let n = 0;
const fresh = (limit = 1e6): Cache => openCache({ folder: join(dir, `c${n++}`), limit });
const bytesOf = (s: string): Uint8Array => new TextEncoder().encode(s);
const key = sha256("a");
const pathOf = (c: Cache, k: string): string => join(c.folder, k.slice(0, 2), k);
const files = (folder: string): string[] => readdirSync(folder, { recursive: true, encoding: "utf8" }).filter((f) => f.length > 2);

describe("the cache on the disk", () => {
  test("gives back what was put, also to another that opens the folder, and null for what was not", () => {
    const c = fresh();
    expect(c.get(key)).toBeNull();
    c.put(key, bytesOf("moves"));
    expect(Buffer.from(openCache(c).get(key)!).toString()).toBe("moves");
    expect(c.get(sha256("b"))).toBeNull();
    c.put(key, new Uint8Array(0));
    expect(c.get(key)).toHaveLength(0);
    expect(() => c.get("../../x")).toThrow(RangeError);
  });

  test("gives nothing of a file that is cut short anywhere, changed in any byte, longer, foreign or another key's, and takes it away", () => {
    const c = fresh();
    const spoilt = (spoil: (path: string) => void): void => {
      c.put(key, bytesOf("programs"));
      spoil(pathOf(c, key));
      expect(c.get(key)).toBeNull();
      expect(existsSync(pathOf(c, key))).toBe(false);
    };
    c.put(key, bytesOf("programs"));
    const whole = readFileSync(pathOf(c, key));
    for (let k = 0; k < whole.length; k++) spoilt((p) => truncateSync(p, k));
    for (let k = 0; k < whole.length; k++)
      spoilt((p) =>
        writeFileSync(
          p,
          whole.map((b, i) => (i === k ? b ^ 1 : b)),
        ),
      );
    spoilt((p) => writeFileSync(p, Buffer.concat([whole, Buffer.from([0])])));
    spoilt((p) => writeFileSync(p, "somebody's notes"));
    const other = sha256("b");
    c.put(other, bytesOf("others"));
    spoilt((p) => writeFileSync(p, readFileSync(pathOf(c, other))));
  });

  test("lets go of what was used longest ago, and of nothing that is not its own", () => {
    const c = fresh(10_000);
    mkdirSync(c.folder, { recursive: true });
    writeFileSync(join(c.folder, "notes.txt"), "x".repeat(50_000));
    const keys = Array.from({ length: 12 }, (_, k) => sha256(`${k}`));
    keys.slice(0, 9).forEach((k, i) => {
      c.put(k, new Uint8Array(1000));
      if (existsSync(pathOf(c, k))) utimesSync(pathOf(c, k), 1000 + i, 1000 + i);
    });
    expect(c.get(keys[0])).not.toBeNull(); // used now
    for (const k of keys.slice(9)) c.put(k, new Uint8Array(1000));
    c.trim();
    const left = keys.map((k) => existsSync(pathOf(c, k)));
    expect(left[0]).toBe(true);
    expect(left.slice(9)).toEqual([true, true, true]);
    expect(left[1]).toBe(false);
    expect(left.filter((x) => x).length * 1091).toBeLessThanOrEqual(10_000);
    expect(readFileSync(join(c.folder, "notes.txt"), "utf8")).toHaveLength(50_000);
    c.put(sha256("large"), new Uint8Array(20_000));
    expect(c.get(sha256("large"))).toBeNull();
  });

  test("a folder that cannot be is no cache, and no error", () => {
    const file = join(dir, "file");
    writeFileSync(file, "");
    const c = openCache({ folder: join(file, "below"), limit: 1e6 });
    c.put(key, bytesOf("x"));
    expect(c.get(key)).toBeNull();
    c.trim();
    const shut = fresh();
    mkdirSync(shut.folder);
    chmodSync(shut.folder, 0o500);
    shut.put(key, bytesOf("x"));
    chmodSync(shut.folder, 0o700);
  });

  test("serves processes that put, get and trim the same keys at once: whole values or none, nothing left half", async () => {
    const folder = join(dir, "shared");
    const script = join(dir, "user.mjs");
    const store = new URL("./store.ts", import.meta.url).pathname;
    const source = `import { openCache } from ${JSON.stringify(store)};
      const c = openCache({ folder: ${JSON.stringify(folder)}, limit: 60000 });
      let hits = 0;
      for (let k = 0; k < 400; k++) {
        // more keys than there is room for, in turn: without a key that is asked for again at once a process by itself would find none
        const n = ((k % 3 === 2 ? k - 1 : k) * 7 + Number(process.argv[2])) % 16;
        const key = n.toString(16).repeat(64);
        const got = c.get(key);
        if (got !== null && (got.length !== 5000 || got.some((b) => b !== n))) process.exit(9);
        if (got !== null) hits++;
        c.put(key, new Uint8Array(5000).fill(n));
      }
      if (hits === 0) process.exit(8);`;
    await build({ stdin: { contents: source, resolveDir: dir }, bundle: true, platform: "node", format: "esm", outfile: script });
    const codes = await Promise.all(
      [0, 1, 2].map((a) => new Promise((done) => spawn(process.execPath, [script, `${a}`], { stdio: "inherit" }).on("close", done))),
    );
    expect(codes).toEqual([0, 0, 0]);
    expect(files(folder).filter((f) => f.includes("/."))).toEqual([]);
  });

  test("lies where the system keeps caches, or where it is told to", () => {
    expect(defaultCacheFolder({ NECKWRIGHT_CACHE: "here" }, "linux")).toBe("here");
    expect(defaultCacheFolder({ XDG_CACHE_HOME: "/x" }, "linux")).toBe(join("/x", "neckwright"));
    expect(defaultCacheFolder({ XDG_CACHE_HOME: "x" }, "linux")).toMatch(/\.cache.neckwright$/);
    expect(defaultCacheFolder({}, "darwin")).toMatch(/Library.Caches.neckwright$/);
    expect(defaultCacheFolder({ LOCALAPPDATA: "L" }, "win32")).toBe(join("L", "neckwright", "Cache"));
    expect(defaultCache({ NECKWRIGHT_CACHE: "off" })).toBeNull();
    expect(defaultCache({ NECKWRIGHT_CACHE: "here", NECKWRIGHT_CACHE_MB: "5" })).toEqual({ folder: "here", limit: 5e6 });
  });
});

describe("digest", () => {
  test("tells apart what differs and nothing else", () => {
    const all = [0, -0, Number.NaN, Infinity, 1, "1", null, true, [], {}, [[]], [1, 2], [12], ["ab", "c"], ["a", "bc"], { a: 1 }, { b: 1 }];
    const more = [new Float64Array([1]), new Uint8Array([1]), new Uint8Array([1, 0]), { a: { b: 1 } }, { a: 1, b: 1 }, undefined];
    const digests = [...all, ...more].map(digest);
    expect(new Set(digests).size).toBe(digests.length);
    expect(digest({ a: 1, b: [2], c: undefined })).toBe(digest({ b: [2], a: 1 }));
    expect(digest(new Float64Array([0, 1, 2]).subarray(1))).toBe(digest(new Float64Array([1, 2])));
    expect(() => digest({ f: () => 1 })).toThrow(TypeError);
  });

  test("is the same for a value and its copy", () => {
    fc.assert(
      fc.property(fc.jsonValue(), (v) => digest(v) === digest(structuredClone(v))),
      { seed: 20260101, numRuns: 200 },
    );
  });
});

test("maps come back from their runs bit for bit", () => {
  const run = fc.tuple(fc.float(), fc.integer({ min: 1, max: 30 }));
  fc.assert(
    fc.property(fc.array(run, { maxLength: 40 }), (runs) => {
      const v = Float32Array.from(runs.flatMap(([value, k]) => Array.from({ length: k }, () => value)));
      const back = unpack(pack(v));
      expect(new Uint32Array(back.buffer)).toEqual(new Uint32Array(v.buffer));
    }),
    { seed: 20260101, numRuns: 300 },
  );
  const flat = pack(new Float32Array(1e6).fill(7));
  expect(flat.words.length).toBeLessThanOrEqual(2);
  expect(() => unpack({ ...flat, length: 5 })).toThrow(RangeError);
  expect(() => unpack({ ...flat, length: 2e6 })).toThrow(RangeError);
});
