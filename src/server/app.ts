import { lstat, readFile, realpath } from "node:fs/promises";
import { basename, dirname, extname, join, sep } from "node:path";
import { type Context, Hono, type MiddlewareHandler } from "hono";
import { bodyLimit } from "hono/body-limit";
import { secureHeaders } from "hono/secure-headers";
import { codeOfError } from "../job/errors.ts";
import { sha256 } from "../job/hash.ts";

export const TYPES: Readonly<Record<string, string>> = {
  ".html": "text/html; charset=utf-8",
  ".json": "application/json; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".map": "application/json; charset=utf-8",
  ".svg": "image/svg+xml",
  ".png": "image/png",
  ".pdf": "application/pdf",
  ".ngc": "text/plain; charset=us-ascii",
  ".csv": "text/csv; charset=utf-8",
  ".dxf": "image/vnd.dxf",
  ".stl": "model/stl",
  ".3mf": "model/3mf",
  ".step": "model/step",
};

/** Nothing is uploaded: any body is refused beyond this. */
const MAX_BODY = 64 * 1024;

/** Names by which this machine may be called: a page elsewhere that resolves its own name to 127.0.0.1 is turned away. */
export const LOCAL_HOST: RegExp = /^(?:127\.0\.0\.1|localhost|\[::1\])(?::\d{1,5})?$/i;

export const plain = (c: Context, status: 400 | 403 | 404 | 405 | 409 | 413 | 429 | 500, says: string): Response =>
  c.text(`${says}\n`, status);

/**
 * The files of one made folder, read-only: `/` is its report. Nothing outside the folder is reachable, neither by `..`
 * nor through a link.
 */
export function makeApp(folder: string): Hono {
  const app = new Hono();
  app.use(
    secureHeaders({
      // plain http on this machine: asking browsers to insist on https would lock them out
      strictTransportSecurity: false,
      xFrameOptions: "DENY",
      referrerPolicy: "no-referrer",
      contentSecurityPolicy: {
        defaultSrc: ["'none'"],
        imgSrc: ["'self'", "data:"],
        styleSrc: ["'unsafe-inline'"],
        fontSrc: ["data:"],
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
        // without this the connection is dropped under a later request
        c.header("Connection", "close");
        return plain(c, 413, "Nothing can be sent here.");
      },
    }),
  );
  app.on(["GET", "HEAD"], "/*", (c) => sendFile(c, folder, c.req.path));
  app.all("/*", (c) => {
    c.header("Allow", "GET, HEAD");
    return plain(c, 405, "Files can be read here, nothing else.");
  });
  app.onError((_error, c) => plain(c, 500, "The server failed; see its terminal."));
  return app;
}

/** Turns away requests that name another machine, or come from a page of another origin. */
export const onlyHere: MiddlewareHandler = async (c, next) => {
  const host = c.req.header("host") ?? "";
  if (!LOCAL_HOST.test(host)) return plain(c, 403, "This server answers only to this machine's own name.");
  const origin = c.req.header("origin");
  if (origin !== undefined && origin !== "null" && !LOCAL_HOST.test(origin.replace(/^https?:\/\//, ""))) {
    return plain(c, 403, "This server answers only to pages of its own.");
  }
  await next();
  return;
};

/** The file of a folder that a path names, or 404. */
export async function sendFile(c: Context, folder: string, path: string, plainly = false): Promise<Response> {
  const found = await resolveInside(folder, path, plainly);
  if (found === null) return plain(c, 404, "There is no such file in this folder.");
  let bytes: Uint8Array<ArrayBuffer>;
  try {
    bytes = new Uint8Array(await readFile(found));
  } catch (error) {
    return plain(c, codeOfError(error) === "EACCES" ? 403 : 404, "This file cannot be read.");
  }
  const etag = `"${sha256(bytes).slice(0, 32)}"`;
  c.header("ETag", etag);
  c.header("Cache-Control", "no-cache");
  if (c.req.header("if-none-match") === etag) return c.body(null, 304);
  c.header("Content-Type", TYPES[extname(found).toLowerCase()] ?? "application/octet-stream");
  if (extname(found) === ".ngc") c.header("Content-Disposition", `attachment; filename="${found.split(sep).at(-1)}"`);
  return c.body(bytes);
}

/**
 * The file a request's path names, or null: not there, outside the folder, a folder, hidden, or reached through a link. `plainly`: the folder
 * itself, and the one it lies in, may be no links either.
 */
export async function resolveInside(folder: string, requestPath: string, plainly = false): Promise<string | null> {
  let path: string;
  try {
    path = decodeURIComponent(requestPath);
  } catch {
    return null;
  }
  if (path === "/") path = "/report.html";
  const parts = path.split("/").slice(1);
  // names only: no empty part, no "." or "..", no hidden file, no separator or control character that came encoded
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is refused
  if (parts.some((p) => p === "" || p.startsWith(".") || /[\\/:\u0000-\u001f]/.test(p))) return null;
  try {
    const root = await realpath(folder);
    if (plainly && root !== join(await realpath(dirname(dirname(folder))), basename(dirname(folder)), basename(folder))) return null;
    const wanted = join(root, ...parts);
    if ((await realpath(wanted)) !== wanted) return null;
    return (await lstat(wanted)).isFile() ? wanted : null;
  } catch {
    return null;
  }
}
