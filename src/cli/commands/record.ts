import { randomUUID } from "node:crypto";
import { basename, dirname, join, resolve } from "node:path";
import { correctionsOf, type Kept, readMeasured, stationsOf } from "../../job/came-out.ts";
import { InputError } from "../../job/errors.ts";
import type { ProofFile } from "../../job/files.ts";
import { sha256 } from "../../job/hash.ts";
import { MAX_JOB_BYTES, MAX_PROGRAM_BYTES, readInput, readText } from "../../job/input.ts";
import { type MadeJob, madeFolder, openMade, readJob } from "../../job/made.ts";
import { writeFiles } from "../../job/write.ts";
import { aloneWith } from "../../store/recording.ts";
import { MAX_RUN_BYTES, parseRun, RUN_FILE, runText, takeRun, withEvents } from "../../store/run-file.ts";
import { type RunEvent, type RunFile, stateOf } from "../../store/runs.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { readings } from "./place.ts";

export interface RecordOptions {
  begin?: true;
  run?: number;
  done?: string[];
  undone?: string[];
  minutes?: string[];
  thickness?: string[];
  fret?: string[];
  at?: string[];
  note?: string[];
  sure?: true;
  by?: string;
  list?: true;
  show?: true;
  into?: string;
  json?: true;
}

/** A run's file with its place. */
interface Found {
  readonly name: string;
  readonly number: number;
  readonly path: string;
  readonly run: RunFile;
}

/** The folder that runs of a made folder lie in: beside the order, or beside the made folder. */
function besideOf(path: string): string {
  if (/\.order\.json$/.test(path)) return dirname(path);
  const folder = resolve(madeFolder(path));
  return basename(dirname(folder)) === "jobs" ? dirname(dirname(folder)) : dirname(folder);
}

async function runsIn(io: Io, folder: string, order: string): Promise<Found[]> {
  const out: Found[] = [];
  for (const file of await io.disk.names(folder)) {
    const m = RUN_FILE.exec(file);
    if (m === null || m[1] !== order) continue;
    const path = join(folder, file);
    out.push({
      name: `${m[1]}-r${m[2]}`,
      number: Number(m[2]),
      path,
      run: parseRun(await readText(path, "run", MAX_RUN_BYTES, io.disk), path),
    });
  }
  return out.sort((a, b) => a.number - b.number);
}

/** In a shop's folder with a memory nobody else makes the folder anew, or writes its runs, between what is read here and what is written. */
export async function record(io: Io, path: string, o: RecordOptions): Promise<ExitCode> {
  const folder = besideOf(path);
  const { order } = (await readJob(path, io.disk)).job;
  return aloneWith(folder, order.name, async () => recordAlone(io, path, folder, await openMade(path, io.disk), o));
}

