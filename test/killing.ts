import { type ChildProcess, spawn } from "node:child_process";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { sha256 } from "../src/job/hash.ts";
import { writeFolder } from "../src/job/write.ts";
import { FolderMemory } from "../src/store/folder.ts";
import { tidy } from "../src/store/tidy.ts";

/*
 * A writer that is killed at a random moment, and what must then hold: everything it had said was written is there, the database is sound, no
 * made folder is half written. The tests do it a few times, the long campaign a thousand times.
 */

/** Programs of a made folder: enough files that a kill falls between them. */
const PROGRAMS = 6;

const programText = (making: number, n: number): string => `(${making})\n${`G1 X${n}\n`.repeat(2000)}`;

/** What the killed process runs: saves and makes for ever, and says what is done on its standard output, one line for each. */
export async function writeForEver(folder: string, say: (line: string) => void): Promise<never> {
  const memory = new FolderMemory(folder);
  memory.takeInAll();
  let { text, mark } = await memory.open("loan", "order");
  for (let k = Number(JSON.parse(text).count ?? 0) + 1; ; k++) {
    text = `${JSON.stringify({ count: k, note: "x".repeat(k % 4000) })}\n`;
    const saved = await memory.save("loan", "order", text, mark, "writer");
    if ("conflict" in saved) throw new Error("nobody else writes here");
    mark = saved.mark;
    say(`saved ${mark}`);
    if (k % 3 === 0) {
      const hash = memory.store.keep("image/png", new TextEncoder().encode(`picture ${k} ${"p".repeat(20_000)}`));
      memory.store.attach("order", "loan", hash, `picture ${k}`, memory.said("writer"));
      say(`kept ${hash}`);
    }
    if (k % 4 === 0) {
      const files = Array.from({ length: PROGRAMS }, (_, n) => ({
        path: `programs/0${n + 1}-board-cut.ngc`,
        bytes: new TextEncoder().encode(programText(k, n)),
      }));
      await memory.alone("loan", () => writeFolder(join(folder, "jobs", "loan"), files, { replace: true }));
      const programs = files.map((f) => ({ file: f.path, sha256: sha256(f.bytes) }));
      await memory.made({ id: `job-${k}`, order: "loan", orderMark: mark, shop: "shed", state: "done", programs });
      say(`made job-${k}`);
    }
  }
}

/** What is wrong after a kill, in words: everything said must be there. */
export async function after(folder: string, said: readonly string[]): Promise<string[]> {
  const wrong: string[] = [];
  const memory = new FolderMemory(folder);
  try {
    await tidy(memory);
    memory.takeInAll();
    wrong.push(...memory.store.check());
    const jobs = new Set(memory.store.jobs("loan", 1e6).map((j) => j.id));
    const kept = new Set(memory.store.attached("order", "loan").map((a) => a.hash));
    for (const line of said) {
      const [what, which] = line.split(" ");
      const there =
        what === "saved"
          ? memory.store.knows("order", "loan", which)
          : what === "kept"
            ? kept.has(which)
            : what !== "made" || jobs.has(which);
      if (!there) wrong.push(`said and not there: ${line}`);
    }
    const last = memory.store.get("order", "loan");
    if (last?.text !== readFileSync(join(folder, "loan.order.json"), "utf8")) wrong.push("the file is not the last version");
  } finally {
    memory.close();
  }
  return [...wrong, ...halfWritten(join(folder, "jobs"))];
}

/** The made folder has all programs of one making, and nothing unfinished lies beside it. */
function halfWritten(jobs: string): string[] {
  let names: string[];
  try {
    names = readdirSync(jobs);
  } catch {
    return [];
  }
  return names.flatMap((n) => {
    if (n !== "loan") return [`left lying: ${n}`];
    const files = readdirSync(join(jobs, n, "programs")).sort();
    const texts = files.map((f) => readFileSync(join(jobs, n, "programs", f), "utf8"));
    const making = Number(/^\((\d+)\)/.exec(texts[0] ?? "")?.[1]);
    return texts.length === PROGRAMS && texts.every((t, p) => t === programText(making, p)) ? [] : [`half written: ${n}`];
  });
}

/** Starts the writer as a process of its own, kills it `wait` ms after its first word, and gives all that it said. */
export function kill(script: string, folder: string, wait: number): Promise<string[]> {
  return new Promise((resolve, reject) => {
    const child: ChildProcess = spawn(process.execPath, [script, folder], { stdio: ["ignore", "pipe", "pipe"] });
    let out = "";
    let err = "";
    let timer: NodeJS.Timeout | null = null;
    child.stdout?.on("data", (d: Buffer) => {
      out += d.toString();
      timer ??= setTimeout(() => child.kill("SIGKILL"), wait);
    });
    child.stderr?.on("data", (d: Buffer) => {
      err += d.toString();
    });
    child.on("error", reject);
    child.on("close", (code, signal) => {
      if (timer !== null) clearTimeout(timer);
      // a last line that was cut off was not said
      if (signal === "SIGKILL") resolve(out.split("\n").slice(0, -1));
      else reject(new Error(`the writer ended by itself (${code}): ${err}`));
    });
  });
}

/** A folder with the one order that the writer changes. */
export function startFolder(folder: string): void {
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, "loan.order.json"), '{"count": 0}');
}

/** `kills` times: start the writer, kill it at a moment of `waits` (ms, in turn), look at what it left. Returns what was wrong and how much was said. */
export async function campaign(
  script: string,
  folder: string,
  kills: number,
  waits: (k: number) => number,
): Promise<{ readonly said: number; readonly wrong: readonly string[] }> {
  startFolder(folder);
  const said: string[] = [];
  for (let k = 0; k < kills; k++) {
    said.push(...(await kill(script, folder, waits(k))));
    const wrong = await after(folder, said);
    if (wrong.length > 0) return { said: said.length, wrong: wrong.map((w) => `after kill ${k + 1}: ${w}`) };
  }
  return { said: said.length, wrong: [] };
}
