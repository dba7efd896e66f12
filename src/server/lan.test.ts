import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Hono } from "hono";
import encodeQR from "qr";
import decodeQR from "qr/decode.js";
import { afterAll, beforeEach, describe, expect, test } from "vitest";
import { ShopFolder } from "../job/shop-folder.ts";
import { FolderMemory } from "../store/folder.ts";
import { makeBench } from "./bench.ts";
import { type Asking, makeLan } from "./guard.ts";
import { CODE_LIFE_MS, MOST_WRONG, Pairing, plainName } from "./pairing.ts";
import { Refusals } from "./refusals.ts";

const examples = new URL("../../examples/", import.meta.url);
const HOST = "192.0.2.7:7320";
const TABLET = "192.0.2.20";
const rooms: { readonly dir: string; readonly memory: FolderMemory }[] = [];
let dir: string;
let clock: number;
let pairing: Pairing;
let refusals: Refusals;
let said: string[];
let bench: Hono<Asking>;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-lan-"));
  for (const f of ["loan-ukulele.order.json", "stiff-router.shop.json"]) cpSync(new URL(f, examples), join(dir, f));
  writeFileSync(join(dir, "index.html"), "<!doctype html><title>pages</title>");
  clock = Date.UTC(2026, 2, 1, 8);
  const memory = new FolderMemory(dir, { now: () => new Date(clock).toISOString() });
  rooms.push({ dir, memory });
  said = [];
  pairing = new Pairing(memory.store, () => clock);
  refusals = new Refusals(
    (line) => said.push(line),
    () => clock,
  );
  const lan = makeLan(pairing, false, () => clock, ["192.0.2.7", "shed", "shed.local"]);
  const shop = new ShopFolder(dir, { workers: 0, records: memory });
  bench = makeBench(shop, dir, { memory, lan, refusals, port: () => 7320 });
});
afterAll(() => {
  for (const r of rooms) {
    r.memory.close();
    rmSync(r.dir, { recursive: true, force: true });
  }
});

interface Ask {
  readonly from?: string;
  readonly host?: string;
  readonly method?: string;
  readonly headers?: Record<string, string>;
  readonly body?: string;
}
const ask = async (path: string, { from = TABLET, host = HOST, method = "GET", headers = {}, body }: Ask = {}): Promise<Response> =>
  bench.request(
    `http://${host}${path}`,
    { method, headers: { host, ...headers }, ...(body === undefined ? {} : { body }) },
    { incoming: { socket: { remoteAddress: from } } },
  );
const here = (path: string, more: Ask = {}): Promise<Response> => ask(path, { from: "127.0.0.1", host: "127.0.0.1:7320", ...more });
const form = (fields: Record<string, string>, origin = `http://${HOST}`): Ask => ({
  method: "POST",
  headers: { origin, "content-type": "application/x-www-form-urlencoded" },
  body: new URLSearchParams(fields).toString(),
});
/** Pairs, and gives the cookie. */
const pair = async (name = "tablet", from = TABLET): Promise<string> => {
  const r = await ask("/pair", { ...form({ code: pairing.renew().code, name }), from });
  expect(r.status).toBe(303);
  return (r.headers.get("set-cookie") ?? "").split(";")[0];
};

