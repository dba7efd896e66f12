import { dim } from "../drawings/common.ts";
import type { Column, Paper } from "../page/flow.ts";
import { BEND_SHARE, slotsAre, TANG_CLEAR, WIRE_ALLOWANCE, WIRE_OVER, type WireRow, wireRows, wireToOrder } from "./fret-wire.ts";
import { COMMON, type ExportInput, handCautions, hundredths, type Sheet, sheetFlow, stoppedNote } from "./input.ts";

const three = (v: number): string => v.toFixed(3);
const radius = (v: number): string => (Number.isFinite(v) ? v.toFixed(0) : "flat");

/** The fret table on paper: where slots stand, how long and deep they are, and the wire for each. Null on a neck without slots. */
export function fretSheet(input: ExportInput, paper: Paper): Sheet | null {
  const { neck } = input;
  const o = neck.order;
  const rows = wireRows(neck);
  if (rows.length === 0) return null;
  const lines = slotsAre(input) === "lines";
  const flow = sheetFlow(input, lines ? "Line table" : "Fret table", paper);
  flow.newPage("Frets");
  flow.heading(lines ? "Inlaid lines" : "Frets and wire", 1);
  stoppedNote(flow, input);
  handCautions(flow, [
    "Cut wire flies: hold both ends when nipping. Slots cut by hand: a stop on the saw, or a strip on its blade, for the depth.",
  ]);
  const fan = o.fan
    ? `${dim(o.fan.bass)} mm bass and ${dim(o.fan.treble)} mm treble, square at ${dim(o.fan.square)}`
    : `${dim(o.scale)} mm`;
  flow.paragraph(
    `Scale ${fan}. Distances from the nut's bridge-side edge along the centreline, L(1 − 2^(−n/12)); measure each from the nut, not from fret to fret. Slots ${dim(o.frets.kerf)} mm wide${lines ? "" : ` for a tang of ${dim(o.frets.tangWidth)} x ${dim(o.frets.tangDepth)}`}.`,
  );
  flow.table(
    columnsOf(lines),
    rows.map((r) => cells(r, lines)),
    { size: 2.5 },
  );
  flow.list(says(input, rows, lines), { size: 2.7 });
  if (o.fan) perString(flow, input, rows);
  return { name: lines ? "lines" : "frets", title: `Fret table: ${input.orderTitle}`, pages: flow.done() };
}

function columnsOf(lines: boolean): Column[] {
  const right = (head: string, share: number): Column => ({ head, share, align: "right" });
  return [
    right("no.", 0.6),
    right("from nut", 1.3),
    right("to next", 1.2),
    right("slot length", 1.1),
    right("depth centre", 1),
    right("depth edge", 1),
    right("board under, centre", 1.1),
    right("board under, edge", 1.1),
    right(lines ? "strip, cut" : "wire, cut", 1.1),
    ...(lines ? [] : [right("tang nip, each end", 1.1), right("bend radius", 1)]),
  ];
}

const cells = (r: WireRow, lines: boolean): string[] => [
  `${r.number}`,
  three(r.fromNut),
  three(r.toNext),
  hundredths(r.slotLength),
  hundredths(r.depthCentre),
  hundredths(r.depthEdge),
  hundredths(r.underCentre),
  hundredths(r.underEdge),
  r.wire.toFixed(1),
  ...(lines ? [] : [r.nip === 0 ? "–" : r.nip.toFixed(1), radius(r.bendRadius)]),
];

function says(input: ExportInput, rows: readonly WireRow[], lines: boolean): string[] {
  const { neck } = input;
  const o = neck.order;
  const total = wireToOrder(rows);
  const drop = Math.max(...rows.map((r) => r.underCentre - r.underEdge));
  const thing = lines ? "Strip" : "Wire";
  const what = o.board.binding
    ? `The board is bound: slots stop at the binding (${dim(o.board.binding)} mm each side), the crown runs over it, the tang is nipped.`
    : o.frets.ends === "blind"
      ? `Slots stop ${dim(o.frets.blindMargin)} mm short of the edges; the crown runs to the edges, the tang is nipped.`
      : "Slots run through both edges.";
  const out = [
    `${thing} to cut: over the face from edge to edge of the board and ${WIRE_OVER} mm more at each end (${COMMON}), filed off after pressing. ${what}`,
    `${thing} to order: ${total.pieces} pieces, ${(total.length / 1000).toFixed(2)} m end to end; with ${WIRE_ALLOWANCE * 100} % over (${COMMON}) ${(total.order / 1000).toFixed(2)} m.`,
    `Depth is measured square to the finished face; the slot's floor follows the face, so centre and edge are equal.${
      drop > 0.01
        ? ` Sawn straight in a flat board before its radius is cut, a slot must be up to ${dim(o.frets.depth + drop)} deep (${dim(drop)} more than above) to end as deep at the edges; at the centre it is then deeper than needed, and ${hundredths(Math.min(...rows.map((r) => r.underEdge)))} mm of board stay under it.`
        : ""
    }`,
  ];
  if (lines) return out;
  const flat = !rows.some((r) => Number.isFinite(r.bendRadius));
  out.push(
    flat
      ? "The board is flat: press straight wire, or wire bent so slightly that its ends touch first."
      : `Bend radius: ${BEND_SHARE * 100} % of the board's radius along the fret, so that the ends are pressed in first and hold (${COMMON}).`,
  );
  if (rows.some((r) => r.nip > 0))
    out.push(`Tang nip: measured from the end of the cut wire; leaves ${TANG_CLEAR} mm of air to the slot's end (${COMMON}).`);
  const wire = input.hardware?.wires.find(
    (w) => Math.abs(w.tangWidth - o.frets.tangWidth) < 1e-6 && Math.abs(w.tangDepth - o.frets.tangDepth) < 1e-6,
  );
  if (wire) out.push(`On the shelf: "${wire.name}" has this tang; crown ${dim(wire.crownWidth)} wide, ${dim(wire.crownHeight)} high.`);
  return out;
}

/** Two scales: where every string meets every fret, from its own place on the nut. */
function perString(flow: ReturnType<typeof sheetFlow>, input: ExportInput, rows: readonly WireRow[]): void {
  const n = input.neck.order.strings.count;
  flow.newPage("Frets by string");
  flow.heading("Frets by string");
  flow.paragraph(
    "Two scales: from where each string crosses the nut's line to where it crosses the fret's, along the centreline's direction. String 1 is the treble-most. Below each string its own scale length.",
  );
  const columns: Column[] = [{ head: "no.", share: 0.6, align: "right" }];
  for (let s = n; s >= 1; s--) columns.push({ head: `string ${s}`, share: 1, align: "right" });
  const order = Array.from({ length: n }, (_, k) => n - k);
  const body = rows.map((r) => [`${r.number}`, ...order.map((s) => three(r.strings[s - 1]))]);
  const scales = ["scale", ...order.map((s) => ({ text: three(input.neck.scaleOf(s)), bold: true }))];
  flow.table(columns, [...body, scales], { size: 2.5 });
  flow.paragraph(
    "Ends of the slots in the neck's own frame (x along the centreline from the nut, y across, treble of a right-handed neck positive) stand in the CSV table.",
    {
      size: 2.6,
      ink: "soft",
    },
  );
}
