import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildSync } from "esbuild";
import { PNG } from "pngjs";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { ShopFolder } from "../job/shop-folder.ts";
import { readUpload } from "../job/uploads.ts";
import { restore } from "../store/backup.ts";
import { FolderMemory } from "../store/folder.ts";
import { makeBench } from "./bench.ts";
import { Refusals } from "./refusals.ts";

const examples = new URL("../../examples/", import.meta.url);
const HOST = "127.0.0.1:7320";
let dir: string;
let memory: FolderMemory;
let script: string;
let ask: (path: string, method?: string, body?: unknown, type?: string) => Promise<Response>;
const refusals = new Refusals();
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-memory-"));
  script = join(dir, "upload-worker.mjs");
  // packages and all: it lies where none are found
  buildSync({
    entryPoints: [new URL("../job/upload-worker.ts", import.meta.url).pathname],
    outfile: script,
    bundle: true,
    platform: "node",
    format: "esm",
    banner: { js: 'import { createRequire } from "node:module"; const require = createRequire(import.meta.url);' },
  });
  cpSync(new URL("loan-ukulele.order.json", examples), join(dir, "loan-ukulele.order.json"));
  cpSync(new URL("stiff-router.shop.json", examples), join(dir, "stiff-router.shop.json"));
  memory = new FolderMemory(dir);
  memory.takeInAll();
  const shop = new ShopFolder(dir, { workers: 0, records: memory });
  // what was made: only what a run asks of it
  shop.made = (order) =>
    Promise.resolve(
      order === "loan-ukulele"
        ? ({
            order: { sha256: "o" },
            programs: [{ file: "programs/01-board-scribe.ngc", sha256: "p", cutter: 1, feedLength: 1234 }],
          } as never)
        : null,
    );
  const bench = makeBench(shop, dir, { memory, refusals, uploads: { ms: 10_000, megabytes: 128, script } });
  ask = async (path, method = "GET", body, type = "application/json") =>
    bench.request(`http://${HOST}${path}`, {
      method,
      headers: { host: HOST, "x-neckwright": "bench", "content-type": type },
      ...(body === undefined ? {} : { body: body instanceof Uint8Array ? new Uint8Array(body) : JSON.stringify(body) }),
    });
});
afterAll(() => {
  memory.close();
  rmSync(dir, { recursive: true, force: true });
});
const json = async <T>(r: Response | Promise<Response>): Promise<T> => (await (await r).json()) as T;
const uid = (n: number): string => `event-${String(n).padStart(4, "0")}`;
const at = (n: number): string => new Date(Date.UTC(2026, 2, 1, 9, 0, n)).toISOString();

