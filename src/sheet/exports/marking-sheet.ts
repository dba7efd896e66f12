import type { Holding } from "../../holding/types.ts";
import { whereInBlank } from "../../holding/where.ts";
import { contourBounds } from "../../kernel/contour.ts";
import { plankThickness } from "../../neck/index.ts";
import type { Neck } from "../../neck/types.ts";
import { radToDeg } from "../../units/index.ts";
import { dim } from "../drawings/common.ts";
import { centreAt, markingDrawing } from "../drawings/marking.ts";
import { backAt } from "../drawings/profile.ts";
import type { Paper } from "../page/flow.ts";
import { fitted } from "../page/parts.ts";
import { COMMON, type ExportInput, handCautions, hundredths, type Sheet, sheetFlow, stoppedNote } from "./input.ts";
import { laminatePage } from "./laminate.ts";
import { scarfPage } from "./scarf-page.ts";

/** Where the neck lies in its blank by the order alone: as placed there, or else in the middle of its length and width. */
export function blankOf(neck: Neck): Pick<Holding, "blank" | "placement"> {
  const { blank } = neck.order;
  return {
    blank: {
      length: blank.length,
      width: blank.width,
      thickness: blank.shaftThickness + blank.boardThickness,
      boardThickness: blank.boardThickness,
    },
    placement: whereInBlank(neck, contourBounds(neck.outline)),
  };
}

/** Marking out: the blank; for a joined headstock the scarf; for a shaft of strips the laminate. */
export function markingSheet(input: ExportInput, paper: Paper): Sheet {
  const { neck } = input;
  const flow = sheetFlow(input, "Marking out", paper);
  flow.newPage("Marking out", "landscape");
  flow.heading("Blank and marking out", 1);
  stoppedNote(flow, input);
  flow.figure(fitted((s) => markingDrawing(neck, input.blank, s), flow.width, flow.room - 6, 1));
  flow.newPage("Marking out, figures");
  flow.heading("What to mark, in order");
  handCautions(flow);
  flow.list(steps(input), { box: true });
  flow.heading("Figures", 3);
  flow.table(
    [
      { head: "line", share: 3 },
      { head: "from the headstock end", share: 1.4, align: "right" },
      { head: "from the nut's line", share: 1.4, align: "right" },
    ],
    lines(neck, input.blank),
  );
  flow.table(
    [
      { head: "depth", share: 3 },
      { head: "from the board's face (crown)", share: 1.4, align: "right" },
      { head: "from the glue plane", share: 1.4, align: "right" },
    ],
    depths(neck),
  );
  if (neck.order.headstock.kind === "scarfed") scarfPage(flow, input);
  if (neck.order.wood.strips && neck.order.wood.strips.length > 0) laminatePage(flow, input);
  return { name: "marking-out", title: `Marking out: ${input.orderTitle}`, pages: flow.done() };
}

function steps(input: ExportInput): string[] {
  const { neck } = input;
  const { blank, placement } = input.blank;
  const o = neck.order;
  const grain = o.wood.grain ?? 0;
  const out = [
    `Let the wood rest in the workshop until it no longer moves (${dim(o.blank.moisture)} % moisture is what this order counts on). Plane both faces flat and parallel: ${dim(blank.thickness)} mm${
      blank.boardThickness > 0
        ? ` with the board on (shaft ${dim(blank.thickness - blank.boardThickness)}, board ${dim(blank.boardThickness)})`
        : ""
    }.`,
    `Plane one long edge straight and square to the face: the datum edge, on the ${o.blank.datumEdge} side. Everything across is measured from it. Mark it on face and end.`,
    "Saw the headstock end square to the datum edge. Everything along is measured from it.",
    placement.rotation === undefined
      ? `Centreline: ${dim(placement.centreFromDatum)} from the datum edge, over both faces and both ends, with a knife or a hard pencil.`
      : `Centreline, ${hundredths(radToDeg(Math.abs(placement.rotation)))}° askew to the datum edge: ${hundredths(centreAt(neck, placement, 0))} from it at the headstock end, ${hundredths(centreAt(neck, placement, blank.length))} at the body end, over both faces and both ends, with a knife or a hard pencil.`,
    `Nut's line: ${dim(placement.tipFromEnd - neck.places.tip)} from the headstock end${placement.rotation === undefined ? "" : " on the centreline, square to it"}${
      neck.places.nutSlope === 0
        ? ", square across"
        : `, on the centreline; it stands askew by ${hundredths(radToDeg(Math.atan(Math.abs(neck.places.nutSlope))))}°, the ${neck.places.nutSlope * (o.hand === "left" ? -1 : 1) > 0 ? "treble" : "bass"} end nearer the bridge`
    }. Carry it round all faces.`,
    `Grain of the shaft: ${grain === 0 ? "along the centreline, seen from the side and from above" : `run out by ${hundredths(radToDeg(grain))}° seen from the side, as ordered`}; falling toward the back at the heel is better than rising (${COMMON}). Arrow on the face, from heel to headstock.`,
  ];
  const plank = plankThickness(neck);
  if (o.headstock.kind === "angled")
    out.push(
      `One piece with a tilted headstock: the plank must be ${dim(plank.thickness)} thick under the glue plane, ${dim(plank.forTilt)} of it for the tilt alone.`,
    );
  return out;
}

function lines(neck: Neck, blank: ExportInput["blank"]): string[][] {
  const p = neck.places;
  const nut = blank.placement.tipFromEnd - p.tip;
  const cos = Math.cos(blank.placement.rotation ?? 0);
  const n = neck.order.frets.count;
  const rows: [string, number][] = [
    ["headstock's tip", p.tip],
    ...[...new Set([...neck.features.tuners, ...neck.features.rollers].map((t) => Number(t.x.toFixed(2))))]
      .sort((a, b) => a - b)
      .map((x): [string, number] => ["tuner's middle", x]),
    [p.rampFoot < p.rampTop ? "foot of the ramp (headstock's face ends)" : "headstock's face begins to tilt", p.rampFoot],
    ["board begins", p.boardFront],
    ["nut's line (scale begins)", 0],
    ...(n >= 12 ? [["fret 12 (half the scale)", neck.fretAt(12)] as [string, number]] : []),
    ...(n >= 1 && n !== 12 ? [[`fret ${n}, the last`, neck.fretAt(n)] as [string, number]] : []),
    ["heel begins to rise", p.carveEnd],
    ["heel is flat", p.heelFront],
    ["shaft ends", p.shaftEnd],
    ["board ends, on the centreline", p.boardEnd],
  ];
  return rows.map(([says, x]) => [says, hundredths(nut + cos * x), hundredths(x)]);
}

function depths(neck: Neck): string[][] {
  const o = neck.order;
  const crown = o.board.thickness;
  const rows: [string, number][] = [["glue plane between board and shaft", 0]];
  if ((o.headstock.kind ?? "flat") === "flat")
    rows.push(["headstock's face", -o.headstock.drop], ["headstock's back", -o.headstock.drop - o.headstock.thickness]);
  for (const s of o.carve.stations) {
    const x = s.at.kind === "fret" ? neck.fretAt(s.at.fret) : s.at.x;
    rows.push([`back at ${s.at.kind === "fret" ? `fret ${s.at.fret}` : `x ${dim(s.at.x)}`}`, backAt(neck, x)]);
  }
  rows.push(["back at the heel", backAt(neck, (neck.places.heelFront + neck.places.shaftEnd) / 2)]);
  return rows.map(([says, z]) => [says, hundredths(crown - z), hundredths(-z)]);
}
