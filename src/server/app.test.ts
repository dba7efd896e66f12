import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { makeApp, resolveInside } from "./app.ts";
import { type Serving, serveFolder } from "./serve.ts";

let dir: string;
let job: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-server-"));
  job = join(dir, "job");
  mkdirSync(join(job, "programs"), { recursive: true });
  writeFileSync(join(job, "report.html"), "<!doctype html><title>report</title>");
  writeFileSync(join(job, "job.json"), "{}");
  writeFileSync(join(job, "programs/01-board-scribe.ngc"), "G21\n");
  writeFileSync(join(job, ".hidden"), "secret");
  writeFileSync(join(dir, "outside.txt"), "secret");
  symlinkSync(join(dir, "outside.txt"), join(job, "link.txt"));
  symlinkSync(dir, join(job, "up"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const get = (path: string, headers: Record<string, string> = {}, method = "GET"): Response | Promise<Response> =>
  makeApp(job).request(`http://127.0.0.1:7320${path}`, { method, headers: { host: "127.0.0.1:7320", ...headers } });

describe("the local server", () => {
  test("gives the report at /, and files with their types", async () => {
    const report = await get("/");
    expect(report.status).toBe(200);
    expect(report.headers.get("content-type")).toBe("text/html; charset=utf-8");
    expect(await report.text()).toContain("report");
    const program = await get("/programs/01-board-scribe.ngc");
    expect(await program.text()).toBe("G21\n");
    expect(program.headers.get("content-disposition")).toContain("01-board-scribe.ngc");
  });

  test("sends the protective headers, and no HSTS", async () => {
    const { headers } = await get("/");
    expect(headers.get("content-security-policy")).toContain("default-src 'none'");
    expect(headers.get("content-security-policy")).toContain("frame-ancestors 'none'");
    expect(headers.get("x-content-type-options")).toBe("nosniff");
    expect(headers.get("x-frame-options")).toBe("DENY");
    expect(headers.get("strict-transport-security")).toBeNull();
  });

  test.each([
    "/../outside.txt",
    "/..%2foutside.txt",
    "/%2e%2e/outside.txt",
    "/%2e%2e%2foutside.txt",
    "/programs/../../outside.txt",
    "/programs/..%5c..%5coutside.txt",
    "//outside.txt",
    "/link.txt",
    "/up/outside.txt",
    "/.hidden",
    "/programs",
    "/programs/",
    "/job.json%00.html",
    "/%",
    "/nothing.txt",
  ])("gives nothing for %s", async (path) => {
    expect((await get(path)).status).toBe(404);
    expect(await resolveInside(job, path)).toBeNull();
  });

  test("answers only to this machine's own names and pages", async () => {
    expect((await get("/", { host: "workshop.example" })).status).toBe(403);
    expect((await get("/", { host: "127.0.0.1.workshop.example" })).status).toBe(403);
    expect((await get("/", { host: "localhost:7320" })).status).toBe(200);
    expect((await get("/", { host: "[::1]:7320" })).status).toBe(200);
    expect((await get("/", { origin: "http://workshop.example" })).status).toBe(403);
    expect((await get("/", { origin: "http://localhost:7320" })).status).toBe(200);
  });

  test("only reads: other methods are refused, large bodies too", async () => {
    for (const method of ["POST", "PUT", "DELETE", "PATCH"]) expect((await get("/", {}, method)).status).toBe(405);
    const big = await makeApp(job).request("http://127.0.0.1/", {
      method: "POST",
      headers: { host: "127.0.0.1", "content-length": String(1024 * 1024) },
      body: "x".repeat(1024 * 1024),
    });
    expect(big.status).toBe(413);
    expect(big.headers.get("connection")).toBe("close");
  });

  test("knows what the browser has", async () => {
    const etag = (await get("/job.json")).headers.get("etag")!;
    expect((await get("/job.json", { "if-none-match": etag })).status).toBe(304);
  });
});

/** Through a socket, with the path exactly as given. */
function raw(serving: Serving, path: string, headers: Record<string, string> = {}): Promise<number> {
  const { hostname, port } = new URL(serving.address);
  return new Promise((resolve, reject) => {
    const r = request({ hostname, port, path, headers }, (answer) => {
      answer.resume();
      resolve(answer.statusCode ?? 0);
    });
    r.on("error", reject);
    r.end();
  });
}

describe("serving through a socket", () => {
  test("listens on 127.0.0.1, keeps to the folder, closes at once", async () => {
    const serving = await serveFolder(job, 0);
    try {
      expect(new URL(serving.address).hostname).toBe("127.0.0.1");
      expect(await raw(serving, "/")).toBe(200);
      expect(await raw(serving, "/../outside.txt")).toBe(404);
      expect(await raw(serving, "/..%2foutside.txt")).toBe(404);
      expect(await raw(serving, "/", { host: "workshop.example" })).toBe(403);
      const port = Number(new URL(serving.address).port);
      await expect(serveFolder(job, port)).rejects.toThrow(/another program listens/);
    } finally {
      await serving.close();
    }
    await expect(raw(serving, "/")).rejects.toThrow();
  });

  test("refuses a folder without job.json", async () => {
    await expect(serveFolder(dir, 0)).rejects.toThrow(/no job.json/);
    await expect(serveFolder(join(dir, "none"), 0)).rejects.toThrow(/no such folder/);
  });
});