describe("versions and merging", () => {
  test("an order changed by two in different places is put together when one asks for it; in one place it is a conflict with both named", async () => {
    const first = await json<{ text: string; mark: string }>(ask("/api/orders/loan-ukulele"));
    const file = JSON.parse(first.text) as Record<string, unknown>;
    const save = (change: object, base: string, merge = ""): Promise<Response> =>
      ask(`/api/orders/loan-ukulele${merge}`, "PUT", { text: `${JSON.stringify({ ...file, ...change }, null, 2)}\n`, base });
    const one = await json<{ mark: string }>(save({ title: "Changed by one" }, first.mark));
    expect((await save({ overrides: [] }, first.mark)).status).toBe(409);
    const both = await json<{ merged: boolean; text: string; mark: string }>(save({ overrides: [] }, first.mark, "?merge=1"));
    expect(both.merged).toBe(true);
    expect(JSON.parse(both.text)).toEqual({ ...file, title: "Changed by one", overrides: [] });
    expect(readFileSync(join(dir, "loan-ukulele.order.json"), "utf8")).toBe(both.text);
    const clash = await save({ title: "Changed by two" }, first.mark, "?merge=1");
    expect(clash.status).toBe(409);
    expect(await clash.json()).toMatchObject({ clashes: [{ path: ["title"], mine: "Changed by two", theirs: "Changed by one" }] });
    const versions = await json<{ version: number; mark: string }[]>(ask("/api/orders/loan-ukulele/versions?most=2"));
    expect(versions.map((v) => v.version)).toEqual([3, 2]);
    expect(versions[1].mark).toBe(one.mark);
    expect(await json(ask("/api/orders/loan-ukulele/versions/1"))).toMatchObject({ text: first.text });
    expect((await ask("/api/orders/loan-ukulele/versions/99")).status).toBe(404);
    expect((await ask("/api/orders/loan-ukulele/versions?most=x")).status).toBe(400);
    expect((await json<unknown[]>(ask("/api/changes?after=0"))).length).toBeGreaterThan(3);
  });

  test("tables: the machine's cutters with what they went, own woods; what follows the shop's file is not changed here", async () => {
    const cutters = await json<{ name: string; worn: number }[]>(ask("/api/tables/cutter"));
    expect(cutters.length).toBeGreaterThan(3);
    const put = { text: '{"title": "pear, a short board", "species": "pear", "length": 700}', base: "" };
    expect((await ask("/api/tables/wood/pear", "PUT", put)).status).toBe(200);
    expect((await ask("/api/tables/wood/pear", "PUT", put)).status).toBe(409);
    const { mark } = await json<{ mark: string }>(ask("/api/tables/wood/pear"));
    expect(
      (await ask("/api/tables/wood/pear", "PUT", { text: '{"title": "pear", "species": "pear", "length": "long"}', base: mark })).status,
    ).toBe(400);
    // a board's photograph has to be kept here before it is named
    expect((await ask("/api/tables/board/loan-ukulele", "PUT", { text: `{"photo": "${"0".repeat(64)}"}`, base: "" })).status).toBe(400);
    expect(
      (await ask("/api/tables/plate/vee", "PUT", { text: '{"title": "vee blocks", "holding": {"margin": 4}}', base: "" })).status,
    ).toBe(200);
    expect((await ask("/api/tables/wood/pear?base=0", "DELETE")).status).toBe(409);
    expect((await ask(`/api/tables/wood/pear?base=${mark}`, "DELETE")).status).toBe(204);
    expect((await ask("/api/tables/wood/pear")).status).toBe(404);
    expect((await ask(`/api/tables/cutter/${cutters[0].name}`, "PUT", put)).status).toBe(400);
    expect((await ask("/api/tables/run")).status).toBe(400);
    expect((await ask("/api/tables/wood/..%2fx", "PUT", put)).status).toBe(400);
  });
});

describe("the record of a run", () => {
  test("survives being sent twice and out of order, from two devices; wears the cutter; comes to the same whoever came first", async () => {
    const begun = await json<{ name: string; programs: unknown[] }>(
      ask("/api/runs", "POST", { order: "loan-ukulele", shop: "stiff-router" }),
    );
    expect(begun).toMatchObject({ name: "loan-ukulele-r1", programs: [{ sha256: "p" }] });
    const step = "programs/01-board-scribe.ngc";
    const events = [
      { id: uid(1), at: at(1), step: "hand-1", kind: "done" },
      { id: uid(2), at: at(2), step, kind: "measured", name: "edge to scribe", value: 22.4, unit: "mm" },
      { id: uid(3), at: at(4), step, kind: "measured", name: "edge to scribe", value: 22.5, unit: "mm" },
      { id: uid(4), at: at(3), step, kind: "note", text: "<script>alert(1)</script>" },
      { id: uid(5), at: at(5), step, kind: "done" },
      { id: uid(6), at: at(6), step, kind: "time", seconds: 12 },
    ];
    const send = (list: unknown[]): Promise<Response> => ask("/api/runs/loan-ukulele-r1/events", "POST", { events: list });
    await send([events[5], events[2], events[0]]);
    await send([events[1], events[2], events[4]]);
    const now = await json<{ steps: Record<string, unknown>; events: unknown[] }>(send([events[3], events[0]]));
    expect(now.events).toHaveLength(6);
    expect(now.steps[step]).toMatchObject({ done: true, seconds: 12, notes: [{ text: "<script>alert(1)</script>" }] });
    expect(now.steps[step]).toMatchObject({ measured: { "edge to scribe": { value: 22.5 } } });
    expect(memory.store.worn("stiff-router-t1")).toBe(1234);
    await send([{ id: uid(7), at: at(7), step, kind: "undone" }]);
    expect(memory.store.worn("stiff-router-t1")).toBe(0);
    expect(await json(ask("/api/runs?order=loan-ukulele"))).toMatchObject([{ name: "loan-ukulele-r1" }]);
    expect(await json(ask("/api/runs?order=loan"))).toEqual([]);
    expect((await ask("/api/runs", "POST", { order: "loan-none", shop: "stiff-router" })).status).toBe(409);
  });

  test.each([
    [{ id: "x", at: at(1), step: "s", kind: "done" }],
    [{ id: uid(9), at: "yesterday", step: "s", kind: "done" }],
    [{ id: uid(9), at: at(1), step: "s", kind: "explode" }],
    [{ id: uid(9), at: at(1), step: "s", kind: "measured", name: "a", value: "22", unit: "mm" }],
    [{ id: uid(9), at: at(1), step: "s", kind: "note", text: "x".repeat(5000) }],
    [{ id: uid(9), at: at(1), step: "s", kind: "photo", hash: "0".repeat(64), label: "" }],
    [{ id: uid(9), at: at(1), step: "s", kind: "done", more: 1 }],
  ])("refuses %j and writes nothing of it", async (event) => {
    const before = memory.store.versions("run", "loan-ukulele-r1", 1)[0].version;
    const good = { id: uid(100), at: at(1), step: "s", kind: "done" };
    expect((await ask("/api/runs/loan-ukulele-r1/events", "POST", { events: [good, event] })).status).toBe(400);
    expect(memory.store.versions("run", "loan-ukulele-r1", 1)[0].version).toBe(before);
  });
});

