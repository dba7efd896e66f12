import { cpSync, existsSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { cli as inProcess, type Ran } from "../src/cli/ran.test-data.ts";
import { sha256 } from "../src/job/hash.ts";
import { madeFolder } from "./made.ts";

/* Several necks on one bed, from the folders they were made into, and how such a batch goes on after a stop. */

let dir: string;
let job: string;
beforeAll(async () => {
  ({ dir, job } = await madeFolder("batch"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

describe("batch", () => {
  const batch = (...more: string[]): Promise<Ran> => inProcess("batch", ...more);

  test("cuts two necks on one bed with the changes of one, each as its own programs leave it; one that failed drops out", async () => {
    const ran = await batch(job, job, "--out", join(dir, "both"), "--cell", "0.8", "--json");
    const said = JSON.parse(ran.out);
    expect(ran.code).toBe(0);
    expect(said.changes * 2).toBe(said.changesAlone);
    for (const s of said.sides) {
      expect(s.clearance).toBeGreaterThanOrEqual(15);
      for (const p of s.proof.pieces) expect(Math.max(p.below, p.above)).toBeLessThanOrEqual(0.005);
    }
    const file = JSON.parse(readFileSync(join(dir, "both", "batch.json"), "utf8"));
    for (const f of file.files) expect(sha256(readFileSync(join(dir, "both", f.file)))).toBe(f.sha256);
    expect(readFileSync(join(dir, "both", "run-sheet.txt"), "utf8")).toMatch(/piece 1, piece 2: Look at the scribed line/);
    const rest = JSON.parse((await batch(job, job, "--out", join(dir, "rest"), "--without", "1", "--cell", "0.8", "--json")).out);
    expect(rest.programs.map((p: { file: string }) => p.file)).toEqual(said.programs.map((p: { file: string }) => p.file));
    expect(rest.programs.every((p: { cuts: string[] }) => p.cuts.every((c) => c.startsWith("p2-")))).toBe(true);
    expect(rest.sides[0].proof.pieces[0]).toBeNull();
  });

  describe("after a stop", () => {
    const both = (): string => join(dir, "both");
    const resumed = (out: string, ...more: string[]): Promise<Ran> => inProcess("resume", both(), ...more, "--out", join(dir, out));
    const programsIn = (folder: string): { file: string; sha256: string; cuts: string[] }[] =>
      JSON.parse(readFileSync(join(folder, "batch.json"), "utf8")).programs;
    const outline = (): { file: string; sha256: string; cuts: string[] } => programsIn(both()).find((p) => /carve-finish/.test(p.file))!;

    test("it goes on as a batch: the rest of the program, and all that follow as they were, over the wood of both", async () => {
      const { file, cuts } = outline();
      const ran = await resumed("both-on", "--program", file, "--at", `cut ${cuts[0]} pass 2`, "--json");
      const said = JSON.parse(ran.out);
      expect([ran.code, said.findings.filter((f: { severity: string }) => f.severity === "stop")]).toEqual([0, []]);
      expect(said.file).toMatch(/^programs\/\d+-carve-carve-finish-from-\d+\.ngc$/);
      expect(said.sides.map((s: { side: string }) => s.side)).toEqual(["carve"]);
      for (const p of said.sides[0].proof.pieces) expect(Math.max(p.below, p.above)).toBeLessThanOrEqual(0.005);
      expect(said.programs[0].cuts).toEqual(cuts);
      const own = programsIn(both());
      expect(said.programs.slice(1).map((p: { sha256: string }) => p.sha256)).toEqual(
        own.slice(own.findIndex((p) => p.file === file) + 1).map((p) => p.sha256),
      );
      const rest = join(dir, "both-on");
      for (const f of JSON.parse(readFileSync(join(rest, "batch.json"), "utf8")).files)
        expect(sha256(readFileSync(join(rest, f.file)))).toBe(f.sha256);
      expect(readFileSync(join(rest, "run-sheet.txt"), "utf8")).toMatch(/GOING ON AFTER A STOP: batch of 2/);
      expect((await inProcess("resume", rest, "--program", said.file, "--list")).err).toMatch(
        /the rest of a batch.*\n.*the batch's own folder/s,
      );
    });

    test("a piece that failed drops out and stays where it lies; nothing of it is cut, and the other comes out whole", async () => {
      const { file, cuts } = outline();
      const last = cuts.filter((c) => c.startsWith("p1-")).at(-1);
      const ran = await resumed("one-on", "--program", file, "--at", `cut ${last} pass 1`, "--without", "1", "--json");
      const said = JSON.parse(ran.out);
      expect([ran.code, said.dropped]).toEqual([0, [1]]);
      expect(said.programs.flatMap((p: { cuts: string[] }) => p.cuts).every((c: string) => c.startsWith("p2-"))).toBe(true);
      expect(said.sides[0].proof.pieces[0]).toBeNull();
      expect(said.sides[0].proof.pieces[1].below).toBeLessThanOrEqual(0.005);
      expect(readFileSync(join(dir, "one-on", "run-sheet.txt"), "utf8")).toMatch(/Dropped out: piece 1\..*keep clear of it/);
      // of the program that stopped only the dropped piece's last cut was left: with the other gone too nothing is
      const none = await resumed("none", "--program", file, "--at", `cut ${cuts.at(-1)} pass 1`, "--without", "1", "--without", "2");
      expect(none.err).toMatch(/no piece is left/);
      expect(existsSync(join(dir, "none"))).toBe(false);
    });

    test("what is not as it was made is refused, by its place; a piece's folder that lies elsewhere now is named", async () => {
      const { file } = outline();
      const list = (folder: string, ...more: string[]): Promise<Ran> => inProcess("resume", folder, "--program", file, "--list", ...more);
      expect((await list(both())).out).toMatch(/^p1-carve-carve-finish +pass +1 /);
      const changed = join(dir, "changed");
      cpSync(both(), changed, { recursive: true });
      expect((await list(changed)).code).toBe(0);
      writeFileSync(join(changed, file), "%\n");
      expect((await list(changed)).err).toMatch(/was changed since it was written and proved/);
      const batchFile = join(changed, "batch.json");
      const whole = readFileSync(batchFile, "utf8");
      for (const [text, says] of [
        [whole.slice(0, 900), /not JSON, or only part of it/],
        [
          whole.replace("neckwright-batch/1", "neckwright-batch/9"),
          /its format is "neckwright-batch\/9"; read here is "neckwright-batch\/1"/,
        ],
        [whole.replace('"gap": 15', '"gap": "wide"'), /gap: /],
        [whole.replaceAll('"folder": "../job"', '"folder": "../gone"'), /piece 1 .* is not there any more/],
        [whole.replaceAll(/"made": "./g, '"made": "z'), /not the folder of piece 1/],
      ] as const) {
        cpSync(join(both(), file), join(changed, file));
        writeFileSync(batchFile, text);
        expect((await list(changed)).err).toMatch(says);
      }
      writeFileSync(batchFile, whole.replaceAll('"folder": "../job"', '"folder": "../gone"'));
      expect((await list(changed, "--piece", `1=${job}`, "--piece", `2=${job}`)).code).toBe(0);
      expect((await list(changed, "--piece", `3=${job}`)).err).toMatch(/no such piece/);
      expect((await resumed("no", "--program", file, "--at", "line 40", "--reach", "20 mm")).err).toMatch(
        /share one zero and one set of cutters/,
      );
      expect((await resumed("both", "--program", file, "--at", "line 40")).err).toMatch(/holds files but no job of ours/);
      expect((await inProcess("resume", job, "--program", "3", "--list", "--without", "1")).err).toMatch(/not a batch/);
    });
  });

  test("refuses what does not go together", async () => {
    expect((await batch(job, "--out", join(dir, "no"))).err).toMatch(/two pieces or more/);
    expect((await batch(job, job, "--without", "7", "--out", join(dir, "no"))).err).toMatch(/no such piece/);
    expect((await batch(job, job, "--gap", "400", "--out", join(dir, "no"))).err).toMatch(/only the first 1 of 2 pieces lie on the bed/);
    expect((await batch(job, job, "--out", dir)).code).toBe(2);
  });
});
