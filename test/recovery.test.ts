import { copyFileSync, cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { cli as inProcess, type Ran } from "../src/cli/ran.test-data.ts";
import { apply, inverse } from "../src/holding/transform.ts";
import { realDisk } from "../src/job/disk.ts";
import { sha256 } from "../src/job/hash.ts";
import { openMade } from "../src/job/made.ts";
import { sourceOf } from "../src/job/resume-made.ts";
import { interpretProgram } from "../src/proof/index.ts";
import { FolderMemory } from "../src/store/folder.ts";
import { here } from "./cli.ts";
import { resumeTrials } from "./resuming.ts";
import { root } from "./sources.ts";

/* A made folder after something went wrong: programs that go on, and what is kept of the run. One file because all of it begins with one folder, which takes long to make. */

const ORDER = join(root, "examples/loan-ukulele.order.json");
const SHOP = join(root, "examples/light-router.shop.json");

let dir: string;
let job: string;
beforeAll(async () => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-recovery-"));
  job = join(dir, "job");
  const ran = await here(["make", ORDER, "--shop", SHOP, "--out", job, "--cell", "0.4"]);
  expect(ran.err + ran.out).toContain("made and proved");
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const resume = (...more: string[]): Promise<Ran> => inProcess("resume", job, ...more);
const program = (part: string): string => readdirSync(join(job, "programs")).find((f) => f.includes(part))!;

describe("resume", () => {
  test("from random seconds of a program: proved, no contact, and the wood ends as if nothing had happened", async () => {
    const source = sourceOf(await openMade(job, realDisk), 0.6);
    // one of every way of moving; all programs of several orders are stopped by bench/resume.ts
    const ways = /scribe|headstock-rough|markers|fret-slots|board-outline|screws|carve-finish/;
    const tally = resumeTrials(source, 1, 20260101, (file) => ways.test(file));
    expect(tally.failed).toEqual([]);
    expect(tally.programs.size).toBe(7);
    expect(tally.proved).toBeLessThanOrEqual(0.005);
    expect(tally.real).toBeLessThanOrEqual(0.005);
    expect(tally.wayIn).toBeLessThanOrEqual(0.5);
  });

  test("lists passes, writes program and sheet, whole, where it is told to", async () => {
    const name = program("fret-slots");
    const listed = await resume("--program", name, "--list");
    const middle = listed.out.trim().split("\n")[5]!;
    expect(middle).toMatch(/^board-fret-slots +pass +6 +lines +\d+ to +\d+/);
    const line = /lines +(\d+)/.exec(middle)![1];
    const ran = await resume(
      "--program",
      String(Number.parseInt(name, 10)),
      "--at",
      "cut fret-slots pass 6",
      "--out",
      join(dir, "again"),
      "--json",
    );
    const said = JSON.parse(ran.out);
    expect(ran.code).toBe(0);
    expect(said.start.line).toBe(Number(line));
    expect(said.files).toEqual([said.file, said.file.replace(".ngc", ".txt")]);
    const text = readFileSync(join(dir, "again", said.file));
    expect(sha256(text)).toBe(said.sha256);
    const sheet = readFileSync(join(dir, "again", said.file.replace(".ngc", ".txt")), "utf8");
    expect(sheet).toContain(said.sha256);
    expect(sheet).toContain("No piece of a broken cutter is left in the wood");
    expect(sheet).toContain("The machine's manual");
    // the same again gives the same bytes
    await resume("--program", name, "--at", "cut fret-slots pass 6", "--out", join(dir, "same"));
    expect(readFileSync(join(dir, "same", said.file)).equals(text)).toBe(true);
  });

  test("a zero that was found again moves the program, which cuts the same wood", async () => {
    const { job: file } = await openMade(job, realDisk);
    const t = file.sides[0].neckToProgram;
    const f = file.features.tuners[1];
    const [x, y] = [t[0] * f.x + t[1] * f.y + t[3], t[4] * f.x + t[5] * f.y + t[7]];
    const found = `${f.id}=${(x + 0.4).toFixed(2)},${(y - 0.3).toFixed(2)}`;
    const ran = await resume(
      "--program",
      program("board-outline"),
      "--at",
      "cut outline pass 1",
      "--found",
      found,
      "--out",
      join(dir, "zero"),
      "--json",
    );
    const said = JSON.parse(ran.out);
    expect(ran.code).toBe(0);
    expect(said.zero.offset[0]).toBeCloseTo(0.4, 1);
    expect(said.zero.offset[1]).toBeCloseTo(-0.3, 1);
    expect(Math.max(said.differs.above, said.differs.below)).toBeLessThanOrEqual(0.005);
    expect(readFileSync(join(dir, "zero", said.file.replace(".ngc", ".txt")), "utf8")).toContain("do NOT set it again");
    // before the bores are cut nothing can be touched in them
    const early = await resume("--program", "2", "--at", "line 60", "--found", found, "--out", join(dir, "early"));
    expect(early.code).toBe(2);
    expect(early.err).toMatch(new RegExp(`"${f.id}" cannot be touched now`));
    const inches = await resume(
      "--program",
      program("board-outline"),
      "--at",
      "cut outline pass 1",
      "--found",
      `${f.id}=${(x / 25.4).toFixed(3)},${(y / 25.4).toFixed(3)}`,
      "--out",
      join(dir, "early"),
    );
    expect(inches.err).toMatch(/in millimetres/);
  });

  test("a cutter whose holder would meet the wood is not written for", async () => {
    const name = program("board-outline");
    const ran = await resume("--program", name, "--at", "line 60", "--reach", "6 mm", "--out", join(dir, "short"));
    expect(ran.code).toBe(1);
    expect(ran.out).toContain("nothing was written");
    expect(() => readdirSync(join(dir, "short"))).toThrow();
  });

  test("a block that stands where the way in goes down stops it: no program is written", async () => {
    const asked = ["--program", program("fret-slots"), "--at", "cut fret-slots pass 6", "--json"];
    const free = JSON.parse((await resume(...asked, "--out", join(dir, "free"))).out);
    const blocked = join(dir, "blocked");
    cpSync(job, blocked, { recursive: true });
    const file = JSON.parse(readFileSync(join(blocked, "job.json"), "utf8"));
    const [x, y] = free.start.at;
    const board = file.sides[0];
    const [bed, top] = [board.stock.min[2], board.stock.max[2]];
    board.holding.push({ kind: "box", min: [x - 5, y - 5, bed], max: [x + 5, y + 5, top + 2], name: "block moved here", role: "block" });
    writeFileSync(join(blocked, "job.json"), JSON.stringify(file));
    const ran = await inProcess("resume", blocked, ...asked, "--out", join(dir, "blocked-out"));
    expect(ran.code).toBe(1);
    const said = JSON.parse(ran.out);
    expect(said.files).toEqual([]);
    const stop = said.findings.find(
      (f: { severity: string; says: string }) => f.severity === "stop" && f.says.includes("block moved here"),
    );
    expect(stop).toMatchObject({ where: expect.stringMatching(/fret-slots.*:\d+/), tryThis: expect.stringMatching(/\w/) });
    expect(existsSync(join(dir, "blocked-out"))).toBe(false);
  });

  test("a cutter of another size has a number of its own; one that is not there is refused", async () => {
    const name = program("board-outline");
    const shop = JSON.parse(readFileSync(join(job, "shop.json"), "utf8"));
    const used = JSON.parse(readFileSync(join(job, "job.json"), "utf8")).programs.find((p: { file: string }) =>
      p.file.endsWith(name),
    ).cutter;
    const other = { ...shop, cutters: shop.cutters.map((c: { number: number }) => (c.number === used ? { ...c, diameter: 5.5 } : c)) };
    writeFileSync(join(dir, "other.shop.json"), JSON.stringify(other));
    const same = await resume(
      "--program",
      name,
      "--at",
      "line 60",
      "--cutter",
      String(used),
      "--shop",
      join(dir, "other.shop.json"),
      "--out",
      join(dir, "no"),
    );
    expect(same.code).toBe(2);
    expect(same.err).toMatch(/give it a number of its own/);
    expect((await resume("--program", name, "--at", "line 60", "--cutter", "99", "--out", join(dir, "no"))).err).toMatch(
      /no cutter of this number/,
    );
  });

  test("what cannot be is refused", async () => {
    const cases: (readonly [readonly string[], RegExp])[] = [
      [["--program", "77", "--at", "line 5", "--out", "x"], /no such program/],
      [["--program", "3", "--at", "line 5", "--out", "x"], /nothing is cut before line/],
      [["--program", "3", "--at", "somewhere", "--out", "x"], /this is no place of a program/],
      [["--program", "3", "--at", "position 1,2,3", "--out", "x"], /from the nearest place at which this program cuts/],
      [["--program", "3", "--out", "x"], /where did it stop/],
      [["--program", "3", "--at", "line 60"], /need a folder/],
      [["--program", "3", "--at", "line 60", "--out", job], /this is a made folder/],
    ];
    for (const [args, says] of cases) {
      const ran = await resume(...args);
      expect(ran.code, args.join(" ")).toBe(2);
      expect(ran.err).toMatch(says);
    }
    const name = join(job, "programs", program("ramp"));
    const text = readFileSync(name);
    writeFileSync(name, `${text.toString("latin1")}\n`);
    expect((await resume("--program", "3", "--at", "line 60", "--out", "x")).err).toMatch(/was changed since it was made and proved/);
    writeFileSync(name, text);
  });
});

describe("record", () => {
  const record = (...more: string[]): Promise<Ran> => inProcess("record", job, ...more);

  test("keeps programs by hash, what was measured and how long it took, in a file that only grows", async () => {
    const { job: file, neck } = await openMade(job, realDisk);
    const begun = JSON.parse((await record("--begin", "--by", "Kim", "--json")).out);
    expect(begun.run).toBe(`${file.order.name}-r1`);
    const ran = await record(
      "--done",
      "1",
      "--minutes",
      "1=4",
      "--fret",
      `5=${(neck.fretAt(5) + 0.1).toFixed(2)}`,
      "--note",
      "second piece of the plank",
      "--json",
    );
    expect(ran.code).toBe(0);
    expect(JSON.parse(ran.out).rows[0]).toMatchObject({ name: "fret 5" });
    const run = JSON.parse(readFileSync(join(dir, `${begun.run}.run.json`), "utf8"));
    expect(run.programs.map((p: { sha256: string }) => p.sha256)).toEqual(file.programs.map((p) => p.sha256));
    expect(run.events.map((e: { kind: string }) => e.kind)).toEqual(["done", "time", "measured", "note"]);
    await record("--done", join(dir, "again", readdirSync(join(dir, "again")).find((f) => f.endsWith(".ngc"))!));
    const show = (await record("--show")).out;
    expect(show).toMatch(/\[x\] programs\/01-board-scribe\.ngc/);
    expect(show).toMatch(/fret 5 .* mm, ordered/);
    expect(show).toMatch(/cut: .*-from-\d+\.ngc, SHA-256 [0-9a-f]{64}/);
    expect((await record("--list")).out).toMatch(/-r1 .* 1 of \d+ programs, 1 measurements/);
  });

  test("does not take what cannot be: inches, exchanged stations, another fret, an unknown step", async () => {
    const { neck } = await openMade(job, realDisk);
    const at = (n: number): string => neck.fretAt(n).toFixed(1);
    const thick = neck.top(neck.fretAt(1) + 3, 0) - neck.back(neck.fretAt(1) + 3, 0);
    const cases: (readonly [readonly string[], RegExp])[] = [
      [["--fret", `12=${(neck.fretAt(12) / 25.4).toFixed(2)}`], /is it in inches/],
      [["--fret", `5=${at(7)}`, "--fret", `7=${at(5)}`], /change places/],
      [["--fret", `5=${at(6)}`], /where fret 6 stands/],
      [["--fret", "99=20"], /there is no fret/],
      [["--thickness", `fret 1=${(10 * thick).toFixed(0)}`], /was \d+(?:\.\d)? meant/],
      [["--thickness", "elbow=20"], /there is no station/],
      [["--thickness", "fret 1"], /not a name with a length/],
      [["--done", "88"], /no such step/],
      [["--at", "40:31.5"], /not a station with two distances/],
    ];
    const before = readFileSync(join(dir, readdirSync(dir).find((f) => f.endsWith(".run.json"))!));
    for (const [args, says] of cases) {
      const ran = await record(...args);
      expect(ran.code, args.join(" ")).toBe(2);
      expect(ran.err).toMatch(says);
    }
    expect(readFileSync(join(dir, readdirSync(dir).find((f) => f.endsWith(".run.json"))!)).equals(before)).toBe(true);
    expect((await record("--fret", `5=${at(6)}`, "--sure")).code).toBe(0);
  });

  test("in a shop's folder several at once take turns with the bench: one run, and everything that was said", async () => {
    const shop = mkdtempSync(join(dir, "together-"));
    const { job: file } = await openMade(job, realDisk);
    const { name } = file.order;
    cpSync(job, join(shop, "jobs", name), { recursive: true });
    copyFileSync(ORDER, join(shop, `${name}.order.json`));
    const memory = new FolderMemory(shop);
    const notes = ["one", "two", "three", "four"];
    const runs = (): string[] => readdirSync(shop).filter((f) => f.endsWith(".run.json"));
    try {
      // while the bench writes what it made, nothing is recorded
      const { begun } = await memory.alone(name, async () => {
        const begun = Promise.all(notes.map((note) => inProcess("record", join(shop, `${name}.order.json`), "--note", note)));
        await new Promise((done) => setTimeout(done, 300));
        expect(runs()).toEqual([]);
        return { begun };
      });
      for (const r of await begun) expect(r.code, r.err).toBe(0);
      expect(runs()).toEqual([`${name}-r1.run.json`]);
      const { events } = JSON.parse(readFileSync(join(shop, runs()[0]), "utf8"));
      expect(events.map((e: { text: string }) => e.text).sort()).toEqual([...notes].sort());
    } finally {
      memory.close();
    }
  });

  test("a shop's memory takes the run over", async () => {
    const shop = mkdtempSync(join(dir, "shop-"));
    expect((await record("--into", shop)).out).toMatch(/taken over/);
    const again = await record("--into", shop, "--json");
    expect(JSON.parse(again.out).taken).toBe(JSON.parse(again.out).run);
  });
});

describe("wrong folders and files", () => {
  test("each is named with what is wrong and what to try; nothing is written", async () => {
    const broken = join(dir, "broken");
    cpSync(job, broken, { recursive: true });
    const file = join(broken, "job.json");
    const whole = readFileSync(file, "utf8");
    const list = (): Promise<Ran> => inProcess("resume", broken, "--program", "3", "--list");
    for (const [text, says] of [
      [whole.slice(0, 2000), /job\.json: this is not JSON, or only part of it.*\n.*make the folder again/],
      [whole.replace("neckwright-job/1", "neckwright-job/9"), /its format is "neckwright-job\/9"; read here is "neckwright-job\/1"/],
      ["[]", /its format is not stated/],
      ["", /the job file is empty\n.*write it again/],
    ] as const) {
      writeFileSync(file, text);
      const ran = await list();
      expect([ran.code, ran.err]).toEqual([2, expect.stringMatching(says)]);
    }
    writeFileSync(file, whole);
    rmSync(join(broken, "programs", program("ramp")));
    expect((await list()).err).toMatch(/ramp\.ngc: this program of the job is not there any more\n.*make the folder again/);
    const other = await resume("--program", "3", "--at", "line 60", "--cutter", "2", "--shop", ORDER, "--out", join(dir, "never"));
    expect(other.err).toMatch(/order\.json: .*shop is expected/);
    expect(existsSync(join(dir, "never"))).toBe(false);
    // single files go neither over a file nor among files that belong together
    const board = ["plank", ORDER, "--plank", "2400 x 260 x 45", "--out"];
    writeFileSync(join(dir, "in-the-way"), "");
    expect((await inProcess(...board, join(dir, "in-the-way"))).err).toMatch(/a file of this name is in the way of the folder/);
    expect((await inProcess(...board, job)).err).toMatch(/a made folder, whose programs are all proved together/);
    expect(readdirSync(job)).not.toContain("plank.json");
  });
});

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

describe("witness marks", () => {
  test("of both sides are one place of the blank, in its waste, and their readings go where they belong", async () => {
    const shop: { number: number; shape: string; diameter: number }[] = JSON.parse(readFileSync(join(job, "shop.json"), "utf8")).cutters;
    const flat = shop.find((c) => c.shape === "flat" && c.diameter === 6)!;
    const out = join(dir, "witness");
    const ran = await inProcess("correct", job, "witness", "--cutter", String(flat.number), "--out", out, "--json");
    const said = JSON.parse(ran.out);
    expect(ran.code).toBe(0);
    const { job: file } = await openMade(job, realDisk);
    const [board, carve] = file.sides;
    // from the text alone: the middle of what the holes' deepest moves and the rings' moves go round
    const middles = (name: string): [number, number][] => {
      const { moves } = interpretProgram(readFileSync(join(out, name)), { start: [0, 0, 99] });
      const low = Math.min(...moves.z);
      const runs: { x: number[]; y: number[] }[] = [];
      for (let k = 0; k < moves.count; k++) {
        if (moves.kind[k] < 1 || moves.z[k] > low + 1e-9) continue;
        const last = runs.at(-1);
        if (last === undefined || Math.hypot(last.x[0] - moves.x[k], last.y[0] - moves.y[k]) > 40)
          runs.push({ x: [moves.x[k]], y: [moves.y[k]] });
        else {
          last.x.push(moves.x[k]);
          last.y.push(moves.y[k]);
        }
      }
      return runs.map((r) => [(Math.min(...r.x) + Math.max(...r.x)) / 2, (Math.min(...r.y) + Math.max(...r.y)) / 2]);
    };
    const [holes, rings] = [middles("witness-board.ngc"), middles("witness-carve.ngc")];
    expect([holes.length, rings.length]).toEqual([2, 2]);
    holes.forEach(([x, y], k) => {
      const n = apply(inverse(board.neckToProgram), x, y, 0);
      const c = apply(carve.neckToProgram, n[0], n[1], 0);
      expect(Math.abs(c[0] - said.places[k].carve[0])).toBeLessThan(0.01);
      expect(Math.abs(c[1] - said.places[k].carve[1])).toBeLessThan(0.01);
      // half circles end on a line through the middle: along one axis only
      expect(Math.abs(rings[k][0] - c[0])).toBeLessThan(0.01);
      expect(Math.abs(rings[k][1] - c[1])).toBeLessThan(0.01);
    });
    expect(Math.hypot(rings[0][0] - rings[1][0], rings[0][1] - rings[1][1])).toBeGreaterThan(150);
    // the form's command is understood
    const marks = said.places.map((p: { carve: number[] }) => `--mark=${p.carve[0].toFixed(2)}:${p.carve[1].toFixed(2)}:0.2:-0.3`);
    const read = await inProcess("correct", ORDER, "turn", ...marks, "--json");
    expect(JSON.parse(read.out).correction).toMatchObject({ kind: "turn", x: 0.2, y: -0.3 });
    const ball = shop.find((c) => c.shape === "ball")!;
    expect((await inProcess("correct", job, "witness", "--cutter", String(ball.number), "--out", out)).err).toMatch(
      /neither a drill nor flat/,
    );
  });
});
