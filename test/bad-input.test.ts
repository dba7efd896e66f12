import {
  chmodSync,
  closeSync,
  existsSync,
  ftruncateSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { type Disk, realDisk } from "../src/job/disk.ts";
import { buildCli, here, type Ran, runCli } from "./cli.ts";
import { read, root } from "./sources.ts";

/** What the command does with what nobody should give it: the right exit code, words that help, and nothing half written. */

const GUITAR = read("examples/loan-guitar.order.json");
const SHOP = join(root, "examples/stiff-router.shop.json");

let cli: string;
let dir: string;
let out: string;
let count = 0;
beforeAll(async () => {
  cli = await buildCli("bad-input");
  dir = mkdtempSync(join(tmpdir(), "neckwright-bad-"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));
beforeEach(() => {
  out = join(dir, `out-${++count}`);
});

/** Writes an order and makes it; checks that nothing is left where it was to go, nor beside it. */
async function makeText(text: string | Uint8Array): Promise<Ran> {
  const order = join(dir, `bad-${count}.order.json`);
  writeFileSync(order, text);
  const ran = await here(["make", order, "--shop", SHOP, "--out", out]);
  expect(existsSync(out)).toBe(false);
  expect(readdirSync(dir).filter((n) => n.startsWith("."))).toEqual([]);
  return ran;
}

/** The demo order with some of its keys changed. */
function changed(change: (order: Record<string, never>) => void): string {
  const order = JSON.parse(GUITAR);
  change(order);
  return JSON.stringify(order, null, 2);
}

/** No stack trace, no word of the program's insides: a person reads this. */
function expectWords(ran: Ran, ...words: (string | RegExp)[]): void {
  const said = ran.out + ran.err;
  for (const w of words) expect(said).toMatch(w);
  expect(said).not.toMatch(/\n\s+at .*\(.*:\d+:\d+\)/);
  expect(said).not.toContain("undefined");
  expect(said).not.toContain("[object");
}

describe("files that are no order", () => {
  test("an empty file", async () => {
    const ran = await makeText("");
    expect(ran.code).toBe(2);
    expectWords(ran, /empty/i, "Try:");
    // and as a process of its own: the same words on the same stream, the code handed on
    const spawned = await runCli(cli, ["make", join(dir, `bad-${count}.order.json`), "--shop", SHOP, "--out", out]);
    expect(spawned).toEqual(ran);
  });

  test("JSON that breaks off, wherever it does", async () => {
    for (const share of [0.1, 0.5, 0.97]) {
      const ran = await makeText(GUITAR.slice(0, Math.floor(GUITAR.length * share)));
      expect(ran.code).toBe(2);
      expectWords(ran, /SP-00\d/, /line \d+/i, "Try:");
    }
  });

  test("bytes that are no text", async () => {
    const ran = await makeText(Uint8Array.from({ length: 3000 }, (_, k) => (k * 167 + 13) & 255));
    expect(ran.code).toBe(2);
    expectWords(ran, /UTF-8|text/);
  });

  test("a file of 200 MB is refused by its size, before it is read", async () => {
    const order = join(dir, "large.order.json");
    const file = openSync(order, "w");
    ftruncateSync(file, 200 * 1024 * 1024);
    closeSync(file);
    const ran = await runCli(cli, ["make", order, "--shop", SHOP, "--out", out]);
    expect(ran.code).toBe(2);
    expectWords(ran, /200 MB/, /limit/, "large.order.json");
    expect(existsSync(out)).toBe(false);
    rmSync(order);
  });

  test("a shop in the place of the order, and the other way round", async () => {
    const ran = await here(["make", SHOP, "--shop", SHOP, "--out", out]);
    expect(ran.code).toBe(2);
    expectWords(ran, /kind shop/);
    const guitar = join(root, "examples/loan-guitar.order.json");
    const other = await here(["make", guitar, "--shop", guitar, "--out", out]);
    expect(other.code).toBe(2);
    expectWords(other, /kind order/);
  });
});

describe("values that are no neck", () => {
  test.each(["NaN", "Infinity", "-Infinity", "1e999"])("the number %s", async (literal) => {
    const ran = await makeText(GUITAR.replace('"648 mm"', literal));
    expect(ran.code).toBe(2);
    expectWords(ran, /SP-0\d\d/, "Try:");
  });

  test("negative lengths", async () => {
    for (const scale of [-648, "-648 mm", "-25 1/2 in"]) {
      const ran = await makeText(changed((o) => Object.assign(o, { scale })));
      expect(ran.code).toBe(2);
      expectWords(ran, "scale", /SP-0\d\d/, "Try:");
    }
  });

  test("no strings", async () => {
    const ran = await makeText(changed((o) => Object.assign(o.strings, { count: 0, diameters: [] })));
    expect(ran.code).toBe(2);
    expectWords(ran, "strings.count", "Try:");
  });

  test("a key that is not known names the nearest one", async () => {
    const ran = await makeText(changed((o) => Object.assign(o.board, { thicknes: 6 })));
    expect(ran.code).toBe(2);
    expectWords(ran, "thicknes", '"thickness"');
  });
});

describe("an order that cannot be cut is stopped, and its folder holds no program", () => {
  async function stopped(order: string, shop: string, ...words: (string | RegExp)[]): Promise<void> {
    const orderPath = join(dir, `stopped-${count}.order.json`);
    writeFileSync(orderPath, order);
    const shopPath = join(dir, `stopped-${count}.shop.json`);
    writeFileSync(shopPath, shop);
    const ran = await here(["make", orderPath, "--shop", shopPath, "--out", out]);
    expect(ran.code).toBe(1);
    expectWords(ran, "stopped", "Try:", ...words);
    expect(existsSync(join(out, "programs"))).toBe(false);
    expect(existsSync(join(out, "sheets"))).toBe(false);
    const job = JSON.parse(readFileSync(join(out, "job.json"), "utf8"));
    expect(job.stopped).toBe(true);
    expect(job.programs).toEqual([]);
    expect(job.findings.some((f: { severity: string }) => f.severity === "stop")).toBe(true);
  }
  const shop = read("examples/stiff-router.shop.json");

  test("a neck larger than its blank", async () => {
    await stopped(
      changed((o) => Object.assign(o, { blank: { length: 600 } })),
      shop,
      /blank/,
    );
  });

  test("sixty frets, closer together than fret wire is wide", async () => {
    await stopped(
      changed((o) => Object.assign(o.frets, { count: 60 })),
      shop,
      /fret/,
    );
  });

  test("cutters that are all wider than the recesses", async () => {
    const wide = JSON.parse(shop);
    wide.cutters = wide.cutters.filter((c: { shape: string; diameter: number }) => c.shape !== "flat" || c.diameter > 6);
    await stopped(GUITAR, JSON.stringify(wide), /[Mm]arker/, /PA-001/);
  });
});

describe("paths", () => {
  test("a file that is not there, a folder in the place of a file", async () => {
    const none = await here(["check", join(dir, "none.order.json")]);
    expect(none.code).toBe(2);
    expectWords(none, "none.order.json", /no such file/, "Try:");
    const folder = await here(["check", dir]);
    expect(folder.code).toBe(2);
    expectWords(folder, /this is a folder/);
    const proved = await here(["prove", join(dir, "none")]);
    expect(proved.code).toBe(2);
    expectWords(proved, /no such folder/);
    const served = await here(["serve", dir]);
    expect(served.code).toBe(2);
    expectWords(served, /no job.json/);
  });

  test("a file in a folder that may not be read", async () => {
    const shut = join(dir, "shut");
    mkdirSync(shut);
    writeFileSync(join(shut, "a.order.json"), GUITAR);
    chmodSync(shut, 0o000);
    // root may read everything: as root the refusal is simulated
    const asRoot = process.getuid?.() === 0;
    const denied: Disk = {
      ...realDisk,
      kind: async () => {
        throw Object.assign(new Error("EACCES: permission denied"), { code: "EACCES" });
      },
    };
    const ran = asRoot
      ? await here(["check", join(shut, "a.order.json")], { disk: denied })
      : await runCli(cli, ["check", join(shut, "a.order.json")]);
    chmodSync(shut, 0o755);
    expect(ran.code).toBe(2);
    expectWords(ran, /may not be read/, "Try:");
  });

  test("the command line itself", async () => {
    const wrong = [
      ["mak", "a", "--shop", "b", "--out", "c"],
      ["make", "a"],
      ["make", "a", "--shop", "b", "--out", "c", "--cell", "0"],
      ["make", "a", "--shop", "b", "--out", "c", "--cell", "NaN"],
      ["make", "a", "--shop", "b", "--out", "c", "--paper", "A5"],
      ["make", "a", "--shop", "b", "--out", "c", "--workers", "-1"],
      ["check", "a", "b"],
      ["check", "a", "--colour"],
      ["serve", ".", "--port", "70000"],
    ];
    for (const args of wrong) {
      const ran = await here(args);
      expect(ran.code, args.join(" ")).toBe(2);
      expect(ran.err, args.join(" ")).toMatch(/error:/);
    }
  });

  test("help teaches and is no error", async () => {
    for (const args of [
      ["--help"],
      ["make", "--help"],
      ["check", "--help"],
      ["prove", "--help"],
      ["draw", "--help"],
      ["frets", "--help"],
      ["serve", "--help"],
    ]) {
      const ran = await here(args);
      expect(ran.code).toBe(0);
      expect(ran.out).toMatch(/Example/);
      expect(ran.out).toMatch(/Exit codes/);
    }
    expect((await here(["--version"])).out).toMatch(/^\d+\.\d+\.\d+\n$/);
  });
});

describe("JSON output", () => {
  test("is one document, also when something is wrong", async () => {
    const none = await here(["check", join(dir, "none.order.json"), "--json"]);
    expect(JSON.parse(none.out)).toMatchObject({ exitCode: 2, error: { where: expect.stringContaining("none.order.json") } });
    const guitar = await here(["check", join(root, "examples/loan-guitar.order.json"), "--json"]);
    expect(JSON.parse(guitar.out)).toMatchObject({ command: "check", exitCode: 0 });
  });
});

describe("a pipe that is closed, a person who stops it, a disk that is full", () => {
  const order = join(root, "examples/loan-guitar.order.json");

  test("whoever reads only the first line does not break the command", async () => {
    const { spawnSync } = await import("node:child_process");
    const shell = spawnSync("sh", ["-c", `"$1" "$2" frets "$3"; echo "code $?" >&2`, "sh", process.execPath, cli, order], {
      encoding: "utf8",
    });
    expect(shell.stderr).toContain("code 0");
    const piped = spawnSync("sh", ["-c", `{ "$1" "$2" frets "$3"; echo "code $?" >&2; } | head -1`, "sh", process.execPath, cli, order], {
      encoding: "utf8",
    });
    expect(piped.stdout.split("\n")[0]).toMatch(/fret/);
    expect(piped.stderr).toBe("code 0\n");
  });

  test("Ctrl-C while it works leaves nothing", async () => {
    let sent = false;
    const ran = await runCli(cli, ["make", order, "--shop", SHOP, "--out", out], {
      onOutput: (_soFar, kill) => {
        if (!sent) {
          sent = true;
          kill("SIGINT");
        }
      },
    });
    expect(sent).toBe(true);
    expect(ran.code).toBe(130);
    expectWords(ran, /Nothing was written/);
    expect(existsSync(out)).toBe(false);
    expect(readdirSync(dir).filter((n) => n.startsWith("."))).toEqual([]);
  });

  test("a full disk: said in words, and nothing is left", async () => {
    let left = 3;
    const disk: Disk = {
      ...realDisk,
      async writeNew(path, bytes) {
        if (left-- > 0) return realDisk.writeNew(path, bytes);
        await realDisk.writeNew(path, bytes.slice(0, 100));
        throw Object.assign(new Error("ENOSPC: no space left on device"), { code: "ENOSPC" });
      },
    };
    const ran = await here(["draw", order, "--out", out], { disk });
    expect(ran.code).toBe(3);
    expectWords(ran, /disk is full/, /nothing was written/, "Try:");
    expect(readdirSync(out)).toEqual([]);
  });
});
