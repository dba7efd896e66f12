import type { Point } from "../../kernel/curve.ts";
import type { FretSlot, Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import type { ExportInput } from "./input.ts";

/** Wire left over at each end of a fret, to be cut and filed off after pressing. Common practice, no source. */
export const WIRE_OVER: Mm = 3;
/** Air between a slot's blind end and the tang. Common practice, no source. */
export const TANG_CLEAR: Mm = 0.5;
/** Wire is bent to this share of the board's radius, so that its ends press down. Common practice, no source. */
export const BEND_SHARE = 0.85;
/** Wire bought beyond what is cut: bends, spoilt frets, the roll's ends. Common practice, no source. */
export const WIRE_ALLOWANCE = 0.1;

/** One fret (or inlaid line) as the bench needs it. Lengths in mm. */
export interface WireRow {
  readonly number: number;
  /** Along the centreline from the nut's bridge-side edge, and on to the next fret (the bridge after the last). */
  readonly fromNut: Mm;
  readonly toNext: Mm;
  /** From where each string crosses the nut's line to where it crosses the fret's, along the centreline's direction; string 1 first. */
  readonly strings: readonly Mm[];
  readonly bass: Point;
  readonly treble: Point;
  readonly slotLength: Mm;
  /** Below the finished face, square to it: the machine's slot follows the face, so both are the ordered depth. */
  readonly depthCentre: Mm;
  readonly depthEdge: Mm;
  /** Board left between the slot's floor and the glue plane. */
  readonly underCentre: Mm;
  readonly underEdge: Mm;
  /** Over the face from edge to edge of the board along the fret: the finished crown. */
  readonly crown: Mm;
  /** What to cut off the wire: the crown and WIRE_OVER at each end. */
  readonly wire: Mm;
  /** Tang to nip off at each end of the cut wire; 0 where the slot runs through. */
  readonly nip: Mm;
  /** Of the board along the fret; Infinity where it is flat. */
  readonly boardRadius: Mm;
  /** To bend the wire to; Infinity: straight. */
  readonly bendRadius: Mm;
}

/** Rows for every slot of the neck, the nut's side first; empty on a neck without slots. */
export function wireRows(neck: Neck): WireRow[] {
  const { frets } = neck.features;
  return frets.map((f, i) => {
    const next = frets[i + 1];
    const to = next ? neck.fretAt(next.number) : neck.fretAt(Number.POSITIVE_INFINITY);
    return rowOf(neck, f, to);
  });
}

function rowOf(neck: Neck, f: FretSlot, next: Mm): WireRow {
  const fromNut = neck.fretAt(f.number);
  const slope = neck.fretSlope(f.number);
  const edge = ([0, 1] as const).map((i) => onEdge(neck, fromNut, slope, i));
  const slotLength = Math.hypot(f.treble.x - f.bass.x, f.treble.y - f.bass.y);
  const crown = overFace(neck, edge[0], edge[1]);
  const blind = f.ends === "blind";
  const edgeToEdge = Math.hypot(edge[1].x - edge[0].x, edge[1].y - edge[0].y);
  const under = (p: Point): Mm => neck.boardTop(p.x, p.y) - f.depth;
  // on a cylinder a line that slants by `slope` meets an ellipse; its radius at the crown is R / cos^2
  const boardRadius = neck.boardRadius(fromNut) * (1 + slope * slope);
  return {
    number: f.number,
    fromNut,
    toNext: next - fromNut,
    strings: Array.from({ length: neck.order.strings.count }, (_, k) => alongString(neck, k + 1, fromNut, slope)),
    bass: f.bass,
    treble: f.treble,
    slotLength,
    depthCentre: f.depth,
    depthEdge: f.depth,
    underCentre: under({ x: fromNut, y: 0 }),
    underEdge: Math.min(under(f.bass), under(f.treble)),
    crown,
    wire: crown + 2 * WIRE_OVER,
    nip: blind ? WIRE_OVER + (edgeToEdge - slotLength) / 2 + TANG_CLEAR : 0,
    boardRadius,
    bendRadius: BEND_SHARE * boardRadius,
  };
}

/** Where a line x = x0 + slope y meets the board's lower (0) or upper (1) edge. */
function onEdge(neck: Neck, x0: Mm, slope: number, i: 0 | 1): Point {
  let y = neck.boardEdges(x0)[i];
  for (let k = 0; k < 40; k++) y = neck.boardEdges(x0 + slope * y)[i];
  return { x: x0 + slope * y, y };
}

/** Length over the board's face from one edge to the other: Simpson's rule on the straight plan line. */
function overFace(neck: Neck, a: Point, b: Point): Mm {
  const n = 64;
  const L = Math.hypot(b.x - a.x, b.y - a.y);
  const z = (t: number): Mm => neck.boardTop(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t);
  const h = 1e-4;
  const speed = (t: number): number => {
    const [t0, t1] = [Math.max(0, t - h), Math.min(1, t + h)];
    return Math.hypot(L, (z(t1) - z(t0)) / (t1 - t0));
  };
  let sum = speed(0) + speed(1);
  for (let k = 1; k < n; k++) sum += (k % 2 === 1 ? 4 : 2) * speed(k / n);
  return sum / (3 * n);
}

/** From the nut's line to the fret's line on string s, along x. */
function alongString(neck: Neck, s: number, x0: Mm, slope: number): Mm {
  const cross = (at: Mm, m: number): Mm => {
    let x = at;
    for (let k = 0; k < 40; k++) x = at + m * neck.stringAt(s, x);
    return x;
  };
  return cross(x0, slope) - cross(0, neck.places.nutSlope);
}

/** Wire for the whole neck: pieces, their length end to end, and what to order. */
export function wireToOrder(rows: readonly WireRow[]): { readonly pieces: number; readonly length: Mm; readonly order: Mm } {
  const length = rows.reduce((s, r) => s + r.wire, 0);
  return { pieces: rows.length, length, order: Math.ceil((length * (1 + WIRE_ALLOWANCE)) / 50) * 50 };
}

/** What the slots of this order are for. */
export const slotsAre = (input: Pick<ExportInput, "neck">): "frets" | "lines" | "none" => input.neck.order.frets.kind ?? "frets";

const csv = (v: number, decimals = 4): string => (Number.isFinite(v) ? (Object.is(v, -0) ? 0 : v).toFixed(decimals) : "");

/**
 * The fret table as CSV (RFC 4180: comma, CR LF, one head line; a point for decimals). Lengths in mm, four decimals; an empty field stands
 * for a flat board's radius. Columns: docs/exports.md.
 */
export function fretCsv(neck: Neck): string {
  const rows = wireRows(neck);
  const strings = Array.from({ length: neck.order.strings.count }, (_, k) => k + 1);
  const head = [
    "fret",
    "from_nut_mm",
    "to_next_mm",
    "slot_length_mm",
    "slot_width_mm",
    "slot_depth_centre_mm",
    "slot_depth_edge_mm",
    "board_under_slot_centre_mm",
    "board_under_slot_edge_mm",
    "crown_length_mm",
    "wire_length_mm",
    "tang_nip_each_end_mm",
    "board_radius_mm",
    "wire_bend_radius_mm",
    "bass_x_mm",
    "bass_y_mm",
    "treble_x_mm",
    "treble_y_mm",
    ...strings.map((s) => `string_${s}_from_nut_mm`),
  ];
  const lines = rows.map((r) =>
    [
      `${r.number}`,
      ...[
        r.fromNut,
        r.toNext,
        r.slotLength,
        neck.order.frets.kerf,
        r.depthCentre,
        r.depthEdge,
        r.underCentre,
        r.underEdge,
        r.crown,
        r.wire,
        r.nip,
        r.boardRadius,
        r.bendRadius,
        r.bass.x,
        r.bass.y,
        r.treble.x,
        r.treble.y,
        ...r.strings,
      ].map((v) => csv(v)),
    ].join(","),
  );
  return `${[head.join(","), ...lines].join("\r\n")}\r\n`;
}
