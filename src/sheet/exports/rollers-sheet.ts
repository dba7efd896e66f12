import type { Neck, RollerBore } from "../../neck/types.ts";
import { radToDeg } from "../../units/index.ts";
import type { Drawing } from "../draw/types.ts";
import { at, uprightView } from "../draw/view.ts";
import { dim, SIZE } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import type { Paper } from "../page/flow.ts";
import { rollerOnFace } from "./face.ts";
import { COMMON, type ExportInput, handCautions, hundredths, type Sheet, sheetFlow, stoppedNote } from "./input.ts";

/** One bore from the side, measured on the headstock as it stands in the vice. */
export interface RollerPlace {
  readonly string: number;
  readonly side: "bass" | "treble";
  /** From the nut's line along the face, toward the tip. */
  readonly along: number;
  /** Axis below the face and above the back, square to them. */
  readonly under: number;
  readonly over: number;
  readonly diameter: number;
  readonly depth: number;
  /** From the side: wood up to the opening, the opening's width, and how far the bore goes on into the middle. */
  readonly wall: number;
  readonly opening: number;
  readonly middle: number;
  /** The side's own angle to the centreline there: what a guide that lies on the side must be wedged by. */
  readonly wedge: number;
}

/** The bores of a slotted headstock, bass side first, from the nut toward the tip; empty for other headstocks. */
export function rollerPlaces(neck: Neck): RollerPlace[] {
  const t = neck.order.headstock.thickness;
  return neck.features.rollers
    .map((r): RollerPlace => {
      const f = rollerOnFace(neck, r);
      const slot = neck.features.headSlots.find((h) => h.y > 0 === r.y > 0);
      const wall = slot ? Math.abs(r.y) - Math.abs(slot.y) - slot.width / 2 : 0;
      const opening = slot?.width ?? 0;
      return {
        string: r.string,
        side: r.side,
        along: -f.x,
        under: f.under,
        over: t - f.under,
        diameter: r.diameter,
        depth: r.depth,
        wall,
        opening,
        middle: r.depth - wall - opening,
        wedge: wedgeAt(neck, r),
      };
    })
    .sort((a, b) => (a.side === b.side ? a.along - b.along : a.side === "bass" ? -1 : 1));
}

function wedgeAt(neck: Neck, r: RollerBore): number {
  const i = r.y > 0 ? 1 : 0;
  return Math.atan((neck.edges(r.x + 0.5)[i] - neck.edges(r.x - 0.5)[i]) * (r.y > 0 ? 1 : -1));
}

