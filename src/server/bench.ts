import { Hono, type MiddlewareHandler } from "hono";
import { bodyLimit } from "hono/body-limit";
import { secureHeaders } from "hono/secure-headers";
import { streamSSE } from "hono/streaming";
import { InputError } from "../job/errors.ts";
import type { JobState, ShopFolder } from "../job/shop-folder.ts";
import type { UploadLimits } from "../job/uploads.ts";
import type { FolderMemory } from "../store/folder.ts";
import { mergeTexts } from "../store/merge.ts";
import { StoreError } from "../store/types.ts";
import { plain, sendFile } from "./app.ts";
import { BadBody, bodyOf } from "./body.ts";
import { exportRoutes } from "./export-routes.ts";
import { type Asking, addressOf, guard, type Lan, noteOddPaths } from "./guard.ts";
import { memoryRoutes } from "./memory-routes.ts";
import { pairPages } from "./pair-pages.ts";
import { Refusals } from "./refusals.ts";

/** An order and what stands round it. */
const MAX_BODY = 2 * 1024 * 1024;

/** A photograph or a drawing, and where they are sent. */
const MAX_UPLOAD = 24_000_000;
const UPLOADS = /^\/api\/(?:photos|drawings\/[^/]+)$/;

/** Everything of another shop's folder. */
const MAX_ARCHIVE = 1024 ** 3;

/** Pages of other origins cannot send this header without being asked first, and nobody here says yes. */
const OWN = "x-neckwright";

/** So many jobs at once; each uses the machine's threads. */
const MOST_JOBS = 2;

export interface BenchOptions {
  /** Versions, runs and photographs; without it only the files are served. */
  readonly memory?: FolderMemory;
  /** The workshop's network; absent: this machine only. */
  readonly lan?: Lan;
  readonly refusals?: Refusals;
  /** Of the thread that reads uploads. */
  readonly uploads?: UploadLimits;
  /** On which port it is served, when that is known. */
  readonly port?: () => number;
}

/**
 * The bench's server: its page below /bench, the shop's folder below /api, what was made below /jobs/ORDER. Answers only this machine, and with
 * `lan` the devices that are paired; whatever changes something needs the page's own header.
 */
