import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { strFromU8, unzipSync } from "fflate";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { type JobState, ShopFolder } from "../job/shop-folder.ts";
import { makeBench } from "./bench.ts";

const examples = new URL("../../examples/", import.meta.url);
let dir: string;
let shop: ShopFolder;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-bench-"));
  for (const f of ["loan-ukulele.order.json", "stiff-router.shop.json"]) writeFileSync(join(dir, f), readFileSync(new URL(f, examples)));
  writeFileSync(join(dir, "index.html"), "<!doctype html><title>pages</title>");
  shop = new ShopFolder(dir, { workers: 0, cell: 0.5 });
});
afterAll(async () => {
  await shop.close();
  rmSync(dir, { recursive: true, force: true });
});

const HOST = { host: "127.0.0.1:7320" };
const OWN = { ...HOST, "x-neckwright": "bench", "content-type": "application/json" };
const ask = async (path: string, init: { method?: string; headers?: Record<string, string>; body?: string } = {}): Promise<Response> =>
  makeBench(shop, dir).request(`http://127.0.0.1:7320${path}`, { headers: HOST, ...init });
interface Opened {
  text: string;
  mark: string;
}

describe("the bench's server", () => {
  test("gives its page with headers that let nothing foreign in", async () => {
    const r = await ask("/");
    expect(await r.text()).toContain("pages");
    const policy = r.headers.get("content-security-policy") ?? "";
    for (const part of ["default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "connect-src 'self'"])
      expect(policy).toContain(part);
  });

  test("lists what lies in the folder", async () => {
    expect(await (await ask("/api/shelf")).json()).toEqual({
      orders: [{ name: "loan-ukulele", title: "Loan ukulele, tenor" }],
      shops: ["stiff-router"],
    });
  });

  test("gives the drawing an order asks for, and none where none is asked for", async () => {
    expect((await ask("/api/orders/loan-ukulele/drawing")).status).toBe(404);
    cpSync(new URL("drawings", examples), join(dir, "drawings"), { recursive: true });
    cpSync(new URL("loan-guitar-drawn.order.json", examples), join(dir, "drawn.order.json"));
    const drawing = await ask("/api/orders/drawn/drawing");
    expect(await drawing.text()).toBe(readFileSync(new URL("drawings/loan-head.svg", examples), "utf8"));
    rmSync(join(dir, "drawn.order.json"));
  });

  test("saves an order whole, refuses it when the file is another by now, and gives that one back", async () => {
    const first = (await (await ask("/api/orders/loan-ukulele")).json()) as Opened;
    const text = first.text.replace(/"title": "[^"]*"/, '"title": "Loan ukulele, changed"');
    const saved = await ask("/api/orders/loan-ukulele", { method: "PUT", headers: OWN, body: JSON.stringify({ text, base: first.mark }) });
    expect(saved.status).toBe(200);
    expect(readFileSync(join(dir, "loan-ukulele.order.json"), "utf8")).toBe(text);
    const late = await ask("/api/orders/loan-ukulele", {
      method: "PUT",
      headers: OWN,
      body: JSON.stringify({ text: "{}", base: first.mark }),
    });
    expect(late.status).toBe(409);
    expect(((await late.json()) as Opened).text).toBe(text);
    expect(readFileSync(join(dir, "loan-ukulele.order.json"), "utf8")).toBe(text);
    expect(readdirSync(dir).filter((f) => f.endsWith(".tmp"))).toEqual([]);
  });

  test("of twenty saves at once from one state exactly one is taken", async () => {
    const { text, mark } = (await (await ask("/api/orders/loan-ukulele")).json()) as Opened;
    const all = await Promise.all(
      Array.from({ length: 20 }, (_, k) =>
        ask("/api/orders/loan-ukulele", {
          method: "PUT",
          headers: OWN,
          body: JSON.stringify({ text: text.replace("changed", `number ${k}`), base: mark }),
        }),
      ),
    );
    expect(all.map((r) => r.status).sort()).toEqual([200, ...Array<number>(19).fill(409)]);
  });

  test("refuses other hosts, other origins, changes without its own header, bodies that are not JSON or too large", async () => {
    expect((await ask("/api/shelf", { headers: { host: "workshop.example" } })).status).toBe(403);
    expect((await ask("/api/shelf", { headers: { ...HOST, origin: "http://workshop.example" } })).status).toBe(403);
    const body = JSON.stringify({ order: "loan-ukulele", shop: "stiff-router" });
    expect((await ask("/api/jobs", { method: "POST", headers: { ...HOST, "content-type": "application/json" }, body })).status).toBe(403);
    expect((await ask("/api/jobs", { method: "POST", headers: { ...OWN, "content-type": "text/plain" }, body })).status).toBe(400);
    expect((await ask("/api/jobs", { method: "POST", headers: OWN, body: "{" })).status).toBe(400);
    expect((await ask("/api/jobs", { method: "POST", headers: OWN, body: JSON.stringify({ order: 1 }) })).status).toBe(400);
    const large = JSON.stringify({ text: "x".repeat(3e6), base: "" });
    expect(
      (await ask("/api/orders/loan-ukulele", { method: "PUT", headers: { ...OWN, "content-length": String(large.length) }, body: large }))
        .status,
    ).toBe(413);
  });

  test.each(["..", "%2e%2e", "a/b", "A", "x.y", "..%2fetc", "con", "-", "a".repeat(80)])("opens nothing for the name %s", async (name) => {
    for (const path of [`/api/orders/${name}`, `/api/shops/${name}`, `/jobs/${name}/job.json`]) {
      const r = await ask(path);
      expect([400, 404], path).toContain(r.status);
    }
  });

  test("exports what is saved: one file as it is, several as one archive; what this neck has none of is said", async () => {
    const table = await ask("/api/exports/loan-ukulele/frets-csv");
    expect(table.headers.get("content-disposition")).toBe('attachment; filename="loan-ukulele-frets.csv"');
    expect((await table.text()).split("\n").length).toBeGreaterThan(12);
    const outlines = await ask("/api/exports/loan-ukulele/dxf?shop=stiff-router");
    const files = unzipSync(new Uint8Array(await outlines.arrayBuffer()));
    expect(Object.keys(files).length).toBeGreaterThan(2);
    for (const [name, bytes] of Object.entries(files)) {
      expect(name).toMatch(/^loan-ukulele-[a-z-]+\.dxf$/);
      expect(strFromU8(bytes)).toContain("ENTITIES");
    }
    const rollers = await ask("/api/exports/loan-ukulele/rollers");
    expect([rollers.status, await rollers.text()]).toEqual([409, "the headstock is not slotted: no rollers are bored from its sides\n"]);
    expect((await ask("/api/exports/loan-ukulele/everything")).status).toBe(404);
    for (const name of ["no-such", "..%2Floan-ukulele", "%2e%2e"])
      expect((await ask(`/api/exports/${name}/frets-csv`)).status, name).toBeGreaterThanOrEqual(400);
    expect((await ask("/api/exports/loan-ukulele/frets-csv?shop=..%2Fstiff-router")).status).toBe(400);
    expect((await ask("/api/exports/loan-ukulele/frets-csv", { headers: { host: "elsewhere.example" } })).status).toBe(403);
  });

  test("exports on a thread of its own: the same bytes, and others are answered meanwhile", async () => {
    const threaded = new ShopFolder(dir, { workers: 1 });
    const exported = (kind: "frets-csv" | "nut", from: ShopFolder): ReturnType<ShopFolder["exported"]> =>
      from.exported("loan-ukulele", "stiff-router", kind, "A4");
    let done = false;
    const made = exported("nut", threaded).finally(() => {
      done = true;
    });
    let answered = 0;
    while (!done) {
      expect((await ask("/api/shelf")).status).toBe(200);
      answered++;
      await new Promise((turn) => setTimeout(turn, 1));
    }
    expect(answered).toBeGreaterThan(5);
    expect(await made).toEqual(await exported("nut", shop));
    expect(await exported("frets-csv", threaded)).toEqual(await exported("frets-csv", shop));
    await threaded.close();
  });

  test("does not follow a link out of a made folder", async () => {
    symlinkSync(join(tmpdir()), join(dir, "jobs"));
    expect((await ask("/jobs/loan-ukulele/anything.txt")).status).toBe(404);
    rmSync(join(dir, "jobs"));
  });

  test("makes, tells how far it is to the last message, and keeps the result", async () => {
    const started = (await (
      await ask("/api/jobs", { method: "POST", headers: OWN, body: JSON.stringify({ order: "loan-ukulele", shop: "stiff-router" }) })
    ).json()) as JobState;
    const events = await (await ask(`/api/jobs/${started.id}/events`)).text();
    const states = events
      .split("\n")
      .filter((l) => l.startsWith("data: "))
      .map((l) => JSON.parse(l.slice(6)) as JobState);
    expect(states.at(-1)).toMatchObject({ state: "done", share: 1, order: "loan-ukulele" });
    for (let k = 1; k < states.length; k++) expect(states[k].share).toBeGreaterThanOrEqual(states[k - 1].share);
    expect((await ask("/jobs/loan-ukulele/job.json")).status).toBe(200);
    expect(await (await ask("/api/jobs?order=loan-ukulele")).json()).toMatchObject({ state: "done" });
    // a server started later finds what was made before
    expect(await new ShopFolder(dir).last("loan-ukulele")).toMatchObject({ state: "done", orderMark: started.orderMark });
    expect(await new ShopFolder(dir).last("loan-guitar")).toBeNull();
  }, 300_000);

  test("cancels, and what was made before is untouched", async () => {
    const before = readFileSync(join(dir, "jobs", "loan-ukulele", "job.json"), "utf8");
    const threads = new ShopFolder(dir, { workers: 1 });
    const job = await threads.start("loan-ukulele", "stiff-router");
    await new Promise((r) => setTimeout(r, 50));
    threads.byId(job.id)?.cancel();
    await threads.close();
    expect((await threads.last("loan-ukulele"))?.state).toBe("cancelled");
    expect(readFileSync(join(dir, "jobs", "loan-ukulele", "job.json"), "utf8")).toBe(before);
  });
});
