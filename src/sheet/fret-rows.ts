import { centsOfFretError } from "../materials/intonation.ts";
import { dim } from "./drawings/common.ts";
import type { ReportInput } from "./input.ts";

/** The fret table, ready to print: column heads, one row for each slot, and what stands above it. */
export interface FretTable {
  readonly says: string;
  readonly heads: readonly string[];
  readonly rows: readonly (readonly string[])[];
  readonly check: string;
}

/**
 * Distances are on the centreline, L(1 - 2^(-n/12)); a fanned neck adds where each slot meets the board's two edges, measured along
 * x from the middle of the nut's line. What the proof measured on the wood stands beside, when it did.
 */
export function fretRows(input: Pick<ReportInput, "neck" | "proof">): FretTable | null {
  const { neck, proof } = input;
  const o = neck.order;
  const { frets } = neck.features;
  if (frets.length === 0) return null;
  const measured = new Map(
    proof.flatMap((s) => s.measures.filter((m) => m.what === "centreline in the wood").map((m) => [m.id, m.measured] as const)),
  );
  const { fan } = o;
  const heads = [
    "fret",
    "from the nut",
    "from the one before",
    ...(fan ? ["at the bass end", "at the treble end"] : []),
    "slot length",
    "cents per 0.1 mm",
  ];
  if (measured.size > 0) heads.push("in the proof");
  const rows = frets.map((f, i) => {
    const from = neck.fretAt(f.number);
    const before = i > 0 ? neck.fretAt(frets[i - 1].number) : 0;
    const row = [`${f.number}`, from.toFixed(3), (from - before).toFixed(3)];
    if (fan) row.push(f.bass.x.toFixed(3), f.treble.x.toFixed(3));
    row.push(Math.hypot(f.treble.x - f.bass.x, f.treble.y - f.bass.y).toFixed(2));
    row.push(centsOfFretError(o.scale, f.number, 0.1).toFixed(2));
    if (measured.size > 0) row.push(measured.get(f.id)?.toFixed(3) ?? "–");
    return row;
  });
  const scale = fan
    ? `Scale ${dim(fan.bass)} mm at the bass string, ${dim(fan.treble)} at the treble, ${dim(o.scale)} between them`
    : `Scale ${dim(o.scale)} mm`;
  const depth = `Slots ${dim(o.frets.kerf)} mm wide, ${dim(o.frets.depth)} mm below the finished face. Cents: what a slot 0.1 mm too near the bridge sounds sharp`;
  return {
    says: `${scale}. Distances in mm along the centreline from the nut's bridge-side edge: L(1 − 2^(−n/12)). ${depth}.`,
    heads,
    rows,
    check: `Check with a rule from the nut each time, not from fret to fret. The octave (fret 12) is half the scale: ${dim(o.scale / 2)} mm${fan ? " on the centreline" : ""}.`,
  };
}
