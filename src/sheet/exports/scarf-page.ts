import { type Scarf, scarfOf } from "../../neck/index.ts";
import type { Neck } from "../../neck/types.ts";
import { radToDeg } from "../../units/index.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView } from "../draw/view.ts";
import { dim, SIZE } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import type { Flow } from "../page/flow.ts";
import { fitted } from "../page/parts.ts";
import { COMMON, type ExportInput, hundredths } from "./input.ts";
import { backAlong, topAlong } from "./profile.ts";
import { stepPoints } from "./step-points.ts";

/** Left for the saw and for planing the sawn faces true, together. Common practice, no source. */
const SAW = 6;

/** The scarf: one board sawn in two, the end turned over and glued under the shaft. */
export function scarfPage(flow: Flow, input: ExportInput): void {
  const { neck } = input;
  const s = scarfOf(neck);
  if (!s) return;
  const T = s.glueLine;
  flow.newPage("Scarf");
  flow.heading("The scarf");
  flow.paragraph(
    `One board, ${dim(T)} mm thick (the headstock's thickness), sawn at ${hundredths(radToDeg(s.angle))}° to its faces. The end is turned over and glued with its sawn face under the shaft, so that its flat face goes on from the shaft's sawn face: together they are the headstock's face.`,
  );
  flow.figure(
    fitted((k) => boardDrawing(s, k), flow.width, 60, 1),
    { caption: "The board before sawing, from its edge" },
  );
  flow.figure(
    fitted((k) => gluedDrawing(neck, s, k), flow.width, 90, 1),
    { caption: "Glued, from the side; the neck within it" },
  );
  const rows: [string, string][] = [
    ["Saw cut", `${hundredths(radToDeg(s.angle))}° to the faces: ${hundredths(s.taper)} along the face on ${dim(T)} of thickness`],
    ["Sawn face", `${hundredths(s.face)} long`],
    ["Shaft piece, least length", `${hundredths(s.shaftPiece)} on its longer face`],
    ["Headstock piece, least length", `${hundredths(s.headPiece)} on its longer face`],
    [
      "Board, least length",
      `${hundredths(s.shaftPiece + s.headPiece - s.taper + SAW)} with ${SAW} mm for saw and plane (${COMMON}); add what the outline needs at both ends`,
    ],
    ["Glue line on the headstock's face", `${hundredths(-s.headEnd)} behind the nut's line, measured along the board`],
    [
      "Glue line ends toward the body",
      `${hundredths(Math.abs(s.bodyEnd))} ${s.bodyEnd > 0 ? "past the nut's line, under the board" : "behind the nut's line"}; ${hundredths(s.beforeFirstFret)} ${s.beforeFirstFret > 0 ? "before" : "past"} fret 1`,
    ],
    [
      "Shows on the back",
      s.shownOnBack === null
        ? "not on the centreline: the carve takes it away"
        : `at x = ${hundredths(s.shownOnBack)} from the nut's line, on the centreline`,
    ],
  ];
  flow.table(
    [
      { head: "what", share: 1.7 },
      { head: "measure", share: 5 },
    ],
    rows,
  );
  const deepest = Math.max(
    ...backAlong(neck)
      .filter(([x]) => x > s.bodyEnd)
      .map(([, z]) => -z),
  );
  flow.list(
    [
      "Mark the cut on both edges from the same end; saw outside the line; plane both sawn faces together, clamped one behind the other, until they are flat, square to the edges and at the angle.",
      `Dry fit first. Clamp a stop against the end and one at the sides: glued slopes slide. Glue only planed, fresh faces; clamp over the whole ${hundredths(s.face)} mm; leave overnight (${COMMON}; the glue's own sheet comes first).`,
      "Then plane the headstock's face until shaft and piece are one plane, and the meeting line at the nut is straight and square across.",
      `If the board is thicker when it is sawn, the glue line on the face moves ${hundredths(1 / Math.tan(s.angle))} mm toward the tip for every mm.`,
      ...(deepest > T + 0.005
        ? [
            `Past the joint the finished neck reaches ${hundredths(deepest)} below the glue plane, more than the board's ${dim(T)}: glue on a block for the heel (and a strip where the carve is deeper), or saw a thicker board and thin the headstock afterwards.`,
          ]
        : []),
    ],
    { box: true, size: 2.8 },
  );
}