describe("the bench on the workshop's network", () => {
  test("gives a device nothing before it is paired, and everything after", async () => {
    expect((await ask("/")).headers.get("location")).toBe("/pair");
    for (const path of ["/api/shelf", "/api/orders/loan-ukulele", "/bench/main.js", "/jobs/loan-ukulele/job.json", "/devices", "/api/lan"])
      expect((await ask(path)).status, path).toBe(401);
    expect(said.join("")).toContain("192.0.2.20: This device is not paired. (GET /api/shelf)");
    const cookie = await pair();
    expect((await ask("/api/shelf", { headers: { cookie } })).status).toBe(200);
    expect(await (await ask("/", { headers: { cookie } })).text()).toContain("pages");
  });

  test("the key is for scripts and other sites out of reach, and not kept in clear", async () => {
    const r = await ask("/pair", form({ code: pairing.renew().code, name: "tablet" }));
    const cookie = r.headers.get("set-cookie") ?? "";
    for (const part of ["HttpOnly", "SameSite=Strict", "Path=/"]) expect(cookie).toContain(part);
    const key = (cookie.split(";")[0] ?? "").split("=")[1] ?? "";
    expect(key.length).toBeGreaterThanOrEqual(43);
    expect(JSON.stringify(pairing.devices())).not.toContain(key);
    expect(readFileSync(join(dir, ".neckwright", "shop.db-wal")).includes(key)).toBe(false);
  });

  test("a code counts once, for five minutes, for the newest only, and not after wrong ones", async () => {
    const tryCode = async (code: string, from: string): Promise<number> =>
      (await ask("/pair", { ...form({ code, name: "x" }), from })).status;
    const { code } = pairing.renew();
    expect(await tryCode(code.toLowerCase().replace(/^(....)/, "$1 "), "192.0.2.30")).toBe(303);
    expect(await tryCode(code, "192.0.2.31")).toBe(403);
    expect(said.at(-1)).toContain("No code counts now");
    const old = pairing.renew().code;
    const next = pairing.renew().code;
    expect(await tryCode(old, "192.0.2.32")).toBe(403);
    clock += CODE_LIFE_MS;
    expect(await tryCode(next, "192.0.2.33")).toBe(403);
    const guessed = pairing.renew().code;
    for (let k = 0; k < MOST_WRONG; k++) expect(await tryCode("AAAAAAAA", `192.0.2.${40 + k}`)).toBe(403);
    expect(await tryCode(guessed, "192.0.2.50")).toBe(403);
    expect(pairing.devices()).toHaveLength(1);
  });

  test("one address tries a few codes a minute, whatever it is told", async () => {
    const all = [];
    for (let k = 0; k < 9; k++) {
      pairing.renew();
      all.push((await ask("/pair", form({ code: "AAAAAAAA", name: "x" }))).status);
    }
    expect(all).toEqual([403, 403, 403, 403, 403, 429, 429, 429, 429]);
  });

  test("a key that is withdrawn, made up, or too long counts for nothing", async () => {
    const cookie = await pair();
    const [device] = pairing.devices();
    expect((await ask("/api/shelf", { headers: { cookie } })).status).toBe(200);
    const r = await here(`/api/lan/devices/${device.id}`, { method: "DELETE", headers: { "x-neckwright": "bench" } });
    expect(r.status).toBe(200);
    expect((await ask("/api/shelf", { headers: { cookie } })).status).toBe(401);
    expect(said.at(-1)).toContain("was withdrawn");
    for (const key of ["", "x", device.keyHash, "k".repeat(5000)])
      expect((await ask("/api/shelf", { headers: { cookie: `neckwright-key=${key}` } })).status).toBe(401);
  });

  test("only the first screen shows codes and withdraws keys", async () => {
    const cookie = await pair();
    const headers = { cookie, "x-neckwright": "bench" };
    for (const [path, method] of [
      ["/api/lan", "GET"],
      ["/api/lan/code", "POST"],
      [`/api/lan/devices/${pairing.devices()[0].id}`, "DELETE"],
      ["/devices", "GET"],
      ["/devices", "POST"],
    ] as const)
      expect((await ask(path, { method, headers })).status, path).toBe(403);
    expect(refusals.last().map((r) => r.request)).toContain("GET /devices");
    expect((await here("/devices")).status).toBe(200);
    expect((await here("/devices", form({ withdraw: pairing.devices()[0].id }, "http://workshop.example"))).status).toBe(403);
    expect(pairing.devices()[0].withdrawn).toBeNull();
    expect((await here("/devices", form({ withdraw: pairing.devices()[0].id }, "http://127.0.0.1:7320"))).status).toBe(303);
    expect(pairing.devices()[0].withdrawn).not.toBeNull();
  });

  test("answers to its own names and pages only, wherever one asks from", async () => {
    const cookie = await pair();
    const headers = { cookie };
    expect((await ask("/api/shelf", { headers, host: "shed.local:7320" })).status).toBe(200);
    for (const host of ["workshop.example", "192.0.2.8:7320", "localhost:7320", "127.0.0.1:7320", "shed.local.workshop.example"])
      expect((await ask("/api/shelf", { headers, host })).status, host).toBe(403);
    for (const origin of ["http://workshop.example", "null", `https://${HOST}`, "http://192.0.2.7:9999"])
      expect((await ask("/api/shelf", { headers: { ...headers, origin } })).status, origin).toBe(403);
    const own = { ...headers, "x-neckwright": "bench", "content-type": "application/json", origin: `http://${HOST}` };
    const body = JSON.stringify({ text: "{}", base: "" });
    expect((await ask("/api/orders/new", { method: "PUT", headers: { ...own, "sec-fetch-site": "cross-site" }, body })).status).toBe(403);
    expect((await ask("/api/orders/new", { method: "PUT", headers: { ...own, "sec-fetch-site": "same-origin" }, body })).status).toBe(200);
    // from this machine, but handed on by a proxy for somebody else, or under another name
    expect((await here("/api/shelf", { headers: { "x-forwarded-for": "198.51.100.1" } })).status).toBe(403);
    expect((await here("/api/shelf", { host: "workshop.example" })).status).toBe(403);
    expect((await here("/api/shelf")).status).toBe(200);
  });

  test("without a network nobody but this machine is answered, paired or not", async () => {
    const cookie = await pair();
    const alone = makeBench(new ShopFolder(dir), dir, { refusals });
    const r = await alone.request(
      `http://${HOST}/api/shelf`,
      { headers: { host: HOST, cookie } },
      { incoming: { socket: { remoteAddress: TABLET } } },
    );
    expect(r.status).toBe(403);
    expect((await alone.request(`http://${HOST}/pair`, { headers: { host: HOST } }, { incoming: { socket: {} } })).status).toBe(403);
  });

  test("floods are turned away, and flood neither the terminal nor the memory of what was refused", async () => {
    const cookie = await pair();
    const all: number[] = [];
    for (let k = 0; k < 400; k++) all.push((await ask("/api/lan", { headers: { cookie } })).status);
    expect(all.filter((s) => s === 429).length).toBeGreaterThan(90);
    clock += 60_000;
    expect((await ask("/api/shelf", { headers: { cookie } })).status).toBe(200);
    for (let k = 0; k < 500; k++) refusals.add("x", "y", "z");
    expect(said.length).toBeLessThan(80);
    expect(refusals.last().length).toBeLessThanOrEqual(200);
  });

  test("a name or a path that is made to be code stays text, on the page, in JSON and on the terminal", async () => {
    const name = `<script>alert(1)</script>"'\u202e\u0007\n`;
    await pair(name);
    const html = await (await here("/devices")).text();
    expect(html).toContain("&lt;script&gt;");
    expect(html).not.toContain("<script");
    const prefilled = await (await ask(`/pair?code=${encodeURIComponent('"><script>x</script>')}`)).text();
    expect(prefilled).not.toContain("<script");
    expect((await here("/devices")).headers.get("content-security-policy")).toContain("default-src 'none'");
    await ask("/api/%1b%5b2J%0aforged");
    // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what must not be there
    for (const line of said) expect(line.slice(0, -1)).not.toMatch(/[\u0000-\u001f\u007f\u202e]/);
    expect(plainName(name)).toBe(`<script>alert(1)</script>"'`);
  });

  test("shows the code as a picture that a camera reads as the address", async () => {
    const { code } = pairing.renew();
    const state = (await (await here("/api/lan")).json()) as { qr: string | null; link: string | null; devices: unknown[] };
    const link = state.link ?? `http://${HOST}/pair?code=${code}`;
    if (state.qr !== null) expect(state.qr).toMatch(/^<svg /);
    // the drawing's squares, read by the library's own reader
    const cells = encodeQR(link, "raw");
    const scale = 4;
    const side = cells.length * scale;
    const data = new Uint8Array(side * side * 4).fill(255);
    for (let y = 0; y < side; y++)
      for (let x = 0; x < side; x++)
        if (cells[Math.floor(y / scale)][Math.floor(x / scale)]) data.fill(0, 4 * (y * side + x), 4 * (y * side + x) + 3);
    expect(decodeQR({ width: side, height: side, data })).toBe(link);
  });

  test("a made folder that is a link leads nowhere", async () => {
    const elsewhere = mkdtempSync(join(tmpdir(), "neckwright-elsewhere-"));
    writeFileSync(join(elsewhere, "secret.txt"), "secret");
    mkdirSync(join(dir, "jobs"));
    symlinkSync(elsewhere, join(dir, "jobs", "loan-ukulele"));
    expect((await here("/jobs/loan-ukulele/secret.txt")).status).toBe(404);
    rmSync(join(dir, "jobs"), { recursive: true });
    mkdirSync(join(elsewhere, "loan-ukulele"));
    writeFileSync(join(elsewhere, "loan-ukulele", "secret.txt"), "secret");
    symlinkSync(elsewhere, join(dir, "jobs"));
    expect((await here("/jobs/loan-ukulele/secret.txt")).status).toBe(404);
    rmSync(elsewhere, { recursive: true, force: true });
  });

  test("paths made to lead out of a folder lead nowhere and are written down", async () => {
    const cookie = await pair();
    for (const path of ["/jobs/a/..%2f..%2fsecret", "/bench/%2e%2e%2fx", "/jobs/%2e%2e/x", "/bench/a%00.js", "/bench/..%5cx"]) {
      const before = refusals.last().length;
      expect([400, 404], path).toContain((await ask(path, { headers: { cookie } })).status);
      if (!path.includes("%2e%2e/")) expect(refusals.last().length, path).toBe(before + 1);
    }
  });

  test("says which device changed what", async () => {
    const cookie = await pair("tablet at the router");
    const headers = { cookie, "x-neckwright": "bench", "content-type": "application/json", origin: `http://${HOST}` };
    await ask("/api/orders/new", { method: "PUT", headers, body: JSON.stringify({ text: "{}", base: "" }) });
    const versions = (await (await ask("/api/orders/new/versions", { headers })).json()) as { by: string; version: number }[];
    expect(versions).toMatchObject([{ by: "tablet at the router", version: 1 }]);
  });
});
