import { createReadStream, createWriteStream, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import type { ReadableStream } from "node:stream/web";
import { type Context, Hono } from "hono";
import * as z from "zod";
import { InputError } from "../job/errors.ts";
import type { ShopFolder } from "../job/shop-folder.ts";
import { readUpload, type UploadLimits } from "../job/uploads.ts";
import { writeFiles } from "../job/write.ts";
import { backUp } from "../store/backup.ts";
import { bringIn } from "../store/bring-in.ts";
import type { FolderMemory } from "../store/folder.ts";
import { addEvents, beginRun, type RunFile, readRun, runEvent, stateOf } from "../store/runs.ts";
import { checkRow, OWN_TABLES } from "../store/tables.ts";
import { KINDS, type Kind, StoreError } from "../store/types.ts";
import { plain } from "./app.ts";
import { BadBody, bodyOf, bytesOf, jsonOf } from "./body.ts";
import type { Asking } from "./guard.ts";

/* Versions, tables, runs, photographs and drawings: what the bench asks of the shop's memory. Described in README.md here. */

/** Machines, cutters and hardware follow the shop's file. */
const TABLES: readonly Kind[] = ["machine", "cutter", "hardware", ...OWN_TABLES];
const MOST_AT_ONCE = 200;
const PICTURES = new Set(["image/jpeg", "image/png"]);
const DRAWING = /^[a-z0-9]+(?:-[a-z0-9]+)*\.(svg|dxf)$/;

const eventsBody = z.strictObject({ events: z.array(runEvent).min(1).max(MOST_AT_ONCE) });

/** A whole number of a query, within bounds. */
function wholeOf(c: Context, name: string, fallback: number, most: number): number {
  const text = c.req.query(name);
  if (text === undefined) return fallback;
  const n = Number(text);
  if (!Number.isInteger(n) || n < 0 || n > most) throw new BadBody(`"${name}" is a whole number from 0 to ${most}.`);
  return n;
}

const kindOf = (text: string, of: readonly Kind[]): Kind => {
  const kind = of.find((k) => k === text);
  if (kind === undefined) throw new BadBody(`There is no table "${text.slice(0, 40)}" here; there are ${of.join(", ")}.`);
  return kind;
};

export function memoryRoutes(memory: FolderMemory, shop: ShopFolder, limits?: UploadLimits): Hono<Asking> {
  const app = new Hono<Asking>();
  const { store } = memory;
  const none = (c: Context, what: string): Response => plain(c, 404, `There is no such ${what}.`);

  for (const kind of ["order", "shop", "run"] as const) {
    app.get(`/${kind}s/:name/versions`, (c) =>
      c.json(
        store.versions(
          kind,
          c.req.param("name"),
          wholeOf(c, "most", 100, 1000),
          wholeOf(c, "before", Number.MAX_SAFE_INTEGER, Number.MAX_SAFE_INTEGER),
        ),
      ),
    );
    app.get(`/${kind}s/:name/versions/:version{[0-9]{1,9}}`, (c) => {
      const doc = store.version(kind, c.req.param("name"), Number(c.req.param("version")));
      return doc === null ? none(c, "version") : c.json(doc);
    });
  }
  app.get("/changes", (c) => c.json(store.changes(wholeOf(c, "after", 0, Number.MAX_SAFE_INTEGER), wholeOf(c, "most", 200, 1000))));

  app.get("/tables/:kind", (c) => {
    const kind = kindOf(c.req.param("kind"), TABLES);
    return c.json(store.list(kind).map((h) => ({ ...h, ...(kind === "cutter" ? { worn: store.worn(h.name) } : {}) })));
  });
  app.get("/tables/:kind/:name", (c) => {
    const kind = kindOf(c.req.param("kind"), TABLES);
    const doc = store.get(kind, c.req.param("name"));
    return doc === null ? none(c, kind) : c.json({ ...doc, ...(kind === "cutter" ? { worn: store.worn(doc.name) } : {}) });
  });
  app.put("/tables/:kind/:name", async (c) => {
    const { text, base } = await bodyOf(c, ["text", "base"]);
    const kind = kindOf(c.req.param("kind"), OWN_TABLES);
    checkRow(store, kind, text);
    const put = store.put(kind, c.req.param("name"), text, base === "" ? null : base, memory.said(c.get("by")));
    return "head" in put ? c.json({ mark: put.head.mark }) : c.json(put.conflict, 409);
  });

  app.delete("/tables/:kind/:name", (c) => {
    const kind = kindOf(c.req.param("kind"), OWN_TABLES);
    const doc = store.get(kind, c.req.param("name"));
    if (doc === null) return none(c, kind);
    const gone = store.remove(kind, doc.name, c.req.query("base") ?? "", memory.said(c.get("by")));
    return "head" in gone ? c.body(null, 204) : c.json(gone.conflict, 409);
  });

  const shown = (name: string, run: RunFile): object => ({ name, ...run, steps: Object.fromEntries(stateOf(run.events)) });
  app.get("/runs", (c) => {
    const order = c.req.query("order");
    const heads = store.list("run");
    return c.json(order === undefined ? heads : heads.filter((h) => h.name.replace(/-r\d+$/, "") === order));
  });
  app.post("/runs", async (c) => {
    const { order, shop: shopName } = await bodyOf(c, ["order", "shop"]);
    const job = await shop.made(order);
    if (job === null || job.programs.length === 0) return plain(c, 409, "No programs are made of this order: make them first.");
    await memory.open(shopName, "shop");
    const programs = job.programs.map(({ file, sha256, cutter, feedLength }) => ({ file, sha256, cutter, feedLength }));
    const name = beginRun(store, { order, orderSha256: job.order.sha256, shop: shopName, programs }, memory.said(c.get("by")));
    return c.json(shown(name, readRun(store, name) as RunFile), 201);
  });
  app.get("/runs/:name", (c) => {
    const run = readRun(store, c.req.param("name"));
    return run === null ? none(c, "run") : c.json(shown(c.req.param("name"), run));
  });
  app.post("/runs/:name/events", async (c) => {
    const read = eventsBody.safeParse(await jsonOf(c));
    if (!read.success) throw new BadBody(`${read.error.issues[0].path.join(".")}: ${read.error.issues[0].message}`);
    const run = addEvents(store, c.req.param("name"), read.data.events, memory.said(c.get("by")));
    return run === null ? none(c, "run") : c.json(shown(c.req.param("name"), run));
  });

  app.post("/photos", async (c) => {
    const picture = await readUpload("photo", await bytesOf(c), limits);
    const hash = store.keep(picture.media, picture.bytes);
    const [kind, name] = [c.req.query("kind"), c.req.query("name")];
    if (kind !== undefined && name !== undefined) {
      const known = kindOf(kind, KINDS);
      if (store.get(known, name) === null) return none(c, known);
      store.attach(known, name, hash, (c.req.query("label") ?? "").slice(0, 200), memory.said(c.get("by")));
    }
    return c.json({ hash, media: picture.media, width: picture.width, height: picture.height }, 201);
  });
  app.get("/photos/:hash{[0-9a-f]{64}}", (c) => {
    const found = store.bytes(c.req.param("hash"));
    if (found === null || !PICTURES.has(found.media)) return none(c, "photograph");
    c.header("Content-Type", found.media);
    c.header("Cache-Control", "private, max-age=31536000, immutable");
    return c.body(new Uint8Array(found.bytes));
  });
  app.get("/attached/:kind/:name", (c) => c.json(store.attached(kindOf(c.req.param("kind"), KINDS), c.req.param("name"))));

  let packing = false;
  app.get("/archive", async (c) => {
    if (!c.get("here")) return plain(c, 403, "Only the machine on which the bench runs may take everything.");
    if (packing) return plain(c, 429, "A backup is being made; wait until it is there.");
    packing = true;
    const work = mkdtempSync(join(tmpdir(), "neckwright-archive-"));
    const gone = (): void => {
      packing = false;
      rmSync(work, { recursive: true, force: true });
    };
    try {
      const at = memory.said("").at;
      await backUp(memory.folder, join(work, "shop.zip"), at);
      const stream = createReadStream(join(work, "shop.zip"));
      stream.once("close", gone);
      c.header("Content-Type", "application/zip");
      c.header("Cache-Control", "no-store");
      c.header("Content-Disposition", `attachment; filename="shop-${at.slice(0, 10)}.zip"`);
      return c.body(Readable.toWeb(stream) as globalThis.ReadableStream);
    } catch (e) {
      gone();
      throw e;
    }
  });

  app.post("/archive", async (c) => {
    if (!c.get("here")) return plain(c, 403, "Only the machine on which the bench runs may bring an archive in.");
    if (packing) return plain(c, 429, "A backup is being made; wait until it is there.");
    const { body } = c.req.raw;
    if (body === null) throw new BadBody("The body is empty.");
    packing = true;
    const work = mkdtempSync(join(tmpdir(), "neckwright-archive-"));
    try {
      const zip = join(work, "archive.zip");
      await pipeline(Readable.fromWeb(body as ReadableStream<Uint8Array>), createWriteStream(zip, { mode: 0o600 }));
      return c.json(await bringIn(memory, zip, c.get("by")));
    } catch (e) {
      // the name that it has here says nothing to anybody
      if (e instanceof InputError) return plain(c, 400, `This archive cannot be brought in: ${e.message}. ${e.tryThis}.`);
      throw e;
    } finally {
      packing = false;
      rmSync(work, { recursive: true, force: true });
    }
  });

  app.put("/drawings/:file", async (c) => {
    const file = c.req.param("file");
    const kind = DRAWING.exec(file)?.[1];
    if (kind !== "svg" && kind !== "dxf")
      throw new StoreError(`No drawing can be called "${file.slice(0, 60)}".`, "Use NAME.svg or NAME.dxf.");
    const { bytes } = await readUpload(kind, await bytesOf(c), limits);
    await writeFiles(memory.inside("drawings"), [{ path: file, bytes }]);
    return c.json({ drawing: `drawings/${file}` }, 201);
  });
  return app;
}