/** Drilling guide for the rollers of a slotted headstock, which a three-axis machine cannot reach. Null for other headstocks. */
export function rollersSheet(input: ExportInput, paper: Paper): Sheet | null {
  const places = rollerPlaces(input.neck);
  if (places.length === 0) return null;
  const flow = sheetFlow(input, "Drilling guide", paper);
  flow.newPage("Rollers", "landscape");
  flow.heading("Roller bores of the slotted headstock", 1);
  stoppedNote(flow, input);
  flow.paragraph(
    "Bored from the sides, square to the centreline and parallel to the face, midway in the headstock's thickness. Distances along the face from the nut's line; printed at true size: cut the strip out, lay its nut line on the nut's and its upper edge on the face, and prick through.",
  );
  for (const side of ["bass", "treble"] as const) {
    const own = places.filter((p) => p.side === side);
    if (own.length > 0) flow.figure(sideDrawing(input.neck, own, side), { caption: `${side === "bass" ? "Bass" : "Treble"} side` });
  }
  flow.newPage("Rollers, figures");
  handCautions(flow, [
    "Drilling from the edge of a thin piece: clamp it between cauls, never hold it in the hand; a drill that grips turns the piece with it.",
  ]);
  flow.heading("Figures");
  flow.table(
    [
      { head: "side", share: 0.9 },
      { head: "string", share: 0.7, align: "right" },
      { head: "along the face from the nut", share: 1.3, align: "right" },
      { head: "under the face", share: 1, align: "right" },
      { head: "over the back", share: 1, align: "right" },
      { head: "⌀", share: 0.7, align: "right" },
      { head: "depth from the side", share: 1, align: "right" },
      { head: "wall", share: 0.8, align: "right" },
      { head: "opening", share: 0.9, align: "right" },
      { head: "into the middle", share: 1, align: "right" },
      { head: "side's own slant", share: 1, align: "right" },
    ],
    places.map((p) => [
      p.side,
      `${p.string}`,
      hundredths(p.along),
      hundredths(p.under),
      hundredths(p.over),
      hundredths(p.diameter),
      hundredths(p.depth),
      hundredths(p.wall),
      hundredths(p.opening),
      hundredths(p.middle),
      `${hundredths(radToDeg(p.wedge))}°`,
    ]),
    { size: 2.5 },
  );
  flow.list(
    [
      "Bore before the openings are cut through where the order of work allows it, or fill them with a close-fitting block of waste wood: the drill must meet wood on both sides of the opening.",
      "Guide: a straight block of hard wood, bored on a drill press square to its face at the distances above, clamped to the headstock's side against a stop at the nut's line. Where the side slants, wedge the block by the slant so that the bores stay square to the centreline.",
      `Brad-point drill, ${hundredths(places[0].diameter)} mm, run in the same wood first: rollers should turn without play. Stop collar at the depth; clear chips often; let off before the end (${COMMON}).`,
      "Lay the tuners on before the last bore: the distance between rollers is fixed by their plate. If the plate disagrees with this sheet, the plate is right: change the order.",
    ],
    { box: true },
  );
  return { name: "rollers", title: `Drilling guide: ${input.orderTitle}`, pages: flow.done() };
}

/** The headstock's side laid flat along its face, true size: nut's line at the right for the bass side seen from outside. */
function sideDrawing(neck: Neck, own: readonly RollerPlace[], side: "bass" | "treble"): Drawing {
  const t = neck.order.headstock.thickness;
  const far = Math.max(...own.map((p) => p.along)) + 20;
  // seen from outside: looking from the lower side (-y) the nut lies right of the tip; from the upper side, left
  const lower = (side === "bass") === (neck.order.hand !== "left");
  const left = 12;
  const view = uprightView([lower ? left + far : left, 14], 1);
  const x = (along: number): number => (lower ? -along : along);
  const pen = new Pen();
  pen.rect("wide", at(view, x(0), 0), at(view, x(far), -t));
  pen.line("wide", at(view, x(0), 4), at(view, x(0), -t - 4));
  const [nx, ny] = at(view, x(0), 5);
  pen.text([nx, ny], "nut's line", SIZE.small, { anchor: lower ? "end" : "start" });
  pen.text([at(view, x(far), 0)[0] + (lower ? 2 : -2), at(view, 0, 1)[1]], "face", SIZE.small, { anchor: lower ? "start" : "end" });
  own.forEach((p, i) => {
    const c = at(view, x(p.along), -p.under);
    pen.circle("wide", c, p.diameter / 2);
    pen.cross(c, p.diameter / 2, 2);
    pen.text([c[0] + p.diameter / 2 + 0.6, c[1] - p.diameter / 2 + 0.4], `${p.string}`, SIZE.small);
    pen.dimension({
      a: at(view, x(0), -t),
      b: at(view, x(p.along), -p.under),
      along: "x",
      line: at(view, 0, -t)[1] + 7 + 6 * i,
      text: hundredths(p.along),
      ground: true,
    });
  });
  const end = at(view, x(far), 0)[0];
  pen.dimension({
    a: [end, at(view, 0, 0)[1]],
    b: [end, at(view, 0, -own[0].under)[1]],
    along: "y",
    line: end + (lower ? -6 : 6),
    text: dim(own[0].under),
  });
  return {
    id: `rollers-${side}`,
    title: `Roller bores, ${side} side`,
    says: `The headstock's ${side} side with its roller bores at true size.`,
    width: left * 2 + far,
    height: 14 + t + 8 + 6 * own.length,
    group: 0.35,
    items: pen.items,
    scale: 1,
  };
}
