import { InputError } from "../../job/errors.ts";
import { type FretRow, fretTable, type StringAnswer, type StringScale } from "../../job/frets.ts";
import { findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

const mm = (v: number): string => v.toFixed(3);
const cents = (v: number): string => v.toFixed(2);
/** Without the sign of a rounded nothing. */
const tenths = (v: number): string => v.toFixed(1).replace(/^-0\.0$/, "0.0");

export async function frets(io: Io, orderPath: string, o: { csv?: true; json?: true; strings?: true }): Promise<ExitCode> {
  const table = fretTable(await source(io, orderPath, "order"));
  if (table.rows === null) {
    if (o.json) io.out(`${JSON.stringify({ command: "frets", exitCode: EXIT.badInput, findings: table.findings }, null, 2)}\n`);
    else io.err(findingsText(io, table.findings));
    return EXIT.badInput;
  }
  const { rows, scale, scales, strings } = table;
  if (rows.length === 0) throw new InputError(orderPath, "this order has no frets", "give frets.count in the order");
  if (o.strings && strings === null)
    throw new InputError(
      orderPath,
      "pitches or gauges of its strings are not known",
      "give strings.pitches and strings.gauges in the order",
    );
  if (o.json) {
    const more = o.strings ? { strings } : {};
    io.out(`${JSON.stringify({ command: "frets", exitCode: EXIT.sound, units: "mm", scale, scales, frets: rows, ...more }, null, 2)}\n`);
  } else if (o.strings && strings !== null) {
    io.out(o.csv ? stringsCsv(strings) : stringsText(io, strings));
  } else if (o.csv) {
    io.out(
      "fret,from_nut_mm,from_last_mm,bass_x_mm,bass_y_mm,treble_x_mm,treble_y_mm,slot_length_mm,cents_per_0.1_mm,cents_per_0.1_percent\n",
    );
    for (const r of rows) io.out(`${[r.fret, ...cells(r)].join(",")}\n`);
  } else {
    const head = ["fret", "from nut", "from last", "bass x", "bass y", "treble x", "treble y", "slot", "c/0.1 mm", "c/0.1 %"];
    io.out(`${paint(io, "bold", head.map((h) => h.padStart(9)).join(" "))}\n`);
    for (const r of rows) io.out(`${[String(r.fret), ...cells(r)].map((v) => v.padStart(9)).join(" ")}\n`);
    io.out(`Scale ${mm(scale)} mm; all lengths in mm, in the neck's frame (x from the nut's edge at the board, y toward the treble).\n`);
    io.out(`${scalesText(scales)}\n`);
    io.out(
      "Cents sharp for each 0.1 mm that a slot lies too near the bridge, and for an axis that moves 0.1 % too far. Per string: --strings.\n",
    );
  }
  return EXIT.sound;
}

const cells = (r: FretRow): string[] => [
  ...[r.fromNut, r.fromLast, r.bass[0], r.bass[1], r.treble[0], r.treble[1], r.slotLength].map(mm),
  cents(r.centsPerTenth),
  cents(r.centsPerMille),
];

/** One line for strings of one scale, each of a multi-scale neck's by itself. */
function scalesText(scales: readonly StringScale[]): string {
  const one = scales.every((s) => Math.abs(s.scale - scales[0].scale) < 5e-4);
  if (one) return `Every string's scale: ${mm(scales[0].scale)} mm.`;
  return `Scale of each string, mm: ${scales.map((s) => `${s.string}: ${mm(s.scale)}`).join(", ")}.`;
}

function stringsText(io: Io, strings: readonly StringAnswer[]): string {
  const lines: string[] = [];
  const gap = "  ";
  for (const s of strings) {
    lines.push(
      paint(io, "bold", `String ${s.string}, ${s.pitch}`) +
        `: scale ${mm(s.scale)} mm, ${mm(s.diameter)} mm${s.wound ? " wound" : ""}${s.assumed ? " (assumed)" : ""}, ${s.tension.toFixed(1)} N`,
      `${gap}saddle alone: ${mm(s.saddleOnly)} mm back. Saddle and nut: ${mm(s.both.saddle)} mm back, nut ${mm(-s.both.nut)} mm toward the saddle.`,
    );
  }
  const head = ["fret", ...strings.flatMap((s) => [`${s.string} before`, "saddle", "both"])];
  lines.push("", "Cents off equal temperament: nothing moved, the saddle alone, saddle and nut.", head.map((h) => h.padStart(8)).join(" "));
  strings[0].before.forEach((_, n) => {
    const row = strings.flatMap((s) => [s.before[n], s.afterSaddle[n], s.after[n]].map((v) => tenths(v)));
    lines.push([String(n + 1), ...row].map((v) => v.padStart(8)).join(" "));
  });
  lines.push(
    "",
    "Cents more when the nut's slot is 0.1 mm too high:",
    ["fret", ...strings.map((s) => String(s.string))].map((h) => h.padStart(8)).join(" "),
  );
  strings[0].nutHigh.forEach((_, n) => {
    lines.push([String(n + 1), ...strings.map((s) => cents(s.nutHigh[n]))].map((v) => v.padStart(8)).join(" "));
  });
  lines.push("Model: J. Acoust. Soc. Am. 156(1), 683 (2024); string heights by the order's set-up.");
  return `${lines.join("\n")}\n`;
}

function stringsCsv(strings: readonly StringAnswer[]): string {
  const lines = [
    "string,pitch,scale_mm,saddle_alone_mm,saddle_mm,nut_mm,fret,cents_before,cents_saddle,cents_both,cents_per_0.1_mm_nut_high",
  ];
  for (const s of strings)
    s.before.forEach((before, n) => {
      lines.push(
        [
          s.string,
          s.pitch,
          mm(s.scale),
          mm(s.saddleOnly),
          mm(s.both.saddle),
          mm(-s.both.nut),
          n + 1,
          ...[before, s.afterSaddle[n], s.after[n], s.nutHigh[n]].map((v) => v.toFixed(3)),
        ].join(","),
      );
    });
  return `${lines.join("\n")}\n`;
}
