import {
  correctionText,
  listCorrections,
  type MarkReading,
  type Measured,
  measureAxes,
  measureBlank,
  measureCutter,
  measureHeight,
  measureMarks,
  measureTurn,
  orderOf,
  shopOf,
  storeCorrection,
  undo,
} from "../../job/correct.ts";
import { InputError } from "../../job/errors.ts";
import { openMade } from "../../job/made.ts";
import type { Source } from "../../job/source.ts";
import { makeTestPiece } from "../../job/test-piece.ts";
import { makeWitness } from "../../job/witness.ts";
import { writeFiles } from "../../job/write.ts";
import { parseLength } from "../../units/index.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source, storing } from "../sources.ts";

/** What is measured; the shop keeps axes and cutters, the order the rest. */
export const CORRECTIONS = ["axes", "cutter", "turn", "height", "blank"] as const;
/** Pieces that are cut to be measured. */
type TestPiece = "pattern" | "slot";
export type What = (typeof CORRECTIONS)[number] | TestPiece | "witness";

export interface CorrectOptions {
  size?: string;
  x?: string[];
  y?: string[];
  diagonal?: string[];
  mark?: string[];
  cutter?: number;
  scribe?: number;
  slot?: string;
  calliper?: string;
  side?: "board" | "carve";
  expected?: string;
  measured?: string;
  shaft?: string;
  board?: string;
  scale?: string;
  out?: string;
  wood?: string;
  store?: true;
  list?: true;
  undo?: true;
  entry?: number;
  date?: string;
  reason?: string;
  json?: true;
}

/** A length as people write it, millimetres when no unit is said. */
function mm(flag: string, text: string | undefined): number {
  if (text === undefined) throw new InputError(flag, "this reading is missing", "give it in mm, or with its unit");
  const read = parseLength(/^[-+]?[\d.]+$/.test(text.trim()) ? Number(text) : text);
  if (!read.ok) throw new InputError(`${flag} ${text}`, read.says.replace(/\.$/, ""), read.tryThis);
  return read.value;
}

function pair(flag: string, texts: readonly string[] | undefined): readonly [number, number] {
  if (texts?.length !== 2) throw new InputError(flag, `two readings are needed, ${texts?.length ?? 0} were given`, `write ${flag} twice`);
  return [mm(flag, texts[0]), mm(flag, texts[1])];
}

function markOf(text: string): MarkReading {
  const parts = text.split(/\s*:\s*/);
  if (parts.length !== 4)
    throw new InputError(
      `--mark ${text}`,
      "this is not a mark with its step",
      'write X:Y:STEP-X:STEP-Y of the carve program, like "60:-40:0.2:-0.3"',
    );
  const [x, y, dx, dy] = parts.map((p) => mm("--mark", p));
  return { x: x!, y: y!, dx: dx!, dy: dy! };
}

export function patternSize(text: string | undefined): readonly [number, number] {
  const sides = (text ?? "400 x 150").split(/\s*[x×]\s*/);
  if (sides.length !== 2) throw new InputError(`--size ${text}`, "this is not length x width", 'write it like "400 x 150"');
  const [along, across] = sides.map((s) => mm("--size", s));
  if (!(along >= 50 && across >= 50))
    throw new InputError(`--size ${text}`, "so small a pattern shows nothing that a rule can read", "make both sides 50 mm or more");
  return [along, across];
}

