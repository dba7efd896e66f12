import { type CameOut, came, type OutReading, readCameOut } from "../holding/correct/came-out.ts";
import { readScribe } from "../holding/correct/scribe.ts";
import type { StationReading } from "../holding/correct/types.ts";
import { correctionText } from "../spec/correction-text.ts";
import { inForce } from "../spec/corrections.ts";
import { InputError } from "./errors.ts";
import type { ProofFile } from "./files.ts";
import type { MadeJob } from "./made.ts";

/* What somebody measured of a made job, believed or refused, in the words in which a run keeps it. */

export type { CameOut, StationReading };

/** A measurement as a run keeps it: which step it belongs to (as the bench has it), and its name. */
export interface Kept {
  readonly step: string;
  readonly name: string;
  readonly value: number;
  readonly unit: "mm";
}

const text = (
  e: { readonly date: string; readonly reason: string },
  of: "order" | "shop",
  says: string,
): { of: "order" | "shop"; date: string; says: string; reason: string } => ({
  of,
  date: e.date,
  says,
  reason: e.reason,
});

/** Corrections in force in the order and the shop that the programs were made from. */
export const correctionsOf = (made: MadeJob): { of: "order" | "shop"; date: string; says: string; reason: string }[] => [
  ...inForce(made.order.corrections).map((e) => text(e, "order", correctionText(e))),
  ...inForce(made.shop.corrections).map((e) => text(e, "shop", correctionText(e))),
];

/** Thickness stations by name: those that the proof measured, and every fret. */
export function stationsOf(made: MadeJob, proof: Pick<ProofFile, "both"> | null): Map<string, number> {
  const { neck } = made;
  const out = new Map<string, number>();
  const bare = made.order.blank.kind === "shaft-alone";
  for (let n = 1; n < neck.order.frets.count; n++) {
    // behind the slot, as the proof measures
    const x = neck.fretAt(n) + Math.min(3, (neck.fretAt(n + 1) - neck.fretAt(n)) / 4);
    if (x >= neck.places.heelFront) break;
    out.set(`at fret ${n}`, (bare ? Math.min(0, neck.top(x, 0)) : neck.top(x, 0)) - neck.back(x, 0));
  }
  for (const m of proof?.both.measures ?? []) out.set(m.id.replace(/^thickness /, ""), m.ordered);
  return out;
}

/** "fret 5=21.6" -> the name and the length in mm as it was typed. */
function pair(flag: string, given: string): readonly [string, number] {
  const m = /^\s*(.+?)\s*=\s*([-+]?\d+(?:[.,]\d+)?)\s*(?:mm)?\s*$/.exec(given);
  if (m === null)
    throw new InputError(
      `${flag} ${given}`,
      "this is not a name with a length in mm",
      flag === "--fret" ? 'write it like "5=163.2"' : 'write it like "fret 5=21.6"',
    );
  return [m[1].toLowerCase(), Number(m[2].replace(",", "."))];
}

export interface Asked {
  readonly thickness: readonly string[];
  readonly frets: readonly string[];
  readonly scribe: readonly StationReading[];
  /** Written down as it is, however odd. */
  readonly sure: boolean;
}

/** Reads what was measured; throws InputError with a sentence where it cannot be believed. */
export function readMeasured(
  made: MadeJob,
  proof: Pick<ProofFile, "both"> | null,
  asked: Asked,
): { readonly kept: readonly Kept[]; readonly rows: readonly CameOut[] } {
  const { neck } = made;
  const stations = stationsOf(made, proof);
  const readings: OutReading[] = [
    ...asked.thickness.map((t): OutReading => {
      const [name, measured] = pair("--thickness", t);
      const at = name.startsWith("at ")
        ? name
        : /^\d+$/.test(name)
          ? `at fret ${name}`
          : /^fret /.test(name)
            ? `at ${name}`
            : `at the ${name}`;
      const ordered = stations.get(at);
      if (ordered === undefined)
        throw new InputError(
          `--thickness ${t}`,
          `there is no station "${name}"`,
          `there are ${[...stations.keys()].map((s) => s.replace(/^at (?:the )?/, "")).join(", ")}`,
        );
      return { name: `thickness ${at}`, kind: "thickness", ordered, measured };
    }),
    ...asked.frets.map((t): OutReading => {
      const [name, measured] = pair("--fret", t);
      const n = Number(name.replace(/^fret /, ""));
      if (!(Number.isInteger(n) && n >= 1 && n <= neck.order.frets.count))
        throw new InputError(
          `--fret ${t}`,
          `there is no fret "${name}"`,
          `frets are 1 to ${neck.order.frets.count}, from the nut's edge along the centreline`,
        );
      return { name: `fret ${n}`, kind: "fret", fret: n, ordered: neck.fretAt(n), measured };
    }),
  ];
  const found = readCameOut(readings, neck);
  if (!found.ok && !asked.sure) throw new InputError("--thickness, --fret", found.says.replace(/\.$/, ""), found.tryThis);
  const rows = found.ok ? found.value : readings.map((r) => came(r, neck));
  if (asked.scribe.length > 0 && !asked.sure) {
    const scribed = readScribe(neck, { ...made.job.placement, rotation: made.order.blank.rotation ?? 0 }, asked.scribe);
    if (!scribed.ok) throw new InputError("--at", scribed.says.replace(/\.$/, ""), scribed.tryThis);
  }
  const kept: Kept[] = [
    ...rows.map(
      (r): Kept => ({ step: r.kind === "fret" ? "measure-frets" : "measure-thickness", name: r.name, value: r.measured, unit: "mm" }),
    ),
    ...asked.scribe.flatMap((s): Kept[] => [
      { step: "measure-scribe", name: `${s.x} near`, value: s.near, unit: "mm" },
      { step: "measure-scribe", name: `${s.x} far`, value: s.far, unit: "mm" },
    ]),
  ];
  return { kept, rows };
}
