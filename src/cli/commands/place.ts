import { InputError } from "../../job/errors.ts";
import {
  budgetOfJob,
  placeInBlank,
  placeScribed,
  placeTouched,
  type StationReading,
  storePlacement,
  undoCorrection,
} from "../../job/place.ts";
import { checkWritable } from "../../job/write.ts";
import { parseLength } from "../../units/index.ts";
import { findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source, storing } from "../sources.ts";
import { make } from "./make.ts";

export interface PlaceOptions {
  shop: string;
  at?: string[];
  touch?: string[];
  store?: true;
  turned?: true;
  undo?: true;
  out?: string;
  cell?: number;
  date?: string;
  reason?: string;
  json?: true;
}

/** Stations with both distances, as people write them. */
export function readings(texts: readonly string[]): StationReading[] {
  return texts.map((text) => {
    const parts = text.split(/\s*:\s*/);
    if (parts.length !== 3)
      throw new InputError(
        `--at ${text}`,
        "this is not a station with two distances",
        'write STATION:DATUM:FAR in mm, like "120:31.5:32.2"',
      );
    const [x, near, far] = parts.map((p) => {
      const read = parseLength(/^[-+]?[\d.]+$/.test(p) ? Number(p) : p);
      if (!read.ok) throw new InputError(`--at ${text}`, read.says.replace(/\.$/, ""), read.tryThis);
      return read.value;
    });
    return { x, near, far };
  });
}

function touches(texts: readonly string[]): (readonly [number, number])[] {
  return texts.map((text) => {
    const parts = text.split(/\s*:\s*/);
    if (parts.length !== 2)
      throw new InputError(
        `--touch ${text}`,
        "this is not a place",
        'write X:Y of the program, the tool\'s radius taken off, like "40:0.2"',
      );
    const [x, y] = parts.map((p) => {
      const read = parseLength(/^[-+]?[\d.]+$/.test(p) ? Number(p) : p);
      if (!read.ok) throw new InputError(`--touch ${text}`, read.says.replace(/\.$/, ""), read.tryThis);
      return read.value;
    });
    return [x!, y!] as const;
  });
}

const mm = (v: number): string => v.toFixed(2);
const deg = (v: number): string => `${((v * 180) / Math.PI).toFixed(2)} deg`;