async function recordAlone(io: Io, path: string, folder: string, made: MadeJob, o: RecordOptions): Promise<ExitCode> {
  const order = made.job.order.name;
  const runs = await runsIn(io, folder, order);
  const say = (value: Record<string, unknown>): ExitCode => {
    io.out(`${JSON.stringify({ command: "record", exitCode: EXIT.sound, ...value }, null, 2)}\n`);
    return EXIT.sound;
  };
  if (o.list) {
    if (o.json) return say({ runs: runs.map((r) => ({ name: r.name, ...summary(made, r.run) })) });
    if (runs.length === 0) io.out(`There is no run of ${order} beside it yet.\n`);
    for (const r of runs) {
      const s = summary(made, r.run);
      io.out(
        `${r.name.padEnd(28)} ${s.begun.slice(0, 10).padEnd(10)}  ${String(s.done).padStart(2)} of ${s.programs} programs, ${s.measured} measurements${s.sameOrder ? "" : "; of an earlier state of the order"}\n`,
      );
    }
    return EXIT.sound;
  }
  const given = [o.done, o.undone, o.minutes, o.thickness, o.fret, o.at, o.note].some((v) => v !== undefined);
  const last = o.run === undefined ? runs.at(-1) : runs.find((r) => r.number === o.run);
  if (o.run !== undefined && last === undefined)
    throw new InputError(
      `--run ${o.run}`,
      "there is no such run",
      `there are ${runs.map((r) => r.number).join(", ") || "none yet: --begin"}`,
    );
  if (!o.begin && last !== undefined && last.run.orderSha256 !== made.job.order.sha256 && given)
    throw new InputError(
      last.path,
      "this run is of an earlier state of the order than the programs that lie there now",
      "say --begin for a run of these programs",
    );
  let now: Found | undefined = last;
  if (o.begin || (last === undefined && given)) {
    const number = (runs.at(-1)?.number ?? 0) + 1;
    const name = `${order}-r${number}`;
    if (!RUN_FILE.test(`${name}.run.json`))
      throw new InputError(order, "this name cannot name a run's file", "use small letters, digits and hyphens");
    const corrections = correctionsOf(made);
    now = {
      name,
      number,
      path: join(folder, `${name}.run.json`),
      run: {
        format: "neckwright-run/1",
        order,
        orderSha256: made.job.order.sha256,
        shop: made.job.shop.name,
        programs: made.job.programs.map(({ file, sha256, cutter, feedLength }) => ({ file, sha256, cutter, feedLength })),
        events: [],
        ...(corrections.length === 0 ? {} : { corrections }),
      },
    };
  }
  if (now === undefined)
    throw new InputError(path, "there is no run of this order yet", "--begin begins one; --done, --thickness and --fret do so too");
  const { events, rows } = await eventsOf(io, made, o);
  if (o.begin || events.length > 0) {
    // as it stands now: somebody else may have added to it since it was read
    const there = (await io.disk.kind(now.path)) !== null;
    if (there && !runs.some((r) => r.path === now?.path))
      throw new InputError(now.path, "somebody else has begun this run just now", "say it again");
    const before = there ? parseRun(await readText(now.path, "run", MAX_RUN_BYTES, io.disk), now.path) : now.run;
    now = { ...now, run: withEvents(before, events, o.by ?? "command line") };
    await writeFiles(folder, [{ path: basename(now.path), bytes: new TextEncoder().encode(runText(now.run)) }], { disk: io.disk });
  }
  let taken: string | null = null;
  if (o.into !== undefined) {
    const { FolderMemory } = await import("../../store/folder.ts");
    const memory = new FolderMemory(o.into);
    try {
      taken = takeRun(memory.store, now.name, now.run, memory.said(o.by ?? "command line"));
    } finally {
      memory.close();
    }
  }
  if (o.json)
    return say({
      run: now.name,
      file: now.path,
      added: events,
      rows,
      ...(taken === null ? {} : { taken }),
      ...(o.show ? { state: Object.fromEntries(stateOf(now.run.events)) } : {}),
    });
  for (const r of rows)
    io.out(
      `${r.name.padEnd(28)} ${r.measured.toFixed(2).padStart(8)} mm, ordered ${r.ordered.toFixed(2)}: ${r.off >= 0 ? "+" : "-"}${Math.abs(r.off).toFixed(2)} mm${r.cents === undefined ? "" : `, ${r.cents >= 0 ? "+" : "-"}${Math.abs(r.cents).toFixed(1)} cent`}\n`,
    );
  if (o.show) io.out(shown(made, now.run));
  else io.out(`${paint(io, ["bold", "green"], "recorded")}  ${now.path}: ${events.length} new, ${now.run.events.length} in all\n`);
  if (taken !== null) io.out(`${paint(io, ["bold", "green"], "taken over")}  ${o.into} has it as ${taken}\n`);
  return EXIT.sound;
}

function summary(made: MadeJob, run: RunFile): { begun: string; done: number; programs: number; measured: number; sameOrder: boolean } {
  const state = stateOf(run.events);
  return {
    begun: run.events.map((e) => e.at).sort()[0] ?? "",
    done: run.programs.filter((p) => state.get(p.file)?.done === true).length,
    programs: run.programs.length,
    measured: [...state.values()].reduce((n, s) => n + Object.keys(s.measured).length, 0),
    sameOrder: run.orderSha256 === made.job.order.sha256,
  };
}

/** The step that somebody means: a program by number or name, or a step of the bench ("hand-2", "measure-frets"). */
function stepNamed(made: MadeJob, name: string): string {
  const bare = name
    .split(/[\\/]/)
    .at(-1)!
    .replace(/\.ngc$/, "");
  const of = (f: string): string =>
    f
      .split("/")
      .at(-1)!
      .replace(/\.ngc$/, "");
  const program = made.programs.find(
    (p) => of(p.file) === bare || (/^\d+$/.test(bare) && Number.parseInt(of(p.file), 10) === Number(bare)),
  );
  if (program !== undefined) return program.file;
  if (/^(?:hand-\d+|lay-(?:board|carve)|measure-[a-z-]+|ready|end)$/.test(name)) return name;
  throw new InputError(name, "the job has no such step", `programs are ${made.programs.map((p) => of(p.file)).join(", ")}`);
}