/** The board from its edge: the cut, and which part becomes what. */
function boardDrawing(s: Scarf, k: number): Drawing {
  const T = s.glueLine;
  const L = s.shaftPiece + s.headPiece - s.taper;
  const view = uprightView([14, 12 + T * k], k);
  const pen = new Pen();
  const to = (pts: readonly XY[]): XY[] => pts.map(([x, z]) => at(view, x, z));
  // the headstock piece lies left; its longer face is the upper one
  const [low, up] = [s.headPiece - s.taper, s.headPiece];
  const head = to([
    [0, 0],
    [low, 0],
    [up, T],
    [0, T],
  ]);
  const shaft = to([
    [low, 0],
    [L, 0],
    [L, T],
    [up, T],
  ]);
  pen.hatch({ rings: [head], grain: "long", spacing: 1.3 });
  pen.hatch({ rings: [shaft], grain: "long", spacing: 1.3, turn: 12 });
  pen.polyline("wide", head, { closed: true });
  pen.polyline("wide", shaft, { closed: true });
  pen.line("heavy", at(view, low, 0), at(view, up, T), { ink: "accent" });
  const base = at(view, 0, 0)[1];
  const top = at(view, 0, T)[1];
  pen.dimension({ a: at(view, 0, T), b: at(view, up, T), along: "x", line: top - 5, text: `${dim(s.headPiece)} headstock piece` });
  pen.dimension({ a: at(view, low, 0), b: at(view, L, 0), along: "x", line: base + 6, text: `${dim(s.shaftPiece)} shaft piece` });
  pen.dimension({ a: at(view, low, 0), b: [at(view, up, T)[0], base], along: "x", line: base + 12, text: dim(s.taper), ground: true });
  pen.dimension({ a: at(view, L, 0), b: at(view, L, T), along: "y", line: at(view, L, 0)[0] + 6, text: dim(T) });
  return {
    id: "scarf-board",
    title: "Board",
    says: "The board with the saw's line.",
    width: 28 + L * k,
    height: base + 16,
    group: 0.35,
    items: pen.items,
    scale: k,
  };
}

/** Both pieces glued, and the finished neck's line within them. */
function gluedDrawing(neck: Neck, s: Scarf, k: number): Drawing {
  const T = s.glueLine;
  const p = neck.places;
  const [c, n] = [Math.cos(s.angle), Math.sin(s.angle)];
  const far = (s.headEnd - p.tip) / c + 4;
  const show = Math.min(p.end, neck.fretAt(5));
  const a: XY = [s.headEnd - far * c, -T - far * n];
  const b: XY = [a[0] + T * n, a[1] - T * c];
  const zMax = neck.boardTop(0, 0);
  const view = uprightView([14 - a[0] * k, 16 + zMax * k], k);
  const to = (pts: readonly XY[]): XY[] => pts.map(([x, z]) => at(view, x, z));
  const pen = new Pen();
  const head = to([[s.headEnd, -T], a, b, [s.bodyEnd, -T]]);
  const shaft = to([
    [p.rampTop, 0],
    [show, 0],
    [show, -T],
    [s.headEnd, -T],
  ]);
  pen.hatch({ rings: [head], grain: "long", spacing: 1.3, turn: -radToDeg(s.angle) });
  pen.hatch({ rings: [shaft], grain: "long", spacing: 1.3 });
  pen.polyline("wide", head, { closed: true });
  pen.polyline("wide", shaft, { closed: true });
  pen.line("heavy", at(view, s.headEnd, -T), at(view, s.bodyEnd, -T), { ink: "accent" });
  const clip = (pts: readonly XY[]): XY[] => pts.filter(([x]) => x <= show);
  pen.polyline("phantom", to(clip(stepPoints(topAlong(neck)))), { ink: "soft" });
  pen.polyline("phantom", to(clip(backAlong(neck))), { ink: "soft" });
  const top = at(view, 0, zMax)[1];
  pen.line("narrow", [at(view, 0, 0)[0], top - 2], at(view, 0, -T - 3));
  pen.text([at(view, 0, 0)[0], top - 3], "nut", SIZE.small, { anchor: "middle" });
  const f1 = neck.fretAt(1);
  pen.line("narrow", [at(view, f1, 0)[0], top - 2], at(view, f1, -T - 3));
  pen.text([at(view, f1, 0)[0], top - 3], "fret 1", SIZE.small, { anchor: "middle" });
  const low = at(view, 0, Math.min(b[1], -T))[1];
  pen.dimension({ a: at(view, s.headEnd, -T), b: at(view, 0, -T), along: "x", line: low + 4, text: dim(-s.headEnd) });
  pen.dimension({ a: at(view, s.headEnd, -T), b: at(view, s.bodyEnd, -T), along: "x", line: low + 10, text: `${dim(s.face)} glued` });
  return {
    id: "scarf",
    title: "Scarf",
    says: "The two pieces glued, seen from the side.",
    width: 28 + (show - a[0]) * k,
    height: low + 14,
    group: 0.35,
    items: pen.items,
    scale: k,
  };
}