function measure(what: (typeof CORRECTIONS)[number], file: Source, o: CorrectOptions): Measured {
  switch (what) {
    case "axes": {
      const [along, across] = patternSize(o.size);
      const readings = { along, across, x: pair("--x", o.x), y: pair("--y", o.y), diagonals: pair("--diagonal", o.diagonal) };
      return measureAxes(shopOf(file), readings, o.scale === undefined ? 648 : mm("--scale", o.scale));
    }
    case "cutter":
      if (o.cutter === undefined) throw new InputError("--cutter", "which cutter was it", "give its number in the shop");
      return measureCutter(shopOf(file), o.cutter, mm("--slot", o.slot), o.calliper === undefined ? null : mm("--calliper", o.calliper));
    case "turn":
      if (o.mark !== undefined) {
        if (o.x !== undefined || o.y !== undefined)
          throw new InputError("--mark", "this says all that --x and --y say", "give the marks alone");
        return measureMarks(o.mark.map(markOf));
      }
      if ((o.x?.length ?? 0) > 1 || (o.y?.length ?? 0) > 1)
        throw new InputError("--x, --y", "one step along each axis is enough", "give the mean of what you measured");
      if (o.x === undefined && o.y === undefined) throw new InputError("--x, --y", "nothing was measured", "give one of them, or both");
      return measureTurn(o.x === undefined ? 0 : mm("--x", o.x[0]), o.y === undefined ? 0 : mm("--y", o.y[0]));
    case "height":
      if (o.side === undefined) throw new InputError("--side", "which side was cut", "give --side board or --side carve");
      return measureHeight(o.side, mm("--expected", o.expected), mm("--measured", o.measured));
    case "blank":
      return measureBlank(
        orderOf(file),
        o.shaft === undefined ? null : mm("--shaft", o.shaft),
        o.board === undefined ? null : mm("--board", o.board),
      );
  }
}

const kindOf = (what: (typeof CORRECTIONS)[number]): "order" | "shop" => (what === "axes" || what === "cutter" ? "shop" : "order");

/** Which of the two a file is, by what it says of itself. */
function kindOfFile(file: Source): "order" | "shop" {
  const said = /"neckwright"\s*:\s*"(order|shop)\//.exec(new TextDecoder().decode(file.bytes));
  if (said === null) throw new InputError(file.path, "this is neither an order nor a shop", "name a NAME.order.json or NAME.shop.json");
  return said[1] as "order" | "shop";
}

export async function correct(io: Io, path: string, what: What | undefined, o: CorrectOptions): Promise<ExitCode> {
  const date = o.date ?? new Date().toISOString().slice(0, 10);
  if (!/^\d{4}-\d{2}-\d{2}$/.test(date)) throw new InputError(`--date ${date}`, "this is not a day", "write it like 2026-03-31");
  const say = (value: Record<string, unknown>): void =>
    io.out(`${JSON.stringify({ command: "correct", exitCode: EXIT.sound, ...value }, null, 2)}\n`);
  if (what === undefined || o.list || o.undo) {
    const file = await source(io, path, path.endsWith(".shop.json") ? "shop" : "order");
    const kind = kindOfFile(file);
    if (o.undo) {
      const gone = await storing(io, file, kind, (paper, to) => undo(paper, kind, o.entry ?? null, date, to));
      if (gone === null)
        throw new InputError("--undo", "there is no such correction that counts", `neckwright correct ${path} --list shows them`);
      if (o.json) say({ undone: gone });
      else io.out(`${paint(io, ["bold", "green"], "undone")}  ${path}: ${correctionText(gone)}\n`);
      return EXIT.sound;
    }
    const entries = listCorrections(file, kind);
    if (o.json) say({ corrections: entries });
    else if (entries.length === 0) io.out(`${path} has no corrections.\n`);
    else
      entries.forEach((e, k) => {
        io.out(
          `${String(k + 1).padStart(3)}  ${e.date}  ${correctionText(e)}${e.undone === undefined ? "" : `  (undone ${e.undone})`}\n       ${e.reason}\n`,
        );
      });
    return EXIT.sound;
  }
  if (what === "pattern" || what === "slot") return testPiece(io, path, what, o);
  if (what === "witness") return witness(io, path, o);
  const kind = kindOf(what);
  const file = await source(io, path, kind);
  if (kindOfFile(file) !== kind)
    throw new InputError(
      path,
      `${what === "axes" || what === "cutter" ? "the machine and its cutters are" : "one piece is"} put right in the ${kind}`,
      `name a NAME.${kind}.json`,
    );
  const found = measure(what, file, o);
  const said = { date, reason: o.reason ?? found.says };
  if (o.store) await storing(io, file, kind, (paper, to) => storeCorrection(paper, kind, found.entry, said, to));
  if (o.json) {
    say({ correction: found.entry, effects: found.effects, stored: o.store === true });
    return EXIT.sound;
  }
  const figure = (v: number, unit: string): string => `${v.toFixed(unit === "mm" ? 3 : 2).padStart(8)} ${unit}`;
  io.out(`${paint(io, "bold", correctionText(found.entry))}\n`);
  io.out(`${"".padEnd(46)}   before    after, about\n`);
  for (const e of found.effects) io.out(`  ${e.what.padEnd(44)} ${figure(e.before, e.unit)} ${figure(Math.abs(e.after), e.unit)}\n`);
  io.out(
    o.store
      ? `${paint(io, ["bold", "green"], "stored")}  ${path}: counts from now on; run make again for its programs. Undo: neckwright correct ${path} --undo\n`
      : "Nothing is stored yet: say it again with --store.\n",
  );
  return EXIT.sound;
}

