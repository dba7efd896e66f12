import { copyFileSync, cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { cli as inProcess, type Ran } from "../src/cli/ran.test-data.ts";
import { realDisk } from "../src/job/disk.ts";
import { sha256 } from "../src/job/hash.ts";
import { openMade } from "../src/job/made.ts";
import { sourceOf } from "../src/job/resume-made.ts";
import { FolderMemory } from "../src/store/folder.ts";
import { madeFolder, ORDER } from "./made.ts";
import { resumeTrials } from "./resuming.ts";

/* A made folder after something went wrong: programs that go on, and what is kept of the run. */

let dir: string;
let job: string;
beforeAll(async () => {
  ({ dir, job } = await madeFolder("recovery"));
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