async function eventsOf(
  io: Io,
  made: MadeJob,
  o: RecordOptions,
): Promise<{ readonly events: readonly RunEvent[]; readonly rows: ReturnType<typeof readMeasured>["rows"] }> {
  const at = new Date().toISOString();
  const events: RunEvent[] = [];
  const head = (step: string): { id: string; at: string; step: string } => ({ id: randomUUID(), at, step });
  for (const name of o.done ?? []) {
    // a program that went on after a stop is no program of the job: it is kept with its hash
    if (/-from-\d+(?:-t\d+)?\.ngc$/.test(name)) {
      const hash = sha256(await readInput(name, "program", MAX_PROGRAM_BYTES, io.disk));
      const file = basename(name);
      events.push({ ...head(file), kind: "done" }, { ...head(file), kind: "note", text: `cut: ${file}, SHA-256 ${hash}` });
    } else events.push({ ...head(stepNamed(made, name)), kind: "done" });
  }
  for (const name of o.undone ?? []) events.push({ ...head(stepNamed(made, name)), kind: "undone" });
  for (const given of o.minutes ?? []) {
    const m = /^\s*(.+?)\s*=\s*(\d+(?:\.\d+)?)\s*$/.exec(given);
    if (m === null || Number(m[2]) > 1440)
      throw new InputError(`--minutes ${given}`, "this is not a step with minutes, at most 1440", 'write it like "8=12"');
    events.push({ ...head(stepNamed(made, m[1])), kind: "time", seconds: Number(m[2]) * 60 });
  }
  const proofPath = join(made.folder, "proof.json");
  const proof = JSON.parse(await readText(proofPath, "proof", MAX_JOB_BYTES, io.disk)) as ProofFile;
  const { kept, rows } = readMeasured(made, proof, {
    thickness: o.thickness ?? [],
    frets: o.fret ?? [],
    scribe: readings(o.at ?? []),
    sure: o.sure === true,
  });
  events.push(...kept.map((k: Kept): RunEvent => ({ ...head(k.step), kind: "measured", name: k.name, value: k.value, unit: k.unit })));
  for (const note of o.note ?? []) {
    if (note.trim() === "" || note.length > 4000)
      throw new InputError("--note", "a note has 1 to 4000 characters", "write a shorter one, or two");
    events.push({ ...head("end"), kind: "note", text: note });
  }
  return { events, rows };
}

/** All of a run, for a person. */
function shown(made: MadeJob, run: RunFile): string {
  const state = stateOf(run.events);
  const lines = [`order ${run.order}, ${run.orderSha256.slice(0, 12)}; shop ${run.shop}`];
  for (const c of run.corrections ?? []) lines.push(`in force (${c.of}): ${c.says}, ${c.date}`);
  for (const p of run.programs) {
    const s = state.get(p.file);
    lines.push(
      `${s?.done === true ? "[x]" : "[ ]"} ${p.file.padEnd(44)} ${p.sha256.slice(0, 12)}${s?.doneAt ? `  ${s.doneAt.slice(0, 16).replace("T", " ")}` : ""}${s !== undefined && s.seconds > 0 ? `  ${Math.round(s.seconds / 60)} min` : ""}`,
    );
  }
  const ordered = stationsOf(made, null);
  for (const [step, s] of state) {
    for (const [name, m] of Object.entries(s.measured)) {
      const want = /^fret (\d+)$/.exec(name);
      const ref = want !== null ? made.neck.fretAt(Number(want[1])) : ordered.get(name.replace(/^thickness /, ""));
      lines.push(`${name.padEnd(28)} ${m.value.toFixed(2).padStart(8)} ${m.unit}${ref === undefined ? "" : `, ordered ${ref.toFixed(2)}`}`);
    }
    for (const n of s.notes) lines.push(`${step}: ${n.text}`);
  }
  return `${lines.join("\n")}\n`;
}
