import { execFileSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { request } from "node:https";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { type Serving, serveShop } from "./serve.ts";

const examples = new URL("../../examples/", import.meta.url);
const QUICK = { headersTimeout: 150, requestTimeout: 300, keepAliveTimeout: 500, connectionsCheckingInterval: 40 };
let dir: string;
let shop: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-serve-"));
  shop = join(dir, "shop");
  cpSync(new URL("loan-ukulele.order.json", examples), join(shop, "loan-ukulele.order.json"));
  writeFileSync(join(dir, "index.html"), "<!doctype html><title>pages</title>");
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** Sends bytes as they are and gives all that comes back until the server closes. */
function raw(port: number, text: string): Promise<string> {
  return new Promise((resolve) => {
    const socket = connect(port, "127.0.0.1", () => socket.write(text));
    let got = "";
    socket.on("data", (d) => {
      got += d.toString();
    });
    socket.on("error", () => undefined);
    socket.on("close", () => resolve(got));
  });
}
const HEAD = "PUT /api/orders/loan-ukulele HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Neckwright: bench\r\nContent-Type: application/json\r\n";

describe("the bench through a socket", () => {
  let serving: Serving;
  let port: number;
  beforeAll(async () => {
    serving = await serveShop(shop, { port: 0, pages: dir, workers: 0 });
    port = Number(new URL(serving.address).port);
  });
  afterAll(() => serving.close());

  test("remembers what lies in the folder, and is opened by this machine only", async () => {
    expect(serving.address).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/$/);
    expect(serving.lan).toBeUndefined();
    const versions = (await (await fetch(`${serving.address}api/orders/loan-ukulele/versions`)).json()) as { by: string }[];
    expect(versions.map((v) => v.by)).toEqual(["file"]);
  });

  test("who sends headers or a body too slowly is cut off, and nothing is written", async () => {
    const before = readFileSync(join(shop, "loan-ukulele.order.json"), "utf8");
    const hasty = await serveShop(shop, { port: 0, pages: dir, workers: 0, patience: QUICK });
    const port = Number(new URL(hasty.address).port);
    expect(await raw(port, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: ")).toMatch(/^(?:HTTP\/1\.1 408|$)/);
    expect(await raw(port, `${HEAD}Content-Length: 1000\r\n\r\n{"text": "`)).toMatch(/^(?:HTTP\/1\.1 (?:408|400|500)|$)/);
    expect(readFileSync(join(shop, "loan-ukulele.order.json"), "utf8")).toBe(before);
    await hasty.close();
  });

  test("too much is refused, said in advance or not; headers too", async () => {
    const chunk = "x".repeat(0x10000);
    expect(await raw(port, `${HEAD}Content-Length: 99999999\r\n\r\n`)).toContain("HTTP/1.1 413");
    expect(await raw(port, `${HEAD}Transfer-Encoding: chunked\r\n\r\n${`10000\r\n${chunk}\r\n`.repeat(40)}`)).toMatch(/HTTP\/1\.1 413|^$/);
    expect(await raw(port, `GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Large: ${"x".repeat(20_000)}\r\n\r\n`)).toContain("HTTP/1.1 431");
    expect(await raw(port, "GET / HTTP/1.1\r\nHost: workshop.example\r\nConnection: close\r\n\r\n")).toContain("HTTP/1.1 403");
  });

  test("the folder cannot be a file, and a second server works beside the first", async () => {
    await expect(serveShop(join(shop, "loan-ukulele.order.json"), { port: 0, pages: dir, workers: 0 })).rejects.toThrow("no such folder");
    const second = await serveShop(shop, { port: 0, pages: dir, workers: 0 });
    const opened = async (s: Serving): Promise<{ text: string; mark: string }> =>
      (await (await fetch(`${s.address}api/orders/loan-ukulele`)).json()) as { text: string; mark: string };
    const { text, mark } = await opened(serving);
    const save = (s: Serving, title: string): Promise<Response> =>
      fetch(`${s.address}api/orders/loan-ukulele`, {
        method: "PUT",
        headers: { "x-neckwright": "bench", "content-type": "application/json" },
        body: JSON.stringify({ text: text.replace(/"title": "[^"]*"/, `"title": "${title}"`), base: mark }),
      });
    const all = await Promise.all(Array.from({ length: 12 }, (_, k) => save(k % 2 === 0 ? serving : second, `number ${k}`)));
    expect(all.map((r) => r.status).sort()).toEqual([200, ...Array<number>(11).fill(409)]);
    expect(await opened(second)).toEqual(await opened(serving));
    await second.close();
  });
});

describe("the bench on the network through a socket", () => {
  test("listens beyond this machine only when asked, with TLS when given a certificate, and shows a code", async () => {
    const [cert, key] = [join(dir, "cert.pem"), join(dir, "key.pem")];
    const asked = ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj", "/CN=shed"];
    execFileSync("openssl", [...asked, "-keyout", key, "-out", cert], { stdio: "ignore" });
    const serving = await serveShop(shop, { port: 0, pages: dir, workers: 0, lan: { certificate: { cert, key } } });
    try {
      expect(serving.address).toMatch(/^https:/);
      expect(serving.lan?.code).toMatch(/^[A-Z2-9]{8}$/);
      const { port } = new URL(serving.address);
      const status = await new Promise<number>((resolve, reject) => {
        const r = request({ host: "127.0.0.1", port, path: "/devices", ca: readFileSync(cert), servername: "shed" }, (a) => {
          a.resume();
          resolve(a.statusCode ?? 0);
        });
        r.on("error", reject);
        r.end();
      });
      expect(status).toBe(200);
    } finally {
      await serving.close();
    }
    writeFileSync(key, "not a key");
    await expect(serveShop(shop, { port: 0, pages: dir, workers: 0, lan: { certificate: { cert, key } } })).rejects.toThrow(
      "certificate and key cannot be used",
    );
  });
});
