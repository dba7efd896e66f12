import { InputError } from "../../job/errors.ts";
import { type FretRow, fretTable } from "../../job/frets.ts";
import { findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

const mm = (v: number): string => v.toFixed(3);

export async function frets(io: Io, orderPath: string, o: { csv?: true; json?: true }): Promise<ExitCode> {
  const table = fretTable(await source(io, orderPath, "order"));
  if (table.rows === null) {
    if (o.json) io.out(`${JSON.stringify({ command: "frets", exitCode: EXIT.badInput, findings: table.findings }, null, 2)}\n`);
    else io.err(findingsText(io, table.findings));
    return EXIT.badInput;
  }
  const { rows, scale } = table;
  if (rows.length === 0) throw new InputError(orderPath, "this order has no frets", "give frets.count in the order");
  if (o.json) {
    io.out(`${JSON.stringify({ command: "frets", exitCode: EXIT.sound, units: "mm", scale, frets: rows }, null, 2)}\n`);
  } else if (o.csv) {
    io.out("fret,from_nut_mm,from_last_mm,bass_x_mm,bass_y_mm,treble_x_mm,treble_y_mm,slot_length_mm\n");
    for (const r of rows) io.out(`${[r.fret, ...cells(r)].join(",")}\n`);
  } else {
    const head = ["fret", "from nut", "from last", "bass x", "bass y", "treble x", "treble y", "slot"];
    io.out(`${paint(io, "bold", head.map((h) => h.padStart(9)).join(" "))}\n`);
    for (const r of rows) io.out(`${[String(r.fret), ...cells(r)].map((v) => v.padStart(9)).join(" ")}\n`);
    io.out(`Scale ${mm(scale)} mm; all lengths in mm, in the neck's frame (x from the nut's edge at the board, y toward the treble).\n`);
  }
  return EXIT.sound;
}

const cells = (r: FretRow): string[] => [r.fromNut, r.fromLast, r.bass[0], r.bass[1], r.treble[0], r.treble[1], r.slotLength].map(mm);
