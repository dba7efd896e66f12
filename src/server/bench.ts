import { type Context, Hono } from "hono";
import { bodyLimit } from "hono/body-limit";
import { secureHeaders } from "hono/secure-headers";
import { streamSSE } from "hono/streaming";
import { InputError } from "../job/errors.ts";
import type { JobState, ShopFolder } from "../job/shop-folder.ts";
import { onlyHere, plain, sendFile } from "./app.ts";

/** An order and what stands round it. */
const MAX_BODY = 2 * 1024 * 1024;

/** Pages of other origins cannot send this header without being asked first, and nobody here says yes. */
const OWN = "x-neckwright";

/**
 * The bench's server: its page below /bench, the shop's folder below /api, what was made below /jobs/ORDER. Answers only this machine;
 * whatever changes something needs the page's own header.
 */
export function makeBench(shop: ShopFolder, pages: string): Hono {
  const app = new Hono();
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
        formAction: ["'none'"],
        frameAncestors: ["'none'"],
      },
    }),
  );
  app.use(onlyHere);
  app.use(
    bodyLimit({
      maxSize: MAX_BODY,
      onError: (c) => {
        c.header("Connection", "close");
        return plain(c, 413, "This is more than an order can be.");
      },
    }),
  );
  app.use("/api/*", async (c, next) => {
    if (!["GET", "HEAD"].includes(c.req.method) && c.req.header(OWN) !== "bench")
      return plain(c, 403, "Only the bench's own page may change anything.");
    await next();
    return;
  });

  app.get("/", (c) => sendFile(c, pages, "/index.html"));
  app.get("/bench/keeper.js", (c) => {
    // it keeps the whole bench, not only what lies below /bench
    c.header("Service-Worker-Allowed", "/");
    return sendFile(c, pages, "/keeper.js");
  });
  app.get("/bench/*", (c) => sendFile(c, pages, c.req.path.slice("/bench".length)));
  app.get("/jobs/:order/*", (c) =>
    sendFile(c, shop.jobFolder(c.req.param("order")), c.req.path.slice(`/jobs/${c.req.param("order")}`.length)),
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
  app.put("/api/orders/:name", async (c) => {
    const { text, base } = await bodyOf(c, ["text", "base"]);
    const saved = await shop.save(c.req.param("name"), text, base);
    return "conflict" in saved ? c.json(saved.conflict, 409) : c.json(saved);
  });
  app.get("/api/jobs", async (c) => c.json(await shop.last(c.req.query("order") ?? "")));
  app.post("/api/jobs", async (c) => {
    const { order, shop: name } = await bodyOf(c, ["order", "shop"]);
    return c.json(await shop.start(order, name), 202);
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
    if (error instanceof BadBody) return plain(c, 400, error.message);
    return plain(c, 500, "The server failed; see its terminal.");
  });
  return app;
}

class BadBody extends Error {}

/** The named texts of a JSON body, all of them, or 400. */
async function bodyOf<K extends string>(c: Context, keys: readonly K[]): Promise<Record<K, string>> {
  if (!(c.req.header("content-type") ?? "").startsWith("application/json")) throw new BadBody("Send JSON.");
  let body: unknown;
  try {
    body = await c.req.json();
  } catch {
    throw new BadBody("The body is not JSON.");
  }
  const out = {} as Record<K, string>;
  for (const key of keys) {
    const value =
      body !== null && typeof body === "object" && Object.hasOwn(body, key) ? (body as Record<string, unknown>)[key] : undefined;
    if (typeof value !== "string") throw new BadBody(`"${key}" has to be a text.`);
    out[key] = value;
  }
  return out;
}
