import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  unlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { parseJobFile } from "../src/job/files.ts";
import { sha256 } from "../src/job/hash.ts";
import { buildCli, here, type Ran, runCli } from "./cli.ts";
import { root } from "./sources.ts";

/** The command from order to folder, and what prove says when somebody meddles with the folder. Coarse cells: the wiring is tested here. */

const ORDER = join(root, "examples/loan-ukulele.order.json");
const SHOP = join(root, "examples/stiff-router.shop.json");
const CELL = "0.4";

let cli: string;
let dir: string;
let first: Ran;
beforeAll(async () => {
  cli = await buildCli("folder");
  dir = mkdtempSync(join(tmpdir(), "neckwright-folder-"));
  first = await make("a", "--no-cache");
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const asked = (name: string): string[] => ["make", ORDER, "--shop", SHOP, "--out", join(dir, name), "--cell", CELL];
/** In a process of its own. */
const make = (name: string, ...more: string[]): Promise<Ran> => runCli(cli, [...asked(name), ...more]);

function filesIn(folder: string, prefix = ""): string[] {
  return readdirSync(folder, { withFileTypes: true })
    .flatMap((e) => (e.isDirectory() ? filesIn(join(folder, e.name), `${prefix}${e.name}/`) : [prefix + e.name]))
    .sort();
}

function hashes(folder: string): Record<string, string> {
  return Object.fromEntries(filesIn(folder).map((f) => [f, sha256(readFileSync(join(folder, f)))]));
}

/** A copy of the made folder to meddle with. */
function copyOf(name: string): string {
  const to = join(dir, name);
  for (const f of filesIn(join(dir, "a"))) {
    mkdirSync(join(to, f, ".."), { recursive: true });
    writeFileSync(join(to, f), readFileSync(join(dir, "a", f)));
  }
  return to;
}

async function prove(folder: string): Promise<{ code: number | null; rules: string[]; text: string }> {
  const ran = await here(["prove", folder, "--json"]);
  const result = JSON.parse(ran.out);
  const findings: { rule: string; severity: string }[] = result.findings ?? [];
  return { code: ran.code, rules: findings.filter((f) => f.severity !== "note").map((f) => f.rule), text: ran.out };
}

describe("make", () => {
  test("ends sound, with a folder that holds what job.json says, no more and no less", () => {
    expect(first.out + first.err).toContain("made and proved");
    expect(first.code).toBe(0);
    const folder = join(dir, "a");
    const job = parseJobFile(readFileSync(join(folder, "job.json"), "utf8"), "job.json");
    expect([...job.files.map((f) => f.file), "job.json"].sort()).toEqual(filesIn(folder));
    for (const f of job.files) expect(sha256(readFileSync(join(folder, f.file))), f.file).toBe(f.sha256);
    for (const p of job.programs) {
      expect(sha256(readFileSync(join(folder, p.file)))).toBe(p.sha256);
      expect(p.file).toMatch(/^programs\/\d\d-(board|carve)-[a-z0-9-]+\.ngc$/);
    }
    expect(job.steps.flatMap((s) => ("program" in s ? [s.program] : []))).toEqual(job.programs.map((p) => p.file));
    expect(job.order.sha256).toBe(sha256(readFileSync(ORDER)));
    expect(job.sides.map((s) => s.name)).toEqual(["board", "carve"]);
    expect(job.features.frets.length).toBe(18);
    expect(readdirSync(dir).filter((n) => n.startsWith("."))).toEqual([]);
  });

  test("reports its progress on stderr, a line for every tenth, and none of it on stdout", () => {
    const lines = first.err.trim().split("\n");
    expect(lines.length).toBeGreaterThanOrEqual(5);
    expect(lines.length).toBeLessThanOrEqual(11);
    const shares = lines.map((l) => Number(/^ *(\d+) %/.exec(l)?.[1]));
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(first.out).not.toContain("\u001b");
  });

  test("gives the same bytes again, with no thread beside it, with eight, from what was kept, and in the place of the old folder", async () => {
    const was = hashes(join(dir, "a"));
    for (const again of [
      () => here([...asked("b"), "--workers", "0", "--no-cache"]),
      () => make("b", "--workers", "8", "--no-cache"),
      () => make("b", "--workers", "1"),
    ]) {
      expect((await again()).code).toBe(0);
      expect(hashes(join(dir, "b"))).toEqual(was);
    }
  }, 300_000);

  test("says the same as JSON", async () => {
    const ran = await here([...asked("json"), "--json"]);
    const result = JSON.parse(ran.out);
    expect(result).toMatchObject({ command: "make", exitCode: 0 });
    expect(result.programs.length).toBeGreaterThan(5);
    expect(result.proof.sound).toBe(true);
    expect(ran.err).toBe("");
  });

  test("does not replace a folder that holds something of somebody's", async () => {
    const folder = copyOf("mine");
    writeFileSync(join(folder, "notes.txt"), "quilted, handle with care");
    const ran = await here(asked("mine"));
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/notes\.txt/);
    expect(readFileSync(join(folder, "notes.txt"), "utf8")).toContain("quilted");
    expect((await here([...asked("mine"), "--replace"])).code).toBe(0);
    expect(existsSync(join(folder, "notes.txt"))).toBe(false);
  });

  test("Ctrl-C in the middle of the work leaves the old folder as it was", async () => {
    const folder = copyOf("stopped");
    const was = hashes(folder);
    let sent = false;
    const ran = await runCli(cli, ["make", ORDER, "--shop", SHOP, "--out", folder, "--cell", "0.1", "--no-cache"], {
      onOutput: (soFar, kill) => {
        if (!sent && /[2-6]0 %/.test(soFar)) {
          sent = true;
          kill("SIGINT");
        }
      },
    });
    expect(sent).toBe(true);
    expect(ran.code).toBe(130);
    expect(hashes(folder)).toEqual(was);
    expect(readdirSync(dir).filter((n) => n.startsWith("."))).toEqual([]);
  });
});

describe("prove", () => {
  test("proves what was made, changes nothing, and measures the same", async () => {
    const was = hashes(join(dir, "a"));
    const ran = await runCli(cli, ["prove", join(dir, "a"), "--json"]);
    expect(ran.code).toBe(0);
    expect(JSON.parse(ran.out).proof).toEqual(JSON.parse(readFileSync(join(dir, "a", "proof.json"), "utf8")));
    expect(hashes(join(dir, "a"))).toEqual(was);
  });

  test("writes the report of its proof where it is asked to", async () => {
    const report = join(dir, "again.html");
    const ran = await here(["prove", join(dir, "a"), "--report", report]);
    expect(ran.code).toBe(0);
    expect(ran.out).toContain("proved");
    expect(readFileSync(report, "utf8")).toBe(readFileSync(join(dir, "a", "report.html"), "utf8"));
  });

  test("sees a program that was changed, even by one space", async () => {
    const folder = copyOf("space");
    const file = join(folder, "programs", readdirSync(join(folder, "programs"))[0]);
    writeFileSync(file, readFileSync(file, "utf8").replace("G21", " G21"));
    const { code, rules } = await prove(folder);
    expect(rules).toContain("JB-003");
    expect(code).toBe(0);
  });

  test("sees a fret slot that was moved", async () => {
    const folder = copyOf("fret");
    const name = readdirSync(join(folder, "programs")).find((n) => n.includes("fret-slots"))!;
    const file = join(folder, "programs", name);
    // the machine's x runs along the neck: move every slot by a twentieth of a millimetre
    const moved = readFileSync(file, "utf8").replace(/X(\d+\.\d+)/g, (_all, x: string) => `X${(Number(x) + 0.05).toFixed(5)}`);
    writeFileSync(file, moved);
    const { code, rules } = await prove(folder);
    expect(code).toBe(1);
    expect(rules).toContain("PF-251");
  });

  test("sees a program that is missing, one that does not belong, and one that is reached through a link", async () => {
    const folder = copyOf("missing");
    const [a, b] = readdirSync(join(folder, "programs")).sort();
    unlinkSync(join(folder, "programs", a));
    writeFileSync(join(folder, "programs", "99-mine.ngc"), "M2\n");
    const gone = await prove(folder);
    expect(gone.code).toBe(1);
    expect(gone.rules).toContain("JB-002");
    expect(gone.rules).toContain("JB-004");
    // a link to the same bytes is the same program
    const linked = copyOf("linked");
    unlinkSync(join(linked, "programs", b));
    symlinkSync(join(dir, "a", "programs", b), join(linked, "programs", b));
    expect((await prove(linked)).code).toBe(0);
  });

  test("sees another order, another side and another cutter in the folder", async () => {
    const other = copyOf("other");
    writeFileSync(join(other, "order.json"), readFileSync(ORDER, "utf8").replace('"scale": 432', '"scale": 433'));
    expect((await prove(other)).rules).toContain("JB-005");

    const swapped = copyOf("swapped");
    const job = JSON.parse(readFileSync(join(swapped, "job.json"), "utf8"));
    [job.sides[0].neckToProgram, job.sides[1].neckToProgram] = [job.sides[1].neckToProgram, job.sides[0].neckToProgram];
    writeFileSync(join(swapped, "job.json"), JSON.stringify(job));
    const turned = await prove(swapped);
    expect(turned.code).toBe(1);
    expect(turned.rules).toContain("JB-006");
    expect(turned.rules).toContain("PF-202");

    const short = copyOf("short");
    const cut = JSON.parse(readFileSync(join(short, "job.json"), "utf8"));
    for (const c of cut.cutters) c.fluteLength = Math.min(c.fluteLength, 1);
    writeFileSync(join(short, "job.json"), JSON.stringify(cut));
    const shank = await prove(short);
    expect(shank.code).toBe(1);
    expect(shank.rules).toContain("JB-006");
    expect(shank.rules).toContain("PF-235");
  });

  test("refuses a job file that is broken, in words", async () => {
    const folder = copyOf("broken");
    writeFileSync(join(folder, "job.json"), '{"format": "neckwright-job/1"');
    const ran = await here(["prove", folder]);
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/job\.json: this is not JSON/);
    writeFileSync(join(folder, "job.json"), '{"format": "neckwright-job/2"}');
    expect((await here(["prove", folder])).code).toBe(2);
    const outside = JSON.parse(readFileSync(join(dir, "a", "job.json"), "utf8"));
    outside.programs[0].file = "../../outside.ngc";
    writeFileSync(join(folder, "job.json"), JSON.stringify(outside));
    expect((await here(["prove", folder])).code).toBe(2);
  });
});