/** Program and form of a piece to be measured. */
async function testPiece(io: Io, path: string, kind: TestPiece, o: CorrectOptions): Promise<ExitCode> {
  const shop = await source(io, path, "shop");
  if (o.cutter === undefined)
    throw new InputError("--cutter", "which cutter is to cut it", "give its number in the shop; a vee scribes finest");
  if (o.out === undefined) throw new InputError("--out", "program and form need a folder to be written into", "add --out DIR");
  const made = makeTestPiece(shop, { kind, cutter: o.cutter, size: patternSize(o.size), wood: o.wood ?? "hard maple" });
  const code = made.files.length === 0 ? EXIT.stopped : EXIT.sound;
  if (code === EXIT.sound) await writeFiles(o.out, made.files, { disk: io.disk, signal: io.signal });
  if (o.json) {
    const files = made.files.map((f) => f.path);
    io.out(`${JSON.stringify({ command: "correct", exitCode: code, files, sheet: made.piece.sheet, findings: made.findings }, null, 2)}\n`);
    return code;
  }
  io.out(findingsText(io, made.findings));
  if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; nothing was written\n`);
  else
    io.out(
      `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${made.files.map((f) => f.path).join(", ")}; sheet ${made.piece.sheet.join(" x ")} mm, about ${Math.ceil(made.seconds / 60)} min\n`,
    );
  return code;
}

/** Programs of marks that both sides cut in the waste of a made job's blank, and the form for what they show. */
async function witness(io: Io, path: string, o: CorrectOptions): Promise<ExitCode> {
  if (o.cutter === undefined)
    throw new InputError(
      "--cutter",
      "which cutter is to bore the holes",
      "give its number in the shop: a drill or a flat cutter that reaches through the blank",
    );
  if (o.out === undefined)
    throw new InputError("--out", "programs and form need a folder to be written into", "add --out DIR, not the job's own folder");
  if ((await io.disk.kind(`${o.out}/job.json`)) !== null)
    throw new InputError(`--out ${o.out}`, "this is a made folder, whose programs are all proved together", "choose another folder");
  const made = makeWitness(await openMade(path, io.disk), { cutter: o.cutter, scribe: o.scribe ?? null });
  const code = made.files.length === 0 ? EXIT.stopped : EXIT.sound;
  if (code === EXIT.sound) await writeFiles(o.out, made.files, { disk: io.disk, signal: io.signal });
  const { places, hole, ring } = made.witness;
  if (o.json) {
    const files = made.files.map((f) => f.path);
    io.out(`${JSON.stringify({ command: "correct", exitCode: code, files, places, hole, ring, findings: made.findings }, null, 2)}\n`);
    return code;
  }
  io.out(findingsText(io, made.findings));
  if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; nothing was written\n`);
  else
    io.out(
      `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${made.files.map((f) => f.path).join(", ")}; holes of ${hole} mm, rings of ${ring} mm, about ${Math.ceil(made.seconds / 60)} min\n`,
    );
  return code;
}