test("everything as one file is what the command's backup writes, and can be restored", async () => {
  const r = await ask("/api/archive");
  expect(r.headers.get("content-type")).toBe("application/zip");
  writeFileSync(join(dir, ".all.zip"), Buffer.from(await r.arrayBuffer()));
  const to = join(dir, ".restored");
  restore(join(dir, ".all.zip"), to);
  const again = new FolderMemory(to);
  expect(again.store.changes(0, 999)).toEqual(memory.store.changes(0, 999));
  again.close();
});

describe("photographs and drawings from outside", () => {
  const png = (): Uint8Array => PNG.sync.write(new PNG({ width: 3, height: 2 }));
  /** The smallest that has the parts: APP1 with orientation 6 and a place, a frame of 3 x 2, a scan. */
  const jpeg = (): Uint8Array => {
    const exif = [0x45, 0x78, 0x69, 0x66, 0, 0, 0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0, 0, 0, 0, 0];
    const place = [...new TextEncoder().encode("GPS 51.5 N")];
    const app1 = [0xff, 0xe1, 0, exif.length + place.length + 2, ...exif, ...place];
    const frame = [0xff, 0xc0, 0, 11, 8, 0, 2, 0, 3, 1, 1, 0x11, 0];
    return Uint8Array.of(0xff, 0xd8, ...app1, ...frame, 0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 0x12, 0xff, 0, 0x34, 0xff, 0xd9, 1, 2, 3);
  };

  test("a photograph is kept without where it was taken, with which way up it is, and given back as a picture", async () => {
    const kept = await json<{ hash: string; width: number; height: number }>(
      ask("/api/photos?kind=run&name=loan-ukulele-r1&label=nut", "POST", jpeg(), "image/jpeg"),
    );
    expect(kept).toMatchObject({ width: 3, height: 2 });
    const r = await ask(`/api/photos/${kept.hash}`);
    expect(r.headers.get("content-type")).toBe("image/jpeg");
    expect(r.headers.get("x-content-type-options")).toBe("nosniff");
    const bytes = Buffer.from(await r.arrayBuffer());
    expect(bytes.includes("GPS")).toBe(false);
    expect(bytes.includes(Buffer.from([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6]))).toBe(true);
    expect([...bytes.subarray(-2)]).toEqual([0xff, 0xd9]);
    expect(await json(ask("/api/attached/run/loan-ukulele-r1"))).toMatchObject([{ hash: kept.hash, label: "nut" }]);
    const other = await json<{ hash: string; media: string }>(ask("/api/photos", "POST", png(), "image/png"));
    expect(other.media).toBe("image/png");
    expect(PNG.sync.read(Buffer.from(await (await ask(`/api/photos/${other.hash}`)).arrayBuffer()))).toMatchObject({ width: 3, height: 2 });
    expect((await ask("/api/photos?kind=run&name=none", "POST", png(), "image/png")).status).toBe(404);
  });

  test("what is no photograph, is cut short or would unpack to too much is refused", async () => {
    const large = png();
    new DataView(large.buffer, large.byteOffset).setUint32(16, 100_000);
    const svg = new TextEncoder().encode('<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>');
    for (const [name, bytes, says] of [
      ["svg", svg, "neither a JPEG nor a PNG"],
      ["large", large, "pixels; at most"],
      ["short png", png().subarray(0, 40), "cut short"],
      ["short jpeg", jpeg().subarray(0, 70), "cut short"],
      ["empty", new Uint8Array(0), "empty"],
    ] as const) {
      const r = await ask("/api/photos", "POST", bytes, "image/png");
      expect(r.status, name).toBe(400);
      expect(await r.text(), name).toContain(says);
    }
    const length = 24_000_001;
    expect((await ask("/api/photos", "POST", new Uint8Array(length), "image/png")).status).toBe(413);
    expect(refusals.last().at(-1)?.what).toContain("too large");
  });

  test("a drawing is kept beside the orders when it is one; with scripts in it, or by a link, it is not", async () => {
    const good = readFileSync(new URL("drawings/loan-head.svg", examples));
    expect(await json(ask("/api/drawings/head.svg", "PUT", good, "image/svg+xml"))).toEqual({ drawing: "drawings/head.svg" });
    expect(readFileSync(join(dir, "drawings", "head.svg")).equals(good)).toBe(true);
    const active = Buffer.from(good.toString("utf8").replace("</svg>", "<script>alert(1)</script></svg>"));
    const r = await ask("/api/drawings/active.svg", "PUT", active, "image/svg+xml");
    expect([r.status, await r.text()]).toEqual([400, expect.stringContaining("script")]);
    expect(existsSync(join(dir, "drawings", "active.svg"))).toBe(false);
    for (const [file, bytes] of [
      ["x.svg", Buffer.from("not a drawing")],
      ["x.dxf", Buffer.from("not a drawing")],
      ["x.html", good],
      ["..%2fx.svg", good],
    ] as const)
      expect((await ask(`/api/drawings/${file}`, "PUT", bytes, "image/svg+xml")).status, file).toBe(400);
    rmSync(join(dir, "drawings"), { recursive: true });
    const elsewhere = mkdtempSync(join(tmpdir(), "neckwright-elsewhere-"));
    symlinkSync(elsewhere, join(dir, "drawings"));
    expect((await ask("/api/drawings/head.svg", "PUT", good, "image/svg+xml")).status).toBe(400);
    expect(existsSync(join(elsewhere, "head.svg"))).toBe(false);
    for (const d of [elsewhere, join(dir, "drawings")]) rmSync(d, { recursive: true, force: true });
  });

  test("a reader that takes too long or too much memory is ended, and the next is not kept waiting", async () => {
    const slow = join(dir, "slow.mjs");
    writeFileSync(slow, "for (;;) {}");
    const greedy = join(dir, "greedy.mjs");
    writeFileSync(greedy, "const all = []; for (;;) all.push(new Array(1e5).fill(all.length));");
    const dies = join(dir, "dies.mjs");
    writeFileSync(dies, "process.exit(1)");
    const bytes = Uint8Array.of(1);
    const ended = await Promise.allSettled([
      readUpload("photo", bytes, { ms: 100, megabytes: 64, script: slow }),
      readUpload("photo", bytes, { ms: 100, megabytes: 64, script: slow }),
      readUpload("photo", bytes, { ms: 8000, megabytes: 16, script: greedy }),
      readUpload("photo", bytes, { ms: 8000, megabytes: 64, script: dies }),
    ]);
    expect(ended.map((e) => (e.status === "rejected" ? String((e.reason as Error).message) : "read"))).toEqual([
      expect.stringContaining("longer than 0.1 s"),
      expect.stringContaining("longer than 0.1 s"),
      expect.stringContaining("16 MB of memory"),
      expect.stringContaining("could not be read"),
    ]);
    expect(await readUpload("photo", png(), { ms: 10_000, megabytes: 64, script })).toMatchObject({ width: 3 });
  });
});