describe("serve", () => {
  test("serves the report of the folder until Ctrl-C", async () => {
    let status = 0;
    let asked: Promise<void> | null = null;
    const ran = await runCli(cli, ["serve", join(dir, "a"), "--port", "0", "--json"], {
      onOutput: (soFar, kill) => {
        if (asked !== null || !soFar.includes("\n")) return;
        const { address } = JSON.parse(soFar);
        asked = fetch(address)
          .then(async (r) => {
            status = r.status;
            expect(await r.text()).toBe(readFileSync(join(dir, "a", "report.html"), "utf8"));
          })
          .finally(() => kill("SIGINT"));
      },
    });
    await asked;
    expect(status).toBe(200);
    expect(ran.code).toBe(0);
  });
});

describe("draw", () => {
  test("writes drawings beside what is there", async () => {
    const folder = join(dir, "drawn");
    mkdirSync(folder);
    writeFileSync(join(folder, "mine.txt"), "mine");
    const ran = await here(["draw", ORDER, "--out", folder]);
    expect(ran.code).toBe(0);
    expect(readdirSync(folder).sort()).toEqual(["headstock.svg", "mine.txt", "plan.svg", "sections.svg", "side.svg"]);
    for (const f of ["plan.svg", "side.svg"]) expect(statSync(join(folder, f)).size).toBeGreaterThan(1000);
    const withShop = await here(["draw", ORDER, "--shop", SHOP, "--out", folder]);
    expect(withShop.code).toBe(0);
    expect(readdirSync(folder)).toContain("blank-board.svg");
  });
});