export async function place(io: Io, orderPath: string, o: PlaceOptions): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const shop = await source(io, o.shop, "shop");
  const date = o.date ?? new Date().toISOString().slice(0, 10);
  if (!/^\d{4}-\d{2}-\d{2}$/.test(date)) throw new InputError(`--date ${date}`, "this is not a day", "write it like 2026-03-31");
  if (o.undo) {
    const reason = await storing(io, order, "order", (paper, to) => undoCorrection(paper, date, to));
    if (reason === null) throw new InputError("--undo", "this order has no correction that counts", "see its corrections");
    io.out(
      o.json
        ? `${JSON.stringify({ command: "place", exitCode: EXIT.sound, undone: reason }, null, 2)}\n`
        : `${paint(io, ["bold", "green"], "undone")}  ${orderPath}: ${reason}\n`,
    );
    return EXIT.sound;
  }
  if (o.turned && !o.store) throw new InputError("--turned", "this says which place is stored", "add --store, or leave --turned out");
  if (o.out !== undefined && !o.store)
    throw new InputError("--out", "new programs are posted for a place that is stored", "add --store, or leave --out out");
  if (o.out !== undefined) await checkWritable(o.out, { disk: io.disk, replace: false });
  if (o.at !== undefined && o.touch !== undefined)
    throw new InputError("--at, --touch", "these are two ways of measuring the same", "give one of them");
  const measured = o.at ?? o.touch;
  const scribed =
    o.at !== undefined
      ? placeScribed(order, shop, readings(o.at))
      : o.touch === undefined
        ? null
        : placeTouched(order, shop, touches(o.touch));
  const result = scribed === null ? placeInBlank(order, shop) : null;
  const needed = (scribed ?? result)!.needed;
  const from = (scribed ?? result)!.at;
  const now = scribed?.found.now ?? result!.now;
  const along = scribed === null ? { ...result!.along, to: result!.along.inBlank } : scribed.found.slid;
  const turned = scribed === null ? { ...result!.turned, to: result!.turned.inBlank } : scribed.found.turned;
  // turned only where sliding alone does not do, or where it is asked for
  const best = o.turned || along.margin < needed ? turned : along;
  const code = Math.max(now, best.margin) >= needed ? EXIT.sound : EXIT.stopped;
  if (o.store) {
    if (best.margin < needed)
      throw new InputError("--store", `there is no place with ${mm(needed)} mm (the best has ${mm(best.margin)})`, "take another blank");
    const reason =
      o.reason ??
      (scribed === null
        ? "largest smallest margin in the blank"
        : `${o.at === undefined ? "touched off" : "measured at the scribe"}: ${measured!.join(", ")}`);
    await storing(io, order, "order", (paper, to) => storePlacement(paper, best.to, { date, reason: reason.slice(0, 300) }, to), true);
  }
  // the order as it is stored now, through the whole of make: planned, posted and proved, or no program at all
  const again = async (to: Io): Promise<ExitCode> =>
    make(to, orderPath, { shop: o.shop, out: o.out!, cell: o.cell ?? 0.1, paper: "A4", ...(o.json ? { json: true } : {}) });
  if (o.json) {
    let said = "";
    const out = (t: string): void => {
      said += t;
    };
    const madeCode = o.out === undefined ? code : await again({ ...io, out });
    const made = o.out === undefined ? {} : { made: JSON.parse(said) as unknown };
    io.out(
      `${JSON.stringify({ command: "place", exitCode: madeCode, needed, from, now, along: { margin: along.margin, bound: along.bound, to: along.to }, turned: { margin: turned.margin, bound: turned.bound, to: turned.to }, stored: o.store === true, ...(o.store ? { to: best.to } : {}), ...made }, null, 2)}\n`,
    );
    return madeCode;
  }
  const row = (
    what: string,
    margin: number,
    to: { readonly tipFromEnd: number; readonly centreFromDatum: number; readonly rotation: number },
  ): string =>
    `${what.padEnd(26)} ${mm(margin).padStart(7)} mm   tip ${mm(to.tipFromEnd)}  centreline ${mm(to.centreFromDatum)}  turned ${deg(to.rotation)}\n`;
  io.out(
    row("as it lies", now, from) +
      row(along.to.rotation === 0 ? "best along the datum edge" : "best turned as it is", along.margin, along.to) +
      row("best when turned too", turned.margin, turned.to),
  );
  io.out(
    `No place has more than ${(along.bound).toFixed(4)} mm ${along.to.rotation === 0 ? "along the edge" : "turned so"}, ${turned.bound.toFixed(4)} mm turned: proved. ${mm(needed)} mm are asked for.\n`,
  );
  if (o.out !== undefined) {
    io.out(
      `${paint(io, ["bold", "green"], "stored")}  ${orderPath}: the neck lies there from now on${best.to.rotation === 0 ? "" : `, turned by ${deg(best.to.rotation)}`}.\n`,
    );
    return again(io);
  }
  if (o.store)
    io.out(
      `${paint(io, ["bold", "green"], "stored")}  ${orderPath}: the neck lies there from now on${best.to.rotation === 0 ? "" : `, turned by ${deg(best.to.rotation)}`}; run make again for its programs.\n`,
    );
  else if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "too small")}  The margin is nowhere met.\n`);
  return code;
}

export async function budget(io: Io, orderPath: string, o: { shop: string; json?: true }): Promise<ExitCode> {
  const found = budgetOfJob(await source(io, orderPath, "order"), await source(io, o.shop, "shop"));
  if (o.json) {
    io.out(`${JSON.stringify({ command: "budget", exitCode: EXIT.sound, ...found }, null, 2)}\n`);
    return EXIT.sound;
  }
  io.out(findingsText(io, found.findings));
  io.out(`${"".padEnd(40)}  99 of 100   worst   limit\n`);
  for (const b of found.outcomes) {
    const top = b.shares.slice(0, 3).map((s) => `${s.says.toLowerCase()} ${Math.round(100 * s.share)} %`);
    io.out(
      `${b.says.padEnd(40)}  ${b.drawn.within99.toFixed(3).padStart(9)}  ${b.worst.toFixed(3).padStart(6)}  ${b.limit.toFixed(2).padStart(6)} ${b.unit}\n      ${top.join(", ")}\n`,
    );
  }
  io.out("Half-widths are common practice unless the shop says otherwise; sources: --json.\n");
  return EXIT.sound;
}