export function makeBench(shop: ShopFolder, pages: string, options: BenchOptions = {}): Hono<Asking> {
  const app = new Hono<Asking>();
  const refusals = options.refusals ?? new Refusals();
  const { memory, lan } = options;
  app.use(
    secureHeaders({
      strictTransportSecurity: false,
      xFrameOptions: "DENY",
      referrerPolicy: "no-referrer",
      contentSecurityPolicy: {
        defaultSrc: ["'none'"],
        // the kernels are WebAssembly, compiled in a thread of its own
        scriptSrc: ["'self'", "'wasm-unsafe-eval'"],
        workerSrc: ["'self'"],
        connectSrc: ["'self'"],
        imgSrc: ["'self'", "data:", "blob:"],
        styleSrc: ["'self'", "'unsafe-inline'"],
        fontSrc: ["'self'", "data:"],
        objectSrc: ["'none'"],
        baseUri: ["'none'"],
        // the forms of pairing
        formAction: ["'self'"],
        frameAncestors: ["'none'"],
      },
    }),
  );
  app.use(guard(lan ?? null, refusals));
  app.use(noteOddPaths(refusals));
  const limited = (maxSize: number, says: string): MiddlewareHandler =>
    bodyLimit({
      maxSize,
      onError: (c) => {
        refusals.add(addressOf(c) ?? "this machine", says, `${c.req.method} ${c.req.path}`);
        // without this the connection is dropped under a later request
        c.header("Connection", "close");
        return plain(c, 413, says);
      },
    });
  const [small, large] = [limited(MAX_BODY, "This is more than an order can be."), limited(MAX_UPLOAD, "This file is too large.")];
  const whole = limited(MAX_ARCHIVE, "This archive is too large: restore it with the command, as a folder of its own.");
  app.use((c, next) => (c.req.path === "/api/archive" ? whole : UPLOADS.test(c.req.path) ? large : small)(c, next));
  app.use("/api/*", async (c, next) => {
    if (!["GET", "HEAD"].includes(c.req.method) && c.req.header(OWN) !== "bench") {
      refusals.add(addressOf(c) ?? "this machine", "a change without the page's own header", `${c.req.method} ${c.req.path}`);
      return plain(c, 403, "Only the bench's own page may change anything.");
    }
    await next();
    return;
  });
  if (lan !== undefined) app.route("/", pairPages(lan, options.port ?? (() => 0), refusals));
  if (memory !== undefined) app.route("/api", memoryRoutes(memory, shop, options.uploads));

  app.route("/api", exportRoutes(shop));

  app.get("/", (c) => sendFile(c, pages, "/index.html"));
  app.get("/bench/keeper.js", (c) => {
    // it keeps the whole bench, not only what lies below /bench
    c.header("Service-Worker-Allowed", "/");
    return sendFile(c, pages, "/keeper.js");
  });
  app.get("/bench/*", (c) => sendFile(c, pages, c.req.path.slice("/bench".length)));
  app.get("/jobs/:order/*", (c) =>
    sendFile(c, shop.jobFolder(c.req.param("order")), c.req.path.slice(`/jobs/${c.req.param("order")}`.length), true),
  );

  app.get("/api/shelf", async (c) => c.json(await shop.shelf()));
  app.get("/api/orders/:name", async (c) => c.json(await shop.open(c.req.param("name"), "order")));
  app.get("/api/orders/:name/drawing", async (c) => {
    const drawing = await shop.drawing(c.req.param("name"));
    if (drawing === null) return plain(c, 404, "This order asks for no drawing.");
    c.header("Content-Type", "application/octet-stream");
    return c.body(new Uint8Array(drawing));
  });
  app.get("/api/shops/:name", async (c) => c.json(await shop.open(c.req.param("name"), "shop")));
  for (const [kind, path] of [
    ["order", "/api/orders/:name"],
    ["shop", "/api/shops/:name"],
  ] as const)
    app.put(path, async (c) => {
      const { text, base } = await bodyOf(c, ["text", "base"]);
      const [name, by] = [c.req.param("name"), c.get("by")];
      // somebody may change it while the two are put together
      for (let k = 0; k < 5; k++) {
        const saved = await shop.save(name, text, base, kind, by);
        if (!("conflict" in saved)) return c.json(saved);
        const theirs = saved.conflict;
        const from = c.req.query("merge") === "1" ? memory?.store.textOf(base) : null;
        const both = from == null ? null : mergeTexts(from, text, theirs.text);
        if (both === null) return c.json(theirs, 409);
        if (both.clashes.length > 0) return c.json({ ...theirs, clashes: both.clashes, together: both.text }, 409);
        const merged = await shop.save(name, both.text, theirs.mark, kind, by);
        if (!("conflict" in merged)) return c.json({ ...merged, text: both.text, merged: true });
      }
      return c.text("Others change this all the time; try again.\n", 503);
    });
  app.get("/api/jobs", async (c) => c.json(await shop.last(c.req.query("order") ?? "")));
  app.post("/api/jobs", async (c) => {
    const { order, shop: name } = await bodyOf(c, ["order", "shop"]);
    if (shop.working() >= MOST_JOBS && (await shop.last(order))?.state !== "working")
      return plain(c, 429, `${MOST_JOBS} jobs are at work; wait until one is done, or cancel it.`);
    return c.json(await shop.start(order, name, c.get("by")), 202);
  });
  app.delete("/api/jobs/:id", (c) => {
    const job = shop.byId(c.req.param("id"));
    if (job === null) return plain(c, 404, "There is no such job.");
    job.cancel();
    return c.body(null, 204);
  });
  app.get("/api/jobs/:id/events", (c) => {
    const job = shop.byId(c.req.param("id"));
    if (job === null) return plain(c, 404, "There is no such job.");
    return streamSSE(c, async (stream) => {
      // messages go out one after the other, and the stream stays open until the last has gone
      let sent: Promise<unknown> = Promise.resolve();
      await new Promise<void>((done) => {
        const send = (s: JobState): void => {
          sent = sent.then(() => stream.writeSSE({ data: JSON.stringify(s) }));
          if (s.state !== "working")
            sent.then(
              () => done(),
              () => done(),
            );
        };
        const stop = job.listen(send);
        stream.onAbort(() => {
          stop();
          done();
        });
        send(shop.byId(job.state.id)?.state ?? job.state);
      });
    });
  });
  app.all("/*", (c) => plain(c, 404, "There is nothing here."));
  app.onError((error, c) => {
    if (error instanceof InputError) return plain(c, 400, error.message);
    if (error instanceof StoreError) return plain(c, 400, `${error.message} ${error.tryThis}`);
    if (error instanceof BadBody) return plain(c, 400, error.message);
    return plain(c, 500, "The server failed; see its terminal.");
  });
  return app;
}
